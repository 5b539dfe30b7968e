"""Frames into the register, bare or with mesh on them, and edits of what they are."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from framekeeper.domain import codes
from framekeeper.domain.errors import Conflict, FramekeeperError, NotFound, NotValid
from framekeeper.services import history, prep, register
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from framekeeper.services.register import FoundMesh, FrameEdit, NewFrame
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, assert_columns_are_the_fold, bare, ready, rows, state

GOOD = NewFrame(584.2, 787.4)


def test_frames_get_codes_that_a_scanner_can_check(stocked: Desk) -> None:
    done = register.register(stocked, [GOOD] * 8)
    assert len(set(done.codes)) == 8
    assert all(codes.check(code) for code in done.codes)
    assert str(done.said) == f"Registered: {done.codes[0]} … {done.codes[-1]}."
    assert done.changes.kinds == {"frames"}
    assert len(done.changes.frame_ids) == 8
    assert str(register.register(stocked, [GOOD] * 2).said).count("FK") == 2
    assert assert_columns_are_the_fold(stocked) == 10


def test_a_code_is_never_given_again(stocked: Desk) -> None:
    first = bare(stocked)
    history.undo(stocked)
    assert bare(stocked) != first


def test_a_frame_is_registered_with_all_that_is_said_of_it(stocked: Desk) -> None:
    frame = NewFrame(584.2, 787.4, "roller", " A 7 ", "38 mm square", "rack 2")
    (code,) = register.register(stocked, [frame]).codes
    with stocked.read() as reader:
        record = reader.frame_by_code(code)
    assert record is not None
    assert (record.own_label, record.profile, record.slot) == ("A 7", "38 mm square", "rack 2")
    assert (record.width_mm, record.height_mm, record.kind) == (584.2, 787.4, "roller")
    assert record.name == f"{code} (A 7)"
    assert record.state.state == "bare"


def test_mesh_that_is_found_on_a_frame(stocked: Desk, clock: FakeClock) -> None:
    since = clock.now() - dt.timedelta(days=90)
    found = FoundMesh(MESH.upper(), 12, since, 22.5)
    (code,) = register.register(stocked, [GOOD], found=found).codes
    now = state(stocked, code)
    assert now.state == "ready"
    assert now.life is not None
    assert (now.life.reclaims, now.life.started_at) == (12, since)
    assert now.life.target_n_per_cm == 22.5
    life = state(stocked, ready(stocked)).life
    assert life is not None
    assert life.target_n_per_cm == 24.0  # that of the mesh type


@pytest.mark.parametrize(
    "wrong",
    [
        {"width_mm": 99.9},
        {"width_mm": 5000.1},
        {"height_mm": float("nan")},
        {"height_mm": -600.0},
        {"height_mm": float("inf")},
        {"kind": "welded"},
        {"own_label": "x" * 201},
        {"own_label": "\x00"},
        {"profile": "\ud800"},
        {"slot": "bell\x07"},
    ],
)
def test_a_frame_that_cannot_be(stocked: Desk, wrong: dict[str, Any]) -> None:
    """Nothing is written, not even the good frame before it."""
    before = rows(stocked)
    with pytest.raises(NotValid) as refusal:
        register.register(stocked, [GOOD, replace(GOOD, **wrong)])
    assert refusal.value.argument == next(iter(wrong))
    assert rows(stocked) == before


@pytest.mark.parametrize(
    ("found", "kind"),
    [
        (FoundMesh("999-99"), NotFound),
        (FoundMesh(""), NotFound),
        (FoundMesh(MESH, -1), NotValid),
        (FoundMesh(MESH, 10_001), NotValid),
        (FoundMesh(MESH, target_n_per_cm=float("nan")), NotValid),
        (FoundMesh(MESH, target_n_per_cm=60.1), NotValid),
        (FoundMesh(MESH, mesh_since=dt.datetime(2025, 1, 1)), NotValid),  # noqa: DTZ001
        (FoundMesh(MESH, mesh_since=dt.datetime(2025, 3, 4, tzinfo=dt.UTC)), NotValid),
    ],
)
def test_found_mesh_that_cannot_be(
    stocked: Desk, found: FoundMesh, kind: type[FramekeeperError]
) -> None:
    before = rows(stocked)
    with pytest.raises(kind):
        register.register(stocked, [GOOD], found=found)
    assert rows(stocked) == before


def test_an_unknown_mesh_names_those_that_the_shop_has(stocked: Desk) -> None:
    with pytest.raises(NotFound) as refusal:
        register.register(stocked, [GOOD], found=FoundMesh("230"))
    assert "120-34" in refusal.value.text()


def test_no_frame_at_all_is_refused(stocked: Desk) -> None:
    with pytest.raises(NotValid):
        register.register(stocked, [])


def test_a_registration_in_the_future_is_refused(stocked: Desk, clock: FakeClock) -> None:
    before = rows(stocked)
    with pytest.raises(NotValid, match="future"):
        register.register(stocked, [GOOD], when=When(clock.now() + dt.timedelta(hours=1)))
    assert rows(stocked) == before


@pytest.mark.parametrize("second", ["A7", "a7", " A7 "])
def test_two_frames_do_not_carry_one_label(stocked: Desk, second: str) -> None:
    bare(stocked, label="A7")
    with pytest.raises(NotValid, match="carries the label"):
        bare(stocked, label=second)
    with pytest.raises(NotValid, match="carries the label"):
        register.register(stocked, [replace(GOOD, own_label=x) for x in ("B1", "B1")])
    other = bare(stocked)
    with pytest.raises(NotValid, match="carries the label"):
        register.edit_frame(stocked, other, FrameEdit(own_label=second))


def test_an_edit_changes_what_it_names_and_no_history(stocked: Desk) -> None:
    code = ready(stocked)
    before = state(stocked, code)
    done = register.edit_frame(stocked, code, FrameEdit(own_label="B2", width_mm=500.0))
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
    assert frame is not None
    assert (frame.own_label, frame.width_mm, frame.height_mm) == ("B2", 500.0, 787.4)
    assert frame.state == before
    assert "frames" in done.changes.kinds
    register.edit_frame(stocked, code, FrameEdit(own_label="b2"))  # its own label, other case


def test_an_edit_of_nothing_leaves_no_trace(stocked: Desk) -> None:
    code = ready(stocked)
    before = rows(stocked)
    done = register.edit_frame(stocked, code, FrameEdit(width_mm=584.2))
    assert rows(stocked) == before
    assert done.changes.operation_id == 0


def test_an_edit_of_what_was_changed_since_is_a_conflict(stocked: Desk) -> None:
    code = bare(stocked)
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
    assert frame is not None
    prep.do_step(stocked, [code], prep.StepRequest("inspect"))
    with pytest.raises(Conflict):
        register.edit_frame(stocked, code, FrameEdit("A1"), version=frame.version)


def test_a_kind_that_the_history_forbids_is_refused(stocked: Desk) -> None:
    """A glued frame that was abraded never had rollers."""
    code = bare(stocked)
    prep.prep_all(stocked, [code], skipped={"old_glue": "new"})
    before = rows(stocked)
    with pytest.raises(FramekeeperError, match="is for glued frames"):
        register.edit_frame(stocked, code, FrameEdit(kind="roller"))
    assert rows(stocked) == before


@pytest.mark.parametrize(
    "wrong", [{"width_mm": float("nan")}, {"kind": "welded"}, {"slot": "x" * 201}]
)
def test_an_edit_that_cannot_be(stocked: Desk, wrong: dict[str, Any]) -> None:
    code = bare(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid):
        register.edit_frame(stocked, code, FrameEdit(**wrong))
    assert rows(stocked) == before
