"""Proves the waits between readings and what they risk, against a slow twin and the model."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from framekeeper.domain import forecast_prior as prior
from framekeeper.domain.forecast import fit_fleet
from framekeeper.domain.forecast_model import DAYS_PER_RISK, FleetModel
from framekeeper.domain.trade_decay import trade_figures, trade_left
from framekeeper.domain.waiting import (
    DAILY_DAYS,
    LEAST_WAIT_DAYS,
    MONTH_DAYS,
    days_ahead,
    expected_days_below,
    waits_by_risk,
)
from tests.domain.forecast_fleets import fleet

Array = NDArray[np.float64]
DAYS = 40
chances = st.lists(
    st.lists(st.floats(0, 1), min_size=DAYS + 1, max_size=DAYS + 1), min_size=1, max_size=4
)
bounds = st.floats(0.01, 10)


def waits(chance: Array, bound: float, longest: float = DAYS) -> Array:
    return waits_by_risk(days_ahead(DAYS), chance, days_at_risk=bound, longest_days=longest)


def rate(chance: Array, wait: Array) -> Array:
    """Days below the limit for each day of waiting."""
    return expected_days_below(days_ahead(DAYS), chance, wait) / wait


def slow_wait(row: Array, bound: float, longest: float) -> float:
    """Walk in small steps until the bound is spent."""
    step, spent, at = 1e-3, 0.0, 0.0
    while at < longest:
        spent += step * float(np.interp(at + step / 2, np.arange(row.size), row))
        at += step
        if spent >= bound:
            break
    return min(max(at, 1.0), longest)


@pytest.fixture(scope="module")
def model() -> FleetModel:
    return fit_fleet(fleet(30, 6, seed=4))


def test_waits_agree_with_a_slow_twin() -> None:
    rng = np.random.default_rng(11)
    chance = np.sort(rng.uniform(0, 0.4, (6, DAYS + 1)), axis=1) * rng.uniform(0, 1, (6, 1))
    for bound in (0.05, 0.8, 3.0):
        found = waits(chance, bound)
        slow = [slow_wait(row, bound, DAYS) for row in chance]
        np.testing.assert_allclose(found, slow, atol=3e-3)


def test_the_days_below_of_a_wait_are_the_bound_that_ended_it() -> None:
    """A chance of 10 % on every day: 0.8 days are spent after eight days, 4 after the longest."""
    chance = np.full((1, DAYS + 1), 0.1)
    assert waits(chance, 0.8) == pytest.approx(8)
    assert expected_days_below(days_ahead(DAYS), chance, np.array([8.0])) == pytest.approx(0.8)
    assert waits(chance, 5.0) == pytest.approx(DAYS)
    assert rate(chance, np.array([float(DAYS)])) == pytest.approx(0.1)


def test_a_screen_without_a_chance_of_falling_waits_as_long_as_it_may() -> None:
    assert waits(np.zeros((1, DAYS + 1)), 0.8, 25) == 25
    assert waits(np.ones((1, DAYS + 1)), 0.3) == LEAST_WAIT_DAYS


@pytest.mark.parametrize("risk", [0.01, 0.04, 0.2])
def test_rounded_up_to_whole_days_it_is_what_the_model_says(model: FleetModel, risk: float) -> None:
    """Wherever the latest reading was no sudden drop."""
    keys = np.arange(30)
    last = np.array([model.fitted.history(i).day[-1] for i in range(30)])
    day = days_ahead(50)
    chance = model.chances(keys, ahead=day, limit=20.5, cycles_per_day=0.2)
    found = waits_by_risk(day, chance, days_at_risk=risk * DAYS_PER_RISK, longest_days=50)
    told = model.next_check(
        keys, today=last, limit=20.5, cycles_per_day=0.2, risk=risk, max_days=50
    )
    steady = ~model.fell(keys)
    assert steady.sum() > 20
    assert len(set(np.round(found))) > 3
    np.testing.assert_array_equal(np.ceil(found - 1e-9)[steady], np.round(told - last)[steady])


@given(chances, bounds, st.floats(1, 4), st.floats(1, DAYS))
def test_more_risk_and_a_longer_wait_never_mean_more_readings(
    rows: list[list[float]], bound: float, more: float, longest: float
) -> None:
    chance = np.array(rows)
    wait = waits(chance, bound, longest)
    assert np.all(waits(chance, bound * more, longest) >= wait - 1e-9)
    assert np.all(waits(chance, bound, DAYS) >= wait - 1e-9)


@given(chances, bounds, st.floats(0, 1), st.floats(1, DAYS))
def test_likelier_to_be_below_never_means_fewer_days_at_risk(
    rows: list[list[float]], bound: float, lift: float, longest: float
) -> None:
    """By forecast, where the wait shortens with the chance, and by a fixed interval."""
    chance = np.array(rows)
    higher = chance + lift * (1 - chance)
    low, high = (rate(c, waits(c, bound, longest)) for c in (chance, higher))
    assert np.all(high >= low - 1e-9)
    fixed = np.full(len(rows), longest)
    assert np.all(rate(higher, fixed) >= rate(chance, fixed) - 1e-9)


def test_the_days_that_are_asked_for_reach_as_far_as_the_wait() -> None:
    """Day by day for a year, then month by month."""
    assert days_ahead(7).tolist() == list(range(8))
    far = days_ahead(3650)
    assert far[-1] >= 3650
    assert np.all(np.diff(far) > 0)
    assert far[DAILY_DAYS] == DAILY_DAYS
    assert far[DAILY_DAYS + 1] == pytest.approx(DAILY_DAYS + MONTH_DAYS)


def test_the_trades_figures_are_those_that_the_forecast_starts_from() -> None:
    night, decade, first, later = trade_figures()
    assert night.percent == 100 * prior.FIRST_NIGHT_LOSS
    assert decade.percent == 100 * prior.LOSS_PER_DECADE
    assert first.percent == pytest.approx(100 * (prior.CYCLE_LOSS + prior.SETTLED_CYCLE_LOSS))
    assert later.percent == 100 * prior.SETTLED_CYCLE_LOSS
    assert "Pushing the Limit" in str(night.source)
    assert "no source" in str(later.source)


def test_what_the_trade_leaves_is_what_its_figures_add_up_to() -> None:
    """Nine days are a decade: 5 % and the whole first night; ten cycles taper off on the way."""
    whole, nine, used = *trade_left([0, 9], 0), trade_left([9], 10 / 9)[0]
    assert whole == pytest.approx(100)
    assert nine == pytest.approx(100 - 5 - 4, abs=0.01)
    taper = 0.4 * 10 * (1 - np.exp(-1)) + 0.08 * 10
    assert used == pytest.approx(nine - taper)
