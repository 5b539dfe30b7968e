"""Times the tension forecast: full fits, growth, one screen's update, and statsmodels beside it.

    python -m tests.bench.fleet_fit [--largest 30000]

Each line names the model that was timed. The forecast here is the very one that the judge runs.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings

import numpy as np

from framekeeper.domain.forecast import FleetModel, Observations, fit_fleet

READINGS = 8
GROUPS = 8
COMPARED = 500


def invented_fleet(stretches: int, *, seed: int = 1) -> Observations:
    """A log-time fleet with eight readings of each stretch in its first year."""
    rng = np.random.default_rng(seed)
    name = np.repeat(np.arange(stretches), READINGS)
    day = np.sort(rng.uniform(0, 365, (stretches, READINGS)), axis=1)
    day[:, 0] = 0
    cycles = np.floor(day * rng.uniform(0.08, 0.3, (stretches, 1)))
    start = 25 * (1 + rng.normal(0, 0.05, (stretches, 1)))
    loss = rng.normal(0.05, 0.012, (stretches, 1)) * np.log10(1 + day) + 0.001 * cycles
    tension = start * (1 - loss) + rng.normal(0, 0.4, day.shape)
    return Observations(name, day.ravel(), cycles.ravel(), tension.ravel(), name % GROUPS)


def seconds_of_fit(obs: Observations) -> tuple[float, FleetModel]:
    """Time a full fit, from readings to a model that answers."""
    began = time.perf_counter()
    model = fit_fleet(obs)
    return time.perf_counter() - began, model


def seconds_of_update(model: FleetModel, obs: Observations) -> float:
    """Time one screen's new reading and its new forecast: mean of a hundred screens."""
    rows = [np.flatnonzero(obs.stretch == name) for name in range(100)]
    began = time.perf_counter()
    for name, row in enumerate(rows):
        one = Observations(
            np.full(READINGS + 1, name),
            np.r_[obs.day[row], 380.0],
            np.r_[obs.cycles[row], 80.0],
            np.r_[obs.tension[row], 20.5],
            np.full(READINGS + 1, obs.group[row[0]]),
        )
        new = model.with_readings(one)
        new.decide(name, today=380.0, limit=20.0)
        new.next_check(name, today=380.0, limit=20.0, cycles_per_day=0.2)
    return (time.perf_counter() - began) / len(rows)


def seconds_of_statsmodels(obs: Observations) -> float | None:
    """Time a mixed model of random level and log-time slope, where statsmodels is installed."""
    try:
        from statsmodels.regression.mixed_linear_model import MixedLM
    except ImportError:
        return None
    x = np.log10(1 + obs.day)
    fixed = np.column_stack([np.ones_like(x), x, obs.cycles])
    began = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        MixedLM(obs.tension, fixed, groups=obs.stretch, exog_re=fixed[:, :2]).fit(reml=True)
    return time.perf_counter() - began


def main() -> int:
    """Print one line for each size, and what follows."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--largest", type=int, default=30_000)
    chosen = parser.parse_args()
    out = sys.stdout.write
    fit_fleet(invented_fleet(20))  # imports are not timed
    out(f"{'model':<44}{'stretches':>10}{'seconds':>10}\n")
    for stretches in (500, 1_000, 3_000, 10_000, 30_000):
        if stretches > chosen.largest:
            continue
        obs = invented_fleet(stretches)
        seconds, model = seconds_of_fit(obs)
        out(f"{'forecast.fit_fleet, the model of the judge':<44}{stretches:>10}{seconds:>10.2f}\n")
        if stretches == COMPARED:
            rival = seconds_of_statsmodels(obs)
            shown = "not there" if rival is None else f"{rival:.2f}"
            out(f"{'statsmodels MixedLM, random level and slope':<44}{stretches:>10}{shown:>10}\n")
        update = seconds_of_update(model, obs)
        out(f"{'  one reading, decision and next check':<44}{stretches:>10}{update:>10.4f}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
