"""A page within the Mesh shelf: its own head and keys, and Esc leads back to the shelf."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import PlaceHeader
from framekeeper.ui.widgets.short_form import LocalKeyButton


class ShelfPage(QWidget):
    """Subclasses put their widgets below the head into `self.column`.

    Signals
    -------
    left()
        Back to the shelf.
    """

    left = Signal()

    def __init__(self, bench: Bench, title: str, actions: tuple[QPushButton, ...] = ()) -> None:
        super().__init__()
        self.bench = bench
        self.back = LocalKeyButton(bench.theme, tr("Back to the shelf"), "Esc")
        self.back.clicked.connect(self.left)
        self.header = PlaceHeader(bench.theme, title, "", (self.back, *actions))
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(3 * STEP)
        self.column.addWidget(self.header)

    def refresh(self) -> None:
        """Read again what is shown."""

    def take_focus(self) -> None:
        """Put the focus where the work begins."""

    def event(self, event: QEvent) -> bool:
        """Esc is this page's while it has the focus, not the window's."""
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
