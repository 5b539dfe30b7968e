"""QR symbols as drawings whose modules are whole printer dots, so that no edge falls between dots.

A module is never under 0.4 mm: scanners on a shop floor need about that. Four modules of white stay
free on every side (ISO/IEC 18004, 6.3.8). Both numbers are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData
from reportlab.pdfgen.canvas import Canvas

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import BLACK, POINTS_PER_MM

Level = Literal["L", "M", "Q", "H"]

QUIET_MODULES = 4
SMALLEST_MODULE_MM = 0.4
ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
_LEVELS: dict[Level, int] = {
    "L": ERROR_CORRECT_L,
    "M": ERROR_CORRECT_M,
    "Q": ERROR_CORRECT_Q,
    "H": ERROR_CORRECT_H,
}


@dataclass(frozen=True, slots=True)
class Symbol:
    """The modules of a QR symbol, row by row from the top; True is dark. No quiet zone."""

    version: int
    rows: tuple[tuple[bool, ...], ...]

    @property
    def side(self) -> int:
        """Modules per side, without the quiet zone."""
        return len(self.rows)

    @property
    def side_with_quiet_zone(self) -> int:
        """Modules per side of the square that must stay free of anything else."""
        return self.side + 2 * QUIET_MODULES


@lru_cache(maxsize=64)
def symbol(text: str, *, level: Level = "Q") -> Symbol:
    """Return the smallest symbol that holds the text; upper-case codes get the denser mode.

    Raises
    ------
    NotValid
        If the text is empty or too long for any symbol.
    """
    is_alphanumeric = bool(text) and set(text) <= ALPHANUMERIC
    code = qrcode.QRCode(version=None, error_correction=_LEVELS[level], border=0)
    mode = MODE_ALPHA_NUM if is_alphanumeric else MODE_8BIT_BYTE
    code.add_data(QRData(text.encode("utf-8"), mode=mode), optimize=0)
    try:
        if not text:
            raise DataOverflowError
        code.make(fit=True)
    except (DataOverflowError, ValueError) as trouble:
        raise NotValid(
            say("{length} characters do not make a QR symbol.", length=len(text)), argument="text"
        ) from trouble
    rows = tuple(tuple(bool(module) for module in row) for row in code.get_matrix())
    return Symbol(int(code.version), rows)


def dot_mm(dpi: int) -> float:
    """The size of a printer dot."""
    if isinstance(dpi, bool) or not isinstance(dpi, int) or not 100 <= dpi <= 4800:
        raise NotValid(
            say("A printer with {dpi} dots per inch cannot be used here.", dpi=dpi),
            hint=say("Give the printer's resolution, usually 203, 300 or 600."),
            argument="dpi",
        )
    return 25.4 / dpi


def fit_module_mm(found: Symbol, room_mm: float, dpi: int, *, most_mm: float = math.inf) -> float:
    """Return the largest module, in whole dots, with which symbol and quiet zone fit in `room_mm`.

    Raises
    ------
    NotValid
        If the module would be under 0.4 mm.
    """
    dot = dot_mm(dpi)
    dots = math.floor(min(room_mm / found.side_with_quiet_zone, most_mm) / dot + 1e-9)
    if dots * dot < SMALLEST_MODULE_MM:
        raise NotValid(
            say(
                "There is no room for a QR symbol that a scanner can read: its squares would be "
                "{module:.2f} mm, and {least:.1f} mm is the least.",
                module=dots * dot,
                least=SMALLEST_MODULE_MM,
            ),
            hint=say("Choose a larger label."),
            argument="room_mm",
        )
    return dots * dot


def draw_symbol(
    canvas: Canvas, found: Symbol, x_mm: float, y_mm: float, module_mm: float, dpi: int
) -> None:
    """Draw with the quiet zone's upper left corner at (x, y), y from the bottom of the page.

    The corner moves by up to half a dot so that all edges lie on the printer's grid. One path for
    all modules: separate rectangles would show hairlines where they touch.
    """
    dot = dot_mm(dpi)
    left = round((x_mm + QUIET_MODULES * module_mm) / dot) * dot
    top = round((y_mm - QUIET_MODULES * module_mm) / dot) * dot
    path = canvas.beginPath()
    for down, row in enumerate(found.rows):
        across = 0
        while across < found.side:
            run = 0
            while across + run < found.side and row[across + run]:
                run += 1
            if run:
                path.rect(
                    (left + across * module_mm) * POINTS_PER_MM,
                    (top - (down + 1) * module_mm) * POINTS_PER_MM,
                    run * module_mm * POINTS_PER_MM,
                    module_mm * POINTS_PER_MM,
                )
            across += run or 1
    canvas.setFillColor(BLACK)
    canvas.drawPath(path, stroke=0, fill=1)
