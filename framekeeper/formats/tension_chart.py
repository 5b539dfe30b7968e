"""Draws tension over time for paper: readings their uncertainty, limit, and what is to come."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import (
    Circle,
    Drawing,
    Line,
    Polygon,
    PolyLine,
    Rect,
    String,
)
from reportlab.lib.colors import Color, HexColor

from framekeeper.formats.paper_kit import (
    BELOW,
    BLUE,
    INK,
    LINE,
    POINTS_PER_MM,
    QUIET,
    SMALL,
    WHITE,
    Sheet,
    font_name,
    shorten,
    width_mm,
)

BAND, SPAN = HexColor("#DCE5EE"), HexColor("#EFA67A")  # pale BLUE and pale BELOW

_LEFT, _RIGHT, _TOP, _BOTTOM = 10.0, 26.0, 8.0, 11.0  # mm around the plot
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000)
_MOST_TICKS_ACROSS, _MOST_TICKS_UP = 10, 6


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A reading: day since the start of the chart, N/cm, and its standard uncertainty if known."""

    day: float
    tension: float
    uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class ChartMark:
    """Something that happened; where the mesh or its tension was set anew, the line breaks."""

    day: float
    text: str
    begins_anew: bool = False


@dataclass(frozen=True, slots=True)
class ChartAhead:
    """What is to come: days since the start of the chart, N/cm, and when the limit is crossed.

    80 % of what may come lies between `low` and `high`. `even_day` is the day on which being below
    the limit is as likely as not, with its date; `early_day` and `late_day` are None where they
    are not drawn.
    """

    days: tuple[float, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    today: float
    today_text: str
    key_text: str
    early_day: float | None = None
    even_day: float | None = None
    even_text: str = ""
    late_day: float | None = None


@dataclass(frozen=True, slots=True)
class TensionChart:
    """What the chart shows; texts are ready to print."""

    points: tuple[ChartPoint, ...]
    across_text: str
    up_text: str = "N/cm"
    limit: float | None = None
    limit_text: str = ""
    target: float | None = None
    target_text: str = ""
    marks: tuple[ChartMark, ...] = ()
    ahead: ChartAhead | None = None


@dataclass(frozen=True, slots=True)
class _Plot:
    """Maps days and tensions to the drawing, in points."""

    wide: float
    high: float
    first_day: float
    last_day: float
    low: float
    top: float

    def x(self, day: float) -> float:
        share = (day - self.first_day) / (self.last_day - self.first_day)
        return (_LEFT + share * (self.wide - _LEFT - _RIGHT)) * POINTS_PER_MM

    def y(self, tension: float) -> float:
        share = (tension - self.low) / (self.top - self.low)
        return (_BOTTOM + share * (self.high - _BOTTOM - _TOP)) * POINTS_PER_MM


def draw_chart(sheet: Sheet, chart: TensionChart, wide: float, high: float) -> None:
    """Draw at the left edge under `sheet.y`, and move `sheet.y` below it."""
    plot = _plot(chart, wide, high)
    drawing = Drawing(wide * POINTS_PER_MM, high * POINTS_PER_MM)
    _add_axes(drawing, plot, chart)
    if chart.ahead is not None:
        _add_band(drawing, plot, chart.ahead)
    _add_level(drawing, plot, chart.target, chart.target_text, BLUE, [4, 3])
    _add_level(drawing, plot, chart.limit, chart.limit_text, BELOW, None)
    _add_marks(drawing, plot, chart)
    _add_readings(drawing, plot, chart)
    if chart.ahead is not None and chart.limit is not None:
        _add_crossing(drawing, plot, chart.ahead, chart.limit)
    bottom = sheet.height - sheet.y - high
    renderPDF.draw(drawing, sheet.canvas, sheet.left * POINTS_PER_MM, bottom * POINTS_PER_MM)
    sheet.y += high


def _plot(chart: TensionChart, wide: float, high: float) -> _Plot:
    days = [p.day for p in chart.points] + [m.day for m in chart.marks]
    levels = [level for level in (chart.limit, chart.target) if level is not None]
    for point in chart.points:
        u = point.uncertainty or 0.0
        levels += [point.tension - u, point.tension + u]
    if chart.ahead is not None:
        days += [*chart.ahead.days, chart.ahead.today]
        levels += [*chart.ahead.low, *chart.ahead.high]
    first, last = min(days, default=0.0), max(days, default=0.0)
    step = _step(max(levels, default=1.0) - min(levels, default=0.0), _MOST_TICKS_UP - 2)
    low = math.floor((min(levels, default=0.0) - step / 4) / step) * step
    top = math.ceil((max(levels, default=1.0) + step / 4) / step) * step
    return _Plot(wide, high, first, max(last, first + 1), max(low, 0), max(top, max(low, 0) + step))


def _step(span: float, most: int) -> int:
    """The smallest round step that makes at most `most` steps of the span."""
    return next((step for step in _STEPS if span / step <= most), _STEPS[-1])


def _text(
    drawing: Drawing, x: float, y: float, text: str, *, colour: Color = QUIET, anchor: str = "start"
) -> None:
    drawing.add(
        String(
            x, y, text, fontName=font_name(), fontSize=SMALL, fillColor=colour, textAnchor=anchor
        )
    )


def _add_axes(drawing: Drawing, plot: _Plot, chart: TensionChart) -> None:
    left, right = plot.x(plot.first_day), plot.x(plot.last_day)
    floor = plot.y(plot.low)
    up = _step(plot.top - plot.low, _MOST_TICKS_UP)
    for level in range(math.ceil(plot.low / up) * up, math.floor(plot.top) + 1, up):
        y = plot.y(level)
        drawing.add(Line(left, y, right, y, strokeColor=LINE, strokeWidth=0.5))
        _text(drawing, left - 4, y - 3, str(level), anchor="end")
    across = _step(plot.last_day - plot.first_day, _MOST_TICKS_ACROSS)
    first = math.ceil(plot.first_day / across) * across
    for day in range(first, math.floor(plot.last_day) + 1, across):
        x = plot.x(day)
        drawing.add(Line(x, floor, x, floor - 3, strokeColor=QUIET, strokeWidth=0.5))
        _text(drawing, x, floor - 12, str(day), anchor="middle")
    drawing.add(Line(left, floor, right, floor, strokeColor=QUIET, strokeWidth=0.7))
    room = plot.wide - _LEFT - _RIGHT
    _text(drawing, right, floor - 24, shorten(chart.across_text, room, SMALL), anchor="end")
    _text(drawing, left, plot.high * POINTS_PER_MM - 8, chart.up_text)


def _add_level(
    drawing: Drawing,
    plot: _Plot,
    level: float | None,
    text: str,
    colour: Color,
    dashes: list[int] | None,
) -> None:
    if level is None:
        return
    y, right = plot.y(level), plot.x(plot.last_day)
    drawing.add(
        Line(
            plot.x(plot.first_day),
            y,
            right,
            y,
            strokeColor=colour,
            strokeWidth=1,
            strokeDashArray=dashes,
        )
    )
    _text(drawing, right + 4, y - 3, shorten(text, _RIGHT - 2, SMALL), colour=colour)


def _add_marks(drawing: Drawing, plot: _Plot, chart: TensionChart) -> None:
    """Write each event beside its line, where the one before leaves room."""
    ceiling = plot.y(plot.top)
    free_from = -math.inf
    for mark in sorted(chart.marks, key=lambda m: m.day):
        x = plot.x(mark.day)
        drawing.add(
            Line(
                x,
                plot.y(plot.low),
                x,
                ceiling,
                strokeColor=QUIET,
                strokeWidth=0.9 if mark.begins_anew else 0.5,
                strokeDashArray=None if mark.begins_anew else [1, 2],
            )
        )
        text = shorten(mark.text, _RIGHT, SMALL)
        if x >= free_from:
            _text(drawing, x, ceiling + 3, text)
            free_from = x + width_mm(text, SMALL) * POINTS_PER_MM + 4


def _add_band(drawing: Drawing, plot: _Plot, ahead: ChartAhead) -> None:
    """The tone between dotted edges, the dashed line that is expected, and the line of today."""
    xs = [plot.x(day) for day in ahead.days]
    low, high, mean = (
        [(x, plot.y(value)) for x, value in zip(xs, line, strict=True)]
        for line in (ahead.low, ahead.high, ahead.mean)
    )
    drawing.add(Polygon(_flat([*low, *reversed(high)]), fillColor=BAND, strokeColor=None))
    for edge in (low, high):
        drawing.add(
            PolyLine(_flat(edge), strokeColor=QUIET, strokeWidth=0.8, strokeDashArray=[1, 1.5])
        )
    drawing.add(PolyLine(_flat(mean), strokeColor=INK, strokeWidth=1.2, strokeDashArray=[6, 3]))
    x, ceiling = plot.x(ahead.today), plot.y(plot.top)
    drawing.add(Line(x, plot.y(plot.low), x, ceiling, strokeColor=BLUE, strokeDashArray=[1, 2]))
    _text(drawing, x + 3, ceiling - SMALL, ahead.today_text, colour=BLUE)
    floor = plot.y(plot.low)
    _text(drawing, plot.x(plot.first_day), floor - 24, ahead.key_text)


def _add_crossing(drawing: Drawing, plot: _Plot, ahead: ChartAhead, limit: float) -> None:
    """The likely span along the limit, its ends, and the date on which it is an even chance."""
    if ahead.even_day is None:
        return
    y, first, last = plot.y(limit), ahead.days[0], ahead.days[-1]
    start = plot.x(max(ahead.early_day if ahead.early_day is not None else first, first))
    end = plot.x(min(ahead.late_day if ahead.late_day is not None else last, last))
    drawing.add(
        Rect(start, y - 2, end - start, 4, fillColor=SPAN, fillOpacity=0.7, strokeColor=None)
    )
    for day in (ahead.early_day, ahead.late_day):
        if day is not None and first <= day <= last:
            x = plot.x(day)
            drawing.add(Line(x, y - 5, x, y + 5, strokeColor=INK, strokeWidth=1))
    x, half = plot.x(ahead.even_day), 4.5
    corners = [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
    drawing.add(Polygon(_flat(corners), fillColor=BELOW, strokeColor=INK, strokeWidth=0.9))
    _add_date(drawing, plot, x, y - half - SMALL - 2, ahead.even_text)


def _add_date(drawing: Drawing, plot: _Plot, x: float, y: float, text: str) -> None:
    """Write the date below its mark, on a ground of its own, within the plot."""
    half = width_mm(text, SMALL) * POINTS_PER_MM / 2
    x = min(max(x, plot.x(plot.first_day) + half), plot.x(plot.last_day) - half)
    drawing.add(
        Rect(x - half - 1, y - 2, 2 * half + 2, SMALL + 1, fillColor=WHITE, strokeColor=None)
    )
    _text(drawing, x, y, text, colour=INK, anchor="middle")


def _flat(points: list[tuple[float, float]]) -> list[float]:
    return [value for point in points for value in point]


def _add_readings(drawing: Drawing, plot: _Plot, chart: TensionChart) -> None:
    breaks = sorted(mark.day for mark in chart.marks if mark.begins_anew)
    lives: dict[int, list[float]] = {}
    for point in sorted(chart.points, key=lambda p: p.day):
        x, y = plot.x(point.day), plot.y(point.tension)
        life = sum(day <= point.day for day in breaks)
        lives.setdefault(life, []).extend((x, y))
    for line in lives.values():
        if len(line) > 2:
            drawing.add(PolyLine(line, strokeColor=QUIET, strokeWidth=0.7))
    for point in chart.points:
        x, y = plot.x(point.day), plot.y(point.tension)
        if point.uncertainty:
            low, high = (plot.y(point.tension + s * point.uncertainty) for s in (-1, 1))
            drawing.add(Line(x, low, x, high, strokeColor=INK, strokeWidth=0.7))
        drawing.add(Circle(x, y, 2.2, fillColor=INK, strokeColor=INK, strokeWidth=0))
