"""Claims about telling a scanner from a person."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QKeyEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QDoubleSpinBox,
    QLineEdit,
    QListView,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from framekeeper.domain.codes import new_code
from framekeeper.ui.scanner import Scanner

CODE = new_code(117)
NAMED = {"\n": Qt.Key.Key_Return, "\t": Qt.Key.Key_Tab}


class Hand:
    """Types with a rhythm: each key carries the time at which it was pressed."""

    def __init__(self) -> None:
        self.now_ms = 1_000

    def type(self, text: str, gap_ms: int) -> None:
        for character in text:
            self.now_ms += gap_ms
            if character.isupper():
                self._send(Qt.Key.Key_Shift, "", QEvent.Type.KeyPress)
            key = NAMED.get(character, Qt.Key(ord(character.upper())))
            text_sent = "\r" if character == "\n" else character
            for kind in (QEvent.Type.ShortcutOverride, QEvent.Type.KeyPress):
                self._send(key, text_sent, kind)

    def _send(self, key: Qt.Key, text: str, kind: QEvent.Type) -> None:
        event = QKeyEvent(kind, key, Qt.KeyboardModifier.NoModifier, text)
        event.setTimestamp(self.now_ms)
        target = QApplication.focusWidget() or QApplication.activeWindow()
        assert target is not None
        QCoreApplication.sendEvent(target, event)


class Bench(QWidget):
    """A page with one of each kind of field."""

    def __init__(self) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        self.line = QLineEdit("note", self)
        self.text = QPlainTextEdit("two\nlines", self)
        self.number = QDoubleSpinBox(self)
        self.box = QComboBox(self)
        self.box.addItems(["ash", "fir", "kite"])
        self.words = QComboBox(self)
        self.words.setEditable(True)
        self.words.addItems(["bow", "crack"])
        self.words.setEditText("dent at the weld")
        self.list = QListView(self)
        model = QStandardItemModel(self.list)
        for word in ("ash", "fir", "kite"):
            model.appendRow(QStandardItem(word))
        self.list.setModel(model)
        self.list.setCurrentIndex(model.index(0, 0))
        for field in (self.line, self.text, self.number, self.box, self.words, self.list):
            layout.addWidget(field)


@pytest.fixture
def bench(qtbot: QtBot) -> Bench:
    made = Bench()
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.line.setFocus()
    return made


@pytest.fixture
def heard() -> list[tuple[str, str]]:
    return []


@pytest.fixture
def scanner(qapp: QApplication, bench: Bench, heard: list[tuple[str, str]]) -> Iterator[Scanner]:
    made = Scanner(qapp)
    made.scanned.connect(lambda code: heard.append(("scanned", code)))
    made.misread.connect(lambda text: heard.append(("misread", text)))
    yield made
    made.deleteLater()


@pytest.mark.parametrize("suffix", ["\n", "\t"])
def test_a_scan_is_told_and_leaves_the_field_as_it_was(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]], suffix: str
) -> None:
    """Text, selection and focus are as before; the closing key presses nothing."""
    pressed: list[int] = []
    bench.line.returnPressed.connect(lambda: pressed.append(1))
    bench.line.setSelection(3, -2)
    Hand().type(CODE + suffix, gap_ms=8)
    assert heard == [("scanned", CODE)]
    assert bench.line.text() == "note"
    assert (bench.line.selectionStart(), bench.line.cursorPosition()) == (1, 1)
    assert bench.line.selectedText() == "ot"
    assert bench.line.hasFocus()
    assert pressed == []


@pytest.mark.parametrize("field", ["text", "number", "box", "words", "list"])
def test_a_scan_never_stays_in_any_kind_of_field(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]], field: str
) -> None:
    """Notes keep their text, numbers their value, boxes and lists their choice."""
    widget: QWidget = getattr(bench, field)
    widget.setFocus()

    def state() -> tuple[object, ...]:
        return (
            bench.text.toPlainText(),
            bench.number.text(),
            bench.box.currentIndex(),
            bench.words.currentText(),
            bench.list.currentIndex().row(),
            [i.row() for i in bench.list.selectedIndexes()],
        )

    before = state()
    Hand().type(CODE + "\n", gap_ms=8)
    assert heard == [("scanned", CODE)]
    assert state() == before


def test_a_person_who_types_a_code_is_left_alone(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]]
) -> None:
    """At 80 ms a key the code is ordinary text, and Enter is an ordinary Enter."""
    pressed: list[int] = []
    bench.line.returnPressed.connect(lambda: pressed.append(1))
    bench.line.clear()
    Hand().type(CODE + "\n", gap_ms=80)
    assert heard == []
    assert bench.line.text() == CODE
    assert pressed == [1]


def test_the_gap_can_be_set_for_a_slow_scanner(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]]
) -> None:
    """The bound itself still counts as a scan, one millisecond more does not."""
    scanner.max_gap_ms = 60
    Hand().type(CODE + "\n", gap_ms=60)
    assert heard == [("scanned", CODE)]
    Hand().type(CODE + "\n", gap_ms=61)
    assert len(heard) == 1


def test_a_wrong_check_character_is_told_and_does_not_stay(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]]
) -> None:
    """A code with two neighbours swapped is a misread, not a frame and not text."""
    wrong = "FK01327"
    Hand().type(wrong + "\n", gap_ms=8)
    assert heard == [("misread", wrong)]
    assert bench.line.text() == "note"


@pytest.mark.parametrize("burst", ["24.5", "hello there", "4006381333931"])
def test_other_fast_text_passes(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]], burst: str
) -> None:
    """A pasted-in number or another kind of bar code is nobody's frame."""
    bench.line.clear()
    Hand().type(burst + "\n", gap_ms=3)
    assert heard == []
    assert bench.line.text() == burst


def test_a_scan_right_after_typing_keeps_what_was_typed(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]]
) -> None:
    """Half a reading in the field survives the scan of the next frame."""
    hand = Hand()
    bench.line.clear()
    hand.type("24.", gap_ms=150)
    hand.now_ms += 400
    hand.type(CODE + "\n", gap_ms=8)
    assert heard == [("scanned", CODE)]
    assert bench.line.text() == "24."


def test_letters_of_a_scan_fire_no_shortcuts(scanner: Scanner, bench: Bench) -> None:
    """From the second key on, a running burst claims its keys before shortcuts see them."""
    hand = Hand()
    bench.list.setFocus()
    hand.type("F", gap_ms=8)
    override = QKeyEvent(
        QEvent.Type.ShortcutOverride, Qt.Key.Key_K, Qt.KeyboardModifier.NoModifier, "K"
    )
    override.setTimestamp(hand.now_ms + 8)
    override.ignore()
    QCoreApplication.sendEvent(bench.list, override)
    assert override.isAccepted()


def test_a_scan_without_a_focused_field_is_heard(
    scanner: Scanner, bench: Bench, heard: list[tuple[str, str]]
) -> None:
    """A page with nothing in focus still hears the scanner."""
    bench.line.clearFocus()
    assert QApplication.focusWidget() is None
    Hand().type(CODE + "\n", gap_ms=8)
    assert heard == [("scanned", CODE)]
