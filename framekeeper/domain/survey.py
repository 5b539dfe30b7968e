"""What a set of tension readings says: means, spread, the balance of warp and weft, a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from framekeeper.domain.errors import NotEnoughData
from framekeeper.domain.events import Reading
from framekeeper.domain.low_spot import Finding
from framekeeper.domain.sentence import say
from framekeeper.domain.tension import HIGHEST_TENSION_N_PER_CM, valid_tension
from framekeeper.domain.verdict import SurveyResult, evaluate

__all__ = [
    "HIGHEST_TENSION_N_PER_CM",
    "Finding",
    "SurveyResult",
    "SurveySummary",
    "evaluate",
    "summarise",
    "valid_tension",
]


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
