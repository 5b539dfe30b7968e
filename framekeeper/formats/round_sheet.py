"""The round sheet: screens in walking order, with boxes in which readings are written by hand."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    QUIET,
    SMALL,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    width_mm,
)

MOST_POINTS = 12
_BOX_HIGH_MM = 8.0
_ROW_MM = 2 * _BOX_HIGH_MM + 3.5
_NAME_MM, _DIRECTION_MM, _LIMITS_MM = 44.0, 12.0, 36.0
_WIDEST_BOX_MM = 17.0


@dataclass(frozen=True, slots=True)
class RoundLine:
    """One screen of the round, ready to print."""

    slot: str
    code: str
    own_label: str
    mesh: str
    target: str
    limit: str
    last: str


@dataclass(frozen=True, slots=True)
class RoundSheet:
    """Everything that stands on the sheet; `points` is the number of points read on each screen."""

    shop: str
    printed_on: str
    meter: str
    lines: tuple[RoundLine, ...]
    points: int = 5
    paper: Paper = "A4"


def round_sheet_pdf(sheet: RoundSheet, *, speak: Speak = str) -> bytes:
    """Print the round; each screen has a row of boxes along warp and one along weft."""
    if not 1 <= sheet.points <= MOST_POINTS:
        raise NotValid(
            say(
                "A round sheet has room for 1 to {most} points on a screen, not {points}.",
                most=MOST_POINTS,
                points=sheet.points,
            ),
            argument="points",
        )
    subtitle = speak(
        say(
            "Printed {date}. Meter: {meter}. Screens: {count}. Readings in N/cm.",
            date=sheet.printed_on,
            meter=sheet.meter,
            count=len(sheet.lines),
        )
    )

    def draw(pages: Sheet) -> None:
        _draw_once(pages, speak)
        _draw_head(pages, sheet.points, speak)
        for line in sheet.lines:
            if pages.need(_ROW_MM):
                _draw_head(pages, sheet.points, speak)
            _draw_screen(pages, line, sheet.points, speak)
        if not sheet.lines:
            pages.text(pages.left, pages.y + 5, speak(say("No screen is on this round.")))

    furniture = Furniture(speak(say("Tension round")), subtitle, sheet.shop, sheet.paper)
    return paper_pdf(furniture, draw, speak)


def _draw_once(pages: Sheet, speak: Speak) -> None:
    """What is filled in once for the whole round."""
    texts = (
        speak(say("Zero on glass:")),
        speak(say("Room, °C:")),
        speak(say("Date:")),
        speak(say("Read by:")),
    )
    wide = (pages.right - pages.left) / len(texts)
    for number, text in enumerate(texts):
        x = pages.left + number * wide
        pages.text(x, pages.y + 1, text, size=SMALL, colour=QUIET, room=wide * 0.6)
        begin = x + min(width_mm(text, SMALL), wide * 0.6) + 1.5
        pages.line(begin, pages.y + 1.6, x + wide - 3, pages.y + 1.6, colour=QUIET)
    pages.y += 8


def _box_wide(pages: Sheet, points: int) -> float:
    room = pages.right - pages.left - _NAME_MM - _DIRECTION_MM - _LIMITS_MM
    return min(_WIDEST_BOX_MM, room / points)


def _draw_head(pages: Sheet, points: int, speak: Speak) -> None:
    x = pages.left + _NAME_MM + _DIRECTION_MM
    wide = _box_wide(pages, points)
    pages.text(pages.left, pages.y, speak(say("Screen")), size=SMALL, colour=QUIET, room=_NAME_MM)
    for point in range(1, points + 1):
        middle = x + (point - 0.5) * wide
        pages.text(middle, pages.y, str(point), size=SMALL, colour=QUIET, align="centre")
    pages.y += 1.5
    pages.line(pages.left, pages.y, pages.right, pages.y, colour=QUIET)
    pages.y += 1.5


def _draw_screen(pages: Sheet, line: RoundLine, points: int, speak: Speak) -> None:
    top = pages.y
    name_room = _NAME_MM - 3
    code = f"{line.slot}  {line.code}".strip()
    pages.text(pages.left, top + 4, code, bold=True, room=name_room)
    pages.text(pages.left, top + 8.8, line.own_label, size=SMALL, room=name_room)
    pages.text(pages.left, top + 13.0, line.mesh, size=SMALL, colour=QUIET, room=name_room)
    wide = _box_wide(pages, points)
    x = pages.left + _NAME_MM
    for row, direction in enumerate((speak(say("warp")), speak(say("weft")))):
        y = top + row * _BOX_HIGH_MM
        pages.text(x, y + 5.2, direction, size=SMALL, colour=QUIET, room=_DIRECTION_MM - 1)
        for point in range(points):
            pages.box(x + _DIRECTION_MM + point * wide, y, wide, _BOX_HIGH_MM)
    _draw_limits(pages, line, x + _DIRECTION_MM + points * wide + 3, top, speak)
    pages.y += _ROW_MM
    pages.line(pages.left, pages.y - 1.75, pages.right, pages.y - 1.75)


def _draw_limits(pages: Sheet, line: RoundLine, x: float, top: float, speak: Speak) -> None:
    room = pages.right - x
    texts = (
        speak(say("target {tension}", tension=line.target)) if line.target else "",
        speak(say("limit {tension}", tension=line.limit)) if line.limit else "",
        speak(say("last {tension}", tension=line.last)) if line.last else "",
    )
    for row, text in enumerate(texts):
        pages.text(x, top + 2.6 + row * 3.9, text, size=SMALL, room=room)
    pages.box(x, top + 12.6, 2.8, 2.8)
    pages.text(
        x + 4.3, top + 15.0, speak(say("not found")), size=SMALL, colour=QUIET, room=room - 4.3
    )
