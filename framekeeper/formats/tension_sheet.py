"""The tension sheet of one frame: what it is, its last survey, its history in numbers and words."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain.sentence import say
from framekeeper.formats.frame_drawing import ANSWERS, FrameDrawing, draw_frame, drawing_height
from framekeeper.formats.paper_kit import (
    HEAD,
    INK,
    QUIET,
    SMALL,
    TEXT,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    wrap,
)
from framekeeper.formats.paper_table import Column, draw_table
from framekeeper.formats.tension_chart import TensionChart, draw_chart

_FACTS_MM, _GAP_MM = 62.0, 8.0
_DRAWING_MM, _CHART_MM = 96.0, 72.0
_FACT_LINE_MM = 4.2


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact about the frame: what it is called, and what it is."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class SurveyLine:
    """One survey, ready to print."""

    when: str
    moment: str
    warp: str
    weft: str
    lowest: str
    spread: str
    meter: str
    verdict: str


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One event of the frame, ready to print."""

    when: str
    what: str
    by: str


@dataclass(frozen=True, slots=True)
class TensionSheet:
    """Everything that stands on the sheet, in the shop's units, language and way of writing."""

    code: str
    own_label: str
    shop: str
    printed_on: str
    facts: tuple[Fact, ...]
    drawing: FrameDrawing
    drawing_text: str
    chart: TensionChart
    forecast: tuple[str, ...] = ()  # what is to come, in words: what matters first
    surveys: tuple[SurveyLine, ...] = ()
    journal: tuple[JournalLine, ...] = ()
    paper: Paper = "A4"


def tension_sheet_pdf(sheet: TensionSheet, *, speak: Speak = str) -> bytes:
    """Print the tension sheet of a frame."""
    title = " · ".join(part for part in (sheet.code, sheet.own_label) if part)
    subtitle = speak(say("Tension sheet, printed {date}", date=sheet.printed_on))

    def draw(pages: Sheet) -> None:
        _draw_frame_part(pages, sheet, speak)
        _draw_chart_part(pages, sheet, speak)
        _draw_surveys(pages, sheet.surveys, speak)
        _draw_journal(pages, sheet.journal, speak)

    return paper_pdf(Furniture(title, subtitle, sheet.shop, sheet.paper), draw, speak)


def _draw_frame_part(pages: Sheet, sheet: TensionSheet, speak: Speak) -> None:
    """The facts on the left, the drawing on the right."""
    top = pages.y
    for fact in sheet.facts:
        pages.text(pages.left, pages.y + 3, fact.name, size=SMALL, colour=QUIET, room=_FACTS_MM)
        pages.y += _FACT_LINE_MM
        for line in wrap(fact.value, _FACTS_MM, TEXT, most=3):
            pages.text(pages.left, pages.y + 3, line)
            pages.y += _FACT_LINE_MM
        pages.y += 1.2
    below_facts, pages.y = pages.y, top
    x = pages.left + _FACTS_MM + _GAP_MM
    wide = pages.right - x
    draw_frame(pages, sheet.drawing, x, wide, _DRAWING_MM)
    pages.y += drawing_height(sheet.drawing, wide, _DRAWING_MM) + 5
    legend = _legend(sheet.drawing, speak)
    for line in wrap(sheet.drawing_text, wide, SMALL, most=3) + ([legend] if legend else []):
        pages.text(x, pages.y, line, size=SMALL, colour=QUIET)
        pages.y += 3.7
    pages.y = max(pages.y, below_facts) + 2


def _legend(drawing: FrameDrawing, speak: Speak) -> str:
    """Name the marks that the drawing uses, in words."""
    words = {
        "holds": speak(say("holds")),
        "soon": speak(say("soon below the limit")),
        "below": speak(say("below the limit")),
    }
    used = {point.answer for point in drawing.points}
    return "   ".join(
        f"{ANSWERS[answer][0]} {words[answer]}" for answer in ANSWERS if answer and answer in used
    )


def _draw_chart_part(pages: Sheet, sheet: TensionSheet, speak: Speak) -> None:
    if sheet.chart.points:
        pages.need(_CHART_MM + 16 + _FACT_LINE_MM * (len(sheet.forecast) + 2))
    pages.heading(speak(say("Tension over time")))
    if sheet.chart.points:
        draw_chart(pages, sheet.chart, pages.right - pages.left, _CHART_MM)
    else:
        _say_nothing_yet(pages, speak(say("No tension has been read yet.")))
    _draw_forecast(pages, sheet.forecast)


def _draw_forecast(pages: Sheet, lines: tuple[str, ...]) -> None:
    """Say below the chart what is to come, and what that rests on."""
    pages.y += _FACT_LINE_MM if lines else 0
    for place, words in enumerate(lines):
        is_first = place == 0
        size = TEXT if is_first else SMALL
        for line in wrap(words, pages.right - pages.left, size, bold=is_first, most=3):
            pages.need(_FACT_LINE_MM)
            pages.text(
                pages.left, pages.y, line, size=size, bold=is_first,
                colour=INK if is_first else QUIET,
            )  # fmt: skip
            pages.y += _FACT_LINE_MM


def _draw_surveys(pages: Sheet, surveys: tuple[SurveyLine, ...], speak: Speak) -> None:
    pages.heading(speak(say("Surveys, in N/cm")))
    if not surveys:
        _say_nothing_yet(pages, speak(say("No tension has been read yet.")))
        return
    columns = (
        Column(speak(say("When")), 20),
        Column(speak(say("Moment")), 17),
        Column(speak(say("Warp")), 9, "right"),
        Column(speak(say("Weft")), 9, "right"),
        Column(speak(say("Lowest")), 11, "right"),
        Column(speak(say("Spread")), 11, "right"),
        Column(speak(say("Meter")), 14),
        Column(speak(say("Verdict")), 27),
    )
    draw_table(
        pages,
        columns,
        [
            (s.when, s.moment, s.warp, s.weft, s.lowest, s.spread, s.meter, s.verdict)
            for s in surveys
        ],
    )


def _draw_journal(pages: Sheet, journal: tuple[JournalLine, ...], speak: Speak) -> None:
    pages.heading(speak(say("Journal")))
    if not journal:
        _say_nothing_yet(pages, speak(say("Nothing has happened to this frame yet.")))
        return
    columns = (
        Column(speak(say("When")), 20),
        Column(speak(say("What")), 70),
        Column(speak(say("By")), 20),
    )
    draw_table(pages, columns, [(line.when, line.what, line.by) for line in journal], most_lines=6)


def _say_nothing_yet(pages: Sheet, text: str) -> None:
    pages.text(pages.left, pages.y, text, colour=QUIET)
    pages.y += HEAD / 2
