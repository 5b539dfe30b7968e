"""Watches the zeros and references of a meter, so that a drift shows before it reaches the limit.

The averages and sums start anew with each repair: an adjusted meter is a new one in this.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.records import MeterCheckRecord, MeterRecord
from framekeeper.services.meter_checks import MeterPage

# A good meter is suspected once in 500 checks by the average (Lucas and Saccucci, 1990) and once in
# 465 by the sums (Montgomery, 2013, table 9.3); a shift of one deviation shows after about 10.
WEIGHT, WIDTH = 0.2, 2.962
ALLOWANCE, DECISION = 0.5, 5.0

Watched = Literal["zero", "reference"]


@dataclass(frozen=True, slots=True)
class DriftPoint:
    """One check: how far off it was, the average so far with its limits, all in N/cm."""

    check: MeterCheckRecord
    off_n_per_cm: float
    average: float
    lower: float
    upper: float
    is_outside: bool  # the average is beyond its limits
    is_signal: bool  # the cumulative sum passed its decision value


@dataclass(frozen=True, slots=True)
class Drift:
    """The checks of one kind since the last repair, oldest first."""

    kind: Watched
    points: tuple[DriftPoint, ...]

    @property
    def drifts(self) -> bool:
        """Whether the newest check says that the meter has moved."""
        return bool(self.points) and (self.points[-1].is_outside or self.points[-1].is_signal)

    @property
    def since(self) -> dt.datetime | None:
        """When the drift that is seen now was first seen."""
        first = None
        for point in reversed(self.points):
            if not (point.is_outside or point.is_signal):
                break
            first = point.check.happened_at
        return first


def drifts(page: MeterPage) -> tuple[Drift, Drift]:
    """Chart the zeros and the references of a meter since its last repair.

    The spread of one check while nothing is wrong is taken from the meter's repeatability and the
    step of its scale, not from the checks themselves: a meter that drifts would widen its own
    limits.
    """
    meter = page.trust.meter
    repairs = [c.happened_at for c in page.checks if c.kind == "repair"]
    since = max(repairs, default=None)
    fresh = [c for c in page.checks if since is None or c.happened_at > since]
    zeros = [(c, c.shown) for c in fresh if c.kind == "zero" and c.shown is not None]
    references = [
        (c, c.shown + meter.correction - c.expected)
        for c in fresh
        if c.kind == "reference" and c.shown is not None and c.expected is not None
    ]
    sd = spread_of_one_check(meter)
    return Drift("zero", _chart(zeros, sd)), Drift("reference", _chart(references, sd))


def _chart(checks: Sequence[tuple[MeterCheckRecord, float]], sd: float) -> tuple[DriftPoint, ...]:
    if not checks:
        return ()
    from framekeeper.domain.charts import cusum, ewma

    off = [value for _, value in checks]
    averages = ewma(off, target=0.0, sd=sd, weight=WEIGHT, width=WIDTH)
    sums = cusum(off, target=0.0, sd=sd, k=ALLOWANCE, h=DECISION)
    return tuple(
        DriftPoint(
            check,
            value,
            float(averages.value[n]),
            float(averages.lower[n]),
            float(averages.upper[n]),
            n in averages.outside,
            n in sums.signals,
        )
        for n, (check, value) in enumerate(checks)
    )


def spread_of_one_check(meter: MeterRecord) -> float:
    """Return how far a check of a good meter lies from zero, as a standard deviation in N/cm."""
    return math.hypot(meter.repeatability, meter.resolution / math.sqrt(12))
