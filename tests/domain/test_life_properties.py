"""Odd lives, refusals, and what must hold for any lives."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.life import (
    FEW_ENDS,
    LifeCurve,
    chances_of_end,
    expected_lives_left,
    kaplan_meier,
    log_rank,
    pareto,
    weibull_fit,
)

INF, NAN = math.inf, math.nan


@st.composite
def lives(draw: st.DrawFn, *, least_ends: int = 0) -> tuple[list[float], list[bool], list[float]]:
    """Durations, ends and entries, with ties, of 1 to 25 lives."""
    n = draw(st.integers(max(1, least_ends), 25))
    ages = st.one_of(st.integers(1, 20).map(float), st.floats(0.01, 1000))
    duration = [draw(ages) for _ in range(n)]
    failed = [True] * least_ends + [draw(st.booleans()) for _ in range(n - least_ends)]
    entry = [d * draw(st.sampled_from((0, 0, 0, 0.25, 0.5, 0.9))) for d in duration]
    return duration, failed, entry


def fits(sample: tuple) -> bool:
    try:
        weibull_fit(sample[0], sample[1], entry=sample[2])
    except NotEnoughData:
        return False
    return True


weibull_lives = lives(least_ends=2).filter(fits)


def same(a: LifeCurve, b: LifeCurve) -> None:
    for name in ("survival", "lower", "upper", "se", "at_risk", "ended"):
        np.testing.assert_allclose(getattr(a, name), getattr(b, name), rtol=1e-12, atol=1e-14)


@given(lives(), st.randoms(use_true_random=False))
def test_the_order_of_lives_does_not_matter(sample: tuple, random: object) -> None:
    order = list(range(len(sample[0])))
    random.shuffle(order)
    moved = tuple([column[i] for i in order] for column in sample)
    a = kaplan_meier(*sample[:2], entry=sample[2])
    b = kaplan_meier(*moved[:2], entry=moved[2])
    assert a.time.tolist() == b.time.tolist()
    same(a, b)
    if sum(sample[1]) >= 2 and fits(sample):
        fit, again = (weibull_fit(s[0], s[1], entry=s[2]) for s in (sample, moved))
        assert fit.shape == pytest.approx(again.shape, rel=1e-9)
        assert fit.scale == pytest.approx(again.scale, rel=1e-9)


@given(lives(), st.sampled_from((2.0**-20, 0.5, 1024.0)))
def test_a_curve_knows_no_unit(sample: tuple, unit: float) -> None:
    """Powers of two, since rounding by others may tie what was not tied."""
    duration, failed, entry = (np.array(column) for column in sample)
    a = kaplan_meier(duration, failed, entry=entry)
    b = kaplan_meier(duration * unit, failed, entry=entry * unit)
    assert (a.time * unit).tolist() == b.time.tolist()
    same(a, b)
    assert b.median() == a.median() * unit


@given(weibull_lives, st.sampled_from((1e-250, 1e-9, 1 / 24, 1440.0, 1e9, 1e250)))
def test_a_weibull_law_knows_no_unit(sample: tuple, unit: float) -> None:
    duration, failed, entry = (np.array(column) for column in sample)
    a = weibull_fit(duration, failed, entry=entry)
    b = weibull_fit(duration * unit, failed, entry=entry * unit)
    # Rounding of the lives moves the shape by as much more as the lives lie close together.
    close = 1e-9 * max(1.0, a.shape / 100)
    assert b.shape == pytest.approx(a.shape, rel=close)
    assert math.log(b.scale) - math.log(unit) == pytest.approx(math.log(a.scale), abs=1e-8)
    assert b.loglik == pytest.approx(a.loglik - sum(sample[1]) * math.log(unit), abs=1e-6, rel=1e-9)


@given(weibull_lives, st.sampled_from((0.25, 3.0)))
def test_lives_to_a_power_have_the_shape_over_it(sample: tuple, power: float) -> None:
    duration, failed, entry = (np.array(column) for column in sample)
    a = weibull_fit(duration, failed, entry=entry)
    b = weibull_fit(duration**power, failed, entry=entry**power)
    assert b.shape * power == pytest.approx(a.shape, rel=1e-8 * max(1.0, a.shape / 100))
    assert math.log(b.scale) == pytest.approx(power * math.log(a.scale), abs=1e-7)


@given(lives())
def test_a_curve_falls_within_its_limits(sample: tuple) -> None:
    curve = kaplan_meier(*sample[:2], entry=sample[2])
    assert (np.diff(curve.survival, prepend=1.0) <= 0).all()
    assert ((curve.lower >= 0) & (curve.lower <= curve.survival)).all()
    assert ((curve.survival <= curve.upper) & (curve.upper <= 1)).all()
    assert curve.ended.sum() == sum(sample[1]) == curve.ends
    wide = kaplan_meier(*sample[:2], entry=sample[2], confidence=0.99)
    assert ((wide.lower <= curve.lower) & (wide.upper >= curve.upper)).all()


@given(lives(), st.floats(1.01, 50))
def test_a_life_that_goes_on_longer_past_the_last_end_changes_nothing(
    sample: tuple, longer: float
) -> None:
    """It was under watch at every end, however long it goes on after them."""
    duration, failed, entry = (list(column) for column in sample)
    last = max((d for d, f in zip(duration, failed, strict=True) if f), default=0.0)
    add = max(duration) + 1
    short = [*duration, add], [*failed, False], [*entry, 0.0]
    long = [*duration, add * longer], [*failed, False], [*entry, 0.0]
    a, b = (kaplan_meier(s[0], s[1], entry=s[2]) for s in (short, long))
    upto = a.time <= last
    assert (b.time[: upto.sum()] == a.time[upto]).all()
    for name in ("survival", "lower", "upper", "at_risk"):
        assert (getattr(a, name)[upto] == getattr(b, name)[: upto.sum()]).all()
    assert a.median() == b.median()
    # Such a life raises the curve, where it was not there before.
    before = kaplan_meier(duration, failed, entry=entry)
    assert (a.survival[:-1] >= before.survival - 1e-12).all()


@given(weibull_lives)
def test_a_longer_life_makes_the_law_last_longer(sample: tuple) -> None:
    duration, failed, entry = (list(column) for column in sample)
    extra = max(duration)
    a, b = (
        weibull_fit([*duration, d], [*failed, False], entry=[*entry, 0.0])
        for d in (extra, 2 * extra)
    )
    assert b.survival_at(extra) >= a.survival_at(extra) - 1e-9


@given(lives(), st.lists(st.sampled_from("abc"), min_size=25, max_size=25))
def test_log_rank_knows_neither_names_nor_order_nor_unit(sample: tuple, names: list[str]) -> None:
    duration, failed, entry = sample
    group = names[: len(duration)]
    try:
        a = log_rank(duration, failed, group, entry=entry)
    except NotEnoughData:
        return
    renamed = [{"a": 7, "b": -1, "c": 3}[g] for g in group]
    scaled = np.array(duration) * 1024, failed[:], renamed, np.array(entry) * 1024
    b = log_rank(*scaled[:3], entry=scaled[3])
    c = log_rank(duration[::-1], failed[::-1], group[::-1], entry=entry[::-1])
    for other in (b, c):
        assert other.chi2 == pytest.approx(a.chi2, rel=1e-7, abs=1e-9)
        assert other.freedom == a.freedom
    assert 0 <= a.p <= 1


@given(lives())
def test_an_unknown_start_is_left_out_and_counted(sample: tuple) -> None:
    duration, failed, entry = sample
    found = [*duration, NAN, 5.0], [*failed, True, False], [*entry, NAN, NAN]
    a, b = kaplan_meier(duration, failed, entry=entry), kaplan_meier(*found[:2], entry=found[2])
    same(a, b)
    assert (b.left_out, b.n) == (2, len(duration))
    if sum(failed) >= 2 and fits(sample):
        fit = weibull_fit(*found[:2], entry=found[2])
        assert (fit.left_out, fit.n) == (2, len(duration))
        assert fit.shape == weibull_fit(duration, failed, entry=entry).shape


def test_groups_of_unknown_starts_are_left_out_too() -> None:
    ours = log_rank([1, 2, NAN, 3, 4], [1, 1, 1, 1, 0], list("aaxbb"), entry=[0, 0, NAN, 0, 0])
    assert (ours.groups, ours.left_out, ours.n.tolist()) == (("a", "b"), 1, [2, 2])
    assert ours.chi2 == log_rank([1, 2, 3, 4], [1, 1, 1, 0], list("aabb")).chi2


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


def test_a_median_at_exactly_one_half_is_there_in_spite_of_rounding() -> None:
    """7/8 * 6/7 * 5/6 * 4/5 is a little above one half in binary fractions."""
    assert kaplan_meier([5, 6, 7, 8, 9, 16, 17, 35], [1, 1, 1, 1, 1, 0, 1, 1]).median() == 8


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


@given(st.lists(st.sampled_from(["torn", "slack", "burst", 3])))
def test_pareto_adds_up_in_any_order(causes: list) -> None:
    listed = pareto(causes)
    assert sum(c.ends for c in listed) == len(causes)
    assert listed == pareto(sorted(causes, key=str))
    assert all(a.ends >= b.ends for a, b in itertools.pairwise(listed))
    assert not listed or listed[-1].cumulative_share == 1


@pytest.mark.parametrize("causes", [[None], ["torn", NAN]])
def test_an_end_without_a_name_is_refused(causes: list) -> None:
    with pytest.raises(NotValid) as trouble:
        pareto(causes)
    assert trouble.value.argument == "causes"


def test_scipy_stays_away_until_it_is_needed() -> None:
    code = "import sys, framekeeper.domain.life; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
