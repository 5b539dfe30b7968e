"""Holds what is typed while an answer is under way, so that no digit lands in the wrong field."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QWidget

PATIENCE_MS = 5000  # an answer that never comes must not leave a field deaf
_COMMAND = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier


class HeldKeys(QObject):
    """Keeps the keys that a field gets from `hold` on, and types them at `release`."""

    def __init__(self, field: QWidget) -> None:
        super().__init__(field)
        self._held: list[QKeyEvent] | None = None
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.timeout.connect(self.release)
        field.installEventFilter(self)

    def hold(self) -> None:
        """Begin anew: what was held until now belonged to something that is given up."""
        self._held = []
        self._patience.start(PATIENCE_MS)

    def release(self) -> None:
        """Type what was held where the focus is by now, key by key: a key may move it."""
        held, self._held = self._held or [], None
        self._patience.stop()
        for key in held:
            target = QApplication.focusWidget()
            if target is not None:
                QApplication.sendEvent(target, key)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            self._held is not None
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and not event.modifiers() & _COMMAND
        ):
            self._held.append(event.clone())
            return True
        return super().eventFilter(watched, event)
