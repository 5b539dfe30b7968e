"""How far off a meter's checks were over time, with their moving average and its limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPainterPath, QPaintEvent
from PySide6.QtWidgets import QLabel, QStackedLayout, QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import mark_path
from framekeeper.ui.widgets.plot_kit import DASHED, dress_plot, new_plot, pen

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.meter_drift import Drift, DriftPoint

_LEAST_N_PER_CM = 1.0  # of height above and below zero, so that small errors look small
_DAY_S = 86_400.0
_FOCUS = 2  # of a border around what has the focus, px


class DriftChart(QWidget):
    """Shows the checks of one kind; arrow keys tell the numbers of each."""

    def __init__(
        self, theme: Theme, formatter: Formatter, title: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._drift: Drift | None = None
        self._told: int | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        heading = QLabel(title)
        heading.setFont(theme.font("body", bold=True))
        self._page, self._nothing = QWidget(), QLabel(tr("No check since the last repair."))
        self._nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._nothing.setProperty("quiet", True)
        inner = QVBoxLayout(self._page)
        inner.setContentsMargins(0, 0, 0, 0)
        self._stack = QStackedLayout()
        self._stack.addWidget(self._nothing)
        self._stack.addWidget(self._page)
        self._said = QLabel()
        self._said.setWordWrap(True)
        self._said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._said.setMinimumHeight(round(4.2 * theme.px("body")))
        column = QVBoxLayout(self)
        column.setContentsMargins(_FOCUS, _FOCUS, _FOCUS, _FOCUS)
        column.setSpacing(STEP)
        column.addWidget(heading)
        column.addLayout(self._stack, 1)
        column.addWidget(self._said)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(title)
        theme.changed.connect(self._draw)

    @property
    def told(self) -> str:
        """The words below the chart."""
        return self._said.text()

    def show_drift(self, drift: Drift | None) -> None:
        """Show these checks; None where there is no meter."""
        self._drift, self._told = drift, None
        has_points = drift is not None and bool(drift.points)
        if has_points and self._plot is None:
            self._plot = new_plot(self._page, by_date=True)
            layout = self._page.layout()
            assert layout is not None
            layout.addWidget(self._plot)
        self._stack.setCurrentIndex(1 if has_points else 0)
        self._tell()
        self._draw()

    def _tell(self) -> None:
        if self._drift is None or not self._drift.points:
            self._said.clear()
        elif self._told is None:
            from framekeeper.services.meter_telling import drift_words

            self._said.setText(self._formatter.sentence(drift_words(self._drift)))
        else:
            self._said.setText(self._describe(self._drift.points[self._told]))
        self.setAccessibleDescription(self._said.text())

    def _describe(self, point: DriftPoint) -> str:
        f = self._formatter
        words = tr(
            "{when}: {off} N/cm off. The average is {average}, the limit ±{limit}.",
            when=f.moment(point.check.happened_at),
            off=f.number(point.off_n_per_cm, 2),
            average=f.number(point.average, 2),
            limit=f.number(point.upper, 2),
        )
        if point.is_outside:
            return tr("{words} The average lies outside.", words=words)
        if point.is_signal:
            return tr("{words} Errors in one direction have added up.", words=words)
        return words

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        last = len(self._drift.points) - 1 if self._drift else -1
        if step is None or last < 0:
            super().keyPressEvent(event)
            return
        self._told = last if self._told is None else min(max(self._told + step, 0), last)
        self._tell()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """A border where the focus is."""
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(pen(self._theme, "press", _FOCUS))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
            painter.end()

    # drawing

    def _draw(self) -> None:
        if self._plot is None or self._drift is None or not self._drift.points:
            return
        import pyqtgraph

        plot, points = self._plot, self._drift.points
        plot.clear()
        dress_plot(plot, self._theme, left=tr("N/cm off"), bottom=self._span())
        times = [p.check.happened_at.timestamp() for p in points]
        plot.addItem(pyqtgraph.InfiniteLine(pos=0, angle=0, pen=pen(self._theme, "edge", 1)))
        for values in ([p.upper for p in points], [p.lower for p in points]):
            self._add_curve(times, values, "quiet", 1.25, DASHED)
        self._add_curve(times, [p.average for p in points], "press", 2)
        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=times,
                y=[p.off_n_per_cm for p in points],
                size=11,
                symbol=[_symbol(p) for p in points],
                pen=pen(self._theme, "ink", 1.25),
                brush=[
                    self._theme.palette.colour("below" if _is_odd(p) else "surface") for p in points
                ],
            )
        )
        high = max(_LEAST_N_PER_CM, *(abs(p.off_n_per_cm) for p in points))
        plot.setYRange(-1.15 * high, 1.15 * high, padding=0)
        air = max(_DAY_S, times[-1] - times[0]) * 0.06
        plot.setXRange(times[0] - air, times[-1] + air, padding=0)

    def _span(self) -> str:
        """From when to when; the ticks alone do not tell the month."""
        assert self._drift is not None
        f, points = self._formatter, self._drift.points
        first, last = (f.date(f.day_of(p.check.happened_at)) for p in (points[0], points[-1]))
        return first if first == last else tr("{first} to {last}", first=first, last=last)

    def _add_curve(
        self,
        times: list[float],
        values: list[float],
        colour: str,
        width: float,
        style: Qt.PenStyle = Qt.PenStyle.SolidLine,
    ) -> None:
        assert self._plot is not None
        import pyqtgraph

        curve = pyqtgraph.PlotCurveItem(
            times, values, pen=pen(self._theme, colour, width, style), antialias=True
        )
        self._plot.addItem(curve)


def _is_odd(point: DriftPoint) -> bool:
    return point.is_outside or point.is_signal


def _symbol(point: DriftPoint) -> QPainterPath:
    """A ring; where the check is part of a drift, the mark of what no longer holds."""
    if _is_odd(point):
        return mark_path("below", QRectF(-0.5, -0.5, 1, 1))
    ring = QPainterPath()
    ring.addEllipse(QRectF(-0.5, -0.5, 1, 1))
    return ring
