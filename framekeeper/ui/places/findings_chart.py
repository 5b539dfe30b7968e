"""The usual way of one mesh as a chart: its line, where eight of ten screens lie, target and limit.

Days are drawn as decades, so that the first night is as wide as the months.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.plot_kit import DASHED, add_level, dress_plot, new_plot, pen

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.findings import CurvePoint, MeshFinding

_FOCUS = 2  # of a border around what has the focus, px
_BAND_ALPHA = 90  # of the band, so that lines behind it stay readable
_AIR = 0.12  # of the height, above and below what is drawn


class DecayChart(QWidget):
    """Shows how one mesh loses tension; arrow keys tell the numbers of each day."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._found: MeshFinding | None = None
        self._told: int | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(_FOCUS, _FOCUS, _FOCUS, _FOCUS)
        self._column.setSpacing(STEP)
        self._said = QLabel()
        self._said.setProperty("quiet", True)
        self._said.setWordWrap(True)
        self._said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._said.setContentsMargins(STEP, 0, STEP, 0)
        self._said.setFixedHeight(round(3 * theme.px("body")))
        self._column.addWidget(self._said)
        self.setMinimumHeight(200)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("How this mesh loses tension"))
        theme.changed.connect(self._draw)

    @property
    def told(self) -> str:
        """The words below the chart."""
        return self._said.text()

    def show_finding(self, found: MeshFinding | None) -> None:
        """Show this mesh; None where there is none."""
        self._found, self._told = found, None
        if found is not None and self._plot is None:
            self._plot = new_plot(self, by_date=False)
            self._plot.getPlotItem().setContentsMargins(0, 2 * STEP, 2 * STEP, 0)
            self._column.insertWidget(0, self._plot, 1)
        self._tell()
        self._draw()

    def _tell(self) -> None:
        if self._found is None:
            self._said.clear()
        elif self._told is None:
            self._said.setText(
                tr(
                    "Line: usual. Band: eight of ten screens, with what is not known yet. Left and "
                    "Right tell the numbers."
                )
            )
        else:
            self._said.setText(self._describe(self._found.days[self._told]))
        self.setAccessibleDescription(self._said.text())

    def _describe(self, point: CurvePoint) -> str:
        f = self._formatter
        return tr(
            "Day {day}: usually {tension}, eight of ten from {low} to {high}.",
            day=f.number(point.day, 0),
            tension=f.tension(point.tension),
            low=f.number(point.low),
            high=f.number(point.high),
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is None or self._found is None:
            super().keyPressEvent(event)
            return
        last = len(self._found.days) - 1
        self._told = 0 if self._told is None else min(max(self._told + step, 0), last)
        self._tell()
        self._draw()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """A border where the focus is."""
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(pen(self._theme, "press", _FOCUS))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
            painter.end()

    # drawing

    def _draw(self) -> None:
        plot, found = self._plot, self._found
        if plot is None:
            return
        plot.clear()
        plot.setVisible(found is not None)
        if found is None:
            return
        dress_plot(plot, self._theme, left=tr("N/cm"), bottom=tr("Days since the release"))
        ticks = [(_place(p.day), self._formatter.number(p.day, 0)) for p in found.days]
        plot.getAxis("bottom").setTicks([ticks])
        self._draw_band(plot, found)
        self._draw_levels(plot, found)
        if self._told is not None:
            self._draw_told(plot, found.days[self._told])
        rules = found.mesh.rules
        heights = [v for p in found.drawn for v in (p.low, p.high)]
        heights += [v for v in (rules.target, rules.limit) if v is not None]
        low, high = min(heights), max(heights)
        air = _AIR * (high - low)
        plot.setYRange(low - air, high + air, padding=0)
        plot.setXRange(-0.05, ticks[-1][0] + 0.12, padding=0)

    def _draw_band(self, plot: pyqtgraph.PlotWidget, found: MeshFinding) -> None:
        import pyqtgraph

        x = [_place(p.day) for p in found.drawn]
        tone = self._theme.palette.colour("place")
        tone.setAlpha(_BAND_ALPHA)
        edge = pen(self._theme, "place", 1)
        low, high = (
            pyqtgraph.PlotCurveItem(x, values, pen=edge, antialias=True)
            for values in ([p.low for p in found.drawn], [p.high for p in found.drawn])
        )
        for item in (pyqtgraph.FillBetweenItem(low, high, brush=tone), low, high):
            plot.addItem(item)
        usual = [p.tension for p in found.drawn]
        line = pyqtgraph.PlotCurveItem(x, usual, pen=pen(self._theme, "ink", 2), antialias=True)
        plot.addItem(line)

    def _draw_levels(self, plot: pyqtgraph.PlotWidget, found: MeshFinding) -> None:
        rules, number = found.mesh.rules, self._formatter.number
        if rules.target is not None:
            words = tr("target {level}", level=number(rules.target))
            add_level(
                plot, self._theme, rules.target, words, pen(self._theme, "press", 1.5, DASHED)
            )
        if rules.limit is not None:
            words = tr("limit {level}", level=number(rules.limit))
            line = pen(self._theme, "below", 1.5)
            add_level(plot, self._theme, rules.limit, words, line, at_left=True)

    def _draw_told(self, plot: pyqtgraph.PlotWidget, point: CurvePoint) -> None:
        import pyqtgraph

        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=[_place(point.day)],
                y=[point.tension],
                size=11,
                pen=pen(self._theme, "ink", 1.25),
                brush=self._theme.palette.colour("place"),
            )
        )


def _place(day: float) -> float:
    """Where a day lies: decades of days since the release."""
    return math.log10(1 + day)
