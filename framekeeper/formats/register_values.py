"""Reads one cell of a register: a name, a tension, a count, a date, a word of the trade."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final, Literal, cast

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import FrameKind
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.sizes import read_decimal
from framekeeper.formats.register_record import RegisterState
from framekeeper.formats.register_words import (
    BLANK_WORDS,
    KIND_WORDS,
    STATE_WORDS,
    phrases,
    plain_words,
)
from framekeeper.formats.table_shape import Cell

# Meters of this class end at 50 N/cm; a little room, so that an odd scale is not called a slip.
HIGHEST_TENSION_N_PER_CM: Final = 60.0
MOST_RECLAIMS: Final = 10_000
LONGEST_NAME: Final = 60
EARLIEST_YEAR: Final = 1950
_DAY_ZERO: Final = dt.date(1899, 12, 30)  # a workbook counts its days from here
_SERIALS: Final = range(18_264, 100_000)  # 1950 to 2173: other numbers are no dates of a register

DATE: Final = re.compile(
    r"(?<!\d)(\d{1,4})([./-])(\d{1,2})\2(\d{4}|\d{2})(?:[T ]+\d{1,2}:\d{2}(?::\d{2})?)?(?!\d)",
    re.ASCII,
)
_TENSION = re.compile(r"([-+]?[\d.,]+)\s*([a-z²/ ]*)\.?", re.IGNORECASE | re.ASCII)
_LENGTH = re.compile(r"([-+]?[\d.,' ]+?)\s*([a-z\"']*)\.?", re.IGNORECASE | re.ASCII)
_TENSION_UNITS: Final = frozenset({"", "n", "n/cm", "newton", "newtons"})
_SAG_UNITS: Final = frozenset({"mm", "millimetre", "millimeter", "um"})

_STATES = phrases(STATE_WORDS)
_KINDS = phrases(cast("dict[str, str]", KIND_WORDS))

Order = Literal["day", "month", "open"]


def sag_has_no_formula() -> Sentence:
    """Why a number in mm is not taken as a tension."""
    return say("This is a sag in mm; no formula turns a sag scale into N/cm.")


@dataclass(frozen=True, slots=True)
class DateStyle:
    """For each separator, whether the day or the month stands first in this column.

    "open" where both orders occur: only a date that fits one order alone is then read.
    """

    orders: dict[str, Order]
    guessed: frozenset[str] = field(default_factory=frozenset)


def shown(cell: Cell) -> str:
    """A cell as text, for a person; numbers lose the ".0" that workbooks give them."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, dt.datetime):
        return cell.isoformat(sep=" ", timespec="minutes")
    return str(cell)


def is_blank(cell: Cell) -> bool:
    """Whether nothing stands in the cell, or one of the marks for nothing."""
    return cell is None or (isinstance(cell, str) and cell.strip().casefold() in BLANK_WORDS)


def read_name(cell: Cell) -> str:
    """The name of a frame, a rack or a meter; leading zeros of a text stay."""
    if isinstance(cell, bool | dt.date | dt.time | dt.timedelta):
        raise NotValid(say("A name was expected here; format the cell as text."))
    name = " ".join(shown(cell).split())
    if len(name) > LONGEST_NAME:
        raise NotValid(say("A name has at most {limit} characters.", limit=LONGEST_NAME))
    return name


def read_number(cell: Cell) -> float:
    """A number, however the cell holds it."""
    if isinstance(cell, bool | dt.date | dt.time | dt.timedelta) or cell is None:
        raise NotValid(say("A number was expected here."))
    return float(cell) if isinstance(cell, int | float) else read_decimal(cell)


def read_tension(cell: Cell) -> float:
    """A tension in N/cm, with or without its unit: above 0 and at most 60."""
    number: Cell = cell
    if isinstance(cell, str):
        match = _TENSION.fullmatch(cell.strip())
        unit = match.group(2).replace(" ", "").casefold() if match else None
        if unit in _SAG_UNITS:
            raise NotValid(sag_has_no_formula())
        if match is None or unit not in _TENSION_UNITS:
            raise NotValid(say("This is not a tension in N/cm."))
        number = match.group(1)
    tension = read_number(number)
    if not 0 < tension <= HIGHEST_TENSION_N_PER_CM:
        raise NotValid(
            say(
                "A tension lies above 0 and up to {limit:.0f} N/cm.", limit=HIGHEST_TENSION_N_PER_CM
            )
        )
    return tension


def read_reclaims(cell: Cell) -> int:
    """How often the mesh was reclaimed."""
    count = read_number(cell)
    if not 0 <= count <= MOST_RECLAIMS or count != int(count):
        raise NotValid(say("The number of reclaims is a whole number from 0."))
    return int(count)


def read_length(cell: Cell) -> tuple[float, str]:
    """One side of a frame and the unit written behind it, if any."""
    if not isinstance(cell, str):
        return read_number(cell), ""
    match = _LENGTH.fullmatch(cell.strip().replace("″", '"').replace("”", '"'))
    if match is None:
        raise NotValid(say("This is not a length."))
    return read_decimal(match.group(1)), match.group(2).casefold()


def state_of(cell: Cell) -> RegisterState | None:
    """The state that the word means; None for a word that means nothing here."""
    found = _STATES.get(plain_words(shown(cell)))
    return cast("RegisterState | None", found)


def kind_of(cell: Cell) -> FrameKind | None:
    """Glued or with rollers; None for a word that says neither."""
    words = plain_words(shown(cell))
    found = _KINDS.get(words) or next((_KINDS[w,] for w in words if (w,) in _KINDS), None)
    return cast("FrameKind | None", found)


def read_kind(cell: Cell) -> FrameKind:
    """Glued or with rollers."""
    kind = kind_of(cell)
    if kind is None:
        raise NotValid(say("A frame is glued or has rollers; this word says neither."))
    return kind


def read_state(cell: Cell) -> RegisterState:
    """The state that the word means."""
    state = state_of(cell)
    if state is None:
        raise NotValid(
            say("This is no state: write bare, ready, in use, to reclaim, out, missing or retired.")
        )
    return state


def date_style(cells: Iterable[Cell], *, day_first: bool) -> DateStyle:
    """Decide for a column whether 03/12/2025 is in March or in December.

    A number over 12 decides for all dates with the same separator. Dates with full stops are
    day-first, as everywhere they are written; the others follow the shop's habit if none decides.
    """
    first_over: set[str] = set()
    second_over: set[str] = set()
    undecided: set[str] = set()
    for cell in cells:
        match = DATE.search(cell) if isinstance(cell, str) else None
        if match is None or len(match.group(1)) > 2:
            continue
        first, separator, second = int(match.group(1)), match.group(2), int(match.group(3))
        if first > 12:
            first_over.add(separator)
        elif second > 12:
            second_over.add(separator)
        elif first != second:
            undecided.add(separator)
    habit: Order = "day" if day_first else "month"
    orders: dict[str, Order] = {".": "day", "/": habit, "-": habit}
    for separator in first_over | second_over:
        decided: Order = "day" if separator in first_over else "month"
        orders[separator] = "open" if separator in first_over & second_over else decided
    guessed = undecided - first_over - second_over - {"."}
    return DateStyle(orders, frozenset(guessed))


def read_date(cell: Cell, style: DateStyle, *, today: dt.date) -> dt.date:
    """The day that a cell tells: a date, a workbook's day number, or a text in three styles."""
    day = _day(cell, style)
    if day > today:
        raise NotValid(say("The date {day} lies in the future.", day=day))
    if day.year < EARLIEST_YEAR:
        raise NotValid(say("The date {day} is too long ago.", day=day))
    return day


def _day(cell: Cell, style: DateStyle) -> dt.date:
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    text = shown(cell)
    match = DATE.fullmatch(text)
    if match:
        return _from_text(match, style)
    if not isinstance(cell, bool):
        number = _serial(text)
        if number is not None:
            return _DAY_ZERO + dt.timedelta(days=number)
    raise NotValid(say("This is not a date."), hint=say("Write it such as 2025-03-12."))


def _serial(text: str) -> int | None:
    try:
        number = int(read_decimal(text))
    except NotValid:
        return None
    return number if number in _SERIALS else None


def _from_text(match: re.Match[str], style: DateStyle) -> dt.date:
    first, middle, last = int(match.group(1)), int(match.group(3)), int(match.group(4))
    if len(match.group(1)) > 2:
        year, month, day = first, middle, last
    else:
        year = last + 2000 if len(match.group(4)) == 2 else last
        order = style.orders[match.group(2)]
        if order == "open":
            if first <= 12 and middle <= 12 and first != middle:
                raise NotValid(
                    say("The day and the month cannot be told apart: this column has both orders.")
                )
            order = "day" if first > 12 else "month"
        day, month = (first, middle) if order == "day" else (middle, first)
    try:
        return dt.date(year, month, day)
    except ValueError as impossible:
        raise NotValid(say("There is no such day.")) from impossible
