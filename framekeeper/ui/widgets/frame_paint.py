"""Paints a frame on any painter: bars in true proportion, cloth in its own colour, its state.

One routine for the tile in the rack, the card and the large drawing; the size decides how much is
told. What each state looks like: bare shows the bench through the frame; prepped has an abraded
face; in the clamps, the cloth reaches past the frame into jaws; curing has a bead of glue; in use
carries a stencil, and to reclaim a washed one; pulled has a slit; out and missing are only an
outline; retired is crossed out. A hold is a band across the corner, a reservation a pennant.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from framekeeper.ui.theme import Palette
from framekeeper.ui.widgets.frame_picture import FramePicture

WEAVE_FROM_PX = 220  # a drawing whose longer side is shorter than this gets the flat tone
_OUTLINE_STATES = frozenset({"out", "missing"})


@dataclass(frozen=True, slots=True)
class FramePlace:
    """Where a frame lies in a drawing."""

    outer: QRectF
    inner: QRectF
    px_per_mm: float

    def at(self, x_mm: float, y_mm: float) -> QPointF:
        """Give the place of a point of the frame."""
        corner = self.outer.topLeft()
        return QPointF(corner.x() + x_mm * self.px_per_mm, corner.y() + y_mm * self.px_per_mm)


def place_frame(picture: FramePicture, room: QRectF, longest_mm: float = 0.0) -> FramePlace:
    """Fit a frame into a room; `longest_mm` keeps many drawings on one scale."""
    width, height = max(picture.width_mm, 1.0), max(picture.height_mm, 1.0)
    scale = min(room.width() / width, room.height() / height)
    if longest_mm > 0:
        scale = min(scale, max(room.width(), room.height()) / longest_mm)
    outer = QRectF(0, 0, width * scale, height * scale)
    outer.moveCenter(room.center())
    # A bar must stay visible on a tile, so it is never thinner than 3 px.
    bar = min(max(picture.bar_mm * scale, 3.0), min(outer.width(), outer.height()) / 4)
    return FramePlace(outer, outer.adjusted(bar, bar, -bar, -bar), scale)


def paint_frame(
    painter: QPainter, picture: FramePicture, place: FramePlace, palette: Palette
) -> None:
    """Paint bars, cloth, state and marks; the numbers are painted by who owns the text."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if picture.state in _OUTLINE_STATES:
        _paint_outline(painter, picture, place, palette)
    else:
        _paint_solid(painter, picture, place, palette)
    if picture.is_held:
        _paint_hold(painter, place, palette)
    if picture.is_reserved:
        _paint_pennant(painter, place, palette)
    painter.restore()


def _line_px(place: FramePlace) -> float:
    return 1.0 if place.outer.height() < WEAVE_FROM_PX else 1.5


def _paint_outline(
    painter: QPainter, picture: FramePicture, place: FramePlace, palette: Palette
) -> None:
    pen = QPen(palette.colour("quiet"), _line_px(place), Qt.PenStyle.CustomDashLine)
    pen.setDashPattern([4, 3])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(place.outer)
    if picture.state == "out":
        _paint_way_out(painter, place, palette)


def _paint_way_out(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    """An arrow that leaves through the right bar."""
    middle, reach = place.outer.center(), place.outer.width() * 0.28
    tip = QPointF(place.outer.right() + reach * 0.25, middle.y())
    head = reach * 0.35
    painter.setPen(QPen(palette.colour("ink"), 1.5 * _line_px(place)))
    painter.drawLine(QPointF(middle.x() - reach * 0.4, middle.y()), tip)
    painter.drawPolyline(QPolygonF([tip + QPointF(-head, -head), tip, tip + QPointF(-head, head)]))


def _paint_solid(
    painter: QPainter, picture: FramePicture, place: FramePlace, palette: Palette
) -> None:
    has_cloth = picture.cloth != "none"
    if has_cloth and picture.state == "in_clamps":
        _paint_cloth(painter, picture, _past_the_bars(place), palette)
        _paint_jaws(painter, place, palette)
    ring = QPainterPath()
    ring.addRect(place.outer)
    ring.addRect(place.inner)
    painter.setPen(QPen(palette.colour("ink"), _line_px(place)))
    painter.setBrush(palette.colour("bar"))
    painter.drawPath(ring)
    _paint_mitres(painter, place, palette)
    if picture.state == "prepped":
        _paint_abraded(painter, place, palette)
    if has_cloth:
        if picture.state != "in_clamps":
            _paint_cloth(painter, picture, place.inner, palette)
        _paint_on_cloth(painter, picture, place, palette)
    painter.setPen(QPen(palette.colour("ink"), _line_px(place)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(place.inner)
    if picture.state == "retired":
        _paint_cross(painter, place, palette)


def _paint_mitres(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    """Where two bars meet."""
    painter.setPen(QPen(palette.colour("edge"), 1))
    outer, inner = place.outer, place.inner
    painter.drawLine(outer.topLeft(), inner.topLeft())
    painter.drawLine(outer.topRight(), inner.topRight())
    painter.drawLine(outer.bottomLeft(), inner.bottomLeft())
    painter.drawLine(outer.bottomRight(), inner.bottomRight())


def _past_the_bars(place: FramePlace) -> QRectF:
    reach = (place.inner.left() - place.outer.left()) * 0.9
    return place.outer.adjusted(-reach, -reach, reach, reach)


def _paint_cloth(painter: QPainter, picture: FramePicture, area: QRectF, palette: Palette) -> None:
    is_yellow = picture.cloth == "yellow"
    tone = palette.colour("mesh_yellow" if is_yellow else "mesh_white")
    painter.fillRect(area, tone)
    if max(area.width(), area.height()) < WEAVE_FROM_PX:
        return
    thread = palette.colour("thread_yellow" if is_yellow else "thread_white")
    pitch = _weave_pitch_px(picture.threads_per_cm)
    painter.save()
    painter.setBrushOrigin(area.topLeft())
    painter.fillRect(area, QBrush(_weave(pitch, tone.rgba(), thread.rgba())))
    painter.restore()


def _weave_pitch_px(threads_per_cm: float | None) -> int:
    """Threads far apart for a coarse count, close together for a fine one, always visible."""
    if threads_per_cm is None:
        return 6
    return round(min(max(12 - threads_per_cm / 15, 4), 10))


@lru_cache(maxsize=32)
def _weave(pitch: int, tone: int, thread: int) -> QPixmap:
    """One repeat of a plain weave: two threads each way, over and under."""
    side = 2 * pitch
    pixmap = QPixmap(QSize(side, side))
    pixmap.fill(QColor.fromRgba(tone))
    painter = QPainter(pixmap)
    thick = max(1, round(pitch * 0.36))
    colour = QColor.fromRgba(thread)
    warp, weft = QColor(colour), QColor(colour)
    warp.setAlphaF(0.42)
    weft.setAlphaF(0.26)
    offset = (pitch - thick) // 2
    for n in range(2):
        start = offset + n * pitch
        painter.fillRect(QRectF(start, 0, thick, side), warp)
        # The weft shows only where it passes over: every other crossing.
        over = ((n + 1) % 2) * pitch
        painter.fillRect(QRectF(over - 1, start, pitch + 2, thick), QColor.fromRgba(tone))
        painter.fillRect(QRectF(over, start, pitch, thick), warp)
        painter.fillRect(QRectF((over + pitch) % side, start, pitch, thick), weft)
    painter.end()
    return pixmap


def _paint_on_cloth(
    painter: QPainter, picture: FramePicture, place: FramePlace, palette: Palette
) -> None:
    inner = place.inner
    if picture.state in ("in_use", "to_reclaim"):
        is_washed = picture.state == "to_reclaim"
        stencil = inner.adjusted(
            inner.width() * 0.22, inner.height() * 0.24, -inner.width() * 0.22,
            -inner.height() * 0.24,
        )  # fmt: skip
        colour = palette.colour("press")
        painter.setPen(QPen(colour, _line_px(place)))
        painter.setBrush(QBrush(colour, Qt.BrushStyle.BDiagPattern) if is_washed else colour)
        painter.drawRect(stencil)
    elif picture.state == "curing":
        pen = QPen(palette.colour("ink"), 2 * _line_px(place), Qt.PenStyle.CustomDashLine)
        pen.setDashPattern([0.1, 2.2])
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        bead = (inner.left() - place.outer.left()) / 2
        painter.drawRect(place.outer.adjusted(bead, bead, -bead, -bead))
    elif picture.state == "pulled":
        _paint_slit(painter, place, palette)


def _paint_slit(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    """A long cut in the cloth, wider in its middle."""
    inner = place.inner
    start = QPointF(inner.left() + inner.width() * 0.22, inner.top() + inner.height() * 0.72)
    end = QPointF(inner.left() + inner.width() * 0.80, inner.top() + inner.height() * 0.26)
    middle, gape = (start + end) / 2, inner.width() * 0.16
    slit = QPainterPath(start)
    slit.quadTo(middle - QPointF(gape, gape), end)
    slit.quadTo(middle + QPointF(gape * 0.6, gape * 0.6), start)
    painter.setPen(QPen(palette.colour("ink"), _line_px(place)))
    painter.setBrush(palette.colour("ground"))
    painter.drawPath(slit)


def _paint_abraded(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    ring = QPainterPath()
    ring.addRect(place.outer)
    ring.addRect(place.inner)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QBrush(palette.colour("quiet"), Qt.BrushStyle.FDiagPattern))
    painter.drawPath(ring)


def _paint_jaws(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    """Two clamps on each side, holding the cloth's edge."""
    cloth = _past_the_bars(place)
    bar = place.inner.left() - place.outer.left()
    long, deep = place.outer.width() * 0.2, max(2.5, bar * 0.45)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(palette.colour("ink"))
    for fraction in (0.3, 0.7):
        x = place.outer.left() + fraction * place.outer.width() - long / 2
        y = place.outer.top() + fraction * place.outer.height() - long / 2
        for edge in (cloth.top() - deep / 2, cloth.bottom() - deep / 2):
            painter.drawRect(QRectF(x, edge, long, deep))
        for edge in (cloth.left() - deep / 2, cloth.right() - deep / 2):
            painter.drawRect(QRectF(edge, y, deep, long))


def _paint_cross(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    painter.setPen(QPen(palette.colour("quiet"), 1.5 * _line_px(place)))
    painter.drawLine(place.outer.topLeft(), place.outer.bottomRight())
    painter.drawLine(place.outer.topRight(), place.outer.bottomLeft())


def _paint_hold(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    """A band across the frame, ink between two ground lines, like tape across a door."""
    outer = place.outer
    thick = max(4.0, min(outer.width(), outer.height()) * 0.09)
    painter.save()
    painter.setClipRect(outer)
    start, end = outer.bottomLeft(), outer.topRight()
    for colour, width in (("surface", thick + 3), ("ink", thick)):
        pen = QPen(palette.colour(colour), width)
        pen.setCapStyle(Qt.PenCapStyle.SquareCap)
        painter.setPen(pen)
        painter.drawLine(start, end)
    pen = QPen(palette.colour("place"), thick * 0.5, Qt.PenStyle.CustomDashLine)
    pen.setDashPattern([1.4, 1.4])
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.drawLine(start, end)
    painter.restore()


def _paint_pennant(painter: QPainter, place: FramePlace, palette: Palette) -> None:
    outer = place.outer
    high = max(9.0, outer.height() * 0.13)
    foot = QPointF(outer.right() - high * 0.35, outer.top() + high * 0.9)
    top = foot - QPointF(0, high * 1.3)
    painter.setPen(QPen(palette.colour("ink"), _line_px(place)))
    painter.setBrush(palette.colour("press"))
    painter.drawPolygon(
        QPolygonF([top, top + QPointF(-high * 0.85, high * 0.32), top + QPointF(0, high * 0.64)])
    )
    painter.drawLine(top, foot)
