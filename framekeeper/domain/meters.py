"""What can be said about a meter: against another meter, against references, against limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike

from framekeeper.domain.conformity import conformity
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.gauge import GaugeStudy, gauge_study
from framekeeper.domain.numbers import Floats, above_zero, column, same_length
from framekeeper.domain.sentence import say

__all__ = [
    "Agreement",
    "GaugeStudy",
    "Linearity",
    "agreement",
    "conformity",
    "gauge_study",
    "linearity",
]

Z95 = NormalDist().inv_cdf(0.975)
ROUNDING = 1e-12  # of the readings' own size
SIGNIFICANT_P = 0.05


@dataclass(frozen=True)
class Agreement:
    """How far two meters read apart.

    Attributes
    ----------
    n : int
        Number of pairs.
    bias, sd : float
        Mean and standard deviation of first less second.
    lower, upper : float
        Limits of agreement: 95 % of the differences lie between them.
    bias_se, limit_se : float
        Standard errors of the bias and of each limit.
    bias_lower, bias_upper : float
        95 % interval of the bias.
    """

    n: int
    bias: float
    sd: float
    lower: float
    upper: float
    bias_se: float
    limit_se: float
    bias_lower: float
    bias_upper: float

    @property
    def differs(self) -> bool:
        """Whether one meter reads higher than the other for certain (95 %)."""
        return not self.bias_lower <= 0 <= self.bias_upper


def agreement(a: ArrayLike, b: ArrayLike, *, factor: float = Z95) -> Agreement:
    """Compare two meters that read the same places.

    Parameters
    ----------
    a, b : array_like (n,)
        Readings of the first and the second meter, pair by pair, n >= 3.
    factor : float
        Limits of agreement are bias -/+ factor x sd: 1.96 by default; the original paper [1]_
        rounds it to 2.

    Returns
    -------
    Agreement

    Raises
    ------
    NotValid
        For NaN, or columns of unequal length.
    NotEnoughData
        For fewer than 3 pairs, or where all differences are equal: the steps of the scale then
        hide how far the meters scatter.

    References
    ----------
    .. [1] Bland, J. M. and Altman, D. G. (1986). Statistical methods for assessing agreement
       between two methods of clinical measurement. Lancet i, 307-310.
       doi:10.1016/S0140-6736(86)90837-8

    Examples
    --------
    >>> got = agreement([22.0, 24.5, 19.0, 30.0], [21.5, 24.5, 18.0, 29.5])
    >>> round(got.bias, 2), round(got.lower, 2), round(got.upper, 2)
    (0.5, -0.3, 1.3)
    """
    first, second = column("a", a), column("b", b)
    same_length("a", first, "b", second)
    column("a", first, least=3)
    factor = above_zero("factor", factor)
    differences = first - second
    n, bias = len(differences), float(differences.mean())
    sd = float(differences.std(ddof=1))
    if sd <= ROUNDING * max(np.abs(first).max(), np.abs(second).max()):
        raise NotEnoughData(
            say("All {n} differences are equal, so their scatter cannot be seen.", n=n),
            hint=say("Read to a finer step, and at more places."),
        )
    bias_se = sd / math.sqrt(n)
    reach = _t_quantile(n - 1) * bias_se
    return Agreement(
        n=n,
        bias=bias,
        sd=sd,
        lower=bias - factor * sd,
        upper=bias + factor * sd,
        bias_se=bias_se,
        limit_se=math.sqrt(3) * bias_se,
        bias_lower=bias - reach,
        bias_upper=bias + reach,
    )


def _t_quantile(freedom: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.975))


@dataclass(frozen=True)
class Linearity:
    """How the bias of a meter changes over its range: bias = intercept + slope x reference.

    Attributes
    ----------
    n : int
    slope, intercept : float
    slope_se, intercept_se : float
    slope_t, intercept_t : float
        Estimate over its error, infinite where readings lie exactly on a line.
    slope_p, intercept_p : float
        Two-sided, n - 2 degrees of freedom.
    residual_sd, r_squared : float
        r_squared is 0 where the bias is the same everywhere.
    mean_bias : float
    bias_by_reference : dict
        Mean bias at each reference.
    """

    n: int
    slope: float
    intercept: float
    slope_se: float
    intercept_se: float
    slope_t: float
    intercept_t: float
    slope_p: float
    intercept_p: float
    residual_sd: float
    r_squared: float
    mean_bias: float
    bias_by_reference: dict[float, float]

    @property
    def is_linear(self) -> bool:
        """Whether the bias is the same over the whole range, as far as the readings show."""
        return self.slope_p > SIGNIFICANT_P

    @property
    def is_acceptable(self) -> bool:
        """Whether neither slope nor intercept differs from zero."""
        return self.is_linear and self.intercept_p > SIGNIFICANT_P

    def bias_at(self, reference: ArrayLike) -> Floats:
        """Bias at one reference or several, of their shape."""
        where = np.asarray(reference, dtype=np.float64)
        if not np.isfinite(where).all():
            raise NotValid(say("A reference is not a number."), argument="reference")
        bias: Floats = np.asarray(self.intercept + self.slope * where)
        return bias


def linearity(reference: ArrayLike, reading: ArrayLike) -> Linearity:
    """Fit the bias of a meter against references over its range.

    Parameters
    ----------
    reference : array_like (n,)
        Known values, two different ones at least.
    reading : array_like (n,)
        What the meter showed, n >= 3.

    Returns
    -------
    Linearity
        Ordinary least squares of reading - reference on reference [1]_.

    Raises
    ------
    NotValid
        For NaN, columns of unequal length, or references that are all equal.
    NotEnoughData
        For fewer than 3 readings.

    References
    ----------
    .. [1] AIAG (2010). Measurement Systems Analysis, 4th ed., chapter III, section B.

    Examples
    --------
    >>> line = linearity([10, 20, 30, 40], [10.1, 20.5, 30.7, 41.1])
    >>> round(line.slope, 3), round(float(line.bias_at(25)), 2)
    (0.032, 0.6)
    """
    known, shown = column("reference", reference), column("reading", reading)
    same_length("reference", known, "reading", shown)
    column("reading", shown, least=3)
    size = max(np.abs(known).max(), np.abs(shown).max())
    around = known - known.mean()
    sxx = float(around @ around)
    if sxx <= (ROUNDING * size) ** 2 * len(known):
        raise NotValid(
            say("All references are equal; a line takes two different ones."),
            argument="reference",
        )
    bias = shown - known
    slope = float(around @ bias) / sxx
    intercept = float(bias.mean()) - slope * float(known.mean())
    left = bias - intercept - slope * known
    n, rss = len(known), float(left @ left)
    sd = math.sqrt(rss / (n - 2))
    sd = 0.0 if sd <= ROUNDING * size else sd
    slope_se = sd / math.sqrt(sxx)
    intercept_se = sd * math.sqrt(1 / n + float(known.mean()) ** 2 / sxx)
    slope_t = _t(slope, slope_se, ROUNDING * size / math.sqrt(sxx))
    intercept_t = _t(intercept, intercept_se, ROUNDING * size)
    total = float(((bias - bias.mean()) ** 2).sum())
    return Linearity(
        n=n,
        slope=slope,
        intercept=intercept,
        slope_se=slope_se,
        intercept_se=intercept_se,
        slope_t=slope_t,
        intercept_t=intercept_t,
        slope_p=_two_sided(slope_t, n - 2),
        intercept_p=_two_sided(intercept_t, n - 2),
        residual_sd=sd,
        r_squared=1 - rss / total if total > (ROUNDING * size) ** 2 * n else 0.0,
        mean_bias=float(bias.mean()),
        bias_by_reference={float(r): float(bias[known == r].mean()) for r in np.unique(known)},
    )


def _t(estimate: float, error: float, rounding: float) -> float:
    """Estimate over its error; without any error, what is not zero is infinitely far from it."""
    if error > 0:
        return estimate / error
    return math.copysign(math.inf, estimate) if abs(estimate) > 10 * rounding else 0.0


def _two_sided(t: float, freedom: int) -> float:
    from scipy.special import stdtr

    return 2 * float(stdtr(freedom, -abs(t)))
