"""Invented shops whose screens lose tension by known laws, so that a forecast can be judged.

Four worlds are for tuning; two are kept out of all tuning and reported apart. Their sizes are
invented within the published ranges (first night 10-15 %, 1-2 % for an early cycle, meters to about
1 N/cm); none is a claim about a real shop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Law = Callable[[np.random.Generator, Array], Array]

TARGETS = np.array([34.0, 27.0, 24.0, 21.0])  # N/cm, one for each mesh group
LIMIT_SHARE = 0.8
DROPS_PER_YEAR = 0.08
REPEAT_SD, METER_BIAS_SD, METERS = 0.35, 0.2, 3  # N/cm


def log_time(rng: np.random.Generator, day: Array) -> Array:
    """Share left after a loss that is straight in log-time."""
    return 1 - rng.normal(0.055, 0.012) * np.log10(1 + day)


def stretched_exponential(rng: np.random.Generator, day: Array) -> Array:
    """Share left over a floor, after Kohlrausch's stretched exponential."""
    tau, beta = 800 * np.exp(rng.normal(0, 0.4)), rng.normal(0.45, 0.03)
    return 1 - rng.normal(0.45, 0.05) * -np.expm1(-((day / tau) ** beta))


def power_law(rng: np.random.Generator, day: Array) -> Array:
    """Share left after a power of time."""
    return (1 + day) ** -max(rng.normal(0.035, 0.007), 0.005)


def two_exponentials(rng: np.random.Generator, day: Array) -> Array:
    """Share left after a fast and a slow loss that both come to an end."""
    fast, slow = rng.normal(0.06, 0.012), rng.normal(0.16, 0.03)
    pace = np.exp(rng.normal(0, 0.25, 2)) * (2.0, 120.0)
    return 1 + fast * np.expm1(-day / pace[0]) + slow * np.expm1(-day / pace[1])


def late_creep(rng: np.random.Generator, day: Array) -> Array:
    """Share left where a log-time loss turns into steady creep after a break of its own."""
    broken = rng.uniform(40, 160)
    creep = np.maximum(day - broken, 0) * max(rng.normal(4e-4, 1e-4), 0)
    return 1 - rng.normal(0.045, 0.010) * np.log10(1 + day) - creep


def damp_and_dry(rng: np.random.Generator, day: Array) -> Array:
    """Share left where frames also breathe with the season and wander from day to day."""
    season = 0.02 * np.sin(2 * np.pi * (day / 365 + rng.uniform()))
    push = rng.normal(0, 0.004, day.size)
    wander = np.empty(day.size)
    last = 0.0
    for i, step in enumerate(push):
        last = 0.9 * last + step
        wander[i] = last
    loss = rng.normal(0.060, 0.012) * np.log10(1 + day)
    return 1 - loss + season - season[0] + wander - wander[0]


WORLDS: dict[str, Law] = {
    "log-time": log_time,
    "stretched exponential": stretched_exponential,
    "power law": power_law,
    "two exponentials": two_exponentials,
}
KEPT_OUT: dict[str, Law] = {"late creep": late_creep, "damp and dry": damp_and_dry}


@dataclass
class Life:
    """One stretch from its release, day by day."""

    tension: Array  # truth, N/cm
    cycles: Array


def live(law: Law, rng: np.random.Generator, target: float, pace: float, days: int) -> Life:
    """One life: decay, cycle loss that tapers, and perhaps a corner that lets go."""
    day = np.arange(days, dtype=np.float64)
    start = target * (1 + rng.normal(0, 0.04))
    share = law(rng, day)
    cycles = np.r_[0.0, np.cumsum(rng.poisson(pace, days - 1))]
    early, settled = max(rng.normal(0.015, 0.006), 0), max(rng.normal(0.0009, 0.0003), 0)
    share = share - early * -np.expm1(-cycles / 4) - settled * cycles
    falls = rng.random(days) < DROPS_PER_YEAR / 365
    falls[0] = False
    share = share - np.cumsum(falls * rng.uniform(0.06, 0.30, days))
    return Life(start * np.maximum(share, 0.05), cycles)


class Shop:
    """Screens in use for a year, each with the lives of its stretches, alike for every rule."""

    def __init__(self, law: Law, seed: int, screens: int, days: int = 365) -> None:
        rng = np.random.default_rng((seed, 1))
        self.law, self.seed, self.screens, self.days = law, seed, screens, days
        self.group = np.arange(screens) % TARGETS.size
        self.limit = LIMIT_SHARE * TARGETS[self.group]
        self.pace = rng.uniform(0.08, 0.30, screens)
        self.begin = rng.integers(0, 31, screens)  # the shop fills up in its first month
        self._bias = rng.normal(0, METER_BIAS_SD, METERS)
        self._noise = np.random.default_rng((seed, 2))

    def life(self, screen: int, number: int) -> Life:
        """The life of the screen's stretch of that number, the same however often it is asked."""
        rng = np.random.default_rng((self.seed, 3, screen, number))
        target = float(TARGETS[self.group[screen]])
        return live(self.law, rng, target, float(self.pace[screen]), self.days + 1)

    def sitting(self, count: int) -> NDArray[np.intp]:
        """Which meter is at hand for each of `count` screens."""
        return self._noise.integers(0, METERS, count)

    def read(self, truth: Array, meter: NDArray[np.intp]) -> Array:
        """What the meter shows."""
        return truth + self._bias[meter] + self._noise.normal(0, REPEAT_SD, truth.size)
