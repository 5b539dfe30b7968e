"""The mixed model against published fits, a slow twin, and changes of scale and order."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain import mixed
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.mixed import MixedFit, fit_reml

from .published import agrees, cases, columns, numbers


def line(x: list[float]) -> np.ndarray:
    return np.column_stack([np.ones(len(x)), x])


def sleepstudy() -> MixedFit:
    file = "sleepstudy.csv"
    return fit_reml(
        columns(file)["Subject"], line(numbers(file, "Days")), numbers(file, "Reaction"), n_random=2
    )


def orthodont() -> MixedFit:
    file = "orthodont.csv"
    return fit_reml(
        columns(file)["Subject"], line(numbers(file, "age")), numbers(file, "distance"), n_random=2
    )


def rail() -> MixedFit:
    travel = numbers("rail.csv", "travel")
    return fit_reml(columns("rail.csv")["Rail"], np.ones((len(travel), 1)), travel, n_random=1)


def dyestuff() -> MixedFit:
    yields = numbers("dyestuff.csv", "Yield")
    return fit_reml(columns("dyestuff.csv")["Batch"], np.ones((len(yields), 1)), yields, n_random=1)


PUBLISHED = {"A3-O1": sleepstudy, "A3-O2": rail, "A3-O3": dyestuff, "A3-O4": orthodont}


def quantity_of(fit: MixedFit, name: str) -> float:
    if name.startswith("BLUP"):
        _, *middle, last = name.split()
        which = 1 if last == "slope" else 0
        label = middle[-1] if last in ("intercept", "slope") else last
        return float(fit.blups[list(fit.units).index(label), which])
    if name.startswith("conditional sd"):
        each = np.sqrt(np.diagonal(fit.blup_cov, axis1=1, axis2=2))
        which = 1 if "slope" in name else 0
        assert np.ptp(each[:, which]) < 1e-9, "the same for any subject"
        return float(each[0, which])
    return float(
        {
            "mean": lambda: fit.beta[0],
            "se(mean)": lambda: fit.beta_se[0],
            "fixed intercept": lambda: fit.beta[0],
            "se(intercept)": lambda: fit.beta_se[0],
            "fixed slope": lambda: fit.beta[1],
            "se(slope)": lambda: fit.beta_se[1],
            "sd(intercept)": lambda: fit.random_sd[0],
            "sd(slope)": lambda: fit.random_sd[1],
            "corr": lambda: fit.random_cov[0, 1] / fit.random_sd.prod(),
            "residual sd": lambda: fit.residual_sd,
            "-2 log restricted likelihood": lambda: -2 * fit.reml_loglik,
            "log restricted likelihood": lambda: fit.reml_loglik,
        }[name]()
    )


@pytest.mark.parametrize(
    ("check", "quantity"), [case for check in PUBLISHED for case in cases(check)]
)
def test_published_fits(check: str, quantity: str) -> None:
    """Every published number of the four studies comes out at its tolerance."""
    agrees(check, quantity, quantity_of(PUBLISHED[check](), quantity))


def twin_loglik(
    unit: np.ndarray, x: np.ndarray, y: np.ndarray, g: np.ndarray, sigma: float
) -> float:
    """The restricted likelihood as it is written in textbooks, with the whole covariance matrix."""
    q, (n, p) = len(g), x.shape
    v = sigma**2 * np.eye(n)
    for label in np.unique(unit):
        rows = np.flatnonzero(unit == label)
        v[np.ix_(rows, rows)] += x[rows, :q] @ g @ x[rows, :q].T
    inverse = np.linalg.inv(v)
    information = x.T @ inverse @ x
    beta = np.linalg.solve(information, x.T @ inverse @ y)
    left = y - x @ beta
    return -0.5 * float(
        np.linalg.slogdet(v)[1]
        + np.linalg.slogdet(information)[1]
        + left @ inverse @ left
        + (n - p) * math.log(2 * math.pi)
    )


def fleet(
    seed: int, *, level: float = 1.0, slope: float = 0.4, scatter: float = 0.5, units: int = 20
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Unequal numbers of readings, a third column of X that is fixed."""
    rng = np.random.default_rng(seed)
    unit = np.repeat(np.arange(units), rng.integers(1, 9, units))
    x = np.log10(1 + rng.uniform(0, 100, len(unit)))
    cycles = rng.integers(0, 10, len(unit)).astype(float)
    y = 25 - 1.2 * x - 0.05 * cycles + rng.normal(0, scatter, len(unit))
    y += rng.normal(0, level, units)[unit] + rng.normal(0, slope, units)[unit] * x
    return unit, np.column_stack([np.ones(len(x)), x, cycles]), y


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("q", [1, 2, 3])
def test_the_likelihood_equals_the_slow_twin_and_no_neighbour_is_better(seed: int, q: int) -> None:
    unit, x, y = fleet(seed)
    fit = fit_reml(unit, x, y, n_random=q)
    best = twin_loglik(unit, x, y, fit.random_cov, fit.residual_sd)
    assert fit.reml_loglik == pytest.approx(best, abs=1e-7)
    rng = np.random.default_rng(seed)
    for size in (0.3, 0.01):
        for _ in range(40):
            root = np.linalg.cholesky(fit.random_cov + 1e-12 * np.eye(q))
            moved = root @ (np.eye(q) + size * rng.normal(size=(q, q)))
            extra = size * rng.normal(size=(q, 1)) * 0.1
            g = moved @ moved.T + extra @ extra.T
            sigma = fit.residual_sd * math.exp(size * rng.normal())
            assert twin_loglik(unit, x, y, g, sigma) <= best + 1e-7


def test_off_the_boundary_the_likelihood_falls_on_all_sides() -> None:
    """Small fleets, many of them on the boundary: no added variance of any direction is better."""
    singular = 0
    for seed in range(40):
        unit, x, y = fleet(seed, slope=0.1, units=6)
        fit = fit_reml(unit, x, y, n_random=2)
        singular += fit.is_singular
        rng = np.random.default_rng(seed)
        for size in (1.0, 0.1, 0.01):
            for _ in range(10):
                off = size * fit.residual_sd * rng.normal(size=(2, 1))
                g = fit.random_cov + off @ off.T
                assert twin_loglik(unit, x, y, g, fit.residual_sd) <= fit.reml_loglik + 1e-7
    assert singular >= 15


def test_beta_its_errors_and_the_deviations_equal_generalised_least_squares() -> None:
    unit, x, y = fleet(3)
    fit = fit_reml(unit, x, y, n_random=2)
    z = np.zeros((len(y), 2 * len(fit.units)))
    for row, label in enumerate(unit):
        at = 2 * list(fit.units).index(label)
        z[row, at : at + 2] = x[row, :2]
    every = np.kron(np.eye(len(fit.units)), fit.random_cov)
    inverse = np.linalg.inv(z @ every @ z.T + fit.residual_sd**2 * np.eye(len(y)))
    cov = np.linalg.inv(x.T @ inverse @ x)
    beta = cov @ x.T @ inverse @ y
    assert fit.beta == pytest.approx(beta, rel=1e-8)
    assert fit.beta_se == pytest.approx(np.sqrt(np.diag(cov)), rel=1e-8)
    blups = (every @ z.T @ inverse @ (y - x @ beta)).reshape(-1, 2)
    assert fit.blups == pytest.approx(blups, abs=1e-8)
    known = every - every @ z.T @ inverse @ z @ every
    for i in range(len(fit.units)):
        block = known[2 * i : 2 * i + 2, 2 * i : 2 * i + 2]
        assert fit.blup_cov[i] == pytest.approx(block, abs=1e-8)


exponents = st.floats(-9, 9).map(lambda e: 10.0**e)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 50), of_x=exponents, of_y=exponents, day_zero=st.floats(-1e4, 1e4))
def test_any_scaling_of_the_data_gives_the_same_fit(
    seed: int, of_x: float, of_y: float, day_zero: float
) -> None:
    """Units of x and y, and the zero of x, change the numbers as they must and nothing else."""
    unit, x, y = fleet(seed)
    plain = fit_reml(unit, x, y, n_random=2)
    moved = x.copy()
    moved[:, 1] = (x[:, 1] + day_zero) * of_x
    scaled = fit_reml(unit, moved, y * of_y, n_random=2)
    assert scaled.residual_sd / of_y == pytest.approx(plain.residual_sd, rel=1e-5)
    assert scaled.beta[1] * of_x / of_y == pytest.approx(plain.beta[1], rel=1e-5, abs=1e-7)
    assert scaled.random_sd[1] * of_x / of_y == pytest.approx(
        plain.random_sd[1], rel=1e-3, abs=1e-3
    )
    back = np.array([[1, day_zero * of_x], [0, of_x]])
    predicted = scaled.blups @ back.T / of_y
    assert predicted == pytest.approx(plain.blups, abs=2e-3)
    determinant = math.log(of_x) + (plain.n - 3) * math.log(of_y)
    assert scaled.reml_loglik + determinant == pytest.approx(plain.reml_loglik, abs=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_the_readings_and_the_names_of_the_units_do_not_matter(seed: int) -> None:
    unit, x, y = fleet(seed)
    order = np.random.default_rng(seed).permutation(len(y))
    names = np.array([f"F-{u:04d}" for u in unit])
    plain = fit_reml(unit, x, y, n_random=2)
    mixed_up = fit_reml(names[order], x[order], y[order], n_random=2)
    assert mixed_up.blups == pytest.approx(plain.blups, abs=1e-6)
    assert mixed_up.reml_loglik == pytest.approx(plain.reml_loglik, abs=1e-8)


@pytest.mark.parametrize("ratio", [1, 1e3, 1e6])
def test_scatter_is_found_however_far_the_units_are_apart(ratio: float) -> None:
    unit, x, y = fleet(1, level=ratio, slope=ratio / 3, scatter=1.0, units=200)
    fit = fit_reml(unit, x, y, n_random=2)
    assert fit.residual_sd == pytest.approx(1.0, rel=0.1)
    assert fit.random_sd[0] == pytest.approx(ratio, rel=0.2)


def balanced(means: list[float], scatter: float) -> tuple[list[int], np.ndarray, np.ndarray]:
    unit = [i for i in range(len(means)) for _ in range(4)]
    y = np.array([m + scatter * d for m in means for d in (-1.5, -0.5, 0.5, 1.5)])
    return unit, np.ones((len(y), 1)), y


def test_units_that_differ_less_than_chance_get_no_variance() -> None:
    """The analysis of variance would give a negative component; the fit gives the boundary."""
    fit = fit_reml(*balanced([20.0, 20.1, 19.9], 1.0), n_random=1)
    assert fit.is_singular
    assert fit.random_cov.tolist() == [[0.0]]
    assert not fit.blups.any()
    assert fit.residual_sd == pytest.approx(fit.beta_se[0] * math.sqrt(12))


def test_a_balanced_study_gives_the_components_of_the_analysis_of_variance() -> None:
    means, scatter = [18.0, 20.0, 23.0, 21.0], 1.0
    fit = fit_reml(*balanced(means, scatter), n_random=1)
    within = np.var([-1.5, -0.5, 0.5, 1.5], ddof=1)
    assert fit.residual_sd**2 == pytest.approx(within)
    assert fit.random_cov[0, 0] == pytest.approx(np.var(means, ddof=1) - within / 4)
    assert not fit.is_singular


def test_slopes_without_a_variance_of_their_own_are_on_the_boundary() -> None:
    """Levels differ, slopes are all equal: the levels keep their variance, the slopes have none."""
    x = np.array([-1.5, -0.5, 0.5, 1.5])
    scatter = np.array([1.0, -1.0, -1.0, 1.0])  # at right angles to level and slope
    levels = [18.0, 20.0, 23.0, 21.0]
    y = np.concatenate([level - 2 * x + scatter for level in levels])
    fit = fit_reml(np.repeat(range(4), 4), line([*x] * 4), y, n_random=2)
    assert fit.is_singular
    assert np.linalg.eigvalsh(fit.random_cov)[0] == pytest.approx(0, abs=1e-12)
    assert fit.random_cov[1, 1] == pytest.approx(0, abs=1e-9)
    sigma2 = 16 / (4 * 4 - 4 - 1)  # one mean for each unit and one slope
    assert fit.residual_sd**2 == pytest.approx(sigma2)
    assert fit.random_cov[0, 0] == pytest.approx(np.var(levels, ddof=1) - sigma2 / 4)


one, two, x6 = [1] * 6, [1, 1, 1, 2, 2, 2], np.ones((6, 1))
Y = [20.0, 21, 22, 23, 24, 26]


@pytest.mark.parametrize(
    ("unit", "x", "y", "q", "argument"),
    [
        (two, x6, [*Y[:5], math.nan], 1, "y"),
        (two, x6, [*Y[:5], math.inf], 1, "y"),
        (two, np.full((6, 1), math.nan), Y, 1, "X"),
        (two, np.ones(6), Y, 1, "X"),
        (two, np.ones((6, 2)), Y, 1, "X"),
        (two, np.zeros((6, 1)), Y, 1, "X"),
        (two, x6, Y[:5], 1, "y"),
        (two[:5], x6, Y, 1, "unit"),
        ([*two[:5], math.nan], x6, Y, 1, "unit"),
        (two, x6, Y, 0, "n_random"),
        (two, x6, Y, 2, "n_random"),
        (two, x6, ["a"] * 6, 1, "X"),
    ],
)
def test_what_cannot_be_is_refused_by_name(unit, x, y, q: int, argument: str) -> None:
    with pytest.raises(NotValid) as refused:
        fit_reml(unit, x, y, n_random=q)
    assert refused.value.argument == argument


@pytest.mark.parametrize(
    ("unit", "y"),
    [
        (one, Y),
        (range(6), Y),
        (two, [20.0] * 6),
        (two, [20.0, 20, 20, 25, 25, 25]),
    ],
    ids=["one unit", "one reading each", "all equal", "no scatter in a unit"],
)
def test_too_little_to_estimate_from_is_said(unit, y) -> None:
    with pytest.raises(NotEnoughData):
        fit_reml(unit, x6, y, n_random=1)


def test_the_example_in_the_docstring_holds() -> None:
    tried = doctest.testmod(mixed)
    assert (tried.failed, tried.attempted > 0) == (0, True)
