"""Shows how long mesh lasts without assuming a shape of its lives: the product-limit curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from framekeeper.domain.life_sample import (
    Counts,
    Estimate,
    Lives,
    LivesLeft,
    ages_of,
    few,
    lives,
    reach,
)
from framekeeper.domain.numbers import Floats, share
from framekeeper.domain.sentence import Sentence, say

ROUNDING = 1e-12  # a product of shares that is one half but for binary fractions is one half


@dataclass(frozen=True)
class LifeCurve:
    """The share of lives that outlast each age.

    Attributes
    ----------
    time : ndarray (m,)
        The different durations, ascending: ends and last sights.
    survival : ndarray (m,)
        Share that outlasts the time, the ends at that time taken off.
    lower, upper : ndarray (m,)
        Pointwise log-log limits. Before the first end both are 1: the method has no width there.
        Where the curve is 0, `lower` is 0 and `upper` stays where it was before.
    se : ndarray (m,)
        Greenwood's standard error, NaN where the curve is 0.
    at_risk : ndarray of int (m,)
        Lives under watch at each time.
    ended : ndarray of int (m,)
        Ends at each time.
    watched_from : float
        Smallest age at which any life was under watch: the curve is for lives that have reached it.
    n, ends, left_out : int
        Lives used, those of them that ended, and those left out since their start is unknown.
    confidence : float
    warnings : tuple of Sentence
    """

    time: Floats
    survival: Floats
    lower: Floats
    upper: Floats
    se: Floats
    at_risk: Counts
    ended: Counts
    watched_from: float
    n: int
    ends: int
    left_out: int
    confidence: float
    warnings: tuple[Sentence, ...]

    def median(self) -> float:
        """Age that half of the lives do not outlast; infinite if the curve stays above one half."""
        return self.quantile(0.5).estimate

    def quantile(self, p: float) -> Estimate:
        """Age by which the share p (0 < p < 1) has ended.

        The first time at which the curve, or for the limits its limits, is down at 1 - p;
        infinite where it never is [1]_.

        References
        ----------
        .. [1] Brookmeyer, R. and Crowley, J. (1982). A confidence interval for the median survival
           time. Biometrics 38, 29-41. doi:10.2307/2530286
        """
        level = 1 - share("p", p) + ROUNDING
        return Estimate(
            *(self._down_at(values, level) for values in (self.survival, self.lower, self.upper))
        )

    def _down_at(self, values: Floats, level: float) -> float:
        down = np.flatnonzero(values <= level)
        return float(self.time[down[0]]) if len(down) else float("inf")

    def survival_at(self, age: ArrayLike) -> Floats:
        """Share that outlasts each age, of the ages' shape.

        NaN past the last time, unless all had ended by then: nobody has seen what comes after.
        """
        where = ages_of("age", age)
        stepped = np.concatenate(([1.0], self.survival))
        after = np.searchsorted(self.time, where, "right")
        unseen = (where > self.time[-1]) & (self.survival[-1] > 0)
        return np.asarray(np.where(unseen, np.nan, stepped[after]))

    def lives_left(self, ages: ArrayLike) -> LivesLeft:
        """Mean time left after each age, as far as the curve reaches.

        The area under the curve from the age to the last time, over the share that reached the age.
        Where the curve ends above 0, or the age is past it, that is only a lower limit.
        """
        where = ages_of("ages", ages)
        corners = np.concatenate(([0.0], self.time))
        steps = np.concatenate(([1.0], self.survival[:-1])) * np.diff(corners)
        area = np.concatenate(([0.0], np.cumsum(steps)))
        reached = np.nan_to_num(self.survival_at(where))
        rest = area[-1] - np.interp(where, corners, area)
        left = np.divide(rest, reached, out=np.zeros(where.shape), where=reached > 0)
        at_least = (reached == 0) | (self.survival[-1] > 0)
        return LivesLeft(np.asarray(np.maximum(left, 0.0)), np.asarray(at_least))

    def chance_of_end(self, ages: ArrayLike, horizon: float) -> Floats:
        """Chance that a life of each age ends within the horizon, of the ages' shape.

        NaN where the curve does not reach.
        """
        where = ages_of("ages", ages)
        now = self.survival_at(where)
        then = self.survival_at(where + float(ages_of("horizon", horizon)))
        nothing = np.full(where.shape, np.nan)
        return np.asarray(1 - np.divide(then, now, out=nothing, where=now > 0))


def kaplan_meier(
    duration: ArrayLike,
    failed: ArrayLike,
    *,
    entry: ArrayLike | None = None,
    confidence: float = 0.95,
) -> LifeCurve:
    """Estimate the share of lives that outlast each age.

    Parameters
    ----------
    duration : array_like (n,)
        Age at the end, or so far; from 0 upwards, in any one unit.
    failed : array_like (n,)
        True or 1 where the life has ended, False or 0 where it goes on or left sight.
    entry : array_like (n,), optional
        Age at which each life was first seen (late entry); 0 from its start, NaN where nobody knows
        the start. Such lives are left out and counted.
    confidence : float
        Of the limits, above 0 and below 1.

    Returns
    -------
    LifeCurve
        The product-limit estimate [1]_ with Greenwood's error [2]_ and limits on the scale of
        log(-log S) [3]_; late entry by the lives under watch at each time [4]_. A life that leaves
        sight at the age at which another ends is taken to have been under watch at that end. With
        no ends the curve is 1 throughout.

    Raises
    ------
    NotValid
        For columns of unequal length, NaN or negative ages, `failed` other than yes or no, lives
        first seen only at their end or after it, a confidence out of range.
    NotEnoughData
        For no life with a known start.

    References
    ----------
    .. [1] Kaplan, E. L. and Meier, P. (1958). Nonparametric estimation from incomplete
       observations. JASA 53, 457-481. doi:10.1080/01621459.1958.10501452
    .. [2] Greenwood, M. (1926). The natural duration of cancer. Reports on Public Health and
       Medical Subjects 33, HMSO, London.
    .. [3] Kalbfleisch, J. D. and Prentice, R. L. (2002). The Statistical Analysis of Failure Time
       Data, 2nd ed., Wiley, section 1.4. doi:10.1002/9781118032985
    .. [4] Klein, J. P. and Moeschberger, M. L. (2003). Survival Analysis, 2nd ed., Springer,
       section 4.6. doi:10.1007/b97377

    All references are cited from memory.

    Examples
    --------
    >>> curve = kaplan_meier([40, 55, 55, 80, 90], [1, 1, 0, 1, 0])
    >>> curve.survival.round(2).tolist(), curve.median()
    ([0.8, 0.6, 0.3, 0.3], 80.0)
    """
    z = reach(confidence)
    seen = lives(duration, failed, entry)
    time, which = np.unique(seen.duration, return_inverse=True)
    ended = np.bincount(which[seen.failed], minlength=len(time))
    at_risk = seen.at_risk(time)
    # A life first and last seen at one age is under watch at no time; nobody may be there then.
    watched = np.maximum(at_risk, 1)
    survival: Floats = np.cumprod(1.0 - ended / watched, dtype=np.float64)
    alive = survival > 0
    with np.errstate(divide="ignore"):
        summed = np.cumsum(ended / (watched * (watched - ended).astype(np.float64)))
    root = np.sqrt(summed, where=alive, out=np.full(len(time), np.nan))  # Greenwood's sum
    lower, upper = _log_log(survival, root, z)
    return LifeCurve(
        time=time,
        survival=survival,
        lower=lower,
        upper=upper,
        se=survival * root,
        at_risk=at_risk,
        ended=ended,
        watched_from=float(seen.entry.min()),
        n=len(seen.duration),
        ends=seen.ends,
        left_out=seen.left_out,
        confidence=float(confidence),
        warnings=_warnings(seen, time, survival),
    )


def _log_log(survival: Floats, root: Floats, z: float) -> tuple[Floats, Floats]:
    """Limits S^exp(+-z root / |log S|), shape (m,) each."""
    lower, upper = np.ones(len(survival)), np.ones(len(survival))
    between = (survival > 0) & (survival < 1)
    width = np.exp(-z * root[between] / np.log(survival[between]))
    lower[between] = survival[between] ** width
    upper[between] = survival[between] ** (1 / width)
    gone = survival == 0
    lower[gone] = 0.0
    if gone.any() and not gone.all():
        upper[gone] = upper[~gone][-1]
    return lower, upper


def _warnings(seen: Lives, time: Floats, survival: Floats) -> tuple[Sentence, ...]:
    said = list(few(seen.ends))
    first = float(seen.entry.min())
    if first > 0:
        said.append(
            say(
                "No life was under watch before the age of {age:.6g}; "
                "the curve is for lives that have reached it.",
                age=first,
            )
        )
    gone = np.flatnonzero(survival == 0)
    if len(gone) and gone[0] < len(time) - 1:
        said.append(
            say(
                "At the age of {age:.6g} all lives then under watch had ended, "
                "yet others were seen at a greater age; the curve says too little from there on.",
                age=float(time[gone[0]]),
            )
        )
    return tuple(said)
