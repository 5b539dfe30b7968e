"""One line at the foot of the window: what was done, what was refused, what is running."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import mark_pixmap


class MessageLine(QWidget):
    """Tells the newest message; a refusal keeps its mark until the next one."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._is_warning = False
        self._mark = QLabel()
        self._text = QLabel()
        self._text.setWordWrap(True)
        self._text.setAccessibleName(tr("Message"))
        self._busy = QLabel()
        self._busy.setProperty("quiet", True)
        row = QHBoxLayout(self)
        row.setContentsMargins(6 * STEP, STEP, 6 * STEP, 2 * STEP)
        row.setSpacing(2 * STEP)
        row.addWidget(self._mark)
        row.addWidget(self._text, 1)
        row.addWidget(self._busy)
        self.setMinimumHeight(9 * STEP)
        theme.changed.connect(self._dress)
        self._dress()

    @property
    def text(self) -> str:
        """What is said now."""
        return self._text.text()

    def tell(self, text: str) -> None:
        """Say what was done."""
        self._say(text, is_warning=False)

    def warn(self, text: str) -> None:
        """Say what was refused, what was kept and what to do."""
        self._say(text, is_warning=True)

    def set_busy(self, busy: bool) -> None:
        """Say that work is running."""
        self._busy.setText(tr("Working …") if busy else "")

    def _say(self, text: str, *, is_warning: bool) -> None:
        self._is_warning = is_warning
        self._text.setText(text)
        self._text.setAccessibleDescription(text)
        self._dress()

    def _dress(self) -> None:
        if self._is_warning and self._text.text():
            size = self._theme.px("body")
            self._mark.setPixmap(mark_pixmap("below", size, self._theme.palette))
        else:
            self._mark.clear()
        self._mark.setVisible(self._is_warning)
