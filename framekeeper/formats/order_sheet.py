"""The mesh order: what to buy, of whom, in which width and length, with the sum; then why."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    QUIET,
    SMALL,
    TEXT,
    Furniture,
    Paper,
    Sheet,
    Speak,
    paper_pdf,
    width_mm,
    wrap,
)
from framekeeper.formats.paper_table import LINE_MM, Column, draw_table

_SIGN_MM = 24.0  # of height, for the place to sign
_MOST_LINES = 4  # of a reason


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One mesh to order, ready to print; an empty text is not known."""

    mesh: str
    buy_from: str
    rolls: str
    width: str
    roll_length: str
    length: str
    price: str
    total: str
    reason: str


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """Everything that stands on the order; `length_unit` and `currency` head their columns."""

    shop: str
    printed_on: str
    lines: tuple[OrderLine, ...]
    total: str  # empty where a price is not known
    roll_unit: str
    currency: str = ""
    paper: Paper = "A4"


def order_sheet_pdf(sheet: OrderSheet, *, speak: Speak = str) -> bytes:
    """Print the order; with nothing to order it says so."""
    subtitle = speak(
        say("Printed {date}. Meshes: {count}.", date=sheet.printed_on, count=len(sheet.lines))
    )

    def draw(pages: Sheet) -> None:
        if not sheet.lines:
            pages.text(pages.left, pages.y + 4, speak(say("There is no mesh to order.")))
            return
        _draw_lines(pages, sheet, speak)
        _draw_total(pages, sheet, speak)
        _draw_signature(pages, speak)
        _draw_reasons(pages, sheet, speak)

    furniture = Furniture(speak(say("Mesh order")), subtitle, sheet.shop, sheet.paper)
    return paper_pdf(furniture, draw, speak)


def _draw_lines(pages: Sheet, sheet: OrderSheet, speak: Speak) -> None:
    unit = sheet.roll_unit
    money = f" {sheet.currency}" if sheet.currency else ""
    columns = (
        Column(speak(say("Mesh")), 25, bold=True),
        Column(speak(say("From")), 38),
        Column(speak(say("Rolls")), 13, "right"),
        Column(speak(say("Width")), 20, "right"),
        Column(speak(say("Each, {unit}", unit=unit)), 19, "right"),
        Column(speak(say("In all, {unit}", unit=unit)), 20, "right"),
        Column(speak(say("Per {unit}{money}", unit=unit, money=money)), 20, "right"),
        Column(speak(say("Sum{money}", money=money)), 25, "right"),
    )
    rows = [
        (
            line.mesh, line.buy_from, line.rolls, line.width, line.roll_length, line.length,
            line.price, line.total,
        )
        for line in sheet.lines
    ]  # fmt: skip
    draw_table(pages, columns, rows)


def _draw_total(pages: Sheet, sheet: OrderSheet, speak: Speak) -> None:
    pages.need(8)
    pages.y += 5
    if sheet.total:
        said = speak(say("Total {total} {currency}", total=sheet.total, currency=sheet.currency))
    else:
        said = speak(say("No total: a price is not known."))
    pages.text(pages.right - 3.5, pages.y, said.strip(), bold=bool(sheet.total), align="right")
    pages.y += 3


def _draw_reasons(pages: Sheet, sheet: OrderSheet, speak: Speak) -> None:
    """Why stands on a page of its own: it is for the shop, the order is for the supplier."""
    pages.need(pages.room + 1)
    pages.heading(speak(say("Why, for the shop")))
    room = pages.right - pages.left
    for line in sheet.lines:
        reason = wrap(line.reason, room, SMALL, most=_MOST_LINES)
        pages.need(LINE_MM * (len(reason) + 1) + 3)
        pages.y += LINE_MM
        pages.text(pages.left, pages.y, line.mesh, size=TEXT, bold=True, room=room)
        for text in reason:
            pages.y += LINE_MM
            pages.text(pages.left, pages.y, text, size=SMALL)
        pages.y += 2.5


def _draw_signature(pages: Sheet, speak: Speak) -> None:
    pages.need(_SIGN_MM)
    pages.y += _SIGN_MM - 8
    texts = (speak(say("Ordered on:")), speak(say("Ordered by:")), speak(say("Signature:")))
    wide = (pages.right - pages.left) / len(texts)
    for number, text in enumerate(texts):
        x = pages.left + number * wide
        pages.text(x, pages.y, text, size=SMALL, colour=QUIET, room=wide * 0.6)
        begin = x + min(width_mm(text, SMALL), wide * 0.6) + 1.5
        pages.line(begin, pages.y + 0.6, x + wide - 4, pages.y + 0.6, colour=QUIET)
    pages.y += 8
