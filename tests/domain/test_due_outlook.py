"""The rules of the due list that rest on the forecast; the clock stopped where days are odd."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.due import FrameRules, MeshRules, Task, due_tasks, next_reading
from framekeeper.domain.frame_state import FrameState, LastSurvey, MeshLife
from framekeeper.domain.outlook import AHEAD_DAYS, Outlook

BERLIN = ZoneInfo("Europe/Berlin")
READ_AT = dt.datetime(2025, 3, 3, 9, 0, tzinfo=dt.UTC)
RULES = MeshRules(target=24.0, limit=18.0, days_between_readings=7)
DAY = dt.timedelta(days=1)


def outlook(**changed: object) -> Outlook:
    steady = Outlook(
        read_at=READ_AT,
        tension=20.0,
        sd=0.2,
        decision="keep",
        fell_by=None,
        check_at=READ_AT + 20 * DAY,
        tension_then=19.4,
        limit=18.0,
        chances=tuple(min(d / 200, 1.0) for d in AHEAD_DAYS),
        start_is_known=True,
        cycles_per_day=0.1,
    )
    return replace(steady, **changed)  # type: ignore[arg-type]


def ready(
    mean: float = 20.0, *, lowest: float | None = None, at: dt.datetime = READ_AT
) -> FrameState:
    survey = LastSurvey(
        9, at, "in_service", mean, mean if lowest is None else lowest, 0.5, 0.2, None
    )
    life = MeshLife(1, 5, READ_AT - 40 * DAY, 24.0, day0_at=READ_AT - 39 * DAY, survey=survey)
    return FrameState("glued", "ready", since=READ_AT - 2 * DAY, life=life)


def due(
    state: FrameState, foretold: Outlook | None, now: dt.datetime, zone: dt.tzinfo = dt.UTC
) -> dict[str, Task]:
    found = due_tasks(state, RULES, FrameRules(), now=now, zone=zone, outlook=foretold)
    return {task.rule: task for task in found}


def test_the_forecast_takes_the_place_of_the_fixed_interval() -> None:
    week_later = READ_AT + 8 * DAY
    assert set(due(ready(), None, week_later)) == {"reading_due"}
    assert due(ready(), outlook(), week_later) == {}
    (task,) = due(ready(), outlook(), READ_AT + 20 * DAY).values()
    assert (task.rule, task.place, task.urgency) == ("check_tension", "round", "soon")
    assert str(task.reason) == (
        "about 19.4 N/cm on 2025-03-23, limit 18.0: below it with a chance of 10 %"
    )


@pytest.mark.parametrize(
    ("decision", "mean", "rule", "urgency"),
    [
        ("pull", 18.4, "below_limit", "below"),
        ("pull", 17.6, "below_limit", "below"),
        ("read again", 18.2, "read_again", "soon"),
        ("read again", 17.6, "read_again", "soon"),
        ("keep", 17.9, "read_again", "soon"),  # one reading does not condemn, nor is it ignored
        ("keep", 18.0, None, None),
        ("keep", 20.0, None, None),
    ],
)
def test_the_estimate_decides_not_one_reading(
    decision: str, mean: float, rule: str | None, urgency: str | None
) -> None:
    found = due(ready(mean), outlook(decision=decision), READ_AT + dt.timedelta(hours=1))
    assert list(found) == ([] if rule is None else [rule])
    if rule is not None:
        assert found[rule].urgency == urgency
        is_plain = decision == "pull" and mean < RULES.limit  # type: ignore[operator]
        assert ("with a chance of" in str(found[rule].reason)) != is_plain


def test_a_low_point_counts_whatever_the_mean_says() -> None:
    found = due(ready(20.0, lowest=17.5), outlook(), READ_AT + DAY)
    assert set(found) == {"below_limit"}


@pytest.mark.parametrize(
    ("fell_by", "asks"), [(3.0, True), (1.0, True), (0.99, False), (0.3, False)]
)
def test_a_sudden_drop_is_read_again(fell_by: float, asks: bool) -> None:
    foretold = outlook(decision="read again", fell_by=fell_by)
    (task,) = due(ready(19.5), foretold, READ_AT).values()
    assert task.rule == "read_again"
    assert ("slipped or torn?" in str(task.reason)) == asks
    assert f"{fell_by:.1f} below its forecast" in str(task.reason)


def test_one_task_for_one_reading() -> None:
    """What is to be read again is not to be checked as well."""
    late = READ_AT + 30 * DAY
    assert set(due(ready(17.0), outlook(decision="read again"), late)) == {"read_again"}
    assert set(due(ready(17.0), outlook(decision="pull"), late)) == {"below_limit"}


@pytest.mark.parametrize(
    ("read_at", "wait_days", "due_on"),
    [
        # the night of 30 March 2025 has 23 hours, that of 26 October 25 (CET and CEST)
        (dt.datetime(2025, 3, 29, 22, 30, tzinfo=dt.UTC), 1.0, dt.date(2025, 3, 31)),
        (dt.datetime(2025, 3, 28, 22, 30, tzinfo=dt.UTC), 2.0, dt.date(2025, 3, 31)),
        (dt.datetime(2025, 10, 25, 21, 30, tzinfo=dt.UTC), 1.0, dt.date(2025, 10, 26)),
        (dt.datetime(2025, 10, 25, 22, 30, tzinfo=dt.UTC), 1.0, dt.date(2025, 10, 27)),
        # a leap day is a day
        (dt.datetime(2024, 2, 27, 9, 0, tzinfo=dt.UTC), 2.0, dt.date(2024, 2, 29)),
        (dt.datetime(2024, 2, 28, 9, 0, tzinfo=dt.UTC), 2.0, dt.date(2024, 3, 1)),
        (dt.datetime(2025, 2, 27, 9, 0, tzinfo=dt.UTC), 2.0, dt.date(2025, 3, 1)),
        (dt.datetime(2024, 2, 29, 9, 0, tzinfo=dt.UTC), 366.0, dt.date(2025, 3, 1)),
        # never on the very day of the reading
        (dt.datetime(2025, 5, 5, 9, 0, tzinfo=dt.UTC), 0.2, dt.date(2025, 5, 6)),
    ],
)
def test_a_day_is_a_day_of_the_shop(
    read_at: dt.datetime, wait_days: float, due_on: dt.date
) -> None:
    foretold = outlook(read_at=read_at, check_at=read_at + wait_days * DAY)
    state = ready(at=read_at)
    starts = dt.datetime.combine(due_on, dt.time(), BERLIN)
    just_before = starts - dt.timedelta(seconds=1)
    assert due(state, foretold, just_before.astimezone(dt.UTC), BERLIN) == {}
    (task,) = due(state, foretold, starts.astimezone(dt.UTC), BERLIN).values()
    assert task.due_at == starts


def test_a_closed_shop_finds_it_late_and_not_lost() -> None:
    """Two weeks without anybody: what fell due meanwhile is there, with its own date."""
    foretold = outlook(check_at=READ_AT + 3 * DAY)
    (task,) = due(ready(), foretold, READ_AT + 17 * DAY).values()
    assert task.due_at.date() == (READ_AT + 3 * DAY).date()


@pytest.mark.parametrize("missing", [None, 7])
def test_without_a_forecast_an_interval_or_nothing(missing: int | None) -> None:
    survey = ready().life.survey  # type: ignore[union-attr]
    assert survey is not None
    rules = replace(RULES, days_between_readings=missing)
    task = next_reading(survey, rules, dt.UTC, None)
    assert (task is None) == (missing is None)


@given(st.lists(st.floats(0, 1), min_size=len(AHEAD_DAYS), max_size=len(AHEAD_DAYS)))
def test_chances_lie_on_straight_lines_between_the_days_kept(chances: list[float]) -> None:
    foretold = outlook(chances=tuple(chances))
    for place, day in enumerate(AHEAD_DAYS):
        assert foretold.chance_at(READ_AT + day * DAY) == pytest.approx(chances[place])
    for (a, low), (b, high) in pairwise(zip(AHEAD_DAYS, chances, strict=True)):
        middle = foretold.chance_at(READ_AT + (a + b) / 2 * DAY)
        assert middle == pytest.approx((low + high) / 2)
    assert foretold.chance_at(READ_AT - DAY) == chances[0]
    assert foretold.chance_at(READ_AT + 4000 * DAY) == chances[-1]


@given(
    st.lists(st.floats(0, 1), min_size=len(AHEAD_DAYS), max_size=len(AHEAD_DAYS)),
    st.floats(0.01, 0.99),
)
def test_a_chance_is_reached_when_it_is_first_there(chances: list[float], wanted: float) -> None:
    foretold = outlook(chances=tuple(chances))
    at = foretold.reached_at(wanted)
    if at is None:
        assert max(chances) < wanted
        return
    assert foretold.chance_at(at) >= wanted - 1e-6
    if at == READ_AT:
        assert chances[0] >= wanted
        return
    step = (at - READ_AT) / 50
    assert all(foretold.chance_at(READ_AT + n * step) <= wanted + 1e-6 for n in range(50))


def test_days_left_count_to_an_even_chance() -> None:
    foretold = outlook()
    assert foretold.days_left(READ_AT) == pytest.approx(100)
    assert foretold.days_left(READ_AT + 30 * DAY) == pytest.approx(70)
    assert foretold.days_left(READ_AT + 300 * DAY) == 0
    assert outlook(chances=(0.0,) * len(AHEAD_DAYS)).days_left(READ_AT) is None
