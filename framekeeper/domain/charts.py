"""Watches a meter or a reference screen over time, and tells a change from chance.

Numbers that follow are indices from 0. A value on its limit is not outside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.numbers import Floats, above_zero, column
from framekeeper.domain.sentence import say

SIGMAS = 3.0  # Shewhart's limits
# Mean of the range of two, and 1 + 3 d3 / d2, rounded as in the published tables and examples.
D2_OF_TWO, D4_OF_TWO = 1.128, 3.267
LARGEST_SUBGROUP = 25  # the published tables of these charts end here
LONGEST_RANGE = 14.0  # of 25 standard normal values, but for one in 10^15
ROUNDING = 1e-12  # of the values' own size


@dataclass(frozen=True)
class ControlChart:
    """Limits for values and for their ranges.

    Attributes
    ----------
    centre, lower, upper : float
        Mean and limits of what is plotted: single values, or means of subgroups.
    outside : tuple of int
        Indices of values or subgroups outside the limits.
    sd : float
        Standard deviation of a single value, from the ranges.
    mean_range, range_lower, range_upper : float
        Of the ranges: between neighbours, or within subgroups.
    range_outside : tuple of int
        Of two neighbours the index of the later one.
    """

    centre: float
    lower: float
    upper: float
    outside: tuple[int, ...]
    sd: float
    mean_range: float
    range_lower: float
    range_upper: float
    range_outside: tuple[int, ...]


def individuals(values: ArrayLike, *, baseline: int | None = None) -> ControlChart:
    """Chart single values with limits from the ranges between neighbours.

    Parameters
    ----------
    values : array_like (n,)
        In the order of time, n >= 3.
    baseline : int, optional
        The limits come from the first `baseline` values alone, 3 at least; by default from all.

    Returns
    -------
    ControlChart
        Mean -/+ 3 MR / 1.128, where MR is the mean range between neighbours [1]_.

    Raises
    ------
    NotValid
        For NaN, or a baseline that is not within the values.
    NotEnoughData
        For fewer than 3 values, or values that are all equal: limits of no width mean nothing.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2. doi:10.18434/M32189

    Examples
    --------
    >>> chart = individuals([20.1, 20.3, 19.9, 20.2, 20.0])
    >>> round(chart.lower, 2), round(chart.upper, 2), chart.outside
    (19.37, 20.83, ())
    """
    given = column("values", values, least=3)
    first = given[: _baseline(baseline, len(given), least=3)]
    mean_range = float(np.abs(np.diff(first)).mean())
    _varied(mean_range, first)
    centre, sd = float(first.mean()), mean_range / D2_OF_TWO
    lower, upper = centre - SIGMAS * sd, centre + SIGMAS * sd
    range_upper = D4_OF_TWO * mean_range
    later = np.flatnonzero(np.abs(np.diff(given)) > range_upper) + 1
    return ControlChart(
        centre=centre,
        lower=lower,
        upper=upper,
        outside=_indices((given < lower) | (given > upper)),
        sd=sd,
        mean_range=mean_range,
        range_lower=0.0,
        range_upper=range_upper,
        range_outside=tuple(int(i) for i in later),
    )


def xbar_r(subgroups: ArrayLike, *, baseline: int | None = None) -> ControlChart:
    """Chart means of subgroups with limits from the ranges within them.

    Parameters
    ----------
    subgroups : array_like (m, k)
        m >= 2 subgroups of 2 <= k <= 25 values, in the order of time.
    baseline : int, optional
        The limits come from the first `baseline` subgroups alone, 2 at least; by default from all.

    Returns
    -------
    ControlChart
        With R the mean range: mean -/+ 3 R / (d2 sqrt k), ranges within R (1 -/+ 3 d3 / d2) [1]_.

    Raises
    ------
    NotValid
        For NaN, subgroups of unequal size, or a baseline that is not within them.
    NotEnoughData
        For fewer than 2 subgroups or values in each, or no differences within any subgroup.

    References
    ----------
    .. [1] Montgomery, D. C. (2013). Introduction to Statistical Quality Control, 7th ed., Wiley,
       sections 6.2.1 and 6.2.2.

    Examples
    --------
    >>> chart = xbar_r([[20.1, 20.3], [19.9, 20.2], [20.0, 20.1]])
    >>> round(chart.lower, 2), round(chart.upper, 2)
    (19.72, 20.48)
    """
    given = _table(subgroups)
    m, k = given.shape
    means, ranges = given.mean(axis=1), np.ptp(given, axis=1)
    first = _baseline(baseline, m, least=2)
    mean_range, centre = float(ranges[:first].mean()), float(means[:first].mean())
    _varied(mean_range, given[:first])
    d2, d3 = range_moments(k)
    sd = mean_range / d2
    reach, swing = SIGMAS * sd / math.sqrt(k), SIGMAS * d3 * sd
    lower, upper = centre - reach, centre + reach
    range_lower, range_upper = max(0.0, mean_range - swing), mean_range + swing
    return ControlChart(
        centre=centre,
        lower=lower,
        upper=upper,
        outside=_indices((means < lower) | (means > upper)),
        sd=sd,
        mean_range=mean_range,
        range_lower=range_lower,
        range_upper=range_upper,
        range_outside=_indices((ranges < range_lower) | (ranges > range_upper)),
    )


@lru_cache(maxsize=LARGEST_SUBGROUP)
def range_moments(k: int) -> tuple[float, float]:
    """Mean d2 and standard deviation d3 of the range of k standard normal values.

    From the distribution of the range, P(R <= r) = k int phi(x) (Phi(x + r) - Phi(x))^(k-1) dx, by
    the trapezoidal rule in x and Gauss's in r, to nine digits.

    Examples
    --------
    >>> [round(moment, 3) for moment in range_moments(5)]
    [2.326, 0.864]
    """
    from scipy.special import ndtr

    x, step = np.linspace(-9, 9, 361, retstep=True)
    density = np.exp(-(x**2) / 2) / math.sqrt(2 * math.pi)
    nodes, weights = np.polynomial.legendre.leggauss(64)
    r, weights = LONGEST_RANGE / 2 * (nodes + 1), LONGEST_RANGE / 2 * weights
    within = ndtr(x[:, None] + r[None, :]) - ndtr(x)[:, None]
    beyond = 1 - k * step * density @ within ** (k - 1)
    mean, square = float(weights @ beyond), float(2 * weights @ (r * beyond))
    return mean, math.sqrt(square - mean**2)


@dataclass(frozen=True)
class EwmaChart:
    """Exponentially weighted moving averages with their limits, arrays of shape (n,).

    `steady_limits` are where lower and upper end after many values; `outside` holds the indices
    of averages outside of the widening limits.
    """

    value: Floats
    lower: Floats
    upper: Floats
    steady_limits: tuple[float, float]
    outside: tuple[int, ...]


def ewma(values: ArrayLike, *, target: float, sd: float, weight: float, width: float) -> EwmaChart:
    """Chart an exponentially weighted moving average: small lasting shifts show early.

    Parameters
    ----------
    values : array_like (n,)
        In the order of time, n >= 1.
    target, sd : float
        Mean and standard deviation (above 0) of a value while nothing is wrong.
    weight : float
        Of the newest value, above 0 up to 1.
    width : float
        Limits in standard deviations of the average, above 0.

    Returns
    -------
    EwmaChart
        z_i = weight x_i + (1 - weight) z_(i-1) from the target on, with limits
        target -/+ width sd sqrt(weight / (2 - weight) (1 - (1 - weight)^(2 i))) [1]_.

    Raises
    ------
    NotValid
        For NaN, or parameters out of range.
    NotEnoughData
        Without values.

    References
    ----------
    .. [1] Lucas, J. M. and Saccucci, M. S. (1990). Exponentially weighted moving average control
       schemes. Technometrics 32(1), 1-12. doi:10.1080/00401706.1990.10484583

    Examples
    --------
    >>> chart = ewma([0.2, 0.9, 1.1, 1.4], target=0, sd=0.5, weight=0.3, width=3)
    >>> chart.outside, [round(limit, 2) for limit in chart.steady_limits]
    ((3,), [-0.63, 0.63])
    """
    given = column("values", values)
    start = float(column("target", [target])[0])
    sd, width = above_zero("sd", sd), above_zero("width", width)
    if above_zero("weight", weight) > 1:
        raise NotValid(say("A weight is above 0 and at most 1."), argument="weight")
    averages = accumulate(given.tolist(), lambda z, x: weight * x + (1 - weight) * z, initial=start)
    value = np.fromiter(averages, dtype=np.float64)[1:]
    steady = width * sd * math.sqrt(weight / (2 - weight))
    reach = steady * np.sqrt(1 - (1 - weight) ** (2 * np.arange(1, len(given) + 1)))
    lower, upper = start - reach, start + reach
    return EwmaChart(
        value=value,
        lower=lower,
        upper=upper,
        steady_limits=(start - steady, start + steady),
        outside=_indices((value < lower) | (value > upper)),
    )


@dataclass(frozen=True)
class CusumChart:
    """One-sided cumulative sums in sd, (n,), both from 0 upwards, and where one passes h."""

    upper: Floats
    lower: Floats
    signals: tuple[int, ...]


def cusum(values: ArrayLike, *, target: float, sd: float, k: float, h: float) -> CusumChart:
    """Chart one-sided cumulative sums: upper collects what is too high, lower what is too low.

    Parameters
    ----------
    values : array_like (n,)
        In the order of time, n >= 1.
    target, sd : float
        Mean and standard deviation (above 0) of a value while nothing is wrong.
    k : float
        Allowance in sd, from 0 upwards: half the shift that matters.
    h : float
        Decision value in sd, above 0.

    Returns
    -------
    CusumChart
        C_i = max(0, C_(i-1) -/+ (x_i - target) / sd - k) from 0 on [1]_; sums run on after a
        signal, so that every index with a sum above h is in `signals`.

    Raises
    ------
    NotValid
        For NaN, or parameters out of range.
    NotEnoughData
        Without values.

    References
    ----------
    .. [1] Page, E. S. (1954). Continuous inspection schemes. Biometrika 41, 100-115.
       doi:10.1093/biomet/41.1-2.100

    Examples
    --------
    >>> chart = cusum([0.2, 0.9, 1.1, 1.4], target=0, sd=0.5, k=0.5, h=4)
    >>> chart.upper.round(1).tolist(), chart.signals
    ([0.0, 1.3, 3.0, 5.3], (3,))
    """
    given = column("values", values)
    start = float(column("target", [target])[0])
    sd, h = above_zero("sd", sd), above_zero("h", h)
    if not (math.isfinite(k) and k >= 0):
        raise NotValid(say("k must be a number from 0 upwards."), argument="k")
    steps = (given - start) / sd
    upper, lower = _one_sided(steps - k), _one_sided(-steps - k)
    return CusumChart(upper, lower, _indices((upper > h) | (lower > h)))


def _one_sided(steps: Floats) -> Floats:
    """max(0, previous + step): the walk above its own lowest point so far, 0 included."""
    sums = accumulate(steps.tolist(), lambda total, step: max(0.0, total + step), initial=0.0)
    return np.fromiter(sums, dtype=np.float64)[1:]


def _table(subgroups: ArrayLike) -> Floats:
    try:
        given = np.asarray(subgroups, dtype=np.float64)
    except (TypeError, ValueError):
        given = np.empty(0)
    if given.ndim != 2:
        raise NotValid(say("Subgroups must be rows of equal size."), argument="subgroups")
    if not np.isfinite(given).all():
        raise NotValid(
            say("{name} holds a value that is not a number.", name="subgroups"),
            argument="subgroups",
        )
    if min(given.shape) < 2:
        raise NotEnoughData(say("It takes two subgroups of two values at least."))
    if given.shape[1] > LARGEST_SUBGROUP:
        raise NotValid(
            say("A subgroup has at most {most} values.", most=LARGEST_SUBGROUP),
            argument="subgroups",
        )
    return given


def _baseline(baseline: int | None, n: int, *, least: int) -> int:
    if baseline is None:
        return n
    if not least <= baseline <= n:
        raise NotValid(
            say("The baseline must be from {least} to {n}.", least=least, n=n), argument="baseline"
        )
    return baseline


def _varied(mean_range: float, values: Floats) -> None:
    if mean_range <= ROUNDING * float(np.abs(values).max()):
        raise NotEnoughData(
            say("The values do not differ, so there are no limits to draw."),
            hint=say("Read to a finer step."),
        )


def _indices(mask: NDArray[np.bool_]) -> tuple[int, ...]:
    return tuple(int(i) for i in np.flatnonzero(mask))
