"""What a month costs in house and sent out, as two lines over the screens of a month."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import DASHED, SOLID, dress_plot, new_plot, pen

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.costs import Costs, MonthPoint

_ROOM_FOR_WORDS = 1.27  # of the width, so that the names of the lines stand beside them
_APART = 0.09  # of the height that two names need between them


class CostLines(QWidget):
    """Two lines, the screens that are asked for, and where both cost the same."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._formatter = theme, formatter
        self._found: Costs | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.setMinimumHeight(10 * theme.px("body"))
        self.setAccessibleName(tr("A month in house and sent out"))
        theme.changed.connect(self._draw)

    def show_costs(self, found: Costs, words: str) -> None:
        """Show both ways; the words say the same."""
        self._found = found
        self.setAccessibleDescription(words)
        if found.line and self._plot is None:
            self._plot = new_plot(self, by_date=False)
            self._column.addWidget(self._plot)
        self._draw()

    def _draw(self) -> None:
        plot, found = self._plot, self._found
        if plot is None or found is None:
            return
        plot.clear()
        plot.setVisible(bool(found.line))
        if not found.line:
            return
        currency = found.known.currency
        left = tr("{currency} a month", currency=currency) if currency else tr("A month costs")
        dress_plot(plot, self._theme, left=left, bottom=tr("Screens a month"))
        start, end = found.line
        far = float(end.screens)
        highest = float(max(p for m in found.line for p in (m.in_house, m.sent_out))) or 1.0
        self._add_marks(plot, found, highest)
        self._add_lines(plot, start, end, highest)
        plot.setXRange(0, far * _ROOM_FOR_WORDS, padding=0)
        plot.setYRange(0, highest * 1.24, padding=0)

    def _add_lines(
        self, plot: pyqtgraph.PlotWidget, start: MonthPoint, end: MonthPoint, highest: float
    ) -> None:
        import pyqtgraph

        far, inside, outside = float(end.screens), float(end.in_house), float(end.sent_out)
        push = max(0.0, _APART * highest - abs(inside - outside)) / 2
        lift = push if inside >= outside else -push
        ways = (
            (float(start.in_house), inside, pen(self._theme, "press", 2.5, SOLID),
             tr("in house"), inside + lift),
            (float(start.sent_out), outside, pen(self._theme, "soon", 2.5, DASHED),
             tr("sent out"), outside - lift),
        )  # fmt: skip
        for first, last, line, words, high in ways:
            plot.addItem(pyqtgraph.PlotCurveItem([0, far], [first, last], pen=line, antialias=True))
            name = pyqtgraph.TextItem(words, color=self._theme.palette.ink, anchor=(0, 0.5))
            name.setFont(self._theme.font("small"))
            name.setPos(far * 1.01, high)
            plot.addItem(name)

    def _add_marks(self, plot: pyqtgraph.PlotWidget, found: Costs, highest: float) -> None:
        even = None if found.break_even is None else found.break_even.screens
        asked = float(found.screens)
        number = self._formatter.number
        self._add_mark(plot, asked, tr("asked: {n}", n=number(asked, 0)), highest * 1.16, DASHED)
        if even is not None and even <= found.line[-1].screens:
            crossing = float(even)
            words = tr("equal at {n}", n=number(crossing, 1))
            self._add_mark(plot, crossing, words, highest * 1.06, SOLID)
            self._add_dot(plot, found, crossing)

    def _add_mark(
        self, plot: pyqtgraph.PlotWidget, at: float, words: str, high: float, style: object
    ) -> None:
        import pyqtgraph

        line = pen(self._theme, "quiet", 1, SOLID if style == SOLID else DASHED)
        plot.addItem(pyqtgraph.InfiniteLine(pos=at, angle=90, pen=line))
        text = pyqtgraph.TextItem(words, color=self._theme.palette.ink, anchor=(0, 0.5))
        text.setFont(self._theme.font("small"))
        text.setPos(at, high)
        plot.addItem(text)

    def _add_dot(self, plot: pyqtgraph.PlotWidget, found: Costs, at: float) -> None:
        import pyqtgraph

        start, end = found.line
        slope = float(end.in_house - start.in_house) / float(end.screens)
        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=[at],
                y=[float(start.in_house) + slope * at],
                size=11,
                pen=pen(self._theme, "ink", 1.25),
                brush=self._theme.palette.colour("place"),
            )
        )
