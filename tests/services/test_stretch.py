"""The stretching table: clamps, stages, glue, release, retension, and the mesh that it takes."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.errors import FramekeeperError, NotFound, NotPossible, NotValid
from framekeeper.domain.events import Stretched
from framekeeper.services import marks, stock, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, edit_mesh_type
from framekeeper.services.record import When
from framekeeper.services.settings import change_settings
from framekeeper.services.stretch import StretchRequest
from tests.fakes import FakeClock
from tests.services.shoptalk import (
    MESH,
    ROLL,
    assert_columns_are_the_fold,
    bare,
    in_clamps,
    picture,
    prepped,
    rows,
    state,
)


def on_hand(desk: Desk) -> int:
    with desk.read() as reader:
        return reader.rolls()[0].on_hand_mm


def events(desk: Desk, code: str) -> list[Stretched]:
    with desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        return [e.payload for e in reader.journal(frame.id) if isinstance(e.payload, Stretched)]


def test_the_whole_table_from_clamps_to_ready(stocked: Desk, clock: FakeClock) -> None:
    code = in_clamps(stocked)
    stretch.stage(stocked, [code], tension_n_per_cm=18.0, rest_minutes=10)
    clock.go_on(minutes=10)
    stretch.stage(stocked, [code], tension_n_per_cm=24.0)
    stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20), adhesive_lot="G 17")
    clock.go_on(minutes=25)
    stretch.release(stocked, [code])
    now = state(stocked, code)
    assert now.state == "ready"
    assert now.life is not None
    assert now.life.day0_at == clock.now()
    assert now.life.target_n_per_cm == 24.0
    assert_columns_are_the_fold(stocked)


def test_the_piece_is_the_frame_and_what_the_clamps_need(stocked: Desk) -> None:
    """787.4 and 584.2 mm with 102 mm each: the long side along the roll."""
    code = in_clamps(stocked)
    (stretched,) = events(stocked, code)
    assert (stretched.cut_length_mm, stretched.cut_width_mm) == (889, 686)
    assert on_hand(stocked) == 30_000 - 889
    (usage,) = stock.shelf(stocked).usage
    assert (usage.mesh.name, usage.pieces, usage.cut_mm) == (MESH, 1, 889)
    change_settings(stocked, cut_allowance_mm=0)
    (stretched,) = events(stocked, in_clamps(stocked))
    assert (stretched.cut_length_mm, stretched.cut_width_mm) == (787, 584)


def test_several_frames_each_with_a_piece_of_its_own(stocked: Desk) -> None:
    codes = [prepped(stocked) for _ in range(3)]
    done = stretch.stretch(stocked, codes, StretchRequest(MESH, roll=ROLL))
    assert str(done.said) == "3 frames: in the clamps, target 24.0 N/cm."
    assert on_hand(stocked) == 30_000 - 3 * 889
    assert [events(stocked, c)[0].frames_in_pull for c in codes] == [1, 1, 1]


def test_several_frames_in_one_pull_share_one_piece(stocked: Desk) -> None:
    codes = [prepped(stocked) for _ in range(3)]
    request = StretchRequest(MESH, 22.0, ROLL, 2400, 900, "long", one_pull=True)
    stretch.stretch(stocked, codes, request)
    assert on_hand(stocked) == 30_000 - 2400
    assert stock.shelf(stocked).usage[0].pieces == 1
    assert [events(stocked, c)[0].frames_in_pull for c in codes] == [3, 3, 3]
    assert [events(stocked, c)[0].cut_length_mm for c in codes] == [2400, None, None]


def test_one_frame_that_is_not_ready_stops_the_whole_pull(stocked: Desk) -> None:
    good, bad = prepped(stocked), bare(stocked)
    before, counts = picture(stocked), rows(stocked)
    with pytest.raises(NotPossible) as refusal:
        stretch.stretch(stocked, [good, bad], StretchRequest(MESH, roll=ROLL))
    assert bad in refusal.value.text()
    assert "the next step is: inspect" in refusal.value.text()
    assert (picture(stocked), rows(stocked)) == (before, counts)


def test_a_roll_that_does_not_hold_enough(stocked: Desk) -> None:
    code = prepped(stocked)
    stock.count_roll(stocked, ROLL, length_mm=888)
    before = rows(stocked)
    with pytest.raises(NotValid, match=r"holds 0\.89 m") as refusal:
        stretch.stretch(stocked, [code], StretchRequest(MESH, roll=ROLL))
    assert refusal.value.argument == "roll"
    assert rows(stocked) == before
    stock.count_roll(stocked, ROLL, length_mm=889)
    stretch.stretch(stocked, [code], StretchRequest(MESH, roll=ROLL))
    assert on_hand(stocked) == 0


def test_mesh_without_a_roll_is_tallied_all_the_same(stocked: Desk) -> None:
    in_clamps(stocked, roll="")
    assert on_hand(stocked) == 30_000
    assert stock.shelf(stocked).usage[0].cut_mm == 889


def test_a_stretch_of_yesterday_is_tallied_yesterday(stocked: Desk, clock: FakeClock) -> None:
    code = prepped(stocked)
    clock.go_on(days=40)
    then = clock.now() - dt.timedelta(days=39)
    stretch.stretch(stocked, [code], StretchRequest(MESH), when=When(then))
    assert stock.shelf(stocked).usage[0].month == then.date().replace(day=1)
    assert state(stocked, code).since == then


@pytest.mark.parametrize(
    ("wrong", "kind"),
    [
        (StretchRequest("999"), NotFound),
        (StretchRequest(""), NotFound),
        (StretchRequest("77-55"), NotValid),  # no target yet
        (StretchRequest("77-55", 20.0, roll=ROLL), NotValid),  # another mesh than the roll
        (StretchRequest(MESH, roll="R9999"), NotValid),
        (StretchRequest(MESH, 0.0), NotValid),
        (StretchRequest(MESH, -24.0), NotValid),
        (StretchRequest(MESH, float("nan")), NotValid),
        (StretchRequest(MESH, 60.5), NotValid),
        (StretchRequest(MESH, cut_length_mm=0), NotValid),
        (StretchRequest(MESH, cut_length_mm=-5), NotValid),
        (StretchRequest(MESH, cut_length_mm=100_001), NotValid),
        (StretchRequest(MESH, cut_length_mm=500, cut_width_mm=10_001), NotValid),
        (StretchRequest(MESH, warp_along="round"), NotValid),  # type: ignore[arg-type]
    ],
)
def test_a_stretch_that_cannot_be(
    stocked: Desk, wrong: StretchRequest, kind: type[FramekeeperError]
) -> None:
    code = prepped(stocked)
    before = rows(stocked)
    with pytest.raises(kind) as refusal:
        stretch.stretch(stocked, [code], wrong)
    assert refusal.value.text()
    assert rows(stocked) == before


def test_the_target_of_the_mesh_is_taken_where_none_is_given(stocked: Desk) -> None:
    assert events(stocked, in_clamps(stocked))[0].target_n_per_cm == 24.0
    code = prepped(stocked)
    stretch.stretch(stocked, [code], StretchRequest("77-55", 31.5))
    assert events(stocked, code)[0].target_n_per_cm == 31.5


@pytest.mark.parametrize(
    ("tension", "rest"),
    [(0.0, 10), (float("nan"), 10), (61.0, 10), (20.0, -1), (20.0, 24 * 60 + 1)],
)
def test_a_stage_that_cannot_be(stocked: Desk, tension: float, rest: int) -> None:
    code = in_clamps(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid):
        stretch.stage(stocked, [code], tension_n_per_cm=tension, rest_minutes=rest)
    assert rows(stocked) == before


@pytest.mark.parametrize("cure", [dt.timedelta(seconds=-1), dt.timedelta(days=7, seconds=1)])
def test_a_cure_that_cannot_be(stocked: Desk, cure: dt.timedelta) -> None:
    code = in_clamps(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid, match="cure lasts"):
        stretch.glue(stocked, [code], cure=cure)
    assert rows(stocked) == before


@pytest.mark.parametrize(
    "at",
    [
        dt.datetime(9999, 12, 31, 23, 59, tzinfo=dt.UTC),
        dt.datetime(2025, 3, 3, 7, 10),  # noqa: DTZ001
        dt.datetime(25, 3, 3, 7, 10, tzinfo=dt.UTC),
    ],
)
def test_glue_at_a_time_that_cannot_be(stocked: Desk, at: dt.datetime) -> None:
    code = in_clamps(stocked)
    with pytest.raises(NotValid) as refusal:
        stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20), when=When(at))
    assert refusal.value.argument == "happened_at"


def test_rollers_go_without_glue_and_are_tightened_again(stocked: Desk, clock: FakeClock) -> None:
    code = in_clamps(stocked, kind="roller")
    with pytest.raises(NotPossible, match="takes no glue"):
        stretch.glue(stocked, [code], cure=dt.timedelta(0))
    stretch.release(stocked, [code])
    clock.go_on(days=3)
    used = on_hand(stocked)
    stretch.retension(stocked, [code], target_n_per_cm=28.0)
    life = state(stocked, code).life
    assert life is not None
    assert (life.day0_at, life.target_n_per_cm) == (clock.now(), 28.0)
    assert on_hand(stocked) == used
    with pytest.raises(NotValid):
        stretch.retension(stocked, [code], target_n_per_cm=float("inf"))


def test_a_hidden_roll_or_a_frame_on_hold_stops_the_stretch(stocked: Desk) -> None:
    code = prepped(stocked)
    marks.hold(stocked, [code], "rocks on the glass")
    with pytest.raises(NotPossible, match=r"on hold \(rocks on the glass\)"):
        stretch.stretch(stocked, [code], StretchRequest(MESH))


def test_a_new_target_of_the_mesh_changes_no_stretch_of_before(stocked: Desk) -> None:
    code = in_clamps(stocked)
    edit_mesh_type(stocked, MESH, MeshTypeFacts(MESH))
    life = state(stocked, code).life
    assert life is not None
    assert life.target_n_per_cm == 24.0
