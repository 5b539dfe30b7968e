"""The journal of a frame, newest first; what was taken back stays in sight, struck out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex
from PySide6.QtWidgets import QStyledItemDelegate, QStyleOptionViewItem, QTableView, QWidget

from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.frame_page import FramePage, JournalLine
from framekeeper.services.telling import Names, names_on, tell
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column, RowsModel, dress_table, refresh
from framekeeper.ui.text import tr


class JournalTable(QTableView):
    """Lines to choose from; the chosen one can be taken back or corrected."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._names = Names()
        self._lines: RowsModel[JournalLine] = RowsModel(self._columns(), _line_id, self)
        self.setModel(self._lines)
        self.setAccessibleName(tr("Journal of this frame"))
        dress_table(self, bench.theme)
        self.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        self.setItemDelegate(_StruckOut(self._lines, self))

    @property
    def lines(self) -> Sequence[JournalLine]:
        """The lines as shown."""
        return self._lines.rows

    @property
    def chosen(self) -> JournalLine | None:
        """The line that is chosen, unless it was taken back already."""
        index = self.currentIndex()
        if not index.isValid():
            return None
        line = self._lines.rows[index.row()]
        return None if line.is_withdrawn else line

    def show_page(self, page: FramePage) -> None:
        """Show the journal of a frame; who was at the newest line stays at the newest."""
        self._names = names_on(page)
        was_newest = self.currentIndex().row() <= 0
        refresh(self, self._lines, page.journal)
        if page.journal and (was_newest or not self.currentIndex().isValid()):
            self.setCurrentIndex(self._lines.index(0, 0))

    def choose(self, event_id: int) -> None:
        """Choose a line by its event."""
        row = self._lines.row_of(event_id)
        if row is not None:
            self.setCurrentIndex(self._lines.index(row, 0))

    def words(self, line: JournalLine) -> str:
        """Say what a line records."""
        return self.bench.formatter.sentence(_told(line, self._names))

    def _columns(self) -> tuple[Column[JournalLine], ...]:
        f = self.bench.formatter
        return (
            Column(
                "when",
                tr("When"),
                lambda line: f.moment(line.event.happened_at),
                lambda line: line.event.order,
                width=172,
            ),
            Column(
                "what",
                tr("What"),
                self.words,
                lambda line: line.event.kind,
                width=230,
                tooltip=self.words,
            ),
            Column(
                "by", tr("By"), lambda line: line.event.by, lambda line: line.event.by, width=64
            ),
        )


class _StruckOut(QStyledItemDelegate):
    """Strikes through what no longer counts."""

    def __init__(self, lines: RowsModel[JournalLine], parent: QWidget) -> None:
        super().__init__(parent)
        self._lines = lines

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().initStyleOption(option, index)
        if self._lines.rows[index.row()].is_withdrawn:
            style: Any = option
            style.font.setStrikeOut(True)


def _told(line: JournalLine, names: Names) -> Sentence:
    said = tell(line.event, names)
    if line.event.note:
        said = say("{what} ({note})", what=said, note=line.event.note)
    return say("taken back: {what}", what=said) if line.is_withdrawn else said


def _line_id(line: JournalLine) -> int:
    return line.event.event_id
