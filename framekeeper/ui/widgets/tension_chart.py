"""The life of a mesh as a chart: readings with their uncertainty, limit, and what is to come.

The plotting library costs half a second to import, so it is loaded when the first chart is filled.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, Qt
from PySide6.QtGui import QKeyEvent, QPainterPath, QResizeEvent
from PySide6.QtWidgets import QLabel, QStackedLayout, QVBoxLayout, QWidget

from framekeeper.domain.sentence import Sentence
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.date_ticks import date_ticks
from framekeeper.ui.widgets.marks import MARKS, Mark, mark_path, mark_word
from framekeeper.ui.widgets.plot_kit import DASHED, SOLID, add_level, dress_plot, new_plot, pen
from framekeeper.ui.widgets.tension_ahead import AheadLayer, say_ahead, stops_ahead

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.foresight import FrameForecast

_LINES = 2  # of words below the chart
_TICK_EMS = 7  # between two dates below it
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
    now: dt.datetime | None = None  # where the line of today stands


class TensionChart(QWidget):
    """Shows the tension of one frame over time; arrow keys and the pointer tell the numbers.

    The forecast is worked out while the readings are looked at already, and is given later.
    """

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._data = ChartData()
        self._forecast: FrameForecast | None = None
        self._ahead = AheadLayer(theme, formatter)
        self._stops: list[dt.datetime] = []
        self._told: int | None = None  # of the readings first, then of the stops ahead
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
        self._said.setFont(theme.font("small"))
        self._said.setWordWrap(True)  # a wide line would widen the page
        self._said.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._said.setFixedHeight(_LINES * round(1.35 * theme.px("small")))  # nothing jumps
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

    @property
    def forecast(self) -> FrameForecast | None:
        """What is shown of the days to come."""
        return self._forecast

    def show_data(self, data: ChartData, forecast: FrameForecast | None = None) -> None:
        """Show these readings, and what is known already of the days to come."""
        self._data = data
        if data.readings and self._plot is None:
            self._load()
        self._stack.setCurrentIndex(1 if data.readings else 0)
        self.show_forecast(forecast)

    def show_forecast(self, forecast: FrameForecast | None) -> None:
        """Show what is to come, beside the readings that are shown."""
        self._forecast = forecast
        self._stops = stops_ahead(forecast) if self._data.readings else []
        self._draw()
        self.tell(None)

    def tell(self, index: int | None) -> None:
        """Say the numbers of one reading below the chart, or those of a stop ahead of it."""
        self._told = index
        count = len(self._data.readings)
        if index is None:
            self._say(self._key())
        elif index < count:
            self._say(self.describe(self._data.readings[index]))
        else:
            self.tell_ahead(self._stops[index - count])

    def tell_ahead(self, moment: dt.datetime) -> None:
        """Say what is expected at a moment to come."""
        assert self._forecast is not None
        self._say(say_ahead(self._forecast, moment, self._formatter), moment)

    def _say(self, words: str, moment: dt.datetime | None = None) -> None:
        self._said.setText(words)
        self._said.setToolTip(words)
        self.setAccessibleDescription(words)
        self._ahead.point_at(moment)

    def _key(self) -> str:
        """What the lines mean, while nothing is pointed at."""
        if not self._data.readings:
            return ""
        words = []
        if any(reading.u_n_per_cm for reading in self._data.readings):
            words.append(tr("Bars: twice the standard uncertainty."))
        if any(mark.kind == "reclaim" for mark in self._data.marks):
            words.append(tr("Thin upright lines: reclaims."))
        if self._stops:
            words.append(tr("Dashes: expected; between the dots: 80 %."))
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
        newest = len(self._data.readings) - 1
        if step is None or newest < 0:
            super().keyPressEvent(event)
        elif self._told is None:
            self.tell(newest)
        else:
            self.tell(min(max(self._told + step, 0), newest + len(self._stops)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._plot is not None and self._data.readings:
            self._frame_all()  # more room holds more dates

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Leave:
            self.tell(None)
        return super().eventFilter(watched, event)

    def _load(self) -> None:
        plot = new_plot(self._page, by_date=True)
        plot.scene().sigMouseMoved.connect(self._pointed)
        plot.installEventFilter(self)
        layout = self._page.layout()
        assert layout is not None
        layout.addWidget(plot)
        self._plot = plot

    def _draw(self) -> None:
        plot = self._plot
        if plot is None or not self._data.readings:
            return
        plot.clear()
        dress_plot(plot, self._theme, left=tr("N/cm"), bottom=self._span())
        self._ahead.draw(plot, self._forecast, self._data.now, self._shown())
        self._draw_level(self._data.target_n_per_cm, tr("target"), "press", DASHED)
        self._draw_level(self._data.limit_n_per_cm, tr("limit"), "below", SOLID)
        for mark in self._data.marks:
            self._draw_mark(mark)
        self._draw_readings()
        self._frame_all()

    def _shown(self) -> tuple[dt.datetime, dt.datetime]:
        """The first and the last moment that is drawn."""
        data = self._data
        moments = [r.when for r in data.readings] + [m.when for m in data.marks]
        if self._forecast is not None and self._forecast.band is not None:
            moments += self._forecast.band.at
        if data.now is not None:
            moments.append(data.now)
        return min(moments), max(moments)

    def _span(self) -> str:
        """From when to when; the ticks alone do not tell the month."""
        moments = [reading.when for reading in self._data.readings]
        days = [self._formatter.day_of(moment) for moment in (*moments, *self._stops)]
        first, last = self._formatter.date(min(days)), self._formatter.date(max(days))
        return first if first == last else tr("{first} to {last}", first=first, last=last)

    def _draw_level(self, level: float | None, word: str, colour: str, style: Qt.PenStyle) -> None:
        if level is not None and self._plot is not None:
            words = tr("{word} {level}", word=word, level=self._formatter.number(level))
            add_level(self._plot, self._theme, level, words, pen(self._theme, colour, 1.5, style))

    def _draw_mark(self, mark: ChartMark) -> None:
        assert self._plot is not None
        import pyqtgraph

        word = {"stretch": tr("stretched"), "retension": tr("retensioned"), "reclaim": ""}
        is_reclaim = mark.kind == "reclaim"
        line = pyqtgraph.InfiniteLine(
            pos=mark.when.timestamp(),
            angle=90,
            pen=pen(self._theme, *(("line", 1) if is_reclaim else ("place", 2))),
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
        line = pen(self._theme, "quiet", 1.25)
        curve = pyqtgraph.PlotCurveItem(
            x, y, pen=line, connect=joined.astype(np.int32), antialias=True
        )
        self._plot.addItem(curve)
        self._plot.addItem(
            pyqtgraph.ErrorBarItem(x=x, y=y, top=2 * u, bottom=2 * u, beam=0, pen=line)
        )
        self._plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=x,
                y=y,
                size=13,
                symbol=[_symbol(r.mark) for r in readings],
                pen=pen(self._theme, "ink", 1.25),
                brush=[colours.colour(r.mark or "surface") for r in readings],
            )
        )

    def _frame_all(self) -> None:
        """Show all readings with the levels; a day of air where there is only one."""
        assert self._plot is not None
        readings = self._data.readings
        first, last = self._shown()
        values = [r.tension_n_per_cm for r in readings]
        band = self._forecast.band if self._forecast is not None else None
        if band is not None:
            values += [*band.low, *band.high]
        values += [
            v for v in (self._data.target_n_per_cm, self._data.limit_n_per_cm) if v is not None
        ]
        left, right = _spread([first.timestamp(), last.timestamp()], least=86_400.0)
        low, high = _spread(values, least=4.0)
        wide, tall = right - left, high - low
        beside = 0.18 if band is not None else 0.08  # the words of the levels stand beside a band
        begin, end = (dt.datetime.fromtimestamp(x, dt.UTC) for x in (left, right))
        most = max(2, self.width() // (_TICK_EMS * self._theme.px("small")))
        ticks = date_ticks(begin, end, most, self._formatter)
        self._plot.getAxis("bottom").setTicks(None if ticks is None else [ticks])
        self._plot.setXRange(left - 0.04 * wide, right + beside * wide, padding=0)
        self._plot.setYRange(low - 0.2 * tall, high + 0.25 * tall, padding=0)

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
        ahead = dt.datetime.fromtimestamp(box.mapSceneToView(place).x(), dt.UTC)
        band = self._forecast.band if self._forecast is not None else None
        is_ahead = band is not None and band.look(ahead) is not None
        if best is None and is_ahead and box.sceneBoundingRect().contains(place):
            self._told = None
            self.tell_ahead(ahead)
        else:
            self.tell(best)


def _spread(values: list[float], least: float) -> tuple[float, float]:
    """Lowest and highest, moved apart where they lie closer than `least`."""
    low, high = min(values), max(values)
    air = max(0.0, least - (high - low)) / 2
    return low - air, high + air


def _symbol(mark: Mark | None) -> QPainterPath:
    """A mark as a symbol of the plot; a reading without an answer is a ring."""
    if mark in MARKS:
        return mark_path(mark, QRectF(-0.5, -0.5, 1, 1))
    ring = QPainterPath()
    ring.addEllipse(QRectF(-0.5, -0.5, 1, 1))
    return ring
