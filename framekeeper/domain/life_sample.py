"""Turns lives into arrays, or refuses them, before anything is estimated from them.

A life is the time that one piece of mesh spent on its frame. It may still go on (censored), and it
may have been seen only from some age on (late entry): before that age it could not have been seen
to end, so it is under watch only after it.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotValid
from framekeeper.domain.numbers import Floats, column, same_length, share
from framekeeper.domain.sentence import Sentence, say

Whether = NDArray[np.bool_]
Counts = NDArray[np.int64]

FEW_ENDS = 5  # our choice: below this a curve is dots, and its intervals are guesses


class Estimate(NamedTuple):
    """A value with the limits between which it probably lies."""

    estimate: float
    lower: float
    upper: float


class LivesLeft(NamedTuple):
    """What is left for lives that have reached given ages.

    Attributes
    ----------
    expected : ndarray (n,)
        Mean time left, in the unit of the ages.
    at_least : ndarray of bool (n,)
        Whether `expected` is only a lower limit, since the longest lives have not ended yet.
    """

    expected: Floats
    at_least: Whether


@dataclass(frozen=True)
class Lives:
    """Lives that were found fit for an estimate.

    Attributes
    ----------
    duration : ndarray (n,)
        Age at the end, or at the last sight of a life that goes on.
    failed : ndarray of bool (n,)
        Whether the life has ended.
    entry : ndarray (n,)
        Age from which on it was under watch; 0 from the start.
    known : ndarray of bool (m,)
        Which of the given lives these are; the others have an unknown start.
    """

    duration: Floats
    failed: Whether
    entry: Floats
    known: Whether

    @property
    def ends(self) -> int:
        """How many have ended."""
        return int(self.failed.sum())

    @property
    def left_out(self) -> int:
        """How many were left out, since nobody knows when they began."""
        return int((~self.known).sum())

    def at_risk(self, time: Floats, among: Whether | None = None) -> Counts:
        """Count the lives that could have been seen to end at each time, shape (m,).

        A life is under watch at t if entry < t <= duration; one seen from the start, at t = 0 too.
        `among` (n,) marks the lives that count, by default all.
        """
        part = slice(None) if among is None else among
        ages, since = np.sort(self.duration[part]), self.entry[part]
        lasting = len(ages) - np.searchsorted(ages, time, "left")
        late = np.sort(since[since > 0])
        return np.asarray(lasting - (len(late) - np.searchsorted(late, time, "left")), np.int64)


def lives(duration: ArrayLike, failed: ArrayLike, entry: ArrayLike | None) -> Lives:
    """Return the lives with a known start.

    Parameters
    ----------
    duration : array_like (n,)
        Ages, from 0 upwards.
    failed : array_like (n,)
        True or 1 where the life has ended.
    entry : array_like (n,), optional
        Age at which each life was first seen, 0 for the start, NaN where the start is unknown.
        Such a life is left out and counted; its duration is not looked at.

    Raises
    ------
    NotValid
        For columns of unequal length, values that are not numbers, negative ages, `failed` other
        than yes or no, a life first seen after its duration, or one that ended at the very age at
        which it was first seen.
    NotEnoughData
        For no life with a known start.
    """
    age, ended = _row("duration", duration), _row("failed", failed)
    same_length("duration", age, "failed", ended)
    if not np.isin(ended, (0, 1)).all():
        raise NotValid(say("failed must be yes or no for each life."), argument="failed")
    since = np.zeros(len(age)) if entry is None else _row("entry", entry)
    same_length("duration", age, "entry", since)
    known = ~np.isnan(since)
    age, since = column("duration", age[known]), column("entry", since[known])
    for name, values in (("duration", age), ("entry", since)):
        if (values < 0).any():
            raise NotValid(say("{name} holds an age below 0.", name=name), argument=name)
    has_ended = ended[known] == 1
    if ((since > age) | (has_ended & (since == age) & (since > 0))).any():
        raise NotValid(
            say("A life was first seen only at its end or after it."),
            hint=say("Such a life was never under watch: leave it out."),
            argument="entry",
        )
    return Lives(duration=age, failed=has_ended, entry=since, known=known)


def _row(name: str, values: ArrayLike) -> Floats:
    try:
        row = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        row = np.empty((0, 0))
    if row.ndim != 1:
        raise NotValid(say("{name} must be one row of numbers.", name=name), argument=name)
    return row


def labels(group: object) -> list[Hashable]:
    """Return one label for each life.

    Raises
    ------
    NotValid
        For anything but a row of labels, and for a missing label (None or NaN).
    """
    given = group.tolist() if isinstance(group, np.ndarray) else group
    listed = list(given) if hasattr(given, "__iter__") and not isinstance(given, str) else [None]
    for label in listed:
        if label is None or label != label or not isinstance(label, Hashable):
            raise NotValid(
                say("group must name the group of each life."),
                hint=say("Leave out the lives whose group is not known."),
                argument="group",
            )
    return listed


def ages_of(name: str, ages: ArrayLike) -> Floats:
    """Return ages of any shape, finite and from 0 upwards.

    Raises
    ------
    NotValid
        For anything else.
    """
    try:
        given = np.asarray(ages, dtype=np.float64)
    except (TypeError, ValueError):
        given = np.asarray(math.nan)
    if not (np.isfinite(given) & (given >= 0)).all():
        raise NotValid(say("{name} must be numbers from 0 upwards.", name=name), argument=name)
    return given


def reach(confidence: float) -> float:
    """How many standard errors to either side a normal interval of this confidence reaches."""
    return NormalDist().inv_cdf(0.5 + share("confidence", confidence) / 2)


def few(ends: int) -> tuple[Sentence, ...]:
    """What to say where only few lives have ended."""
    if ends >= FEW_ENDS:
        return ()
    return (say("Only {n} lives have ended; the limits are guesses.", n=ends),)
