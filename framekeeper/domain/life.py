"""How long mesh lasts, which lasts longer, what ends it, and how long what is up will last."""

from __future__ import annotations

from numpy.typing import ArrayLike

from framekeeper.domain.life_curve import LifeCurve, kaplan_meier
from framekeeper.domain.life_groups import CauseShare, LogRank, log_rank, pareto
from framekeeper.domain.life_sample import FEW_ENDS, Estimate, LivesLeft
from framekeeper.domain.life_weibull import WeibullFit, weibull_fit
from framekeeper.domain.numbers import Floats

__all__ = [
    "FEW_ENDS",
    "CauseShare",
    "Estimate",
    "LifeCurve",
    "LivesLeft",
    "LogRank",
    "WeibullFit",
    "chances_of_end",
    "expected_lives_left",
    "kaplan_meier",
    "log_rank",
    "pareto",
    "weibull_fit",
]


def expected_lives_left(law: LifeCurve | WeibullFit, ages: ArrayLike) -> LivesLeft:
    """Mean time left for lives that have reached given ages.

    Parameters
    ----------
    law : LifeCurve or WeibullFit
        A curve speaks only of ages that it has seen; a Weibull law of all.
    ages : array_like
        From 0 upwards, in the unit of the law.

    Returns
    -------
    LivesLeft
        Of the shape of the ages; where a curve ends before its lives do, only a lower limit.

    Raises
    ------
    NotValid
        For ages that are not numbers from 0 upwards.

    Examples
    --------
    >>> curve = kaplan_meier([40, 60, 80], [1, 1, 1])
    >>> expected_lives_left(curve, [0, 50]).expected.round(6).tolist()
    [60.0, 20.0]
    """
    return law.lives_left(ages)


def chances_of_end(law: LifeCurve | WeibullFit, ages: ArrayLike, horizon: float) -> Floats:
    """Chance for each life of a given age to end within the horizon.

    Parameters
    ----------
    law : LifeCurve or WeibullFit
        What the lives of such mesh were found to be.
    ages : array_like
        From 0 upwards, in the unit of the law.
    horizon : float
        From 0 upwards, in the same unit.

    Returns
    -------
    ndarray
        Of the shape of the ages; NaN where a curve does not reach.

    Raises
    ------
    NotValid
        For ages or a horizon that are not numbers from 0 upwards.

    Examples
    --------
    >>> curve = kaplan_meier([40, 60, 80], [1, 1, 1])
    >>> chances_of_end(curve, [50, 70], 15).tolist()
    [0.5, 1.0]
    """
    return law.chance_of_end(ages, horizon)
