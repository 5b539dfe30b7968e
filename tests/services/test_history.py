"""Undo, redo and correction: what is taken back leaves the shop exactly as it was."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from sqlalchemy import text

from framekeeper.domain.errors import Conflict, NotFound, NotPossible, NotValid
from framekeeper.domain.events import (
    Payload,
    Printed,
    Pulled,
    Reading,
    Retensioned,
    Stretched,
    Surveyed,
    Withdrawn,
)
from framekeeper.services import (
    check,
    history,
    marks,
    meshes,
    meters,
    prep,
    register,
    settings,
    stock,
    stretch,
    washout,
)
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from tests.fakes import FakeClock
from tests.services.shoptalk import (
    MESH,
    METER,
    ROLL,
    assert_columns_are_the_fold,
    bare,
    in_clamps,
    picture,
    prepped,
    ready,
    rows,
    state,
)

Step = Callable[[Desk], object]


def _with(make: Callable[[Desk], str], do: Callable[[Desk, str], object]) -> tuple[Step, Step]:
    """Split an operation into what comes before it and the operation itself."""
    made: list[str] = []
    return lambda desk: made.append(make(desk)), lambda desk: do(desk, made[-1])


def _glued(desk: Desk) -> str:
    code = in_clamps(desk)
    stretch.glue(desk, [code], cure=dt.timedelta(minutes=20), adhesive_lot="G1")
    return code


def _held(desk: Desk) -> str:
    code = ready(desk)
    marks.hold(desk, [code], "smells")
    return code


def _out(desk: Desk) -> str:
    code = bare(desk)
    marks.send_out(desk, [code], "Nordwind Screens")
    return code


def _missing(desk: Desk) -> str:
    code = ready(desk)
    marks.missing(desk, [code])
    return code


def _reserved(desk: Desk) -> str:
    code = ready(desk)
    marks.reserve(desk, [code], "tour", needed_on=dt.date(2025, 4, 1))
    return code


def _roller(desk: Desk) -> str:
    code = in_clamps(desk, kind="roller")
    stretch.release(desk, [code])
    check.survey(desk, code, check.SurveyRequest((25.0,), (24.0,)))
    return code


def _surveyed(desk: Desk) -> str:
    code = ready(desk)
    check.survey(desk, code, check.SurveyRequest((21.0,), (20.0,), meter=METER))
    return code


def _latest(desk: Desk, code: str) -> int:
    with desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        return max(e.event_id for e in reader.journal(frame.id))


OPERATIONS: dict[str, tuple[Step, Step]] = {
    "register": (lambda d: None, bare),
    "register as found": (lambda d: None, ready),
    "register many": (
        lambda d: None,
        lambda d: register.register(d, [register.NewFrame(500, 600)] * 3),
    ),
    "edit": _with(
        bare, lambda d, c: register.edit_frame(d, c, register.FrameEdit("A1", 500.0, slot="S2"))
    ),
    "change kind": _with(
        bare, lambda d, c: register.edit_frame(d, c, register.FrameEdit(kind="roller"))
    ),
    "prep": _with(bare, lambda d, c: prep.prep_all(d, [c], skipped={"old_glue": "new"})),
    "inspect": _with(bare, lambda d, c: prep.do_step(d, [c], prep.StepRequest("inspect"))),
    "failed inspection": _with(
        prepped, lambda d, c: prep.do_step(d, [c], prep.StepRequest("inspect", "failed", "twisted"))
    ),
    "regrind": _with(bare, lambda d, c: prep.do_step(d, [c], prep.StepRequest("regrind"))),
    "strip": _with(ready, lambda d, c: prep.strip(d, [c])),
    "stretch": _with(
        prepped, lambda d, c: stretch.stretch(d, [c], stretch.StretchRequest(MESH, roll=ROLL))
    ),
    "stage": _with(in_clamps, lambda d, c: stretch.stage(d, [c], tension_n_per_cm=20.0)),
    "glue": _with(in_clamps, lambda d, c: stretch.glue(d, [c], cure=dt.timedelta(hours=1))),
    "release": _with(_glued, lambda d, c: stretch.release(d, [c])),
    "retension": _with(_roller, lambda d, c: stretch.retension(d, [c], target_n_per_cm=27.0)),
    "survey": _with(ready, lambda d, c: check.survey(d, c, check.SurveyRequest((21.0,), (20.0,)))),
    "survey that finds": _with(
        _missing, lambda d, c: check.survey(d, c, check.SurveyRequest(not_told=(21.0,)))
    ),
    "image": _with(_reserved, lambda d, c: washout.image(d, [c], job="tour")),
    "print": _with(ready, lambda d, c: washout.printed(d, [c], impressions=80)),
    "queue": _with(ready, lambda d, c: washout.queue(d, [c])),
    "reclaim": _with(_surveyed, lambda d, c: washout.reclaim(d, [c], haze_remover=True)),
    "inspect mesh": _with(ready, lambda d, c: washout.inspect(d, [c], findings="clean")),
    "hold": _with(ready, lambda d, c: marks.hold(d, [c], "smells")),
    "end hold": _with(_held, lambda d, c: marks.end_hold(d, [c])),
    "reserve": _with(ready, lambda d, c: marks.reserve(d, [c], "tour")),
    "free": _with(_reserved, lambda d, c: marks.free(d, [c])),
    "damage": _with(_reserved, lambda d, c: marks.damage(d, [c], "burst", mesh_is_done=True)),
    "pull": _with(_reserved, lambda d, c: marks.pull(d, [c], "slack")),
    "send out": _with(
        ready, lambda d, c: marks.send_out(d, [c], "Nordwind", due_back_on=dt.date(2025, 3, 9))
    ),
    "receive": _with(_out, lambda d, c: marks.receive(d, [c], mesh=MESH)),
    "missing": _with(ready, lambda d, c: marks.missing(d, [c])),
    "found": _with(_missing, lambda d, c: marks.found(d, [c])),
    "retire": _with(_held, lambda d, c: marks.retire(d, [c], "bent")),
    "withdraw": _with(_surveyed, lambda d, c: history.withdraw(d, c, _latest(d, c))),
    "correct": _with(
        _surveyed,
        lambda d, c: history.correct(
            d, c, _latest(d, c), Surveyed("in_service", (Reading(1, "warp", 19.0),))
        ),
    ),
    "correct a stretch": _with(
        in_clamps,
        lambda d, c: history.correct(d, c, _latest(d, c), Stretched(1, 25.0, 1, 1, 700, 600)),
    ),
    "add mesh": (
        lambda d: None,
        lambda d: meshes.add_mesh_type(d, meshes.MeshTypeFacts("90-48", 90, "cm", 90.0, 48.0)),
    ),
    "edit mesh": (
        lambda d: None,
        lambda d: meshes.edit_mesh_type(d, "77-55", meshes.MeshTypeFacts("77T", colour="dyed")),
    ),
    "receive roll": (
        lambda d: None,
        lambda d: stock.receive_roll(d, stock.NewRoll(MESH, 1300, 9_000, "R9")),
    ),
    "count roll": (lambda d: None, lambda d: stock.count_roll(d, ROLL, length_mm=12_345)),
    "scrap": (lambda d: None, lambda d: stock.scrap(d, ROLL, length_mm=400, reason="crease")),
    "add meter": (
        lambda d: None,
        lambda d: meters.add_meter(
            d, meters.MeterFacts("M2", certificate_until=dt.date(2026, 1, 1))
        ),
    ),
    "edit meter": (
        lambda d: None,
        lambda d: meters.edit_meter(
            d, METER, meters.MeterFacts(METER, "77", 0.1, -0.2, dt.date(2026, 1, 1))
        ),
    ),
    "settings": (
        lambda d: settings.change_settings(d, shop_name="Frame & Co"),
        lambda d: settings.change_settings(d, shop_name="Squeegee Lane", cut_allowance_mm=90),
    ),
}


@pytest.mark.parametrize("name", OPERATIONS)
def test_undo_and_redo_of(stocked: Desk, clock: FakeClock, name: str) -> None:
    """Undo leaves the shop as it was before, redo as it was after: at once, and again later."""
    before_it, operation = OPERATIONS[name]
    before_it(stocked)
    before = picture(stocked)
    operation(stocked)
    after = picture(stocked)
    assert after != before
    named = history.names(stocked).undo
    assert named is not None
    assert named.subject
    for minutes in (0, 3):
        clock.go_on(minutes=minutes)
        history.undo(stocked)
        assert picture(stocked) == before
        clock.go_on(minutes=minutes)
        history.redo(stocked)
        assert picture(stocked) == after
    assert_columns_are_the_fold(stocked)


def test_everything_can_be_undone_and_done_again(stocked: Desk, clock: FakeClock) -> None:
    """A day of work, back to the first step and forth again, with the clock standing still."""
    pictures = [picture(stocked)]
    for before_it, operation in list(OPERATIONS.values())[::4]:
        before_it(stocked)
        operation(stocked)
        pictures.append(picture(stocked))
    done = 0
    while picture(stocked) != pictures[0]:
        history.undo(stocked)
        done += 1
    for _ in range(done):
        history.redo(stocked)
    assert picture(stocked) == pictures[-1]
    with pytest.raises(NotPossible, match="nothing to redo"):
        history.redo(stocked)
    assert assert_columns_are_the_fold(stocked) > 5


def test_an_undo_brings_an_event_back_in_its_old_place(stocked: Desk, clock: FakeClock) -> None:
    """Retension and survey at one moment: taking the retension back and forth keeps the survey."""
    code = in_clamps(stocked, kind="roller")
    stretch.release(stocked, [code])
    stretch.retension(stocked, [code], target_n_per_cm=26.0)
    retension = _latest(stocked, code)
    check.survey(stocked, code, check.SurveyRequest((25.0,), (24.0,)))
    before = picture(stocked)
    history.withdraw(stocked, code, retension)
    history.undo(stocked)
    assert picture(stocked) == before


def test_an_entry_can_be_taken_back_again_after_the_undo(stocked: Desk) -> None:
    code = _surveyed(stocked)
    survey = _latest(stocked, code)
    for _ in range(3):
        history.withdraw(stocked, code, survey)
        life = state(stocked, code).life
        assert life is not None
        assert life.survey is None
        with pytest.raises(NotPossible, match="taken back already"):
            history.withdraw(stocked, code, survey)
        history.undo(stocked)
        life = state(stocked, code).life
        assert life is not None
        assert life.survey is not None
        assert life.survey.event_id == survey


def test_an_operation_can_be_undone_after_its_entry_was_taken_back_and_brought_back(
    stocked: Desk,
) -> None:
    before = picture(stocked)
    code = ready(stocked)
    after = picture(stocked)
    history.withdraw(stocked, code, _latest(stocked, code))
    history.undo(stocked)
    assert picture(stocked) == after
    history.undo(stocked)
    assert picture(stocked) == before
    history.redo(stocked)
    assert picture(stocked) == after


def test_nothing_is_erased(stocked: Desk) -> None:
    code = _surveyed(stocked)
    before = rows(stocked)
    history.undo(stocked)
    after = rows(stocked)
    assert after["event"] == before["event"] + 1
    assert after["detail_withdrawn"] == before["detail_withdrawn"] + 1
    assert all(after[table] >= count for table, count in before.items())
    assert state(stocked, code).life is not None


def test_an_empty_shop_has_nothing_to_undo(desk: Desk) -> None:
    assert history.names(desk) == history.UndoNames(None, None)
    with pytest.raises(NotPossible, match="nothing to undo"):
        history.undo(desk)


def test_something_new_ends_the_redo(stocked: Desk) -> None:
    code = ready(stocked)
    marks.hold(stocked, [code], "smells")
    history.undo(stocked)
    assert history.names(stocked).redo is not None
    washout.reclaim(stocked, [code])
    assert history.names(stocked).redo is None
    with pytest.raises(NotPossible):
        history.redo(stocked)


def test_an_undo_says_what_it_took_back(stocked: Desk) -> None:
    code = ready(stocked, label="A 7")
    marks.retire(stocked, [code], "bent")
    undo = history.names(stocked).undo
    assert undo is not None
    assert (undo.action, undo.subject, undo.by) == ("retire", f"{code} (A 7)", "Maren")
    assert str(history.undo(stocked).said) == f"Undone: retire {code} (A 7)."
    assert str(history.redo(stocked).said) == f"Done again: retire {code} (A 7)."


def test_an_edit_that_another_bench_changed_since_is_not_undone(stocked: Desk) -> None:
    """The newest operation is the other bench's; behind it, the row is not what the log says."""
    settings.change_settings(stocked, shop_name="One")
    with stocked.work("elsewhere") as work:
        # another program wrote past the log
        work._session.execute(text("UPDATE setting SET value = '\"Two\"'"))
        work._session.commit()
    with pytest.raises(Conflict, match="changed again since"):
        history.undo(stocked)
    assert settings.read_settings(stocked).shop_name == "Two"


# Correction


def test_a_correction_takes_the_place_of_what_was_wrong(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    clock.go_on(hours=1)
    washout.printed(stocked, [code], impressions=4000)
    wrong, when = _latest(stocked, code), clock.now()
    clock.go_on(hours=1)
    washout.queue(stocked, [code])
    clock.go_on(hours=1)
    history.correct(stocked, code, wrong, Printed(400))
    now = state(stocked, code)
    assert now.state == "to_reclaim"
    assert now.life is not None
    assert now.life.impressions == 400
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        corrected = reader.journal(frame.id)[-1]
    assert corrected.happened_at == when
    assert corrected.recorded_at == clock.now()


def test_a_corrected_stretch_gives_its_mesh_back_and_takes_the_right_piece(stocked: Desk) -> None:
    code = in_clamps(stocked)
    with stocked.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 30_000 - 889
    history.correct(stocked, code, _latest(stocked, code), Stretched(1, 25.0, 1, 1, 950, 700))
    with stocked.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 30_000 - 950
    (usage,) = stock.shelf(stocked).usage
    assert (usage.pieces, usage.cut_mm) == (1, 950)
    history.withdraw(stocked, code, _newest_stretch(stocked, code))
    with stocked.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 30_000
    assert stock.shelf(stocked).usage == ()
    assert state(stocked, code).state == "prepped"


def _newest_stretch(desk: Desk, code: str) -> int:
    life = state(desk, code).life
    assert life is not None
    return life.start_event_id


def test_a_correction_cannot_take_more_mesh_than_the_roll_holds(stocked: Desk) -> None:
    code = in_clamps(stocked)
    before = picture(stocked)
    with pytest.raises(NotPossible, match="does not hold that much"):
        history.correct(
            stocked, code, _latest(stocked, code), Stretched(1, 25.0, 1, 1, 30_001, 700)
        )
    assert picture(stocked) == before


@pytest.mark.parametrize(
    "payload",
    [
        Printed(-1),
        Surveyed("in_service", ()),
        Surveyed("in_service", (Reading(1, "warp", 99.0),)),
        Surveyed("in_service", (Reading(1, "warp", float("nan")),)),
        Surveyed("tomorrow", (Reading(1, "warp", 20.0),)),  # type: ignore[arg-type]
        Surveyed("in_service", (Reading(0, "warp", 20.0),)),
        Retensioned(-5.0),
        Stretched(1, float("nan")),
        Pulled("\x00"),
        Pulled("x" * 3000),
    ],
)
def test_a_correction_with_a_value_that_cannot_be_is_refused(
    stocked: Desk, payload: Payload
) -> None:
    code = _surveyed(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid):
        history.correct(stocked, code, _latest(stocked, code), payload)
    assert rows(stocked) == before


def test_a_correction_of_what_is_not_there(stocked: Desk) -> None:
    code, other = _surveyed(stocked), ready(stocked)
    for event_id in (0, 99_999, _latest(stocked, other)):
        with pytest.raises(NotFound, match="no such entry"):
            history.withdraw(stocked, code, event_id)
    history.undo(stocked)
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        assert not any(isinstance(e.payload, Withdrawn) for e in reader.journal(frame.id))


def test_a_correction_into_the_future_is_refused(stocked: Desk, clock: FakeClock) -> None:
    code = _surveyed(stocked)
    later = When(clock.now() + dt.timedelta(days=1))
    with pytest.raises(NotValid, match="future"):
        history.correct(stocked, code, _latest(stocked, code), Pulled("slack"), when=later)


def test_what_later_events_stand_on_is_not_taken_back(stocked: Desk) -> None:
    code = in_clamps(stocked)
    stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20))
    before = picture(stocked)
    with pytest.raises(NotPossible, match="would be impossible"):
        history.withdraw(stocked, code, _newest_stretch(stocked, code))
    assert picture(stocked) == before


def test_a_label_taken_meanwhile_does_not_come_back(stocked: Desk) -> None:
    """A frame whose registration was undone left its label free for another one."""
    bare(stocked, label="A1")
    history.undo(stocked)
    again = bare(stocked, label="A1")
    assert state(stocked, again).state == "bare"
    with pytest.raises(NotPossible):
        history.redo(stocked)
    assert state(stocked, again).state == "bare"
