"""A page that lies over a place for a while: Esc leaves the page, not the place."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget


class EscPage(QWidget):
    """Takes Esc before the window's own shortcut does, while something on it has the focus.

    Signals
    -------
    left()
        The person goes back to what lies below.
    """

    left = Signal()

    def event(self, event: QEvent) -> bool:
        """Keep Esc from the window."""
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
