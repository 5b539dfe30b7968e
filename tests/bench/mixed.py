"""How fast `fit_reml` is beside the mixed model of a general statistics library, on the same data.

Run: python -m tests.bench.mixed [RUNS]. Needs the extra "bench". 500 stretches with 8 readings each
are simulated with a seed; both fit a random level and slope in log-time by REML, in turn. Medians,
their ratio and the largest difference between the estimates are printed.
"""

from __future__ import annotations

import statistics
import sys
import time
import warnings

import numpy as np

from framekeeper.domain.mixed import fit_reml

UNITS, DAYS = 500, (0, 1, 3, 7, 14, 30, 60, 120)
GOAL = 20.0
SEED = 20240601


def fleet() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Simulate unit labels (n,), design (n, 2) and tensions (n,) in N/cm."""
    rng = np.random.default_rng(SEED)
    unit = np.repeat(np.arange(UNITS), len(DAYS))
    x = np.tile(np.log10(1.0 + np.array(DAYS)), UNITS)
    level = 25 + rng.normal(0, 1.0, UNITS)
    slope = -1.2 + rng.normal(0, 0.3, UNITS)
    tension = level[unit] + slope[unit] * x + rng.normal(0, 0.4, len(x))
    return unit, np.column_stack([np.ones_like(x), x]), tension


def listed(
    beta: np.ndarray, beta_se: np.ndarray, random_cov: np.ndarray, residual_sd: float
) -> np.ndarray:
    """List what is compared: beta, its errors, sds and correlation of the random effects, sigma."""
    sds = np.sqrt(np.diag(random_cov))
    return np.array([*beta, *beta_se, *sds, random_cov[0, 1] / sds.prod(), residual_sd])


def theirs_of(
    unit: np.ndarray, design: np.ndarray, tension: np.ndarray
) -> tuple[np.ndarray, float]:
    """Fit the same model with statsmodels, with its defaults: estimates and log likelihood."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = MixedLM(tension, design, groups=unit, exog_re=design).fit(reml=True)
    cov = np.asarray(fit.cov_re)
    return listed(fit.fe_params, fit.bse_fe, cov, float(np.sqrt(fit.scale))), float(fit.llf)


def main() -> None:
    """Time both in turn and print the comparison."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    unit, design, tension = fleet()
    ours, theirs = [], []
    fit_reml(unit, design, tension, n_random=2)  # imports are not what is compared
    theirs_of(unit, design, tension)
    for _ in range(runs):
        start = time.perf_counter()
        fit = fit_reml(unit, design, tension, n_random=2)
        between = time.perf_counter()
        reference, their_loglik = theirs_of(unit, design, tension)
        ours.append(between - start)
        theirs.append(time.perf_counter() - between)
    ratio = statistics.median(theirs) / statistics.median(ours)
    estimates = listed(fit.beta, fit.beta_se, fit.random_cov, fit.residual_sd)
    apart = np.abs(estimates - reference).max()
    sys.stdout.write(
        f"{UNITS} units x {len(DAYS)} readings, {runs} runs\n"
        f"fit_reml             {statistics.median(ours) * 1000:8.1f} ms\n"
        f"statsmodels MixedLM  {statistics.median(theirs) * 1000:8.1f} ms\n"
        f"ratio                {ratio:8.1f}   goal at least {GOAL:.0f}\n"
        f"largest difference of an estimate: {apart:.1e}\n"
        f"log restricted likelihood: {fit.reml_loglik:.6f} here, {their_loglik:.6f} there\n"
    )
    sys.exit(0 if ratio >= GOAL else 1)


if __name__ == "__main__":
    main()
