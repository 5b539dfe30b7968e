"""The mesh shelf: rolls and offcuts, what came and went, and what each is worth.

The ledger of an offcut: the cut took its whole length off the roll, and that stays. An offcut that
is kept is a roll of its own, `from_roll_id` says of which, and what comes back is a "received"
movement of the offcut. So each roll's sum is what hangs there, no mesh is on two rolls, and the
tally of use (`stock_use`) takes the offcut off the cut again, at its share of the width.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.money import valid_price
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import Millimetres, Running, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_roll
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.new_rolls import free_code, put_offcut, put_roll
from framekeeper.services.offcuts import Serving, price_of_part, servings
from framekeeper.services.record import NOW, When
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.stock_use import Usage, standing, tally
from framekeeper.services.supplies import SupplyNow, supplies_now

if TYPE_CHECKING:
    from framekeeper.storage.unit_of_work import Work

LONGEST_ROLL_MM = 1_000_000  # a kilometre
WIDEST_ROLL_MM = 6_000


@dataclass(frozen=True, slots=True)
class RollFacts:
    """What may be changed of a roll: what a person said of it, not what the ledger says."""

    width_mm: int
    lot: str = ""
    supplier: str = ""  # the shop's own text
    price_per_m: Decimal | None = None


@dataclass(frozen=True, slots=True)
class NewRoll:
    """A roll that arrived. The code is what stands on its label; empty: the next free one."""

    mesh: str
    width_mm: int
    length_mm: int
    code: str = ""
    lot: str = ""
    supplier: str = ""
    price_per_m: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the Mesh shelf shows."""

    mesh_types: tuple[MeshTypeRecord, ...]
    rolls: tuple[RollRecord, ...]
    usage: tuple[Usage, ...]
    servings: Mapping[int, Serving]  # of each offcut, by its id
    supplies: tuple[SupplyNow, ...]
    settings: ShopSettings
    read_at: dt.datetime


def receive_roll(desk: Desk, roll: NewRoll, *, when: When = NOW) -> Done:
    """Put a roll on the shelf."""
    facts = RollFacts(roll.width_mm, roll.lot, roll.supplier, roll.price_per_m)
    values = _checked(facts)
    _check_length(roll.length_mm)
    valid_text(roll.code, argument="code", most=200)
    with desk.work("receive roll") as work:
        mesh = find_mesh_type(work, roll.mesh)
        code = free_code(work, roll.code)
        work.name_subject(code)
        roll_id = put_roll(work, code, {**values, "mesh_type_id": mesh.id, "from_roll_id": None})
        work.move(
            mesh_type_id=mesh.id,
            roll_id=roll_id,
            kind="received",
            length_mm=roll.length_mm,
            happened_at=when.happened_at,
        )
        changes = work.commit()
    return Done(say("Roll {code} is on the shelf.", code=code), changes, (code,))


def _checked(facts: RollFacts) -> dict[str, Any]:
    """Return facts as columns, or refuse what no roll can be."""
    _check_width(facts.width_mm)
    for name in ("lot", "supplier"):
        valid_text(getattr(facts, name), argument=name, most=200)
    return {
        "width_mm": facts.width_mm,
        "lot": facts.lot.strip(),
        "supplier": facts.supplier.strip(),
        "price_per_m": valid_price(facts.price_per_m, argument="price_per_m"),
    }


def _check_width(width_mm: int) -> None:
    if not 0 < width_mm <= WIDEST_ROLL_MM:
        raise NotValid(
            say("A roll of {width} width cannot be.", width=Millimetres(width_mm)),
            argument="width_mm",
        )


def _check_length(length_mm: int) -> None:
    if not 0 < length_mm <= LONGEST_ROLL_MM:
        raise NotValid(
            say("A length of {length} cannot be.", length=Running(length_mm)),
            argument="length_mm",
        )


def edit_roll(desk: Desk, code: str, facts: RollFacts, *, version: int | None = None) -> Done:
    """Change what was said of a roll; its offcuts follow where they had it from the roll.

    Raises
    ------
    NotValid
        For facts that no roll can have, or a roll narrower than one of its offcuts.
    Conflict
        If someone changed the roll since `version` was read.
    """
    values = _checked(facts)
    with desk.work("edit roll") as work:
        roll = _held(work, code)
        work.name_subject(roll.code)
        work.edit_row("roll", roll.id, values, version=version)
        _tell_offcuts(work, roll, values)
        changes = work.commit()
    return Done(say("Roll {code} changed.", code=roll.code), changes, (roll.code,))


def _tell_offcuts(work: Work, before: RollRecord, values: dict[str, Any]) -> None:
    for offcut in [r for r in work.rolls() if r.from_roll_id == before.id]:
        if offcut.width_mm > values["width_mm"]:
            raise NotValid(
                say(
                    "Offcut {code} of this roll is {wide} wide.",
                    code=offcut.code,
                    wide=Millimetres(offcut.width_mm),
                ),
                hint=say("Correct the offcut first."),
                argument="width_mm",
            )
        had = price_of_part(before.price_per_m, offcut.width_mm, before.width_mm)
        now = price_of_part(values["price_per_m"], offcut.width_mm, values["width_mm"])
        changed = {
            name: values[name]
            for name in ("lot", "supplier")
            if getattr(offcut, name) == getattr(before, name)
        }
        if offcut.price_per_m == had:
            changed["price_per_m"] = now
        changed = {n: v for n, v in changed.items() if v != getattr(offcut, n)}
        if changed:
            work.edit_row("roll", offcut.id, changed)
            _tell_offcuts(work, offcut, {**_facts_of(offcut), **changed})


def _facts_of(roll: RollRecord) -> dict[str, Any]:
    return {name: getattr(roll, name) for name in ("width_mm", "lot", "supplier", "price_per_m")}


def keep_offcut(
    desk: Desk,
    code: str,
    *,
    width_mm: int,
    length_mm: int,
    offcut_code: str = "",
    reason: str = "",
    when: When = NOW,
) -> Done:
    """Keep what was left of a cut: a roll of its own, with mesh, lot, supplier and price.

    Nothing is taken off the roll, because the cut took the whole length off it already. The price
    per metre is the offcut's share of the roll's.

    Parameters
    ----------
    desk, code
        The roll that it was cut from; it may be an offcut itself.
    width_mm, length_mm
        The offcut, across and along the roll.
    offcut_code
        Empty: the next free one.
    reason, when
        Why it is kept, and since when.

    Raises
    ------
    NotValid
        If it cannot be from that roll: too wide, or more than left it and is on no frame.
    """
    _check_width(width_mm)
    _check_length(length_mm)
    valid_text(offcut_code, argument="code", most=200)
    with desk.work("keep offcut") as work:
        roll = _held(work, code)
        new_code = free_code(work, offcut_code)
        work.name_subject(new_code)
        put_offcut(
            work,
            roll,
            new_code,
            width_mm=width_mm,
            length_mm=length_mm,
            reason=reason,
            happened_at=when.happened_at,
        )
        changes = work.commit()
    told = say(
        "Offcut {code} of roll {roll} is on the shelf: {wide} wide, {length}.",
        code=new_code,
        roll=roll.code,
        wide=Millimetres(width_mm),
        length=Running(length_mm),
    )
    return Done(told, changes, (new_code,))


def take_back_roll(desk: Desk, code: str, *, reason: str = "", when: When = NOW) -> Done:
    """Take back that a roll or an offcut ever came, where an undo comes too late.

    Raises
    ------
    NotPossible
        If mesh was cut, scrapped or counted from it since, or an offcut of it is kept.
    """
    with desk.work("take back roll") as work:
        roll = _held(work, code)
        work.name_subject(roll.code)
        moves = standing(work.moves(roll_ids=[roll.id]))
        has_offcuts = any(r.from_roll_id == roll.id for r in work.rolls())
        if has_offcuts or any(move.kind != "received" for move in moves):
            raise NotPossible(
                say("Mesh came off roll {code}, or it was counted.", code=roll.code),
                hint=say("Count what is left of it; nothing left is a count too."),
            )
        for move in moves:
            work.move(
                mesh_type_id=move.mesh_type_id,
                roll_id=roll.id,
                kind=move.kind,
                length_mm=-move.length_mm,
                width_mm=move.width_mm,
                reason=reason.strip(),
                happened_at=when.happened_at,
                reverses_id=move.id,
            )
        work.edit_row("roll", roll.id, {"is_hidden": True})
        changes = work.commit()
    return Done(say("Roll {code} never came.", code=roll.code), changes)


def count_roll(
    desk: Desk, code: str, *, length_mm: int, reason: str = "", when: When = NOW
) -> Done:
    """Record what is really left on a roll; the ledger gets the difference.

    A count that finds what is written is a movement of no length: it says who looked, and when.
    """
    if length_mm != 0:
        _check_length(length_mm)
    with desk.work("count roll") as work:
        roll = _held(work, code)
        work.name_subject(roll.code)
        difference = length_mm - roll.on_hand_mm
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
        "Roll {code}: {length} on hand, {difference:+.2f}.",
        code=roll.code,
        length=Running(length_mm),
        difference=Running(difference),
    )
    if not difference:
        told = say(
            "Roll {code}: {length} on hand, as written.", code=roll.code, length=Running(length_mm)
        )
    return Done(told, changes, (roll.code,))


def scrap(desk: Desk, code: str, *, length_mm: int, reason: str, when: When = NOW) -> Done:
    """Take mesh off a roll that serves no frame."""
    _check_length(length_mm)
    with desk.work("scrap mesh") as work:
        roll = _held(work, code)
        if roll.on_hand_mm < length_mm:
            raise NotValid(
                say("Roll {code} holds only {left}.", code=roll.code,
                    left=Running(roll.on_hand_mm)),
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


def _held(work: Work, code: str) -> RollRecord:
    """Find a roll and keep others from it; what is on hand is read after they have finished."""
    roll = find_roll(work, code)
    work.hold_roll(roll.id)
    return find_roll(work, roll.code)


def shelf(desk: Desk) -> Shelf:
    """Read the shelf: mesh types, rolls, batches, and the use of mesh per month."""
    now = desk.clock.now()
    with desk.read() as reader:
        mesh_types = tuple(reader.mesh_types())
        every_roll = reader.rolls(with_hidden=True)
        moves = reader.moves()
        known = {m.id: m for m in reader.mesh_types(with_hidden=True)}
        frames, settings = reader.frames(), shop_settings(reader)
        supplies = supplies_now(reader, desk.today())
    rolls = tuple(r for r in every_roll if not r.is_hidden)
    return Shelf(
        mesh_types,
        rolls,
        tuple(tally(moves, known, desk.clock.zone(), every_roll)),
        servings(rolls, frames, allowance_mm=settings.cut_allowance_mm),
        supplies,
        settings,
        now,
    )
