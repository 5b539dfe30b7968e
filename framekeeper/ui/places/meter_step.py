"""A piece of work that takes a whole place for a while; Esc leaves it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from framekeeper.ui.bench import Bench


class MeterStep(QWidget):
    """Work over the list of meters.

    Signals
    -------
    left()
        The person goes back to the list.
    """

    left = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench

    def focus_work(self) -> None:
        """Put the focus where the work goes on."""
        self.setFocus()

    def event(self, event: QEvent) -> bool:
        """Esc leaves this step, not the window's place."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
