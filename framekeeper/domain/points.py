"""Where on a frame the tension is read, and in which order a person walks the points.

Sources: five points, centre first and then the corners a palm in, each along warp and weft
(M. Atkinson, "How to manage tension in your shop", Images Magazine, 9 August 2019); nine points
for screens over 48 in wide (B. Wolff, "Pushing the Limit", Screen Printing, February 2001); at
least 10 cm inside the frame's inner edge, nearer to it the number is wrong (heicmy.com, in
Chinese, read as an excerpt). Six points in two rows of three: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

BAR_MM = 38.1  # a bar of 1.5 in, which leaves 20 x 28 in inside a frame of 23 x 31 in
MARGIN_MM = 100.0

# Places as fractions of the measured field, x to the right and y down, in walking order.
_PATTERNS: dict[str, tuple[tuple[float, float], ...]] = {
    "1": ((0.5, 0.5),),
    "5": ((0.5, 0.5), (0, 0), (1, 0), (1, 1), (0, 1)),
    "6": ((0, 0), (0.5, 0), (1, 0), (1, 1), (0.5, 1), (0, 1)),
    "9": ((0.5, 0.5), (0, 0), (0.5, 0), (1, 0), (1, 0.5), (1, 1), (0.5, 1), (0, 1), (0, 0.5)),
}
PATTERN_NAMES = tuple(_PATTERNS)
OWN = "own"  # the points that a shop chose for itself
FEWEST_OWN_POINTS, MOST_OWN_POINTS = 2, 12

Percent = tuple[float, float]


def point_pattern(
    name: str,
    width_mm: float,
    height_mm: float,
    *,
    bar_mm: float = BAR_MM,
    margin_mm: float = MARGIN_MM,
    own: Sequence[Percent] = (),
) -> tuple[tuple[float, float], ...]:
    """Lay the points of a survey on a frame.

    Parameters
    ----------
    name
        "1" (centre), "5" (centre and corners), "6" (two rows of three), "9", or "own".
    width_mm, height_mm
        Outside size of the frame, mm, above 0.
    bar_mm
        Width of a bar seen from above, mm, at least 0.
    margin_mm
        Distance of the outer points from the inner edge, mm, at least 0. On a frame too small
        for it, the outer points move to a quarter of the inside; such readings are low in trust.
    own
        The points of the pattern "own", in percent of the inside, x to the right and y down: a
        share fits every frame size, millimetres would fit one.

    Returns
    -------
    tuple of (x_mm, y_mm)
        From the outer top left corner, x to the right and y down, in walking order.

    Raises
    ------
    NotValid
        For an unknown pattern, a size that is not above 0, or bars that leave no inside.

    Examples
    --------
    >>> point_pattern("1", 584.2, 787.4)
    ((292.1, 393.7),)
    """
    across = _outer_span(width_mm, bar_mm, margin_mm, "width_mm")
    down = _outer_span(height_mm, bar_mm, margin_mm, "height_mm")
    if name == OWN and own:
        inside = width_mm - 2 * bar_mm, height_mm - 2 * bar_mm
        return tuple(
            (bar_mm + x / 100 * inside[0], bar_mm + y / 100 * inside[1])
            for x, y in valid_own_points(own)
        )
    if name not in _PATTERNS:
        raise NotValid(
            say("There is no pattern of points named “{name}”.", name=name),
            hint=say("Choose one of: {names}.", names=", ".join(PATTERN_NAMES)),
            argument="name",
        )
    return tuple(
        (across[0] + fx * (across[1] - across[0]), down[0] + fy * (down[1] - down[0]))
        for fx, fy in _PATTERNS[name]
    )


def valid_own_points(points: Sequence[Sequence[float]]) -> tuple[Percent, ...]:
    """Return a shop's own points if a survey can be read at them.

    Raises
    ------
    NotValid
        For fewer than 2 or more than 12 points, a point that is no pair of percentages above 0 and
        below 100, or two points in one place.
    """
    if not FEWEST_OWN_POINTS <= len(points) <= MOST_OWN_POINTS:
        raise NotValid(
            say(
                "Own points are {fewest} to {most}, not {count}.",
                fewest=FEWEST_OWN_POINTS,
                most=MOST_OWN_POINTS,
                count=len(points),
            ),
            argument="own_points",
        )
    try:
        pairs = [tuple(float(value) for value in point) for point in points]
    except (TypeError, ValueError):
        pairs = [()]
    if not all(len(p) == 2 and all(math.isfinite(v) and 0 < v < 100 for v in p) for p in pairs):
        raise NotValid(
            say("An own point is two numbers between 0 and 100, in percent of the inside."),
            hint=say("The middle is 50 50; x goes to the right and y down."),
            argument="own_points",
        )
    if len(set(pairs)) < len(pairs):
        raise NotValid(say("Two own points lie in the same place."), argument="own_points")
    return tuple((pair[0], pair[1]) for pair in pairs)


def pattern_with(count: int, preferred: str, own: Sequence[Percent] = ()) -> str | None:
    """Name the pattern that has this many points; the preferred one where several have.

    None where no pattern has as many: nobody knows then where the points lie.
    """
    counts = {**{name: len(places) for name, places in _PATTERNS.items()}, OWN: len(own)}
    ordered = (preferred, *PATTERN_NAMES, OWN)
    return next((name for name in ordered if counts.get(name) == count), None)


def points_in(name: str, own: Sequence[Percent] = ()) -> int:
    """Count the points of a pattern."""
    return len(own) if name == OWN else len(_PATTERNS[name])


def _outer_span(
    side_mm: float, bar_mm: float, margin_mm: float, argument: str
) -> tuple[float, float]:
    """First and last coordinate of the measured field along one side."""
    inside_mm = side_mm - 2 * bar_mm
    if not inside_mm > 0:
        raise NotValid(say("This frame has no inside to measure."), argument=argument)
    inset_mm = bar_mm + min(margin_mm, inside_mm / 4)
    return inset_mm, side_mm - inset_mm
