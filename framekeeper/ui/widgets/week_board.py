"""The coming days as a board: a row for each bench, a column for each open day, minutes as bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from framekeeper.ui.text import tr
from framekeeper.ui.theme import CORNER, STEP, Theme
from framekeeper.ui.widgets.marks import Mark, paint_mark

Index = QModelIndex | QPersistentModelIndex
CellRole = Qt.ItemDataRole.UserRole
_NARROWEST = 16 * STEP
_EDGES = 4 * STEP  # left and right of what is written in a cell
_HEAD = 3 * STEP + 1  # the same in the header, as the stylesheet has it


@dataclass(frozen=True, slots=True)
class BoardCell:
    """One bench on one day, in words; `share` of its minutes that is used, None without minutes."""

    minutes: str
    share: float | None
    mark: Mark | None
    late: str
    spoken: str


class _BoardModel(QAbstractTableModel):
    """Cells by bench and day."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.benches: tuple[str, ...] = ()
        self.days: tuple[str, ...] = ()
        self.cells: tuple[tuple[BoardCell, ...], ...] = ()

    def show(
        self, benches: Sequence[str], days: Sequence[str], cells: Sequence[Sequence[BoardCell]]
    ) -> None:
        self.beginResetModel()
        self.benches, self.days = tuple(benches), tuple(days)
        self.cells = tuple(map(tuple, cells))
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.benches)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.days)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        cell = self.cells[index.row()][index.column()]
        if role == CellRole:
            return cell
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return cell.spoken
        return cell.minutes if role == Qt.ItemDataRole.DisplayRole else None

    def headerData(
        self, section: int, direction: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if role != Qt.ItemDataRole.DisplayRole:
            return None
        return (self.days if direction == Qt.Orientation.Horizontal else self.benches)[section]


class _BoardDelegate(QStyledItemDelegate):
    """Paints minutes, their bar, and what is late by mark and word."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    @property
    def height(self) -> int:
        """What a cell needs: two lines of small type, and the bar between them."""
        return 2 * self.metrics.height() + 6 * STEP

    @property
    def metrics(self) -> QFontMetrics:
        """The measures of what is written in a cell."""
        return QFontMetrics(self._theme.font("small"))

    def sizeHint(self, _option: QStyleOptionViewItem, _index: Index) -> QSize:
        return QSize(_NARROWEST, self.height)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        cell: BoardCell = index.data(CellRole)
        colours = self._theme.palette
        state: QStyle.StateFlag = option.state
        rect: QRect = option.rect
        card = rect.adjusted(1, 1, -1, -1)
        painter.save()
        is_chosen = bool(state & QStyle.StateFlag.State_Selected)
        painter.fillRect(card, colours.colour("place_tint" if is_chosen else "surface"))
        if is_chosen:
            has_focus = bool(state & QStyle.StateFlag.State_HasFocus)
            painter.setPen(colours.colour("press" if has_focus else "edge"))
            painter.drawRect(card.adjusted(0, 0, -1, -1))
        inside = card.adjusted(STEP + 2, STEP, -STEP - 2, -STEP)
        line = self.metrics.height()
        top = QRect(inside.left(), inside.top(), inside.width(), line)
        bar = QRectF(inside.left(), top.bottom() + STEP, inside.width(), 2 * STEP)
        low = QRect(inside.left(), round(bar.bottom()) + STEP, inside.width(), line)
        is_idle = not cell.share
        self._text(painter, top, cell.minutes, "quiet" if is_idle else "ink")
        self._bar(painter, bar, cell.share)
        if cell.mark is not None:
            side = line - STEP
            paint_mark(painter, cell.mark, QRectF(low.left(), low.top() + 2, side, side), colours)
            self._text(painter, low.adjusted(side + STEP, 0, 0, 0), cell.late, "ink")
        painter.restore()

    def _text(self, painter: QPainter, room: QRect, text: str, colour: str) -> None:
        font = self._theme.font("small")
        painter.setFont(font)
        painter.setPen(self._theme.palette.colour(colour))
        shown = QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)

    def _bar(self, painter: QPainter, room: QRectF, share: float | None) -> None:
        if share is None:
            return  # nobody works at this bench
        colours = self._theme.palette
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colours.colour("line"))
        painter.drawRoundedRect(room, CORNER, CORNER)
        if share > 0:
            used = QRectF(room)
            used.setWidth(max(2.0 * STEP, min(1.0, share) * room.width()))
            painter.setBrush(colours.colour("place"))
            painter.drawRoundedRect(used, CORNER, CORNER)


class WeekBoard(QTableView):
    """Benches against days; the arrows go from cell to cell.

    Signals
    -------
    cell_changed(bench, day)
        Another cell is chosen: the numbers of its row and column.
    jobs_wanted()
        Enter or a double click: go on to the jobs of the chosen cell.
    """

    cell_changed = Signal(int, int)
    jobs_wanted = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = _BoardModel(self)
        self._delegate = _BoardDelegate(theme, self)
        self.setModel(self._model)
        self.setItemDelegate(self._delegate)
        self.setAccessibleName(tr("Minutes used per bench and day"))
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setStyleSheet("QTableCornerButton::section { background: transparent; border: 0; }")
        self.setTabKeyNavigation(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for header in (self.horizontalHeader(), self.verticalHeader()):
            header.setHighlightSections(False)
            header.setSectionsClickable(False)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setStyleSheet("QHeaderView::section { border-bottom: 0; }")
        self.doubleClicked.connect(self.jobs_wanted)
        self.selectionModel().currentChanged.connect(self._on_current)
        theme.changed.connect(self.viewport().update)

    def show_board(
        self, benches: Sequence[str], days: Sequence[str], cells: Sequence[Sequence[BoardCell]]
    ) -> None:
        """Show these cells, a row for each bench; the chosen cell keeps its place."""
        row, column = self.chosen
        self._model.show(benches, days, cells)
        self.verticalHeader().setDefaultSectionSize(self._delegate.height)
        self.horizontalHeader().setMinimumSectionSize(self._column_width())
        self._fit()
        if benches and days:
            self.choose(min(max(row, 0), len(benches) - 1), min(max(column, 0), len(days) - 1))

    @property
    def chosen(self) -> tuple[int, int]:
        """The numbers of the chosen bench and day; (-1, -1) where none is."""
        index = self.currentIndex()
        return index.row(), index.column()

    def choose(self, bench: int, day: int) -> None:
        """Go to a cell."""
        self.setCurrentIndex(self._model.index(bench, day))

    def cell(self, bench: int, day: int) -> BoardCell:
        """Give what a cell shows."""
        return self._model.cells[bench][day]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.jobs_wanted.emit()
            return
        super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def _on_current(self, now: QModelIndex, _before: QModelIndex) -> None:
        if now.isValid():
            self.cell_changed.emit(now.row(), now.column())

    def _column_width(self) -> int:
        """Wide enough for every day and every minute, in whatever size the letters have."""
        header, small = self.horizontalHeader().fontMetrics(), self._delegate.metrics
        texts = (cell.minutes for row in self._model.cells for cell in row)
        cells = max(map(small.horizontalAdvance, texts), default=0) + _EDGES
        days = max(map(header.horizontalAdvance, self._model.days), default=0) + 2 * _HEAD
        return max(_NARROWEST, cells, days)

    def _fit(self) -> None:
        """Be as high as the rows: a board that scrolls down hides a bench."""
        across = (
            self.verticalHeader().sizeHint().width() + len(self._model.days) * self._column_width()
        )
        is_wide = across > self.width() - 2 * self.frameWidth()
        bar = self.horizontalScrollBar().sizeHint().height() if is_wide else 0
        rows = self._delegate.height * max(1, len(self._model.benches))
        head = self.horizontalHeader().sizeHint().height()
        self.setFixedHeight(rows + head + bar + 2 * self.frameWidth())
