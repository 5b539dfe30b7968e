"""Proves the prep bench: one key for each step, for one frame or for many, and by scanning."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from framekeeper.services import marks, register
from framekeeper.services.bench_queues import prep_queue
from framekeeper.ui.cautions import caution
from framekeeper.ui.places.prep_bench import PrepBench
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState
from tests.ui.bench_shop import (
    ENTER,
    ESC,
    BenchShop,
    come_in,
    field_named,
    nameless,
    strike,
    type_into,
)
from tests.ui.bench_shop import bench_shop as bench_shop


def shown(place: PrepBench, code: str) -> dict[str, str]:
    """What the table says of a frame's steps."""
    model = place.table.model()
    row = [r.frame.code for r in place.table.rows].index(code)
    return {
        model.headerData(column, Qt.Orientation.Horizontal): model.index(row, column).data()
        for column in range(model.columnCount())
    }


def test_space_walks_a_frame_to_the_stretching_table(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """Five presses of one key prep a new frame; then it has left the bench."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    assert shown(place, code)["Inspect"] == "next"
    for _ in range(5):
        QTest.keyClick(place.table, Qt.Key.Key_Space)
    assert bench_shop.kinds(code) == ["registered"] + ["prepped"] * 5
    assert bench_shop.state(code) == "prepped"
    assert not place.table.rows
    assert place.findChild(EmptyState).isVisible()


def test_a_step_key_works_for_all_chosen_frames(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """Twelve frames, one key: twelve inspections in one operation that one undo takes back."""
    codes = bench_shop.frames(12)
    place = come_in(PrepBench, bench_shop, qtbot)
    place.table.selectAll()
    strike(place, qtbot, Qt.Key.Key_F2)
    assert {shown(place, code)["Inspect"] for code in codes} == {"done"}
    assert {shown(place, code)["Old glue off"] for code in codes} == {"next"}
    assert place.codes() == codes  # they stay chosen for the next key
    with bench_shop.desk.read() as reader:
        undo = reader.next_undo()
    assert undo is not None
    assert undo.subject == "12 frames"


def test_the_second_scan_does_the_next_step(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """The first scan only chooses; another frame in between starts anew."""
    one, other = bench_shop.frames(2)
    place = come_in(PrepBench, bench_shop, qtbot)
    assert place.take_scan(one)
    assert place.codes() == [one]
    assert place.take_scan(other)
    assert place.take_scan(one)
    assert bench_shop.kinds(one) == ["registered"]
    assert place.take_scan(one)
    assert bench_shop.kinds(one) == ["registered", "prepped"]
    assert bench_shop.kinds(other) == ["registered"]


def test_a_scan_of_a_frame_that_is_not_here_is_left_to_the_window(
    bench_shop: BenchShop, qtbot: QtBot
) -> None:
    """A prepped frame has nothing to do here, so its page opens."""
    (code,) = bench_shop.frames(1, prepped=True)
    place = come_in(PrepBench, bench_shop, qtbot)
    assert not place.take_scan(code)


def test_a_step_out_of_order_is_refused_with_the_way_out(
    bench_shop: BenchShop, qtbot: QtBot
) -> None:
    """The sentence of the service reaches the person, and nothing is written."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F7)
    assert bench_shop.kinds(code) == ["registered"]
    assert len(bench_shop.refused) == 1
    assert "before" in bench_shop.refused[0]


def test_skipping_takes_a_quick_reason_with_two_keys(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """F9 opens at the next step with a reason ready, Enter records it."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F2)
    strike(place, qtbot, Qt.Key.Key_F9)
    QTest.keyClick(place.window().focusWidget(), ENTER)
    assert shown(place, code)["Old glue off"] == "skipped"
    row = prep_queue(bench_shop.desk).rows[0]
    assert row.shown("old_glue").reason == "new frame, no old glue"
    assert bench_shop.kinds(code).count("prepped") == 2  # Enter counts once
    assert place.window().focusWidget() is place.table


def test_a_skip_without_reason_is_refused_at_the_form(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """The form stays open and says what is missing; Esc leaves it and writes nothing."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F9)
    reason = field_named(place, "Why")
    type_into(reason, " ")
    QTest.keyClick(reason, ENTER)
    assert "needs its reason" in place._skip.error_text
    assert place._skip.isVisible()
    QTest.keyClick(reason, ESC)
    assert not place._skip.isVisible()
    assert place.window().focusWidget() is place.table
    assert bench_shop.kinds(code) == ["registered"]


@pytest.mark.parametrize("typed", ["1,5", "1.5"])
def test_a_frame_that_rocks_goes_on_hold(bench_shop: BenchShop, qtbot: QtBot, typed: str) -> None:
    """The gap on the glass is kept as a number, with either decimal sign, and the frame is held."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F10)
    gap = field_named(place, "Gap on the glass")
    assert place.window().focusWidget() is gap
    type_into(gap, typed)
    QTest.keyClick(gap, ENTER)
    assert "on hold: rocks on the glass" in shown(place, code)["Remarks"]
    with bench_shop.desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        assert reader.journal(frame.id)[-1].payload.gap_mm == 1.5  # type: ignore[union-attr]
    strike(place, qtbot, Qt.Key.Key_E, Qt.KeyboardModifier.ControlModifier)
    assert "on hold" not in shown(place, code)["Remarks"]


def test_a_gap_that_is_no_number_keeps_what_was_typed(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """The refusal names the field and leaves the text in it."""
    (code,) = bench_shop.frames(1)
    place = come_in(PrepBench, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F10)
    gap = field_named(place, "Gap on the glass")
    type_into(gap, "much")
    QTest.keyClick(gap, ENTER)
    assert "not a gap" in place._fail.error_text
    assert gap.text() == "much"
    assert bench_shop.kinds(code) == ["registered"]


def test_pulled_screens_are_stripped_with_the_caution(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """The next step of loaded mesh is to strip it, and the place says what can happen."""
    bench_shop.add_meshes()
    found = register.FoundMesh("230 yellow")
    done = register.register(bench_shop.desk, [register.NewFrame(584, 787)], found=found)
    marks.pull(bench_shop.desk, done.codes, "too slack")
    place = come_in(PrepBench, bench_shop, qtbot)
    assert shown(place, done.codes[0])["Strip"] == "next"
    assert "too slack" in shown(place, done.codes[0])["Remarks"]
    strip = place.findChild(CautionStrip)
    assert strip.isVisible()
    assert strip.accessibleDescription() == caution("strip")
    QTest.keyClick(place.table, Qt.Key.Key_Space)
    assert bench_shop.state(done.codes[0]) == "bare"


def test_an_empty_bench_says_where_frames_come_from(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """Nothing waits: the place says what to do first, and keys do no harm."""
    place = come_in(PrepBench, bench_shop, qtbot)
    assert place.findChild(EmptyState).isVisible()
    strike(place, qtbot, Qt.Key.Key_F2)
    assert not bench_shop.refused


def test_every_control_has_a_name_and_room(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """Screen reader and gloves: no control without a name, none under 24 px; forms included."""
    bench_shop.frames(2)
    place = come_in(PrepBench, bench_shop, qtbot)
    assert nameless(place) == []
    for key in (Qt.Key.Key_F9, Qt.Key.Key_F10):
        strike(place, qtbot, key)
        assert nameless(place) == []
        QTest.keyClick(place.window().focusWidget(), ESC)
