"""The cost sheet: costs with their parts, both ways of stretching, and what matters most."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportlab.lib.colors import Color

from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    BLUE,
    CLOTH,
    INK,
    LINE,
    POINTS_PER_MM,
    QUIET,
    SMALL,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    wrap,
)
from framekeeper.formats.paper_table import LINE_MM, Column, draw_table

_PLOT_MM, _LEFT_MM, _RIGHT_MM = 56.0, 0.0, 30.0
_BAR_MM, _NAMES_MM, _ENDS_MM = 6.2, 54.0, 28.0


@dataclass(frozen=True, slots=True)
class CostRow:
    """One line of the table: a cost, or a part of it."""

    what: str
    amount: str
    rests_on: str
    is_head: bool


@dataclass(frozen=True, slots=True)
class CostLineChart:
    """A month of both ways from no screens to `far`, and the marks on the lines."""

    far: float
    in_house: tuple[float, float]  # at 0 and at `far`
    sent_out: tuple[float, float]
    in_house_text: str
    sent_out_text: str
    across_text: str
    highest_text: str
    far_text: str
    asked: float
    asked_text: str
    even: float | None = None
    even_text: str = ""


@dataclass(frozen=True, slots=True)
class SwingBar:
    """One bar: what is varied, both ends of it in words, and the difference at both ends."""

    what: str
    low_text: str
    high_text: str
    at_low: float
    at_high: float


@dataclass(frozen=True, slots=True)
class NumberRow:
    """One number that the costs are reckoned from."""

    what: str
    value: str
    why: str


@dataclass(frozen=True, slots=True)
class CostSheet:
    """Everything that stands on the sheet, ready to print."""

    shop: str
    printed_on: str
    mesh: str
    rows: tuple[CostRow, ...]
    words: tuple[str, ...]
    chart: CostLineChart | None
    swings: tuple[SwingBar, ...]
    middle: float  # the difference with the numbers as they are
    middle_text: str
    numbers: tuple[NumberRow, ...]
    paper: Paper = "A4"


def cost_sheet_pdf(given: CostSheet, *, speak: Speak = str) -> bytes:
    """Print the costs."""

    def draw(sheet: Sheet) -> None:
        columns = (
            Column(speak(say("What")), 36),
            Column(speak(say("Costs")), 22, "right"),
            Column(speak(say("Rests on")), 74),
        )
        rows = [(r.what if r.is_head else f"– {r.what}", r.amount, r.rests_on) for r in given.rows]
        draw_table(sheet, columns, rows)
        sheet.heading(speak(say("In house or sent out")))
        for words in given.words:
            _paragraph(sheet, words)
        if given.chart is not None:
            _draw_lines(sheet, given.chart)
        if given.swings:
            sheet.heading(speak(say("What matters most")))
            _draw_swings(sheet, given)
        sheet.heading(speak(say("Reckoned from")))
        columns = (
            Column(speak(say("Number")), 40),
            Column(speak(say("Value")), 24, "right"),
            Column(speak(say("Where it comes from")), 68),
        )
        draw_table(sheet, columns, [(n.what, n.value, n.why) for n in given.numbers])

    subtitle = speak(say("Printed {date}.", date=given.printed_on))
    if given.mesh:
        subtitle = speak(say("Printed {date}, of {mesh} alone.", date=given.printed_on,
                             mesh=given.mesh))  # fmt: skip
    furniture = Furniture(speak(say("What screens cost")), subtitle, given.shop, given.paper)
    return paper_pdf(furniture, draw, speak)


def _paragraph(sheet: Sheet, words: str) -> None:
    for line in wrap(words, sheet.right - sheet.left, SMALL):
        sheet.need(LINE_MM)
        sheet.text(sheet.left, sheet.y + 2.9, line, size=SMALL)
        sheet.y += LINE_MM
    sheet.y += 1.2


# both ways over the screens


def _draw_lines(sheet: Sheet, chart: CostLineChart) -> None:
    sheet.need(_PLOT_MM + 14)
    left, right = sheet.left + _LEFT_MM, sheet.right - _RIGHT_MM
    top, floor = sheet.y + 6, sheet.y + _PLOT_MM
    highest = max(*chart.in_house, *chart.sent_out) or 1.0

    def x(screens: float) -> float:
        return left + (right - left) * screens / chart.far

    def y(money: float) -> float:
        return floor - (floor - top) * money / highest

    sheet.line(left, floor, right, floor, colour=QUIET, wide=0.3)
    sheet.line(left, top, left, floor, colour=QUIET, wide=0.3)
    sheet.text(left + 1, top - 1.5, chart.highest_text, size=SMALL, colour=QUIET)
    sheet.text(left, floor + 4, "0", size=SMALL, colour=QUIET)
    sheet.text(right, floor + 4, chart.far_text, size=SMALL, colour=QUIET, align="right")
    sheet.text((left + right) / 2, floor + 8, chart.across_text, size=SMALL, colour=QUIET,
               align="centre")  # fmt: skip
    ends = _apart(y(chart.in_house[1]), y(chart.sent_out[1]))
    ways = (
        (chart.in_house, chart.in_house_text, BLUE, False, ends[0]),
        (chart.sent_out, chart.sent_out_text, CLOTH, True, ends[1]),
    )
    for way, text, colour, is_dashed, at in ways:
        _stroke(sheet, (x(0), y(way[0])), (x(chart.far), y(way[1])), colour, is_dashed=is_dashed)
        sheet.text(right + 2, at + 1, text, size=SMALL, room=_RIGHT_MM - 2)
    for screens, text, high in (
        (chart.asked, chart.asked_text, top - 1.5),
        (chart.even, chart.even_text, top + 2.5),
    ):
        if screens is not None and 0 <= screens <= chart.far:
            _stroke(sheet, (x(screens), top), (x(screens), floor), QUIET, is_dashed=False, wide=0.2)
            sheet.text(x(screens) + 1, high, text, size=SMALL)
    sheet.y = floor + 12


def _apart(first: float, second: float) -> tuple[float, float]:
    """Places for two texts at the ends of the lines, so that neither covers the other."""
    gap = LINE_MM - abs(first - second)
    if gap <= 0:
        return first, second
    push = gap / 2 if first > second else -gap / 2
    return first + push, second - push


def _stroke(
    sheet: Sheet,
    start: tuple[float, float],
    end: tuple[float, float],
    colour: Color,
    *,
    is_dashed: bool,
    wide: float = 0.6,
) -> None:
    canvas = sheet.canvas
    canvas.saveState()
    if is_dashed:
        canvas.setDash(2 * POINTS_PER_MM, 1 * POINTS_PER_MM)
    sheet.line(*start, *end, colour=colour, wide=wide)
    canvas.restoreState()


# what matters most


def _draw_swings(sheet: Sheet, given: CostSheet) -> None:
    ends = [v for s in given.swings for v in (s.at_low, s.at_high)] + [given.middle]
    low, high = min(ends), max(ends)
    left, right = sheet.left + _NAMES_MM + _ENDS_MM, sheet.right - _ENDS_MM
    span = (high - low) or 1.0

    def x(value: float) -> float:
        return left + (right - left) * (value - low) / span

    _paragraph(sheet, given.middle_text)
    for swing in given.swings:
        sheet.need(_BAR_MM)
        _draw_swing(sheet, swing, x)
        sheet.line(x(given.middle), sheet.y, x(given.middle), sheet.y + _BAR_MM, wide=0.3,
                   colour=INK)  # fmt: skip
        sheet.y += _BAR_MM


def _draw_swing(sheet: Sheet, swing: SwingBar, place: Callable[[float], float]) -> None:
    baseline = sheet.y + _BAR_MM / 2 + 1
    sheet.text(sheet.left, baseline, swing.what, size=SMALL, room=_NAMES_MM - 2)
    first, last = sorted((place(swing.at_low), place(swing.at_high)))
    texts: Sequence[str] = (swing.low_text, swing.high_text)
    if place(swing.at_low) > place(swing.at_high):
        texts = (swing.high_text, swing.low_text)
    sheet.box(first, sheet.y + 0.8, max(last - first, 0.2), _BAR_MM - 1.6, colour=LINE, fill=CLOTH)
    sheet.text(first - 1, baseline, texts[0], size=SMALL, colour=QUIET, align="right",
               room=_ENDS_MM)  # fmt: skip
    sheet.text(last + 1, baseline, texts[1], size=SMALL, colour=QUIET, room=_ENDS_MM)
