"""The days on which a shop works, against published examples and a walk from day to day."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.work_calendar import WorkCalendar
from tests.domain.published import FOLDER

D = dt.date
ONE = dt.timedelta(days=1)


def published() -> dict:
    """Check A9-O3; its source stands in the file."""
    listed = json.loads((FOLDER / "calendar.json").read_text(encoding="utf-8"))
    return next(check for check in listed if check["id"] == "A9-O3")


def closed(*days: D) -> WorkCalendar:
    return WorkCalendar(holidays=frozenset(days))


START, END = D(2012, 10, 1), D(2013, 3, 1)
THANKS, DECEMBER, JANUARY = D(2012, 11, 22), D(2012, 12, 4), D(2013, 1, 21)
COMPUTED: dict[str, Callable[[], object]] = {
    "(a) no holidays": lambda: closed().add(D(2008, 10, 1), 151).isoformat(),
    "(a) with holidays": lambda: (
        closed(D(2008, 11, 26), D(2008, 12, 4), D(2009, 1, 21)).add(D(2008, 10, 1), 151).isoformat()
    ),
    "(b) none": lambda: closed().count(START, END),
    "(b) one holiday": lambda: closed(THANKS).count(START, END),
    "(b) three holidays": lambda: closed(THANKS, DECEMBER, JANUARY).count(START, END),
    "(c) January 2011": lambda: closed().count(D(2011, 1, 1), D(2011, 1, 31)),
    "(c) 2011": lambda: closed().count(D(2011, 1, 1), D(2011, 12, 31)),
    "(d)": lambda: closed().next_open(D(2011, 10, 1)).isoformat(),
}


@pytest.mark.parametrize("quantity", list(published()["expected"]))
def test_published_examples_of_working_days(quantity: str) -> None:
    assert COMPUTED[quantity]() == published()["expected"][quantity]["value"]


days = st.dates(D(2023, 1, 1), D(2029, 12, 31))
calendars = st.builds(
    WorkCalendar,
    st.frozensets(st.integers(0, 6), min_size=1),
    st.frozensets(st.dates(D(2024, 1, 1), D(2024, 4, 30)), max_size=30),
)


@given(calendars, days, st.integers(0, 40))
def test_counting_and_adding_agree_with_walking_day_by_day(
    calendar: WorkCalendar, first: D, length: int
) -> None:
    last = first + length * ONE
    walked = [first + n * ONE for n in range(length + 1) if calendar.is_open(first + n * ONE)]
    assert calendar.count(first, last) == len(walked)
    assert list(calendar.open_days(first, last)) == walked
    after = calendar.add(first, length)
    assert calendar.is_open(after)
    if length:
        assert calendar.count(first + ONE, after) == length
        assert calendar.count(calendar.add(first, -length), first - ONE) == length
    else:
        assert after == calendar.next_open(first)


@given(calendars, days)
def test_the_nearest_open_days_have_only_closed_ones_between(
    calendar: WorkCalendar, day: D
) -> None:
    after, before = calendar.next_open(day), calendar.last_open(day)
    assert before <= day <= after
    assert calendar.is_open(before)
    assert calendar.is_open(after)
    between = calendar.count(before, after)
    assert between == (1 if calendar.is_open(day) else 2)


def test_a_leap_day_is_a_day_like_any_other() -> None:
    calendar = WorkCalendar()
    assert calendar.add(D(2024, 2, 28), 1) == D(2024, 2, 29)
    assert calendar.count(D(2024, 2, 26), D(2024, 3, 1)) == 5
    assert calendar.add(D(2023, 2, 28), 1) == D(2023, 3, 1)


def test_a_shop_closed_for_two_weeks_opens_after_them() -> None:
    away = frozenset(D(2025, 8, 4) + n * ONE for n in range(14))
    calendar = WorkCalendar(holidays=away)
    assert calendar.next_open(D(2025, 8, 4)) == D(2025, 8, 18)
    assert calendar.last_open(D(2025, 8, 17)) == D(2025, 8, 1)
    assert calendar.count(D(2025, 8, 2), D(2025, 8, 17)) == 0
    assert calendar.count(D(2025, 8, 17), D(2025, 8, 2)) == 0


@pytest.mark.parametrize("weekdays", [frozenset(), frozenset({7}), frozenset({0, -1})])
def test_a_week_that_cannot_be_is_refused(weekdays: frozenset[int]) -> None:
    with pytest.raises(NotValid) as refused:
        WorkCalendar(weekdays)
    assert refused.value.argument == "weekdays"


def test_a_calendar_that_ends_says_so() -> None:
    with pytest.raises(NotValid, match="far away"):
        WorkCalendar().add(dt.date.max, 1)
