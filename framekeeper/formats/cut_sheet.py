"""The cut sheet: each roll with its cuts in order, drawn to scale, beside the pieces in words."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.colors import Color

from framekeeper.domain.cut_drawing import DrawnPlan, DrawnRoll, DrawnRow
from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    BLUE,
    CLOTH,
    INK,
    LINE,
    POINTS_PER_MM,
    QUIET,
    SMALL,
    TEXT,
    WHITE,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    shorten,
    wrap,
)

_LINE_MM = 4.2
_PICTURE_MM = 80.0  # across the widest roll
_TALLEST_MM = 180.0  # along the longest row, so that each fits on a page
_GAP_MM = 6.0
_TICK_MM = 3.6  # to tick off what is cut
_LEAST_MM = 15.0  # of a row, so that its words have room
_HATCH_MM = 2.2
_TINY = 6.5  # points


@dataclass(frozen=True, slots=True)
class CutSheet:
    """Everything that stands on the sheet, in words."""

    shop: str
    printed_on: str
    plan: DrawnPlan
    paper: Paper = "A4"


def cut_sheet_pdf(sheet: CutSheet, *, speak: Speak = str) -> bytes:
    """Print the plan, with nothing to cut it says so."""
    subtitle = speak(say("Printed {date}. Rolls: {count}.", date=sheet.printed_on,
                         count=len(sheet.plan.rolls)))  # fmt: skip

    def draw(pages: Sheet) -> None:
        _Drawing(pages, sheet.plan, speak).draw()

    furniture = Furniture(speak(say("Cut sheet")), subtitle, sheet.shop, sheet.paper)
    return paper_pdf(furniture, draw, speak)


class _Drawing:
    """One pass over the pages."""

    def __init__(self, pages: Sheet, plan: DrawnPlan, speak: Speak) -> None:
        self._pages, self._plan, self._speak = pages, plan, speak
        widest = max((roll.width_mm for roll in plan.rolls), default=1.0)
        longest = max((row.length_mm for roll in plan.rolls for row in roll.rows), default=1.0)
        self._scale = min(_PICTURE_MM / widest, _TALLEST_MM / longest)

    def draw(self) -> None:
        for text in self._plan.summary:
            self._paragraph(text)
        for roll in self._plan.rolls:
            self._roll(roll)
        if self._plan.unplaced:
            self._pages.heading(self._speak(say("Without a place")))
            for text in self._plan.unplaced:
                self._paragraph(text)
        self._pages.y += 4
        caution = say(
            "Knives slip on mesh: a blade that draws in, gloves that resist cuts, hands and body "
            "out of its way, no stretched mesh near it. A usual caution, not an instruction; the "
            "tool’s manual and local codes decide. If unsure, ask a trained person."
        )
        self._paragraph(self._speak(caution), colour=QUIET)

    def _paragraph(self, text: str, *, colour: Color = INK) -> None:
        room = self._pages.right - self._pages.left
        lines = wrap(text, room, SMALL)
        self._pages.need(_LINE_MM * len(lines))
        for line in lines:
            self._pages.y += _LINE_MM
            self._pages.text(self._pages.left, self._pages.y, line, size=SMALL, colour=colour)

    def _roll(self, roll: DrawnRoll) -> None:
        pages, speak = self._pages, self._speak
        first = self._height(roll.rows[0]) if roll.rows else 0
        pages.need(18 + first)
        pages.y += 9
        room = pages.right - pages.left
        pages.text(pages.left, pages.y, roll.title, size=TEXT, bold=True, room=room)
        pages.y += _LINE_MM
        loose = say(
            "The loose end is at the top, the left selvage at the left; the warp runs down."
        )
        pages.text(pages.left, pages.y, speak(loose), size=SMALL, colour=QUIET, room=room)
        pages.y += 2.5
        for row in roll.rows:
            if pages.need(self._height(row)):
                pages.y += _LINE_MM
                pages.text(pages.left, pages.y, roll.title, size=SMALL, colour=QUIET, room=room)
                pages.y += 2.5
            self._row(roll, row)

    def _height(self, row: DrawnRow) -> float:
        texts = 1 + len(row.pieces) + (row.rest is not None)
        return max(row.length_mm * self._scale, _LEAST_MM, texts * _LINE_MM + 2)

    def _row(self, roll: DrawnRoll, row: DrawnRow) -> None:
        pages, scale, top = self._pages, self._scale, self._pages.y
        high = row.length_mm * scale
        pages.box(pages.left, top, roll.width_mm * scale, high, fill=WHITE)
        self._hatch(pages.left, top, roll.width_mm * scale, high)
        for piece in row.pieces:
            x, wide, tall = (v * scale for v in (piece.x_mm, piece.width_mm, piece.length_mm))
            pages.box(pages.left + x, top, wide, tall, colour=INK, fill=_PIECE)
            self._warp(pages.left + x + 2, top, tall)
            middle = pages.left + x + wide / 2
            if tall >= 4:
                code = shorten(piece.code, wide - 5, _TINY, bold=True)
                pages.text(middle, top + min(tall / 2, 6), code, size=_TINY, bold=True,
                           align="centre")  # fmt: skip
            if tall >= 9:
                size = shorten(piece.size, wide - 5, _TINY)
                pages.text(middle, top + min(tall / 2, 6) + 3, size, size=_TINY, align="centre")
        self._words(row, pages.left + _PICTURE_MM + _GAP_MM, top)
        pages.y = top + self._height(row)

    def _words(self, row: DrawnRow, x: float, top: float) -> None:
        pages, y = self._pages, top + 3.4
        room = pages.right - x
        pages.box(x, top + 0.6, _TICK_MM, _TICK_MM)
        head = say("Cut {number} after {length}", number=row.number, length=row.length)
        pages.text(x + _TICK_MM + 2, y, self._speak(head), bold=True, room=room - _TICK_MM - 2)
        for piece in row.pieces:
            y += _LINE_MM
            text = f"{piece.name}   {piece.size}"
            if piece.turned:
                text = f"{text}, {piece.turned}"
            pages.text(x + _TICK_MM + 2, y, text, size=SMALL, room=room - _TICK_MM - 2)
        if row.rest is not None:
            y += _LINE_MM
            left = say("left over {size}", size=row.rest.size)
            if row.rest.kept:
                left = say("left over {size}: {keep}", size=row.rest.size, keep=row.rest.kept)
            pages.text(
                x + _TICK_MM + 2, y, self._speak(left), size=SMALL, room=room - _TICK_MM - 2,
                colour=BLUE if row.rest.kept else QUIET,
            )  # fmt: skip

    def _warp(self, x: float, top: float, tall: float) -> None:
        """An arrow along the warp, at both ends."""
        if tall < 6:
            return
        low, high = top + tall - 1.5, top + 1.5
        self._pages.line(x, high, x, low, colour=INK)
        for y, way in ((high, 1.0), (low, -1.0)):
            self._pages.line(x, y, x - 0.8, y + 1.4 * way, colour=INK)
            self._pages.line(x, y, x + 0.8, y + 1.4 * way, colour=INK)

    def _hatch(self, x: float, top: float, wide: float, high: float) -> None:
        """Slanted lines over what is in no piece; the pieces are painted over them."""
        canvas = self._pages.canvas
        canvas.saveState()
        clip = canvas.beginPath()
        below = (self._pages.height - top - high) * POINTS_PER_MM
        clip.rect(x * POINTS_PER_MM, below, wide * POINTS_PER_MM, high * POINTS_PER_MM)
        canvas.clipPath(clip, stroke=0)
        at = -high
        while at < wide:
            self._pages.line(x + at, top + high, x + at + high, top, colour=_HATCH)
            at += _HATCH_MM
        canvas.restoreState()


_PIECE = Color(*(0.72 + 0.28 * part for part in CLOTH.rgb()))  # the cloth, pale enough for ink
_HATCH = Color(*(0.75 * part for part in LINE.rgb()))
