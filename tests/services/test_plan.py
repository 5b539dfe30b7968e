"""What is due, why and where; and the list of frames."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from framekeeper.services import check, marks, plan, stretch
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.settings import change_settings
from tests.fakes import FakeClock
from tests.services.shoptalk import bare, in_clamps, ready


def due(desk: Desk) -> list[tuple[str, str]]:
    return [(item.frame.code, item.task.rule) for item in plan.due(desk)]


def test_an_empty_shop_has_nothing_due(desk: Desk) -> None:
    assert plan.due(desk) == []
    assert plan.list_frames(desk) == []


def test_what_is_below_its_limit_comes_first_then_what_waits_longest(
    stocked: Desk, clock: FakeClock
) -> None:
    unread = ready(stocked)
    clock.go_on(hours=1)
    slack, good = ready(stocked), ready(stocked)
    check.survey(stocked, slack, SurveyRequest((17.0,), (17.0,)))
    check.survey(stocked, good, SurveyRequest((22.0,), (22.0,)))
    assert due(stocked) == [(slack, "below_limit"), (unread, "no_reading")]
    marks_ = {listed.frame.code: listed.mark for listed in plan.list_frames(stocked)}
    assert marks_ == {unread: "soon", slack: "below", good: "holds"}


def test_a_frame_may_raise_several(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    check.survey(stocked, code, SurveyRequest((17.0,), (14.0,)))
    clock.go_on(days=7)
    assert {rule for _, rule in due(stocked)} == {
        "below_limit",
        "uneven",
        "unbalanced",
        "reading_due",
    }


def test_a_released_screen_is_listed_as_ready_when_its_cure_is_over(
    stocked: Desk, clock: FakeClock
) -> None:
    """Nobody records that; time alone makes it so."""
    code = in_clamps(stocked)
    stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20))
    stretch.release(stocked, [code])
    (listed,) = plan.list_frames(stocked)
    assert (listed.frame.state.state, due(stocked)) == ("curing", [])
    clock.go_on(minutes=20)
    (listed,) = plan.list_frames(stocked)
    assert listed.frame.state.state == "ready"
    assert due(stocked) == [(code, "first_reading")]
    assert listed.mesh_name == "120-34"


def test_a_screen_whose_cure_is_over_is_to_be_released(stocked: Desk, clock: FakeClock) -> None:
    code = in_clamps(stocked)
    stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20))
    clock.go_on(minutes=20)
    assert due(stocked) == [(code, "release")]


def test_overdue_by_the_date_in_the_shops_own_zone(stocked: Desk, clock: FakeClock) -> None:
    code = bare(stocked)
    marks.send_out(stocked, [code], "Nordwind", due_back_on=dt.date(2025, 3, 30))
    clock.moment = dt.datetime(2025, 3, 30, 22, 30, tzinfo=dt.UTC)
    assert due(stocked) == []
    clock.where = ZoneInfo("Europe/Berlin")  # there it is half past midnight, on the 31st
    assert due(stocked) == [(code, "overdue_outside")]


def test_the_shop_says_after_how_many_stretches_a_face_is_reground(stocked: Desk) -> None:
    code = ready(stocked)
    marks.pull(stocked, [code], "slack")
    assert (code, "regrind") not in due(stocked)
    change_settings(stocked, regrind_after_stretches=1)
    marks.retire(stocked, [bare(stocked)], "bent")
    frames = [listed.frame.code for listed in plan.list_frames(stocked)]
    assert frames == [code]
    assert len(plan.list_frames(stocked, with_retired=True)) == 2
