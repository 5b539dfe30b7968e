"""The report on lives: the curve of one group, all groups in numbers, what ends them, and why."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from reportlab.lib.colors import HexColor

from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    CLOTH,
    INK,
    LINE,
    QUIET,
    SMALL,
    TEXT,
    WHITE,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    wrap,
)
from framekeeper.formats.paper_table import Column, draw_table

_BAND = HexColor("#F7E9C6")  # pale CLOTH
_CHART_MM, _LEFT_MM, _BOTTOM_MM = 62.0, 10.0, 9.0
_LINE_MM = 4.2
_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
_MOST_TICKS = 10
_TICK_MM = 0.9
_DOT_MM = 1.8


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a curve: age, and shares from 0 to 1."""

    age: float
    share: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Dot:
    """One life where few have ended: its age, and whether it is over."""

    age: float
    ended: bool


@dataclass(frozen=True, slots=True)
class LifeChart:
    """A curve with the ages of those that go on; without steps, dots."""

    title: str
    across: str
    steps: tuple[Step, ...] = ()
    going: tuple[float, ...] = ()
    dots: tuple[Dot, ...] = ()


@dataclass(frozen=True, slots=True)
class LivesReport:
    """Everything that stands on the report, in the shop's language and way of writing."""

    shop: str
    printed_on: str
    asked: str
    chart: LifeChart | None
    words: tuple[str, ...]
    heads: tuple[str, ...]
    groups: tuple[tuple[str, ...], ...]
    causes: tuple[tuple[str, str, float], ...]  # cause, ends with share, share from 0 to 1
    said: tuple[str, ...]
    paper: Paper = "A4"


def lives_report_pdf(report: LivesReport, *, speak: Speak = str) -> bytes:
    """Print the report on lives."""
    subtitle = speak(say("Printed {date}. {asked}", date=report.printed_on, asked=report.asked))

    def draw(pages: Sheet) -> None:
        if report.chart is not None:
            _draw_chart(pages, report.chart)
        _draw_words(pages, report.words)
        pages.heading(speak(say("All groups")))
        _draw_groups(pages, report)
        pages.heading(speak(say("What ends them")))
        _draw_causes(pages, report.causes)
        pages.heading(speak(say("What this says")))
        _draw_words(pages, report.said)

    title = speak(say("How long mesh lasts"))
    return paper_pdf(Furniture(title, subtitle, report.shop, report.paper), draw, speak)


def _draw_words(pages: Sheet, words: tuple[str, ...]) -> None:
    for said in words:
        for line in wrap(said, pages.right - pages.left, TEXT):
            pages.need(_LINE_MM)
            pages.text(pages.left, pages.y + 3, line)
            pages.y += _LINE_MM
        pages.y += 1


def _draw_groups(pages: Sheet, report: LivesReport) -> None:
    shares = (2.1, 0.9, 1.0, 1.3, 1.2, 1.2, 2.4, 3.6, 1.1)
    columns = [
        Column(head, share, "left" if place == 0 else "right", bold=place == 0)
        for place, (head, share) in enumerate(zip(report.heads, shares, strict=True))
    ]
    draw_table(pages, columns, report.groups)


def _draw_causes(pages: Sheet, causes: tuple[tuple[str, str, float], ...]) -> None:
    """Bars, the most frequent on top."""
    wide = pages.right - pages.left
    name, number = 0.42 * wide, 0.14 * wide
    for cause, count, share in causes:
        pages.need(_LINE_MM + 1.5)
        pages.text(pages.left, pages.y + 3, cause, size=SMALL, room=name - 3)
        at = pages.left + name + number - 3
        pages.text(at, pages.y + 3, count, size=SMALL, align="right", room=number)
        room = max(wide - name - number, 1.0)
        x = pages.left + name + number
        pages.box(x, pages.y + 0.6, max(room * share, 0.3), 3.0, colour=CLOTH, fill=CLOTH)
        pages.y += _LINE_MM + 0.6


@dataclass(frozen=True, slots=True)
class _Plot:
    """Maps ages and shares to the page, in mm."""

    left: float
    right: float
    top: float
    floor: float
    last: float

    def x(self, age: float) -> float:
        return self.left + age / self.last * (self.right - self.left)

    def y(self, share: float) -> float:
        return self.floor - share * (self.floor - self.top)


def _draw_chart(pages: Sheet, chart: LifeChart) -> None:
    pages.need(_CHART_MM + 12)
    pages.text(pages.left, pages.y + 3, chart.title, bold=True, room=pages.right - pages.left)
    pages.y += 7
    ages = [s.age for s in chart.steps] + [d.age for d in chart.dots]
    plot = _Plot(
        pages.left + _LEFT_MM,
        pages.right,
        pages.y,
        pages.y + _CHART_MM - _BOTTOM_MM,
        max([1.0, *ages]),
    )
    _draw_axes(pages, plot, chart)
    if chart.steps:
        _draw_band(pages, plot, chart.steps)
        _draw_steps(pages, plot, chart)
    else:
        _draw_dots(pages, plot, chart.dots)
    pages.y += _CHART_MM + 2


def _draw_axes(pages: Sheet, plot: _Plot, chart: LifeChart) -> None:
    if chart.steps:
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            y = plot.y(share)
            pages.line(plot.left, y, plot.right, y, colour=LINE)
            text = f"{100 * share:.0f} %"
            pages.text(plot.left - 1.5, y + 1, text, size=SMALL, colour=QUIET, align="right")
    step = next((s for s in _STEPS if plot.last / s <= _MOST_TICKS), _STEPS[-1])
    for age in range(0, int(plot.last) + 1, step):
        x = plot.x(age)
        pages.line(x, plot.floor, x, plot.floor + 1, colour=QUIET)
        pages.text(x, plot.floor + 4, str(age), size=SMALL, colour=QUIET, align="centre")
    pages.line(plot.left, plot.floor, plot.right, plot.floor, colour=QUIET)
    pages.text(plot.right, plot.floor + 8, chart.across, size=SMALL, colour=QUIET, align="right")


def _draw_band(pages: Sheet, plot: _Plot, steps: tuple[Step, ...]) -> None:
    """The limits, as boxes from each step to the next."""
    for step, after in pairwise(steps):
        x, top = plot.x(step.age), plot.y(step.high)
        wide, high = plot.x(after.age) - x, plot.y(step.low) - top
        pages.box(x, top, wide, high, colour=_BAND, fill=_BAND)


def _draw_steps(pages: Sheet, plot: _Plot, chart: LifeChart) -> None:
    age, share = 0.0, 1.0
    shares = {}
    for step in chart.steps:
        y = plot.y(share)
        pages.line(plot.x(age), y, plot.x(step.age), y, colour=INK, wide=0.5)
        pages.line(plot.x(step.age), y, plot.x(step.age), plot.y(step.share), colour=INK, wide=0.5)
        age, share = step.age, step.share
        shares[age] = share
    for going in chart.going:
        x, y = plot.x(going), plot.y(shares[going])
        pages.line(x, y - _TICK_MM, x, y + _TICK_MM, colour=INK, wide=0.3)


def _draw_dots(pages: Sheet, plot: _Plot, dots: tuple[Dot, ...]) -> None:
    """One life above the other, the longest at the bottom: filled where it has ended."""
    for place, dot in enumerate(sorted(dots, key=lambda d: d.age)):
        y = plot.y(1 - (place + 0.5) / len(dots))
        half = _DOT_MM / 2
        fill = INK if dot.ended else WHITE
        pages.box(plot.x(dot.age) - half, y - half, _DOT_MM, _DOT_MM, colour=INK, fill=fill)
