"""Lives of mesh against published estimates, another library, and slow twins."""

from __future__ import annotations

import doctest
import itertools
import math
from collections.abc import Callable
from fractions import Fraction
from statistics import NormalDist

import numpy as np
import pytest
from lifelines import KaplanMeierFitter, WeibullFitter
from lifelines.statistics import multivariate_logrank_test
from scipy.optimize import minimize, root

from framekeeper.domain import life, life_curve, life_groups, life_weibull
from framekeeper.domain.life import (
    chances_of_end,
    expected_lives_left,
    kaplan_meier,
    log_rank,
    weibull_fit,
)

from .published import agrees, cases, checks, columns, numbers

REGRESSION = "groups are compared by log-rank, not by a common shape"

# Published quantities that nothing of the program shows to its users, each with why.
NOT_COMPUTED = {
    "A4-O1": {},
    "A4-O2": dict.fromkeys(("b0", "b1 (control)", "scale sigma", "log likelihood"), REGRESSION),
    "A4-O3": {},
    "A4-O4": {},
    "A4-O5": {},
}


def published(check: str) -> list:
    return cases(check, without=NOT_COMPUTED[check])


def test_every_published_check_of_this_area_is_driven_or_explained() -> None:
    assert {c for c in checks() if c.startswith("A4-")} == set(NOT_COMPUTED)


def remissions() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weeks, ends and arms of the 42 patients."""
    read = columns("leukaemia_6mp.csv")
    return tuple(np.array(read[key]) for key in ("time", "event", "treat"))


def treated() -> tuple[np.ndarray, np.ndarray]:
    time, event, arm = remissions()
    return time[arm == "6-MP"].astype(float), event[arm == "6-MP"].astype(float)


@pytest.mark.parametrize(("check", "quantity"), published("A4-O1"))
def test_published_remissions(check: str, quantity: str) -> None:
    if quantity == "median":
        agrees(check, quantity, kaplan_meier(*treated()).median())
        return
    if quantity.startswith("log-rank"):
        time, event, arm = remissions()
        agrees(check, quantity, log_rank(time.astype(float), event.astype(float), arm).chi2)
        return
    curve = kaplan_meier(*treated())
    at = curve.time == float(quantity.partition("(")[2].partition(")")[0])
    agrees(check, quantity, (curve.se if quantity.startswith("se") else curve.survival)[at].item())


@pytest.mark.parametrize(("check", "quantity"), published("A4-O2"))
def test_published_weibull_of_one_arm(check: str, quantity: str) -> None:
    fit = weibull_fit(*treated())
    agrees(check, quantity, fit.shape if quantity.endswith("beta") else fit.scale)


@pytest.mark.parametrize(("check", "quantity"), published("A4-O3"))
def test_published_shock_absorbers(check: str, quantity: str) -> None:
    distance = numbers("shock_absorber.csv", "distance")
    failed = numbers("shock_absorber.csv", "failed")
    if quantity.startswith("KM"):
        at = float(quantity.rpartition(" ")[2])
        agrees(check, quantity, 1 - float(kaplan_meier(distance, failed).survival_at(at)))
        return
    fit = weibull_fit(distance, failed)
    scale = fit.scale_interval()
    ours = {
        "mu (log eta)": math.log(fit.scale),
        "se(mu)": math.sqrt(fit.covariance[1, 1]),
        "mu lower 95%": math.log(scale.lower),
        "mu upper 95%": math.log(scale.upper),
        "sigma (1/beta)": 1 / fit.shape,
        "se(sigma)": math.sqrt(fit.covariance[0, 0]) / fit.shape,
        "eta": fit.scale,
        "beta": fit.shape,
        "F(10000)": float(chances_of_end(fit, 0, 10_000)),
        "B10 life": fit.quantile(0.1).estimate,
        "log likelihood": fit.loglik,
    }
    agrees(check, quantity, ours[quantity])


@pytest.mark.parametrize(("check", "quantity"), published("A4-O4"))
def test_published_ball_bearings(check: str, quantity: str) -> None:
    turns = numbers("ball_bearings.csv", "million_revolutions")
    fit = weibull_fit(turns, np.ones(len(turns)))
    ours = {
        "eta": fit.scale,
        "beta": fit.shape,
        "B10 life": fit.quantile(0.1).estimate,
        "log likelihood": fit.loglik,
    }
    agrees(check, quantity, ours[quantity])


@pytest.mark.parametrize(("check", "quantity"), published("A4-O5"))
def test_published_aircraft_components(check: str, quantity: str) -> None:
    read = (numbers("aircraft_components.csv", key) for key in ("hours", "failed"))
    fit = weibull_fit(*read)
    ours = {"u": math.log(fit.scale), "b": 1 / fit.shape, "eta": fit.scale, "beta": fit.shape}
    agrees(check, quantity, ours[quantity])


def some_lives(rng: np.random.Generator, *, tied: bool, late: bool) -> tuple[np.ndarray, ...]:
    """Draw censored lives of one shop: durations, ends, entries."""
    while True:
        n = int(rng.integers(8, 60))
        size = 10 ** rng.uniform(1, 3)
        whole = size * rng.weibull(rng.uniform(0.6, 3.5), n)
        watched = size * rng.uniform(0.3, 3) * rng.weibull(1.5, n)
        duration, failed = np.minimum(whole, watched), whole <= watched
        if tied:
            duration = np.ceil(duration / size * 12)
        entry = np.where(rng.random(n) < 0.4, duration * rng.uniform(0, 0.9, n), 0.0)
        if failed.sum() >= 3 and len(np.unique(duration[failed])) > 1:
            return duration, failed, entry if late else np.zeros(n)


def score(logs: np.ndarray, lives: tuple[np.ndarray, ...]) -> np.ndarray:
    """Derivatives of the log likelihood by log shape and log scale, written out plainly."""
    duration, failed, entry = lives
    shape, scale = np.exp(logs)
    by_shape = by_scale = 0.0
    for t, ended, e in zip(duration / scale, failed, entry / scale, strict=True):
        if ended:
            by_shape += 1 + shape * math.log(t)
            by_scale -= shape
        by_shape -= shape * t**shape * math.log(t)
        by_scale += shape * t**shape
        if e > 0:
            by_shape += shape * e**shape * math.log(e)
            by_scale -= shape * e**shape
    return np.array([by_shape, by_scale])


@pytest.mark.parametrize("seed", range(8))
def test_another_library_agrees_on_200_random_samples(seed: int) -> None:
    """25 samples each: half of them with ties, half with late entry.

    lifelines ends its search for the Weibull law at about 1e-5; from there its estimate is led to
    the root of the plainly written score, and agrees to 1e-6. It knows no log-rank with late entry,
    and counts a life as under watch at the very age of its entry, which these samples avoid.
    """
    rng = np.random.default_rng(seed)
    for i in range(25):
        lives = duration, failed, entry = some_lives(rng, tied=i % 2 == 0, late=i % 4 >= 2)

        curve = kaplan_meier(duration, failed, entry=entry)
        theirs = KaplanMeierFitter().fit(duration, failed, entry=entry)
        survival = theirs.survival_function_["KM_estimate"].loc[curve.time]
        assert curve.survival == pytest.approx(survival.to_numpy(), abs=1e-12)
        limits = theirs.confidence_interval_.loc[curve.time].to_numpy()
        between = (curve.survival > 0) & (curve.survival < 1)
        assert curve.lower[between] == pytest.approx(limits[between, 0], abs=1e-12)
        assert curve.upper[between] == pytest.approx(limits[between, 1], abs=1e-12)
        if np.abs(curve.survival - 0.5).min() > 1e-9:  # they miss one half by a binary fraction
            assert curve.median() == theirs.median_survival_time_

        fit = weibull_fit(duration, failed, entry=entry)
        law = WeibullFitter().fit(duration, failed, entry=entry)
        assert fit.loglik == pytest.approx(law.log_likelihood_, abs=1e-6)
        assert fit.loglik >= law.log_likelihood_ - 1e-9
        assert (fit.shape, fit.scale) == pytest.approx((law.rho_, law.lambda_), rel=1e-4)
        led = root(score, np.log([law.rho_, law.lambda_]), args=(lives,), tol=1e-13)
        assert (fit.shape, fit.scale) == pytest.approx(np.exp(led.x), rel=1e-6)
        theirs_log = law.variance_matrix_.to_numpy()[::-1, ::-1] / np.outer(
            (law.rho_, law.lambda_), (law.rho_, law.lambda_)
        )
        assert fit.covariance == pytest.approx(theirs_log, rel=1e-3, abs=1e-5)

        group = rng.integers(0, 2 + i % 3, len(duration))
        if len(set(group)) > 1:
            ours = log_rank(duration, failed, group)
            test = multivariate_logrank_test(duration, group, failed)
            assert ours.chi2 == pytest.approx(test.test_statistic, rel=1e-6, abs=1e-9)
            if (ours.expected > 0).all():  # they count a group that was gone before the first end
                assert ours.p == pytest.approx(test.p_value, rel=1e-6, abs=1e-12)


def slow_curve(lives: tuple[np.ndarray, ...]) -> list[tuple]:
    """(time, at risk, survival, Greenwood's sum) in fractions, one life after the other."""
    rows, survival, greenwood = [], Fraction(1), Fraction(0)
    told = list(zip(*(list(column) for column in lives), strict=True))
    for t in sorted({d for d, _, _ in told}):
        n = sum(1 for d, _, e in told if d >= t and (e < t or e == 0))
        ends = sum(1 for d, f, _ in told if d == t and f)
        if n:
            survival *= Fraction(n - ends, n)
            greenwood += Fraction(ends, n * (n - ends)) if n > ends else 0
        rows.append((t, n, survival, greenwood))
    return rows


@pytest.mark.parametrize("seed", range(20))
def test_the_curve_agrees_with_a_slow_twin(seed: int) -> None:
    """Entries tied with ends as well: a life that enters at an end is not yet under watch."""
    rng = np.random.default_rng(seed)
    duration, failed, _ = some_lives(rng, tied=True, late=False)
    entry = np.floor(duration * rng.uniform(0, 1, len(duration)))
    entry = np.minimum(entry, duration - 1)
    curve = kaplan_meier(duration, failed, entry=entry, confidence=0.9)
    z = NormalDist().inv_cdf(0.95)
    rows = slow_curve((duration, failed, entry))
    assert [r[0] for r in rows] == curve.time.tolist()
    assert [r[1] for r in rows] == curve.at_risk.tolist()
    for i, (_, _, s, g) in enumerate(rows):
        assert curve.survival[i] == pytest.approx(float(s), abs=1e-14)
        if 0 < s < 1:
            se = math.sqrt(g) * float(s)
            assert curve.se[i] == pytest.approx(se)
            # From the error of log(-log S), by the delta method from that of S itself.
            middle, error = math.log(-math.log(s)), se / float(s) / -math.log(s)
            assert curve.lower[i] == pytest.approx(math.exp(-math.exp(middle + z * error)))
            assert curve.upper[i] == pytest.approx(math.exp(-math.exp(middle - z * error)))


def slow_log_rank(lives: tuple[np.ndarray, ...], group: np.ndarray) -> float:
    duration, failed, entry = lives
    names = sorted(set(group))
    k = len(names) - 1
    off, covariance = np.zeros(k), np.zeros((k, k))
    for t in sorted(set(duration[failed])):
        at = (duration >= t) & ((entry < t) | (entry == 0))
        n, d = at.sum(), (failed & (duration == t)).sum()
        part = [(at & (group == g)).sum() / n for g in names[:-1]]
        for i in range(k):
            off[i] += (failed & (duration == t) & (group == names[i])).sum() - d * part[i]
            for j in range(k):
                if n > 1:
                    same = part[i] if i == j else 0.0
                    covariance[i, j] += d * (n - d) / (n - 1) * (same - part[i] * part[j])
    return float(off @ np.linalg.solve(covariance, off))


@pytest.mark.parametrize("seed", range(20))
def test_log_rank_with_late_entry_agrees_with_a_slow_twin(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lives = duration, failed, entry = some_lives(rng, tied=True, late=True)
    group = rng.integers(0, 2 + seed % 3, len(duration))
    ours = log_rank(duration, failed, group, entry=entry)
    assert ours.chi2 == pytest.approx(slow_log_rank(lives, group), rel=1e-9)
    assert ours.freedom == len(set(group)) - 1
    assert ours.observed.sum() == pytest.approx(ours.expected.sum())


def log_likelihood(logs: np.ndarray, lives: tuple[np.ndarray, ...]) -> float:
    duration, failed, entry = lives
    shape, scale = np.exp(logs)
    total = 0.0
    for t, ended, e in zip(duration, failed, entry, strict=True):
        if ended:
            total += math.log(shape / scale) + (shape - 1) * math.log(t / scale)
        total -= (t / scale) ** shape - (e / scale) ** shape
    return total


def curved(function: Callable[[np.ndarray], float], at: np.ndarray) -> np.ndarray:
    """Second derivatives by central differences, shape (2, 2)."""
    step, signs = 1e-4 * np.eye(2), list(itertools.product((-1, 1), repeat=2))
    return np.array(
        [
            [sum(a * b * function(at + a * x + b * y) for a, b in signs) / (4 * 1e-8) for x in step]
            for y in step
        ]
    )


@pytest.mark.parametrize("late", [False, True])
def test_the_weibull_law_is_the_top_of_the_likelihood(late: bool) -> None:
    """Parameters by a search without derivatives, the covariance by differences."""
    lives = some_lives(np.random.default_rng(3), tied=False, late=late)
    fit = weibull_fit(lives[0], lives[1], entry=lives[2])
    found = minimize(
        lambda logs: -log_likelihood(logs, lives),
        [0.0, math.log(lives[0].mean())],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12},
    )
    ours = np.log([fit.shape, fit.scale])
    assert ours == pytest.approx(found.x, abs=1e-6)
    assert fit.loglik == pytest.approx(log_likelihood(ours, lives), abs=1e-9)
    curvature = curved(lambda logs: log_likelihood(logs, lives), ours)
    assert fit.covariance == pytest.approx(-np.linalg.inv(curvature), rel=1e-4)


@pytest.mark.parametrize("p", [0.01, 0.1, 0.5, 0.99])
@pytest.mark.parametrize("late", [False, True])
def test_the_error_of_a_quantile_is_that_of_a_law_stated_by_it(p: float, late: bool) -> None:
    """Curvature by the log quantile itself and the log shape, instead of the delta method."""
    lives = some_lives(np.random.default_rng(6), tied=False, late=late)
    fit = weibull_fit(lives[0], lives[1], entry=lives[2])
    q = math.log(-math.log(1 - p))

    def by_quantile(at: np.ndarray) -> float:
        return log_likelihood(np.array([at[0], at[1] - q / math.exp(at[0])]), lives)

    quantile = fit.quantile(p)
    top = np.log([fit.shape, quantile.estimate])
    error = math.sqrt(-np.linalg.inv(curved(by_quantile, top))[1, 1])
    z = NormalDist().inv_cdf(0.975)
    assert math.log(quantile.upper / quantile.estimate) == pytest.approx(z * error, rel=1e-3)
    assert math.log(quantile.estimate / quantile.lower) == pytest.approx(z * error, rel=1e-3)


def test_late_entry_ignored_would_make_mesh_last_longer() -> None:
    """Mesh found at half its life has survived so far; counting it from the start flatters."""
    rng = np.random.default_rng(11)
    whole = 100 * rng.weibull(2, 40_000)
    entry = rng.uniform(0, 150, 40_000)
    seen = entry < whole
    whole, entry = whole[seen], entry[seen]
    right = weibull_fit(whole, np.ones(len(whole)), entry=entry)
    # Within four standard errors of the truth, from a sample of thousands.
    assert math.log(right.shape / 2) == pytest.approx(0, abs=4 * right.covariance[0, 0] ** 0.5)
    assert math.log(right.scale / 100) == pytest.approx(0, abs=4 * right.covariance[1, 1] ** 0.5)
    assert weibull_fit(whole, np.ones(len(whole))).scale > 110
    median = 100 * math.log(2) ** 0.5
    curve = kaplan_meier(whole, np.ones(len(whole)), entry=entry).quantile(0.5)
    assert curve.lower < curve.estimate < curve.upper
    assert curve.estimate == pytest.approx(median, rel=0.03)
    assert kaplan_meier(whole, np.ones(len(whole))).median() > median * 1.1


@pytest.mark.parametrize("p", [0.1, 0.5])
def test_intervals_cover_as_often_as_they_claim(p: float) -> None:
    """400 fleets of 60 lives, a third of them going on; the share's error is 1.1 %."""
    rng = np.random.default_rng(5)
    by_law = by_curve = 0
    truth = 100 * (-math.log(1 - p)) ** (1 / 2)
    for _ in range(400):
        whole, watched = 100 * rng.weibull(2, 60), rng.uniform(50, 250, 60)
        seen = np.minimum(whole, watched), whole <= watched
        law, curve = weibull_fit(*seen).quantile(p), kaplan_meier(*seen).quantile(p)
        by_law += law.lower <= truth <= law.upper
        by_curve += curve.lower <= truth <= curve.upper
    # Three times that error to either side.
    assert by_law / 400 == pytest.approx(0.95, abs=0.033)
    assert by_curve / 400 == pytest.approx(0.95, abs=0.033)


@pytest.mark.parametrize("seed", range(5))
def test_lives_left_of_a_curve_is_the_area_behind_an_age(seed: int) -> None:
    rng = np.random.default_rng(seed)
    duration, failed, entry = some_lives(rng, tied=True, late=True)
    curve = kaplan_meier(duration, failed, entry=entry)
    ages = np.linspace(0, duration.max() * 1.1, 23)
    left = expected_lives_left(curve, ages)
    for age, expected, at_least in zip(ages, *left, strict=True):
        reached = float(np.nan_to_num(curve.survival_at(age)))
        grid = sorted({age, *curve.time[curve.time > age]})
        area = sum((b - a) * float(curve.survival_at(a)) for a, b in itertools.pairwise(grid))
        assert expected == pytest.approx(area / reached if reached else 0.0)
        assert at_least == (reached == 0 or curve.survival[-1] > 0)


def test_chance_of_an_end_within_a_horizon() -> None:
    law = weibull_fit(*treated())
    ages, week = np.array([0.0, 10.0, 50.0]), 7.0
    slow = [1 - float(law.survival_at(a + week) / law.survival_at(a)) for a in ages]
    assert chances_of_end(law, ages, week) == pytest.approx(slow)
    curve = kaplan_meier([2, 4, 6, 8], [1, 1, 1, 0])
    assert chances_of_end(curve, [0, 3, 5], 3).tolist() == [0.25, pytest.approx(2 / 3), 0.5]
    # Past the last sight of a life that goes on nothing is known.
    assert np.isnan(chances_of_end(curve, [6, 9], 3)).all()


@pytest.mark.parametrize("module", [life, life_curve, life_groups, life_weibull])
def test_examples_in_the_docstrings(module: object) -> None:
    assert doctest.testmod(module).failed == 0
    assert doctest.testmod(module).attempted > 0
