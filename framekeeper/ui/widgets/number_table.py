"""A table whose numbers can be opened one by one, and a sentence that can be opened too."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from PySide6.QtCore import (
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    Qt,
    Signal,
)
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QLabel,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from framekeeper.ui.models.table import RowsModel, SortRole
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.plot_kit import pen
from framekeeper.ui.widgets.work_table import WorkTable

Row = TypeVar("Row")
_FOCUS = 2  # of a border around what has the focus, px
_OPEN_KEYS = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter})


class NumberTable(WorkTable[Row]):
    """Cells to choose from: the arrows walk over the numbers, Enter opens the one that is chosen.

    Signals
    -------
    number_wanted(row, key)
        Somebody wants to see what a number rests on; the key names its column.
    """

    number_wanted = Signal(object, str)

    def __init__(
        self,
        theme: Theme,
        model: RowsModel[Row],
        name: str,
        *,
        first_number: int,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(theme, model, name, parent)
        self._numbers = model
        self._first_number = first_number
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.asked.connect(self._ask)

    @property
    def current_row(self) -> Row | None:
        """The row of the chosen number."""
        index = self.currentIndex()
        return self._numbers.rows[index.row()] if index.isValid() else None

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Show these rows; the chosen number stays chosen, else the first one is."""
        before = self.currentIndex()
        column = before.column() if before.isValid() else self._first_number
        super().show_rows(rows)
        if not self.currentIndex().isValid():
            return
        index = self._numbers.index(self.currentIndex().row(), column)
        flags = QItemSelectionModel.SelectionFlag
        self.selectionModel().setCurrentIndex(index, flags.ClearAndSelect)

    def choose_number(self, row_id: object, key: str) -> None:
        """Choose a number by its row and column."""
        place = self._numbers.row_of(row_id)
        column = next(i for i, c in enumerate(self._numbers.columns) if c.key == key)
        if place is not None:
            self.setCurrentIndex(self._numbers.index(place, column))

    def _ask(self) -> None:
        row, index = self.current_row, self.currentIndex()
        if row is not None:
            self.number_wanted.emit(row, self._numbers.columns[index.column()].key)


class ShareBar(QStyledItemDelegate):
    """Draws a share from 0 to 1, the cell's sort value, as a bar under its words."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        super().paint(painter, option, index)
        share = index.data(SortRole)
        rect = QRect(option.rect).adjusted(STEP, 0, -STEP, 0)
        high = STEP
        bar = QRect(rect.left(), rect.bottom() - high - 1, round(rect.width() * share), high)
        painter.fillRect(bar, self._theme.palette.colour("place"))


class OpenLine(QLabel):
    """A sentence with numbers: Enter, Space or a click opens what it rests on.

    Signals
    -------
    asked()
        Somebody wants to see what is behind it.
    """

    asked = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setWordWrap(True)
        self.setContentsMargins(2 * STEP, STEP, 2 * STEP, STEP)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def say(self, words: str, *, can_open: bool) -> None:
        """Say this; where nothing is behind it, it takes no focus."""
        self.setText(words)
        self.setAccessibleName(words)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if can_open else Qt.FocusPolicy.NoFocus)
        shape = Qt.CursorShape.PointingHandCursor if can_open else Qt.CursorShape.ArrowCursor
        self.setCursor(shape)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in _OPEN_KEYS and not event.isAutoRepeat():
            self.asked.emit()
            event.accept()
            return
        super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        if self.focusPolicy() != Qt.FocusPolicy.NoFocus:
            self.asked.emit()

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """A border where the focus is."""
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self)
            painter.setPen(pen(self._theme, "press", _FOCUS))
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
            painter.end()
