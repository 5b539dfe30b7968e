"""The mesh shelf: rolls, what came and went, and how much mesh the shop uses."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.records import MeshTypeRecord, MoveRecord, RollRecord
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

LONGEST_ROLL_MM = 1_000_000  # a kilometre
WIDEST_ROLL_MM = 6_000


@dataclass(frozen=True, slots=True)
class NewRoll:
    """A roll that arrived. The code is what stands on its label; empty: the next free one."""

    mesh: str
    width_mm: int
    length_mm: int
    code: str = ""
    lot: str = ""
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class Usage:
    """Mesh that was used in one month: pieces, length along the roll, and scrap."""

    month: dt.date  # its first day, in the shop's zone
    mesh: MeshTypeRecord
    pieces: int
    cut_mm: int
    scrapped_mm: int


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the Mesh shelf shows."""

    mesh_types: tuple[MeshTypeRecord, ...]
    rolls: tuple[RollRecord, ...]
    usage: tuple[Usage, ...]


def receive_roll(desk: Desk, roll: NewRoll, *, when: When = NOW) -> Done:
    """Put a roll on the shelf."""
    if not 0 < roll.width_mm <= WIDEST_ROLL_MM:
        raise NotValid(
            say("A roll of {width} mm width cannot be.", width=roll.width_mm), argument="width_mm"
        )
    _check_length(roll.length_mm)
    for name in ("code", "lot", "supplier"):
        valid_text(getattr(roll, name), argument=name, most=200)
    with desk.work("receive roll") as work:
        mesh = find_mesh_type(work, roll.mesh)
        code = roll.code.strip().upper() or _next_code(work)
        known = work.roll_by_code(code)
        if known is not None and not known.is_hidden:
            raise NotValid(
                say("There is a roll {code} already.", code=code),
                hint=say("Give the new roll a code of its own."),
                argument="code",
            )
        work.name_subject(code)
        values = {
            "code": code,
            "mesh_type_id": mesh.id,
            "lot": roll.lot.strip(),
            "supplier": roll.supplier.strip(),
            "width_mm": roll.width_mm,
        }
        roll_id = _put_roll(work, known, values)
        work.move(
            mesh_type_id=mesh.id,
            roll_id=roll_id,
            kind="received",
            length_mm=roll.length_mm,
            happened_at=when.happened_at,
        )
        changes = work.commit()
    return Done(say("Roll {code} is on the shelf.", code=code), changes, (code,))


def _put_roll(work: Work, hidden: RollRecord | None, values: dict[str, Any]) -> int:
    """Add a roll; one whose arrival was taken back comes alive again under its code."""
    if hidden is None:
        return work.add_row("roll", values)
    work.edit_row("roll", hidden.id, {**values, "is_hidden": False})
    return hidden.id


def _next_code(reader: Reader) -> str:
    taken = {r.code for r in reader.rolls(with_hidden=True)}
    number = len(taken) + 1
    while f"R{number:04d}" in taken:
        number += 1
    return f"R{number:04d}"


def _check_length(length_mm: int) -> None:
    if not 0 < length_mm <= LONGEST_ROLL_MM:
        raise NotValid(
            say("A length of {length} mm cannot be.", length=length_mm), argument="length_mm"
        )


def count_roll(
    desk: Desk, code: str, *, length_mm: int, reason: str = "", when: When = NOW
) -> Done:
    """Record what is really left on a roll; the ledger gets the difference."""
    if length_mm != 0:
        _check_length(length_mm)
    with desk.work("count roll") as work:
        roll = _roll(work, code)
        work.name_subject(roll.code)
        difference = length_mm - roll.on_hand_mm
        if difference:
            work.move(
                mesh_type_id=roll.mesh_type_id,
                roll_id=roll.id,
                kind="counted",
                length_mm=difference,
                reason=reason.strip(),
                happened_at=when.happened_at,
            )
        changes = work.commit()
    told = say(
        "Roll {code}: {length:.2f} m on hand, {difference:+.2f} m.",
        code=roll.code,
        length=length_mm / 1000,
        difference=difference / 1000,
    )
    return Done(told, changes, (roll.code,))


def scrap(desk: Desk, code: str, *, length_mm: int, reason: str, when: When = NOW) -> Done:
    """Take mesh off a roll that serves no frame."""
    _check_length(length_mm)
    with desk.work("scrap mesh") as work:
        roll = _roll(work, code)
        if roll.on_hand_mm < length_mm:
            raise NotValid(
                say("Roll {code} holds only {left:.2f} m.", code=roll.code,
                    left=roll.on_hand_mm / 1000),
                argument="length_mm",
            )  # fmt: skip
        work.name_subject(roll.code)
        work.move(
            mesh_type_id=roll.mesh_type_id,
            roll_id=roll.id,
            kind="scrapped",
            length_mm=-length_mm,
            reason=reason.strip(),
            happened_at=when.happened_at,
        )
        changes = work.commit()
    return Done(say("Roll {code}: scrap recorded.", code=roll.code), changes, (roll.code,))


def _roll(reader: Reader, code: str) -> RollRecord:
    roll = reader.roll_by_code(code.strip().upper())
    if roll is None or roll.is_hidden:
        raise NotFound(
            say("There is no roll {code} on the shelf.", code=code.strip() or "—"),
            hint=say("Look at the roll's label."),
        )
    return roll


def shelf(desk: Desk) -> Shelf:
    """Read the shelf: mesh types, rolls, and the use of mesh per month."""
    with desk.read() as reader:
        mesh_types = reader.mesh_types()
        rolls = reader.rolls()
        moves = reader.moves()
        known = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    return Shelf(tuple(mesh_types), tuple(rolls), tuple(tally(moves, known, desk.clock.zone())))


def tally(
    moves: list[MoveRecord], mesh_types: dict[int, MeshTypeRecord], zone: dt.tzinfo
) -> list[Usage]:
    """Sum cuts and scrap per month and mesh; a movement and its reversal cancel out."""
    pieces: dict[tuple[dt.date, int], int] = defaultdict(int)
    cut: dict[tuple[dt.date, int], int] = defaultdict(int)
    scrapped: dict[tuple[dt.date, int], int] = defaultdict(int)
    for move in moves:
        month = move.happened_at.astimezone(zone).date().replace(day=1)
        key = (month, move.mesh_type_id)
        if move.kind == "cut":
            pieces[key] += 1 if move.length_mm < 0 else -1
            cut[key] -= move.length_mm
        elif move.kind == "scrapped":
            scrapped[key] -= move.length_mm
    keys = sorted(cut.keys() | scrapped.keys(), key=lambda k: (-k[0].toordinal(), k[1]))
    return [
        Usage(k[0], mesh_types[k[1]], pieces[k], cut[k], scrapped[k])
        for k in keys
        if cut[k] or scrapped[k]
    ]
