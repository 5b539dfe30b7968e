"""Control charts against published charts, tables and run lengths, and against slow twins."""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain import charts
from framekeeper.domain.charts import ControlChart, cusum, ewma, individuals, range_moments, xbar_r
from framekeeper.domain.errors import NotEnoughData, NotValid

from .published import agrees, cases, checks, columns, numbers

S_CHART = "charts of subgroup standard deviations are not offered: subgroups of a shop are small"

# Published quantities that nothing of the program shows to its users, each with why.
NOT_COMPUTED = {
    "A6-O1": {},
    "A6-O2": {},
    "A6-O3": {},
    "A6-O4": {"s-bar": S_CHART, "sigma from s": S_CHART, "S upper": S_CHART},
    "A6-O5": {},
}
NOT_COMPUTED_CONSTANTS = {"c4": S_CHART, "A3": S_CHART, "B3": S_CHART, "B4": S_CHART}


def published(check: str) -> list:
    return cases(check, without=NOT_COMPUTED[check])


def test_every_published_check_of_this_area_is_driven_or_explained() -> None:
    assert {c for c in checks() if c.startswith("A6-")} == set(NOT_COMPUTED)


def table() -> list[dict[str, float]]:
    read = columns("control_chart_constants.csv")
    return [{k: float(v[i]) for k, v in read.items()} for i in range(len(read["n"]))]


@pytest.mark.parametrize("row", table(), ids=lambda row: f"n={row['n']:.0f}")
def test_published_constants(row: dict[str, float]) -> None:
    """The printed table for subgroups of 2 to 10, within the stated largest deviation."""
    largest = checks()["A6-O1"]["expected"]["largest deviation allowed from the printed table"]
    n = int(row["n"])
    d2, d3 = range_moments(n)
    ours = {
        "d2": d2,
        "d3": d3,
        "A2": 3 / (d2 * math.sqrt(n)),
        "D3": max(0.0, 1 - 3 * d3 / d2),
        "D4": 1 + 3 * d3 / d2,
        "E2": 3 / d2,
    }
    assert set(row) == {"n", *ours, *NOT_COMPUTED_CONSTANTS}
    for name, value in ours.items():
        assert value == pytest.approx(row[name], abs=largest["value"]), name


def test_the_chart_uses_the_constants_that_were_held_against_the_table() -> None:
    rng = np.random.default_rng(5)
    for n in (2, 5, 10):
        chart = xbar_r(rng.normal(22, 0.5, (20, n)))
        d2, d3 = range_moments(n)
        assert chart.upper - chart.centre == pytest.approx(
            3 / (d2 * math.sqrt(n)) * chart.mean_range
        )
        assert chart.range_upper == pytest.approx((1 + 3 * d3 / d2) * chart.mean_range)


@pytest.mark.parametrize(("check", "quantity"), published("A6-O2"))
def test_published_individuals_chart(check: str, quantity: str) -> None:
    chart = individuals(numbers("nist_individuals.csv", "flow"))
    agrees(
        check,
        quantity,
        {
            "mean": chart.centre,
            "mean moving range": chart.mean_range,
            "upper limit": chart.upper,
            "lower limit": chart.lower,
            "moving-range upper limit": chart.range_upper,
            "points outside": len(chart.outside) + len(chart.range_outside),
        }[quantity],
    )


@pytest.mark.parametrize(("check", "quantity"), published("A6-O3"))
def test_published_ewma_chart(check: str, quantity: str) -> None:
    chart = ewma(numbers("nist_ewma.csv", "value"), target=50, sd=2.0539, weight=0.3, width=3)
    low, high = chart.steady_limits
    if quantity.startswith("EWMA "):
        got = chart.value[int(quantity.split()[1]) - 1]
    else:
        beyond = [z for z in chart.value if not low <= z <= high]
        got = {"upper limit": high, "lower limit": low, "points outside": len(beyond)}[quantity]
    agrees(check, quantity, got)


def test_all_twenty_published_averages() -> None:
    """Printed to two decimals; the check states 0.006."""
    chart = ewma(numbers("nist_ewma.csv", "value"), target=50, sd=2.0539, weight=0.3, width=3)
    printed = numbers("nist_ewma.csv", "published_ewma")
    assert chart.value == pytest.approx(printed, abs=0.006)
    assert chart.outside == ()


def rings() -> np.ndarray:
    return np.array(numbers("piston_rings.csv", "diameter")).reshape(-1, 5)


@pytest.mark.parametrize(
    ("check", "quantity"), [c for c in published("A6-O4") if "subgroups" not in c.id]
)
def test_published_chart_of_subgroups(check: str, quantity: str) -> None:
    chart = xbar_r(rings(), baseline=25)
    agrees(
        check,
        quantity,
        {
            "grand mean": chart.centre,
            "R-bar": chart.mean_range,
            "sigma from R": chart.sd,
            "X-bar lower": chart.lower,
            "X-bar upper": chart.upper,
            "R upper": chart.range_upper,
        }[quantity],
    )


def test_published_signals_of_subgroups() -> None:
    """Published numbers count from 1; the first 25 subgroups have none."""
    expected = checks()["A6-O4"]["expected"]
    chart = xbar_r(rings(), baseline=25)
    above = [i + 1 for i in chart.outside if i >= 25]
    assert above == expected["phase 2 subgroups above the upper limit"]["value"]
    assert [i for i in chart.outside if i < 25] == expected["phase 1 subgroups outside"]["value"]


# --- average run lengths -------------------------------------------------------------------------


def run_lengths(kind: str, first: float, second: float, shift: float, runs: int) -> list[int]:
    """Simulate charts of a process that is shifted from the start, until their first signal."""
    rng = np.random.default_rng(20240601)
    lengths = []
    for _ in range(runs):
        seen = 0
        values = np.empty(0)
        block = 60 if shift >= 0.5 else 2000
        while not seen:
            values = np.concatenate([values, rng.normal(shift, 1, block)])
            if kind == "cusum":
                found = cusum(values, target=0, sd=1, k=first, h=second).signals
            elif kind == "ewma":  # published for limits that do not widen
                chart = ewma(values, target=0, sd=1, weight=first, width=second)
                found = tuple(np.flatnonzero(np.abs(chart.value) > chart.steady_limits[1]))
            else:
                found = individuals_at(values)
            seen = int(found[0]) + 1 if found else 0
        lengths.append(seen)
    return lengths


def individuals_at(values: np.ndarray) -> tuple[int, ...]:
    """Signals of 3-sigma limits with known mean and sd: an average of weight 1."""
    return ewma(values, target=0, sd=1, weight=1, width=3).outside


NAMED = {
    "CUSUM h=5, in control": ("cusum", 0.5, 5.0, 0.0, 600),
    "CUSUM h=5, 1 sigma": ("cusum", 0.5, 5.0, 1.0, 4000),
    "CUSUM h=4, in control": ("cusum", 0.5, 4.0, 0.0, 800),
    "CUSUM h=4, 1 sigma": ("cusum", 0.5, 4.0, 1.0, 4000),
    "EWMA .1/2.814, in control": ("ewma", 0.1, 2.814, 0.0, 400),
    "EWMA .1/2.814, 1 sigma": ("ewma", 0.1, 2.814, 1.0, 4000),
    "3-sigma limits, in control": ("shewhart", 0.0, 3.0, 0.0, 600),
}


@pytest.mark.parametrize(("check", "quantity"), published("A6-O5"))
def test_published_run_lengths(check: str, quantity: str) -> None:
    """Within the stated tolerance and four standard errors of the simulation's own chance."""
    kind, first, second, shift, runs = NAMED[quantity]
    entry = checks()[check]["expected"][quantity]
    lengths = run_lengths(kind, first, second, shift, runs)
    error = float(np.std(lengths)) / math.sqrt(runs)
    assert abs(float(np.mean(lengths)) - entry["value"]) <= entry["tol"] + 4 * error
    assert error < 0.06 * entry["value"], "sharp enough to fail for a wrong chart"


# --- slow twins ----------------------------------------------------------------------------------


def some(seed: int, n: int = 30) -> list[float]:
    return [float(v) for v in np.random.default_rng(seed).normal(22, 0.5, n)]


@pytest.mark.parametrize("seed", range(5))
def test_cumulative_sums_equal_those_of_a_loop(seed: int) -> None:
    values = some(seed)
    up, down, ups, downs = 0.0, 0.0, [], []
    for x in values:
        up = max(0.0, up + (x - 21.8) / 0.5 - 0.4)
        down = max(0.0, down - (x - 21.8) / 0.5 - 0.4)
        ups.append(up)
        downs.append(down)
    chart = cusum(values, target=21.8, sd=0.5, k=0.4, h=3)
    assert chart.upper == pytest.approx(ups)
    assert chart.lower == pytest.approx(downs)
    expected = tuple(i for i, (u, d) in enumerate(zip(ups, downs, strict=True)) if u > 3 or d > 3)
    assert chart.signals == expected


@pytest.mark.parametrize("seed", range(5))
def test_widening_limits_equal_the_variance_of_the_weights(seed: int) -> None:
    """The average is a weighted sum of independent values; its variance is summed term by term."""
    values, weight = some(seed), 0.2
    chart = ewma(values, target=22, sd=0.5, weight=weight, width=2.7)
    for i in range(len(values)):
        weights = [weight * (1 - weight) ** (i - j) for j in range(i + 1)]
        average = 22 * (1 - weight) ** (i + 1) + sum(
            w * x for w, x in zip(weights, values, strict=False)
        )
        reach = 2.7 * 0.5 * math.sqrt(sum(w**2 for w in weights))
        assert chart.value[i] == pytest.approx(average)
        assert (chart.lower[i], chart.upper[i]) == pytest.approx((22 - reach, 22 + reach))
        assert (i in chart.outside) == (abs(average - 22) > reach)


@pytest.mark.parametrize("k", [2, 3, 5, 8, 25])
def test_moments_of_the_range_equal_simulated_ones(k: int) -> None:
    ranges = np.ptp(np.random.default_rng(k).normal(size=(200_000, k)), axis=1)
    d2, d3 = range_moments(k)
    assert d2 == pytest.approx(ranges.mean(), abs=5 * d3 / math.sqrt(200_000))
    assert d3 == pytest.approx(ranges.std(), rel=0.01)


def test_exact_moments_for_two_and_three() -> None:
    """Closed forms: 2 / sqrt(pi) and 3 / sqrt(pi); for two the square has mean 2."""
    assert range_moments(2) == pytest.approx(
        (2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi)), abs=1e-9
    )
    assert range_moments(3)[0] == pytest.approx(3 / math.sqrt(math.pi), abs=1e-9)


@given(
    seed=st.integers(0, 99),
    scale=st.floats(0.01, 100).flatmap(lambda s: st.sampled_from([s, -s])),
    shift=st.floats(-50, 50),
)
def test_charts_follow_the_unit_and_the_zero(seed: int, scale: float, shift: float) -> None:
    values = some(seed)
    moved = [v * scale + shift for v in values]
    plain, changed = individuals(values), individuals(moved)
    edges = sorted([plain.lower * scale + shift, plain.upper * scale + shift])
    assert [changed.lower, changed.upper] == pytest.approx(edges, rel=1e-6, abs=1e-6)
    groups = np.array(values).reshape(-1, 5)
    plain, changed = xbar_r(groups), xbar_r(groups * scale + shift)
    assert changed.mean_range == pytest.approx(plain.mean_range * abs(scale), rel=1e-6)
    settings = {"k": 0.5, "h": 4}
    sums = cusum(values, target=22, sd=0.5, **settings)
    again = cusum(moved, target=22 * scale + shift, sd=0.5 * abs(scale), **settings)
    pair = (again.upper, again.lower) if scale > 0 else (again.lower, again.upper)
    assert pair[0] == pytest.approx(sums.upper, abs=1e-6)
    assert pair[1] == pytest.approx(sums.lower, abs=1e-6)


@given(seed=st.integers(0, 99))
def test_the_order_within_a_subgroup_and_of_subgroups_sets_no_limit(seed: int) -> None:
    rng = np.random.default_rng(seed)
    groups = np.array(some(seed)).reshape(-1, 5)
    mixed = rng.permuted(groups, axis=1)[rng.permutation(len(groups))]
    plain, moved = xbar_r(groups), xbar_r(mixed)
    assert (moved.lower, moved.upper) == pytest.approx((plain.lower, plain.upper))


def limits(chart: ControlChart) -> tuple[float, ...]:
    return chart.centre, chart.lower, chart.upper, chart.range_upper


def test_a_drift_after_the_baseline_does_not_move_the_limits_and_is_seen() -> None:
    steady = some(1, 20)
    drifted = [*steady, 25.0, 25.2]
    chart = individuals(drifted, baseline=20)
    assert limits(chart) == limits(individuals(steady))
    assert chart.outside == (20, 21)
    assert 20 in chart.range_outside
    assert 21 not in chart.range_outside


def test_a_value_on_its_limit_is_not_outside() -> None:
    settings = {"target": 0, "sd": 1, "weight": 1, "width": 3}
    assert ewma([3.0, -3.0], **settings).outside == ()
    assert ewma([3.01, -3.01], **settings).outside == (0, 1)
    assert cusum([4.5], target=0, sd=1, k=0.5, h=4).signals == ()


def test_a_slow_drift_of_a_zero_is_seen_before_any_single_value_stands_out() -> None:
    """A zero check that creeps by a tenth of its scatter: the sums see it first in most runs."""
    first = 0
    for seed in range(100):
        values = 0.01 * np.arange(60) + np.random.default_rng(seed).normal(0, 0.1, 60)
        by_sum = cusum(values, target=0, sd=0.1, k=0.5, h=5).signals
        single = ewma(values, target=0, sd=0.1, weight=1, width=3).outside
        first += by_sum[0] < single[0]
    assert first > 50


OK = [20.0, 20.2, 20.1, 20.3]


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: individuals([20, 21, math.nan]), "values"),
        (lambda: individuals([[20, 21, 22]]), "values"),
        (lambda: individuals(["a", "b", "c"]), "values"),
        (lambda: individuals(OK, baseline=2), "baseline"),
        (lambda: individuals(OK, baseline=5), "baseline"),
        (lambda: xbar_r([[1, 2], [1]]), "subgroups"),
        (lambda: xbar_r([1, 2, 3]), "subgroups"),
        (lambda: xbar_r([[1, 2], [1, math.nan]]), "subgroups"),
        (lambda: xbar_r(np.random.default_rng(1).normal(size=(3, 26))), "subgroups"),
        (lambda: ewma(OK, target=math.nan, sd=1, weight=0.2, width=3), "target"),
        (lambda: ewma(OK, target=20, sd=0, weight=0.2, width=3), "sd"),
        (lambda: ewma(OK, target=20, sd=1, weight=0, width=3), "weight"),
        (lambda: ewma(OK, target=20, sd=1, weight=1.1, width=3), "weight"),
        (lambda: ewma(OK, target=20, sd=1, weight=0.2, width=-3), "width"),
        (lambda: cusum([math.inf], target=20, sd=1, k=0.5, h=4), "values"),
        (lambda: cusum(OK, target=20, sd=-1, k=0.5, h=4), "sd"),
        (lambda: cusum(OK, target=20, sd=1, k=-0.5, h=4), "k"),
        (lambda: cusum(OK, target=20, sd=1, k=0.5, h=0), "h"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, argument: str) -> None:
    with pytest.raises(NotValid) as refused:
        call()
    assert refused.value.argument == argument


@pytest.mark.parametrize(
    "call",
    [
        lambda: individuals([20.0]),
        lambda: individuals([20.1] * 10),
        lambda: xbar_r([[20.1, 20.1], [22.3, 22.3]]),
        lambda: xbar_r([[20.0], [21.0]]),
        lambda: xbar_r([[20.0, 21.0]]),
        lambda: ewma([], target=20, sd=1, weight=0.2, width=3),
        lambda: cusum([], target=20, sd=1, k=0.5, h=4),
    ],
    ids=["one reading", "all equal", "no ranges", "of one", "one subgroup", "nothing", "nothing"],
)
def test_too_little_for_an_honest_answer_is_said(call) -> None:
    with pytest.raises(NotEnoughData):
        call()


def test_the_examples_in_the_docstrings_hold() -> None:
    tried = doctest.testmod(charts)
    assert (tried.failed, tried.attempted > 0) == (0, True)
