"""How long a screen waits for its next reading under a rule, and what is risked meanwhile.

The waits are those of `FleetModel.next_check` before they are rounded up to whole days: only so
does a stricter rule never look laxer by a part of a day. The reading on the day after a sudden drop
is one reading, not a habit, so it is no wait here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from framekeeper.domain.forecast_prior import Array

LEAST_WAIT_DAYS = 1.0
DAILY_DAYS = 366  # so far the chances are asked for day by day, then month by month
MONTH_DAYS = 365.25 / 12


def days_ahead(longest_days: float) -> Array:
    """The days after a reading for which the chances must be known, shape (m,)."""
    near = np.arange(np.ceil(min(longest_days, DAILY_DAYS)) + 1)
    far = np.arange(near[-1], longest_days + MONTH_DAYS, MONTH_DAYS)[1:]
    return np.concatenate((near, far if longest_days > DAILY_DAYS else far[:0]))


def waits_by_risk(day: Array, chance: Array, *, days_at_risk: float, longest_days: float) -> Array:
    """Waits after which the days below the limit that must be expected reach a bound.

    Parameters
    ----------
    day : shape (m,)
        Days after the latest reading, rising from 0, as far as `longest_days` at least.
    chance : shape (n, m)
        Chance of being below the limit on each of them; straight lines between.
    days_at_risk
        The bound, above 0.
    longest_days
        The longest wait.

    Returns
    -------
    Array, shape (n,)
        Days, one at least and `longest_days` at most.

    Examples
    --------
    >>> day = np.array([0.0, 10.0, 20.0])
    >>> waits_by_risk(day, np.array([[0.0, 0.1, 0.2]]), days_at_risk=0.5, longest_days=20)
    array([10.])
    """
    spent = _spent(day, chance)
    place = np.minimum(np.sum(spent < days_at_risk, axis=1), day.size - 1)
    before = np.maximum(place - 1, 0)
    row = np.arange(chance.shape[0])
    low, start = chance[row, before], spent[row, before]
    width = np.where(place > before, day[place] - day[before], 1.0)
    rise = (chance[row, place] - low) / width
    left = np.maximum(days_at_risk - start, 0)
    # The root of low u + rise u^2 / 2 = left, written so that a rise of 0 is no special case.
    root = np.sqrt(np.maximum(low**2 + 2 * rise * left, 0))
    within = np.divide(2 * left, low + root, out=np.full_like(low, np.inf), where=low + root > 0)
    reached = spent[:, -1] >= days_at_risk
    wait = np.where(reached, day[before] + within, np.inf)
    return np.asarray(np.clip(wait, LEAST_WAIT_DAYS, longest_days))


def expected_days_below(day: Array, chance: Array, wait: Array) -> Array:
    """Days below the limit that must be expected during a wait, shape (n,).

    Parameters
    ----------
    day : shape (m,)
        Days after the latest reading, rising from 0.
    chance : shape (n, m)
        Chance of being below the limit on each of them; straight lines between.
    wait : shape (n,)
        Days, within those of `day`.
    """
    spent = _spent(day, chance)
    place = np.clip(np.searchsorted(day, wait, side="right") - 1, 0, day.size - 2)
    row = np.arange(chance.shape[0])
    low, high = chance[row, place], chance[row, place + 1]
    past, width = wait - day[place], day[place + 1] - day[place]
    return np.asarray(spent[row, place] + past * (low + (high - low) * past / width / 2))


def _spent(day: Array, chance: Array) -> Array:
    """Integral of the chance from the latest reading to each day, by the trapezoidal rule."""
    steps = np.diff(day) * (chance[:, 1:] + chance[:, :-1]) / 2
    return np.concatenate((np.zeros((chance.shape[0], 1)), np.cumsum(steps, axis=1)), axis=1)
