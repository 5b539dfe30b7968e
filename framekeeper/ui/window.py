"""The window: the shop as a map at the left, the place where you are, and one message line."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.ui.bench import Bench
from framekeeper.ui.place_list import PLACES, PlaceEntry
from framekeeper.ui.places.place import Place
from framekeeper.ui.shop_map import ShopMap
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.message_line import MessageLine

if TYPE_CHECKING:
    from PySide6.QtGui import QCloseEvent, QShowEvent

    from framekeeper.domain.changes import Changes
    from framekeeper.services.history import UndoNames
    from framekeeper.ui.scanner import Scanner


class Window(QMainWindow):
    """The shop in one window. Places are built when somebody first goes there.

    Signals
    -------
    painted()
        The window was painted for the first time; heavy work may begin.
    """

    painted = Signal()

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench
        self.setWindowTitle(tr("Framekeeper"))
        self._was_painted = False
        self._built: dict[str, Place] = {}
        self._came_from = "today"
        self._map = ShopMap(bench)
        self._map.chosen.connect(self.go)
        self._pages = QStackedWidget()
        self._message = MessageLine(bench.theme)
        self._find = QLineEdit()
        self._find.setPlaceholderText(tr("Code or label"))
        self._find.setAccessibleName(tr("Find a frame by its code or label"))
        self._find.setClearButtonEnabled(True)
        self._find.setMaximumWidth(24 * STEP * 2)
        self._find.returnPressed.connect(self._find_frame)
        self._undo = self._action(tr("Undo"), "Ctrl+Z", self._do_undo)
        self._redo = self._action(tr("Redo"), "Ctrl+Shift+Z", self._do_redo)
        self._add_actions()
        self._lay_out()
        bench.frame_wanted.connect(self.show_frame)
        bench.event_wanted.connect(self.show_frame)
        bench.place_wanted.connect(self.go)
        bench.told.connect(self._message.tell)
        bench.refused.connect(self._message.warn)
        bench.opened.connect(self._on_opened)
        bench.tasks.changes_happened.connect(self._on_changes)
        bench.tasks.busy_changed.connect(self._message.set_busy)
        self._map.set_current("today")
        self.painted.connect(self._begin, Qt.ConnectionType.QueuedConnection)

    def _begin(self) -> None:
        """Build the first place; the map alone is painted sooner."""
        if not self._built:
            self._show_place("today")

    # layout and actions

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setContentsMargins(6 * STEP, 3 * STEP, 6 * STEP, 0)
        label = QLabel(tr("&Find"))
        label.setBuddy(self._find)
        label.setProperty("quiet", True)
        top.addStretch(1)
        top.addWidget(label)
        top.addSpacing(2 * STEP)
        top.addWidget(self._find)
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addLayout(top)
        right.addWidget(self._pages, 1)
        right.addWidget(self._message)
        body = QWidget()
        whole = QHBoxLayout(body)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._map)
        whole.addLayout(right, 1)
        self.setCentralWidget(body)
        self.resize(1280, 800)

    def _action(self, text: str, key: str, slot: Callable[[], object]) -> QAction:
        action = QAction(text, self)
        action.setShortcut(key)
        action.triggered.connect(slot)
        self.addAction(action)
        return action

    def _add_actions(self) -> None:
        self._map.set_history(self._undo, self._redo)
        self._undo.setEnabled(False)
        self._redo.setEnabled(False)
        self._action(tr("Find"), "Ctrl+F", self._focus_find)
        self._action(tr("Back"), "Esc", self.back)
        for number, entry in enumerate(PLACES, start=1):
            self._action(tr(entry.title), f"Ctrl+{number}", _Go(self, entry))

    def _focus_find(self) -> None:
        self._find.setFocus()
        self._find.selectAll()

    # places

    def go(self, key: str) -> None:
        """Go to a place."""
        self._came_from = key
        self._show_place(key)

    def back(self) -> None:
        """Leave a frame's page for the place that it was opened from."""
        if self._pages.currentWidget() is self._built.get("frame"):
            self._show_place(self._came_from)

    def show_frame(self, code: str, event_id: int = 0) -> None:
        """Open the page of a frame over the place where the person is, at an event if told."""
        from framekeeper.ui.places.frame_page import FramePagePlace

        page = self._place("frame")
        assert isinstance(page, FramePagePlace)
        page.show_frame(code, event_id)
        self._pages.setCurrentWidget(page)
        page.enter()

    def place(self, key: str) -> Place:
        """Return a place, built if nobody went there before."""
        return self._place(key)

    @property
    def current(self) -> Place:
        """The place where the person is; Today before anybody went anywhere."""
        widget = self._pages.currentWidget()
        if not isinstance(widget, Place):
            self._show_place("today")
            widget = self._pages.currentWidget()
        assert isinstance(widget, Place)
        return widget

    def _show_place(self, key: str) -> None:
        place = self._place(key)
        self._map.set_current(key)
        self._pages.setCurrentWidget(place)
        if self.bench.is_open:
            place.enter()

    def _place(self, key: str) -> Place:
        if key not in self._built:
            entry = next((e for e in PLACES if e.key == key), None)
            place = entry.build(self.bench) if entry else _frame_page(self.bench)
            self._built[key] = place
            self._pages.addWidget(place)
        return self._built[key]

    # scans and search

    def listen_to(self, scanner: Scanner) -> None:
        """Take scans wherever the focus is."""
        scanner.scanned.connect(self.take_scan)
        scanner.roll_scanned.connect(self.take_roll)
        scanner.misread.connect(self._misread)

    def take_scan(self, code: str) -> None:
        """Give a scan to the place; one that it has no use for opens the frame.

        The page behind an open form must not change.
        """
        if self._form_is_open(code):
            return
        if not self.current.take_scan(code):
            self.show_frame(code)

    def take_roll(self, roll_id: int) -> None:
        """Give the scanned label of a roll to the place, or go to the Mesh shelf with it."""
        if self._form_is_open(tr("The label of a roll")):
            return
        if not self.current.take_roll(roll_id):
            self.go("shelf")
            self.current.take_roll(roll_id)

    def _form_is_open(self, scanned: str) -> bool:
        """Say that nothing was changed if a form is open: it asks for no scan."""
        if QApplication.activeModalWidget() is None:
            return False
        self._message.warn(
            tr(
                "{code} was scanned while a form is open. Nothing was changed. Finish the form "
                "or leave it with Esc, then scan again.",
                code=scanned,
            )
        )
        return True

    def _misread(self, text: str) -> None:
        self._message.warn(
            tr(
                "The scan “{text}” has a wrong check character. Nothing was changed. "
                "Scan the label again.",
                text=text,
            )
        )

    def _find_frame(self) -> None:
        text = self._find.text().strip()
        if text:
            self.show_frame(text)
            self._find.clear()

    # history

    def _do_undo(self) -> None:
        from framekeeper.services import history

        self.bench.change(history.undo)

    def _do_redo(self) -> None:
        from framekeeper.services import history

        self.bench.change(history.redo)

    def _on_opened(self) -> None:
        self._read_history()
        self.current.enter()

    def _on_changes(self, _changes: Changes, _initiator: object) -> None:
        self._read_history()

    def _read_history(self) -> None:
        from framekeeper.services import history

        self.bench.read(history.names, self._name_history, owner=self)

    def _name_history(self, names: UndoNames) -> None:
        for action, operation, words in (
            (self._undo, names.undo, tr("Undo: {what}")),
            (self._redo, names.redo, tr("Redo: {what}")),
        ):
            action.setEnabled(operation is not None)
            what = f"{operation.action} {operation.subject}".strip() if operation else ""
            action.setText(words.format(what=what) if operation else words.split(":")[0])
        self._map.refresh_history()

    # the window itself

    def event(self, event: QEvent) -> bool:
        done = super().event(event)
        if event.type() == QEvent.Type.Paint and not self._was_painted:
            self._was_painted = True
            self.painted.emit()
        return done

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._pages.setFocus(Qt.FocusReason.ActiveWindowFocusReason)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.bench.close()
        super().closeEvent(event)


class _Go:
    """Goes to one place; a plain callable, because a lambda in a loop would remember the last."""

    def __init__(self, window: Window, entry: PlaceEntry) -> None:
        self._window, self._entry = window, entry

    def __call__(self) -> None:
        self._window.go(self._entry.key)


def _frame_page(bench: Bench) -> Place:
    from framekeeper.ui.places.frame_page import FramePagePlace

    return FramePagePlace(bench)
