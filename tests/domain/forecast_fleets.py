"""Small invented fleets for the tests of the forecast."""

from __future__ import annotations

import numpy as np

from framekeeper.domain.forecast import Observations


def fleet(
    stretches: int = 40,
    readings: int = 6,
    *,
    seed: int = 1,
    loss: float = 0.05,
    loss_sd: float = 0.010,
    noise: float = 0.3,
    days: float = 200,
    groups: int = 2,
) -> Observations:
    """Log-time losses around 25 N/cm, a little for each cycle, normal noise."""
    rng = np.random.default_rng(seed)
    shape = (stretches, readings)
    day = np.sort(rng.uniform(1, days, shape), axis=1)
    day[:, 0] = 0
    cycles = np.floor(day * 0.2)
    start = 25 * (1 + rng.normal(0, 0.04, (stretches, 1)))
    slope = rng.normal(loss, loss_sd, (stretches, 1))
    tension = start * (1 - slope * np.log10(1 + day) - 0.001 * cycles)
    tension = tension + rng.normal(0, noise, shape)
    name = np.repeat(np.arange(stretches), readings)
    return Observations(name, day.ravel(), cycles.ravel(), tension.ravel(), name % groups)


def one(stretch: object, day: list[float], tension: list[float], group: object = 0) -> Observations:
    """Readings of one stretch, a cycle every five days."""
    n = len(day)
    return Observations([stretch] * n, day, np.array(day) / 5, tension, [group] * n)


def joined(*parts: Observations) -> Observations:
    """Several sets of readings as one."""
    names = ("stretch", "day", "cycles", "tension", "group")
    return Observations(*(np.concatenate([getattr(p, n) for p in parts]) for n in names))


def scaled(obs: Observations, factor: float) -> Observations:
    """The same readings in another unit of tension."""
    return Observations(obs.stretch, obs.day, obs.cycles, obs.tension * factor, obs.group)


def shuffled(obs: Observations, seed: int) -> Observations:
    """The same readings in another order."""
    order = np.random.default_rng(seed).permutation(len(obs))
    names = ("stretch", "day", "cycles", "tension", "group")
    return Observations(*(getattr(obs, n)[order] for n in names))
