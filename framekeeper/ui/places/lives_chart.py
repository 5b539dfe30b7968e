"""The share of mesh that outlasts each age, as steps with their limits; few ends are dots."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainterPath
from PySide6.QtWidgets import QWidget

from framekeeper.domain.lived_mesh import LifeUnit
from framekeeper.services.lives import CurveStep, LifeGroup
from framekeeper.services.lives_telling import estimate_lines, step_words
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import dress_plot, pen
from framekeeper.ui.widgets.told_chart import BAND_ALPHA, ToldChart

if TYPE_CHECKING:
    import pyqtgraph

_WORD_LINES = 4
_STROKE = 11  # length of the stroke where a life goes on, px


class LivesChart(ToldChart):
    """One group in front, the others in quiet ink; arrow keys tell the numbers of each step.

    Signals
    -------
    asked()
        Somebody wants to see the lives behind the curve.
    """

    asked = Signal()

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(
            theme, formatter, parent, name=tr("How long the chosen group lasts"), least_height=215
        )
        self._group: LifeGroup | None = None
        self._others: Sequence[LifeGroup] = ()
        self._unit: LifeUnit = "days"
        self._said.setFixedHeight(round((1.35 * _WORD_LINES + 0.3) * theme.px("small")))
        self._said.setFont(theme.font("small"))

    def show_groups(
        self, group: LifeGroup | None, others: Sequence[LifeGroup], unit: LifeUnit
    ) -> None:
        """Show one group before the others."""
        if group != self._group or unit != self._unit:
            self._told = None
        self._group, self._others, self._unit = group, others, unit
        self._show(is_anything=group is not None)

    def _stops(self) -> int:
        return 0 if self._group is None else len(self._group.curve)

    def _tell(self) -> None:
        group, sentence = self._group, self._formatter.sentence
        if group is None:
            self._said.clear()
        elif self._told is not None:
            self._said.setText(sentence(step_words(group.curve[self._told], self._unit)))
        else:
            lines = " ".join(map(sentence, estimate_lines(group, self._unit)))
            said = tr("{name}: {lines}", name=sentence(group.label.name), lines=lines)
            self._said.setText(tr("{said} {legend}", said=said, legend=_legend(group)))
        self._said.setToolTip(self._said.text())
        self.setAccessibleDescription(self._said.text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.asked.emit()
        else:
            super().keyPressEvent(event)

    # drawing

    def _draw(self) -> None:
        plot, group = self._plot, self._group
        if plot is None:
            return
        plot.clear()
        plot.setVisible(group is not None)
        if group is None:
            return
        bottom = tr("Days since the release") if self._unit == "days" else tr("Reclaims")
        dress_plot(plot, self._theme, left=tr("% outlast it"), bottom=bottom)
        has_curve = bool(group.curve)
        plot.getAxis("left").setTicks(None if has_curve else [])
        plot.getAxis("left").showLabel(has_curve)
        for other in self._others:
            if other.curve and has_curve:
                self._add_steps(plot, other.curve, "edge", 1)
        if has_curve:
            self._draw_curve(plot, group)
        else:
            self._draw_dots(plot, group)
        drawn = [group, *self._others] if has_curve else [group]
        ages = [r.span.age for g in drawn if g.curve or g is group for r in g.rows if r.span]
        plot.setYRange(-3, 104, padding=0)
        plot.setXRange(0, 1.03 * max([1.0, *ages]), padding=0)

    def _draw_curve(self, plot: pyqtgraph.PlotWidget, group: LifeGroup) -> None:
        import pyqtgraph

        tone = self._theme.palette.colour("place")
        tone.setAlpha(BAND_ALPHA)
        edge = pen(self._theme, "place", 1)
        low, high = (
            pyqtgraph.PlotCurveItem(*_steps(limit), pen=edge)
            for limit in (
                [(s.age, s.low) for s in group.curve],
                [(s.age, s.high) for s in group.curve],
            )
        )
        for item in (pyqtgraph.FillBetweenItem(low, high, brush=tone), low, high):
            plot.addItem(item)
        self._add_steps(plot, group.curve, "ink", 2)
        shares = {s.age: 100 * s.share for s in group.curve}
        going = [r.span.age for r in group.rows if r.span and not r.span.ended]
        plot.addItem(  # a stroke where a life goes on or left sight
            pyqtgraph.ScatterPlotItem(
                x=going,
                y=[shares[age] for age in going],
                symbol=_stroke(),
                size=_STROKE,
                pen=pen(self._theme, "ink", 1.25),
            )
        )
        if self._told is not None:
            step = group.curve[self._told]
            self._add_dots(plot, [step.age], [100 * step.share], "place")

    def _draw_dots(self, plot: pyqtgraph.PlotWidget, group: LifeGroup) -> None:
        """One life above the other, the longest at the bottom: filled where it has ended."""
        spans = sorted((r.span for r in group.rows if r.span), key=lambda s: s.age)
        heights = [100 * (1 - (place + 0.5) / len(spans)) for place in range(len(spans))]
        for ended, colour in ((True, "ink"), (False, "surface")):
            told = [(s.age, y) for s, y in zip(spans, heights, strict=True) if s.ended is ended]
            self._add_dots(plot, [x for x, _ in told], [y for _, y in told], colour)

    def _add_steps(
        self, plot: pyqtgraph.PlotWidget, curve: Sequence[CurveStep], colour: str, width: float
    ) -> None:
        import pyqtgraph

        points = _steps([(s.age, s.share) for s in curve])
        plot.addItem(pyqtgraph.PlotCurveItem(*points, pen=pen(self._theme, colour, width)))

    def _add_dots(
        self, plot: pyqtgraph.PlotWidget, x: list[float], y: list[float], colour: str
    ) -> None:
        import pyqtgraph

        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=x,
                y=y,
                size=10,
                pen=pen(self._theme, "ink", 1.25),
                brush=self._theme.palette.colour(colour),
            )
        )


def _legend(group: LifeGroup) -> str:
    if group.curve:
        return tr("Band: 95 %. Strokes: lives that go on. Left, Right: numbers.")
    return tr("Filled: ended. Ring: goes on, or out of sight.")


def _stroke() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(0, -0.5)
    path.lineTo(0, 0.5)
    return path


def _steps(points: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """The corners of a stair from 100 % at age 0, down at each age."""
    x, y, share = [0.0], [100.0], 100.0
    for age, after in points:
        x += [age, age]
        y += [share, 100 * after]
        share = 100 * after
    return x, y
