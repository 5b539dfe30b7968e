"""What every paper shares: sizes, the typeface, the colours, fitting of texts, and page furniture.

A paper is drawn in millimetres from the top left corner of the page. Fonts are embedded, so that
a name with accents looks the same on every computer, and the text stays selectable.
"""

from __future__ import annotations

import io
import math
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.shipped import find

Speak = Callable[[Sentence], str]  # turns a sentence into the shop's language; str is plain English
Align = Literal["left", "centre", "right"]
Paper = Literal["A4", "Letter"]

POINTS_PER_MM = 72 / 25.4
# ISO 216 and ANSI/ASME Y14.1, upright.
PAPERS_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

INK = HexColor("#1C2430")
QUIET = HexColor("#5B6675")
LINE = HexColor("#D9D5CB")
CLOTH = HexColor("#E3B23C")
BLUE = HexColor("#1F4E79")
WHITE = HexColor("#FFFFFF")
BLACK = HexColor("#000000")  # labels: a label printer would dissolve any other colour into dots
# The three answers: Okabe and Ito's colour-blind-safe palette (2008).
HOLDS, SOON, BELOW = HexColor("#009E73"), HexColor("#E69F00"), HexColor("#D55E00")

SMALL, TEXT, HEAD, TITLE = 8.0, 10.0, 14.0, 20.0  # sizes in points
REGULAR, BOLD = "FramekeeperSans", "FramekeeperSans-Bold"
ELLIPSIS = "…"


@cache
def _font(bold: bool) -> TTFont:
    """Register the typeface on first use; papers are rare, start-up is not."""
    name, file = (BOLD, "DejaVuSans-Bold.ttf") if bold else (REGULAR, "DejaVuSans.ttf")
    font = TTFont(name, str(find("resources/fonts") / file))
    pdfmetrics.registerFont(font)
    return font


def font_name(*, bold: bool = False) -> str:
    """The name of the embedded typeface, ready for use."""
    name: str = _font(bold).fontName
    return name


def printable(text: str) -> str:
    """One line that the typeface can print; what it lacks becomes its base letter, or "?"."""
    known = _font(False).face.charToGlyph
    out = []
    for character in " ".join(text.split()):
        if unicodedata.category(character).startswith("C"):
            continue  # invisible, and some turn the direction of what follows
        base = unicodedata.normalize("NFKD", character)[0]
        out.append(next((c for c in (character, base) if ord(c) in known), "?"))
    return " ".join("".join(out).split())


def width_mm(text: str, size: float, *, bold: bool = False) -> float:
    """The printed width of a text."""
    points: float = pdfmetrics.stringWidth(text, font_name(bold=bold), size)
    return points / POINTS_PER_MM


def shorten(text: str, room_mm: float, size: float, *, bold: bool = False) -> str:
    """Return the text, or as much of it as fits followed by an ellipsis."""
    text = printable(text)
    if width_mm(text, size, bold=bold) <= room_mm:
        return text
    fits, too_long = 0, len(text)
    while too_long - fits > 1:
        middle = (fits + too_long) // 2
        if width_mm(text[:middle].rstrip() + ELLIPSIS, size, bold=bold) <= room_mm:
            fits = middle
        else:
            too_long = middle
    return text[:fits].rstrip() + ELLIPSIS if fits else ""


def wrap(
    text: str, room_mm: float, size: float, *, bold: bool = False, most: int = 99
) -> list[str]:
    """Break a text into lines that fit; the last line of `most` ends in an ellipsis if cut."""
    words = printable(text).split()
    lines: list[str] = []
    while words and len(lines) < most:
        if len(lines) == most - 1:
            lines.append(shorten(" ".join(words), room_mm, size, bold=bold))
            break
        taken = 1
        while (
            taken < len(words)
            and width_mm(" ".join(words[: taken + 1]), size, bold=bold) <= room_mm
        ):
            taken += 1
        lines.append(shorten(" ".join(words[:taken]), room_mm, size, bold=bold))
        words = words[taken:]
    return lines or [""]


def new_canvas(buffer: io.BytesIO, size_mm: tuple[float, float], title: str) -> Canvas:
    """Return a canvas whose pages print at true size: viewers are asked not to scale them."""
    font_name()
    font_name(bold=True)
    canvas = Canvas(buffer, pagesize=(size_mm[0] * POINTS_PER_MM, size_mm[1] * POINTS_PER_MM))
    canvas.setTitle(title)
    canvas.setCreator("Framekeeper")
    canvas.setAuthor("")
    canvas.setSubject("")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas


@dataclass(frozen=True, slots=True)
class Furniture:
    """What stands on every page: the heading, one line under it, and the foot."""

    title: str
    subtitle: str
    foot: str
    paper: Paper = "A4"


class Sheet:
    """Pages with heading and foot; the caller draws, asks for room, and gets a new page if needed.

    `y` is the distance in mm from the top of the page to where the next thing goes.
    """

    margin = 15.0
    foot_room = 16.0

    def __init__(self, canvas: Canvas, furniture: Furniture, pages: int, speak: Speak) -> None:
        self._canvas = canvas
        self._furniture = furniture
        self._pages = pages
        self._speak = speak
        self.width, self.height = PAPERS_MM[furniture.paper]
        self.page = 0
        self.y = 0.0
        self._top = 0.0
        self._open_page()

    @property
    def canvas(self) -> Canvas:
        """The canvas, for drawings that are made of more than texts and boxes."""
        return self._canvas

    @property
    def left(self) -> float:
        """Where the print area begins."""
        return self.margin

    @property
    def right(self) -> float:
        """Where the print area ends."""
        return self.width - self.margin

    @property
    def room(self) -> float:
        """How much height is left on this page."""
        return self.height - self.foot_room - self.y

    def need(self, height: float) -> bool:
        """Go to a new page unless so much height is left; say whether a page was begun."""
        if height <= self.room:
            return False
        self._canvas.showPage()
        self._open_page()
        return True

    def _open_page(self) -> None:
        self.page += 1
        texts = self._furniture
        room = self.right - self.left
        if self.page == 1:
            self.y = self.margin + 6
            self.text(self.left, self.y, texts.title, size=TITLE, bold=True, room=room)
            self.y += 6
        else:
            self.y = self.margin + 3
            self.text(self.left, self.y, texts.title, bold=True, room=room)
            self.y += 4.5
        self.text(self.left, self.y, texts.subtitle, size=SMALL, colour=QUIET, room=room)
        self.y += 3
        self.line(self.left, self.y, self.right, self.y)
        self.y += 5
        self._top = self.y
        foot = self.height - 9
        self.text(self.left, foot, texts.foot, size=SMALL, colour=QUIET, room=room - 30)
        number = self._speak(
            say("Page {page} of {pages}", page=self.page, pages=self._pages or self.page)
        )
        self.text(self.right, foot, number, size=SMALL, colour=QUIET, align="right")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = TEXT,
        bold: bool = False,
        colour: Color = INK,
        align: Align = "left",
        room: float = math.inf,
    ) -> None:
        """Write one line with its baseline at `y`, cut with an ellipsis where it has no room."""
        shown = printable(text) if math.isinf(room) else shorten(text, room, size, bold=bold)
        self._canvas.setFont(font_name(bold=bold), size)
        self._canvas.setFillColor(colour)
        at = (x * POINTS_PER_MM, (self.height - y) * POINTS_PER_MM)
        if align == "left":
            self._canvas.drawString(*at, shown)
        elif align == "right":
            self._canvas.drawRightString(*at, shown)
        else:
            self._canvas.drawCentredString(*at, shown)

    def heading(self, text: str) -> None:
        """Write the heading of a part, set apart from what is above; it never ends a page."""
        if not self.need(28) and self.y > self._top:
            self.y += 5
        self.y += 4
        self.text(self.left, self.y, text, size=HEAD, bold=True, room=self.right - self.left)
        self.y += 6

    def line(
        self, x1: float, y1: float, x2: float, y2: float, *, colour: Color = LINE, wide: float = 0.2
    ) -> None:
        """Draw a straight line; `wide` in mm."""
        self._canvas.setStrokeColor(colour)
        self._canvas.setLineWidth(wide * POINTS_PER_MM)
        self._canvas.line(
            x1 * POINTS_PER_MM,
            (self.height - y1) * POINTS_PER_MM,
            x2 * POINTS_PER_MM,
            (self.height - y2) * POINTS_PER_MM,
        )

    def box(
        self,
        x: float,
        y: float,
        wide: float,
        high: float,
        *,
        colour: Color = QUIET,
        fill: Color | None = None,
    ) -> None:
        """Draw a box with its upper left corner at (x, y)."""
        self._canvas.setStrokeColor(colour)
        self._canvas.setLineWidth(0.2 * POINTS_PER_MM)
        if fill is not None:
            self._canvas.setFillColor(fill)
        self._canvas.rect(
            x * POINTS_PER_MM,
            (self.height - y - high) * POINTS_PER_MM,
            wide * POINTS_PER_MM,
            high * POINTS_PER_MM,
            stroke=1,
            fill=int(fill is not None),
        )


def paper_pdf(furniture: Furniture, draw: Callable[[Sheet], None], speak: Speak = str) -> bytes:
    """Draw a paper and return it as PDF; drawn twice, because page 1 tells the number of pages."""
    if furniture.paper not in PAPERS_MM:
        raise NotValid(
            say("There is no paper size {paper} here.", paper=furniture.paper),
            hint=say("Choose A4 or Letter."),
            argument="paper",
        )
    pages, buffer = 0, io.BytesIO()
    for _ in range(2):
        buffer = io.BytesIO()
        size = PAPERS_MM[furniture.paper]
        sheet = Sheet(new_canvas(buffer, size, furniture.title), furniture, pages, speak)
        draw(sheet)
        sheet.canvas.save()
        pages = sheet.page
    return buffer.getvalue()
