"""Turns what a caller gives into arrays of numbers, or refuses it by the argument's name."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.sentence import say

Floats = NDArray[np.float64]


def column(name: str, values: ArrayLike, *, least: int = 1) -> Floats:
    """Return finite numbers, shape (n,), n >= least.

    Raises
    ------
    NotValid
        For anything but one row of numbers, and for NaN or infinite values.
    NotEnoughData
        For fewer than `least` values.
    """
    try:
        numbers = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        numbers = np.empty((0, 0))
    if numbers.ndim != 1:
        raise NotValid(say("{name} must be one row of numbers.", name=name), argument=name)
    if not np.isfinite(numbers).all():
        raise NotValid(say("{name} holds a value that is not a number.", name=name), argument=name)
    if len(numbers) < least:
        raise NotEnoughData(
            say("{name} has {n} values; it takes {least}.", name=name, n=len(numbers), least=least),
            argument=name,
        )
    return numbers


def same_length(first: str, a: Floats, second: str, b: Floats) -> None:
    """Refuse two columns of unequal length."""
    if len(a) != len(b):
        raise NotValid(
            say(
                "{first} has {n} values and {second} has {m}; they belong together one by one.",
                first=first,
                n=len(a),
                second=second,
                m=len(b),
            ),
            argument=second,
        )


def _number(value: object) -> float:
    """Read a number; what is none becomes NaN, which no bound lets through."""
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return math.nan


def above_zero(name: str, value: float) -> float:
    """Return a finite number above 0.

    Raises
    ------
    NotValid
        For anything else.
    """
    number = _number(value)
    if not (math.isfinite(number) and number > 0):
        raise NotValid(say("{name} must be a number above 0.", name=name), argument=name)
    return number


def from_zero(name: str, value: float) -> float:
    """Return a finite number from 0 upwards.

    Raises
    ------
    NotValid
        For anything else.
    """
    number = _number(value)
    if not (math.isfinite(number) and number >= 0):
        raise NotValid(say("{name} must be a number from 0 upwards.", name=name), argument=name)
    return number


def share(name: str, value: float) -> float:
    """Return a number above 0 and below 1.

    Raises
    ------
    NotValid
        For anything else.
    """
    number = _number(value)
    if not 0 < number < 1:
        raise NotValid(
            say("{name} must be a number above 0 and below 1.", name=name), argument=name
        )
    return number
