"""A chart with words below it, of which the arrow keys tell one stop after the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.plot_kit import new_plot, pen

if TYPE_CHECKING:
    import pyqtgraph

BAND_ALPHA = 90  # of a band, so that lines behind it stay readable
_FOCUS = 2  # of a border around what has the focus, px


class ToldChart(QWidget):
    """Subclasses say how many stops there are, what the words are, and draw.

    The plot is made when there is first something to show: its library is slow to import.
    """

    def __init__(
        self,
        theme: Theme,
        formatter: Formatter,
        parent: QWidget | None = None,
        *,
        name: str,
        least_height: int,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._told: int | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._said.setContentsMargins(STEP, 0, STEP, 0)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(_FOCUS, _FOCUS, _FOCUS, _FOCUS)
        self._column.setSpacing(STEP)
        self._column.addWidget(self._said)
        self.setMinimumHeight(least_height)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(name)
        theme.changed.connect(self._draw)

    @property
    def told(self) -> str:
        """The words below the chart."""
        return self._said.text()

    def _stops(self) -> int:
        """How many stops the arrow keys go through; 0 where nothing is shown."""
        raise NotImplementedError

    def _tell(self) -> None:
        """Write the words, those of the stop `_told` where there is one."""
        raise NotImplementedError

    def _draw(self) -> None:
        """Draw anew."""
        raise NotImplementedError

    def _show(self, *, is_anything: bool) -> None:
        """Tell and draw what is shown now."""
        if is_anything and self._plot is None:
            self._plot = new_plot(self, by_date=False)
            self._plot.getPlotItem().setContentsMargins(0, 2 * STEP, 2 * STEP, 0)
            self._column.insertWidget(0, self._plot, 1)
        self._tell()
        self._draw()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        stops = self._stops()
        if step is None or not stops:
            super().keyPressEvent(event)
            return
        self._told = 0 if self._told is None else min(max(self._told + step, 0), stops - 1)
        self._tell()
        self._draw()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """A border where the focus is."""
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(pen(self._theme, "press", _FOCUS))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
            painter.end()
