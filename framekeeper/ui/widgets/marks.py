"""The three answers as shapes: cloth seen from the side, taut, sagging, torn.

The shape alone tells them apart; the colour only helps. Nothing else in the program looks alike.
"""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPainterPath, QPen, QPixmap

from framekeeper.ui.text import tr
from framekeeper.ui.theme import Palette, device_ratio

Mark = Literal["holds", "soon", "below"]
MARKS: tuple[Mark, ...] = ("holds", "soon", "below")


def mark_word(mark: Mark) -> str:
    """Say the answer in a word."""
    return {"holds": tr("holds"), "soon": tr("soon"), "below": tr("below")}[mark]


def mark_path(mark: Mark, rect: QRectF) -> QPainterPath:
    """Give the outline of a mark inside a square."""
    left, right, top, bottom = rect.left(), rect.right(), rect.top(), rect.bottom()
    middle, height = rect.center().x(), rect.height()
    path = QPainterPath(QPointF(left, top))
    if mark == "soon":
        dip = QPointF(middle, top + 1.15 * height)  # a quadratic curve reaches half of this
        path.quadTo(dip, QPointF(right, top))
    elif mark == "below":
        half = 0.10 * height
        path.lineTo(middle - half, bottom)
        path.lineTo(left, bottom)
        path.closeSubpath()
        path.moveTo(right, top)
        path.lineTo(right, bottom)
        path.lineTo(middle + half, bottom)
        path.closeSubpath()
        return path
    else:
        path.lineTo(right, top)
    path.lineTo(right, bottom)
    path.lineTo(left, bottom)
    path.closeSubpath()
    return path


def paint_mark(painter: QPainter, mark: Mark, rect: QRectF, palette: Palette) -> None:
    """Draw a mark: its colour inside, ink around it."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(palette.colour("ink"), max(1.0, rect.height() / 12))
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(palette.colour(mark))
    inset = pen.widthF() / 2
    painter.drawPath(mark_path(mark, rect.adjusted(inset, inset, -inset, -inset)))
    painter.restore()


def mark_pixmap(mark: Mark, size: int, palette: Palette) -> QPixmap:
    """Draw a mark for labels and cells."""
    ratio = device_ratio()
    pixmap = QPixmap(QSize(round(size * ratio), round(size * ratio)))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    paint_mark(painter, mark, QRectF(0, 0, size, size), palette)
    painter.end()
    return pixmap


def mark_icon(mark: Mark, palette: Palette) -> QIcon:
    """Give a mark as the icon of a cell in a table."""
    pixmap, icon = mark_pixmap(mark, 16, palette), QIcon()
    icon.addPixmap(pixmap)
    icon.addPixmap(pixmap, QIcon.Mode.Selected)  # a chosen row must not tint the answer
    return icon
