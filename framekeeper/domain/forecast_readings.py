"""Readings as the forecast takes them: checked, in order, repeats of one sitting taken together."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotValid
from framekeeper.domain.forecast_prior import Array
from framekeeper.domain.sentence import say

SITTING_DAYS = 0.1  # readings within about two hours are repeats, not decay
DISAGREE = 0.08  # two repeats further apart than five usual noises: the lower one leads


def numbers(name: str, values: ArrayLike, *, above: float | None = None) -> Array:
    """Return finite float64 numbers from 0 upwards (or above a bound), or refuse by name."""
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise NotValid(say("{name} must hold numbers only.", name=name), argument=name) from None
    low = array <= above if above is not None else array < 0
    if not np.all(np.isfinite(array)) or np.any(low):
        raise NotValid(
            say("{name} must hold finite numbers that are not negative.", name=name)
            if above is None
            else say("{name} must hold finite numbers above {above:g}.", name=name, above=above),
            argument=name,
        )
    return array


@dataclass(frozen=True, eq=False)
class Observations:
    """Tension readings of many stretches; row order has no meaning.

    Parameters
    ----------
    stretch : array_like, shape (n,)
        Which stretch (one life of one mesh on one frame): numbers or text.
    day : array_like, shape (n,)
        Days since the release of that stretch, 0 or more.
    cycles : array_like, shape (n,)
        Print-and-reclaim cycles until then, 0 or more.
    tension : array_like, shape (n,)
        Reading in N/cm, above 0; the mean of a survey counts as one reading.
    group : array_like, shape (n,)
        The mesh group of each row; one stretch has one group.

    Raises
    ------
    NotValid
        With the argument's name: NaN, infinity, a negative day or cycle, a tension of 0 or less,
        a shape other than ``(n,)``, or one stretch in two groups.
    """

    stretch: NDArray[Any]
    day: Array
    cycles: Array
    tension: Array
    group: NDArray[Any]

    def __post_init__(self) -> None:
        set_field = object.__setattr__
        for name in ("stretch", "group"):
            set_field(self, name, np.asarray(getattr(self, name)))
        set_field(self, "day", numbers("day", self.day))
        set_field(self, "cycles", numbers("cycles", self.cycles))
        set_field(self, "tension", numbers("tension", self.tension, above=0.0))
        for name in ("stretch", "day", "cycles", "tension", "group"):
            if getattr(self, name).shape != (self.stretch.size,):
                raise NotValid(
                    say("{name} must be one row of values as long as the others.", name=name),
                    argument=name,
                )

    def __len__(self) -> int:
        return int(self.stretch.size)


@dataclass(frozen=True, slots=True)
class History:
    """The sittings of one stretch in order of time; all arrays of shape (k,)."""

    group: Hashable
    day: Array
    cycles: Array
    tension: Array
    repeats: Array
    agree: NDArray[np.bool_]  # repeats of this sitting tell one story


@dataclass(frozen=True, slots=True)
class Sittings:
    """All sittings, sorted by stretch and day, with where each stretch starts."""

    names: list[Hashable]
    groups: list[Hashable]  # group of each stretch
    start: NDArray[np.intp]  # (stretches + 1,)
    day: Array
    cycles: Array
    tension: Array
    repeats: Array
    agree: NDArray[np.bool_]
    repeat_squares: float  # squared deviations of repeats from their mean, as shares of it
    repeat_freedom: int

    @classmethod
    def none(cls) -> Sittings:
        """No stretch at all."""
        empty = np.zeros(0)
        agree = np.zeros(0, dtype=bool)
        return cls([], [], np.zeros(1, np.intp), empty, empty, empty, empty, agree, 0.0, 0)

    def history(self, index: int) -> History:
        """Return the sittings of one stretch."""
        part = slice(self.start[index], self.start[index + 1])
        return History(
            self.groups[index],
            self.day[part],
            self.cycles[part],
            self.tension[part],
            self.repeats[part],
            self.agree[part],
        )


def take_sittings(obs: Observations) -> Sittings:
    """Sort the readings, and take repeats of one sitting together.

    The value of a sitting rises with each of its readings, whatever the others say: the mean of two
    (the lower one with half of what is believable above it, where they disagree), the median of
    more. So one wild reading among three does no harm, and one low among two is not averaged away.
    """
    names, code = np.unique(obs.stretch, return_inverse=True)
    order = np.lexsort((obs.tension, obs.cycles, obs.day, code))
    code, day = code[order], obs.day[order]
    first = np.r_[True, (np.diff(code) > 0) | (np.diff(day) > SITTING_DAYS)]
    chain_start = day[np.flatnonzero(first)][np.cumsum(first) - 1]
    part = np.floor((day - chain_start) / SITTING_DAYS * (1 - 1e-9)).astype(np.intp)
    first |= np.r_[True, np.diff(part) != 0]
    begin = np.flatnonzero(first)
    count = np.diff(np.r_[begin, day.size])
    tension, agree, squares, freedom = _values(obs.tension[order], begin, count)
    start = np.searchsorted(code[begin], np.arange(names.size + 1))
    row_group = obs.group[order]
    groups = row_group[begin[start[:-1]]] if names.size else row_group
    if not np.all(groups[code] == row_group):
        raise NotValid(
            say("group must be the same for all readings of one stretch."), argument="group"
        )
    return Sittings(
        names.tolist(),
        groups.tolist(),
        start,
        np.add.reduceat(day, begin) / count,
        np.maximum.reduceat(obs.cycles[order], begin),
        tension,
        count.astype(np.float64),
        agree,
        squares,
        freedom,
    )


def _values(
    tension: Array, begin: NDArray[np.intp], count: NDArray[np.intp]
) -> tuple[Array, NDArray[np.bool_], float, int]:
    """Values of the sittings, whether repeats agree, and squares and freedom of those."""
    value, agreeing = tension[begin].copy(), np.ones(begin.size, dtype=bool)
    squares, freedom = 0.0, 0
    for k in np.unique(count[count > 1]):
        which = count == k
        repeats = np.sort(tension[begin[which][:, None] + np.arange(k)], axis=1)
        low, span = repeats[:, 0], repeats[:, -1] - repeats[:, 0]
        value[which] = (
            low + np.minimum(span, DISAGREE * low) / 2 if k == 2 else np.median(repeats, axis=1)
        )
        agreeing[which] = (k > 2) | (span < DISAGREE * low)
        agree = repeats[span < DISAGREE * low]
        share = agree / agree.mean(axis=1, keepdims=True) - 1
        squares += float(np.sum(share**2))
        freedom += int((k - 1) * agree.shape[0])
    return value, agreeing, squares, freedom
