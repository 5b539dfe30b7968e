"""The life of a mesh as a chart: readings with their uncertainty, target, limit, and what was done.

The plotting library costs half a second to import, so it is loaded when the first chart is filled.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainterPath, QPen
from PySide6.QtWidgets import QLabel, QStackedLayout, QVBoxLayout, QWidget

from framekeeper.domain.sentence import Sentence
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import MARKS, Mark, mark_path, mark_word

if TYPE_CHECKING:
    import pyqtgraph

Happening = Literal["stretch", "retension", "reclaim"]


@dataclass(frozen=True, slots=True)
class ChartReading:
    """The mean of one survey."""

    when: dt.datetime
    tension_n_per_cm: float
    u_n_per_cm: float = 0.0  # standard uncertainty; the bar shows twice as much to each side
    mark: Mark | None = None
    note: str = ""
    said: Sentence | None = None  # the verdict, in the place of the mark's own word


@dataclass(frozen=True, slots=True)
class ChartMark:
    """Something that was done to the mesh."""

    when: dt.datetime
    kind: Happening


@dataclass(frozen=True, slots=True)
class ChartData:
    """All that a chart shows, oldest first."""

    readings: tuple[ChartReading, ...] = ()
    marks: tuple[ChartMark, ...] = ()
    target_n_per_cm: float | None = None
    limit_n_per_cm: float | None = None


class TensionChart(QWidget):
    """Shows the tension of one frame over time; arrow keys and the pointer tell the numbers."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._data = ChartData()
        self._told: int | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        self._nothing = QLabel(
            tr("No tension has been read yet. The first survey starts the line.")
        )
        self._nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._nothing.setWordWrap(True)
        self._page = QWidget(self)
        self._stack = QStackedLayout()
        self._stack.addWidget(self._nothing)
        self._stack.addWidget(self._page)
        self._said = QLabel()
        self._said.setObjectName("told")
        self._said.setProperty("quiet", True)
        self._said.setMinimumHeight(round(1.75 * theme.px("body")))
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(STEP)
        outer.addLayout(self._stack, 1)
        outer.addWidget(self._said)
        inner = QVBoxLayout(self._page)
        inner.setContentsMargins(0, 0, 0, 0)
        self.setMinimumHeight(200)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Tension over time"))
        theme.changed.connect(self._draw)

    @property
    def told(self) -> str:
        """The words about the reading that is pointed at."""
        return self._said.text()

    def show_data(self, data: ChartData) -> None:
        """Show these readings."""
        self._data = data
        self._told = None
        if data.readings and self._plot is None:
            self._load()
        self._stack.setCurrentIndex(1 if data.readings else 0)
        self.tell(None)
        self._draw()

    def tell(self, index: int | None) -> None:
        """Say the numbers of one reading below the chart."""
        self._told = index
        if index is None:
            self._said.setText(self._key())
        else:
            self._said.setText(self.describe(self._data.readings[index]))
        self.setAccessibleDescription(self._said.text())

    def _key(self) -> str:
        """What the lines mean, while nothing is pointed at."""
        if not self._data.readings:
            return ""
        words = []
        if any(reading.u_n_per_cm for reading in self._data.readings):
            words.append(tr("Bars: twice the standard uncertainty."))
        if any(mark.kind == "reclaim" for mark in self._data.marks):
            words.append(tr("Thin upright lines: reclaims."))
        return " ".join(words) or tr("Point at a reading for its numbers.")

    def describe(self, reading: ChartReading) -> str:
        """Say one reading in words."""
        f = self._formatter
        when, tension = f.moment(reading.when), f.tension(reading.tension_n_per_cm)
        if reading.u_n_per_cm > 0:
            tension = tr("{tension} ± {u}", tension=tension, u=f.number(2 * reading.u_n_per_cm))
        words = [when, tension]
        if reading.said is not None:
            words.append(f.sentence(reading.said))
        elif reading.mark is not None:
            words.append(mark_word(reading.mark))
        if reading.note:
            words.append(reading.note)
        return "   ".join(words)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        last = len(self._data.readings) - 1
        if step is None or last < 0:
            super().keyPressEvent(event)
        elif self._told is None:
            self.tell(last)
        else:
            self.tell(min(max(self._told + step, 0), last))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Leave:
            self.tell(None)
        return super().eventFilter(watched, event)

    def _load(self) -> None:
        import pyqtgraph

        plot = pyqtgraph.PlotWidget(self._page, axisItems={"bottom": pyqtgraph.DateAxisItem()})
        plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        plot.setMenuEnabled(False)
        plot.hideButtons()
        plot.setAccessibleName(tr("Chart"))
        plot.scene().sigMouseMoved.connect(self._pointed)
        plot.installEventFilter(self)
        layout = self._page.layout()
        assert layout is not None
        layout.addWidget(plot)
        self._plot = plot

    def _draw(self) -> None:
        plot = self._plot
        if plot is None:
            return
        colours = self._theme.palette
        plot.clear()
        plot.setBackground(colours.surface)
        for side in ("left", "bottom"):
            axis = plot.getAxis(side)
            axis.setPen(QPen(colours.colour("edge"), 1))
            axis.setTextPen(colours.colour("quiet"))
            axis.setTickFont(self._theme.font("small"))
            axis.setStyle(tickLength=-4)
        plot.setLabel("left", tr("N/cm"), color=colours.quiet)
        plot.setLabel("bottom", self._span(), color=colours.quiet)
        self._draw_level(self._data.target_n_per_cm, tr("target"), "press", Qt.PenStyle.DashLine)
        self._draw_level(self._data.limit_n_per_cm, tr("limit"), "below", Qt.PenStyle.SolidLine)
        for mark in self._data.marks:
            self._draw_mark(mark)
        if self._data.readings:
            self._draw_readings()
            self._frame_all()

    def _span(self) -> str:
        """From when to when; the ticks alone do not tell the month."""
        days = [self._formatter.day_of(reading.when) for reading in self._data.readings]
        if not days:
            return ""
        first, last = self._formatter.date(min(days)), self._formatter.date(max(days))
        return first if first == last else tr("{first} to {last}", first=first, last=last)

    def _draw_level(self, level: float | None, word: str, colour: str, style: Qt.PenStyle) -> None:
        if level is None or self._plot is None:
            return
        import pyqtgraph

        text = tr("{word} {level}", word=word, level=self._formatter.number(level))
        line = pyqtgraph.InfiniteLine(
            pos=level,
            angle=0,
            pen=_cosmetic(self._theme, colour, 1.5, style),
            label=text,
            labelOpts={
                "position": 0.99,
                "anchors": [(1, 1), (1, 1)],
                "color": self._theme.palette.ink,
            },
        )
        line.label.setFont(self._theme.font("small"))
        self._plot.addItem(line)

    def _draw_mark(self, mark: ChartMark) -> None:
        assert self._plot is not None
        import pyqtgraph

        word = {"stretch": tr("stretched"), "retension": tr("retensioned"), "reclaim": ""}
        is_reclaim = mark.kind == "reclaim"
        line = pyqtgraph.InfiniteLine(
            pos=mark.when.timestamp(),
            angle=90,
            pen=_cosmetic(
                self._theme,
                "line" if is_reclaim else "place",
                1 if is_reclaim else 2,
                Qt.PenStyle.SolidLine,
            ),
            label=word[mark.kind] or None,
            labelOpts={
                "position": 0.02,
                "anchors": [(0, 1), (0, 1)],
                "color": self._theme.palette.quiet,
            },
        )
        if not is_reclaim:
            line.label.setFont(self._theme.font("small"))
        line.setZValue(-10)
        self._plot.addItem(line)

    def _draw_readings(self) -> None:
        assert self._plot is not None
        import numpy as np
        import pyqtgraph

        colours, readings = self._theme.palette, self._data.readings
        x = np.array([r.when.timestamp() for r in readings])
        y = np.array([r.tension_n_per_cm for r in readings])
        u = np.array([r.u_n_per_cm for r in readings])
        starts = [m.when for m in self._data.marks if m.kind != "reclaim"]
        lives = np.array([sum(s <= r.when for s in starts) for r in readings])
        joined = np.append(np.diff(lives) == 0, False)
        pen = _cosmetic(self._theme, "quiet", 1.25, Qt.PenStyle.SolidLine)
        curve = pyqtgraph.PlotCurveItem(
            x, y, pen=pen, connect=joined.astype(np.int32), antialias=True
        )
        self._plot.addItem(curve)
        self._plot.addItem(
            pyqtgraph.ErrorBarItem(x=x, y=y, top=2 * u, bottom=2 * u, beam=0, pen=pen)
        )
        self._plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=x,
                y=y,
                size=13,
                symbol=[_symbol(r.mark) for r in readings],
                pen=_cosmetic(self._theme, "ink", 1.25, Qt.PenStyle.SolidLine),
                brush=[colours.colour(r.mark or "surface") for r in readings],
            )
        )

    def _frame_all(self) -> None:
        """Show all readings with the levels; a day of air where there is only one."""
        assert self._plot is not None
        readings = self._data.readings
        times = [r.when.timestamp() for r in readings]
        times += [m.when.timestamp() for m in self._data.marks]
        values = [r.tension_n_per_cm for r in readings]
        values += [
            v for v in (self._data.target_n_per_cm, self._data.limit_n_per_cm) if v is not None
        ]
        left, right = _spread(times, least=86_400.0)
        low, high = _spread(values, least=4.0)
        wide, tall = right - left, high - low
        self._plot.setXRange(left - 0.04 * wide, right + 0.08 * wide, padding=0)
        self._plot.setYRange(low - 0.2 * tall, high + 0.2 * tall, padding=0)

    def _pointed(self, place: QPointF) -> None:
        """Tell the reading that is nearest to the pointer, if one is near."""
        assert self._plot is not None
        box = self._plot.getPlotItem().vb
        best, nearest = None, 24.0  # px: about the smallest target
        for index, reading in enumerate(self._data.readings):
            at = box.mapViewToScene(QPointF(reading.when.timestamp(), reading.tension_n_per_cm))
            away = (at - place).manhattanLength()
            if away < nearest:
                best, nearest = index, away
        self.tell(best)


def _spread(values: list[float], least: float) -> tuple[float, float]:
    """Lowest and highest, moved apart where they lie closer than `least`."""
    low, high = min(values), max(values)
    air = max(0.0, least - (high - low)) / 2
    return low - air, high + air


def _cosmetic(theme: Theme, colour: str, width: float, style: Qt.PenStyle) -> QPen:
    """A pen whose width does not change with the zoom."""
    pen = QPen(theme.palette.colour(colour), width, style)
    pen.setCosmetic(True)
    return pen


def _symbol(mark: Mark | None) -> QPainterPath:
    """A mark as a symbol of the plot; a reading without an answer is a ring."""
    if mark in MARKS:
        return mark_path(mark, QRectF(-0.5, -0.5, 1, 1))
    ring = QPainterPath()
    ring.addEllipse(QRectF(-0.5, -0.5, 1, 1))
    return ring
