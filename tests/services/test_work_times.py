"""When the shop works, as a person writes it and as a plan needs it."""

from __future__ import annotations

import datetime as dt
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.due import Place, Rule
from framekeeper.domain.errors import NotValid
from framekeeper.services.settings import BENCHES, ShopSettings
from framekeeper.services.work_times import (
    bench_minutes,
    holidays_in,
    holidays_text,
    task_kind,
    task_minutes,
    weekdays_in,
    weekdays_text,
    work_calendar,
)

D = dt.date


@given(st.sets(st.integers(0, 6)))
def test_weekdays_are_read_back_as_they_are_written(days: set[int]) -> None:
    assert weekdays_in(weekdays_text(sorted(days))) == tuple(sorted(days))


@given(st.sets(st.dates(D(2024, 1, 1), D(2024, 12, 31)), max_size=60))
def test_closed_days_are_read_back_as_they_are_written(days: set[D]) -> None:
    assert holidays_in(holidays_text(sorted(days))) == tuple(sorted(days))


def test_a_person_may_write_a_whole_closure() -> None:
    away = holidays_in("2025-12-24..2025-12-26; 2025-05-01")
    assert away == (D(2025, 5, 1), D(2025, 12, 24), D(2025, 12, 25), D(2025, 12, 26))
    assert holidays_text(away) == "2025-05-01, 2025-12-24..2025-12-26"
    assert holidays_in("2024-02-28..2024-03-01") == (
        D(2024, 2, 28), D(2024, 2, 29), D(2024, 3, 1),
    )  # fmt: skip
    assert weekdays_in("Monday, Tue;  friday") == (0, 1, 4)


@pytest.mark.parametrize(
    "text", ["christmas", "2025-02-29", "2025-08-15..2025-08-04", "2025-01-01..2027-01-01", ".."]
)
def test_closed_days_that_cannot_be_are_refused(text: str) -> None:
    with pytest.raises(NotValid) as refused:
        holidays_in(text)
    assert refused.value.argument == "holidays"


def test_a_day_that_no_week_has_is_refused() -> None:
    with pytest.raises(NotValid):
        weekdays_in("mon moonday fri someday")


def test_the_plan_gets_the_shops_own_times() -> None:
    shop = ShopSettings(working_weekdays=(0,), holidays=(D(2025, 3, 3),), prep_minutes_a_day=7)
    assert work_calendar(shop).next_open(D(2025, 3, 1)) == D(2025, 3, 10)
    assert work_calendar(shop, [D(2025, 3, 10)]).next_open(D(2025, 3, 1)) == D(2025, 3, 17)
    minutes = bench_minutes(shop, {"rack": 99.0})
    assert (minutes.per_day["prep"], minutes.per_day["rack"], minutes.per_set_up) == (7, 99, 10)
    assert set(BENCHES) == set(get_args(Place)) == set(minutes.per_day)


def test_every_rule_takes_some_time() -> None:
    shop = ShopSettings()
    assert all(task_minutes(shop, rule) > 0 for rule in get_args(Rule))
    assert task_minutes(ShopSettings(read_minutes=4), "reading_due") == 4
    assert task_minutes(ShopSettings(look_minutes=1), "overdue_outside") == 1
    assert task_kind("meter_found_out") == task_kind("reading_due") == "read"
    assert (task_kind("uneven"), task_kind("regrind")) == ("look", "regrind")
