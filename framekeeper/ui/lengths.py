"""Reads and writes lengths of mesh in the shop's unit: pieces in mm or inch, rolls in m or yd."""

from __future__ import annotations

import re

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.domain.sizes import MM_PER_UNIT, UNIT_WORDS
from framekeeper.ui.text import Formatter, tr

MM_PER_METRE = 1000.0
MM_PER_YARD = 914.4  # exact by definition
_ROLL_UNITS = {"m": MM_PER_METRE, "yd": MM_PER_YARD}
_WRITTEN = re.compile(r"(.*?\d)\s*([a-z\"']+)?\.?", re.IGNORECASE | re.DOTALL)


def length_unit_word(formatter: Formatter) -> str:
    """Return the unit of pieces and widths, as it stands beside a field."""
    return tr("mm") if formatter.length_unit == "mm" else tr("in")


def roll_unit_word(formatter: Formatter) -> str:
    """Return the unit of what is on a roll."""
    return tr("m") if formatter.length_unit == "mm" else tr("yd")


def bare_length(formatter: Formatter, value_mm: float) -> str:
    """Write a length without its unit, for a field that has the unit beside it."""
    if formatter.length_unit == "mm":
        return formatter.number(value_mm, 0)
    return formatter.number(value_mm / MM_PER_UNIT["inch"], 1)


def roll_length(formatter: Formatter, value_mm: float) -> str:
    """Write what is on a roll, such as "12.50 m" or "13.67 yd"."""
    per_unit = MM_PER_METRE if formatter.length_unit == "mm" else MM_PER_YARD
    number = formatter.number(value_mm / per_unit, 2)
    return tr("{number} {unit}", number=number, unit=roll_unit_word(formatter))


def bare_running(formatter: Formatter, value_mm: float) -> str:
    """Write what is on a roll without its unit, fine enough to be read back to the mm."""
    per_unit = MM_PER_METRE if formatter.length_unit == "mm" else MM_PER_YARD
    return formatter.number(value_mm / per_unit, 3 if formatter.length_unit == "mm" else 4)


def difference(formatter: Formatter, value_mm: float) -> str:
    """Write by how much two lengths on a roll differ, with a sign where they do."""
    words = roll_length(formatter, abs(value_mm))
    if not round(value_mm):
        return words
    return tr("+{length}", length=words) if value_mm > 0 else tr("−{length}", length=words)


def bare_roll_length(formatter: Formatter, value_mm: float) -> str:
    """Write what is on a roll to a tenth and without its unit, where several stand side by side."""
    per_unit = MM_PER_METRE if formatter.length_unit == "mm" else MM_PER_YARD
    return formatter.number(value_mm / per_unit, 1)


def read_length_mm(formatter: Formatter, text: str, *, argument: str) -> int:
    """Read a piece or a width; a unit that is typed wins over the shop's.

    Raises
    ------
    NotValid
        If the text is no length.
    """
    number, word = _split(text)
    unit = UNIT_WORDS.get(word) if word else formatter.length_unit
    if unit is None:
        raise _no_length(text, argument)
    return round(_number(formatter, number, text, argument) * MM_PER_UNIT[unit])


def read_roll_mm(formatter: Formatter, text: str, *, argument: str) -> int:
    """Read what is on a roll, in metres or yards.

    Raises
    ------
    NotValid
        If the text is no length.
    """
    number, word = _split(text)
    unit = word or ("m" if formatter.length_unit == "mm" else "yd")
    if unit not in _ROLL_UNITS:
        raise _no_length(text, argument)
    return round(_number(formatter, number, text, argument) * _ROLL_UNITS[unit])


def _split(text: str) -> tuple[str, str]:
    match = _WRITTEN.fullmatch(text.strip())
    return (text, "") if match is None else (match.group(1), (match.group(2) or "").lower())


def _number(formatter: Formatter, number: str, text: str, argument: str) -> float:
    try:
        return formatter.parse_number(number)
    except NotValid as error:
        raise _no_length(text, argument) from error


def _no_length(text: str, argument: str) -> NotValid:
    return NotValid(
        say("“{text}” is not a length.", text=text.strip()),
        hint=say("Type a number such as 12.5 or 12,5."),
        argument=argument,
    )
