"""What must hold for any lives."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotEnoughData
from framekeeper.domain.life import (
    LifeCurve,
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


@given(st.lists(st.sampled_from(["torn", "slack", "burst", 3])))
def test_pareto_adds_up_in_any_order(causes: list) -> None:
    listed = pareto(causes)
    assert sum(c.ends for c in listed) == len(causes)
    assert listed == pareto(sorted(causes, key=str))
    assert all(a.ends >= b.ends for a, b in itertools.pairwise(listed))
    assert not listed or listed[-1].cumulative_share == 1


def test_pareto_counts_causes_most_frequent_first() -> None:
    causes = ["torn", "slack", "torn", "burst", "slack", "torn", "glue"]
    assert [(c.cause, c.ends) for c in pareto(causes)] == [
        ("torn", 3), ("slack", 2), ("burst", 1), ("glue", 1),
    ]  # fmt: skip
    assert [c.share for c in pareto(causes)] == [3 / 7, 2 / 7, 1 / 7, 1 / 7]
    assert [c.cumulative_share for c in pareto(causes)] == [3 / 7, 5 / 7, 6 / 7, 1.0]
    assert pareto([]) == []
