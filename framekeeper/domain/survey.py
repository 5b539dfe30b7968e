"""What a set of tension readings says: means, spread and the balance of warp and weft."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.events import Reading
from framekeeper.domain.sentence import say

HIGHEST_TENSION_N_PER_CM = 60.0  # meters of this class end at 50; above 60 is a typing mistake


@dataclass(frozen=True, slots=True)
class SurveySummary:
    """The figures of one survey, in N/cm.

    `mean_warp`, `mean_weft` and `imbalance` are None where a direction was not read.
    """

    n: int
    mean: float
    lowest: float
    highest: float
    mean_warp: float | None
    mean_weft: float | None

    @property
    def spread(self) -> float:
        """Highest minus lowest reading."""
        return self.highest - self.lowest

    @property
    def imbalance(self) -> float | None:
        """Distance between the means of warp and weft."""
        if self.mean_warp is None or self.mean_weft is None:
            return None
        return abs(self.mean_warp - self.mean_weft)


def valid_tension(value: float, *, argument: str = "tension") -> float:
    """Return the value if a meter could have shown it.

    Raises
    ------
    NotValid
        For NaN, zero, a negative number, or anything above 60 N/cm.
    """
    if not math.isfinite(value) or value <= 0:
        raise NotValid(
            say("A tension of {value} N/cm cannot be.", value=value),
            hint=say("Enter what the meter shows, for example 22.5."),
            argument=argument,
        )
    if value > HIGHEST_TENSION_N_PER_CM:
        raise NotValid(
            say(
                "{value:.1f} N/cm is more than a tension meter can show ({most:.0f} N/cm).",
                value=value,
                most=HIGHEST_TENSION_N_PER_CM,
            ),
            hint=say("Check for a missing decimal point or a second number in the field."),
            argument=argument,
        )
    return value


def summarise(readings: Sequence[Reading], *, correction_n_per_cm: float = 0.0) -> SurveySummary:
    """Summarise one survey.

    Parameters
    ----------
    readings
        At least one reading; each raw value within (0, 60] N/cm.
    correction_n_per_cm
        Added to every raw value.

    Raises
    ------
    NotEnoughData
        Without any reading.
    NotValid
        For a raw value that no meter can show.
    """
    if not readings:
        raise NotEnoughData(say("A survey needs at least one reading."))
    values = [valid_tension(r.raw_n_per_cm) + correction_n_per_cm for r in readings]
    by_direction = {
        direction: [v for r, v in zip(readings, values, strict=True) if r.direction == direction]
        for direction in ("warp", "weft")
    }
    return SurveySummary(
        n=len(values),
        mean=fmean(values),
        lowest=min(values),
        highest=max(values),
        mean_warp=fmean(by_direction["warp"]) if by_direction["warp"] else None,
        mean_weft=fmean(by_direction["weft"]) if by_direction["weft"] else None,
    )
