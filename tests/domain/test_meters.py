"""Gauge studies, meters compared, linearity and conformity against published numbers and twins."""

from __future__ import annotations

import doctest
import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain import conformity as conformity_module
from framekeeper.domain import gauge, meters
from framekeeper.domain.conformity import conformance_probability, guard_band
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.meters import (
    GaugeStudy,
    Linearity,
    agreement,
    conformity,
    gauge_study,
    linearity,
)

from .published import agrees, cases, checks, columns, numbers

RANGE_METHOD = "the average-and-range method is not offered: the analysis of variance is"
PAIRS = "repeatability of one meter comes from a gauge study, not from pairs"
TABLE = "the quantile of a table, used inside"

# Published quantities that nothing of the program shows to its users, each with why.
NOT_COMPUTED = {
    "A5-O1": {
        name: RANGE_METHOD for name in checks()["A5-O1"]["expected"] if name.startswith("range")
    },
    "A5-O2": {
        "repeatability coefficient, large meter": PAIRS,
        "repeatability coefficient, mini meter": PAIRS,
    },
    "A5-O3": {"t critical (58, .975)": TABLE},
    "A5-O4": {},
    "A5-O5": {
        name: "a budget of several sources with degrees of freedom is the calibrator's work; the "
        "program takes the certificate's uncertainty as it is"
        for name in checks()["A5-O5"]["expected"]
    },
}


def published(check: str) -> list:
    return cases(check, without=NOT_COMPUTED[check])


def test_every_published_check_of_this_area_is_driven_or_explained() -> None:
    assert {c for c in checks() if c.startswith("A5-")} == set(NOT_COMPUTED)
    assert not published("A5-O5")


def ten_parts() -> GaugeStudy:
    file = "gauge_10x3x3.csv"
    return gauge_study(columns(file)["part"], columns(file)["operator"], numbers(file, "value"))


def of_study(study: GaugeStudy, name: str) -> float:
    squares = study.sums_of_squares
    sds = {
        "EV": study.repeatability_sd,
        "AV": study.reproducibility_sd,
        "GRR": study.gauge_sd,
        "PV": study.part_sd,
        "part": study.part_sd,
        "TV": study.total_sd,
    }
    if name.startswith("SS "):
        return squares[name[3:]]
    if name.endswith(" sigma"):
        return sds[name.split()[1]]
    if name == "% study variation GRR":
        return study.percent_of_variation
    if name.startswith("% study variation"):
        return study.percent(sds[name.split()[-1]])
    if name.startswith("% contribution"):
        return 100 * (sds[name.split()[-1]] / study.total_sd) ** 2
    return {
        "F interaction": study.interaction_f,
        "p interaction": study.interaction_p,
        "ndc before truncation (1.41 PV/GRR)": study.distinct_groups,
        "ndc truncated": math.floor(study.distinct_groups),
    }[name]


@pytest.mark.parametrize(("check", "quantity"), published("A5-O1"))
def test_published_gauge_study(check: str, quantity: str) -> None:
    """Ten parts, three people, three readings each; the interaction is pooled."""
    study = ten_parts()
    assert study.pooled
    assert (study.parts, study.operators, study.repeats) == (10, 3, 3)
    agrees(check, quantity, of_study(study, quantity))


@pytest.mark.parametrize(("check", "quantity"), published("A5-O2"))
def test_published_comparison_of_two_meters(check: str, quantity: str) -> None:
    """The paper of 1986 draws its limits at 2 standard deviations."""
    file = "pefr_two_meters.csv"
    got = agreement(numbers(file, "large_1"), numbers(file, "mini_1"), factor=2)
    agrees(
        check,
        quantity,
        {
            "bias": got.bias,
            "sd of differences": got.sd,
            "lower limit (d - 2s)": got.lower,
            "upper limit (d + 2s)": got.upper,
            "se(bias)": got.bias_se,
            "bias CI lower": got.bias_lower,
            "bias CI upper": got.bias_upper,
            "se(limit)": got.limit_se,
        }[quantity],
    )


def test_by_default_the_limits_hold_95_percent() -> None:
    file = "pefr_two_meters.csv"
    got = agreement(numbers(file, "large_1"), numbers(file, "mini_1"))
    assert (got.upper - got.bias) / got.sd == pytest.approx(1.96, abs=0.0001)
    assert got.upper - got.bias == pytest.approx(got.bias - got.lower)
    assert not got.differs


def five_references() -> Linearity:
    file = "gauge_linearity.csv"
    return linearity(numbers(file, "reference"), numbers(file, "measurement"))


@pytest.mark.parametrize(
    ("check", "quantity"),
    [c for c in published("A5-O3") if "verdict" not in c.id],
)
def test_published_linearity(check: str, quantity: str) -> None:
    line = five_references()
    if quantity.startswith("mean bias at"):
        got = line.bias_by_reference[float(quantity.split()[-1])]
    else:
        got = {
            "slope": line.slope,
            "intercept": line.intercept,
            "R2 %": 100 * line.r_squared,
            "residual s": line.residual_sd,
            "t slope": line.slope_t,
            "t intercept": line.intercept_t,
            "overall mean bias": line.mean_bias,
        }[quantity]
    agrees(check, quantity, got)


def test_published_linearity_is_not_acceptable() -> None:
    """Published: no, slope and intercept both differ from zero."""
    line = five_references()
    verdict = checks()["A5-O3"]["expected"]["verdict: linearity acceptable?"]["value"]
    assert verdict.startswith("no") is not line.is_acceptable
    assert line.slope_p < 0.001
    assert line.intercept_p < 0.001


@pytest.mark.parametrize(("check", "quantity"), published("A5-O4"))
def test_published_guard_bands(check: str, quantity: str) -> None:
    if quantity.startswith("(limit - value)/u"):
        got = guard_band(1.0, 1 - float(quantity.split()[-1]))
    elif quantity.endswith("value at the limit"):
        got = 1 - conformance_probability(20.0, 0.4, 20.0, None)
    elif "guard band" in quantity:
        factor = float(quantity.split("guard band ")[1].split(" U")[0])
        got = 1 - conformance_probability(20 + factor * 2 * 0.4, 0.4, 20, None)
    elif "acceptance limit" in quantity:
        got = 20 + guard_band(0.4, 0.05)
    else:
        got = conformance_probability(20.5, 0.4, 20, None)
    agrees(check, quantity, got)


# --- slow twins ---------------------------------------------------------------------------------


def twin_components(cells: dict[tuple[str, str], list[float]]) -> dict[str, float]:
    """The two-way analysis by loops, as on paper; interaction kept or pooled by hand."""
    parts = sorted({p for p, _ in cells})
    people = sorted({o for _, o in cells})
    r = len(next(iter(cells.values())))
    everything = [v for values in cells.values() for v in values]
    grand = sum(everything) / len(everything)
    mean_p = {p: sum(sum(cells[p, o]) for o in people) / (r * len(people)) for p in parts}
    mean_o = {o: sum(sum(cells[p, o]) for p in parts) / (r * len(parts)) for o in people}
    ss_p = r * len(people) * sum((mean_p[p] - grand) ** 2 for p in parts)
    ss_o = r * len(parts) * sum((mean_o[o] - grand) ** 2 for o in people)
    ss_e = sum((v - sum(c) / r) ** 2 for c in cells.values() for v in c)
    ss_i = r * sum(
        (sum(cells[p, o]) / r - mean_p[p] - mean_o[o] + grand) ** 2 for p in parts for o in people
    )
    df_i, df_e = (len(parts) - 1) * (len(people) - 1), len(parts) * len(people) * (r - 1)
    return {
        "p": ss_p / (len(parts) - 1),
        "o": ss_o / (len(people) - 1),
        "i": ss_i / df_i,
        "e": ss_e / df_e,
        "pooled": (ss_i + ss_e) / (df_i + df_e),
    }


def study_of(seed: int, *, crossed: float) -> tuple[list[str], list[str], list[float]]:
    rng = np.random.default_rng(seed)
    part, person, reading = [], [], []
    level = rng.normal(22, 3, 5)
    lean = rng.normal(0, 0.4, 3)
    both = rng.normal(0, crossed, (5, 3))
    for i in range(5):
        for j in range(3):
            for _ in range(3):
                part.append(f"screen {i}")
                person.append("ABC"[j])
                reading.append(float(level[i] + lean[j] + both[i, j] + rng.normal(0, 0.3)))
    return part, person, reading


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("crossed", [0.0, 3.0])
def test_components_equal_those_of_the_loops(seed: int, crossed: float) -> None:
    part, person, reading = study_of(seed, crossed=crossed)
    cells: dict[tuple[str, str], list[float]] = {}
    for p, o, v in zip(part, person, reading, strict=True):
        cells.setdefault((p, o), []).append(v)
    ms = twin_components(cells)
    study = gauge_study(part, person, reading)
    assert study.interaction_f == pytest.approx(ms["i"] / ms["e"])
    if crossed:
        assert not study.pooled, "people who read certain screens differently are seen"
    error, between = (ms["pooled"], ms["pooled"]) if study.pooled else (ms["e"], ms["i"])
    assert study.repeatability_sd**2 == pytest.approx(error)
    assert study.interaction_sd**2 == pytest.approx(max(0, (between - error) / 3))
    assert study.operator_sd**2 == pytest.approx(max(0, (ms["o"] - between) / 15))
    assert study.part_sd**2 == pytest.approx(max(0, (ms["p"] - between) / 9))
    assert study.total_sd**2 == pytest.approx(
        study.repeatability_sd**2
        + study.operator_sd**2
        + study.interaction_sd**2
        + study.part_sd**2
    )


@given(seed=st.integers(0, 99), scale=st.floats(0.01, 100), shift=st.floats(-50, 50))
def test_a_gauge_study_follows_the_unit_and_ignores_order_and_zero(
    seed: int, scale: float, shift: float
) -> None:
    part, person, reading = study_of(seed, crossed=0.5)
    plain = gauge_study(part, person, reading)
    order = np.random.default_rng(seed).permutation(len(reading))
    moved = gauge_study(
        [part[i] for i in order],
        [person[i] for i in order],
        [reading[i] * scale + shift for i in order],
    )
    assert moved.gauge_sd == pytest.approx(plain.gauge_sd * scale, rel=1e-6)
    assert moved.part_sd == pytest.approx(plain.part_sd * scale, rel=1e-6)
    assert moved.percent_of_variation == pytest.approx(plain.percent_of_variation, rel=1e-6)


@given(seed=st.integers(0, 99), scale=st.floats(0.01, 100), bias=st.floats(-5, 5))
def test_agreement_follows_unit_bias_order_and_exchange(
    seed: int, scale: float, bias: float
) -> None:
    rng = np.random.default_rng(seed)
    a = rng.normal(22, 3, 12)
    b = a + rng.normal(0.4, 0.5, 12)
    order = rng.permutation(12)
    plain = agreement(a, b)
    moved = agreement((a[order] + bias) * scale, b[order] * scale)
    assert moved.bias == pytest.approx((plain.bias + bias) * scale, rel=1e-9, abs=1e-9)
    assert moved.sd == pytest.approx(plain.sd * scale)
    turned = agreement(b, a)
    assert (turned.bias, turned.lower) == pytest.approx((-plain.bias, -plain.upper))


@given(seed=st.integers(0, 99), scale=st.floats(0.01, 100))
def test_linearity_follows_unit_and_order(seed: int, scale: float) -> None:
    rng = np.random.default_rng(seed)
    reference = np.repeat([10.0, 20, 30, 40], 3)
    reading = reference * 1.02 - 0.3 + rng.normal(0, 0.2, 12)
    order = rng.permutation(12)
    plain, moved = (
        linearity(reference, reading),
        linearity(reference[order] * scale, reading[order] * scale),
    )
    assert moved.slope == pytest.approx(plain.slope, abs=1e-10)
    assert moved.intercept == pytest.approx(plain.intercept * scale)
    assert moved.slope_t == pytest.approx(plain.slope_t)
    by_hand = np.polyfit(reference, reading - reference, 1)
    assert (plain.slope, plain.intercept) == pytest.approx(tuple(by_hand))
    assert plain.bias_at([10, 25]) == pytest.approx(np.polyval(by_hand, [10, 25]))


def test_a_meter_that_is_off_by_the_same_everywhere_is_linear_and_biased() -> None:
    line = linearity([10, 20, 30], [10.5, 20.5, 30.5])
    assert (line.slope, line.intercept) == pytest.approx((0.0, 0.5))
    assert line.is_linear
    assert not line.is_acceptable
    assert linearity([10, 20, 30], [10, 20, 30]).is_acceptable


# --- conformity ---------------------------------------------------------------------------------

Z = NormalDist().inv_cdf(0.95)


@pytest.mark.parametrize(
    ("value", "u", "lower", "upper", "decision"),
    [
        (20 + Z * 0.4, 0.4, 20, None, "accept"),
        (20 + Z * 0.4 - 0.001, 0.4, 20, None, "undecided"),
        (20.0, 0.4, 20, None, "undecided"),
        (20 - Z * 0.4 + 0.001, 0.4, 20, None, "undecided"),
        (20 - Z * 0.4, 0.4, 20, None, "reject"),
        (24 - Z * 0.4, 0.4, 20, 24, "accept"),
        (24 + Z * 0.4, 0.4, 20, 24, "reject"),
        (22, 0.4, -math.inf, 24, "accept"),
        (22, 1.2, 20, 24, "undecided"),  # 0.048 beyond each limit: both tails count
        (22, 1.0, 20, 24, "accept"),
        (22, 0.0, 22, 24, "accept"),
        (21.999, 0.0, 22, 24, "reject"),
        (0.1 + 0.2, 0.0, None, 0.3, "accept"),
    ],
)
def test_three_answers_about_a_limit(value, u, lower, upper, decision) -> None:
    assert conformity(value, u, lower, upper, risk=0.05) == decision


@given(
    value=st.floats(10, 30), u=st.floats(0.01, 3), risk=st.floats(0.001, 0.5), c=st.floats(0.1, 10)
)
def test_the_answer_keeps_its_risk_and_does_not_know_the_unit(
    value: float, u: float, risk: float, c: float
) -> None:
    decision = conformity(value, u, 18, 24, risk=risk)
    inside = NormalDist(value, u).cdf(24) - NormalDist(value, u).cdf(18)
    if decision == "accept":
        assert inside >= 1 - risk - 1e-8
    elif decision == "reject":
        assert inside <= risk + 1e-8
    else:
        assert risk - 1e-8 <= inside <= 1 - risk + 1e-8
    edge = min(abs(inside - risk), abs(1 - inside - risk))
    if edge > 1e-6:
        assert conformity(value * c, u * c, 18 * c, 24 * c, risk=risk) == decision


@given(true=st.floats(17, 25), seed=st.integers(0, 2**32 - 1))
def test_a_clear_answer_is_rarely_wrong(true: float, seed: int) -> None:
    """Simulated readings of a known tension: an accepted one that breaks the limit is rare."""
    values = np.random.default_rng(seed).normal(true, 0.5, 400)
    answers = [conformity(float(v), 0.5, 20, None, risk=0.05) for v in values]
    wrong = answers.count("accept" if true < 20 else "reject")
    assert wrong <= 400 * 0.05 + 4.5 * math.sqrt(400 * 0.05 * 0.95)


# --- what is refused ----------------------------------------------------------------------------

NAN = math.nan
PARTS, PEOPLE = [1, 1, 1, 1, 2, 2, 2, 2], list("AABBAABB")
READ = [20.0, 20.4, 20.2, 20.6, 25.0, 25.4, 25.2, 25.6]


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: gauge_study(PARTS, PEOPLE, [*READ[:7], NAN]), "reading"),
        (lambda: gauge_study(PARTS, PEOPLE[:7], READ), "operator"),
        (lambda: gauge_study([*PARTS[:7], NAN], PEOPLE, READ), "part"),
        (lambda: gauge_study([*PARTS, 2], [*PEOPLE, "B"], [*READ, 25.5]), "reading"),
        (lambda: agreement([1, 2, NAN], [1, 2, 3]), "a"),
        (lambda: agreement([1, 2, 3], [1, 2, math.inf]), "b"),
        (lambda: agreement([1, 2, 3], [1, 2]), "b"),
        (lambda: agreement([1, 2, 3], [1, 2, 4], factor=0), "factor"),
        (lambda: agreement([[1, 2, 3]], [1, 2, 4]), "a"),
        (lambda: linearity([1, 2, 3], [1, 2]), "reading"),
        (lambda: linearity([1, 2, NAN], [1, 2, 3]), "reference"),
        (lambda: linearity([20, 20, 20], [20, 21, 20]), "reference"),
        (lambda: five_references().bias_at(NAN), "reference"),
        (lambda: conformity(NAN, 1, 0, 1, risk=0.05), "value"),
        (lambda: conformity(1, -1, 0, 1, risk=0.05), "u"),
        (lambda: conformity(1, NAN, 0, 1, risk=0.05), "u"),
        (lambda: conformity(1, 1, 2, 1, risk=0.05), "lower"),
        (lambda: conformity(1, 1, None, None, risk=0.05), "lower"),
        (lambda: conformity(1, 1, 0, NAN, risk=0.05), "upper"),
        (lambda: conformity(1, 1, 0, 1, risk=0), "risk"),
        (lambda: conformity(1, 1, 0, 1, risk=0.6), "risk"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, argument: str) -> None:
    with pytest.raises(NotValid) as refused:
        call()
    assert refused.value.argument == argument


@pytest.mark.parametrize(
    "call",
    [
        lambda: gauge_study(PARTS, PEOPLE, [20.0] * 8),
        lambda: gauge_study(PARTS, PEOPLE, [20, 20, 21, 21, 25, 25, 26, 26]),
        lambda: gauge_study(PARTS, ["A"] * 8, READ),
        lambda: gauge_study([1] * 8, PEOPLE, READ),
        lambda: gauge_study([1, 1, 2, 2], list("ABAB"), READ[:4]),
        lambda: gauge_study([], [], []),
        lambda: agreement([22.0], [21.0]),
        lambda: agreement([20, 22, 24], [20, 22, 24]),
        lambda: agreement([20.1, 22.1, 24.1], [20, 22, 24]),
        lambda: linearity([20, 30], [20, 30]),
    ],
    ids=[
        "all equal",
        "repeats never differ",
        "one person",
        "one part",
        "no repeats",
        "nothing",
        "one pair",
        "all differences zero",
        "all differences equal",
        "two readings",
    ],
)
def test_too_little_for_an_honest_answer_is_said(call) -> None:
    with pytest.raises(NotEnoughData):
        call()


@pytest.mark.parametrize("module", [meters, gauge, conformity_module])
def test_the_examples_in_the_docstrings_hold(module) -> None:
    tried = doctest.testmod(module)
    assert (tried.failed, tried.attempted > 0) == (0, True)
