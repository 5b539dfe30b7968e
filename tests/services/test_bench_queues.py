"""Proves what the prep bench and the stretching table ask of the services."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.mesh import Mesh, suggest_target
from framekeeper.domain.records import MeshTypeRecord
from framekeeper.services import check, marks, meshes, prep, register, stock, stretch
from framekeeper.services.bench_queues import (
    PrepQueue,
    prep_queue,
    stretched_today,
    stretching_table,
)
from framekeeper.services.desk import Desk
from framekeeper.services.prep import BENCH_ORDER, StepRequest
from framekeeper.services.stretch_plan import fitting_roll, kilograms, plan_pull
from tests.fakes import FakeClock


@pytest.fixture
def fine(desk: Desk) -> str:
    rules = MeshRules(target=25, limit=18)
    meshes.add_mesh_type(
        desk, meshes.MeshTypeFacts("230 yellow", 230, "inch", 90.55, 48, "dyed", rules)
    )
    return "230 yellow"


@pytest.fixture
def coarse(desk: Desk) -> str:
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts("110", 110, "inch", 43.3, 80, "white"))
    return "110"


def frames(desk: Desk, count: int, **facts: object) -> list[str]:
    made = [register.NewFrame(584, 787, **facts) for _ in range(count)]  # type: ignore[arg-type]
    return list(register.register(desk, made).codes)


def marks_of(queue: PrepQueue, code: str) -> str:
    """The marks of a frame's steps in the order of the trade, by first letter."""
    row = next(r for r in queue.rows if r.frame.code == code)
    letters = {"done": "d", "skipped": "s", "next": "N", "open": "o", "none": "-"}
    return "".join(letters[row.shown(step).mark] for step in BENCH_ORDER)


def test_a_new_frame_is_led_through_its_steps(desk: Desk) -> None:
    """Doing the next step again and again walks the trade's order and ends with a prepped frame."""
    (code,) = frames(desk, 1)
    seen = [marks_of(prep_queue(desk), code)]
    for _ in range(4):
        prep.do_next(desk, [code])
        seen.append(marks_of(prep_queue(desk), code))
    assert seen == ["N-oooo", "d-Nooo", "d-dNoo", "d-ddNo", "d-dddN"]
    prep.do_next(desk, [code])
    queue = prep_queue(desk)
    assert queue.rows == ()
    assert queue.prepped == 1
    with pytest.raises(NotPossible, match="complete"):
        prep.do_next(desk, [code])


def test_each_chosen_frame_gets_its_own_next_step(desk: Desk) -> None:
    """One key moves a bare frame and a half-prepped one by one step each."""
    one, other = frames(desk, 2)
    prep.do_step(desk, [other], StepRequest("inspect"))
    prep.do_next(desk, [one, other])
    queue = prep_queue(desk)
    assert marks_of(queue, one) == "d-Nooo"
    assert marks_of(queue, other) == "d-dNoo"


def test_a_skipped_step_keeps_its_reason(desk: Desk) -> None:
    """Old glue that stays by choice is shown as skipped, with the words of the person."""
    (code,) = frames(desk, 1)
    prep.do_step(desk, [code], StepRequest("inspect"))
    prep.do_step(desk, [code], StepRequest("old_glue", "skipped", "sound and level"))
    queue = prep_queue(desk)
    assert marks_of(queue, code) == "d-sNoo"
    assert queue.rows[0].shown("old_glue").reason == "sound and level"


def test_a_pulled_screen_is_stripped_first(desk: Desk, fine: str) -> None:
    """Loaded mesh comes off before anything else, then the steps begin anew."""
    found = register.FoundMesh(fine)
    code = register.register(desk, [register.NewFrame(584, 787)], found=found).codes[0]
    marks.pull(desk, [code], "too slack")
    assert marks_of(prep_queue(desk), code) == "oNoo-o"
    prep.do_next(desk, [code])
    assert marks_of(prep_queue(desk), code) == "Ndoo-o"


def test_results_of_an_earlier_life_are_not_shown(desk: Desk, fine: str) -> None:
    """What was skipped before the last stretch says nothing about this prep."""
    (code,) = frames(desk, 1)
    prep.prep_all(desk, [code], skipped={"old_glue": "new frame"})
    stretch.stretch(desk, [code], stretch.StretchRequest(fine))
    stretch.glue(desk, [code], cure=dt.timedelta())
    prep.strip(desk, [code])
    assert marks_of(prep_queue(desk), code) == "Ndoodo"
    prep.do_step(desk, [code], StepRequest("inspect"))
    prep.do_step(desk, [code], StepRequest("regrind"))
    row = prep_queue(desk).rows[0]
    assert [row.shown(s).mark for s in ("old_glue", "abrade")] == ["done", "done"]
    assert row.next_step == "degrease"


def test_a_roller_frame_knows_only_the_inspection(desk: Desk) -> None:
    """No glue, so nothing to grind or to degrease."""
    (code,) = frames(desk, 1, kind="roller")
    assert marks_of(prep_queue(desk), code) == "N-----"


def test_a_frame_on_hold_stays_at_the_bench(desk: Desk) -> None:
    """A prepped frame leaves for the stretching table unless somebody holds it."""
    one, other = frames(desk, 2)
    prep.prep_all(desk, [one, other])
    marks.hold(desk, [one], "rocks on the glass")
    assert [r.frame.code for r in prep_queue(desk).rows] == [one]


def test_regrind_is_due_with_its_number(desk: Desk, fine: str) -> None:
    """The number of stretches since the last regrind decides, by the shop's own limit."""
    (code,) = frames(desk, 1)
    for _ in range(5):
        prep.prep_all(desk, [code])
        stretch.stretch(desk, [code], stretch.StretchRequest(fine))
        stretch.glue(desk, [code], cure=dt.timedelta())
        assert not prep_queue(desk).rows
        prep.strip(desk, [code])
    row = prep_queue(desk).rows[0]
    assert row.is_regrind_due
    assert row.frame.state.stretches_since_regrind == 5
    prep.do_step(desk, [code], StepRequest("regrind"))
    assert not prep_queue(desk).rows[0].is_regrind_due


def test_the_queue_is_grouped_by_the_mesh_of_last_time(desk: Desk, fine: str, coarse: str) -> None:
    """Coarse before fine, then frames that never had mesh."""
    made = frames(desk, 5)
    prep.prep_all(desk, made)
    for code, mesh in zip(made[:4], (fine, coarse, fine, coarse), strict=True):
        stretch.stretch(desk, [code], stretch.StretchRequest(mesh, 25.0))
    prep.strip(desk, made[:4])  # no glue touched the faces, so their prep still stands
    listed = [(r.frame.code, r.mesh.name if r.mesh else "") for r in stretching_table(desk).waiting]
    assert listed == [
        (made[1], coarse), (made[3], coarse), (made[0], fine), (made[2], fine), (made[4], ""),
    ]  # fmt: skip


def test_a_rest_ends_by_the_stored_time(desk: Desk, clock: FakeClock, fine: str) -> None:
    """The timer of a stage is told from the journal, so a restart does not lose it."""
    (code,) = frames(desk, 1)
    prep.prep_all(desk, [code])
    stretch.stretch(desk, [code], stretch.StretchRequest(fine))
    stretch.stage(desk, [code], tension_n_per_cm=18, rest_minutes=10)
    clock.go_on(minutes=12)
    stretch.stage(desk, [code], tension_n_per_cm=22.5, rest_minutes=15)
    staged_at = clock.now()
    clock.go_on(minutes=5)
    (row,) = stretching_table(desk).in_clamps
    assert (row.stages, row.tension_n_per_cm) == (2, 22.5)
    assert row.timer_ends_at == staged_at + dt.timedelta(minutes=15)


def test_a_cure_that_is_over_leaves_the_table(desk: Desk, clock: FakeClock, fine: str) -> None:
    """A released screen is ready when its cure ends; an unreleased one stays to be released."""
    one, other = frames(desk, 2)
    prep.prep_all(desk, [one, other])
    stretch.stretch(desk, [one, other], stretch.StretchRequest(fine))
    stretch.glue(desk, [one, other], cure=dt.timedelta(minutes=20))
    ends = clock.now() + dt.timedelta(minutes=20)
    stretch.release(desk, [one])
    assert [r.timer_ends_at for r in stretching_table(desk).curing] == [ends, ends]
    clock.go_on(minutes=21)
    assert [r.frame.code for r in stretching_table(desk).curing] == [other]


def test_roller_frames_are_listed_the_slackest_first(desk: Desk, fine: str) -> None:
    """What was never read comes last, because nobody knows."""
    made = frames(desk, 3, kind="roller")
    prep.prep_all(desk, made)
    stretch.stretch(desk, made, stretch.StretchRequest(fine))
    stretch.release(desk, made)
    check.survey(desk, made[1], check.SurveyRequest(not_told=(21.0,)))
    check.survey(desk, made[2], check.SurveyRequest(not_told=(19.0,)))
    listed = [r.frame.code for r in stretching_table(desk).rollers]
    assert listed == [made[2], made[1], made[0]]


def test_labels_are_for_what_was_stretched_today(desk: Desk, clock: FakeClock, fine: str) -> None:
    """Yesterday's stretch has its labels already."""
    old, new = frames(desk, 2)
    prep.prep_all(desk, [old, new])
    stretch.stretch(desk, [old], stretch.StretchRequest(fine))
    clock.go_on(days=1)
    stretch.stretch(desk, [new], stretch.StretchRequest(fine))
    assert stretched_today(desk) == (new,)


def mesh_named(desk: Desk, name: str) -> MeshTypeRecord:
    return next(m for m in stretching_table(desk).mesh_types if m.name == name)


def test_a_pull_tells_pieces_and_load(desk: Desk, fine: str) -> None:
    """Outside + allowance once per side; load is tension times the bar: 25 N/cm x 78.7 cm."""
    prep.prep_all(desk, frames(desk, 2))
    waiting = [r.frame for r in stretching_table(desk).waiting]
    plan = plan_pull(waiting, mesh_named(desk, fine), allowance_mm=102)
    assert plan.target_n_per_cm == 25
    assert [(p.length_mm, p.width_mm) for p in plan.pieces] == [(889, 686)] * 2
    assert plan.length_mm == 1778
    assert plan.pieces[0].long_bar_n == pytest.approx(25 * 78.7)
    assert plan.pieces[0].short_bar_n == pytest.approx(25 * 58.4)
    assert kilograms(980.665) == pytest.approx(100)  # standard gravity, exact by definition


def test_a_target_is_suggested_where_the_shop_has_none(desk: Desk, coarse: str) -> None:
    """The suggestion is the one of the mesh maths, and says where it comes from."""
    plan = plan_pull([], mesh_named(desk, coarse), allowance_mm=102)
    wanted = suggest_target(Mesh(43.3, 80))
    assert plan.target_n_per_cm == pytest.approx(wanted.tension, abs=0.05)
    assert str(plan.reason) == str(wanted.reason)


def test_an_own_target_beyond_the_thread_is_warned_about(desk: Desk, fine: str) -> None:
    """45 N/cm on 90.55 threads of 48 um is 275 MPa: only the data sheet can allow it."""
    plan = plan_pull([], mesh_named(desk, fine), allowance_mm=102, asked_n_per_cm=45)
    assert "275 MPa" in str(plan.warning)


def test_the_roll_that_wastes_the_least_width_is_proposed(desk: Desk, fine: str) -> None:
    """A roll that is too narrow or too short is not proposed, whatever its width."""
    prep.prep_all(desk, frames(desk, 2))
    for width, length in ((1500, 9000), (1100, 9000), (700, 1500), (600, 9000)):
        stock.receive_roll(desk, stock.NewRoll(fine, width, length))
    table = stretching_table(desk)
    plan = plan_pull([r.frame for r in table.waiting], mesh_named(desk, fine), allowance_mm=102)
    best = fitting_roll(table.rolls, plan)
    assert best is not None
    assert best.width_mm == 1100
