"""Where a prep step stands, as a shape and a word: ticked, struck, the one that is next, open."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPen, QPixmap, QPolygonF

from framekeeper.services.bench_queues import StepMark
from framekeeper.ui.text import tr
from framekeeper.ui.theme import Palette, device_ratio

_SIDE = 16


def step_word(mark: StepMark) -> str:
    """Say where a step stands."""
    return {
        "done": tr("done"),
        "skipped": tr("skipped"),
        "next": tr("next"),
        "open": tr("to do"),
        "none": tr("—"),
    }[mark]


def step_icon(mark: StepMark, palette: Palette) -> QIcon | None:
    """Draw where a step stands; nothing for a step that this frame does not need."""
    if mark == "none":
        return None
    ratio = device_ratio()
    pixmap = QPixmap(QSize(round(_SIDE * ratio), round(_SIDE * ratio)))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_step(painter, mark, QRectF(0, 0, _SIDE, _SIDE), palette)
    painter.end()
    icon = QIcon(pixmap)
    icon.addPixmap(pixmap, QIcon.Mode.Selected)  # a chosen row must not tint it
    return icon


def paint_step(painter: QPainter, mark: StepMark, rect: QRectF, palette: Palette) -> None:
    """Paint a step's box."""
    box = rect.adjusted(1.5, 1.5, -1.5, -1.5)
    tone = {"done": "ink", "next": "place"}.get(mark)
    edge = palette.colour("quiet" if mark in ("open", "skipped") else "ink")
    painter.setPen(QPen(edge, 1.5))
    painter.setBrush(palette.colour(tone) if tone else Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(box, 2, 2)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if mark == "done":
        tick = [(0.22, 0.52), (0.43, 0.74), (0.80, 0.28)]
        painter.setPen(QPen(palette.colour("surface"), 2))
        painter.drawPolyline(QPolygonF([_at(box, x, y) for x, y in tick]))
    elif mark == "skipped":
        painter.drawLine(_at(box, 0.0, 1.0), _at(box, 1.0, 0.0))
    elif mark == "next":
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(palette.colour("on_place"))
        arrow = [(0.32, 0.20), (0.78, 0.50), (0.32, 0.80)]
        painter.drawPolygon(QPolygonF([_at(box, x, y) for x, y in arrow]))


def _at(box: QRectF, x: float, y: float) -> QPointF:
    return QPointF(box.left() + x * box.width(), box.top() + y * box.height())
