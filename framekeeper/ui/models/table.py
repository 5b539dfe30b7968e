"""One table model for all lists: columns are records, rows are frozen dataclasses with an id.

The model sorts by native values, so that 9 comes before 10 and dates in the order of time, and
keeps selection, focus and scroll with their rows when the list is refreshed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QAbstractItemView, QTableView

from framekeeper.ui.theme import Theme

Row = TypeVar("Row")
Index = QModelIndex | QPersistentModelIndex
SortRole = Qt.ItemDataRole.UserRole
RowIdRole = Qt.ItemDataRole.UserRole + 1


def _no_tip(_row: Any) -> str:
    return ""


def _no_icon(_row: Any) -> QIcon | None:
    return None


@dataclass(frozen=True)
class Column(Generic[Row]):
    """One column.

    `sort_key` gives a native value, or None for "not known", which is sorted last both ways.
    """

    key: str
    header: str
    text: Callable[[Row], str]
    sort_key: Callable[[Row], Any]
    width: int = 120
    align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft
    tooltip: Callable[[Row], str] = _no_tip
    icon: Callable[[Row], QIcon | None] = _no_icon
    header_tooltip: str = ""


class RowsModel(QAbstractTableModel, Generic[Row]):
    """A read-only table over rows; `row_id` names a row for good."""

    def __init__(
        self, columns: Sequence[Column[Row]], row_id: Callable[[Row], object], parent: Any = None
    ) -> None:
        super().__init__(parent)
        self.columns = tuple(columns)
        self._row_id = row_id
        self._rows: list[Row] = []
        self._places: dict[object, int] = {}
        self._sorted_by: tuple[int, Qt.SortOrder] | None = None

    @property
    def rows(self) -> Sequence[Row]:
        """The rows as shown."""
        return self._rows

    def row_of(self, row_id: object) -> int | None:
        """Where a row is, by its id."""
        return self._places.get(row_id)

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Show these rows, in the order that the person chose, else in theirs.

        Where the ids and their order are the same as before, only the cells that changed are told.
        """
        fresh = self._in_order(list(rows))
        ids = [self._row_id(row) for row in fresh]
        if ids == [self._row_id(row) for row in self._rows]:
            before, self._rows = self._rows, fresh
            for place, (old, new) in enumerate(zip(before, fresh, strict=True)):
                if old != new:
                    last = self.index(place, len(self.columns) - 1)
                    self.dataChanged.emit(self.index(place, 0), last)
            return
        self.beginResetModel()
        self._rows = fresh
        self._places = {row_id: place for place, row_id in enumerate(ids)}
        self.endResetModel()

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, column = self._rows[index.row()], self.columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.text(row)
        if role == SortRole:
            return column.sort_key(row)
        if role == RowIdRole:
            return self._row_id(row)
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.tooltip(row) or None
        if role == Qt.ItemDataRole.DecorationRole:
            return column.icon(row)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return column.align | Qt.AlignmentFlag.AlignVCenter
        return None

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(self.columns):
            return None
        column = self.columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.header
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return column.align | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.header_tooltip or None
        return None

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by native values; equal ones keep their order; a column of -1 changes nothing."""
        if not 0 <= column < len(self.columns):
            self._sorted_by = None
            return
        self._sorted_by = (column, order)
        self.layoutAboutToBeChanged.emit()
        held = self.persistentIndexList()
        ids = [(self._row_id(self._rows[index.row()]), index.column()) for index in held]
        self._rows = self._in_order(self._rows)
        self._places = {self._row_id(row): place for place, row in enumerate(self._rows)}
        self.changePersistentIndexList(
            held, [self.index(self._places[row_id], column) for row_id, column in ids]
        )
        self.layoutChanged.emit()

    def _in_order(self, rows: list[Row]) -> list[Row]:
        if self._sorted_by is None:
            return rows
        column, order = self._sorted_by
        key = self.columns[column].sort_key
        keyed = [(key(row), row) for row in rows]
        known = [pair for pair in keyed if pair[0] is not None]
        known.sort(key=lambda pair: pair[0], reverse=order == Qt.SortOrder.DescendingOrder)
        return [row for _, row in known] + [row for value, row in keyed if value is None]


def dress_table(view: QTableView, theme: Theme) -> None:
    """Give a table the program's manners: whole rows, fixed height, sorting, widths by column."""
    view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
    view.horizontalHeader().setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
    view.setSortingEnabled(True)
    view.setShowGrid(False)
    view.setWordWrap(False)
    view.setTabKeyNavigation(False)
    view.verticalHeader().hide()
    view.verticalHeader().setDefaultSectionSize(max(28, round(2.2 * theme.px("body"))))
    header = view.horizontalHeader()
    header.setHighlightSections(False)
    header.setSectionsMovable(True)
    header.setStretchLastSection(True)
    model = view.model()
    if isinstance(model, RowsModel):
        for place, column in enumerate(model.columns):
            header.resizeSection(place, column.width)


def chosen_ids(view: QTableView) -> list[object]:
    """Give the ids of the chosen rows, from top to bottom."""
    indexes = sorted(view.selectionModel().selectedRows(), key=lambda index: index.row())
    return [index.data(RowIdRole) for index in indexes]


def refresh(view: QTableView, model: RowsModel[Row], rows: Sequence[Row]) -> None:
    """Show other rows; selection, focus and scroll stay with the rows that are still there."""
    chosen = chosen_ids(view)
    current = view.currentIndex()
    current_id, column = current.data(RowIdRole), max(current.column(), 0)
    scrolled = view.verticalScrollBar().value()
    top = view.indexAt(view.viewport().rect().topLeft())
    top_id = top.data(RowIdRole) if top.isValid() else None
    model.show_rows(rows)
    selection, flags = view.selectionModel(), QItemSelectionModel.SelectionFlag
    again = QItemSelection()
    last = len(model.columns) - 1
    for row_id in chosen:
        if (place := model.row_of(row_id)) is not None:
            again.select(model.index(place, 0), model.index(place, last))
    if (place := model.row_of(current_id)) is not None:
        selection.setCurrentIndex(model.index(place, column), flags.NoUpdate)
    selection.select(again, flags.ClearAndSelect)
    if (place := model.row_of(top_id)) is not None:
        view.scrollTo(model.index(place, 0), QAbstractItemView.ScrollHint.PositionAtTop)
    else:
        view.verticalScrollBar().setValue(scrolled)
