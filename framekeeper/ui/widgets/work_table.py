"""A table that is worked through by keys: Space or Enter asks for the work on the chosen rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, TypeVar

from PySide6.QtCore import QItemSelection, QItemSelectionModel, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QTableView, QWidget

from framekeeper.ui.models.table import RowsModel, chosen_ids, dress_table
from framekeeper.ui.models.table import refresh as refresh_table
from framekeeper.ui.theme import STEP, Theme

Row = TypeVar("Row")
_WORK_KEYS = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Enter})


class WorkTable(QTableView, Generic[Row]):
    """Rows to choose from.

    Signals
    -------
    asked()
        Space, Enter or a double click: go on with the chosen rows; where none is chosen, with the
        one that has the focus.
    chosen_changed()
        Other rows are chosen, or the chosen rows were read again.
    """

    asked = Signal()
    chosen_changed = Signal()

    def __init__(
        self, theme: Theme, model: RowsModel[Row], name: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._rows = model
        self.setModel(model)
        self.setAccessibleName(name)
        dress_table(self, theme)
        self.doubleClicked.connect(self._double_clicked)
        self.selectionModel().selectionChanged.connect(self._selection_changed)

    @property
    def rows(self) -> Sequence[Row]:
        """The rows as shown."""
        return self._rows.rows

    def chosen(self) -> list[Row]:
        """Return the chosen rows, from top to bottom."""
        places = (self._rows.row_of(row_id) for row_id in chosen_ids(self))
        return [self._rows.rows[place] for place in places if place is not None]

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Show these rows; what is chosen stays chosen."""
        refresh_table(self, self._rows, rows)
        if self._rows.rows and not self.currentIndex().isValid():
            flags = QItemSelectionModel.SelectionFlag
            self.selectionModel().setCurrentIndex(self._rows.index(0, 0), flags.NoUpdate)
        self.chosen_changed.emit()

    def choose(self, row_ids: Sequence[object]) -> bool:
        """Choose exactly these rows, the last one current; False if none is here."""
        places = [p for row_id in row_ids if (p := self._rows.row_of(row_id)) is not None]
        if not places:
            return False
        selection, last = QItemSelection(), len(self._rows.columns) - 1
        for place in places:
            selection.select(self._rows.index(place, 0), self._rows.index(place, last))
        flags = QItemSelectionModel.SelectionFlag
        current = self._rows.index(places[-1], 0)
        self.selectionModel().setCurrentIndex(current, flags.NoUpdate)
        self.selectionModel().select(selection, flags.ClearAndSelect)
        self.scrollTo(current)
        return True

    def choose_first(self) -> None:
        """Choose the first row where nothing is chosen, so that there is one obvious next step."""
        if self._rows.rows and not self.selectionModel().hasSelection():
            self.selectRow(0)

    def take_only_rows(self) -> None:
        """Take no more height than the rows need, so that the room goes to longer lists."""
        rows = len(self._rows.rows) * self.verticalHeader().defaultSectionSize()
        head = self.horizontalHeader().sizeHint().height()
        self.setMaximumHeight(rows + head + 2 * self.frameWidth() + STEP)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in _WORK_KEYS and not event.isAutoRepeat():
            if not self.selectionModel().hasSelection() and self.currentIndex().isValid():
                self.selectRow(self.currentIndex().row())  # the row with the focus is meant
            self.asked.emit()
            event.accept()
            return
        super().keyPressEvent(event)

    def _double_clicked(self) -> None:
        self.asked.emit()

    def _selection_changed(self, _new: QItemSelection, _old: QItemSelection) -> None:
        self.chosen_changed.emit()
