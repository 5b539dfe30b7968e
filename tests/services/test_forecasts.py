"""The kept forecast: always that of the journal as it is, whoever asks and whatever was kept."""

from __future__ import annotations

import datetime as dt
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import select, update

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.outlook import MATHS, Outlook
from framekeeper.domain.stretch_history import StretchHistory, histories
from framekeeper.services import check, forecasts, foresight, history, marks, plan, stretch, washout
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, edit_mesh_type, find_mesh_type
from framekeeper.services.record import When
from framekeeper.services.week import week_plan
from framekeeper.services.week_calendar import calendar_file
from framekeeper.services.wording import PlainWording
from framekeeper.storage.derived_tables import FleetFit, OutlookRow
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, in_clamps, ready, state

LIMIT = 18.0
DECAY = (24.0, 22.8, 22.3, 21.9, 21.6)  # N/cm on days 0, 1, 4, 11, 25: an ordinary screen
AFTER = (0, 1, 3, 7, 14)


def released(desk: Desk) -> str:
    code = in_clamps(desk)
    stretch.glue(desk, [code], cure=dt.timedelta(0))
    stretch.release(desk, [code])
    return code


def read(desk: Desk, code: str, tension: float) -> check.SurveyDone:
    return check.survey(desk, code, SurveyRequest((tension,) * 5, (tension,) * 5))


def followed(desk: Desk, clock: FakeClock, *, screens: int = 3) -> list[str]:
    """Screens that lose tension as screens do, each a little otherwise."""
    codes = [released(desk) for _ in range(screens)]
    for wait, tension in zip(AFTER, DECAY, strict=True):
        clock.go_on(days=wait)
        for place, code in enumerate(codes):
            read(desk, code, round(tension + 0.2 * (place - 1), 2))
    return codes


def foretold(desk: Desk, code: str) -> Outlook | None:
    with desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        return forecasts.outlook_of(reader, frame, forecasts.rules_by_mesh(reader))


def due(desk: Desk, code: str) -> list[str]:
    return [i.task.rule for i in plan.due(desk) if i.frame.code == code]


def test_without_a_fit_the_fixed_interval_counts(stocked: Desk, clock: FakeClock) -> None:
    (code,) = followed(stocked, clock, screens=1)
    assert foretold(stocked, code) is None
    clock.go_on(days=7)
    assert due(stocked, code) == ["reading_due"]


def test_with_a_fit_the_forecast_says_when(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[1]
    kept = forecasts.refresh(stocked)
    assert (kept.refitted, kept.outlooks) == (True, 3)
    outlook = foretold(stocked, code)
    assert outlook is not None
    assert outlook.decision == "keep"
    assert abs(outlook.tension - DECAY[-1]) < 0.4
    assert outlook.check_at > clock.now() + dt.timedelta(days=7)
    clock.go_on(days=8)
    assert due(stocked, code) == []
    clock.moment = outlook.check_at - dt.timedelta(days=1)
    assert due(stocked, code) == []
    clock.moment = outlook.check_at
    (item,) = [i for i in plan.due(stocked) if i.frame.code == code]
    assert item.task.rule == "check_tension"
    assert f"limit {LIMIT}" in str(item.task.reason)
    assert "with a chance of" in str(item.task.reason)


def test_nothing_to_do_is_done_once(stocked: Desk, clock: FakeClock) -> None:
    followed(stocked, clock)
    forecasts.refresh(stocked)
    again = forecasts.refresh(stocked)
    assert (again.refitted, again.outlooks) == (False, 0)
    assert not again.changes.kinds


def test_a_reading_moves_its_screen_at_once_and_keeping_it_changes_nothing(
    stocked: Desk, clock: FakeClock
) -> None:
    code, other, _ = followed(stocked, clock)
    forecasts.refresh(stocked)
    before, beside = foretold(stocked, code), foretold(stocked, other)
    clock.go_on(hours=20)
    read(stocked, code, 20.4)
    after = foretold(stocked, code)
    assert before is not None
    assert after is not None
    assert after.tension < before.tension - 0.5
    assert after.check_at < before.check_at
    assert foretold(stocked, other) == beside
    kept = forecasts.refresh(stocked)
    assert (kept.refitted, kept.outlooks) == (False, 1)
    assert foretold(stocked, code) == after


def test_a_reading_that_is_taken_back_never_was(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    before = foretold(stocked, code)
    clock.go_on(hours=20)
    read(stocked, code, 21.0)
    forecasts.refresh(stocked)
    assert foretold(stocked, code) != before
    history.undo(stocked)
    assert foretold(stocked, code) == before


def test_an_older_reading_counts_too(stocked: Desk, clock: FakeClock) -> None:
    """It changes no column of the frame, and the forecast all the same."""
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    before, columns = foretold(stocked, code), state(stocked, code)
    earlier = When(clock.now() - dt.timedelta(days=5))
    check.survey(stocked, code, SurveyRequest((20.5,), (20.5,)), when=earlier)
    assert state(stocked, code).life == columns.life
    assert foretold(stocked, code) != before


def test_reclaims_count(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    before = foretold(stocked, code)
    clock.go_on(hours=20)
    stretches = [(h.key, h.cycles) for h in _histories(stocked)]
    washout.reclaim(stocked, [code])
    assert sum(h.cycles for h in _histories(stocked)) == sum(c for _, c in stretches) + 1
    after = foretold(stocked, code)
    assert before is not None
    assert after is not None
    assert after.cycles_per_day > before.cycles_per_day


def _histories(desk: Desk) -> list[StretchHistory]:
    with desk.read() as reader:
        return histories(reader.life_marks())


def test_another_limit_is_heeded_at_once(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    before = foretold(stocked, code)
    with stocked.read() as reader:
        mesh = find_mesh_type(reader, MESH)
    for changed in (
        replace(mesh.rules, limit=21.0),
        replace(mesh.rules, limit=21.0, risk=0.2),
        replace(mesh.rules, limit=21.0, risk=0.2, longest_wait_days=3),
    ):
        edit_mesh_type(stocked, MESH, MeshTypeFacts(MESH, 120, "cm", 120.0, 34.0, rules=changed))
        after = foretold(stocked, code)
        assert after is not None
        assert after != before
        before = after
    off = replace(mesh.rules, risk=None)
    edit_mesh_type(stocked, MESH, MeshTypeFacts(MESH, 120, "cm", 120.0, 34.0, rules=off))
    assert foretold(stocked, code) is None


def test_what_lost_its_mesh_has_no_forecast(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    marks.pull(stocked, [code], "below the limit")
    assert foretold(stocked, code) is None
    forecasts.refresh(stocked)
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        assert frame.id not in reader.frames_with_outlook()
        assert len(reader.frames_with_outlook()) == 2


def test_a_sudden_drop_goes_on_hold_in_one_step(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    clock.go_on(days=2)
    done = read(stocked, code, 18.4)
    held = state(stocked, code)
    assert held.hold_reason is not None
    assert "slipped or torn?" in held.hold_reason
    assert "On hold" in str(done.said)
    assert due(stocked, code)[0] == "read_again"
    outlook = foretold(stocked, code)
    assert outlook is not None
    assert outlook.fell_by is not None
    assert outlook.fell_by == pytest.approx(3.0, abs=0.4)
    history.undo(stocked)
    assert state(stocked, code).hold_reason is None
    assert foretold(stocked, code) != outlook


@pytest.mark.parametrize("tension", [21.3, 21.0, 20.7])
def test_what_decay_explains_is_not_held(stocked: Desk, clock: FakeClock, tension: float) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    clock.go_on(days=14)
    read(stocked, code, tension)
    assert state(stocked, code).hold_reason is None


def test_a_hold_that_stands_keeps_its_reason(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    marks.hold(stocked, [code], "kept for the Friday job")
    clock.go_on(days=2)
    read(stocked, code, 18.0)
    assert state(stocked, code).hold_reason == "kept for the Friday job"


def test_a_fit_by_other_maths_is_not_used(stocked: Desk, clock: FakeClock) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    with stocked.shop.engine.begin() as connection:
        connection.execute(update(FleetFit).values(maths=MATHS + 1))
    assert foretold(stocked, code) is None
    assert forecasts.refresh(stocked).refitted
    assert foretold(stocked, code) is not None


def test_refitting_waits_for_a_day_or_for_many_readings(stocked: Desk, clock: FakeClock) -> None:
    codes = followed(stocked, clock)
    forecasts.refresh(stocked)
    clock.go_on(hours=2)
    read(stocked, codes[0], 21.5)
    assert not forecasts.refresh(stocked).refitted
    with stocked.read() as reader:
        fitted = forecasts.fitted(reader)
    assert fitted is not None
    assert fitted.is_stale
    assert (fitted.stretches, fitted.readings, fitted.new_surveys) == (3, 15, 1)
    read(stocked, codes[1], 21.7)
    assert forecasts.refresh(stocked).refitted  # two of fifteen are more than a tenth
    clock.go_on(days=1)
    assert not forecasts.refresh(stocked).refitted  # nothing new
    read(stocked, codes[2], 21.8)
    assert forecasts.refresh(stocked).refitted


def test_a_fit_forgets_a_reading_that_was_taken_back(stocked: Desk, clock: FakeClock) -> None:
    """A slip of the pen that a fit took in would bend the curve of its mesh until the next read."""
    codes = followed(stocked, clock)
    clock.go_on(days=2)
    read(stocked, codes[0], 2.2)
    forecasts.refresh(stocked)
    clock.go_on(days=1)
    assert not forecasts.refresh(stocked).refitted
    history.undo(stocked)
    assert forecasts.refresh(stocked).refitted
    with stocked.read() as reader:
        fitted = forecasts.fitted(reader)
    assert fitted is not None
    assert (fitted.readings, fitted.new_surveys) == (15, 0)
    clock.go_on(days=1)
    assert not forecasts.refresh(stocked).refitted
    history.redo(stocked)
    assert forecasts.refresh(stocked).refitted


def test_a_reading_that_came_and_went_is_not_new(stocked: Desk, clock: FakeClock) -> None:
    codes = followed(stocked, clock)
    forecasts.refresh(stocked)
    clock.go_on(days=2)
    read(stocked, codes[0], 21.4)
    history.undo(stocked)
    with stocked.read() as reader:
        fitted = forecasts.fitted(reader)
    assert fitted is not None
    assert fitted.new_surveys == 0
    assert not forecasts.refresh(stocked).refitted


def test_an_export_leaves_it_behind_and_the_copy_makes_its_own(
    stocked: Desk, clock: FakeClock, tmp_path: Path
) -> None:
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    here = foretold(stocked, code)
    out = io.StringIO()
    stocked.shop.write_rows(out)
    assert not {"fleet_fit", "outlook"} & set(json.loads(out.getvalue())["tables"])
    out.seek(0)
    other = Shop.open(tmp_path / "copy.db")
    try:
        other.read_rows(out, now=clock.now())
        desk = Desk(other, clock)
        assert foretold(desk, code) is None
        forecasts.refresh(desk)
        assert foretold(desk, code) == here
    finally:
        other.close()


def test_undo_does_not_know_it(stocked: Desk, clock: FakeClock) -> None:
    followed(stocked, clock, screens=1)
    before = history.names(stocked)
    forecasts.refresh(stocked)
    assert history.names(stocked) == before


def test_mesh_of_unknown_age_is_taken_for_fresh(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    read(stocked, code, 21.0)
    forecasts.refresh(stocked)
    outlook = foretold(stocked, code)
    assert outlook is not None
    assert not outlook.start_is_known
    page = foresight.frame_forecast(stocked, code)
    assert page is not None
    assert "taken for fresh" in str(page.rests_on)


def test_a_shop_that_cannot_be_written_lists_what_it_has(
    stocked: Desk, clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    (code,) = followed(stocked, clock, screens=1)

    def refuse(_self: Shop) -> None:
        raise StorageTrouble("The file cannot be written.")

    monkeypatch.setattr(Shop, "derived", refuse)
    forecasts.refresh_if_possible(stocked)
    assert foretold(stocked, code) is None
    with stocked.shop.engine.connect() as connection:
        assert connection.execute(select(OutlookRow.frame_id)).all() == []


def test_an_empty_shop_has_nothing_to_fit(desk: Desk) -> None:
    kept = forecasts.refresh(desk)
    assert (kept.refitted, kept.outlooks) == (False, 0)
    with desk.read() as reader:
        assert reader.kept_fit() is None


def test_what_is_ahead_is_listed_with_its_chance(stocked: Desk, clock: FakeClock) -> None:
    codes = followed(stocked, clock)
    forecasts.refresh(stocked)
    outlook = foretold(stocked, codes[0])
    assert outlook is not None
    until = (clock.now() + dt.timedelta(days=120)).date()
    found = [a for a in plan.ahead(stocked, until) if a.frame.code == codes[0]]
    by_rule = {a.task.rule: a for a in found}
    assert by_rule["check_tension"].chance == 1.0
    assert by_rule["check_tension"].task.due_at.date() == outlook.check_at.date()
    end = dt.datetime.combine(until + dt.timedelta(days=1), dt.time(), dt.UTC)
    assert by_rule["restretch_expected"].chance == outlook.chance_at(end)
    assert plan.ahead(stocked, clock.now().date()) == []


def test_a_restretch_that_is_as_good_as_sure_is_still_no_certain_job(
    stocked: Desk, clock: FakeClock
) -> None:
    """A torn screen is read again first; only then its restretch is work that has a day."""
    code = followed(stocked, clock)[0]
    forecasts.refresh(stocked)
    clock.go_on(days=2)
    read(stocked, code, 5.0)
    outlook = foretold(stocked, code)
    assert outlook is not None
    assert outlook.chances[0] == 1.0
    assert "read_again" in due(stocked, code)
    week = week_plan(stocked, days=10)
    (restretch,) = (
        planned.job
        for planned in week.plan.jobs
        if planned.job.rule == "restretch_expected" and week.work(planned.job).frame.code == code
    )
    assert restretch.chance == plan.MOST_CHANCE
    file = calendar_file(stocked, PlainWording(), days=10).decode()
    assert f"{code}: read again" in file
    assert f"{code}: restretch" not in file
