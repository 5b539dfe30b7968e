"""What a table from a shop's file is, and how large one may be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

Cell = str | int | float | bool | dt.datetime | dt.date | dt.time | dt.timedelta | None

MAX_BYTES: Final = 64 * 1024 * 1024
MAX_ROWS: Final = 200_000
MAX_COLUMNS: Final = 300
# A sheet with one cell in its far corner is a small file and a large table.
MAX_CELLS: Final = 5_000_000


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet as a person sees it: `rows[0]` is row 1, and a blank row is an empty tuple.

    `encoding` and `delimiter` are set for text files only. A hidden sheet has no rows, since
    nobody could find a row that is reported there.
    """

    name: str
    rows: tuple[tuple[Cell, ...], ...]
    encoding: str = ""
    delimiter: str = ""
    is_hidden: bool = False


def trimmed(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    """A row without the empty cells at its end; text is stripped, and empty text is no cell."""
    row = [(cell.strip() or None) if isinstance(cell, str) else cell for cell in cells]
    while row and row[-1] is None:
        row.pop()
    return tuple(row)


def refuse_extent(rows: int, columns: int, cells: int) -> None:
    """Refuse a table that is larger than any register."""
    if rows > MAX_ROWS:
        raise NotValid(
            say("The table has more than {limit} rows.", limit=MAX_ROWS),
            hint=say("Choose the register itself, or split it."),
        )
    if columns > MAX_COLUMNS:
        raise NotValid(
            say("The table has more than {limit} columns.", limit=MAX_COLUMNS),
            hint=say("Remove the columns that do not belong to the register."),
        )
    if cells > MAX_CELLS:
        raise NotValid(
            say("The table has more than {limit} cells.", limit=MAX_CELLS),
            hint=say("Remove stray cells far from the register, or split it."),
        )
