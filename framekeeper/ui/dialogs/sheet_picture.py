"""A label sheet as it lies in the printer: click or walk to the first free cell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, Theme

if TYPE_CHECKING:
    from framekeeper.formats.label_formats import LabelFormat


class SheetPicture(QWidget):
    """Draws one page; what is used up is struck out, what will be printed carries its name.

    Signals
    -------
    start_changed(cell)
        Another cell was chosen, from 1 along the rows.
    """

    start_changed = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._format: LabelFormat | None = None
        self._start = 1
        self._names: tuple[str, ...] = ()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(tr("First free label on the sheet"))
        self.setToolTip(tr("Click the first free label, or go there with the arrow keys."))
        theme.changed.connect(self.update)

    @property
    def start(self) -> int:
        """The first cell that is printed, from 1."""
        return self._start

    def sizeHint(self) -> QSize:
        side = self._theme.px("body")
        return QSize(22 * side, 28 * side)

    def minimumSizeHint(self) -> QSize:
        side = self._theme.px("body")
        return QSize(16 * side, 20 * side)

    def show_sheet(self, label_format: LabelFormat, start: int) -> None:
        """Show a sheet or a roll with its first free cell."""
        self._format = label_format
        self._start = 0
        self._go_to(start)
        self.update()

    def show_names(self, names: Sequence[str]) -> None:
        """Show what will be printed, in order."""
        self._names = tuple(names)
        self._tell()
        self.update()

    def cell_rect(self, cell: int) -> QRectF:
        """Where a cell is drawn, from 1."""
        assert self._format is not None
        page, scale = self._page()
        left, top = self._format.corner_mm(cell - 1)
        return QRectF(
            page.left() + left * scale,
            page.top() + top * scale,
            self._format.label_width_mm * scale,
            self._format.label_height_mm * scale,
        )

    def _page(self) -> tuple[QRectF, float]:
        assert self._format is not None
        room = QRectF(self.rect()).adjusted(STEP, STEP, -STEP, -STEP)
        wide, high = self._format.page_width_mm, self._format.page_height_mm
        scale = min(room.width() / wide, room.height() / high)
        size = QRectF(0, 0, wide * scale, high * scale)
        size.moveCenter(room.center())
        return size, scale

    def _go_to(self, cell: int) -> None:
        assert self._format is not None
        cell = min(max(cell, 1), self._format.cells)
        if cell != self._start:
            self._start = cell
            self._tell()
            self.start_changed.emit(cell)
            self.update()

    def _tell(self) -> None:
        if self._format is not None:
            row, column = divmod(self._start - 1, self._format.columns)
            self.setAccessibleDescription(
                tr(
                    "Label {cell} of {cells}: row {row}, column {column}",
                    cell=self._start,
                    cells=self._format.cells,
                    row=row + 1,
                    column=column + 1,
                )
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if self._format is None:
            return
        columns = self._format.columns
        goal = {
            Qt.Key.Key_Left: self._start - 1,
            Qt.Key.Key_Right: self._start + 1,
            Qt.Key.Key_Up: self._start - columns,
            Qt.Key.Key_Down: self._start + columns,
            Qt.Key.Key_Home: 1,
            Qt.Key.Key_End: self._format.cells,
        }.get(Qt.Key(event.key()))
        if goal is None:
            super().keyPressEvent(event)
        elif 1 <= goal <= self._format.cells:
            self._go_to(goal)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self._format is None:
            return
        for cell in range(1, self._format.cells + 1):
            if self.cell_rect(cell).contains(event.position()):
                self._go_to(cell)

    def paintEvent(self, _event: QPaintEvent) -> None:
        if self._format is None:
            return
        colours = self._theme.palette
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        page, _ = self._page()
        painter.setPen(QPen(colours.colour("edge"), 1))
        painter.setBrush(colours.colour("surface"))
        painter.drawRect(page)
        for cell in range(1, self._format.cells + 1):
            self._paint_cell(painter, cell)
        painter.end()

    def _paint_cell(self, painter: QPainter, cell: int) -> None:
        colours, rect = self._theme.palette, self.cell_rect(cell).adjusted(1, 1, -1, -1)
        place = cell - self._start
        is_printed = 0 <= place < len(self._names)
        painter.setPen(QPen(colours.colour("line"), 1))
        painter.setBrush(colours.colour("place_tint" if is_printed else "surface"))
        painter.drawRoundedRect(rect, 2, 2)
        if place < 0:  # used up: struck out, so that it is seen without colour
            painter.setPen(QPen(colours.colour("edge"), 1))
            painter.drawLine(rect.topLeft(), rect.bottomRight())
        if is_printed:
            painter.setPen(colours.colour("ink"))
            painter.setFont(self._theme.font("small"))
            room = rect.adjusted(STEP, 0, -STEP, 0)
            text = painter.fontMetrics().elidedText(
                self._names[place], Qt.TextElideMode.ElideMiddle, int(room.width())
            )
            painter.drawText(room, Qt.AlignmentFlag.AlignCenter, text)
        if place == 0:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            name = "press" if self.hasFocus() else "place"
            painter.setPen(QPen(colours.colour(name), 3))
            painter.drawRoundedRect(rect, 2, 2)
            corner = QPointF(rect.left(), rect.top())
            painter.setBrush(colours.colour(name))
            painter.drawPolygon(
                [corner, corner + QPointF(3 * STEP, 0), corner + QPointF(0, 3 * STEP)]
            )
