"""What is due: each rule just below, at and just above its threshold."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from framekeeper.domain.due import FrameRules, MeshRules, Task, due_tasks
from framekeeper.domain.frame_state import FrameState, LastSurvey, MeshLife, State

NOW = dt.datetime(2025, 3, 31, 9, 0, tzinfo=dt.UTC)
TODAY = NOW.date()
DAY = dt.timedelta(days=1)
MINUTE = dt.timedelta(minutes=1)
RULES = MeshRules(
    target=24.0, tolerance=2.0, limit=18.0, spread_limit=3.0, balance_limit=2.0,
    days_between_readings=7, inspect_after_reclaims=20,
)  # fmt: skip
FRAME_RULES = FrameRules(regrind_after_stretches=5)


def last(
    mean: float = 23.0,
    *,
    lowest: float | None = None,
    spread: float = 1.0,
    imbalance: float | None = 0.5,
    age: dt.timedelta = DAY,
    moment: str = "in_service",
) -> LastSurvey:
    return LastSurvey(
        9, NOW - age, moment, mean, mean if lowest is None else lowest, spread, imbalance, None  # type: ignore[arg-type]
    )  # fmt: skip


def ready(survey: LastSurvey | None = None, **life: object) -> FrameState:
    """A screen in service that was read yesterday and is in order."""
    mesh = MeshLife(1, 5, NOW - 30 * DAY, 24.0, day0_at=NOW - 29 * DAY, survey=survey or last())
    return FrameState(
        "glued", "ready", since=NOW - 2 * DAY, life=replace(mesh, **life)  # type: ignore[arg-type]
    )  # fmt: skip


def tasks(
    state: FrameState,
    rules: MeshRules = RULES,
    frame_rules: FrameRules = FRAME_RULES,
    *,
    now: dt.datetime = NOW,
    zone: dt.tzinfo = dt.UTC,
) -> tuple[Task, ...]:
    return due_tasks(state, rules, frame_rules, now=now, zone=zone)


def rules_of(found: tuple[Task, ...]) -> set[str]:
    return {task.rule for task in found}


def test_a_screen_in_order_has_nothing_due() -> None:
    assert tasks(ready()) == ()


@pytest.mark.parametrize(
    ("lowest", "is_due"), [(17.9, True), (17.999, True), (18.0, False), (18.1, False)]
)
def test_below_the_limit(lowest: float, is_due: bool) -> None:
    """The lowest point decides; the mean may be well above."""
    found = tasks(ready(last(20.0, lowest=lowest)))
    assert rules_of(found) == ({"below_limit"} if is_due else set())
    if is_due:
        assert found[0].urgency == "below"
        assert str(found[0].reason) == (
            f"tension 20.0 N/cm but {lowest:.1f} at its lowest point, limit 18.0"
        )


def test_a_mean_below_the_limit_is_said_plainly() -> None:
    (task,) = tasks(ready(last(17.2, lowest=16.5)))
    assert str(task.reason) == "tension 17.2 N/cm, limit 18.0"


@pytest.mark.parametrize(
    ("mean", "moment", "is_due"),
    [
        (21.9, "after_release", True),
        (22.0, "after_release", False),
        (22.1, "after_release", False),
        (21.9, "in_service", False),  # a screen in service may lie below its target
    ],
)
def test_a_fresh_stretch_below_its_target(mean: float, moment: str, is_due: bool) -> None:
    found = tasks(ready(last(mean, moment=moment)))
    assert rules_of(found) == ({"below_target"} if is_due else set())


def test_the_target_of_the_stretch_wins_over_that_of_the_mesh() -> None:
    fresh = last(21.9, moment="after_release")
    assert tasks(ready(fresh, target_n_per_cm=23.0)) == ()
    assert rules_of(tasks(ready(fresh, target_n_per_cm=None))) == {"below_target"}
    assert tasks(ready(fresh, target_n_per_cm=None), replace(RULES, target=None)) == ()


@pytest.mark.parametrize(("spread", "is_due"), [(2.9, False), (3.0, False), (3.1, True)])
def test_uneven_over_the_points(spread: float, is_due: bool) -> None:
    assert rules_of(tasks(ready(last(spread=spread)))) == ({"uneven"} if is_due else set())


@pytest.mark.parametrize(
    ("imbalance", "is_due"), [(None, False), (1.9, False), (2.0, False), (2.1, True)]
)
def test_warp_and_weft_out_of_balance(imbalance: float | None, is_due: bool) -> None:
    found = tasks(ready(last(imbalance=imbalance)))
    assert rules_of(found) == ({"unbalanced"} if is_due else set())


def test_binary_fractions_raise_no_task_at_the_threshold() -> None:
    """16.6 - 13.6 is 3.0000000000000018 in binary: at the limit all the same."""
    over, under = 16.6 - 13.6 - 3.0, 1e-14
    assert over > 0
    assert 18.0 - under < 18.0
    assert tasks(ready(last(spread=3.0 + over))) == ()
    assert tasks(ready(last(imbalance=2.0 + over))) == ()
    assert tasks(ready(last(20.0, lowest=18.0 - under))) == ()
    assert tasks(ready(last(22.0 - under, moment="after_release"))) == ()


@pytest.mark.parametrize(("days", "is_due"), [(6, False), (7, True), (8, True)])
@pytest.mark.parametrize("hour", [0, 12, 23])
def test_a_reading_is_due_after_the_days_of_the_shop(days: int, is_due: bool, hour: int) -> None:
    """What was read last Monday, at whatever hour, is on this Monday's list from the morning."""
    read_at = (NOW - days * DAY).replace(hour=hour)
    found = tasks(ready(replace(last(), at=read_at)))
    assert rules_of(found) == ({"reading_due"} if is_due else set())
    if is_due:
        midnight = NOW.replace(hour=0, minute=0, second=0, microsecond=0)
        assert found[0].due_at == midnight - (days - 7) * DAY
        read_on = (NOW - days * DAY).date()
        assert str(found[0].reason) == f"last reading {read_on}, days between readings: 7"


@pytest.mark.parametrize(("reclaims", "is_due"), [(19, False), (20, True), (21, True)])
def test_the_mesh_is_inspected_after_so_many_reclaims(reclaims: int, is_due: bool) -> None:
    found = tasks(ready(reclaims_since_inspection=reclaims))
    assert rules_of(found) == ({"inspect_mesh"} if is_due else set())


@pytest.mark.parametrize(("stretches", "is_due"), [(4, False), (5, True), (6, True)])
@pytest.mark.parametrize("state", ["bare", "prepped", "pulled"])
def test_the_face_is_reground_after_so_many_stretches(
    stretches: int, is_due: bool, state: State
) -> None:
    frame = FrameState("glued", state, since=NOW, stretches_since_regrind=stretches)
    assert ("regrind" in rules_of(tasks(frame))) is is_due
    assert "regrind" not in rules_of(tasks(replace(frame, kind="roller")))


def test_no_regrind_is_asked_of_a_frame_with_good_mesh_on() -> None:
    assert tasks(replace(ready(), stretches_since_regrind=9)) == ()


@pytest.mark.parametrize(
    ("due_back", "is_due"),
    [(TODAY + DAY, False), (TODAY, False), (TODAY - DAY, True), (None, False)],
)
def test_overdue_from_outside_on_the_day_after(due_back: dt.date | None, is_due: bool) -> None:
    away = FrameState(
        "glued", "out", since=NOW - 9 * DAY, out_to="Nordwind Screens", due_back_on=due_back
    )
    assert rules_of(tasks(away)) == ({"overdue_outside"} if is_due else set())


def test_overdue_goes_by_the_date_on_the_shops_own_wall() -> None:
    """Half an hour after midnight in summer time, while it is still yesterday in UTC."""
    zone = ZoneInfo("Europe/Berlin")
    away = FrameState("glued", "out", out_to="Nordwind", due_back_on=dt.date(2025, 3, 30))
    night = dt.datetime(2025, 3, 30, 22, 30, tzinfo=dt.UTC)  # 00:30 on the 31st, clocks just moved
    (task,) = tasks(away, now=night, zone=zone)
    assert (task.rule, task.due_at) == (
        "overdue_outside",
        dt.datetime(2025, 3, 30, tzinfo=zone),
    )
    earlier = night - dt.timedelta(hours=1)
    assert tasks(away, now=earlier, zone=zone) == ()


def test_a_week_is_a_week_over_the_change_of_the_clocks() -> None:
    """Days are counted in the shop's zone: due from midnight on the wall, in summer time too."""
    zone = ZoneInfo("Europe/Berlin")
    read_at = dt.datetime(2025, 3, 24, 23, 30, tzinfo=zone).astimezone(dt.UTC)
    state = ready(replace(last(), at=read_at))
    midnight = dt.datetime(2025, 3, 31, 0, 0, tzinfo=zone).astimezone(dt.UTC)
    assert tasks(state, now=midnight - MINUTE, zone=zone) == ()
    (task,) = tasks(state, now=midnight, zone=zone)
    assert task.due_at == midnight


def test_damage_on_mesh_that_goes_on_asks_for_an_inspection() -> None:
    (task,) = tasks(ready(open_damage="hole"))
    assert (task.rule, str(task.reason)) == ("damaged", "hole, and the mesh stays on")


def test_an_inspection_after_the_survey_accepts_what_it_found() -> None:
    """Somebody looked and wrote down why; the next survey asks anew. A limit is never accepted."""
    uneven = last(spread=4.0, imbalance=3.0)
    assert rules_of(tasks(ready(uneven))) == {"uneven", "unbalanced"}
    assert tasks(ready(uneven, inspected_at=uneven.at)) == ()
    assert rules_of(tasks(ready(uneven, inspected_at=uneven.at - MINUTE))) == {
        "uneven",
        "unbalanced",
    }
    slack = last(17.0, lowest=16.0)
    assert rules_of(tasks(ready(slack, inspected_at=NOW))) == {"below_limit"}


@pytest.mark.parametrize(("early", "is_due"), [(MINUTE, False), (0 * DAY, True), (-MINUTE, True)])
def test_a_cure_that_ended_asks_for_the_release(early: dt.timedelta, is_due: bool) -> None:
    end = NOW + early
    life = MeshLife(1, 5, NOW - DAY, 24.0, glued_at=NOW - DAY, cure_ends_at=end)
    curing = FrameState("glued", "curing", since=NOW - DAY, life=life)
    found = tasks(curing)
    assert rules_of(found) == ({"release"} if is_due else set())


@pytest.mark.parametrize(("early", "is_due"), [(MINUTE, False), (0 * DAY, True), (-MINUTE, True)])
def test_a_released_screen_is_read_when_its_cure_has_ended(
    early: dt.timedelta, is_due: bool
) -> None:
    end = NOW + early
    life = MeshLife(
        1, 5, NOW - DAY, 24.0, glued_at=NOW - DAY, cure_ends_at=end, released_at=NOW - DAY / 2,
        day0_at=NOW - DAY / 2,
    )  # fmt: skip
    curing = FrameState("glued", "curing", since=NOW - DAY, life=life)
    found = tasks(curing)
    assert rules_of(found) == ({"first_reading"} if is_due else set())
    if is_due:
        assert found[0].due_at == end


def test_mesh_that_was_never_read_asks_for_a_reading() -> None:
    nobody_knows = MeshLife(1, 5, None, 24.0)
    found = FrameState("glued", "ready", since=NOW - 2 * DAY, life=nobody_knows)
    assert rules_of(tasks(found)) == {"no_reading"}
    rollers = replace(nobody_knows, day0_at=NOW - DAY, released_at=NOW - DAY)
    assert rules_of(tasks(replace(found, kind="roller", life=rollers))) == {"first_reading"}


def test_mesh_found_on_a_frame_was_not_released_here() -> None:
    """Its life began on a known day, but nobody here opened the clamps."""
    life = MeshLife(1, 5, NOW - 90 * DAY, 24.0, day0_at=NOW - 90 * DAY)
    (task,) = tasks(FrameState("glued", "ready", since=NOW - 2 * DAY, life=life))
    assert task.rule == "no_reading"
    assert "release" not in str(task.reason)


def test_back_from_outside_asks_for_its_survey_and_nothing_else() -> None:
    state = replace(ready(), awaits_inbound_survey=True)
    assert state.life is not None
    state = replace(state, life=replace(state.life, survey=None, from_outside=True))
    assert rules_of(tasks(state)) == {"inbound_survey"}


def test_a_pulled_screen_is_to_be_stripped_and_says_why() -> None:
    state = replace(ready(), state="pulled", taken_out_reason="corner_tear")
    (task,) = tasks(state)
    assert (task.rule, str(task.reason)) == ("strip", "pulled: tear at a corner")


@pytest.mark.parametrize("state", ["missing", "retired", "out", "in_clamps"])
def test_what_is_not_here_is_not_due(state: State) -> None:
    broken = ready(last(10.0, spread=9.0, imbalance=9.0, age=90 * DAY))
    assert tasks(replace(broken, state=state)) == ()


def test_a_frame_may_raise_two_tasks_and_the_older_comes_first() -> None:
    state = ready(last(17.0, lowest=16.0, age=9 * DAY))
    found = tasks(state)
    assert [t.rule for t in found] == ["below_limit", "reading_due"]
    assert [t.due_at for t in found] == [
        NOW - 9 * DAY,
        NOW.replace(hour=0, minute=0, second=0, microsecond=0) - 2 * DAY,
    ]
    everything = ready(last(17.0, lowest=16.0, spread=4.0, imbalance=3.0, age=9 * DAY),
                       reclaims_since_inspection=30)  # fmt: skip
    assert rules_of(tasks(everything)) == {
        "below_limit", "uneven", "unbalanced", "reading_due", "inspect_mesh",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("switch", "rule"),
    [
        ("limit", "below_limit"),
        ("spread_limit", "uneven"),
        ("balance_limit", "unbalanced"),
        ("days_between_readings", "reading_due"),
        ("inspect_after_reclaims", "inspect_mesh"),
    ],
)
def test_a_rule_that_the_shop_switched_off_is_silent(switch: str, rule: str) -> None:
    state = ready(last(17.0, spread=4.0, imbalance=3.0, age=9 * DAY), reclaims_since_inspection=30)
    assert rule in rules_of(tasks(state))
    assert rule not in rules_of(tasks(state, replace(RULES, **{switch: None})))  # type: ignore[arg-type]


def test_the_regrind_can_be_switched_off() -> None:
    frame = FrameState("glued", "bare", since=NOW, stretches_since_regrind=50)
    assert tasks(frame, RULES, FrameRules(regrind_after_stretches=None)) == ()
