"""Where on a frame the tension is read, and in which order a person walks the points.

Sources: five points, centre first and then the corners a palm in, each along warp and weft
(M. Atkinson, "How to manage tension in your shop", Images Magazine, 9 August 2019); nine points
for screens over 48 in wide (B. Wolff, "Pushing the Limit", Screen Printing, February 2001); at
least 10 cm inside the frame's inner edge, nearer to it the number is wrong (heicmy.com, in
Chinese, read as an excerpt). Six points in two rows of three: common practice, no source.
"""

from __future__ import annotations

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


def point_pattern(
    name: str,
    width_mm: float,
    height_mm: float,
    *,
    bar_mm: float = BAR_MM,
    margin_mm: float = MARGIN_MM,
) -> tuple[tuple[float, float], ...]:
    """Lay the points of a survey on a frame.

    Parameters
    ----------
    name
        "1" (centre), "5" (centre and corners), "6" (two rows of three) or "9".
    width_mm, height_mm
        Outside size of the frame, mm, above 0.
    bar_mm
        Width of a bar seen from above, mm, at least 0.
    margin_mm
        Distance of the outer points from the inner edge, mm, at least 0. On a frame too small
        for it, the outer points move to a quarter of the inside; such readings are low in trust.

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
    if name not in _PATTERNS:
        raise NotValid(
            say("There is no pattern of points named “{name}”.", name=name),
            hint=say("Choose one of: {names}.", names=", ".join(PATTERN_NAMES)),
            argument="name",
        )
    across = _outer_span(width_mm, bar_mm, margin_mm, "width_mm")
    down = _outer_span(height_mm, bar_mm, margin_mm, "height_mm")
    return tuple(
        (across[0] + fx * (across[1] - across[0]), down[0] + fy * (down[1] - down[0]))
        for fx, fy in _PATTERNS[name]
    )


def _outer_span(
    side_mm: float, bar_mm: float, margin_mm: float, argument: str
) -> tuple[float, float]:
    """First and last coordinate of the measured field along one side."""
    inside_mm = side_mm - 2 * bar_mm
    if not inside_mm > 0:
        raise NotValid(say("This frame has no inside to measure."), argument=argument)
    inset_mm = bar_mm + min(margin_mm, inside_mm / 4)
    return inset_mm, side_mm - inset_mm
