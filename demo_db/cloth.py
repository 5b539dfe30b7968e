"""What the cloth of a demo screen really does, and what a meter shows of it.

Invented behaviour in the shape that the trade describes: most of the loss at once, then less and
less with the logarithm of time, and a little with every run and reclaim. The numbers are ours and
serve the demo alone.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np

from framekeeper.domain.events import Direction, Reading

from .scenario import MeterPlan

FIRST_SPAN_DAYS = 0.2  # after this time the loss begins to slow down
LOSS_PER_DECADE = 0.045
LOSS_BY_USE = 0.14  # of the start, after very many cycles
CYCLES_TO_TAPER = 25.0
CLAMP_SHARE = 1.06  # in the clamps, against just after the release
LOWEST_N_PER_CM = 3.0

CORNERS = 4
_ROW_POINTS = (0, -1, 1, 2, -1, 3)  # six points walk corner, middle, corner, corner, middle, corner


@dataclass
class Cloth:
    """One piece of mesh on one frame, as it truly is. Tensions in N/cm."""

    start: float  # just after the release
    day0_at: dt.datetime
    decay: float  # loss per decade of time, as a share
    corners: tuple[float, float, float, float]  # against the centre, in walking order
    imbalance: float  # warp minus weft
    cycles: int = 0
    slip: float = 0.0  # lost at once, when glue gave way or a bar bent

    def tension(self, at: dt.datetime) -> float:
        """Return the true tension at the centre."""
        days = max((at - self.day0_at).total_seconds() / 86_400, 0.0)
        by_time = self.decay * math.log10(1 + days / FIRST_SPAN_DAYS)
        by_use = LOSS_BY_USE * (1 - math.exp(-self.cycles / CYCLES_TO_TAPER))
        return max(self.start * (1 - by_time - by_use) - self.slip, LOWEST_N_PER_CM)

    def offset(self, pattern: str, place: int) -> float:
        """Return how far a point of a survey lies from the centre."""
        if pattern == "5":
            return 0.0 if place == 0 else self.corners[place - 1]
        if pattern == "6":
            corner = _ROW_POINTS[place]
            return 0.0 if corner < 0 else self.corners[corner]
        return 0.0


def new_cloth(
    rng: np.random.Generator, target: float, day0_at: dt.datetime, *, cycles: int = 0
) -> Cloth:
    """Make mesh as this shop stretches it: near the target a day later, seldom uneven."""
    corners = rng.normal(-0.15, 0.28, CORNERS)
    fault = rng.random()
    if fault < 0.025:  # the glue gives a little at one corner
        corners[int(rng.integers(CORNERS))] -= 2.9
    elif fault < 0.045:  # a bar that bows takes both of its corners along
        first = int(rng.integers(CORNERS))
        corners[first] -= 2.3
        corners[(first + 1) % CORNERS] -= 2.6
    return Cloth(
        start=target * 1.035 * float(rng.normal(1.0, 0.022)),
        day0_at=day0_at,
        decay=LOSS_PER_DECADE * float(rng.lognormal(0.0, 0.22)),
        corners=(float(corners[0]), float(corners[1]), float(corners[2]), float(corners[3])),
        imbalance=float(rng.normal(0.4, 0.35)),
        cycles=cycles,
    )


def read(
    cloth: Cloth,
    meter: MeterPlan,
    rng: np.random.Generator,
    at: dt.datetime,
    *,
    pattern: str,
    in_clamps: bool = False,
) -> tuple[Reading, ...]:
    """Return what the meter shows, warp and then weft at each point; "1" gives one number."""
    centre = cloth.tension(at) * (CLAMP_SHARE if in_clamps else 1.0)
    points = int(pattern)
    wavering = rng.normal(0.0, meter.noise, 2 * points)
    if points == 1:
        shown = _shown(centre + float(wavering[0]), meter)
        return (Reading(1, "not_told", shown),)
    readings = []
    for place in range(points):
        for column, direction in enumerate(_DIRECTIONS):
            true = centre + cloth.offset(pattern, place) + _HALVES[column] * cloth.imbalance
            shown = _shown(true + float(wavering[2 * place + column]), meter)
            readings.append(Reading(place + 1, direction, shown))
    return tuple(readings)


_DIRECTIONS: tuple[Direction, Direction] = ("warp", "weft")
_HALVES = (0.5, -0.5)


def _shown(true: float, meter: MeterPlan) -> float:
    steps = round((true + meter.shows_too_much) / meter.resolution)
    return max(round(steps * meter.resolution, 2), meter.resolution)
