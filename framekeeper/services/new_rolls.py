"""Puts a roll or an offcut on the shelf under a code of its own, as part of a larger operation."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import RollRecord
from framekeeper.domain.sentence import say
from framekeeper.services.offcuts import price_of_part, refuse_more_than_was_cut

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work


def free_code(reader: Reader, wanted: str) -> str:
    """Return the code that was asked for, or the next free one.

    Raises
    ------
    NotValid
        If a roll on the shelf has that code.
    """
    code = wanted.strip().upper() or _next_code(reader)
    known = reader.roll_by_code(code)
    if known is not None and not known.is_hidden:
        raise NotValid(
            say("There is a roll {code} already.", code=code),
            hint=say("Give the new roll a code of its own."),
            argument="code",
        )
    return code


def _next_code(reader: Reader) -> str:
    taken = {r.code for r in reader.rolls(with_hidden=True)}
    number = len(taken) + 1
    while f"R{number:04d}" in taken:
        number += 1
    return f"R{number:04d}"


def put_roll(work: Work, code: str, values: dict[str, Any]) -> int:
    """Add a roll; one whose arrival was taken back comes alive again under its code."""
    hidden = work.roll_by_code(code)
    if hidden is None:
        return work.add_row("roll", {**values, "code": code})
    work.edit_row("roll", hidden.id, {**values, "is_hidden": False})
    return hidden.id


def put_offcut(
    work: Work,
    roll: RollRecord,
    code: str,
    *,
    width_mm: int,
    length_mm: int,
    reason: str = "",
    happened_at: dt.datetime | None = None,
) -> None:
    """Put what is left of a cut on the shelf, with mesh, lot, supplier and its share of the price.

    Raises
    ------
    NotValid
        If it cannot be from that roll: too wide, or more than left it and is on no frame.
    """
    refuse_more_than_was_cut(work, roll, width_mm=width_mm, length_mm=length_mm)
    values = {
        "mesh_type_id": roll.mesh_type_id,
        "lot": roll.lot,
        "supplier": roll.supplier,
        "width_mm": width_mm,
        "price_per_m": price_of_part(roll.price_per_m, width_mm, roll.width_mm),
        "from_roll_id": roll.id,
    }
    roll_id = put_roll(work, code, values)
    work.move(
        mesh_type_id=roll.mesh_type_id,
        roll_id=roll_id,
        kind="received",
        length_mm=length_mm,
        reason=reason.strip(),
        happened_at=happened_at,
    )
