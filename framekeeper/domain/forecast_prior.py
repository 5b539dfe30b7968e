"""What is believed about tension loss before the shop has read a screen, and where it comes from.

All sizes are shares of the tension that a mesh group starts with, so a shop may count in any unit.
Published figures give the first night and the order of the cycle loss; no published curve over a
whole life of a mesh was found. What no source gives is marked, kept weak, and fades as the shop's
own readings come.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sizes:
    """How far screens differ from their fleet, and readings from the truth.

    Each is a standard deviation, as a share of the group's typical starting tension, except
    `shared`, which is a variance ratio.
    """

    level: float  # starting tension of one stretch
    slope: float  # loss per decade of days
    early: float  # loss of the first night
    cycle: float  # loss per print and reclaim, once it has settled
    creep: float  # loss per 100 days that goes on steadily
    bend: float  # integrated Wiener process in log-time, per decade^1.5
    wander: float  # Brownian motion, per square root of 100 days
    noise: float  # one reading
    shared: (
        float  # the part of the noise variance that a repeat at the same sitting shares, as odds
    )
    fleet_bend: float  # change of the fleet's loss per decade at each knot

    def ways(self) -> tuple[float, ...]:
        """The sizes that belong to the true tension, not to readings or the fleet."""
        return (self.level, self.slope, self.early, self.cycle, self.creep, self.bend, self.wander)

    def as_log(self) -> Array:
        """Natural logarithms, the scale on which sizes are sought."""
        return np.asarray(np.log(np.array(astuple(self))))

    @classmethod
    def from_log(cls, values: Array) -> Sizes:
        """Sizes from their logarithms."""
        return cls(*(float(v) for v in np.exp(values)))


# Our proposal, no source, but for `noise`: analogue meters read to about 1 N/cm (from memory),
# taken as two standard deviations and the mean of a few points at 25 N/cm.
USUAL_SIZES = Sizes(
    level=0.06,
    slope=0.012,
    early=0.015,
    cycle=0.0006,
    creep=0.006,
    bend=0.010,
    wander=0.008,
    noise=0.016,
    shared=0.3,
    fleet_bend=0.012,
)
LOG_SD_OF_SIZES = 0.7  # a factor of two either way is no surprise

# Loss per decade of days: 4 to 6 % (derived, an assumption); doubt as wide as half of it.
LOSS_PER_DECADE, DOUBT_PER_DECADE = 0.05, 0.02
# The first night: 20 -> 17-18 N/cm after glue (B. Wolff, "Pushing the Limit", Screen Printing,
# February 2001), part of which falls before the release, and some of which is the log-time slope.
FIRST_NIGHT_LOSS, FIRST_NIGHT_DOUBT = 0.04, 0.04
FIRST_NIGHT_DAYS = 0.7
# 1 to 2 % per print and reclaim early, tapering (derived, an assumption).
CYCLE_LOSS, CYCLE_DOUBT = 0.004, 0.004
TAPER_CYCLES = 10.0
SETTLED_CYCLE_LOSS, SETTLED_CYCLE_DOUBT = 0.0008, 0.0008
# Steady creep beside the log-time loss, per 100 days: our proposal, no source.
CREEP, CREEP_DOUBT = 0.0, 0.02
# How mesh groups differ from the fleet: our proposal, no source.
GROUP_LEVEL_DOUBT, GROUP_SLOPE_SD, GROUP_CYCLE_SD = 0.10, 0.008, 0.0004

# Sudden drops (a corner lets go): common practice, no source: one in ten stretches a year, an
# eighth of the tension; weighed like one drop seen in ten years of use.
DROPS_SEEN_BEFORE, YEARS_SEEN_BEFORE = 1.0, 10.0
USUAL_DROP, DROP_SPREAD, DROPS_AS_USUAL = 0.12, 0.06, 3.0

# Good meters are advertised to about +-1 % (a seller's page, see trade notes): as a rectangular
# doubt its standard deviation is 1 / sqrt(3) %, and 0.5 % of drift between two good checks (our
# proposal, no source) come on top. No number of readings averages it away.
METER_BIAS = 0.0075
