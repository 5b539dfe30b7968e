"""The usual way of one mesh as a chart: its line, where eight of ten screens lie, target and limit.

Days are drawn as decades, so that the first night is as wide as the months.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import DASHED, add_level, dress_plot, pen
from framekeeper.ui.widgets.told_chart import BAND_ALPHA, ToldChart

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.findings import CurvePoint, MeshFinding

_AIR = 0.12  # of the height, above and below what is drawn


class DecayChart(ToldChart):
    """Shows how one mesh loses tension; arrow keys tell the numbers of each day."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(
            theme, formatter, parent, name=tr("How this mesh loses tension"), least_height=200
        )
        self._found: MeshFinding | None = None
        self._said.setProperty("quiet", True)
        self._said.setFixedHeight(round(3 * theme.px("body")))

    def show_finding(self, found: MeshFinding | None) -> None:
        """Show this mesh; None where there is none."""
        self._found, self._told = found, None
        self._show(is_anything=found is not None)

    def _stops(self) -> int:
        return 0 if self._found is None else len(self._found.days)

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
        tone.setAlpha(BAND_ALPHA)
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
