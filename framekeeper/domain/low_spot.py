"""Tells a low side of a frame from a low corner, from where the tension was read.

The causes that are named are likely ones: common practice, no source, except where one is given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Literal

from framekeeper.domain.sentence import Sentence, say

Kind = Literal["low side", "low corner", "unbalanced", "low throughout", "uneven"]
Point = tuple[float, float]

EDGE = 0.25  # of the measured field: points this near to a side belong to it
CENTRE = 0.1  # of the measured field: a point this near to its middle is the centre
EXPLAINED = 0.6  # of all differences between the points, for a side or corner to be named
CONFIDENT_Z = 1.645  # one-sided 95 %: the low spot is lower than repeatability explains

_CAUSE_OF_SIDE = say("Likely cause: a bent bar, or adhesive that slipped along this side.")
# That corners lower than the centre can be intended: Serigrafia Italia, questions and answers.
_CAUSE_OF_CORNER = say(
    "Likely cause: mesh that pulled away at this corner, or a corner that was softened on purpose."
)
_SAID = {
    "left": say("The left side is {by:.1f} N/cm lower than the rest."),
    "right": say("The right side is {by:.1f} N/cm lower than the rest."),
    "top": say("The top side is {by:.1f} N/cm lower than the rest."),
    "bottom": say("The bottom side is {by:.1f} N/cm lower than the rest."),
    "top left": say("The top left corner is {by:.1f} N/cm lower than the rest."),
    "top right": say("The top right corner is {by:.1f} N/cm lower than the rest."),
    "bottom left": say("The bottom left corner is {by:.1f} N/cm lower than the rest."),
    "bottom right": say("The bottom right corner is {by:.1f} N/cm lower than the rest."),
}


@dataclass(frozen=True, slots=True)
class Finding:
    """What is wrong with a screen, where, by how much, and what likely did it."""

    kind: Kind
    place: str  # "left", "top right" ... for a side or corner, "warp" or "weft", else ""
    by_n_per_cm: float
    said: Sentence
    likely_cause: Sentence | None


def centre_of(points: Sequence[Point]) -> int | None:
    """Index of the point in the middle of the measured field, if one is there."""
    distances = [max(abs(u - 0.5), abs(v - 0.5)) for u, v in _in_field(points)]
    nearest = min(range(len(points)), key=distances.__getitem__)
    return nearest if distances[nearest] <= CENTRE else None


def low_spot(
    points: Sequence[Point], tensions: Sequence[float], *, by: float, repeatability: float
) -> Finding | None:
    """Name the side or corner that is lower than the rest, if the differences have that shape.

    Parameters
    ----------
    points
        Where each point lies, mm, x to the right and y down, (n, 2).
    tensions
        Mean of warp and weft at each point, N/cm, (n,).
    by
        The least difference that matters, N/cm.
    repeatability
        Standard deviation of one reading, N/cm.

    Returns
    -------
    Finding or None
        Of all sides and corners the one that explains most of the differences by one step down.
        A side has two points or more; a corner is one.
    """
    about = fmean(tensions)
    total = sum((t - about) ** 2 for t in tensions)
    best: tuple[float, str, float] | None = None
    for place, members in _places(points).items():
        low = [t for t, inside in zip(tensions, members, strict=True) if inside]
        rest = [t for t, inside in zip(tensions, members, strict=True) if not inside]
        step = fmean(rest) - fmean(low)
        noise = repeatability * math.sqrt(1 / (2 * len(low)) + 1 / (2 * len(rest)))
        if step <= max(by, CONFIDENT_Z * noise):
            continue
        explained = step**2 * len(low) * len(rest) / len(tensions)
        if explained >= EXPLAINED * total and (best is None or explained > best[0]):
            best = explained, place, step
    if best is None:
        return None
    _, place, step = best
    is_corner = " " in place
    return Finding(
        kind="low corner" if is_corner else "low side",
        place=place,
        by_n_per_cm=step,
        said=say(_SAID[place].template, by=step),
        likely_cause=_CAUSE_OF_CORNER if is_corner else _CAUSE_OF_SIDE,
    )


def _in_field(points: Sequence[Point]) -> list[Point]:
    """Coordinates as fractions of the measured field; the middle along an axis without extent."""
    axes = []
    for axis in (0, 1):
        values = [p[axis] for p in points]
        least, extent = min(values), max(values) - min(values)
        axes.append([(v - least) / extent if extent else 0.5 for v in values])
    return list(zip(*axes, strict=True))


def _places(points: Sequence[Point]) -> dict[str, list[bool]]:
    """Which points belong to each side and corner that has a rest to be compared with."""
    field = _in_field(points)
    sides = {
        "left": [u <= EDGE for u, _ in field],
        "right": [u >= 1 - EDGE for u, _ in field],
        "top": [v <= EDGE for _, v in field],
        "bottom": [v >= 1 - EDGE for _, v in field],
    }
    found = {name: mask for name, mask in sides.items() if 2 <= sum(mask) < len(points)}
    for down in ("top", "bottom"):
        for across in ("left", "right"):
            both = [a and b for a, b in zip(sides[down], sides[across], strict=True)]
            if sum(both) == 1 and len(points) > 2:
                found[f"{down} {across}"] = both
    return found
