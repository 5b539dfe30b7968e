"""What thresholds do is told before they are saved: readings, days at risk, what it rests on."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain.errors import NotFound
from framekeeper.domain.stretch_history import own_pace
from framekeeper.domain.tasks import MeshRules
from framekeeper.domain.waiting import MONTH_DAYS
from framekeeper.services import check, forecasts, marks, rule_effect, stretch
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.rule_effect import Effect, Ground, effect_on
from tests.fakes import FakeClock
from tests.services.fitted_fleet import LIMIT, history, kept_fit, mesh_type, ordinary
from tests.services.shoptalk import MESH, in_clamps

RULES = MeshRules(target=25, limit=LIMIT)
limits = st.floats(16, 24)
risks = st.floats(0.001, 0.5)
waits = st.integers(1, 120)


@lru_cache(maxsize=1)
def ground() -> Ground:
    """Screens that begin at 25 and cross 20 N/cm after a season or a year; one is near it."""
    screens = [*ordinary(), history(90, start=22.6, loss=0.06)]
    return Ground(mesh_type(), tuple(screens), 0, kept_fit(screens))


def effect(**changes: object) -> Effect:
    return effect_on(ground(), replace(RULES, **changes))  # type: ignore[arg-type]


def test_it_counts_readings_days_and_restretches_of_a_month() -> None:
    found = effect()
    assert (found.screens, found.at_once, found.by_forecast) == (25, 0, True)
    # 42 days at most between two readings, so at least 25 x 30.4 / 42 = 18 of them.
    assert found.checks_a_month > 25 * MONTH_DAYS / 42
    assert found.days_at_risk_a_month is not None
    assert found.restretches is not None
    assert 0 < found.days_at_risk_a_month < 25 * 0.8
    assert 0 < found.restretches < 3
    assert str(found.said).startswith(f"about {found.checks_a_month:.0f} readings and ")
    assert "An estimate" in str(found.notes[0])


def test_a_fixed_interval_reads_every_screen_as_often() -> None:
    found = effect(risk=None, days_between_readings=10)
    assert found.checks_a_month == pytest.approx(25 * MONTH_DAYS / 10)
    assert not found.by_forecast
    weekly = effect(risk=None, days_between_readings=7)
    assert found.days_at_risk_a_month is not None
    assert weekly.days_at_risk_a_month is not None
    assert 0 < weekly.days_at_risk_a_month < found.days_at_risk_a_month


def test_with_a_risk_the_fixed_interval_does_not_count() -> None:
    assert effect(days_between_readings=1) == effect(days_between_readings=30)


def test_without_any_rule_nobody_reads() -> None:
    found = effect(risk=None, days_between_readings=None)
    assert (found.checks_a_month, found.days_at_risk_a_month) == (0, None)
    assert "No rule asks for readings." in map(str, found.notes)


def test_without_a_limit_or_a_fit_only_the_interval_is_told() -> None:
    """No days at risk are made up."""
    no_limit = effect(limit=None, days_between_readings=10)
    assert no_limit.checks_a_month == pytest.approx(25 * MONTH_DAYS / 10)
    assert (no_limit.days_at_risk_a_month, no_limit.restretches) == (None, None)
    assert "Without a limit" in str(no_limit.notes[0])
    unfitted = effect_on(replace(ground(), fit=None), RULES)
    assert unfitted.checks_a_month == pytest.approx(25 * MONTH_DAYS / 7)
    assert "Nothing is foretold yet" in str(unfitted.notes[0])


def test_what_the_limit_takes_down_at_once_is_told_apart() -> None:
    """It makes no readings and no days, but it is restretched."""
    high = effect(limit=22.5)
    assert high.at_once > 0
    assert high.screens + high.at_once == 25
    assert f"at once under this limit: {high.at_once}" in str(high.notes[0])
    assert high.restretches is not None
    assert high.restretches >= high.at_once * 0.3


def test_a_screen_that_fell_is_read_again_first_and_not_counted() -> None:
    """What comes after that reading nobody knows; its month would be thirty readings."""
    fell = history(91, start=24, fall=2.5, fell_after=30)
    found = effect_on(replace(ground(), screens=(*ground().screens, fell)), RULES)
    assert (found.screens, found.at_once) == (25, 1)
    assert found.checks_a_month == pytest.approx(effect().checks_a_month)
    assert found.days_at_risk_a_month == pytest.approx(effect().days_at_risk_a_month)


@pytest.mark.parametrize("risk", [0.01, 0.04, 0.15])
def test_the_waits_are_those_of_the_due_list(risk: float) -> None:
    """Which counts whole days; what is told lies within one of them."""
    found, model = effect(risk=risk, limit=21.8), ground().model
    assert model is not None
    assert ground().fit is not None
    screens = ground().screens
    keys, last = [s.key for s in screens], np.array([s.readings[-1].day for s in screens])
    pace = [own_pace(s, ground().fit.fleet["usual_pace"]) for s in screens]  # type: ignore[union-attr]
    stays = model.decide(keys, today=last, limit=21.8) == "keep"
    due = model.next_check(
        keys, today=last, limit=21.8, cycles_per_day=pace, risk=risk, max_days=42
    )
    wait = (due - last)[stays]
    assert len(set(np.round(wait))) > 2
    most = np.where(wait > 49.5, wait, np.maximum(wait - 1, 1))
    assert np.sum(MONTH_DAYS / wait) <= found.checks_a_month + 1e-9
    assert found.checks_a_month <= np.sum(MONTH_DAYS / most) + 1e-9


def test_few_screens_are_a_hint_and_unread_ones_are_named() -> None:
    screens = ground().screens[:3]
    few = effect_on(replace(ground(), screens=screens, never_read=2), RULES)
    told = " ".join(map(str, few.notes))
    assert "Screens that this rests on: 3. Take it as a hint." in told
    assert "Never read since their tension was set: 2." in told
    assert "hint" not in " ".join(map(str, effect().notes))


@settings(max_examples=25, deadline=None)
@given(risks, risks, waits, limits)
def test_more_risk_never_means_more_readings(
    one: float, other: float, longest: int, limit: float
) -> None:
    less, more = sorted((one, other))
    careful = effect(risk=less, longest_wait_days=longest, limit=limit)
    daring = effect(risk=more, longest_wait_days=longest, limit=limit)
    assert daring.checks_a_month <= careful.checks_a_month + 1e-9


@settings(max_examples=25, deadline=None)
@given(risks, waits, waits, limits)
def test_a_longer_wait_never_means_more_readings(
    risk: float, one: int, other: int, limit: float
) -> None:
    shorter, longer = sorted((one, other))
    often = effect(risk=risk, longest_wait_days=shorter, limit=limit)
    seldom = effect(risk=risk, longest_wait_days=longer, limit=limit)
    assert seldom.checks_a_month <= often.checks_a_month + 1e-9


@settings(max_examples=25, deadline=None)
@given(risks, waits, limits, limits, st.booleans())
def test_a_higher_limit_never_means_less_work_or_fewer_days_at_risk(
    risk: float, longest: int, one: float, other: float, by_forecast: bool
) -> None:
    """Days are compared on the screens that the higher limit leaves in service.

    What it takes down at once spends no more days below.
    """
    low, high = sorted((one, other))
    rules = {"risk": risk if by_forecast else None, "longest_wait_days": longest,
             "days_between_readings": longest}  # fmt: skip
    lax, strict = effect(limit=low, **rules), effect(limit=high, **rules)
    assert strict.at_once >= lax.at_once
    assert lax.restretches is not None
    assert strict.restretches is not None
    assert strict.restretches >= lax.restretches - 1e-9
    stay = tuple(s for s in ground().screens if _stays(s.key, high))
    if not stay:
        return
    both = replace(ground(), screens=stay)
    before, after = (
        effect_on(both, replace(RULES, limit=limit, **rules)).days_at_risk_a_month  # type: ignore[arg-type]
        for limit in (low, high)
    )
    assert before is not None
    assert after is not None
    assert after >= before - 1e-9


def _stays(key: int, limit: float) -> bool:
    model = ground().model
    assert model is not None
    last = next(s.readings[-1].day for s in ground().screens if s.key == key)
    return str(model.decide(key, today=last, limit=limit)) == "keep"


def test_the_order_of_screens_does_not_matter() -> None:
    turned = effect_on(replace(ground(), screens=ground().screens[::-1]), RULES)
    assert turned.checks_a_month == pytest.approx(effect().checks_a_month)
    assert turned.days_at_risk_a_month == pytest.approx(effect().days_at_risk_a_month)
    assert turned.restretches == pytest.approx(effect().restretches)


# in a shop


def released(desk: Desk) -> str:
    code = in_clamps(desk)
    stretch.glue(desk, [code], cure=dt.timedelta(0))
    stretch.release(desk, [code])
    return code


def test_the_shops_own_screens_in_service_are_counted(stocked: Desk, clock: FakeClock) -> None:
    """Those in the rack with this mesh; not the pulled one, the unread one only as such."""
    codes = [released(stocked) for _ in range(4)]
    for wait, tension in ((0, 24.0), (2, 23.0), (20, 22.4)):
        clock.go_on(days=wait)
        for code in codes:
            check.survey(stocked, code, SurveyRequest((tension,) * 5, (tension,) * 5))
    marks.pull(stocked, codes[:1], "slack")
    released(stocked)
    assert not rule_effect.effect(stocked, MESH, RULES).by_forecast  # nothing was fitted yet
    forecasts.refresh(stocked)
    with stocked.read() as reader:
        before = reader.last_operation_id()
    found = rule_effect.effect(stocked, MESH, replace(RULES, limit=18))
    assert (found.screens, found.at_once, found.by_forecast) == (3, 0, True)
    assert "Never read since their tension was set: 1." in map(str, found.notes)
    with stocked.read() as reader:
        assert reader.last_operation_id() == before  # it only looked
    with pytest.raises(NotFound):
        rule_effect.effect(stocked, "no such mesh", RULES)


def test_both_sets_of_thresholds_are_compared_on_the_same_screens(
    stocked: Desk, clock: FakeClock
) -> None:
    code = released(stocked)
    check.survey(stocked, code, SurveyRequest((24.0,), (24.0,)))
    forecasts.refresh(stocked)
    known = rule_effect.gather(stocked, MESH)
    now, then = rule_effect.compare(known, replace(known.mesh.rules, longest_wait_days=2))
    assert now == rule_effect.effect_on(known, known.mesh.rules)
    assert then.checks_a_month >= MONTH_DAYS / 2 - 1e-9 > now.checks_a_month
