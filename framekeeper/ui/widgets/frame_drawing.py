"""The frame drawing as a widget: the frame to scale, and the last survey where it was read."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.ui.text import Formatter, tr, tr_count
from framekeeper.ui.theme import STEP, Palette, Theme
from framekeeper.ui.widgets.frame_paint import FramePlace, paint_frame, place_frame
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.marks import paint_mark

Size = Literal["tile", "card", "large"]
_ROOM_PX = {"tile": 80, "card": 180, "large": 440}
FULL_LEAN_N_PER_CM = 4.0  # a lean of this much fills the whole tick


def describe(picture: FramePicture, formatter: Formatter) -> str:
    """Say the drawing in words, for a screen reader."""
    state = formatter.sentence(STATE_WORDS.get(picture.state, picture.state))
    cloth = {
        "none": tr("without mesh"),
        "white": tr("with white mesh"),
        "yellow": tr("with yellow mesh"),
    }[picture.cloth]
    size = formatter.size(picture.width_mm, picture.height_mm)
    if picture.is_held:
        return tr("Frame {size}, {cloth}, {state}, on hold", size=size, cloth=cloth, state=state)
    return tr("Frame {size}, {cloth}, {state}", size=size, cloth=cloth, state=state)


class FrameDrawing(QWidget):
    """Shows one frame; its size decides how much is told: shape, answers, or every number."""

    def __init__(
        self,
        theme: Theme,
        formatter: Formatter,
        size: Size = "large",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._size = size
        self._picture: FramePicture | None = None
        theme.changed.connect(self.update)
        grow = QSizePolicy.Policy.Expanding if size == "large" else QSizePolicy.Policy.Fixed
        self.setSizePolicy(grow, grow)
        self.setAccessibleName(tr("Drawing of a frame"))

    @property
    def picture(self) -> FramePicture | None:
        """What is shown."""
        return self._picture

    def show_picture(self, picture: FramePicture | None) -> None:
        """Show a frame, or nothing."""
        self._picture = picture
        if picture is None:
            self.setAccessibleName(tr("Drawing of a frame"))
            self.setAccessibleDescription("")
        else:
            self.setAccessibleName(describe(picture, self._formatter))
            self.setAccessibleDescription(self._read_points(picture.points))
        self.update()

    def sizeHint(self) -> QSize:
        side = _ROOM_PX[self._size]
        return QSize(side, round(side * 1.25) if self._size == "large" else side)

    def minimumSizeHint(self) -> QSize:
        side = _ROOM_PX[self._size]
        return QSize(side, side)

    def place(self) -> FramePlace | None:
        """Where the frame lies in this widget now."""
        if self._picture is None:
            return None
        edge = {"tile": 1.5 * STEP, "card": 3 * STEP, "large": 6 * STEP}[self._size]
        room = QRectF(self.rect()).adjusted(edge, edge, -edge, -edge)
        return place_frame(self._picture, room)

    def plate(self, centre: QPointF) -> QRectF:
        """Give the plate that carries the two numbers of a point."""
        body = self._theme.px("body")
        plate = QRectF(0, 0, 7.0 * body, 2 * self.row_px() + STEP)
        plate.moveCenter(centre)
        return plate

    def row_px(self) -> int:
        """Height of one number on a plate: a target that a finger can hit."""
        return max(24, round(1.75 * self._theme.px("body")))

    def row(self, plate: QRectF, direction: int) -> QRectF:
        """Give the room of one number: 0 for warp, 1 for weft."""
        half = self.row_px()
        return QRectF(plate.left(), plate.top() + STEP / 2 + direction * half, plate.width(), half)

    def paintEvent(self, _event: QPaintEvent) -> None:
        picture, place = self._picture, self.place()
        if picture is None or place is None:
            return
        painter = QPainter(self)
        palette = self._theme.palette
        paint_frame(painter, picture, place, palette)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._size == "large":
            self._paint_warp(painter, picture, place, palette)
            for number, point in enumerate(picture.points, 1):
                self._paint_plate(painter, number, point, place, palette)
        elif self._size == "card":
            for point in picture.points:
                self._paint_dot(painter, point, place, palette)
        painter.end()

    def is_current(self, _number: int) -> bool:
        """Whether a point is the one that is read now; a plain drawing has none."""
        return False

    def _read_points(self, points: tuple[PointPicture, ...]) -> str:
        read = [
            self._formatter.number(v) for p in points for v in (p.warp, p.weft) if v is not None
        ]
        if not read:
            return ""
        return tr_count(
            "{n} reading, warp then weft at each point, in N/cm: {list}",
            "{n} readings, warp then weft at each point, in N/cm: {list}",
            len(read),
            list="; ".join(read),
        )

    def _paint_warp(
        self, painter: QPainter, picture: FramePicture, place: FramePlace, palette: Palette
    ) -> None:
        """An arrow on a bar, with the word, along the direction of the warp."""
        upright = picture.warp_is_upright
        if upright is None or picture.cloth == "none":
            return
        bar = place.inner.left() - place.outer.left()
        length = 3.2 * self._theme.px("body")
        painter.save()
        if upright:
            painter.translate(place.outer.left() + bar / 2, place.outer.center().y())
            painter.rotate(-90)
        else:
            painter.translate(place.outer.center().x(), place.outer.bottom() - bar / 2)
        painter.setPen(QPen(palette.colour("ink"), 1.5))
        painter.setFont(self._theme.font("small"))
        word = tr("warp")
        wide = painter.fontMetrics().horizontalAdvance(word) / 2 + STEP
        room = QRectF(-wide, -bar / 2, 2 * wide, bar)
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, word)
        for way in (-1, 1):
            tip = QPointF(way * (wide + length), 0)
            painter.drawLine(QPointF(way * wide, 0), tip)
            painter.drawLine(tip, tip + QPointF(-way * 5, -4))
            painter.drawLine(tip, tip + QPointF(-way * 5, 4))
        painter.restore()

    def _paint_dot(
        self, painter: QPainter, point: PointPicture, place: FramePlace, palette: Palette
    ) -> None:
        centre = place.at(point.x_mm, point.y_mm)
        if point.mark is None:
            painter.setPen(QPen(palette.colour("ink"), 1))
            painter.setBrush(palette.colour("surface"))
            painter.drawEllipse(centre, 3, 3)
            return
        room = QRectF(0, 0, 11, 11)
        room.moveCenter(centre)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(palette.colour("surface"))
        painter.drawRoundedRect(room.adjusted(-3, -3, 3, 3), 3, 3)
        paint_mark(painter, point.mark, room, palette)

    def _paint_plate(
        self,
        painter: QPainter,
        number: int,
        point: PointPicture,
        place: FramePlace,
        palette: Palette,
    ) -> None:
        plate = self.plate(place.at(point.x_mm, point.y_mm))
        is_current = self.is_current(number - 1)
        border = QPen(palette.colour("press" if is_current else "edge"), 2 if is_current else 1)
        painter.setPen(border)
        painter.setBrush(palette.colour("surface"))
        painter.drawRoundedRect(plate, 4, 4)
        self._paint_number(painter, number, plate, palette)
        is_upright = point_is_upright(self._picture)
        for direction, value in enumerate((point.warp, point.weft)):
            row = self.row(plate, direction)
            self._paint_direction(painter, row, (direction == 0) == is_upright, palette)
            self._paint_value(painter, row, value, palette)
        if point.lean_n_per_cm is not None:
            self._paint_lean(painter, plate, point, palette)
        if point.mark is not None:
            side = self._theme.px("small")
            room = QRectF(plate.right() - side - 2 * STEP, plate.top() - side - 1, side, side)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(palette.colour("surface"))
            painter.drawRoundedRect(room.adjusted(-STEP, -3, STEP, 2), 3, 3)
            paint_mark(painter, point.mark, room, palette)

    def _paint_number(
        self, painter: QPainter, number: int, plate: QRectF, palette: Palette
    ) -> None:
        """The number of the point on a tab that grows out of its plate."""
        small = self._theme.px("small")
        tab = QRectF(plate.left() + 2 * STEP, plate.top() - small - 3, 1.6 * small, small + 3)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(palette.colour("ink"))
        painter.drawRoundedRect(tab.adjusted(0, 0, 0, 2), 3, 3)
        painter.setPen(palette.colour("surface"))
        painter.setFont(self._theme.font("small", bold=True))
        painter.drawText(tab, Qt.AlignmentFlag.AlignCenter, str(number))

    def _paint_direction(
        self, painter: QPainter, row: QRectF, is_upright: bool, palette: Palette
    ) -> None:
        centre = QPointF(row.left() + 3.5 * STEP, row.center().y())
        painter.save()
        painter.translate(centre)
        if is_upright:
            painter.rotate(90)
        painter.setPen(QPen(palette.colour("quiet"), 1.25))
        painter.drawLine(QPointF(-7, 0), QPointF(7, 0))
        for way in (-1, 1):
            painter.drawLine(QPointF(way * 7, 0), QPointF(way * 4, -3))
            painter.drawLine(QPointF(way * 7, 0), QPointF(way * 4, 3))
        painter.restore()

    def _paint_value(
        self, painter: QPainter, row: QRectF, value: float | None, palette: Palette
    ) -> None:
        room = row.adjusted(7 * STEP, 0, -6 * STEP, 0)
        if value is None:
            painter.setPen(QPen(palette.colour("edge"), 1))
            y = room.bottom() - row.height() * 0.26
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            return
        painter.setPen(palette.colour("ink"))
        painter.setFont(self._theme.font("body", bold=True))
        text = self._formatter.number(value)
        painter.drawText(room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)

    def _paint_lean(
        self, painter: QPainter, plate: QRectF, point: PointPicture, palette: Palette
    ) -> None:
        """A tick from the middle of the plate's edge: up is tighter, down is slacker."""
        assert point.lean_n_per_cm is not None
        share = max(-1.0, min(1.0, point.lean_n_per_cm / FULL_LEAN_N_PER_CM))
        reach = max(2.0, abs(share) * (plate.height() / 2 - STEP))
        x, y = plate.right() - 4 * STEP, plate.center().y()
        painter.setPen(QPen(palette.colour("quiet"), 1))
        painter.drawLine(QPointF(x - STEP, y), QPointF(x + 2.5 * STEP, y))
        tick = QRectF(x, y - reach if share > 0 else y, 1.5 * STEP, reach)
        painter.setPen(QPen(palette.colour("ink"), 1))
        painter.setBrush(palette.colour(point.mark or "bar"))
        painter.drawRect(tick)


def point_is_upright(picture: FramePicture | None) -> bool:
    """Whether the warp is drawn upright; where nobody knows, along the longer side."""
    if picture is None:
        return True
    known = picture.warp_is_upright
    return picture.height_mm >= picture.width_mm if known is None else known
