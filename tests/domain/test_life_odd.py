"""Odd lives, too few of them, and refusals."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys

import numpy as np
import pytest
from scipy.integrate import quad

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.life import (
    FEW_ENDS,
    WeibullFit,
    chances_of_end,
    expected_lives_left,
    kaplan_meier,
    log_rank,
    pareto,
    weibull_fit,
)

INF, NAN = math.inf, math.nan


# --- odd lives


def test_one_life_that_goes_on() -> None:
    curve = kaplan_meier([30], [False])
    assert curve.survival.tolist() == curve.lower.tolist() == curve.upper.tolist() == [1.0]
    assert curve.median() == INF
    assert curve.quantile(0.1) == (INF, INF, INF)
    assert str(curve.warnings[0]) == "Only 0 lives have ended; the limits are guesses."
    left = expected_lives_left(curve, [0, 10, 40])
    assert left.expected.tolist() == [30, 20, 0]
    assert left.at_least.all()


def test_one_life_that_ended() -> None:
    curve = kaplan_meier([30], [True])
    assert (curve.survival.tolist(), curve.median()) == ([0.0], 30.0)
    assert (curve.lower.tolist(), curve.upper.tolist()) == ([0.0], [1.0])
    assert np.isnan(curve.se).all()
    assert curve.survival_at([0, 29, 30, 31]).tolist() == [1, 1, 0, 0]
    assert expected_lives_left(curve, [10]).expected.tolist() == [20]
    assert not expected_lives_left(curve, [10]).at_least[0]


def test_a_life_that_leaves_sight_as_another_ends_was_under_watch() -> None:
    curve = kaplan_meier([5, 5, 9], [True, False, True])
    assert curve.at_risk.tolist() == [3, 1]
    assert curve.survival[0] == pytest.approx(2 / 3)


def test_a_life_is_not_under_watch_at_the_end_at_which_it_enters() -> None:
    curve = kaplan_meier([5, 9], [True, True], entry=[0, 5])
    assert curve.at_risk.tolist() == [1, 1]


def test_an_end_at_age_nought_counts_in_a_curve() -> None:
    curve = kaplan_meier([0, 0, 4, 6], [True, False, True, False], entry=[0, 0, 0, 0])
    assert curve.at_risk.tolist() == [4, 2, 1]
    assert curve.survival.tolist() == pytest.approx([0.75, 0.375, 0.375])
    assert curve.survival_at(0) == 0.75
    assert expected_lives_left(curve, 0).expected == pytest.approx(4 + 2 * 0.5)


def test_a_life_found_today_adds_nothing_to_a_curve() -> None:
    """Mesh found at age 40 and looked at once has been under watch at no time."""
    with_it = kaplan_meier([20, 40, 60], [1, 0, 1], entry=[0, 40, 0])
    without = kaplan_meier([20, 60], [1, 1])
    assert with_it.survival_at([20, 50, 60]).tolist() == without.survival_at([20, 50, 60]).tolist()
    alone = kaplan_meier([40], [0], entry=[40])
    assert (alone.at_risk.tolist(), alone.survival.tolist()) == ([0], [1.0])


def test_a_curve_says_where_its_watch_begins_and_where_it_breaks_off() -> None:
    curve = kaplan_meier([5, 20, 30], [True, True, False], entry=[3, 10, 12])
    assert curve.watched_from == 3
    assert curve.survival.tolist() == [0, 0, 0]
    assert [str(w) for w in curve.warnings] == [
        "Only 2 lives have ended; the limits are guesses.",
        "No life was under watch before the age of 3; the curve is for lives that have reached it.",
        "At the age of 5 all lives then under watch had ended, yet others were seen "
        "at a greater age; the curve says too little from there on.",
    ]


def test_few_ends_are_said_up_to_four() -> None:
    for ends in range(2, 7):
        lived = list(range(1, ends + 1))
        for told in (kaplan_meier(lived, [1] * ends), weibull_fit(lived, [1] * ends)):
            assert bool(told.warnings) == (ends < FEW_ENDS)


@pytest.mark.parametrize("lived", [24, 28, 30, 38])
def test_a_median_at_exactly_one_half_is_there_in_spite_of_rounding(lived: int) -> None:
    """With so many lives the product of shares comes out a little above one half."""
    curve = kaplan_meier(range(1, lived + 1), [1] * lived)
    assert curve.survival[lived // 2 - 1] > 0.5
    assert curve.median() == lived / 2


def test_the_upper_limit_stays_where_the_curve_comes_down_to_nought() -> None:
    curve = kaplan_meier([10, 20, 30], [1, 1, 1])
    assert 0.5 < curve.upper[1] < 1
    assert curve.upper[2] == curve.upper[1]
    assert curve.lower[2] == 0


def test_limits_of_the_median_may_be_out_of_sight() -> None:
    median = kaplan_meier([1, 2, 3, 4], [1, 1, 0, 0]).quantile(0.5)
    assert median.estimate == 2
    assert median.upper == INF


# --- too little for a Weibull law


@pytest.mark.parametrize(
    ("duration", "failed", "entry", "argument"),
    [
        ([10, 20, 30], [0, 0, 0], None, "failed"),  # none ended
        ([10, 20, 30], [1, 0, 0], None, "failed"),  # one end, our choice: a guess, not a curve
        ([10], [1], None, "failed"),
        ([30, 30, 30], [1, 1, 1], None, "duration"),  # all equal
        ([10, 20, 30, 30], [0, 0, 1, 1], None, "duration"),  # all ends at one age, none longer
        ([0.3, 0.1 * 3], [1, 1], None, "duration"),  # equal but for binary fractions
        ([10, 20, 30], [1, 1, 1], [NAN, 0, NAN], "failed"),  # one end is left
        ([10, 20, 30], [1, 1, 1], [NAN] * 3, "duration"),  # no known start is left
        ([], [], None, "duration"),
        ([2, 2.1, 90], [1, 1, 0], [1.9, 2, 1.5], "entry"),  # rate falls faster than any shape
        ([1, 10], [1, 1], [0.9, 9], "failed"),  # the scale would be past any age
    ],
)
def test_too_few_ends_for_a_law(
    duration: list, failed: list, entry: list | None, argument: str
) -> None:
    with pytest.raises(NotEnoughData) as trouble:
        weibull_fit(duration, failed, entry=entry)
    assert trouble.value.argument == argument


def test_two_ends_at_one_age_are_enough_if_another_lives_longer() -> None:
    fit = weibull_fit([20, 20, 60], [1, 1, 0])
    assert fit.shape > 0
    assert fit.ends == 2


def test_two_ends_of_very_many_lives_let_no_scale_be_told() -> None:
    lived = np.full(200_000, 1e6)
    lived[:2] = 1e-300, 1e-299
    with pytest.raises(NotEnoughData) as trouble:
        weibull_fit(lived, np.arange(200_000) < 2)
    assert trouble.value.argument == "failed"


@pytest.mark.parametrize(
    ("size", "shape"),
    [
        *itertools.product([1e-300, 1e-12, 1.0, 1e12, 1e300], [1.0, 8.0, 5000.0]),
        *itertools.product([1e-200, 1e-12, 1.0, 1e12, 1e200], [0.05]),  # over 116 powers of ten
    ],
)
def test_a_law_is_found_at_any_size_and_shape(size: float, shape: float) -> None:
    """The quantiles of the law itself as lives, of which the half that lasts longest goes on."""
    p = (np.arange(400) + 0.5) / 400
    logs = np.log(-np.log1p(-p)) / shape
    duration = size * np.exp(logs)
    failed = duration < np.median(duration)
    fit = weibull_fit(np.minimum(duration, np.median(duration)), failed)
    assert fit.shape == pytest.approx(shape, rel=0.02)
    assert math.log(fit.scale) - math.log(size) == pytest.approx(0, abs=0.02 / shape + 1e-12)


def test_a_law_is_found_under_heavy_censoring() -> None:
    """Of 20 000 lives 0.1 % have ended."""
    rng = np.random.default_rng(2)
    whole = 1000 * rng.weibull(1.5, 20_000)
    seen = np.minimum(whole, 10.0)
    fit = weibull_fit(seen, whole <= 10)
    assert 10 < fit.ends < 40
    shape, scale = fit.shape_interval(confidence=0.9999), fit.scale_interval(confidence=0.9999)
    assert shape.lower < 1.5 < shape.upper
    assert scale.lower < 1000 < scale.upper


def test_all_lives_found_late_still_give_a_law() -> None:
    rng = np.random.default_rng(4)
    whole, entry = 100 * rng.weibull(2.5, 5000), rng.uniform(30, 120, 5000)
    seen = whole > entry
    fit = weibull_fit(whole[seen], np.ones(seen.sum()), entry=entry[seen])
    assert fit.shape_interval(confidence=0.999).lower < 2.5
    assert fit.shape_interval(confidence=0.999).upper > 2.5
    assert fit.scale_interval(confidence=0.999).lower < 100
    assert fit.scale_interval(confidence=0.999).upper > 100


def test_a_life_of_age_nought_that_goes_on_says_nothing() -> None:
    a, b = weibull_fit([10, 20], [1, 1]), weibull_fit([10, 20, 0], [1, 1, 0])
    assert (a.shape, a.scale, a.loglik) == (b.shape, b.scale, b.loglik)


@pytest.mark.parametrize(("shape", "scale"), [(0.4, 3.0), (1.0, 250.0), (2.3, 1e-5), (30.0, 1e7)])
def test_lives_left_of_a_law_is_the_integral_of_its_survival(shape: float, scale: float) -> None:
    law = weibull_fit([1, 2], [1, 1])
    law = WeibullFit(**{**vars(law), "shape": shape, "scale": scale})
    assert law.mean() == pytest.approx(scale * math.gamma(1 + 1 / shape), rel=1e-12)
    for hazard in (0.0, 0.3, 5.0, 45.0, 60.0, 400.0):
        # In z = (t / scale)^shape the integral of S is smooth; e^hazard keeps it from vanishing.
        integral, _ = quad(
            lambda y, z=hazard: math.exp(-y) * (z + y) ** (1 / shape - 1),
            0,
            60 if hazard else 1,
            epsabs=0,
            epsrel=1e-11,
            limit=400,
        )
        if not hazard:  # the singular start is done by substitution
            integral, _ = quad(
                lambda v: shape * math.exp(-(v**shape)), 0, 60 ** (1 / shape), epsrel=1e-11
            )
        age = scale * hazard ** (1 / shape)
        left = float(expected_lives_left(law, age).expected)
        assert left == pytest.approx(scale / shape * integral, rel=1e-8)


def test_old_mesh_of_a_steep_law_has_little_left_but_something() -> None:
    fit = weibull_fit([90, 95, 100, 105], [1, 1, 1, 1])
    left = expected_lives_left(fit, [0, 100, 200, 1000, 1e6])
    assert (np.diff(left.expected) < 0).all()
    assert (left.expected > 0).all()
    assert not left.at_least.any()
    assert chances_of_end(fit, [0, 100, 1e300], 50).tolist()[2] == 1
    assert chances_of_end(fit, [0, 100, 1e300], 0).tolist() == [0, 0, 0]


def test_limits_of_a_law_hold_its_quantiles() -> None:
    fit = weibull_fit([40, 55, 70, 80, 90], [1, 1, 0, 1, 0])
    for p in (1e-9, 0.1, 0.5, 1 - 1e-9):
        estimate, lower, upper = fit.quantile(p)
        assert lower < estimate < upper
        assert float(fit.survival_at(estimate)) == pytest.approx(1 - p)
        wide = fit.quantile(p, confidence=0.99)
        assert wide.lower < lower
        assert wide.upper > upper


# --- groups


def test_three_groups_of_which_one_was_never_with_the_others() -> None:
    """Its ends say nothing about a difference, nor does it take a degree of freedom."""
    duration, failed = [1, 2, 3, 4, 100, 110], [1, 1, 1, 0, 1, 1]
    entry = [0, 0, 0, 0, 50, 50]
    three = log_rank(duration, failed, list("ababcc"), entry=entry)
    two = log_rank(duration[:4], failed[:4], list("abab"))
    assert three.chi2 == pytest.approx(two.chi2)
    assert three.freedom == two.freedom == 1


def test_equal_groups_do_not_differ() -> None:
    chi2, p = log_rank([3, 5, 7, 3, 5, 7], [1, 1, 0, 1, 1, 0], [1, 1, 1, 2, 2, 2])
    assert (chi2, p) == (pytest.approx(0, abs=1e-12), pytest.approx(1))


@pytest.mark.parametrize(
    ("duration", "failed", "group", "argument"),
    [
        ([1, 2], [1, 1], ["a", "a"], "group"),
        ([1, 2], [0, 0], ["a", "b"], "failed"),
        ([1, 2], [0, 1], ["a", "b"], "group"),  # a was gone when b ended
        ([2, 2], [1, 1], ["a", "b"], "group"),  # both ended at once: nothing was left to chance
    ],
)
def test_too_little_to_compare(duration: list, failed: list, group: list, argument: str) -> None:
    with pytest.raises(NotEnoughData) as trouble:
        log_rank(duration, failed, group)
    assert trouble.value.argument == argument


# --- refusals

BAD_LIVES = [
    ({"duration": [1, NAN]}, "duration"),
    ({"duration": [1, INF]}, "duration"),
    ({"duration": [1, -2]}, "duration"),
    ({"duration": [[1, 2]]}, "duration"),
    ({"duration": 5}, "duration"),
    ({"duration": ["x", "y"]}, "duration"),
    ({"failed": [1]}, "failed"),
    ({"failed": [1, 2]}, "failed"),
    ({"failed": [1, NAN]}, "failed"),
    ({"failed": ["yes", "no"]}, "failed"),
    ({"entry": [0]}, "entry"),
    ({"entry": [-1, 0]}, "entry"),
    ({"entry": [INF, 0]}, "entry"),
    ({"entry": [0, 25]}, "entry"),  # first seen after the end
    ({"entry": [0, 20]}, "entry"),  # first seen at the end
    ({"duration": [0.5, 20], "entry": [0.5, 0]}, "entry"),
]


@pytest.mark.parametrize(("change", "argument"), BAD_LIVES)
@pytest.mark.parametrize("of", ["curve", "law", "groups"])
def test_lives_that_cannot_be_are_refused_by_name(of: str, change: dict, argument: str) -> None:
    told = {"duration": [10, 20], "failed": [1, 1], "entry": [0, 0], **change}
    ask = {
        "curve": lambda: kaplan_meier(**told),
        "law": lambda: weibull_fit(**told),
        "groups": lambda: log_rank(group=["a", "b"], **told),
    }[of]
    with pytest.raises(NotValid) as trouble:
        ask()
    assert trouble.value.argument == argument


@pytest.mark.parametrize("group", [None, "ab", ["a"], ["a", None], ["a", NAN], 3, [["a"], ["b"]]])
def test_groups_that_cannot_be_are_refused(group: object) -> None:
    with pytest.raises(NotValid) as trouble:
        log_rank([10, 20], [1, 1], group)
    assert trouble.value.argument == "group"


def test_an_end_at_age_nought_has_no_weibull_law() -> None:
    with pytest.raises(NotValid) as trouble:
        weibull_fit([0, 10, 20], [1, 1, 1])
    assert trouble.value.argument == "duration"


@pytest.mark.parametrize("ask", [kaplan_meier, weibull_fit])
@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda law: law.quantile(0), "p"),
        (lambda law: law.quantile(1), "p"),
        (lambda law: law.quantile(NAN), "p"),
        (lambda law: law.quantile("half"), "p"),
        (lambda law: law.survival_at(-1), "age"),
        (lambda law: law.survival_at(["x"]), "age"),
        (lambda law: expected_lives_left(law, [1, NAN]), "ages"),
        (lambda law: chances_of_end(law, [1], -1), "horizon"),
        (lambda law: chances_of_end(law, [INF], 1), "ages"),
    ],
)
def test_questions_that_cannot_be_are_refused(ask: object, call: object, argument: str) -> None:
    with pytest.raises(NotValid) as trouble:
        call(ask([10, 20, 30], [1, 1, 0]))
    assert trouble.value.argument == argument


@pytest.mark.parametrize("confidence", [0, 1, 95, NAN, None])
def test_a_confidence_is_a_share(confidence: object) -> None:
    fit = weibull_fit([10, 20], [1, 1])
    for ask in (
        lambda: kaplan_meier([10], [1], confidence=confidence),
        lambda: fit.quantile(0.5, confidence=confidence),
        lambda: fit.shape_interval(confidence=confidence),
    ):
        with pytest.raises(NotValid) as trouble:
            ask()
        assert trouble.value.argument == "confidence"


@pytest.mark.parametrize("causes", [[None], ["torn", NAN]])
def test_an_end_without_a_name_is_refused(causes: list) -> None:
    with pytest.raises(NotValid) as trouble:
        pareto(causes)
    assert trouble.value.argument == "causes"


def test_scipy_stays_away_until_it_is_needed() -> None:
    code = "import sys, framekeeper.domain.life; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
