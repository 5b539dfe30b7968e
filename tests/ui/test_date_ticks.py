"""Claims about the dates below a plot."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale

from framekeeper.ui.text import Formatter
from framekeeper.ui.widgets.date_ticks import FEWEST_DAYS, date_ticks

BERLIN = ZoneInfo("Europe/Berlin")
START = dt.datetime(2026, 11, 25, 9, tzinfo=dt.UTC)


def words(days: float, most: int, *, locale: str = "en_GB") -> list[str]:
    formatter = Formatter(QLocale(locale), zone=BERLIN)
    ticks = date_ticks(START, START + dt.timedelta(days=days), most, formatter)
    assert ticks is not None
    return [text for _, text in ticks]


@pytest.mark.parametrize(
    ("days", "most", "found"),
    [
        (5, 6, ["26 Nov", "27 Nov", "28 Nov", "29 Nov", "30 Nov"]),
        (10, 6, ["26 Nov", "28 Nov", "30 Nov", "2 Dec", "4 Dec"]),
        (40, 6, ["30 Nov", "7 Dec", "14 Dec", "21 Dec", "28 Dec", "4 Jan"]),
        (75, 6, ["30 Nov", "14 Dec", "28 Dec", "11 Jan", "25 Jan", "8 Feb"]),
        (150, 6, ["Dec", "2027", "Feb", "Mar", "Apr"]),
        (400, 6, ["2027", "Apr", "Jul", "Oct"]),
        (3000, 6, ["2028", "2030", "2032", "2034"]),
    ],
)
def test_dates_come_in_steps_that_people_count_in(days: float, most: int, found: list[str]) -> None:
    """Days, weeks from Monday, months, quarters, years; a January is told by its year."""
    assert words(days, most) == found


def test_dates_are_written_in_the_persons_language() -> None:
    assert words(75, 3, locale="de_DE") == ["Dez.", "2027", "Feb."]


def test_a_tick_stands_at_midnight_of_the_bench() -> None:
    """Also beyond the change of the clocks."""
    begin = dt.datetime(2026, 3, 27, 12, tzinfo=dt.UTC)
    ticks = date_ticks(begin, begin + dt.timedelta(days=4), 9, Formatter(QLocale.c(), zone=BERLIN))
    assert ticks is not None
    at = [dt.datetime.fromtimestamp(x, BERLIN) for x, _ in ticks]
    assert [(m.day, m.hour) for m in at] == [(28, 0), (29, 0), (30, 0), (31, 0)]


def test_hours_are_left_to_the_plot() -> None:
    short = START + dt.timedelta(days=FEWEST_DAYS - 0.1)
    assert date_ticks(START, short, 6, Formatter(QLocale.c())) is None


@given(st.floats(FEWEST_DAYS, 20_000), st.integers(2, 12), st.floats(0, 400))
def test_never_too_many_and_always_in_order(days: float, most: int, later: float) -> None:
    begin = START + dt.timedelta(days=later)
    end = begin + dt.timedelta(days=days)
    ticks = date_ticks(begin, end, most, Formatter(QLocale.c(), zone=dt.UTC))
    assert ticks is not None
    assert len(ticks) <= most + 1
    assert all(a[0] < b[0] for a, b in pairwise(ticks))
    assert all(begin.timestamp() <= x <= end.timestamp() for x, _ in ticks)
