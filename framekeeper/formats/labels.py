"""Prints labels of frames and rolls: a QR symbol, the code, and what a hand at the rack needs.

Everything stays inside its label: texts shrink first and end in an ellipsis if that is not enough.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.formats.label_formats import LabelFormat
from framekeeper.formats.paper_kit import (
    BLACK,
    HEAD,
    POINTS_PER_MM,
    SMALL,
    TEXT,
    TITLE,
    Speak,
    font_name,
    new_canvas,
    printable,
    shorten,
    width_mm,
)
from framekeeper.formats.qr import draw_symbol, fit_module_mm, symbol

LARGEST_MODULE_MM = 0.85  # larger reads no better and takes the room of the texts
MOST_OFFSET_MM = 20.0
_LEADING = 1.22
_LEAST_SIZE = 6.0  # points; smaller cannot be read at the rack
_LOW_LABEL_MM = 30.0
_GAP_MM = 1.0
_JUST_UNDER = 0.999  # rounding must not push a fitted line over its room
_CAP_HEIGHT = 0.73  # of the type size, for the typeface in use


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says, already in the shop's units and way of writing dates; "" leaves out."""

    code: str
    own_label: str = ""
    mesh: str = ""
    size: str = ""
    stretched_on: str = ""
    target: str = ""
    scans_as: str = ""  # what the symbol holds where it is not the code


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    size: float
    bold: bool = False


@dataclass(frozen=True, slots=True)
class _Box:
    """A part of a label; y is its upper edge, from the bottom of the page."""

    x: float
    y: float
    wide: float
    high: float


def label_pdf(
    labels: Iterable[Label],
    label_format: LabelFormat,
    *,
    start_cell: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    dpi: int = 300,
    speak: Speak = str,
    title: Sentence | None = None,
) -> bytes:
    """Print labels, page after page.

    Parameters
    ----------
    labels
        Read one by one, so that thousands need no list.
    label_format
        The sheet or roll, from `label_formats()`.
    start_cell
        The first free cell of a part-used sheet, from 1 along the rows.
    offset_mm
        How far this printer must shift: to the right, and down.
    dpi
        Dots per inch of the printer; the modules of the QR symbol are whole dots.
    speak
        Turns the few words of the label into the shop's language.
    title
        Of the document; by default it is about frames.

    Raises
    ------
    NotValid
        If there is no label, the cell is not on the sheet, the offset is no small length, or the
        label has no room for a readable symbol.
    """
    _validate(label_format, start_cell, offset_mm)
    buffer = io.BytesIO()
    page_size = (label_format.page_width_mm, label_format.page_height_mm)
    canvas = new_canvas(buffer, page_size, speak(title or say("Frame labels")))
    cell, count = start_cell - 1, 0
    for label in labels:
        if cell == label_format.cells:
            canvas.showPage()
            cell = 0
        across, down = label_format.corner_mm(cell)
        corner = (across + offset_mm[0], page_size[1] - down - offset_mm[1])
        _draw_label(canvas, label, label_format, corner, dpi, speak)
        cell, count = cell + 1, count + 1
    if not count:
        raise NotValid(say("There is no label to print."), argument="labels")
    canvas.save()
    return buffer.getvalue()


def _validate(label_format: LabelFormat, start_cell: int, offset_mm: tuple[float, float]) -> None:
    whole = isinstance(start_cell, int) and not isinstance(start_cell, bool)
    if not whole or not 1 <= start_cell <= label_format.cells:
        raise NotValid(
            say(
                "There is no cell {cell} on this sheet; it has {cells}.",
                cell=start_cell,
                cells=label_format.cells,
            ),
            hint=say("Count the cells along the rows, from the upper left."),
            argument="start_cell",
        )
    if not all(math.isfinite(part) and abs(part) <= MOST_OFFSET_MM for part in offset_mm):
        raise NotValid(
            say(
                "A printer's offset is at most {most:.0f} mm in each direction.",
                most=MOST_OFFSET_MM,
            ),
            argument="offset_mm",
        )


def _draw_label(
    canvas: Canvas,
    label: Label,
    label_format: LabelFormat,
    corner: tuple[float, float],
    dpi: int,
    speak: Speak,
) -> None:
    pad = label_format.padding_mm
    inner = _Box(
        corner[0] + pad,
        corner[1] - pad,
        label_format.label_width_mm - 2 * pad,
        label_format.label_height_mm - 2 * pad,
    )
    found = symbol(label.scans_as or label.code)
    room = min(inner.high, inner.wide / 2)
    module = fit_module_mm(found, room, dpi, most_mm=LARGEST_MODULE_MM)
    side = found.side_with_quiet_zone * module
    draw_symbol(canvas, found, inner.x, inner.y - (inner.high - side) / 2, module, dpi)
    beside = side + _GAP_MM
    texts = _Box(inner.x + beside, inner.y, inner.wide - beside, inner.high)
    if label_format.design == "bar":
        half = texts.wide * 0.55
        _write(canvas, _names(label, TITLE), _Box(texts.x, texts.y, half - _GAP_MM, texts.high))
        rest = _Box(texts.x + half, texts.y, texts.wide - half, texts.high)
        _write(canvas, _facts(label, speak), rest)
    else:
        code_size = HEAD if label_format.label_height_mm < _LOW_LABEL_MM else TITLE
        _write(canvas, _names(label, code_size) + _facts(label, speak), texts)


def _names(label: Label, code_size: float) -> list[_Line]:
    lines = [_Line(label.code, code_size, bold=True), _Line(label.own_label, TEXT, bold=True)]
    return [line for line in lines if line.text.strip()]


def _facts(label: Label, speak: Speak) -> list[_Line]:
    lines = [_Line(label.mesh, TEXT), _Line(label.size, SMALL)]
    if label.stretched_on:
        lines.append(_Line(speak(say("stretched {date}", date=label.stretched_on)), SMALL))
    if label.target:
        lines.append(_Line(speak(say("target {tension}", tension=label.target)), SMALL))
    return [line for line in lines if line.text.strip()]


def _write(canvas: Canvas, lines: list[_Line], box: _Box) -> None:
    """Write lines one under the other, centred in the height of the box."""
    if not lines:
        return
    scale = min(1.0, box.high * POINTS_PER_MM / sum(line.size * _LEADING for line in lines))
    used = sum(line.size * _LEADING for line in lines) * scale / POINTS_PER_MM
    y = box.y - (box.high - used) / 2
    canvas.setFillColor(BLACK)
    for line in lines:
        high = line.size * _LEADING * scale / POINTS_PER_MM
        size = _fitting_size(line, line.size * scale, box.wide)
        text = shorten(line.text, box.wide, size, bold=line.bold)
        baseline = y - high / 2 - size * _CAP_HEIGHT / 2 / POINTS_PER_MM
        canvas.setFont(font_name(bold=line.bold), size)
        canvas.drawString(box.x * POINTS_PER_MM, baseline * POINTS_PER_MM, text)
        y -= high


def _fitting_size(line: _Line, size: float, room_mm: float) -> float:
    """The size at which the line fits, but not below what can be read."""
    wide = width_mm(printable(line.text), size, bold=line.bold)
    if wide <= room_mm:
        return size
    return max(min(_LEAST_SIZE, size), size * room_mm / wide * _JUST_UNDER)
