"""Reads the names under which shops write their mesh: "230", "90T", "90-48", "305/40 dyed".

What is common practice: a grade letter (S, T, HD) follows a count per cm; count-diameter reads
per cm ("90-48"); cloth above 200 threads per cm is not on sale, so "230" is per inch; dyed cloth
is yellow. What is a guess, and is flagged as one: a bare count that is sold in both units (a bare
"110" is taken per inch, because names per cm usually carry a grade or a diameter), and a bare
count that is in neither list of trade counts. The lists are from memory and from published tables.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.mesh import CM_PER_INCH
from framekeeper.domain.sentence import say

CountUnit = Literal["inch", "cm"]

TRADE_COUNTS_PER_CM = frozenset({
    10, 12, 15, 18, 21, 24, 27, 29, 32, 34, 36, 39, 43, 48, 49, 51, 54, 55, 59, 61, 62, 64, 68,
    71, 73, 77, 80, 81, 90, 95, 100, 110, 120, 130, 140, 150, 165, 180, 190,
})  # fmt: skip
TRADE_COUNTS_PER_INCH = frozenset({
    24, 30, 38, 40, 54, 60, 74, 80, 83, 86, 92, 100, 109, 110, 123, 125, 130, 135, 137, 140, 150,
    155, 156, 157, 158, 160, 168, 173, 175, 180, 182, 186, 195, 196, 200, 205, 206, 209, 220, 225,
    230, 240, 250, 255, 260, 270, 280, 300, 305, 315, 325, 330, 350, 355, 380, 390, 400, 420, 460,
    480, 508,
})  # fmt: skip
_COARSEST_PER_CM, _FINEST_PER_CM = 4.0, 200.0
_INCH_ABOVE = 165  # a bare count that is in no list: finer than nearly all cloth counted per cm
_THINNEST_UM, _THICKEST_UM = 15.0, 500.0
# Opening over thread diameter of real cloth: published pairs lie between 0.5 and 4.1.
_TIGHTEST, _OPENEST = 0.4, 4.3

_COLOURS = {
    "w": "white", "white": "white", "natural": "white",
    "y": "yellow", "yellow": "yellow", "dyed": "yellow", "gold": "yellow", "amber": "yellow",
    "o": "orange", "orange": "orange",
}  # fmt: skip
_FILLERS = frozenset({
    "mesh", "polyester", "poly", "pet", "mono", "monofilament", "pw", "tw", "plain", "twill",
    "weave", "thread", "threads", "count",
})  # fmt: skip

_NAME = re.compile(
    r"""
    (?:(?:mesh|polyester|poly|pet|mono|monofilament)\s+)*
    (?P<count>\d+(?:[.,]\d+)?)
    (?:\s*(?P<unit>tpi|tpcm|t\s*/\s*(?:in|cm)|threads?\s*(?:/|per)\s*(?:inch|in|cm)
        |(?:/|per)?\s*(?:inch|in|cm))\b)?
    (?:\s*(?P<grade>hd|[smt])(?![a-z]))?
    (?:\s*(?P<join>[/-])\s*(?P<second>\d+(?:[.,]\d+)?)(?:\s*um\b)?)?
    (?:\s*-\s*(?P<third>\d+(?:[.,]\d+)?)(?:\s*um\b)?)?
    (?:\s+(?P<apart>\d+(?:[.,]\d+)?)\s*um\b)?
    (?P<words>[\s,a-z]*)
    """,
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class MeshName:
    """What a name tells about the cloth; the name itself stays as bought, never recomputed."""

    name: str
    threads_per_cm: float
    count_as_bought: float
    count_unit: CountUnit
    thread_um: float | None
    colour: str  # "white", "yellow", "orange", or "" where the name does not tell
    unit_is_a_guess: bool


@dataclass(frozen=True, slots=True)
class _Parts:
    count: float
    unit: CountUnit | None
    has_grade: bool
    join: str
    second: float | None
    third: float | None


def read_mesh(text: str, *, count_unit: CountUnit | None = None) -> MeshName:
    """Explain the name of a mesh.

    Parameters
    ----------
    text
        As the shop writes it.
    count_unit
        What the shop's list says that its counts are, where it says so. A unit in the text, both
        counts in the text ("43/110-80"), and a diameter that does not fit in the given unit are
        stronger.

    Returns
    -------
    MeshName
        `unit_is_a_guess` where the text, the geometry and the trade's counts leave both units open.

    Raises
    ------
    NotValid
        If no reading of a mesh explains the text.

    Examples
    --------
    >>> mesh = read_mesh("305/40 dyed")
    >>> mesh.count_unit, round(mesh.threads_per_cm, 1), mesh.thread_um, mesh.colour
    ('inch', 120.1, 40.0, 'yellow')
    """
    name = " ".join(text.split())
    plain = unicodedata.normalize("NFKC", name).lower()
    plain = re.sub(r"[‐-―−]", "-", plain)
    plain = re.sub(r"(?<=[\d\s])(?:μm|micron|microns|my)\b", "um", plain).replace('"', " inch ")
    found = _NAME.fullmatch(plain.strip())
    colour = _colour(found["words"]) if found else None
    if found is None or colour is None:
        raise _unexplained(name)
    parts = _Parts(
        count=_value(found["count"]) or 0.0,
        unit=_unit(found["unit"]),
        has_grade=found["grade"] is not None,
        join=found["join"] or "",
        second=_value(found["second"] or found["apart"]),
        third=_value(found["third"]),
    )
    thread, both_counts = _thread(parts)
    unit, is_a_guess = _decide(parts, thread, both_counts, count_unit)
    per_cm = parts.count if unit == "cm" else parts.count / CM_PER_INCH
    if not _is_cloth(per_cm, thread) or (parts.third is not None and not both_counts):
        raise _unexplained(name)
    return MeshName(name, per_cm, parts.count, unit, thread, colour, is_a_guess)


def _unexplained(name: str) -> NotValid:
    return NotValid(
        say("No reading of a mesh explains “{name}”.", name=name[:40]),
        hint=say("Write the count and, if known, the thread, as in 90-48, 230 or 77T yellow."),
        argument="mesh",
    )


def _value(digits: str | None) -> float | None:
    return None if digits is None else float(digits.replace(",", "."))


def _unit(written: str | None) -> CountUnit | None:
    if written is None:
        return None
    return "cm" if "cm" in written else "inch"


def _colour(words: str) -> str | None:
    """Return the colour among the words after the numbers; None if a word means nothing here."""
    colours = set()
    for word in re.findall(r"[a-z]+", words):
        if word in _COLOURS:
            colours.add(_COLOURS[word])
        elif word not in _FILLERS:
            return None
    return None if len(colours) > 1 else "".join(colours)


def _thread(parts: _Parts) -> tuple[float | None, bool]:
    """Tell the diameter, and whether the name carries the count in both units ("43/110-80").

    "36/90" may be both counts or a count and a thread; the thread is then left unknown.
    """
    both_counts = (
        parts.join == "/"
        and parts.second is not None
        and abs(parts.second / (CM_PER_INCH * parts.count or 1) - 1) < 0.025
    )
    return (parts.third, True) if both_counts else (parts.second, False)


def _is_cloth(per_cm: float, thread: float | None) -> bool:
    """Whether such cloth can exist: count, thread, and room between the threads."""
    if not _COARSEST_PER_CM <= per_cm <= _FINEST_PER_CM:
        return False
    if thread is None:
        return True
    fits = _THINNEST_UM <= thread <= _THICKEST_UM
    return fits and 10_000 / per_cm - thread >= _TIGHTEST * thread


def _is_usual(per_cm: float, thread: float | None) -> bool:
    """Whether such cloth is also usual: not more open than what is published."""
    if not _is_cloth(per_cm, thread):
        return False
    return thread is None or 10_000 / per_cm - thread <= _OPENEST * thread


def _decide(
    parts: _Parts, thread: float | None, both_counts: bool, given: CountUnit | None
) -> tuple[CountUnit, bool]:
    """Choose the unit of the count, strongest evidence first; True where it is a guess."""
    if parts.unit is not None:
        return parts.unit, False
    if both_counts:
        return "cm", False
    cm_can_be = _is_cloth(parts.count, thread)
    if given is not None:
        if given == "inch" or cm_can_be:
            return given, False
        return "inch", True
    if parts.has_grade:
        return ("cm", False) if cm_can_be else ("inch", True)
    cm_usual = _is_usual(parts.count, thread)
    if cm_usual != _is_usual(parts.count / CM_PER_INCH, thread):
        return ("cm", False) if cm_usual else ("inch", False)
    per_cm_is_sold = parts.count in TRADE_COUNTS_PER_CM
    if per_cm_is_sold != (parts.count in TRADE_COUNTS_PER_INCH):
        return ("cm" if per_cm_is_sold else "inch"), thread is not None
    if thread is not None:
        return "cm", True
    return ("inch" if per_cm_is_sold or parts.count > _INCH_ABOVE else "cm"), True
