"""A person with a keyboard and a scanner in front of the real window on a real SQLite file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
import shiboken6
from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.scanner import Scanner
from framekeeper.ui.window import Window
from tests.fakes import FakeClock

HAND_MS = 130  # between two keys of a person who types fast
SCANNER_MS = 8  # between two keys of a scanner
PATIENCE_MS = 15_000  # a machine that runs many tests side by side is slow, not wrong
NO_MODIFIER = Qt.KeyboardModifier.NoModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


class KeyTimes(QObject):
    """Stamps each key with the time at which a hand or a scanner would have sent it.

    The keys take the way of real ones, through shortcuts, filters and widgets; only their times
    are set, because a test's own speed is neither a hand's nor a scanner's.
    """

    def __init__(self) -> None:
        super().__init__()
        self.now_ms = 1_000

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QKeyEvent):
            event.setTimestamp(self.now_ms)
        return False


@dataclass
class Person:
    """Presses keys where the focus is, and waits for the window as a person does: by looking."""

    window: Window
    bench: Bench
    desk: Desk
    clock: FakeClock
    qtbot: QtBot
    times: KeyTimes
    told: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    # keys

    def press(self, *keys: str) -> None:
        """Press keys by name, such as "Ctrl+N", "Tab" or "F3", and let what they do happen."""
        for key in keys:
            combination = QKeySequence(key)[0]  # type: ignore[index]
            self.times.now_ms += HAND_MS
            QTest.keyClick(_target(), combination.key(), combination.keyboardModifiers())
            self.settle()

    def type(self, text: str) -> None:
        """Type letters and digits at the pace of a hand."""
        for letter in text:
            self._letter(letter, HAND_MS)
        self.settle()

    def scan(self, text: str) -> None:
        """Send a code as a scanner does: in a burst, closed by Enter."""
        self.times.now_ms += 600
        for letter in text:
            self._letter(letter, SCANNER_MS)
        self.times.now_ms += SCANNER_MS
        QTest.keyClick(_target(), Qt.Key.Key_Return)
        self.settle()

    def fill(self, **fields: str) -> None:
        """Go to fields by the letter of their label, and type over what they hold."""
        for letter, text in fields.items():
            self.press(f"Alt+{letter}")
            self.press("Ctrl+A")
            self.type(text)

    def _letter(self, letter: str, gap_ms: int) -> None:
        self.times.now_ms += gap_ms
        QTest.keyClick(_target(), letter, SHIFT if letter.isupper() else NO_MODIFIER)

    # looking

    def settle(self) -> None:
        """Wait until the window has done what it was asked for."""
        self.qtbot.waitUntil(self._is_at_rest, timeout=PATIENCE_MS)

    def _is_at_rest(self) -> bool:
        if self.bench.tasks.waiting or any(b.isDown() for b in _buttons()):
            return False
        front = self.form or self.window
        if QApplication.activePopupWidget() is None and not front.isActiveWindow():
            # A desktop gives the focus back by itself when a form closes; bare platforms do not.
            front.activateWindow()
            return False
        return QApplication.focusWidget() is not None

    @property
    def form(self) -> QDialog | None:
        """The form that is open over the window."""
        form = QApplication.activeModalWidget()
        return form if isinstance(form, QDialog) else None

    @property
    def message(self) -> str:
        """What the message line says."""
        return self.window._message.text

    @property
    def frame_shown(self) -> str:
        """The code of the frame whose page is open; empty at any other place."""
        place = self.window.current
        if isinstance(place, FramePagePlace) and place.page is not None:
            return place.page.frame.code
        return ""

    @property
    def focus(self) -> QWidget:
        """The widget that would get the next key."""
        found = QApplication.focusWidget()
        assert found is not None
        return found

    def until(self, claim: Callable[[], bool]) -> None:
        """Wait until something can be seen."""
        self.qtbot.waitUntil(claim, timeout=PATIENCE_MS)

    # the shop behind the window

    def kinds(self, code: str) -> list[str]:
        """The kinds of the events of a frame, oldest first."""
        with self.desk.read() as reader:
            frame = reader.frame_by_code(code)
            assert frame is not None
            return [event.kind for event in reader.journal(frame.id)]

    def state(self, code: str) -> str:
        """The state of a frame."""
        with self.desk.read() as reader:
            frame = reader.frame_by_code(code)
            assert frame is not None
            return frame.state.at(self.clock.now()).state


def _target() -> QWidget:
    """Where the window system would send a key: an open list, else the focus, else the window."""
    popup = QApplication.activePopupWidget()
    if popup is not None:
        return popup.focusWidget() or popup
    target = QApplication.focusWidget() or QApplication.activeWindow()
    assert target is not None
    return target


def _buttons() -> Iterator[QPushButton]:
    for widget in QApplication.topLevelWidgets():
        if shiboken6.isValid(widget) and widget.isVisible():
            yield from widget.findChildren(QPushButton)


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    """What happened in the shop before the window was opened: nothing, unless a module says so."""
    return lambda _desk: None


@pytest.fixture
def person(
    qapp: QApplication,
    sqlite_place: str,
    clock: FakeClock,
    furnish: Callable[[Desk], None],
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Person]:
    """Somebody who has just opened the window of a shop."""
    for name in ("XDG_CONFIG_HOME", "XDG_DOCUMENTS_DIR"):
        monkeypatch.setenv(name, str(tmp_path_factory.mktemp("home")))
    desk = Desk(Shop.open(sqlite_place), clock, "Maren")
    furnish(desk)
    bench = Bench(qapp, lambda: desk)
    window = Window(bench)
    scanner, times = Scanner(qapp), KeyTimes()
    window.listen_to(scanner)
    qapp.installEventFilter(times)
    made = Person(window, bench, desk, clock, qtbot, times)
    bench.told.connect(made.told.append)
    bench.refused.connect(made.refused.append)
    with qtbot.waitSignal(bench.opened):
        window.show()
        bench.open()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    made.settle()
    yield made
    window.close()
    qapp.removeEventFilter(times)
    scanner.deleteLater()
    window.deleteLater()
    bench.theme.deleteLater()
    qapp.setStyleSheet("")
