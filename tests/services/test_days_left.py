"""Days left: one number and one of three answers, which never contradict each other."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.services.days_left import DaysLeft, days_left
from tests.made_forecast import after, made_outlook


def left(even_day: float | None, days_on: float = 0.0, **changes: object) -> DaysLeft:
    found = days_left(made_outlook(even_day, **changes), after(days_on))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("even_day", "days_on", "answer", "words"),
    [
        (28, 0, "holds", "28 d"),
        (28, 13.9, "holds", "14 d"),
        (28, 14, "soon", "14 d"),
        (28, 14.1, "soon", "13 d"),
        (28, 27.5, "soon", "0 d"),
        (28, 28, "below", "0 d"),
        (28, 40, "below", "0 d"),
        (0, 0, "below", "0 d"),
        (None, 0, "holds", "> 365 d"),
        (None, 100.5, "holds", "> 264 d"),
    ],
)
def test_the_number_decides_the_answer(
    even_day: float | None, days_on: float, answer: str, words: str
) -> None:
    found = left(even_day, days_on)
    assert (found.answer, str(found.words)) == (answer, words)


def test_a_screen_that_is_to_be_pulled_is_soon_below_at_least() -> None:
    assert left(84, decision="pull").answer == "soon"
    assert left(0, decision="pull").answer == "below"


def test_nothing_is_said_once_the_forecast_is_over() -> None:
    """A year after the latest reading it reaches no further, and says nothing of that day."""
    assert days_left(made_outlook(None), after(364.5)) is None
    assert days_left(None, after(0)) is None
    found = days_left(made_outlook(28), after(400))  # that it is below was foretold
    assert found is not None
    assert found.answer == "below"


def test_fewest_days_come_first_and_what_outlasts_the_forecast_last() -> None:
    found = [left(84), left(None), left(0), left(28)]
    assert [f.days for f in sorted(found, key=lambda f: f.rank)] == [0.0, 28.0, 84.0, None]


def test_the_day_stays_the_same_while_the_days_go_by() -> None:
    first, later = left(28), left(28, 10)
    assert first.likely_at == later.likely_at == after(28)
    assert later.days == pytest.approx(18)
    assert later.chance_now == pytest.approx(0.5 * 10 / 28)
    assert later.likely_at - after(10) == dt.timedelta(days=18)
