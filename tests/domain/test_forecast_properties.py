"""What must hold for every fleet: monotone answers, no matter the order, the unit, or how few."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain.forecast import FleetModel, Observations, fit_fleet
from framekeeper.domain.forecast_prior import METER_BIAS

from .forecast_fleets import fleet, joined, one, scaled, shuffled

FEW = settings(max_examples=40, deadline=None)
SOME = settings(max_examples=5, deadline=None)


@cache
def shop() -> FleetModel:
    return fit_fleet(fleet(40, 6, seed=5))


@cache
def straight_shop() -> FleetModel:
    """A shop whose screens differ in level only, so that the latest reading counts for little."""
    return fit_fleet(fleet(40, 6, seed=6, loss_sd=0.0005, noise=0.6))


gaps = st.lists(st.floats(0.5, 60), min_size=0, max_size=6)
shares = st.lists(st.floats(-1.5, 1.5), min_size=7, max_size=7)


def history(waits: list[float], noise: list[float]) -> tuple[list[float], list[float]]:
    day = np.r_[0.0, np.cumsum(waits)]
    tension = 25 - 1.3 * np.log10(1 + day) - 0.005 * day + np.array(noise[: day.size])
    return day.tolist(), tension.tolist()


@FEW
@given(
    waits=gaps,
    noise=shares,
    lower=st.floats(0, 12),
    limit=st.floats(15, 24),
    repeat=st.booleans(),
    which=st.booleans(),
)
def test_lower_reading_never_gives_a_later_check(waits, noise, lower, limit, repeat, which):
    """However far the latest reading lies below another, drop or not, the check is not later."""
    model = shop() if which else straight_shop()
    day, tension = history(waits, noise)
    if repeat:
        day, tension = [*day, day[-1]], [*tension, tension[-1] + 0.2]
    less = [*tension[:-1], max(tension[-1] - lower, 2.0)]
    ask = {"today": day[-1], "limit": limit, "cycles_per_day": 0.2}
    check = model.with_readings(one("x", day, tension)).next_check("x", **ask)
    sooner = model.with_readings(one("x", day, less)).next_check("x", **ask)
    assert sooner <= check


@FEW
@given(
    waits=gaps,
    noise=shares,
    limit=st.floats(15, 24),
    risk=st.tuples(st.floats(0.005, 0.6), st.floats(0.005, 0.6)),
    wait=st.floats(0, 80),
)
def test_more_risk_never_gives_an_earlier_check(waits, noise, limit, risk, wait):
    """Allowing more risk never brings a check or a crossing forward."""
    day, tension = history(waits, noise)
    model = shop().with_readings(one("x", day, tension))
    less, more = sorted(risk)
    ask = {"today": day[-1] + wait, "limit": limit, "cycles_per_day": 0.2}
    assert model.next_check("x", risk=less, **ask) <= model.next_check("x", risk=more, **ask)
    ask["horizon_days"] = 300
    assert model.crossing("x", risk=less, **ask) <= model.crossing("x", risk=more, **ask)


@FEW
@given(waits=gaps, noise=shares, limit=st.floats(15, 24), wait=st.floats(0, 80))
def test_check_lies_between_today_and_the_longest_wait(waits, noise, limit, wait):
    """A check is never in the past, never right away after a reading, never past the cap."""
    day, tension = history(waits, noise)
    model = shop().with_readings(one("x", day, tension))
    today = day[-1] + wait
    check = float(model.next_check("x", today=today, limit=limit, cycles_per_day=0.2, max_days=25))
    assert today <= check
    assert day[-1] + 1 <= check <= max(today, day[-1] + 25)


@FEW
@given(waits=gaps, noise=shares, limits=st.tuples(st.floats(15, 24), st.floats(15, 24)))
def test_higher_limit_never_gives_a_later_check_or_a_milder_decision(waits, noise, limits):
    """A stricter limit is never checked later, and never keeps what a milder one pulls."""
    day, tension = history(waits, noise)
    model = shop().with_readings(one("x", [*day, day[-1]], [*tension, tension[-1]]))
    mild, strict = sorted(limits)
    ask = {"today": day[-1], "cycles_per_day": 0.2}
    assert model.next_check("x", limit=strict, **ask) <= model.next_check("x", limit=mild, **ask)
    says = [str(model.decide("x", today=day[-1], limit=v)) for v in (mild, strict)]
    order = ["keep", "read again", "pull"]
    assert order.index(says[0]) <= order.index(says[1])


def answers(model: FleetModel, factor: float = 1.0) -> np.ndarray:
    names = np.arange(12)
    ask = {"today": 210, "limit": 20 * factor, "cycles_per_day": 0.2}
    mean, sd = model.predict(names, 250, 50)
    return np.array(
        [
            mean / factor,
            sd / factor,
            model.next_check(names, **ask),
            model.crossing(names, risk=0.2, horizon_days=300, **ask),
        ]
    )


@SOME
@given(factor=st.floats(0.05, 40), seed=st.integers(0, 99))
def test_units_do_not_matter(factor, seed):
    """Readings and limit in another unit give the same days, and tensions in that unit."""
    obs = fleet(12, 4, seed=seed)
    got = answers(fit_fleet(scaled(obs, factor)), factor)
    want = answers(fit_fleet(obs))
    np.testing.assert_allclose(got[:2], want[:2], rtol=1e-3)
    # rounding may move the search for the sizes by a hair, and a hair may move a whole day
    far = np.isinf(want[2:])
    assert np.array_equal(np.isinf(got[2:]), far)
    assert np.all(np.abs(got[2:][~far] - want[2:][~far]) <= 1)


@SOME
@given(seed=st.integers(0, 99))
def test_order_of_rows_does_not_matter(seed):
    """The same readings in any order give the very same answers, repeats of a sitting included."""
    obs = joined(fleet(12, 4, seed=seed), fleet(12, 1, seed=seed + 1))
    assert np.array_equal(answers(fit_fleet(shuffled(obs, seed))), answers(fit_fleet(obs)))


def test_questions_in_arrays_equal_questions_one_by_one():
    """Arrays and scalars are broadcast; each answer stands for itself."""
    model = fit_fleet(joined(fleet(20, 5), one(90, [0, 3], [25.0, 24.0], group=0)))
    names, today = np.array([3, 90, 7, 3]), np.array([210.0, 50.0, 300.0, 260.0])
    limit = np.array([20.0, 21.0, 22.0, 21.0])
    ask = {"cycles_per_day": 0.2}
    many = model.next_check(names, today=today, limit=limit, **ask)
    says = model.decide(names, today=today, limit=limit)
    mean, sd = model.predict(names[None, :], today[None, :], 30)
    assert mean.shape == sd.shape == (1, 4)
    for i, name in enumerate(names):
        lone = {"today": today[i], "limit": limit[i]}
        assert model.next_check(name, **lone, **ask) == many[i]
        assert model.decide(name, **lone) == says[i]
        assert model.predict(name, today[i], 30)[0] == pytest.approx(mean[0, i], rel=1e-9)
    assert model.crossing(3, today=210, limit=20, risk=0.1, horizon_days=9, **ask).shape == ()


DEGENERATE = {
    "one reading": one("a", [0], [25.0]),
    "one reading, late": one("a", [500], [18.0]),
    "one screen": one("a", [0, 7, 30], [25.0, 23.5, 22.9]),
    "one reading each": joined(*(one(n, [0], [24 + n / 9]) for n in range(9))),
    "all equal": Observations(
        np.repeat(np.arange(9), 4), [0, 5, 9, 40] * 9, [0] * 36, [25.0] * 36, [0] * 36
    ),
    "all on one day": Observations(range(9), [30] * 9, [4] * 9, [21.0] * 9, [0] * 9),
    "a gap of a year": one("a", [0, 1, 370, 372], [25.0, 24.0, 21.0, 21.1]),
    "200 readings": one("a", np.linspace(0, 300, 200).tolist(), [22.0] * 200),
    "200 in one sitting": one("a", [3.0] * 200, np.linspace(20, 26, 200).tolist()),
    "rising": one("a", [0, 30, 60, 90], [18.0, 20.0, 22.0, 25.0]),
    "each its own group": Observations(range(30), [9] * 30, [1] * 30, [24.0] * 30, range(30)),
    "text and gaps in names": joined(one("a", [0], [25.0]), one("B 7", [400], [19.0], "x")),
    "wild": one("a", [0, 1, 2, 3, 4, 5], [25.0, 3.0, 50.0, 1.0, 60.0, 20.0]),
}


@pytest.mark.parametrize("obs", DEGENERATE.values(), ids=DEGENERATE.keys())
def test_degenerate_fleets_give_a_model_that_knows_how_little_it_knows(obs):
    """Few or odd readings give a forecast with honest doubt, never a crash or a confident guess."""
    model = fit_fleet(obs)
    name, last = obs.stretch[-1], float(obs.day[obs.stretch == obs.stretch[-1]].max())
    ahead = np.array([0, 30, 365]) + last
    mean, sd = model.predict(name, ahead, ahead / 5)
    assert np.all(np.isfinite(mean))
    assert np.all(np.diff(sd) > 0), "doubt grows with the time ahead"
    if len(obs) < 100:
        assert sd[2] > 0.02 * mean[2], "a few readings do not know a year ahead to 2 percent"
    assert sd[2] > METER_BIAS * mean[2], "no number of readings averages the meter's bias away"
    check = model.next_check(name, today=last, limit=20.0, cycles_per_day=0.2)
    assert last < check <= last + 50
    assert model.decide(name, today=last, limit=20.0) in ("keep", "read again", "pull")
    crossed = model.crossing(
        name, today=last, limit=20.0, cycles_per_day=0.2, risk=0.5, horizon_days=100
    )
    assert crossed >= last


def test_first_day_of_a_shop_speaks_from_the_prior():
    """One reading: the forecast for a year is the prior's loss, with a doubt of several N/cm."""
    model = fit_fleet(one("a", [0], [25.0]))
    mean, sd = model.predict("a", [1, 30, 365], [0, 6, 73])
    assert 23 < mean[0] < 25
    assert np.all(np.diff(mean) < 0)
    assert 1.0 < sd[2] < 6.0


def test_doubt_of_the_prior_fades_with_readings():
    """The more screens a shop has read, the surer the forecast of a fresh one."""
    doubts = []
    for stretches in (2, 20, 200):
        model = fit_fleet(fleet(stretches, 6, seed=9))
        new = model.with_readings(one("new", [0], [25.0]))
        doubts.append(float(new.predict("new", 100, 20)[1]))
    assert doubts[0] > doubts[1] > doubts[2]
