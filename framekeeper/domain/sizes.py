"""Reads a frame size as people write it, and says so when the unit had to be guessed."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Millimetres, say

LengthUnit = Literal["mm", "inch", "cm"]

MM_PER_UNIT: Final[dict[LengthUnit, float]] = {"mm": 1.0, "cm": 10.0, "inch": 25.4}
# 23 x 31 in, the usual frame of automatic presses: common practice, no source.
USUAL_FRAME_MM: Final = (584.2, 787.4)
SMALLEST_SIDE_MM: Final = 100.0
LARGEST_SIDE_MM: Final = 5000.0
# Up to here a bare number is an inch: no printing frame is 80 mm wide, and few are 80 inch.
LARGEST_GUESSED_INCH: Final = 80.0

UNIT_WORDS: Final[dict[str, LengthUnit]] = {
    "mm": "mm",
    "cm": "cm",
    "in": "inch",
    "inch": "inch",
    "inches": "inch",
    '"': "inch",
    "''": "inch",
    "zoll": "inch",
    "pulgada": "inch",
    "pulgadas": "inch",
    "pouce": "inch",
    "pouces": "inch",
}
_UNIT = "|".join(re.escape(word) for word in sorted(UNIT_WORDS, key=len, reverse=True))
_NUMBER = r"[-+]?\d(?:[.,' ]?\d)*"
_SIZE = re.compile(
    rf"({_NUMBER})\s*({_UNIT})?\.?\s*(?:x|×|\*|by)\s*({_NUMBER})\s*({_UNIT})?\.?", re.IGNORECASE
)
_PLAIN = re.compile(r"[-+]?\d+(?:[.,]\d+)?", re.ASCII)
_GROUPED = (
    re.compile(r"[-+]?\d{1,3}(?:,\d{3})+\.\d+", re.ASCII),  # 1,234.5
    re.compile(r"[-+]?\d{1,3}(?:\.\d{3})+,\d+", re.ASCII),  # 1.234,5
    re.compile(r"[-+]?\d{1,3}(?:,\d{3}){2,}", re.ASCII),  # 1,234,567
    re.compile(r"[-+]?\d{1,3}(?:\.\d{3}){2,}", re.ASCII),  # 1.234.567
    re.compile(r"[-+]?\d{1,3}(?:[ '\u00a0\u202f]\d{3})+(?:[.,]\d+)?", re.ASCII),  # 1 234,5
)
_LONGEST_TEXT: Final = 60


@dataclass(frozen=True, slots=True)
class Size:
    """The outside of a frame, as written: first number is the width, second the height."""

    width_mm: float
    height_mm: float
    unit_is_a_guess: bool = False


def read_decimal(text: str) -> float:
    """Read a number with a decimal comma or a decimal point.

    A single comma or point is always the decimal sign, because "1,234" alone cannot be told from
    a thousands separator. Separators of thousands are accepted where they cannot be anything else.

    Raises
    ------
    NotValid
        The text is no number, or has separators that could mean two things.

    Examples
    --------
    >>> [read_decimal(text) for text in ("23,5", "1.234,5", "1,234.5", "1,234")]
    [23.5, 1234.5, 1234.5, 1.234]
    """
    trimmed = text.strip()
    if len(trimmed) <= _LONGEST_TEXT:
        if _PLAIN.fullmatch(trimmed):
            return float(trimmed.replace(",", "."))
        if any(pattern.fullmatch(trimmed) for pattern in _GROUPED):
            return float(_without_thousands(trimmed))
    raise NotValid(
        say("“{text}” is not a number.", text=_short(trimmed)),
        hint=say("Write it with digits and one decimal sign, such as 23.5 or 23,5."),
        argument="text",
    )


def read_size(text: str, *, unit: LengthUnit | None = None) -> Size:
    """Read the outside size of a frame.

    Parameters
    ----------
    text
        Two numbers with "x", "×", "*" or "by" between them, with or without a unit.
    unit
        The unit that the column names; a unit in the text wins. Without either, numbers up to 80
        are inches and larger ones mm, and the result calls that a guess. cm is never guessed.

    Raises
    ------
    NotValid
        No size can be read, or a side is under 100 mm or over 5 m.

    Examples
    --------
    >>> read_size('23"x31"')
    Size(width_mm=584.2, height_mm=787.4, unit_is_a_guess=False)
    >>> read_size("584x787")
    Size(width_mm=584.0, height_mm=787.0, unit_is_a_guess=True)
    """
    trimmed = text.strip().replace("″", '"').replace("”", '"').replace("“", '"')
    match = _SIZE.fullmatch(trimmed) if len(trimmed) <= _LONGEST_TEXT else None
    if match is None:
        raise NotValid(
            say("“{text}” is not a frame size.", text=_short(trimmed)),
            hint=say("Write width and height, such as 23 x 31 in or 584 x 787 mm."),
            argument="text",
        )
    units = [UNIT_WORDS[word.lower()] for word in match.group(2, 4) if word]
    if len(set(units)) > 1:
        raise NotValid(
            say("“{text}” mixes two units.", text=trimmed),
            hint=say("Write both sides in one unit."),
            argument="text",
        )
    width, height = read_decimal(match.group(1)), read_decimal(match.group(3))
    return size_of(width, height, unit=units[0] if units else unit)


def size_of(width: float, height: float, *, unit: LengthUnit | None = None) -> Size:
    """Turn two numbers into a size; see `read_size` for what happens without a unit.

    Raises
    ------
    NotValid
        A side is under 100 mm or over 5 m, or is not a number.
    """
    told = unit or ("inch" if max(width, height) <= LARGEST_GUESSED_INCH else "mm")
    width_mm, height_mm = (round(side * MM_PER_UNIT[told], 2) for side in (width, height))
    for side_mm in (width_mm, height_mm):
        if not math.isfinite(side_mm) or not SMALLEST_SIDE_MM <= side_mm <= LARGEST_SIDE_MM:
            raise NotValid(
                say(
                    "A frame side of {side} cannot be right; sides go from {low} to {high}.",
                    side=Millimetres(side_mm),
                    low=Millimetres(SMALLEST_SIDE_MM),
                    high=Millimetres(LARGEST_SIDE_MM),
                ),
                hint=say("Write the unit beside the size if it is inch or cm."),
                argument="size",
            )
    return Size(width_mm, height_mm, unit_is_a_guess=unit is None)


def _without_thousands(number: str) -> str:
    """Keep a decimal sign only if it is the last separator and stands once."""
    last = max(number.rfind(","), number.rfind("."))
    has_fraction = last >= 0 and number.count(number[last]) == 1
    whole, fraction = (number[:last], number[last + 1 :]) if has_fraction else (number, "")
    digits = re.sub(r"[^\d+-]", "", whole, flags=re.ASCII)
    return f"{digits}.{fraction}" if fraction else digits


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "…"
