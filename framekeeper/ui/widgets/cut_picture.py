"""The picture of a cut plan: each roll from its loose end down, row by row, as it is cut.

Pieces are cloth, what is in no piece is hatched; nothing is told by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import QWidget

from framekeeper.domain.cut_drawing import DrawnPiece, DrawnPlan, DrawnRest, DrawnRoll, DrawnRow
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, Theme

_LEAST_SCALE = 0.19  # px for a mm; smaller, and a code has no room in its piece
_LARGEST_SCALE = 0.30  # a single piece does not have to fill the window
_GAP = 6 * STEP
_LEAST_ROW = 7 * STEP  # px
_HATCH = 2 * STEP


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where a roll is drawn."""

    roll: DrawnRoll
    left: float
    top: float


class CutPicture(QWidget):
    """Rolls side by side as the width allows; as high as they need.

    `opening` is the part of a scroll area that they are seen through.
    """

    def __init__(self, theme: Theme, opening: QWidget | None = None) -> None:
        super().__init__()
        self._theme, self._opening = theme, opening
        self._plan: DrawnPlan | None = None
        self._spots: list[_Spot] = []
        self._scale = 0.1
        self._margin = 0.0
        self.setAccessibleName(tr("Picture of the cut plan"))
        theme.changed.connect(self._arrange)

    @property
    def plan(self) -> DrawnPlan | None:
        """What is drawn."""
        return self._plan

    def show_plan(self, plan: DrawnPlan | None) -> None:
        """Draw this plan, or nothing."""
        self._plan = plan
        self.setAccessibleDescription(plan.spoken if plan else "")
        self._arrange()

    def sizeHint(self) -> QSize:
        return QSize(120 * STEP, max(self.minimumHeight(), 40 * STEP))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size() != event.oldSize():
            self._arrange()

    # where things are

    def _arrange(self) -> None:
        rolls = self._plan.rolls if self._plan else ()
        small = QFontMetricsF(self._theme.font("small"))
        lengths = [row.length for roll in rolls for row in roll.rows]
        self._margin = max(map(small.horizontalAdvance, lengths), default=0.0) + 3 * STEP
        widest = max((roll.width_mm for roll in rolls), default=1.0)
        beside = self._margin + _GAP
        across = max(1, min(len(rolls), int(self.width() // (widest * _LEAST_SCALE + beside))))
        column = self.width() / across
        by_width = (column - beside) / widest
        longest = max((roll.used_mm for roll in rolls), default=1.0)
        by_height = (self._seen_height() - 8 * STEP) / longest
        self._scale = min(by_width, max(by_height, _LEAST_SCALE), _LARGEST_SCALE)
        self._spots, top = [], 0.0
        for first in range(0, len(rolls), across):
            line = rolls[first : first + across]
            head = max(self._title_height(roll, column) for roll in line)
            for place, roll in enumerate(line):
                self._spots.append(_Spot(roll, place * column, top + head))
            top += head + max(self._height(roll) for roll in line) + _GAP
        self.setMinimumHeight(int(top))
        self.updateGeometry()
        self.update()

    def _seen_height(self) -> int:
        """What can be seen at once: all of it, or the opening that it is scrolled in."""
        return (self._opening or self).height()

    def _title_room(self, column: float) -> QRectF:
        return QRectF(0, 0, column - _GAP, 1000)

    def _title_height(self, roll: DrawnRoll, column: float) -> float:
        metrics = QFontMetricsF(self._theme.font("body"))
        flags = Qt.TextFlag.TextWordWrap
        return metrics.boundingRect(self._title_room(column), flags, roll.title).height() + 2 * STEP

    def _row_height(self, row: DrawnRow) -> float:
        return max(row.length_mm * self._scale, float(_LEAST_ROW))

    def _height(self, roll: DrawnRoll) -> float:
        return sum(self._row_height(row) for row in roll.rows)

    def _strips(self, spot: _Spot) -> Iterator[tuple[QRectF, DrawnRow]]:
        """Where each row of a roll is drawn, from the loose end on."""
        y, left = spot.top, spot.left + self._margin
        for row in spot.roll.rows:
            high = self._row_height(row)
            yield QRectF(left, y, spot.roll.width_mm * self._scale, high), row
            y += high

    def _rest_box(self, strip: QRectF, rest: DrawnRest) -> QRectF:
        box = QRectF(strip)
        box.setLeft(strip.left() + rest.x_mm * self._scale)
        return box

    @property
    def waste_boxes(self) -> list[QRectF]:
        """Where strips are drawn that are left over and not kept."""
        return [
            self._rest_box(strip, row.rest)
            for spot in self._spots
            for strip, row in self._strips(spot)
            if row.rest is not None and not row.rest.kept
        ]

    # painting

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for spot in self._spots:
            self._paint_roll(painter, spot)
        painter.end()

    def _paint_roll(self, painter: QPainter, spot: _Spot) -> None:
        colours = self._theme.palette
        across = self._columns_width()
        title = self._title_room(across)
        title.moveBottomLeft(QPointF(spot.left, spot.top - 2 * STEP))
        painter.setFont(self._theme.font("body"))
        painter.setPen(colours.colour("ink"))
        flags = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignBottom
        painter.drawText(title, flags, spot.roll.title)
        for strip, row in self._strips(spot):
            self._paint_strip(painter, strip, row)

    def _columns_width(self) -> float:
        lefts = sorted({spot.left for spot in self._spots})
        return lefts[1] - lefts[0] if len(lefts) > 1 else float(self.width())

    def _paint_strip(self, painter: QPainter, strip: QRectF, row: DrawnRow) -> None:
        colours = self._theme.palette
        painter.fillRect(strip, colours.colour("surface"))
        self._hatch(painter, strip)
        for piece in row.pieces:
            # A low row is drawn higher than to scale, and its pieces with it.
            share = piece.length_mm / row.length_mm
            box = QRectF(
                strip.left() + piece.x_mm * self._scale,
                strip.top(),
                piece.width_mm * self._scale,
                strip.height() * share,
            )
            self._paint_piece(painter, box, piece)
        if row.rest is not None:
            self._paint_rest(painter, strip, row.rest)
        painter.setPen(QPen(colours.colour("ink"), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(strip)
        self._paint_length(painter, strip, row)

    def _paint_length(self, painter: QPainter, strip: QRectF, row: DrawnRow) -> None:
        """The number of the cut and its length, left of the roll, with a bracket."""
        colours = self._theme.palette
        x = strip.left() - 2 * STEP
        painter.setPen(QPen(colours.colour("edge"), 1))
        painter.drawLine(QPointF(x, strip.top() + 2), QPointF(x, strip.bottom() - 2))
        room = QRectF(x - self._margin, strip.top(), self._margin - STEP, strip.height())
        middle = room.center().y()
        line = QFontMetricsF(self._theme.font("small")).height()
        flags = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        painter.setPen(colours.colour("ink"))
        has_two = strip.height() >= 2.2 * line
        if has_two:
            painter.setFont(self._theme.font("body", bold=True))
            above = QRectF(room.left(), middle - 1.2 * line, room.width(), 1.2 * line)
            painter.drawText(above, flags, row.number)
        painter.setFont(self._theme.font("small"))
        below = QRectF(room.left(), middle if has_two else middle - line / 2, room.width(), line)
        painter.drawText(below, flags, row.length)

    def _paint_piece(self, painter: QPainter, box: QRectF, piece: DrawnPiece) -> None:
        colours = self._theme.palette
        painter.setPen(QPen(colours.colour("ink"), 1))
        painter.setBrush(colours.colour("place_tint"))
        painter.drawRect(box)
        self._warp(painter, box)
        texts = [(piece.code, True), (piece.size, False)]
        if piece.turned:
            texts.append((piece.turned, False))
        self._write(painter, box.adjusted(4 * STEP, 1, -STEP, -1), texts)

    def _paint_rest(self, painter: QPainter, strip: QRectF, rest: DrawnRest) -> None:
        if not rest.kept:
            return
        box = self._rest_box(strip, rest)
        colours = self._theme.palette
        painter.setPen(QPen(colours.colour("press"), 2))
        painter.setBrush(colours.colour("surface"))
        painter.drawRect(box.adjusted(2, 2, -2, -2))
        self._write(painter, box.adjusted(3, 1, -3, -1), [(rest.kept, True), (rest.size, False)])

    def _write(self, painter: QPainter, room: QRectF, texts: list[tuple[str, bool]]) -> None:
        """Write as many of these lines as have room, the first one first, in the middle."""
        shown: list[tuple[str, QFont]] = []
        for text, is_bold in texts:
            font = self._theme.font("small", bold=is_bold)
            metrics = QFontMetricsF(font)
            if (len(shown) + 1) * metrics.height() > room.height():
                break
            shown.append(
                (metrics.elidedText(text, Qt.TextElideMode.ElideRight, room.width()), font)
            )
        painter.setPen(self._theme.palette.colour("ink"))
        line = QFontMetricsF(self._theme.font("small")).height()
        y = room.center().y() - line * len(shown) / 2
        for text, font in shown:
            painter.setFont(font)
            painter.drawText(
                QRectF(room.left(), y, room.width(), line), Qt.AlignmentFlag.AlignCenter, text
            )
            y += line

    def _warp(self, painter: QPainter, box: QRectF) -> None:
        """An arrow with a point at each end, the way the warp runs."""
        if box.height() < 6 * STEP or box.width() < 8 * STEP:
            return
        colours = self._theme.palette
        x, top, bottom = box.left() + 2 * STEP, box.top() + STEP, box.bottom() - STEP
        painter.setPen(QPen(colours.colour("ink"), 1))
        painter.drawLine(QPointF(x, top), QPointF(x, bottom))
        painter.setBrush(colours.colour("ink"))
        for tip, way in ((top, 1), (bottom, -1)):
            base = tip + way * 1.5 * STEP
            painter.drawPolygon(
                QPolygonF([QPointF(x, tip), QPointF(x - 3, base), QPointF(x + 3, base)])
            )

    def _hatch(self, painter: QPainter, strip: QRectF) -> None:
        painter.save()
        painter.setClipRect(strip)
        painter.setPen(QPen(self._theme.palette.colour("edge"), 1))
        x = strip.left() - strip.height()
        while x < strip.right():
            painter.drawLine(QPointF(x, strip.bottom()), QPointF(x + strip.height(), strip.top()))
            x += _HATCH
        painter.restore()
