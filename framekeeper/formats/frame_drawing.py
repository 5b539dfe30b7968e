"""Draws a frame on paper with the numbers of a survey where they were read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reportlab.lib.colors import Color, HexColor

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.paper_kit import (
    BELOW,
    CLOTH,
    HOLDS,
    INK,
    LINE,
    QUIET,
    SMALL,
    SOON,
    WHITE,
    Sheet,
    width_mm,
)

Answer = Literal["", "holds", "soon", "below"]
# Each answer has its own shape, so that it can be told apart without colour.
ANSWERS: dict[Answer, tuple[str, Color]] = {
    "": ("", INK),
    "holds": ("●", HOLDS),
    "soon": ("◆", SOON),
    "below": ("▼", BELOW),
}

_WHITE_CLOTH = HexColor("#F6F4EF")
_CLOTH_TINT, _CLOTH_THREAD = HexColor("#F6E3B4"), CLOTH
_THREAD_STEP_MM = 2.0
_LINE_MM, _MARK_MM = 3.6, 4.0
_PLATE_SIZES = (SMALL, 7.0, 6.0, 5.0)
_ARROWS = ("↕", "↔")


@dataclass(frozen=True, slots=True)
class DrawnPoint:
    """A point of a survey; x and y in mm from the frame's upper left outer corner."""

    x_mm: float
    y_mm: float
    warp: str = ""
    weft: str = ""
    answer: Answer = ""


@dataclass(frozen=True, slots=True)
class FrameDrawing:
    """A frame seen from the print side; lengths in mm."""

    width_mm: float
    height_mm: float
    bar_mm: float = 38.0
    cloth: str = "white"  # any other colour is drawn as dyed cloth
    points: tuple[DrawnPoint, ...] = ()
    warp_is_upright: bool = True
    has_mesh: bool = True


def drawing_height(frame: FrameDrawing, wide: float, most: float) -> float:
    """How high the drawing will be, in mm on the paper, in a box `wide` and at most `most` high."""
    return frame.height_mm * _scale(frame, wide, most)


def _scale(frame: FrameDrawing, wide: float, most: float) -> float:
    bars_fit = 0 <= 2 * frame.bar_mm < min(frame.width_mm, frame.height_mm)
    if not (bars_fit and frame.width_mm < float("inf") and frame.height_mm < float("inf")):
        raise NotValid(
            say("A frame with these sizes cannot be drawn: its bars leave no opening."),
            argument="width_mm",
        )
    return min(wide / frame.width_mm, most / frame.height_mm)


def draw_frame(sheet: Sheet, frame: FrameDrawing, x: float, wide: float, most: float) -> None:
    """Draw with the upper left corner at (x, sheet.y), as large as fits; `sheet.y` stays."""
    scale = _scale(frame, wide, most)
    across, down, bar = frame.width_mm * scale, frame.height_mm * scale, frame.bar_mm * scale
    x += (wide - across) / 2
    sheet.box(x, sheet.y, across, down, fill=LINE)
    inner = (x + bar, sheet.y + bar, across - 2 * bar, down - 2 * bar)
    _draw_cloth(sheet, frame, inner)
    for corner_x, inner_x in ((x, x + bar), (x + across, x + across - bar)):
        for corner_y, inner_y in ((0.0, bar), (down, down - bar)):
            sheet.line(corner_x, sheet.y + corner_y, inner_x, sheet.y + inner_y, colour=QUIET)
    size = _plate_size(frame, scale)
    for point in frame.points:
        at = (x + point.x_mm * scale, sheet.y + point.y_mm * scale)
        _draw_point(sheet, frame, point, at, size)


def _draw_cloth(
    sheet: Sheet, frame: FrameDrawing, inner: tuple[float, float, float, float]
) -> None:
    x, y, wide, high = inner
    if not frame.has_mesh:
        sheet.box(x, y, wide, high, fill=WHITE)
        return
    is_white = frame.cloth in ("", "white")
    sheet.box(x, y, wide, high, fill=_WHITE_CLOTH if is_white else _CLOTH_TINT)
    thread = LINE if is_white else _CLOTH_THREAD
    for step in range(1, int(wide / _THREAD_STEP_MM) + 1):
        at = x + step * _THREAD_STEP_MM
        if at < x + wide:
            sheet.line(at, y, at, y + high, colour=thread, wide=0.08)
    for step in range(1, int(high / _THREAD_STEP_MM) + 1):
        at = y + step * _THREAD_STEP_MM
        if at < y + high:
            sheet.line(x, at, x + wide, at, colour=thread, wide=0.08)
    sheet.box(x, y, wide, high)


def _texts(frame: FrameDrawing, point: DrawnPoint) -> list[str]:
    """The numbers of a point, each after the arrow of its direction."""
    arrows = _ARROWS if frame.warp_is_upright else _ARROWS[::-1]
    values = zip(arrows, (point.warp, point.weft), strict=True)
    return [f"{arrow} {value}" for arrow, value in values if value]


def _plate(frame: FrameDrawing, point: DrawnPoint, size: float) -> tuple[float, float]:
    """Width and height in mm of the white plate that carries the numbers of a point."""
    texts = _texts(frame, point)
    wide = max((width_mm(text, size) for text in texts), default=0.0)
    mark = _MARK_MM if point.answer else 0.0
    share = size / SMALL
    return wide + (2.4 + mark) * share, (len(texts) * _LINE_MM + 1.2) * share


def _plate_size(frame: FrameDrawing, scale: float) -> float:
    """The largest type size at which no plate covers another; dense surveys need smaller type."""
    for size in _PLATE_SIZES:
        plates = [_plate(frame, point, size) for point in frame.points]
        covered = any(
            abs(a.x_mm - b.x_mm) * scale < (plates[i][0] + plates[j][0]) / 2
            and abs(a.y_mm - b.y_mm) * scale < (plates[i][1] + plates[j][1]) / 2
            for i, a in enumerate(frame.points)
            for j, b in enumerate(frame.points[:i])
        )
        if not covered:
            return size
    return _PLATE_SIZES[-1]


def _draw_point(
    sheet: Sheet, frame: FrameDrawing, point: DrawnPoint, at: tuple[float, float], size: float
) -> None:
    x, y = at
    texts = _texts(frame, point)
    if not texts:
        sheet.box(x - 0.8, y - 0.8, 1.6, 1.6, fill=WHITE)
        return
    wide, high = _plate(frame, point, size)
    share = size / SMALL
    sheet.box(x - wide / 2, y - high / 2, wide, high, colour=LINE, fill=WHITE)
    for row, text in enumerate(texts):
        baseline = y - high / 2 + (3.4 + row * _LINE_MM) * share
        sheet.text(x - wide / 2 + 1.2 * share, baseline, text, size=size)
    mark, colour = ANSWERS[point.answer]
    if mark:
        right = x + wide / 2 - 1.2 * share
        sheet.text(right, y + 1.1 * share, mark, size=size, colour=colour, align="right")
