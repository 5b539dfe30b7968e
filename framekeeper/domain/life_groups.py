"""Tells whether groups of lives differ, and what most lives end of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.life_sample import Counts, few, labels, lives
from framekeeper.domain.numbers import Floats
from framekeeper.domain.sentence import Sentence, say

RANK = 1e-10  # of the largest spread: below it a direction is none


@dataclass(frozen=True)
class LogRank:
    """Whether lives of groups differ by more than chance; unpacks into chi2 and p.

    Attributes
    ----------
    chi2, p : float
        The statistic, and the chance of one as large if the groups do not differ.
    freedom : int
        Degrees of freedom.
    groups : tuple
        Labels in the order of their first life.
    n : ndarray of int (k,)
        Lives in each group.
    observed, expected : ndarray (k,)
        Ends in each group, and how many there would be if all groups were alike.
    left_out : int
        Lives left out since their start is unknown.
    warnings : tuple of Sentence
    """

    chi2: float
    p: float
    freedom: int
    groups: tuple[Hashable, ...]
    n: Counts
    observed: Floats
    expected: Floats
    left_out: int
    warnings: tuple[Sentence, ...]

    def __iter__(self) -> Iterator[float]:
        return iter((self.chi2, self.p))


def log_rank(
    duration: ArrayLike,
    failed: ArrayLike,
    group: Sequence[Hashable] | ArrayLike,
    *,
    entry: ArrayLike | None = None,
) -> LogRank:
    """Compare the lives of two or more groups.

    Parameters
    ----------
    duration : array_like (n,)
        Age at the end, or so far; from 0 upwards, in any one unit.
    failed : array_like (n,)
        True or 1 where the life has ended.
    group : sequence (n,)
        Label of each life's group: texts or numbers.
    entry : array_like (n,), optional
        Age at which each life was first seen (late entry); 0 from its start, NaN where nobody knows
        the start. Such lives are left out and counted.

    Returns
    -------
    LogRank
        Ends less expected ends, weighed by their hypergeometric covariance [1]_ [2]_. Groups that
        were never under watch together with others take no part in the degrees of freedom.

    Raises
    ------
    NotValid
        For columns of unequal length, NaN or negative ages, `failed` other than yes or no, a
        missing label, lives first seen only at their end or after it.
    NotEnoughData
        For one group, no ends, or ends at which never two groups were under watch together.

    References
    ----------
    .. [1] Mantel, N. (1966). Evaluation of survival data and two new rank order statistics arising
       in its consideration. Cancer Chemotherapy Reports 50, 163-170.
    .. [2] Klein, J. P. and Moeschberger, M. L. (2003). Survival Analysis, 2nd ed., Springer,
       section 7.3. doi:10.1007/b97377

    Both references are cited from memory.

    Examples
    --------
    >>> chi2, p = log_rank([10, 20, 30, 40, 50, 60], [1, 1, 1, 1, 0, 1], list("aaabbb"))
    >>> round(chi2, 3), round(p, 3)
    (5.052, 0.025)
    """
    seen = lives(duration, failed, entry)
    named = labels(group)
    if len(named) != len(seen.known):
        raise NotValid(
            say(
                "There are {n} lives and {m} labels of groups; they belong together one by one.",
                n=len(seen.known),
                m=len(named),
            ),
            argument="group",
        )
    mine = [label for label, known in zip(named, seen.known, strict=True) if known]
    groups = tuple(dict.fromkeys(mine))
    place = {label: i for i, label in enumerate(groups)}
    which = np.array([place[label] for label in mine])
    if len(groups) < 2:
        raise NotEnoughData(say("There is only one group; it takes two."), argument="group")
    if not seen.ends:
        raise NotEnoughData(
            say("No life has ended; groups cannot be compared yet."), argument="failed"
        )
    time, when = np.unique(seen.duration[seen.failed], return_inverse=True)
    ended = np.zeros((len(groups), len(time)))
    np.add.at(ended, (which[seen.failed], when), 1)
    at_risk = np.array([seen.at_risk(time, which == i) for i in range(len(groups))])
    expected, covariance = _moments(ended.sum(axis=0), at_risk)
    observed = ended.sum(axis=1)
    chi2, freedom = _quadratic(observed - expected, covariance)
    from scipy.special import chdtrc

    return LogRank(
        chi2=chi2,
        p=float(chdtrc(freedom, chi2)),
        freedom=freedom,
        groups=groups,
        n=np.bincount(which),
        observed=observed,
        expected=expected,
        left_out=seen.left_out,
        warnings=few(seen.ends),
    )


def _moments(ended: Floats, at_risk: Counts) -> tuple[Floats, Floats]:
    """Expected ends (k,) and their covariance (k, k), given ends (m,) and lives at risk (k, m)."""
    total = at_risk.sum(axis=0)
    share = at_risk / total
    spread = ended * (total - ended) / np.maximum(total - 1, 1)
    weighed = share * spread
    return share @ ended, np.diag(weighed.sum(axis=1)) - weighed @ share.T


def _quadratic(off: Floats, covariance: Floats) -> tuple[float, int]:
    """Squared distance of `off` (k,) from 0 in units of the covariance, and the rank of that."""
    sizes, directions = np.linalg.eigh(covariance)
    told = sizes > RANK * max(sizes[-1], 1.0)
    if not told.any():
        raise NotEnoughData(
            say("At no end were lives of two groups under watch together."), argument="group"
        )
    along = directions[:, told].T @ off
    return float((along**2 / sizes[told]).sum()), int(told.sum())


class CauseShare(NamedTuple):
    """How many lives ended of one cause, and of it or a more frequent one."""

    cause: Hashable
    ends: int
    share: float
    cumulative_share: float


def pareto(causes: Iterable[Hashable]) -> list[CauseShare]:
    """Count the causes of ends, the most frequent first.

    Parameters
    ----------
    causes : iterable
        One cause for each end; an end without a known cause needs a name for that too.

    Returns
    -------
    list of CauseShare
        Causes that are as frequent as each other stand in the order of their names; the shares
        are of all ends. Empty for no ends.

    Raises
    ------
    NotValid
        For a missing cause (None or NaN).

    Examples
    --------
    >>> [(c.cause, c.ends, round(c.share, 2)) for c in pareto(["torn", "slack", "torn"])]
    [('torn', 2, 0.67), ('slack', 1, 0.33)]
    """
    counted: Counter[Hashable] = Counter()
    for cause in causes:
        if cause is None or cause != cause:
            raise NotValid(say("An end has no cause."), argument="causes")
        counted[cause] += 1
    ranked = sorted(counted.items(), key=lambda item: (-item[1], str(item[0])))
    total, so_far, listed = counted.total(), 0, []
    for cause, count in ranked:
        so_far += count
        listed.append(CauseShare(cause, count, count / total, so_far / total))
    return listed
