"""Decides whether a value keeps its limits when the value itself is uncertain.

Near a limit the honest answer is that the measurement cannot tell: it is given as a third answer,
never rounded to yes or no.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Literal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

Decision = Literal["accept", "reject", "undecided"]

DEFAULT_RISK = 0.05  # ISO 14253-1:2017: 95 % conformance probability unless agreed otherwise
ROUNDING = 1e-9  # a value that is its limit but for binary fractions is on the limit

_NORMAL = NormalDist()


def guard_band(u: float, risk: float) -> float:
    """Distance from one limit, on either side, within which a value with error u is undecided.

    Examples
    --------
    >>> round(guard_band(0.4, 0.05), 3)
    0.658
    """
    return _NORMAL.inv_cdf(1 - risk) * u


def conformance_probability(
    value: float, u: float, lower: float | None, upper: float | None
) -> float:
    """Probability that the true value keeps both limits, for a normal error with sd u >= 0.

    Examples
    --------
    >>> round(conformance_probability(20.5, 0.4, 20, None), 5)
    0.89435
    """
    if u == 0:
        slack = ROUNDING * max(1.0, abs(value))
        keeps_lower = lower is None or value >= lower - slack
        return float(keeps_lower and (upper is None or value <= upper + slack))
    below = 0.0 if lower is None else _NORMAL.cdf((lower - value) / u)
    above = 0.0 if upper is None else _NORMAL.cdf((value - upper) / u)
    return max(0.0, 1.0 - below - above)


def conformity(
    value: float, u: float, lower: float | None, upper: float | None, *, risk: float = DEFAULT_RISK
) -> Decision:
    """Decide on a value against its limits.

    Parameters
    ----------
    value : float
        The estimate.
    u : float
        Standard uncertainty of the value, in its unit, from 0 upwards.
    lower, upper : float or None
        Limits, which belong to what is allowed; None or an infinite one for no limit on that side.
    risk : float
        The largest probability of a wrong "accept" or a wrong "reject", above 0 up to 0.5; at 0.5
        the guard band vanishes.

    Returns
    -------
    "accept", "reject" or "undecided"
        Accepted if the true value keeps both limits with probability 1 - risk at least, rejected
        if it breaks one with that probability [1]_. For one limit this is a guard band of
        z(1 - risk) u on either side of it [2]_; between near limits both tails count.

    Raises
    ------
    NotValid
        For NaN, a negative u, limits that are missing or in the wrong order, a risk out of range.

    References
    ----------
    .. [1] JCGM 106:2012, clauses 7.3 and 8.3.
    .. [2] ISO 14253-1:2017.

    Examples
    --------
    >>> [conformity(v, 0.4, 20, None, risk=0.05) for v in (20.7, 20.5, 19.3)]
    ['accept', 'undecided', 'reject']
    """
    low, high = _limits(lower, upper)
    if not math.isfinite(value):
        raise NotValid(say("The value must be a number."), argument="value")
    if not math.isfinite(u) or u < 0:
        raise NotValid(say("An uncertainty must be a number from 0 upwards."), argument="u")
    if not 0 < risk <= 0.5:
        raise NotValid(say("A risk must be above 0 and at most one half."), argument="risk")
    kept = conformance_probability(value, u, low, high)
    if kept >= 1 - risk - ROUNDING:
        return "accept"
    return "reject" if 1 - kept >= 1 - risk - ROUNDING else "undecided"


def _limits(lower: float | None, upper: float | None) -> tuple[float | None, float | None]:
    for name, limit in (("lower", lower), ("upper", upper)):
        if limit is not None and math.isnan(limit):
            raise NotValid(say("A limit must be a number."), argument=name)
    low = None if lower is None or lower == -math.inf else lower
    high = None if upper is None or upper == math.inf else upper
    if low is None and high is None:
        raise NotValid(say("Without a limit there is nothing to decide."), argument="lower")
    if low is not None and high is not None and not low < high:
        raise NotValid(say("The lower limit must be below the upper one."), argument="lower")
    return low, high
