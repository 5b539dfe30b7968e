"""One frame on the rack wall: what is known of it, and the words that are painted beside it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.frame_picture import Cloth
from framekeeper.ui.widgets.marks import Mark, mark_word, paint_mark

_LEFT_MIDDLE = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT_MIDDLE = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


@dataclass(frozen=True, slots=True)
class Tile:
    """One frame on the wall."""

    id: int
    code: str
    width_mm: float
    height_mm: float
    own_label: str = ""
    state: str = "bare"
    state_word: str = ""
    mark: Mark | None = None
    cloth: Cloth = "none"
    tension_n_per_cm: float | None = None
    slot: str = ""
    days_left: str = ""  # as short as it can be written
    days_mark: Mark | None = None
    days_said: str = ""
    is_held: bool = False
    is_reserved: bool = False

    @property
    def name(self) -> str:
        """What the shop calls the frame."""
        return self.own_label or self.code


def paint_words(
    painter: QPainter,
    tile: Tile,
    room: QRectF,
    theme: Theme,
    formatter: Formatter,
    *,
    by_days: bool,
) -> None:
    """Write what is known of a frame; `by_days` tells the days left large, else the tension."""
    palette = theme.palette
    body, large, small = theme.px("body"), theme.px("large"), theme.px("small")
    line = QRectF(room.left(), room.top(), room.width(), 1.5 * body)
    _paint_name(painter, tile, line, theme)
    line = QRectF(room.left(), line.bottom() + STEP / 2, room.width(), 1.6 * large)
    number, mark, below = _told_large(tile, formatter, by_days=by_days)
    if number:
        side = large * 0.8
        if mark is not None:
            square = QRectF(line.left(), line.center().y() - side / 2, side, side)
            paint_mark(painter, mark, square, palette)
        painter.setFont(theme.font("large", bold=True))
        painter.setPen(palette.colour("ink"))
        painter.drawText(line.adjusted(side + 1.5 * STEP, 0, 0, 0), _LEFT_MIDDLE, number)
    painter.setPen(palette.colour("quiet"))
    painter.setFont(theme.font("small"))
    metrics = painter.fontMetrics()
    y = room.bottom() - 2.5 * small
    for word in (tile.state_word, below):
        text = metrics.elidedText(word, Qt.TextElideMode.ElideRight, int(room.width()))
        painter.drawText(QRectF(room.left(), y, room.width(), 1.25 * small), _LEFT_MIDDLE, text)
        y += 1.25 * small


def _told_large(tile: Tile, formatter: Formatter, *, by_days: bool) -> tuple[str, Mark | None, str]:
    """Give the large number with its mark, and what is told small below the state."""
    value = tile.tension_n_per_cm
    if by_days:
        if value is None or tile.days_mark is None:
            return tile.days_left, tile.days_mark, ""
        word, tension = mark_word(tile.days_mark), formatter.number(value)
        return (
            tile.days_left,
            tile.days_mark,
            tr("{word}, at {tension}", word=word, tension=tension),
        )
    left = tr("{days} left", days=tile.days_left) if tile.days_left else ""
    return "" if value is None else formatter.number(value), tile.mark, left


def _paint_name(painter: QPainter, tile: Tile, line: QRectF, theme: Theme) -> None:
    """What the frame is called; quietly beside it where it stands, in the room that is left."""
    palette = theme.palette
    painter.setPen(palette.colour("ink"))
    painter.setFont(theme.font("body", bold=True))
    metrics = painter.fontMetrics()
    name = metrics.elidedText(tile.name, Qt.TextElideMode.ElideMiddle, int(line.width()))
    painter.drawText(line, _LEFT_MIDDLE, name)
    beside = line.adjusted(metrics.horizontalAdvance(name) + STEP, 0, 0, 0)
    painter.setPen(palette.colour("quiet"))
    painter.setFont(theme.font("small"))
    slot = painter.fontMetrics().elidedText(
        tile.slot, Qt.TextElideMode.ElideRight, int(beside.width())
    )
    painter.drawText(beside, _RIGHT_MIDDLE, slot)
