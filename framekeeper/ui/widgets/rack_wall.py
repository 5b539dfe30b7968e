"""The rack as a wall of small drawn frames: thousands of tiles, of which only the seen are painted.

A view of its own instead of a list view: tiles keep their place in a grid, one drawing serves all
frames that look alike, and a selection by id survives every refresh.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from PySide6.QtCore import QPoint, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme, device_ratio
from framekeeper.ui.widgets.frame_paint import paint_frame, place_frame
from framekeeper.ui.widgets.frame_picture import FramePicture
from framekeeper.ui.widgets.marks import mark_word
from framekeeper.ui.widgets.rack_tile import Tile, paint_words


class RackWall(QAbstractScrollArea):
    """A scrolling wall of tiles with keyboard, mouse and multiple selection.

    Signals
    -------
    activated(id)
        Enter or a double click on a tile.
    current_changed(id)
        The tile with the focus is another one.
    selection_changed(ids)
        Frozenset of the chosen ids.
    """

    activated = Signal(int)
    current_changed = Signal(int)
    selection_changed = Signal(object)

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._tiles: tuple[Tile, ...] = ()
        self._rows: dict[int, int] = {}
        self._current = -1
        self._anchor = -1
        self._chosen: frozenset[int] = frozenset()
        self._by_days = False
        self._drawings: dict[tuple[object, ...], QPixmap] = {}
        self._longest_mm = 0.0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(tr("Rack wall"))
        theme.changed.connect(self._dress_again)

    def show_tiles(self, tiles: Iterable[Tile], *, by_days: bool = False) -> None:
        """Show these tiles in this order; selection, focus and scroll stay with their frames.

        A tile has one mark, beside its one large number: the tension and what is due, or the days
        left and how soon that is. Two marks on a tile would be taken for each other.
        """
        self._by_days = by_days
        current = self.current_id()
        anchor = self._tiles[self._anchor].id if self._anchor >= 0 else None
        self._tiles = tuple(tiles)
        self._rows = {tile.id: row for row, tile in enumerate(self._tiles)}
        longest = max((max(t.width_mm, t.height_mm) for t in self._tiles), default=0.0)
        if longest != self._longest_mm:
            self._longest_mm = longest
            self._drawings.clear()
        self._current = self._rows.get(current, -1) if current is not None else -1
        self._anchor = self._rows.get(anchor, -1) if anchor is not None else -1
        self._choose(self._chosen & self._rows.keys())
        self._measure()
        self._tell_name()
        self.viewport().update()

    @property
    def tiles(self) -> Sequence[Tile]:
        """What is shown, in order."""
        return self._tiles

    def current_id(self) -> int | None:
        """The frame with the focus."""
        return self._tiles[self._current].id if self._current >= 0 else None

    def selected_ids(self) -> frozenset[int]:
        """The chosen frames."""
        return self._chosen

    def select(self, ids: Iterable[int]) -> None:
        """Choose these frames, as far as they are shown."""
        self._choose(frozenset(ids) & self._rows.keys())

    def go_to(self, frame_id: int) -> None:
        """Bring a frame into view, focus it and choose it."""
        row = self._rows.get(frame_id)
        if row is not None:
            self._move_to(row, Qt.KeyboardModifier.NoModifier)

    def cell_size(self) -> QSize:
        """Size of one tile with its air; grows with the text, and fills the line."""
        return QSize(self.viewport().width() // self._columns(), self._cell_height())

    def tile_rect(self, row: int) -> QRect:
        """Where a tile is, in the viewport."""
        cell = self.cell_size()
        y, x = divmod(row, self._columns())
        top = y * cell.height() - self.verticalScrollBar().value()
        return QRect(QPoint(x * cell.width(), top), cell)

    def visible_rows(self) -> range:
        """The tiles that can be seen now."""
        columns, high = self._columns(), self.cell_size().height()
        top = self.verticalScrollBar().value()
        first = top // high * columns
        last = math.ceil((top + self.viewport().height()) / high) * columns
        return range(min(first, len(self._tiles)), min(last, len(self._tiles)))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), self._theme.palette.colour("ground"))
        for row in self.visible_rows():
            rect = self.tile_rect(row)
            if rect.intersects(event.rect()):
                self._paint_tile(painter, row, rect)
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._measure()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, held = Qt.Key(event.key()), event.modifiers()
        with_control = bool(held & Qt.KeyboardModifier.ControlModifier)
        if not self._tiles:
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self._current >= 0:
                self.activated.emit(self._tiles[self._current].id)
        elif key == Qt.Key.Key_Space and self._current >= 0:
            self._toggle(self._current)
        elif key == Qt.Key.Key_A and with_control:
            self._choose(frozenset(self._rows))
        elif (step := self._step_of(key)) is not None:
            start = max(self._current, 0)
            target = start if self._current < 0 else start + step
            self._move_to(min(max(target, 0), len(self._tiles) - 1), held)
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        row = self._row_at(event.position().toPoint())
        held = event.modifiers()
        is_plain = held in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        if row is None:
            if is_plain:
                self._choose(frozenset())
        elif event.button() == Qt.MouseButton.RightButton and self._tiles[row].id in self._chosen:
            self._set_current(row)  # a menu for the selection must not change the selection
        elif held & Qt.KeyboardModifier.ControlModifier:
            self._set_current(row)
            self._toggle(row)
        else:
            self._move_to(row, held)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        event.accept()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        row = self._row_at(event.position().toPoint())
        if row is not None and event.button() == Qt.MouseButton.LeftButton:
            self.activated.emit(self._tiles[row].id)

    def _columns(self) -> int:
        return max(1, self.viewport().width() // round(13.0 * self._theme.px("body")))

    def _cell_height(self) -> int:
        return round(7.0 * self._theme.px("body"))

    def _measure(self) -> None:
        high = self.cell_size().height()
        lines = math.ceil(len(self._tiles) / self._columns())
        bar = self.verticalScrollBar()
        bar.setSingleStep(max(1, high // 2))
        bar.setPageStep(self.viewport().height())
        bar.setRange(0, max(0, lines * high - self.viewport().height()))

    def _row_at(self, place: QPoint) -> int | None:
        return next((r for r in self.visible_rows() if self.tile_rect(r).contains(place)), None)

    def _step_of(self, key: Qt.Key) -> int | None:
        columns = self._columns()
        page = max(1, self.viewport().height() // self.cell_size().height()) * columns
        return {
            Qt.Key.Key_Left: -1,
            Qt.Key.Key_Right: 1,
            Qt.Key.Key_Up: -columns,
            Qt.Key.Key_Down: columns,
            Qt.Key.Key_PageUp: -page,
            Qt.Key.Key_PageDown: page,
            Qt.Key.Key_Home: -len(self._tiles),
            Qt.Key.Key_End: len(self._tiles),
        }.get(key)

    def _move_to(self, row: int, held: Qt.KeyboardModifier) -> None:
        self._set_current(row)
        if held & Qt.KeyboardModifier.ShiftModifier:
            start = self._anchor if self._anchor >= 0 else row
            low, high = sorted((start, row))
            self._choose(frozenset(tile.id for tile in self._tiles[low : high + 1]))
        elif not held & Qt.KeyboardModifier.ControlModifier:
            self._anchor = row
            self._choose(frozenset({self._tiles[row].id}))

    def _toggle(self, row: int) -> None:
        self._anchor = row
        self._choose(self._chosen ^ {self._tiles[row].id})

    def _choose(self, ids: frozenset[int]) -> None:
        ids = frozenset(ids)
        if ids != self._chosen:
            self._chosen = ids
            self.selection_changed.emit(ids)
            self.viewport().update()

    def _set_current(self, row: int) -> None:
        if row != self._current:
            self._current = row
            self._tell_name()
            self.current_changed.emit(self._tiles[row].id)
        self._scroll_to(row)
        self.viewport().update()

    def _scroll_to(self, row: int) -> None:
        rect, bar = self.tile_rect(row), self.verticalScrollBar()
        if rect.top() < 0:
            bar.setValue(bar.value() + rect.top())
        elif rect.bottom() > self.viewport().height():
            bar.setValue(bar.value() + rect.bottom() - self.viewport().height() + 1)

    def _tell_name(self) -> None:
        """A screen reader hears the tile that has the focus."""
        if self._current < 0:
            self.setAccessibleDescription("")
            return
        self.setAccessibleDescription(self.describe(self._tiles[self._current]))
        QAccessible.updateAccessibility(
            QAccessibleEvent(self, QAccessible.Event.DescriptionChanged)
        )

    def describe(self, tile: Tile) -> str:
        """Say a tile in words."""
        tension = tile.tension_n_per_cm
        parts = [tile.name, self._formatter.size(tile.width_mm, tile.height_mm), tile.state_word]
        if tile.is_held:
            parts.append(tr("on hold"))
        if tension is not None:
            parts.append(self._formatter.tension(tension))
        if tile.mark is not None:
            parts.append(mark_word(tile.mark))
        parts.append(tile.days_said)
        if tile.slot:
            parts.append(tr("slot {slot}", slot=tile.slot))
        return ", ".join(part for part in parts if part)

    def _dress_again(self) -> None:
        self._drawings.clear()
        self.viewport().update()

    def _paint_tile(self, painter: QPainter, row: int, cell: QRect) -> None:
        tile, palette = self._tiles[row], self._theme.palette
        air = STEP // 2
        room = QRectF(cell).adjusted(air, air, -air, -air)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(palette.colour("place_tint" if tile.id in self._chosen else "surface"))
        painter.drawRoundedRect(room, 4, 4)
        if row == self._current:
            is_here = self.hasFocus()
            painter.setPen(QPen(palette.colour("press" if is_here else "edge"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(room.adjusted(1, 1, -1, -1), 4, 4)
        drawing = self._drawing(tile)
        painter.drawPixmap(room.topLeft() + QPoint(STEP, STEP), drawing)
        left = STEP + self._drawing_side()  # the drawing has air of its own
        words = room.adjusted(left, STEP, -STEP, -STEP)
        paint_words(painter, tile, words, self._theme, self._formatter, by_days=self._by_days)

    def _drawing_side(self) -> int:
        return self._cell_height() - 3 * STEP

    def _drawing(self, tile: Tile) -> QPixmap:
        key = (
            tile.width_mm, tile.height_mm, tile.cloth, tile.state, tile.is_held, tile.is_reserved,
        )  # fmt: skip
        if key not in self._drawings:
            self._drawings[key] = self._draw(tile)
        return self._drawings[key]

    def _draw(self, tile: Tile) -> QPixmap:
        side, ratio = self._drawing_side(), device_ratio()
        pixmap = QPixmap(QSize(round(side * ratio), round(side * ratio)))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        picture = FramePicture(
            tile.width_mm,
            tile.height_mm,
            cloth=tile.cloth,
            state=tile.state,
            is_held=tile.is_held,
            is_reserved=tile.is_reserved,
        )
        room = QRectF(0, 0, side, side).adjusted(8, 8, -8, -8)
        painter = QPainter(pixmap)
        place = place_frame(picture, room, self._longest_mm)
        paint_frame(painter, picture, place, self._theme.palette)
        painter.end()
        return pixmap
