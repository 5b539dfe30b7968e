"""What is to come of a screen's tension, in words: when it is below, when to read it, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr

if TYPE_CHECKING:
    from framekeeper.services.foresight import FrameForecast


class FrameAhead(QWidget):
    """One sentence that matters, and quietly below it what it rests on.

    It carries no mark: that of what is due stands beside it, and two would be mixed up.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.said, self.more = QLabel(), QLabel()
        for label in (self.said, self.more):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.said.setFont(bench.theme.font("body", bold=True))
        self.more.setFont(bench.theme.font("small"))
        self.more.setProperty("quiet", True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.said)
        column.addWidget(self.more)
        self.setAccessibleName(tr("What is to come"))
        self.hide()

    @property
    def words(self) -> str:
        """All that is said."""
        return " ".join(text for text in (self.said.text(), self.more.text()) if text)

    def wait(self) -> None:
        """Say that the answer is on its way, in the room that it is likely to need."""
        self.said.setText(tr("Looking ahead …"))
        self.more.setText("\n")
        self.show()

    def show_forecast(self, forecast: FrameForecast | None) -> None:
        """Say what is to come; nothing of a frame without mesh."""
        self.setVisible(forecast is not None)
        if forecast is None:
            return
        f = self.bench.formatter
        first, *others = (f.sentence(line) for line in forecast.lines)
        self.said.setText(first)
        self.more.setText(" ".join(others))
        self.more.setVisible(bool(others))
        self.setAccessibleDescription(self.words)
