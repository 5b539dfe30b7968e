"""Proves the washout: scan, scan, scan; one key for haze, damage, inspection and undo."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from framekeeper.services import history, washout
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_damage import OneKeyDamageForm
from framekeeper.ui.places.washout import Washout
from framekeeper.ui.widgets.notices import KeyHintButton
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, press, put_away, stocked_desk

Stocked = tuple[Desk, list[str]]


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> Stocked:
    desk, codes = stocked_desk(sqlite_place, clock)
    washout.image(desk, codes)
    washout.queue(desk, codes[:2])
    clock.go_on(days=3)
    return desk, codes


@pytest.fixture
def bench(qapp: QApplication, stocked: Stocked, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def place(bench: Bench, qtbot: QtBot) -> Washout:
    made = Washout(bench)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.enter()
    return made


def reclaims(desk: Desk, code: str) -> list[bool]:
    """Say for each reclaim of a frame that counts whether haze remover was used."""
    standing = frame_page(desk, code).standing
    return [e.payload.haze_remover for e in standing if e.kind == "reclaimed"]  # type: ignore[union-attr]


def test_a_scan_is_a_reclaim_and_the_session_is_counted(place: Washout, stocked: Stocked) -> None:
    """No key between the scans; the queue gets shorter, the last one stands large."""
    desk, codes = stocked
    assert [(w.frame.code, w.days) for w in place.queue.waiting] == [(codes[0], 3), (codes[1], 3)]
    for code in codes[:2]:
        assert place.take_scan(code)
    assert [reclaims(desk, code) for code in codes] == [[False], [False], []]
    assert place.queue.waiting == []
    assert [w.codes[0] for w in place.session] == codes[:2]
    assert codes[1] in place.last.words


def test_haze_remover_is_one_key_for_the_last_scan_and_one_for_the_next(
    place: Washout, stocked: Stocked, qtbot: QtBot
) -> None:
    """Told late it corrects the reclaim; told early it counts for what is scanned next."""
    desk, codes = stocked
    place.take_scan(codes[0])
    press(place, Qt.Key.Key_F2)
    qtbot.waitUntil(lambda: reclaims(desk, codes[0]) == [True])
    assert len(place.session) == 1
    press(place, Qt.Key.Key_F3)
    assert place.haze_next.isChecked()
    place.take_scan(codes[1])
    assert reclaims(desk, codes[1]) == [True]


def test_the_last_scan_is_undone_by_one_key(place: Washout, stocked: Stocked, qtbot: QtBot) -> None:
    """The screen waits again where it waited, and the one before is the last now."""
    desk, codes = stocked
    place.take_scan(codes[0])
    place.take_scan(codes[1])
    press(place, Qt.Key.Key_F8)
    qtbot.waitUntil(lambda: reclaims(desk, codes[1]) == [])
    assert [w.frame.code for w in place.queue.waiting] == [codes[1]]
    assert [w.codes[0] for w in place.session] == [codes[0]]


def test_an_undo_from_elsewhere_is_noticed(place: Washout, bench: Bench, stocked: Stocked) -> None:
    """What the window's own undo takes back is no scan of this session any more."""
    _desk, codes = stocked
    place.take_scan(codes[0])
    bench.change(history.undo)
    assert place.session == []
    assert codes[0] not in place.last.words


def test_a_tear_is_one_key_a_word_and_enter(place: Washout, stocked: Stocked, qtbot: QtBot) -> None:
    """The screen is pulled with its cause and the place of the tear."""
    desk, codes = stocked
    place.take_scan(codes[0])
    press(place, Qt.Key.Key_F4)
    qtbot.waitUntil(lambda: QApplication.activeModalWidget() is not None)
    form = QApplication.activeModalWidget()
    assert isinstance(form, OneKeyDamageForm)
    qtbot.waitUntil(form.isActiveWindow)
    press(form, "left", Qt.Key.Key_Return)
    page = frame_page(desk, codes[0])
    assert page.settled.state == "pulled"
    damage = page.standing[-1].payload
    assert (damage.damage, damage.where) == ("corner_tear", "left")  # type: ignore[union-attr]


def test_a_digit_chooses_another_kind_of_damage(
    place: Washout, stocked: Stocked, qtbot: QtBot
) -> None:
    """A hole that will be taped: 2, then 0 because the mesh is not done."""
    desk, codes = stocked
    place.take_scan(codes[0])
    press(place, Qt.Key.Key_F4)
    qtbot.waitUntil(lambda: QApplication.activeModalWidget() is not None)
    form = QApplication.activeModalWidget()
    assert isinstance(form, OneKeyDamageForm)
    qtbot.waitUntil(form.isActiveWindow)
    press(form, "20", Qt.Key.Key_Return)
    damage = frame_page(desk, codes[0]).standing[-1].payload
    assert (damage.damage, damage.mesh_is_done) == ("hole", False)  # type: ignore[union-attr]
    assert frame_page(desk, codes[0]).settled.state == "ready"


def test_a_due_inspection_is_flagged_at_the_scan_and_done_by_one_key(
    place: Washout, stocked: Stocked, qtbot: QtBot
) -> None:
    """The reason counts the reclaims; after the inspection the flag is gone."""
    desk, codes = stocked
    washout.reclaim(desk, [codes[0]])
    washout.image(desk, [codes[0]])
    place.take_scan(codes[0])
    assert "2 reclaims since the last inspection" in place.last.words
    press(place, Qt.Key.Key_F5)
    qtbot.waitUntil(lambda: "since the last inspection" not in place.last.words)
    assert frame_page(desk, codes[0]).standing[-1].kind == "inspected"


def test_a_scan_can_fill_the_queue_instead(place: Washout, stocked: Stocked, qtbot: QtBot) -> None:
    """One key turns the meaning of a scan over, and the words say so."""
    desk, codes = stocked
    press(place, Qt.Key.Key_F7)
    qtbot.waitUntil(lambda: "queue" in place._meaning.text())
    place.take_scan(codes[2])
    assert frame_page(desk, codes[2]).settled.state == "to_reclaim"
    assert reclaims(desk, codes[2]) == []


def test_a_typed_code_that_nobody_knows_stays_with_its_reason(place: Washout) -> None:
    """What was typed can be mended; nothing was recorded."""
    press(place, "S9", Qt.Key.Key_Return)
    assert "No frame in this shop answers to S9" in place.trouble.text
    assert place.code.text() == "S9"
    assert place.session == []
    place.code.clear()
    press(place, "S1", Qt.Key.Key_Return)
    assert place.trouble.text == ""
    assert len(place.session) == 1


def test_findings_are_kept_with_the_reclaim(place: Washout, stocked: Stocked, qtbot: QtBot) -> None:
    """A word on what was seen belongs to the scan that it is about."""
    desk, codes = stocked
    place.take_scan(codes[0])
    press(place, Qt.Key.Key_F6)
    qtbot.waitUntil(lambda: QApplication.activeModalWidget() is not None)
    form = QApplication.activeModalWidget()
    assert form is not None
    qtbot.waitUntil(form.isActiveWindow)
    press(form, "ghost", Qt.Key.Key_Return)
    found = [e.payload for e in frame_page(desk, codes[0]).standing if e.kind == "reclaimed"]
    assert [f.findings for f in found] == ["ghost"]  # type: ignore[union-attr]
    assert "ghost" in place.last.words


def test_scans_in_a_row_are_all_counted_on_the_database_thread(
    qapp: QApplication, stocked: Stocked, qtbot: QtBot
) -> None:
    """A list that was asked for before a scan came home does not take that scan away again."""
    desk, codes = stocked
    bench = Bench(qapp, lambda: desk)
    place = Washout(bench)
    qtbot.addWidget(place)
    place.show()
    place.enter()
    for code in codes:
        place.take_scan(code)
    qtbot.waitUntil(lambda: len(place.session) == 3 and not bench.tasks.waiting)
    assert [w.codes[0] for w in place.session] == codes
    put_away(bench)


def test_every_key_of_the_washout_is_its_own_and_shown(place: Washout, stocked: Stocked) -> None:
    """Seven keys, seven meanings; the switch for haze remover tells its key in its words."""
    place.take_scan(stocked[1][0])
    buttons = [b for b in place.findChildren(KeyHintButton) if b.isVisible()]
    keys = [b.key_text for b in buttons] + [place._haze_key.shortcut().toString()]
    assert sorted(keys) == ["F2", "F3", "F4", "F5", "F6", "F7", "F8"]
    assert "F3" in place.haze_next.text()
    assert all(b.height() >= 24 and b.text() for b in buttons)
