"""One of the three answers on a line: its mark and its word."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import Mark, mark_pixmap, mark_word


class StatusMark(QWidget):
    """Shows holds, soon or below; or nothing."""

    def __init__(
        self, theme: Theme, mark: Mark | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._mark = mark
        self._words = ""
        self._picture = QLabel()
        self._word = QLabel()
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2 * STEP)
        layout.addWidget(self._picture)
        layout.addWidget(self._word)
        layout.addStretch(1)
        theme.changed.connect(self._show)
        self._show()

    @property
    def mark(self) -> Mark | None:
        """What is shown."""
        return self._mark

    def show_mark(self, mark: Mark | None, words: str = "") -> None:
        """Show an answer; `words` say more than the one word, such as "holds until 3 June"."""
        self._mark, self._words = mark, words
        self._show()

    def _show(self) -> None:
        if self._mark is None:
            self._picture.clear()
            self._word.setText(self._words)
        else:
            size = self._theme.px("body")
            self._picture.setPixmap(mark_pixmap(self._mark, size, self._theme.palette))
            self._word.setText(self._words or mark_word(self._mark))
        self.setAccessibleName(self._word.text())
