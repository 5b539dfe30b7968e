"""The plan of the coming days, from the tasks of a real shop."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from framekeeper.domain.due import Task
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.sentence import say
from framekeeper.services import check, marks, plan, register
from framekeeper.services.check import SurveyRequest
from framekeeper.services.cut_plan import book, plan_at_once, request_for
from framekeeper.services.cut_queue import cut_shelf, jobs_for
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frames
from framekeeper.services.order import order_list
from framekeeper.services.plan import Ahead, DueItem
from framekeeper.services.settings import change_settings
from framekeeper.services.week import WeekPlan, batch_words, week_plan
from framekeeper.services.week_calendar import calendar_file
from framekeeper.services.what_if import Outcome, Wanted, what_if
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, bare, prepped, ready

D = dt.date
BERLIN = ZoneInfo("Europe/Berlin")
NO_LIMIT = "77-55"  # a mesh without a limit is read by the fixed interval of seven days


def read_screen(desk: Desk, *, label: str = "") -> str:
    """A screen on mesh without a limit that was read just now."""
    frame = register.NewFrame(584.2, 787.4, own_label=label)
    code = register.register(desk, [frame], found=register.FoundMesh(NO_LIMIT)).codes[0]
    check.survey(desk, code, SurveyRequest((22.0,), (22.0,)))
    return code


def placed(week: WeekPlan) -> dict[tuple[str, ...], tuple[D, int]]:
    return {p.job.key: (p.day, p.days_late) for p in week.plan.jobs}


def at(clock: FakeClock, day: D, hour: int = 8, minute: int = 0) -> None:
    local = dt.datetime.combine(day, dt.time(hour, minute), clock.where)
    clock.moment = local.astimezone(dt.UTC)


def noon(day: D) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(12), dt.UTC)


def expect(
    monkeypatch: pytest.MonkeyPatch, desk: Desk, chances: dict[str, float], *, on: D
) -> None:
    """Let the forecast say with which chance screens fall below their limit."""
    with desk.read() as reader:
        frames = find_frames(reader, list(chances))
    task = Task("restretch_expected", "stretching", noon(on), "soon", say("may fall"))
    foretold = [Ahead(f, MESH, task, chances[f.code]) for f in frames]
    monkeypatch.setattr(plan, "ahead", lambda desk, until: foretold)


# the plan


def test_an_empty_shop_has_open_days_and_no_work(desk: Desk) -> None:
    week = week_plan(desk)  # the clock stands on Monday, 3 March 2025
    assert (week.today, week.until) == (D(2025, 3, 3), D(2025, 3, 16))
    assert (len(week.plan.days), week.next_open) == (10, D(2025, 3, 3))
    assert week.plan.jobs == week.plan.unplaced == ()


def test_what_is_due_is_planned_today_and_what_comes_on_its_day(
    stocked: Desk, clock: FakeClock
) -> None:
    unread = ready(stocked)
    fresh = read_screen(stocked)
    clock.go_on(hours=1)
    assert placed(week_plan(stocked)) == {
        (unread, "round", "read"): (D(2025, 3, 3), 0),
        (fresh, "round", "read"): (D(2025, 3, 10), 0),
    }
    clock.go_on(days=9)
    assert placed(week_plan(stocked)) == {
        (unread, "round", "read"): (D(2025, 3, 12), 7),
        (fresh, "round", "read"): (D(2025, 3, 12), 2),
    }
    assert len(week_plan(stocked).late) == 2


def test_readings_spread_over_the_minutes_of_the_round_but_not_earlier_than_makes_sense(
    stocked: Desk, clock: FakeClock
) -> None:
    for _ in range(4):
        read_screen(stocked)
    change_settings(stocked, round_minutes_a_day=6, read_minutes=6)
    clock.go_on(hours=1)
    days = [day for day, _ in placed(week_plan(stocked)).values()]
    assert sorted(days) == [D(2025, 3, 6), D(2025, 3, 7), D(2025, 3, 10), D(2025, 3, 11)]


def test_the_stretching_table_is_set_up_by_mesh_and_prep_by_step(
    stocked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    codes = [read_screen(stocked) for _ in range(2)]
    expect(monkeypatch, stocked, dict.fromkeys(codes, 0.5), on=D(2025, 3, 5))
    pulled = ready(stocked)
    marks.pull(stocked, [pulled], "slack")
    there = [b for b in week_plan(stocked).plan.bench_days if b.jobs]
    told = {b.bench: [(str(batch_words(x)), len(x.jobs), x.minutes) for x in b.batches]
            for b in there}  # fmt: skip
    assert told == {
        "prep": [("strip and prep", 1, 25)],
        "stretching": [(f"mesh {MESH}", 2, 2 * 15 + 7.5)],
    }


def test_an_expected_restretch_may_be_kept_room_for_early(
    stocked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Other than a reading, which would only have to be made again."""
    codes = [read_screen(stocked) for _ in range(4)]
    expect(monkeypatch, stocked, dict.fromkeys(codes, 1.0), on=D(2025, 3, 14))
    change_settings(stocked, stretching_minutes_a_day=45)
    days = sorted(day for key, (day, _) in placed(week_plan(stocked)).items() if key[2] != "read")
    assert days == [D(2025, 3, 11), D(2025, 3, 12), D(2025, 3, 13), D(2025, 3, 14)]


def test_the_most_pressing_task_of_a_visit_is_named_and_the_oldest_dates_it(
    stocked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = ready(stocked)
    with stocked.read() as reader:
        (frame,) = find_frames(reader, [code])
    tasks = (
        Task("uneven", "rack", noon(D(2025, 2, 26)), "soon", say("uneven")),
        Task("below_limit", "rack", noon(D(2025, 2, 28)), "below", say("below_limit")),
        Task("unbalanced", "rack", noon(D(2025, 2, 27)), "soon", say("unbalanced")),
    )
    items = [DueItem(frame, MESH, task) for task in tasks]
    monkeypatch.setattr(plan, "due", lambda desk: items)
    (job,) = (p for p in week_plan(stocked).plan.jobs)
    assert (job.job.rule, job.job.due_on, job.days_late) == ("below_limit", D(2025, 2, 26), 3)
    assert str(week_plan(stocked).work(job.job).reasons) == "below_limit; uneven; unbalanced"


@pytest.mark.parametrize("days", [0, 367])
def test_a_horizon_that_cannot_be_is_refused(desk: Desk, days: int) -> None:
    with pytest.raises(NotValid):
        week_plan(desk, days=days)
    with pytest.raises(NotValid):
        what_if(desk, days=days)


# clocks and calendars


@pytest.mark.parametrize(
    ("read_on", "hour", "due_on"),
    [
        (D(2025, 3, 24), 23, D(2025, 3, 31)),  # summer time began on the 30th
        (D(2025, 3, 24), 0, D(2025, 3, 31)),
        (D(2025, 10, 20), 0, D(2025, 10, 27)),  # and ended on 26 October
        (D(2025, 10, 20), 23, D(2025, 10, 27)),
        (D(2024, 2, 22), 12, D(2024, 2, 29)),  # a leap day
        (D(2024, 2, 23), 12, D(2024, 3, 1)),
    ],
)
def test_a_week_is_seven_days_of_the_shops_own_calendar(
    stocked: Desk, clock: FakeClock, read_on: D, hour: int, due_on: D
) -> None:
    clock.where = BERLIN
    at(clock, read_on, hour, 30)
    code = read_screen(stocked)
    week = week_plan(stocked)
    assert week.today == read_on
    assert placed(week) == {(code, "round", "read"): (due_on, 0)}
    at(clock, due_on - dt.timedelta(days=1), 23, 59)
    assert plan.due(stocked) == []
    at(clock, due_on, 0, 0)
    assert [item.task.rule for item in plan.due(stocked)] == ["reading_due"]
    assert placed(week_plan(stocked)) == {(code, "round", "read"): (due_on, 0)}


def test_a_shop_that_closes_for_two_weeks_reads_before_it_leaves(
    stocked: Desk, clock: FakeClock
) -> None:
    clock.where = BERLIN
    away = tuple(D(2025, 8, 4) + dt.timedelta(days=n) for n in range(14))
    change_settings(stocked, holidays=away)
    at(clock, D(2025, 7, 31))
    code = read_screen(stocked)  # due on 7 August, in the middle of the closure
    week = week_plan(stocked)
    assert week.plan.days == (D(2025, 7, 31), D(2025, 8, 1))
    assert placed(week) == {(code, "round", "read"): (D(2025, 8, 1), 0)}
    at(clock, D(2025, 8, 9))
    shut = week_plan(stocked, days=7)
    assert (shut.plan.days, shut.next_open) == ((), None)
    assert [job.key for job in shut.plan.unplaced] == [(code, "round", "read")]
    at(clock, D(2025, 8, 18))
    assert placed(week_plan(stocked)) == {(code, "round", "read"): (D(2025, 8, 18), 0)}


# what if


def benches(outcome: Outcome) -> dict[str, tuple[float, D | None]]:
    return {b.bench: (b.minutes_used, b.full_on) for b in outcome.benches if b.minutes_used}


def test_expected_restretches_are_a_sum_of_chances_with_its_spread(
    stocked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    codes = [read_screen(stocked) for _ in range(3)]
    chances = dict(zip(codes, (0.5, 0.2, 0.1), strict=True))
    expect(monkeypatch, stocked, chances, on=D(2025, 3, 7))
    found = what_if(stocked)
    assert found.restretches == pytest.approx(0.8)
    assert found.restretches_sd == pytest.approx((0.25 + 0.16 + 0.09) ** 0.5)
    (need,) = found.meshes
    piece = 787 + 102  # the long side along the roll, and what the clamps need
    assert need.mesh_name == MESH
    assert need.expected_mm == pytest.approx(0.8 * piece)
    assert need.expected_sd_mm == pytest.approx(0.5**0.5 * piece)
    assert (need.on_hand_mm, need.short_mm) == (30_000, 0)
    set_up = 10 * (1 - 0.5 * 0.8 * 0.9)
    minutes = {bench: used for bench, (used, _) in benches(found).items()}
    assert minutes == pytest.approx({"prep": 0.8 * 15 + set_up, "stretching": 0.8 * 30 + set_up})


def test_a_screen_below_its_limit_and_frames_that_wait_need_mesh_for_certain(
    stocked: Desk,
) -> None:
    slack = ready(stocked)
    check.survey(stocked, slack, SurveyRequest((12.0,), (12.0,)))
    pulled = ready(stocked)
    marks.pull(stocked, [pulled], "slack")
    bare(stocked)
    held = prepped(stocked)
    marks.hold(stocked, [held], "bent")
    found = what_if(stocked)
    assert (found.restretches, found.restretches_sd, found.restretches_due) == (1, 0, 1)
    assert (found.waiting, found.waiting_unknown) == (2, 1)
    (need,) = found.meshes
    assert (need.expected_mm, need.waiting_mm, need.wanted_mm) == (889, 889, 0)
    assert need.needed_mm == 2 * 889
    prepped(stocked)
    minutes = {bench: used for bench, (used, _) in benches(what_if(stocked)).items()}
    # strip and prep what is slack, what is pulled and what is bare, in one set-up; and stretch
    # these with the frame that is prepped, of which the two that bore mesh share a set-up
    assert (minutes["prep"], minutes["stretching"]) == (3 * 15 + 10, 4 * 30 + 10)


def test_a_frame_whose_piece_is_cut_asks_for_no_more_mesh(stocked: Desk) -> None:
    """It still waits, and the order list says the same."""
    code = ready(stocked)
    marks.pull(stocked, [code], "below its limit")
    (before,) = what_if(stocked).meshes
    request = request_for(cut_shelf(stocked), jobs_for(stocked, [code]), may_turn=False)
    book(stocked, request, plan_at_once(request))
    after = what_if(stocked)
    assert (before.waiting_mm, after.waiting) == (889, 1)
    assert sum(need.waiting_mm for need in after.meshes) == 0
    assert sum(order.expected.waiting for order in order_list(stocked).meshes) == 0


def test_the_knobs_turn_what_they_say(stocked: Desk) -> None:
    plain = what_if(stocked)
    more = what_if(stocked, also=[Wanted(NO_LIMIT, 3), Wanted(MESH, 40)])
    assert plain.meshes == ()
    assert [(n.mesh_name, n.wanted_mm, n.on_hand_mm, n.short_mm) for n in more.meshes] == [
        (MESH, 40 * 889, 30_000, 40 * 889 - 30_000),
        (NO_LIMIT, 3 * 889, 0, 3 * 889),
    ]
    assert benches(more)["stretching"][0] >= 43 * 30
    narrow = what_if(stocked, minutes={"stretching": 60}, also=[Wanted(MESH, 4)])
    (table,) = (b for b in narrow.benches if b.bench == "stretching")
    assert (table.minutes_there, table.full_on) == (600, None)
    closed = [D(2025, 3, 3) + dt.timedelta(days=n) for n in range(13)]
    shut = what_if(stocked, minutes={"stretching": 60}, closed=closed, also=[Wanted(MESH, 4)])
    (table,) = (b for b in shut.benches if b.bench == "stretching")
    assert (table.minutes_there, table.unplaced) == (0, 4)
    assert table.share is None


def test_the_first_full_day_is_the_one_by_which_the_work_that_is_due_fills_the_bench(
    stocked: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    codes = [read_screen(stocked) for _ in range(4)]
    expect(monkeypatch, stocked, dict.fromkeys(codes, 1.0), on=D(2025, 3, 5))

    def full_on(minutes: float, wanted: int = 0) -> D | None:
        also = [Wanted(MESH, wanted)]
        found = what_if(stocked, days=5, minutes={"stretching": minutes}, also=also)
        (table,) = (b for b in found.benches if b.bench == "stretching")
        return table.full_on

    assert full_on(48) == D(2025, 3, 5)  # four screens and a set-up: 130 of 144 minutes
    assert full_on(49) is None
    assert full_on(49, wanted=3) is None  # 220 of 245 minutes by Friday, in the same set-up
    assert full_on(49, wanted=4) == D(2025, 3, 7)
    assert full_on(0) == D(2025, 3, 5)


def test_what_nobody_can_want_is_refused(stocked: Desk) -> None:
    with pytest.raises(NotFound):
        what_if(stocked, also=[Wanted("silk", 1)])
    for count in (-1, 1001):
        with pytest.raises(NotValid):
            what_if(stocked, also=[Wanted(MESH, count)])


# the calendar file


def events(desk: Desk) -> dict[str, tuple[str, D, int]]:
    """Uid to summary, day and sequence."""
    calendar = Calendar.from_ical(calendar_file(desk, PlainWording()))
    found = calendar.walk("VEVENT")
    assert len({str(e["UID"]) for e in found}) == len(found)
    return {str(e["UID"]): (str(e["SUMMARY"]), e.decoded("DTSTART"), int(e["SEQUENCE"]))
            for e in found}  # fmt: skip


def test_a_task_keeps_its_id_when_it_moves_to_another_day(stocked: Desk, clock: FakeClock) -> None:
    code = read_screen(stocked, label="S1")
    clock.go_on(hours=1)
    (first,) = events(stocked).items()
    assert first[1][:2] == (f"{code} (S1): check tension", D(2025, 3, 10))
    assert events(stocked) == dict([first])
    change_settings(stocked, holidays=(D(2025, 3, 10),))
    clock.go_on(minutes=1)
    (moved,) = events(stocked).items()
    assert moved[0] == first[0]
    assert moved[1][1] == D(2025, 3, 7)
    assert moved[1][2] > first[1][2]


def test_each_frame_and_task_has_an_id_of_its_own_and_what_may_not_come_has_none(
    stocked: Desk, clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = ready(stocked)
    other = ready(stocked)
    check.survey(stocked, code, SurveyRequest((22.0, 22.0), (15.0, 15.0)))
    clock.go_on(days=1)
    expect(monkeypatch, stocked, {other: 0.4}, on=D(2025, 3, 7))
    summaries = sorted(summary for summary, _, _ in events(stocked).values())
    assert f"{code}: pull or restretch" in summaries
    assert f"{other}: check tension" in summaries
    assert not any(summary.split(": ")[1] == "restretch" for summary in summaries)


def test_one_visit_settles_all_that_asks_for_it(stocked: Desk) -> None:
    """An uneven screen that is out of balance is looked at once; both reasons stand there."""
    code = ready(stocked)
    check.survey(stocked, code, SurveyRequest((22.0, 28.0), (15.0, 20.0)))
    week = week_plan(stocked)
    (job,) = (p.job for p in week.plan.jobs if p.job.bench == "rack")
    assert (job.key, job.minutes) == ((code, "rack", "look"), 3)
    told = [str(task.reason) for task in week.work(job).tasks]
    assert len(told) == len(set(told)) >= 2
    assert str(week.work(job).reasons) == "; ".join(told)
    found = Calendar.from_ical(calendar_file(stocked, PlainWording())).walk("VEVENT")
    (event,) = (e for e in found if list(e.categories) == ["Rack"])
    assert str(event["DESCRIPTION"]).split("\n")[: len(told)] == told


def test_the_entry_says_why_where_and_how_late(stocked: Desk, clock: FakeClock) -> None:
    frame = register.NewFrame(584.2, 787.4, slot="B 12")
    code = register.register(stocked, [frame], found=register.FoundMesh(NO_LIMIT)).codes[0]
    check.survey(stocked, code, SurveyRequest((22.0,), (22.0,)))
    clock.go_on(days=9)
    (event,) = Calendar.from_ical(calendar_file(stocked, PlainWording())).walk("VEVENT")
    reason, *rest = str(event["DESCRIPTION"]).split("\n")
    assert reason == str(plan.due(stocked)[0].task.reason)
    assert rest == [f"Mesh {NO_LIMIT}", "Slot B 12", "Late by 2 working days"]
    assert list(event.categories) == ["Tension round"]
    assert event.decoded("DTSTAMP") == clock.moment
