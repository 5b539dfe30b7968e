"""What the forecast says of one screen, as of its latest reading: plain values for lists."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

Decision = Literal["keep", "read again", "pull"]

MATHS = 2
"""Raised when the same readings would give another forecast; what was kept is then dropped."""

AHEAD_DAYS = (0, 1, 2, 3, 5, 7, 10, 14, 21, 28, 35, 42, 56, 70, 84, 112, 140, 182, 273, 365)
"""The days after the latest reading for which the chances are kept; straight lines between them."""

EVEN_CHANCE = 0.5
WORTH_A_HOLD = 0.05  # a sudden drop of that share of the tension: our proposal, no source


@dataclass(frozen=True, slots=True)
class Watch:
    """How a screen is watched: below which tension it must not fall, and what the shop risks."""

    limit: float  # N/cm
    risk: float
    longest_wait_days: int


@dataclass(frozen=True, slots=True)
class Outlook:
    """The forecast of the mesh on one frame. Tensions in N/cm.

    `chances` are those of being below the limit on each of `AHEAD_DAYS`, a sudden drop included.
    """

    read_at: dt.datetime
    tension: float  # estimate of the true tension at the latest reading
    sd: float
    decision: Decision
    fell_by: float | None  # how far the latest reading lies below its forecast, if suddenly
    check_at: dt.datetime
    tension_then: float  # expected at the next check
    limit: float
    chances: tuple[float, ...]
    start_is_known: bool
    cycles_per_day: float

    @property
    def may_have_slipped(self) -> bool:
        """Whether the latest reading is so far below its forecast that cloth or glue let go."""
        return self.fell_by is not None and self.fell_by >= WORTH_A_HOLD * self.tension

    def chance_at(self, moment: dt.datetime) -> float:
        """Chance of being below the limit at a moment; that of the last day kept after it."""
        days = max((moment - self.read_at).total_seconds() / 86_400, 0.0)
        for place in range(1, len(AHEAD_DAYS)):
            if days <= AHEAD_DAYS[place]:
                low, high = AHEAD_DAYS[place - 1], AHEAD_DAYS[place]
                share = (days - low) / (high - low)
                return self.chances[place - 1] * (1 - share) + self.chances[place] * share
        return self.chances[-1]

    def reached_at(self, chance: float) -> dt.datetime | None:
        """The moment at which the chance of being below the limit reaches this; None past a year.

        The chance need not rise all the time; what counts is when it first gets there.
        """
        if self.chances[0] >= chance:
            return self.read_at
        for place in range(1, len(AHEAD_DAYS)):
            before, after = self.chances[place - 1], self.chances[place]
            if after >= chance:
                low, high = AHEAD_DAYS[place - 1], AHEAD_DAYS[place]
                share = (chance - before) / (after - before)
                return self.read_at + dt.timedelta(days=low + share * (high - low))
        return None

    def days_left(self, now: dt.datetime) -> float | None:
        """Days until it is as likely as not to be below its limit; None past a year."""
        at = self.reached_at(EVEN_CHANCE)
        return None if at is None else max((at - now).total_seconds() / 86_400, 0.0)
