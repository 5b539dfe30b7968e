"""Mesh that is on its way: what was ordered counts until rolls of that length have come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.records import MoveRecord, RollRecord
from framekeeper.domain.sentence import Running, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.settings import shop_settings

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

_KEY = "mesh_on_order"
LONGEST_ORDER_MM = 10_000_000  # ten kilometres
_RUNS_SHORT = 0.1  # our choice: rolls are seldom as long as told, and nobody sends a tenth later


@dataclass(frozen=True, slots=True)
class Coming:
    """Mesh that was ordered and has not come yet."""

    length_mm: int
    ordered_on: dt.date
    expected_on: dt.date

    def days_until(self, today: dt.date) -> int:
        """Days until it is expected; what is late is expected tomorrow."""
        return max(1, (self.expected_on - today).days)

    def is_late(self, today: dt.date) -> bool:
        """Whether it should be here."""
        return today > self.expected_on


def mark_ordered(desk: Desk, orders: Mapping[str, int]) -> Done:
    """Remember that so much of each mesh (by name, in mm) was ordered today.

    Each roll of that mesh that is received counts against it, so that a delivery in parts is not
    ordered twice; ordering again replaces what was remembered.

    Raises
    ------
    NotValid
        If nothing is ordered, or a length cannot be.
    NotFound
        For a mesh that the shop does not know.
    """
    for length_mm in orders.values():
        if not 0 < length_mm <= LONGEST_ORDER_MM:
            raise NotValid(
                say("A length of {length} cannot be.", length=Running(length_mm)),
                argument="length_mm",
            )
    if not orders:
        raise NotValid(say("There is nothing to order."), argument="orders")
    with desk.work("order mesh") as work:
        names = ", ".join(orders)
        work.name_subject(names)
        kept = _kept(work)
        usual = shop_settings(work).lead_time_days
        newest = max((m.id for m in work.moves()), default=0)
        for name, length_mm in orders.items():
            mesh = find_mesh_type(work, name)
            told = mesh.buying.lead_time_days
            lead = dt.timedelta(days=usual if told is None else round(told))
            kept[str(mesh.id)] = {
                "length_mm": length_mm,
                "ordered_on": desk.today().isoformat(),
                "expected_on": (desk.today() + lead).isoformat(),
                "after_move": newest,
            }
        work.set_setting(_KEY, kept)
        changes = work.commit()
    return Done(say("Ordered: {names}.", names=names), changes)


def forget_order(desk: Desk, mesh_name: str) -> Done:
    """Forget that a mesh was ordered: it was cancelled, or will not come.

    Raises
    ------
    NotPossible
        If none of it is on its way.
    """
    with desk.work("cancel order") as work:
        mesh = find_mesh_type(work, mesh_name)
        work.name_subject(mesh.name)
        kept = _kept(work)
        if kept.pop(str(mesh.id), None) is None:
            raise NotPossible(say("No {mesh} is on its way.", mesh=mesh.name))
        work.set_setting(_KEY, kept)
        changes = work.commit()
    return Done(say("{mesh} is not on its way any more.", mesh=mesh.name), changes)


def read_coming(
    reader: Reader, moves: Iterable[MoveRecord], rolls: Mapping[int, RollRecord]
) -> dict[int, Coming]:
    """Return what is on its way, by the id of the mesh; `moves` are those that stand."""
    listed = list(moves)
    coming = {}
    for key, order in _kept(reader).items():
        mesh_id, ordered = int(key), order["length_mm"]
        came = sum(
            move.length_mm
            for move in listed
            if move.mesh_type_id == mesh_id
            and move.kind == "received"
            and move.id > order["after_move"]
            and (roll := rolls.get(move.roll_id or 0)) is not None
            and not roll.is_offcut
        )
        if ordered - came > _RUNS_SHORT * ordered:
            coming[mesh_id] = Coming(
                ordered - came,
                dt.date.fromisoformat(order["ordered_on"]),
                dt.date.fromisoformat(order["expected_on"]),
            )
    return coming


def _kept(reader: Reader | Work) -> dict[str, dict[str, Any]]:
    return dict(reader.settings().get(_KEY, {}))
