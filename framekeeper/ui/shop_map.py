"""The map at the left of the window: every place of the shop, and the way back."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QAction, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.place_list import PLACES
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP

_WIDTH = 52 * STEP


class _MapButton(QPushButton):
    """A place on the map; gold where you are."""

    def __init__(self, bench: Bench, key: str, title: str, icon: str, number: int) -> None:
        super().__init__(title)
        self.key = key
        self._bench = bench
        self.setCheckable(True)
        self.setFlat(True)
        self.setIconSize(QSize(24, 24))
        self.setAccessibleName(title)
        self.setToolTip(tr("{place} (Ctrl+{number})", place=title, number=number))
        self.setProperty("map", True)  # the stylesheet knows these buttons by it
        bench.icons.dress(self, icon, "ink")

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.isChecked():
            painter = QPainter(self)
            painter.fillRect(0, 0, STEP, self.height(), self._bench.theme.palette.colour("place"))
            painter.end()


class ShopMap(QWidget):
    """Buttons for the places, and undo and redo by name.

    Signals
    -------
    chosen(key)
        Somebody wants to go to this place.
    """

    chosen = Signal(str)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.setFixedWidth(_WIDTH)
        self.setAccessibleName(tr("The places of the shop"))
        column = QVBoxLayout(self)
        column.setContentsMargins(3 * STEP, 4 * STEP, 3 * STEP, 4 * STEP)
        column.setSpacing(STEP)
        name = QLabel(tr("Framekeeper"))
        name.setFont(bench.theme.font("large"))
        name.setContentsMargins(3 * STEP, 0, 0, 3 * STEP)
        column.addWidget(name)
        self._buttons: dict[str, _MapButton] = {}
        for number, entry in enumerate(PLACES, start=1):
            button = _MapButton(bench, entry.key, tr(entry.title), entry.icon, number)
            button.clicked.connect(self._pressed)
            self._buttons[entry.key] = button
            column.addWidget(button)
        column.addStretch(1)
        self._history: list[tuple[QAction, QPushButton]] = []
        self._column = column

    def set_history(self, undo: QAction, redo: QAction) -> None:
        """Show undo and redo below the places."""
        for action in (undo, redo):
            button = QPushButton()
            button.setFlat(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(action.trigger)
            self._history.append((action, button))
            self._column.addWidget(button)
        self.refresh_history()

    def refresh_history(self) -> None:
        """Take over the names of undo and redo; a redo that is not there takes no room."""
        for number, (action, button) in enumerate(self._history):
            shown = button.fontMetrics().elidedText(
                action.text(), Qt.TextElideMode.ElideRight, _WIDTH - 14 * STEP
            )
            button.setText(shown)
            button.setAccessibleName(action.text())
            key = action.shortcut().toString(action.shortcut().SequenceFormat.NativeText)
            button.setToolTip(tr("{action} ({key})", action=action.text(), key=key))
            button.setEnabled(action.isEnabled())
            button.setVisible(number == 0 or action.isEnabled())

    def set_current(self, key: str) -> None:
        """Mark where the person is."""
        for name, button in self._buttons.items():
            button.setChecked(name == key)

    def _pressed(self) -> None:
        button = self.sender()
        if isinstance(button, _MapButton):
            self.set_current(button.key)
            self.chosen.emit(button.key)
