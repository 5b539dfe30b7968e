"""The judge of the forecast is fair, and the forecast passes a small sitting of it."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.decay_worlds import KEPT_OUT, WORLDS, Shop, live
from tests.bench.judge import EveryFew, Tally, as_safe, judge_seed, run_year


@pytest.mark.parametrize(
    "law", [*WORLDS.values(), *KEPT_OUT.values()], ids=lambda law: law.__name__
)
def test_worlds_lose_tension_within_what_is_published(law):
    """The median life starts near its target and has lost 12 to 40 % after a year of use."""
    lives = [live(law, np.random.default_rng(i), 25.0, 0.2, 366).tension for i in range(200)]
    assert 24 < np.median([life[0] for life in lives]) < 26
    assert 0.60 < np.median([life[-1] / life[0] for life in lives]) < 0.88


def test_every_rule_meets_the_same_lives():
    """A screen's stretch of a given number is the same, however often and in what order asked."""
    one, other = (Shop(WORLDS["power law"], 4, 10) for _ in range(2))
    other.life(7, 2)
    other.read(np.ones(3), other.sitting(3))
    assert np.array_equal(one.life(3, 1).tension, other.life(3, 1).tension)


def test_fixed_rule_is_counted_by_hand():
    """A check every 14 days is 26 a year; a rule that never pulls counts each day below."""
    shop = Shop(WORLDS["log-time"], 1, 20)
    shop.limit = np.full(20, 1e-6)
    tally = run_year(shop, EveryFew(shop, 14))
    assert tally.per_year()[0] == pytest.approx(365 / 14, rel=0.05)
    assert (tally.below, tally.pulled) == (0, 0)
    shop.limit = np.full(20, 1e6)
    shop.life = Shop(WORLDS["log-time"], 1, 20).life
    never = EveryFew(shop, 10_000)
    tally = run_year(shop, never)
    assert tally.below == tally.screen_days


def test_equally_safe_interval_lies_between_the_fixed_rules():
    """Half-way in days below is half-way in checks; beyond the shortest interval it stays there."""
    fixed = np.array([[120.0, 1.0], [50.0, 3.0], [25.0, 7.0]])
    assert as_safe(fixed, 2.0) == 85.0
    assert as_safe(fixed, 5.0) == 37.5
    assert as_safe(fixed, 0.1) == 120.0
    assert Tally(screen_days=365, checks=7).per_year()[0] == 7


@pytest.mark.long
@pytest.mark.timeout(600)
def test_small_sitting():
    """One small shop in one world: fewer checks than the 14-day rule, and rightly unsure."""
    runs = judge_seed("stretched exponential", 11, 60)
    ours, rival = runs["forecast"].per_year(), runs["every 14 days"].per_year()
    assert ours[0] < 0.75 * rival[0]
    assert ours[1] < rival[1]
    hits = np.array([hit for _, hit in runs["forecast"].covered])
    assert 0.70 < hits.mean() < 0.90
