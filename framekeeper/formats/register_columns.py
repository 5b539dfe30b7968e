"""Finds the header of a table and what each column means."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, cast

from framekeeper.domain.errors import NotValid
from framekeeper.formats.register_points import (
    Column,
    ReadingColumn,
    Refused,
    Tension,
    reading_columns,
)
from framekeeper.formats.register_values import (
    DATE,
    DateStyle,
    date_style,
    read_date,
    shown,
)
from framekeeper.formats.register_words import HEADER_PHRASES, Meaning, phrases, plain_words
from framekeeper.formats.table_shape import Cell, Table

# Titles, addresses and dates stand above many a header, but not pages of them.
_ROWS_ABOVE_HEADER: Final = 40
_LONGEST_HEADER: Final = 80
_MOST_FOREIGN_WORDS: Final = 4

_PHRASES = phrases(cast("dict[str, str]", HEADER_PHRASES))
_LONGEST_PHRASE = max(len(phrase) for phrase in _PHRASES)
_PRIORITY = {meaning: place for place, meaning in enumerate(HEADER_PHRASES)}
_READINGS: Final = frozenset({"warp", "weft", "tension", "point"})
_NAMES: Final = ("label", "code", "number")
# Beside readings, these make a row a frame; without readings, more words do.
_FRAME_FACTS: Final = frozenset({"size", "width", "mesh"})
_FRAME_WORDS: Final = _FRAME_FACTS | {"kind", "stretched", "reclaims", "slot", "state", "target"}
_TENSION_UNITS: Final = frozenset({"n", "cm", "newton", "newtons"})

Role = Literal["frames", "readings"]


@dataclass(frozen=True, slots=True)
class Layout:
    """What the columns of one table mean; `header_row` counts from 1."""

    table: Table
    header_row: int
    name: Column
    columns: Mapping[Meaning, Column]
    readings: tuple[ReadingColumn, ...]
    unused: tuple[str, ...]
    refused: tuple[Refused, ...]
    date_is_of_stretch: bool

    @property
    def holds_frames(self) -> bool:
        """Whether rows of this table describe frames rather than readings alone."""
        has_readings = bool(self.readings or self.refused)
        return not has_readings or not _FRAME_FACTS.isdisjoint(self.columns)

    def found(self) -> dict[str, str]:
        """The header of every meaning, for the person who checks what was understood."""
        headers: dict[str, str] = {"frame": self.name.header}
        headers.update({meaning: column.header for meaning, column in self.columns.items()})
        for column in self.readings:
            when = "" if column.on is None else f" {column.on.isoformat()}"
            if column.date_column is not None:
                when = f" {column.date_column.header}"
            headers[f"{column.direction} {column.point + 1}{when}"] = column.header
        return headers


def find_layout(table: Table, *, day_first: bool, today: dt.date) -> Layout | None:
    """Find the row that names the columns; None if the table has none that names frames."""
    best: Layout | None = None
    for number, row in enumerate(table.rows[:_ROWS_ABOVE_HEADER], start=1):
        layout = _layout(table, number, row, day_first=day_first, today=today)
        if layout is not None and (best is None or _known(layout) > _known(best)):
            best = layout
    return best


def _known(layout: Layout) -> int:
    return len(layout.columns) + len(layout.readings) + len(layout.refused)


def _layout(
    table: Table, number: int, row: tuple[Cell, ...], *, day_first: bool, today: dt.date
) -> Layout | None:
    found, tensions, unused = _sorted_columns(row, date_style(row, day_first=day_first))
    name = next((found.pop(meaning) for meaning in _NAMES if meaning in found), None)
    if name is None or not (tensions or _FRAME_WORDS & found.keys()):
        return None
    if "number" in found:  # a running number beside a name
        unused.append(found.pop("number").header)
    readings, refused = reading_columns(tensions, today=today, unused=unused)
    # A lone date beside frames that were not read on it is the day of stretching.
    is_of_stretch = (
        "date" in found
        and "stretched" not in found
        and all(tension.has_own_date for tension in tensions)
    )
    if is_of_stretch:
        found["stretched"] = found.pop("date")
    columns = MappingProxyType(found)
    return Layout(table, number, name, columns, readings, tuple(unused), refused, is_of_stretch)


def _sorted_columns(
    row: tuple[Cell, ...], style: DateStyle
) -> tuple[dict[Meaning, Column], list[Tension], list[str]]:
    """Columns that stand once, columns of tensions, and the headers that mean nothing here."""
    columns: dict[Meaning, tuple[int, Column]] = {}
    tensions: list[Tension] = []
    dates: dict[str, Column] = {}  # "date 1", "date 2" beside "tension 1", "tension 2"
    unused: list[str] = []
    for index, cell in enumerate(row):
        header = " ".join(shown(cell).split())
        if not header or len(header) > _LONGEST_HEADER:
            continue
        on = _date_in(cell, style)
        column = Column(index, header, plain_words(DATE.sub(" ", header)))
        meaning, score = _meaning(column.words)
        if on is not None and (meaning in _READINGS or not column.words):
            tensions.append(Tension(meaning or "tension", column, on))
        elif meaning in _READINGS and (meaning != "point" or column.number):
            tensions.append(Tension(meaning, column))
        elif meaning in (None, "unused"):
            unused.append(header)
        elif meaning == "date" and column.number and column.number not in dates:
            dates[column.number] = column
        elif meaning not in columns or columns[meaning][0] < score:
            if meaning in columns:
                unused.append(columns[meaning][1].header)
            columns[meaning] = (score, column)
        else:
            unused.append(header)
    found = {meaning: column for meaning, (_, column) in columns.items()}
    if len(dates) == 1:
        found.setdefault("date", *dates.values())
    elif dates:
        tensions = [tension.dated_by(dates.get(tension.column.number)) for tension in tensions]
    return found, tensions, unused


def _date_in(cell: Cell, style: DateStyle) -> dt.date | None:
    """The date in a header, if there is one."""
    if isinstance(cell, str):
        match = DATE.search(cell)
        if match is None:
            return None
        cell = match.group()
    elif not isinstance(cell, dt.date):
        return None
    try:
        return read_date(cell, style, today=dt.date.max)
    except NotValid:
        return None


def _meaning(words: tuple[str, ...]) -> tuple[Meaning | None, int]:
    """The meaning whose phrase covers most of the header, and how well it does."""
    best: tuple[tuple[bool, int, int], int, Meaning] | None = None
    for length in range(1, min(len(words), _LONGEST_PHRASE) + 1):
        for start in range(len(words) - length + 1):
            found = _PHRASES.get(words[start : start + length])
            if found is None or (words[start] == "n" and start + length < len(words)):
                continue
            meaning = cast("Meaning", found)
            # A unit says what a column holds only where no other word does: "warp N/cm" is a warp.
            says_more = not _TENSION_UNITS.issuperset(words[start : start + length])
            rank = (says_more, length, -_PRIORITY[meaning])
            if best is None or rank > best[0]:
                best = (rank, length, meaning)
    if best is None or len(words) - best[1] > _MOST_FOREIGN_WORDS:
        return None, 0
    return best[2], 10 * best[1] - len(words)
