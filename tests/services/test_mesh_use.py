"""What mesh was used for, and how often screens end: counted from ledger and journal."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.services import history, marks, prep, register, stock, stretch
from framekeeper.services.cut_plan import book, plan_here, request_for
from framekeeper.services.cut_queue import cut_shelf, jobs_for
from framekeeper.services.desk import Desk
from framekeeper.services.mesh_use import MeshUse, Used, read_use, use_of_mesh
from framekeeper.services.stock import NewRoll
from framekeeper.services.stock_moves import roll_page
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, ROLL, in_clamps, prepped, ready

SIZE = (584.2, 787.4)
PIECE = 889


def use_in(desk: Desk) -> MeshUse:
    with desk.read() as reader:
        return read_use(reader, desk.clock.now())


def told(used: tuple[Used, ...]) -> list[tuple[str, str, int, int]]:
    return [(f"{u.month:%Y-%m}", u.reason, u.pieces, u.length_mm) for u in used]


def mesh_id(desk: Desk, name: str = MESH) -> int:
    with desk.read() as reader:
        return next(m.id for m in reader.mesh_types() if m.name == name)


def released(desk: Desk) -> str:
    code = in_clamps(desk)
    stretch.glue(desk, [code], cure=dt.timedelta(0))
    stretch.release(desk, [code])
    return code


def again(desk: Desk, code: str) -> None:
    """Strip, prep and stretch a frame anew."""
    prep.strip(desk, [code])
    prep.prep_all(desk, [code])
    stretch.stretch(desk, [code], stretch.StretchRequest(MESH, roll=ROLL))


def test_each_cut_tells_its_reason(stocked: Desk, clock: FakeClock) -> None:
    """First stretch, after damage, after a pull below the limit, for another reason, scrap."""
    codes = [released(stocked) for _ in range(3)]
    stock.scrap(stocked, ROLL, length_mm=300, reason="crease")
    clock.go_on(days=31)
    marks.damage(stocked, codes[:1], "burst", mesh_is_done=True)
    marks.pull(stocked, codes[1:2], "below its limit")
    marks.pull(stocked, codes[2:], "job is over")
    for code in codes:
        again(stocked, code)
    assert sorted(told(use_of_mesh(stocked))) == [
        ("2025-03", "first", 3, 3 * PIECE),
        ("2025-03", "scrap", 0, 300),
        ("2025-04", "below_limit", 1, PIECE),
        ("2025-04", "damage", 1, PIECE),
        ("2025-04", "other", 1, PIECE),
    ]
    assert {u.size_mm for u in use_of_mesh(stocked)} == {SIZE, None}


def test_what_is_undone_was_never_used(stocked: Desk) -> None:
    in_clamps(stocked)
    history.undo(stocked)
    assert use_of_mesh(stocked) == ()
    history.redo(stocked)
    assert told(use_of_mesh(stocked)) == [("2025-03", "first", 1, PIECE)]


def test_a_piece_that_was_cut_ahead_tells_its_reason_once_it_is_stretched(stocked: Desk) -> None:
    """Two pieces side by side share a row: a screen then takes half the length."""
    codes = [prepped(stocked) for _ in range(2)]
    shelf = cut_shelf(stocked)
    request = request_for(shelf, jobs_for(stocked, codes, mesh=MESH), may_turn=False)
    book(stocked, request, plan_here(request, seconds=5))
    assert told(use_of_mesh(stocked)) == [("2025-03", "ahead", 2, PIECE)]
    assert {u.size_mm for u in use_of_mesh(stocked)} == {SIZE}
    stretch.stretch(stocked, codes[:1], stretch.StretchRequest(MESH))
    assert sorted(told(use_of_mesh(stocked))) == [
        ("2025-03", "ahead", 1, PIECE - PIECE // 2),
        ("2025-03", "first", 1, PIECE // 2),
    ]
    marks.damage(stocked, codes[:1], "burst", mesh_is_done=True)
    assert sum(use_in(stocked)._burst(m) for m in use_in(stocked).moves) == 1


def test_a_piece_cut_ahead_keeps_its_frame_under_another_label(stocked: Desk) -> None:
    """A stretch that cuts mesh of its own from that roll has not used it; the next one has."""
    code = prepped(stocked)
    shelf = cut_shelf(stocked)
    request = request_for(shelf, jobs_for(stocked, [code], mesh=MESH), may_turn=False)
    book(stocked, request, plan_here(request, seconds=5))
    register.edit_frame(stocked, code, register.FrameEdit(own_label="K 7"))
    assert {u.size_mm for u in use_of_mesh(stocked)} == {SIZE}
    (cut,) = [line for line in roll_page(stocked, ROLL).lines if line.move.kind == "cut"]
    assert cut.frame is not None
    assert cut.frame.code == code
    longer = stretch.StretchRequest(MESH, roll=ROLL, cut_length_mm=PIECE + 100)
    stretch.stretch(stocked, [code], longer)
    assert sorted(told(use_of_mesh(stocked))) == [
        ("2025-03", "ahead", 1, PIECE),
        ("2025-03", "first", 1, PIECE + 100),
    ]
    prep.strip(stocked, [code])
    stretch.stretch(stocked, [code], stretch.StretchRequest(MESH))
    assert sorted(told(use_of_mesh(stocked))) == [
        ("2025-03", "first", 1, PIECE + 100),
        ("2025-03", "other", 1, PIECE),
    ]


def test_an_offcut_gives_back_its_share_and_takes_it_when_it_is_used(stocked: Desk) -> None:
    """It agrees with the tally of the shelf: half a roll's width counts half its length."""
    in_clamps(stocked)
    stock.keep_offcut(stocked, ROLL, width_mm=750, length_mm=PIECE)
    rows = use_of_mesh(stocked)
    assert sum(u.length_mm for u in rows) == PIECE - round(PIECE / 2)
    (usage,) = stock.shelf(stocked).usage
    assert abs(usage.cut_mm - sum(u.length_mm for u in rows)) <= 1
    assert use_in(stocked).as_cut(mesh_id(stocked)) == 1.0  # one cut is no habit yet


def test_ends_are_counted_over_screen_days(stocked: Desk, clock: FakeClock) -> None:
    """Two screens for ten days, one of them damaged; the other goes on for ten days more."""
    codes = [released(stocked) for _ in range(2)]
    clock.go_on(days=10)
    marks.damage(stocked, codes[:1], "hole", mesh_is_done=True)
    clock.go_on(days=10)
    damage, other = use_in(stocked).damage(), use_in(stocked).other_ends()
    assert (damage.ends, damage.screen_days) == (1, pytest.approx(30))
    assert damage.per_day == pytest.approx(1 / 30)
    assert (other.ends, other.per_day) == (0, 0)


def test_mesh_that_was_found_counts_from_when_it_was_seen(stocked: Desk, clock: FakeClock) -> None:
    ready(stocked)
    clock.go_on(days=5)
    assert use_in(stocked).damage().screen_days == pytest.approx(5)


def test_a_shop_of_a_day_has_no_pace_of_a_day(stocked: Desk) -> None:
    """Three cuts on the first morning are three a month, not ninety."""
    for _ in range(3):
        in_clamps(stocked)
    pace = use_in(stocked).pace(mesh_id(stocked))
    assert pace is not None
    assert (pace.pieces, pace.per_day, pace.piece_mm) == (3, pytest.approx(0.1), PIECE)
    assert use_in(stocked).pace(mesh_id(stocked, "77-55")) is None


def test_only_the_last_year_is_the_pace(stocked: Desk, clock: FakeClock) -> None:
    in_clamps(stocked)
    clock.go_on(days=400)
    in_clamps(stocked)
    clock.go_on(days=60)
    pace = use_in(stocked).pace(mesh_id(stocked))
    assert pace is not None
    assert (pace.pieces, pace.per_day) == (1, pytest.approx(1 / 60))


def test_scrap_losses_and_bursts_serve_no_screen(stocked: Desk) -> None:
    """From 20 m on the mesh has a share of its own; another mesh takes that of the whole shop."""
    for _ in range(23):
        code = in_clamps(stocked)
    marks.damage(stocked, [code], "burst", mesh_is_done=True)
    stock.scrap(stocked, ROLL, length_mm=500, reason="crease")
    left = 30_000 - 23 * PIECE - 500
    stock.count_roll(stocked, ROLL, length_mm=left - 100)
    spoiled = use_in(stocked).spoiled(mesh_id(stocked))
    assert spoiled is not None
    assert spoiled.spoiled_mm == 500 + 100 + PIECE
    assert spoiled.share == pytest.approx(spoiled.spoiled_mm / (23 * PIECE + 500 + 100))
    other = use_in(stocked).spoiled(mesh_id(stocked, "77-55"))
    assert other is not None
    assert (other.share, spoiled.is_whole_shop, other.is_whole_shop) == (spoiled.share, False, True)


def test_one_burst_of_two_is_no_share(stocked: Desk) -> None:
    code = in_clamps(stocked)
    in_clamps(stocked)
    marks.damage(stocked, [code], "burst", mesh_is_done=True)
    assert use_in(stocked).spoiled(mesh_id(stocked)) is None


def test_the_way_a_shop_cuts_is_learnt(stocked: Desk) -> None:
    """Ten pieces cut a tenth longer than they must be: a screen takes 110 %."""
    codes = [released(stocked) for _ in range(2)]
    for code in codes:
        prep.strip(stocked, [code])
        prep.prep_all(stocked, [code])
    mesh = mesh_id(stocked)
    assert use_in(stocked).as_cut(mesh) == 1.0
    for _ in range(10):
        code = in_clamps(stocked)
        marks.damage(stocked, [code], "burst", mesh_is_done=True)
    assert use_in(stocked).as_cut(mesh) == pytest.approx(1.0)
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 90_000))
    request = stretch.StretchRequest(MESH, roll="R0002", cut_length_mm=2 * PIECE)
    for code in codes:
        stretch.stretch(stocked, [code], request)
    assert use_in(stocked).as_cut(mesh) == pytest.approx((12 + 4) / 14)


def test_an_offcut_counts_by_its_width_in_pace_way_of_cutting_and_scrap(stocked: Desk) -> None:
    """Of 1500 mm, 300 are kept beside each piece: four fifths of each cut were used, not none."""
    for _ in range(27):
        in_clamps(stocked)
        stock.keep_offcut(stocked, ROLL, width_mm=300, length_mm=PIECE)
    mesh = mesh_id(stocked)
    pace = use_in(stocked).pace(mesh)
    assert pace is not None
    assert pace.piece_mm == pytest.approx(0.8 * PIECE)
    assert use_in(stocked).as_cut(mesh) == pytest.approx(0.8)
    assert use_in(stocked).spoiled(mesh) is None  # 19.2 m went: too little to know
    stock.scrap(stocked, "R0002", length_mm=PIECE, reason="soiled")
    in_clamps(stocked)
    in_clamps(stocked)
    spoiled = use_in(stocked).spoiled(mesh)
    assert spoiled is not None
    assert spoiled.spoiled_mm == round(PIECE / 5)
