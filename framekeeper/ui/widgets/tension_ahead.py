"""Draws what is to come of a tension on its chart: the band, the expected line, the crossing date.

Each part is told apart without colour too: the band by its dotted edges, the expected line by its
long dashes, the date by a mark of its own on the limit.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPen

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import pen

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.foresight import Band, FrameForecast

_TONE, _SPAN_TONE, _GROUND = (
    46,
    90,
    190,
)  # of 255: the ground and what was read stay visible through them
_DOTTED, _LONG = Qt.PenStyle.DotLine, Qt.PenStyle.CustomDashLine
_SPAN_PX, _MARK_PX = 8, 15
_EARLY, _LATE = 0.12, 0.8  # of the chart: from here on words would run out of it
_STOP = dt.timedelta(days=7)  # between two stops of the arrow keys


def stops_ahead(forecast: FrameForecast | None) -> list[dt.datetime]:
    """List the moments that arrow keys walk to: week by week, and the dates of the crossing."""
    if forecast is None or forecast.band is None or not forecast.band.at:
        return []
    first, last = forecast.band.at[0], forecast.band.at[-1]
    weeks = int((last - first) / _STOP)
    stops = [first + _STOP * week for week in range(1, weeks + 1)]
    stops += [
        at
        for at in (forecast.early_at, forecast.even_at, forecast.late_at)
        if at is not None and first < at <= last
    ]
    return sorted(set(stops))


def say_ahead(forecast: FrameForecast, moment: dt.datetime, formatter: Formatter) -> str:
    """Say what is expected at a moment to come: the tension, its band, and the chance."""
    f = formatter
    seen = forecast.band.look(moment) if forecast.band is not None else None
    if seen is None:
        return ""
    mean, low, high = (f.number(value) for value in seen)
    day = f.date(f.day_of(moment))
    if forecast.outlook is None:
        return tr(
            "{day}   expected {mean} N/cm, 80 % between {low} and {high}",
            day=day, mean=mean, low=low, high=high,
        )  # fmt: skip
    from framekeeper.services.forecast_words import chance_words

    return tr(
        "{day}   expected {mean} N/cm, 80 % between {low} and {high}   "
        "chance of being below: {chance}",
        day=day,
        mean=mean,
        low=low,
        high=high,
        chance=f.sentence(chance_words(forecast.outlook.chance_at(moment))),
    )


class AheadLayer:
    """Puts a forecast on a plot that was cleared."""

    def __init__(self, theme: Theme, formatter: Formatter) -> None:
        self._theme, self._formatter = theme, formatter
        self._here: pyqtgraph.InfiniteLine | None = None

    def draw(
        self,
        plot: pyqtgraph.PlotWidget,
        forecast: FrameForecast | None,
        now: dt.datetime | None,
        shown: tuple[dt.datetime, dt.datetime],
    ) -> None:
        """Draw all of it; without a band, only the line of today.

        `shown` are the first and the last moment of the chart.
        """
        import pyqtgraph

        if now is not None:
            self._add_today(plot, now, is_late=_share(now, shown) > _LATE)
        self._here = pyqtgraph.InfiniteLine(angle=90, pen=pen(self._theme, "press", 1))
        self._here.setVisible(False)
        plot.addItem(self._here)
        if forecast is None or forecast.band is None:
            return
        self._add_band(plot, forecast.band)
        if forecast.limit is not None and forecast.even_at is not None:
            self._add_crossing(plot, forecast, forecast.band, shown)

    def point_at(self, moment: dt.datetime | None) -> None:
        """Show which moment is told."""
        if self._here is None:
            return
        self._here.setVisible(moment is not None)
        if moment is not None:
            self._here.setValue(moment.timestamp())

    def _add_today(self, plot: pyqtgraph.PlotWidget, now: dt.datetime, *, is_late: bool) -> None:
        import pyqtgraph

        side = 1 if is_late else 0  # its word stands where the chart has room

        line = pyqtgraph.InfiniteLine(
            pos=now.timestamp(),
            angle=90,
            pen=pen(self._theme, "press", 1.25, _DOTTED),
            label=tr("today"),
            labelOpts={
                "position": 1.0,
                "anchors": [(side, 0), (side, 0)],
                "color": self._theme.palette.quiet,
            },
        )
        line.label.setFont(self._theme.font("small"))
        line.setZValue(-5)
        plot.addItem(line)

    def _add_band(self, plot: pyqtgraph.PlotWidget, band: Band) -> None:
        import pyqtgraph

        x = [at.timestamp() for at in band.at]
        edge = pen(self._theme, "quiet", 1.25, _DOTTED)
        low = pyqtgraph.PlotCurveItem(x, list(band.low), pen=edge, antialias=True)
        high = pyqtgraph.PlotCurveItem(x, list(band.high), pen=edge, antialias=True)
        tone = pyqtgraph.FillBetweenItem(low, high, brush=QBrush(self._tone("press", _TONE)))
        tone.setZValue(-20)
        expected = pen(self._theme, "ink", 1.75, _LONG)
        expected.setDashPattern([7, 3])
        for item in (tone, low, high):
            plot.addItem(item)
        plot.addItem(pyqtgraph.PlotCurveItem(x, list(band.mean), pen=expected, antialias=True))

    def _add_crossing(
        self,
        plot: pyqtgraph.PlotWidget,
        forecast: FrameForecast,
        band: Band,
        shown: tuple[dt.datetime, dt.datetime],
    ) -> None:
        """The span from the 10 % to the 90 % date on the limit, and the even date on top of it."""
        import pyqtgraph

        assert forecast.even_at is not None
        first, last = band.at[0], band.at[-1]
        level, even = forecast.limit, forecast.even_at
        if even <= first:  # it is below already: no date is to come
            return
        start = max(forecast.early_at or first, first)
        end = min(forecast.late_at or last, last)
        wide = QPen(self._tone("below", _SPAN_TONE), _SPAN_PX)
        wide.setCosmetic(True)
        wide.setCapStyle(Qt.PenCapStyle.FlatCap)
        xs = [start.timestamp(), end.timestamp()]
        plot.addItem(pyqtgraph.PlotCurveItem(xs, [level, level], pen=wide))
        ends = [at for at in (forecast.early_at, forecast.late_at) if at and first <= at <= last]
        self._add_symbols(plot, ends, level, _bar(), 13)
        self._add_symbols(plot, [even], level, _diamond(), _MARK_PX)
        self._add_date(plot, even, level, _share(even, shown))

    def _add_symbols(
        self,
        plot: pyqtgraph.PlotWidget,
        at: Sequence[dt.datetime],
        level: float | None,
        symbol: QPainterPath,
        size: int,
    ) -> None:
        import pyqtgraph

        item = pyqtgraph.ScatterPlotItem(
            x=[moment.timestamp() for moment in at],
            y=[level] * len(at),
            size=size,
            symbol=symbol,
            pen=pen(self._theme, "ink", 1.5),
            brush=self._theme.palette.colour("below"),
        )
        item.setZValue(10)
        plot.addItem(item)

    def _add_date(
        self,
        plot: pyqtgraph.PlotWidget,
        even: dt.datetime,
        level: float | None,
        share: float,
    ) -> None:
        import pyqtgraph

        text = pyqtgraph.TextItem(
            self._formatter.date(self._formatter.day_of(even)),
            color=self._theme.palette.ink,
            fill=self._tone("surface", _GROUND),
            anchor=(0.0 if share < _EARLY else 0.5, -0.35),  # levels leave room at the right
        )
        text.setFont(self._theme.font("small", bold=True))
        text.setPos(even.timestamp(), level)
        text.setZValue(11)
        plot.addItem(text)

    def _tone(self, name: str, alpha: int) -> QColor:
        colour = self._theme.palette.colour(name)
        colour.setAlpha(alpha)
        return colour


def _share(moment: dt.datetime, shown: tuple[dt.datetime, dt.datetime]) -> float:
    """How far along the chart a moment is."""
    first, last = shown
    return (moment - first) / (last - first) if last > first else 0.0


def _diamond() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(0, -0.5)
    for x, y in ((0.5, 0), (0, 0.5), (-0.5, 0)):
        path.lineTo(x, y)
    path.closeSubpath()
    return path


def _bar() -> QPainterPath:
    path = QPainterPath()
    path.moveTo(0, -0.5)
    path.lineTo(0, 0.5)
    return path
