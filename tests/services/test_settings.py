"""The shop's own settings."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from framekeeper.domain.errors import NotValid
from framekeeper.services import history, settings
from framekeeper.services.desk import Desk
from framekeeper.services.settings import ShopSettings
from tests.services.shoptalk import rows


def test_a_new_shop_has_the_defaults(desk: Desk) -> None:
    assert settings.read_settings(desk) == ShopSettings()


def test_what_was_chosen_is_kept_and_the_rest_stays(desk: Desk) -> None:
    done = settings.change_settings(desk, shop_name="Squeegee Lane", paper="letter")
    assert settings.read_settings(desk) == ShopSettings(shop_name="Squeegee Lane", paper="letter")
    assert done.changes.kinds == {"settings"}
    before = rows(desk)
    settings.change_settings(desk, paper="letter")
    assert rows(desk) == before


@pytest.mark.parametrize(
    "wrong",
    [
        {"colour_of_the_door": "red"},
        {"paper": "legal"},
        {"paper": 4},
        {"length_unit": "furlong"},
        {"cut_allowance_mm": -1},
        {"cut_allowance_mm": 1001},
        {"cut_allowance_mm": 50.5},
        {"cut_allowance_mm": True},
        {"regrind_after_stretches": 0},
        {"point_pattern": "7"},
        {"point_pattern": "own"},
        {"own_points": ((50.0, 50.0),)},
        {"own_points": ((50.0, 50.0), (0.0, 20.0))},
        {"own_points": ((50.0, 50.0), (20.0, float("nan")))},
        {"own_points": ((50.0, 50.0), (50.0, 50.0))},
        {"own_points": ((50.0, 50.0), (20.0,))},
        {"own_points": tuple((float(n), 50.0) for n in range(1, 14))},
        {"shop_name": "x" * 201},
        {"shop_name": "\x00"},
        {"working_weekdays": ()},
        {"working_weekdays": (0, 7)},
        {"working_weekdays": (1, 0)},
        {"working_weekdays": (0, 0)},
        {"working_weekdays": (True,)},
        {"working_weekdays": [0]},
        {"holidays": (dt.date(2025, 5, 1), dt.date(2025, 5, 1))},
        {"holidays": (dt.date(2025, 5, 2), dt.date(2025, 5, 1))},
        {"holidays": ("2025-05-01",)},
        {"holidays": (dt.datetime(2025, 5, 1, tzinfo=dt.UTC),)},
        {"holidays": (dt.date(205, 5, 1),)},
        {"holidays": tuple(dt.date(2025, 1, 1) + dt.timedelta(days=n) for n in range(2001))},
        {"round_minutes_a_day": -1},
        {"round_minutes_a_day": 6001},
        {"set_up_minutes": 481},
        {"read_minutes": 2.5},
    ],
)
def test_a_setting_that_cannot_be(desk: Desk, wrong: dict[str, Any]) -> None:
    before = rows(desk)
    with pytest.raises(NotValid):
        settings.change_settings(desk, shop_name="never", **wrong) if (
            "shop_name" not in wrong
        ) else settings.change_settings(desk, **wrong)
    assert rows(desk) == before


def test_own_points_are_kept_laid_and_offered(desk: Desk) -> None:
    """In percent of the inside: the middle of any frame is 50 50."""
    own = settings.own_points_in("50 50; 12,5 25; 80 75")
    settings.change_settings(desk, own_points=own, point_pattern="own")
    kept = settings.read_settings(desk)
    assert kept.own_points == ((50.0, 50.0), (12.5, 25.0), (80.0, 75.0))
    assert settings.own_points_text(kept.own_points) == "50 50; 12.5 25; 80 75"
    assert kept.patterns == ("1", "5", "6", "9", "own")
    assert kept.points_of_a_survey == 3
    bar = 38.1
    places = kept.places("own", 2 * bar + 400, 2 * bar + 800)
    assert places[0] == pytest.approx((bar + 200, bar + 400))
    assert places[1] == pytest.approx((bar + 50, bar + 200))
    assert (kept.pattern_with(3), kept.pattern_with(5), kept.pattern_with(4)) == ("own", "5", None)
    with pytest.raises(NotValid, match="no points of its own"):
        settings.change_settings(desk, own_points=())


def test_the_pattern_that_the_shop_uses_wins_where_two_have_as_many_points(desk: Desk) -> None:
    """Five points of its own and the usual five cannot be told apart by their number."""
    own = settings.own_points_in("50 50; 20 20; 80 20; 80 80; 20 80")
    settings.change_settings(desk, own_points=own)
    assert settings.read_settings(desk).pattern_with(5) == "5"
    settings.change_settings(desk, point_pattern="own")
    assert settings.read_settings(desk).pattern_with(5) == "own"


@pytest.mark.parametrize("text", ["50", "50 50 50; 1 1", "middle 50; 2 2", "50 50"])
def test_points_that_are_no_pairs_are_refused(text: str) -> None:
    with pytest.raises(NotValid):
        settings.own_points_in(text)


def test_working_days_are_kept_as_dates_and_undone_like_any_setting(desk: Desk) -> None:
    closed = (dt.date(2025, 8, 4), dt.date(2025, 12, 24))
    settings.change_settings(desk, holidays=closed, working_weekdays=(0, 1, 2, 3))
    kept = settings.read_settings(desk)
    assert (kept.holidays, kept.working_weekdays) == (closed, (0, 1, 2, 3))
    before = rows(desk)
    settings.change_settings(desk, holidays=closed)
    assert rows(desk) == before
    settings.change_settings(desk, holidays=(), round_minutes_a_day=0)
    history.undo(desk)
    assert settings.read_settings(desk) == kept
    history.undo(desk)
    assert settings.read_settings(desk) == ShopSettings()
