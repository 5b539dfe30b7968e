"""The list at the side of a round: what is still to be read, in walking order, and what is done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QTableView, QWidget

from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.services.tension_round import Stop
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column, RowsModel, dress_table, refresh
from framekeeper.ui.places.round_memory import Draft
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.marks import mark_icon
from framekeeper.ui.widgets.verdict_line import verdict_mark, verdict_word


class RoundProgress(QTableView):
    """The stops of a round; the chosen row is the screen that is expected next."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._drafts: Mapping[str, Draft] = {}
        self._rows: RowsModel[Stop] = RowsModel(self._columns(), lambda stop: stop.frame.code, self)
        self.setModel(self._rows)
        self.setAccessibleName(tr("Screens of this round"))
        dress_table(self, bench.theme)
        self.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    @property
    def stops(self) -> Sequence[Stop]:
        """The stops in the order shown."""
        return self._rows.rows

    @property
    def expected(self) -> Stop | None:
        """The screen that is expected next: the chosen row, if it is still to be read."""
        index = self.currentIndex()
        if not index.isValid():
            return None
        stop = self._rows.rows[index.row()]
        return None if stop.is_read else stop

    def show_stops(self, stops: Sequence[Stop], drafts: Mapping[str, Draft], after: str) -> None:
        """Show the round; the next open stop after the frame `after` is expected."""
        self._drafts = dict(drafts)
        refresh(self, self._rows, stops)
        self.viewport().update()
        if self.expected is None:
            self.expect_after(after)

    def expect_after(self, code: str) -> None:
        """Choose the next open stop after a frame, from the top again where there is none."""
        rows = list(self._rows.rows)
        place = self._rows.row_of(code)
        begin = 0 if place is None else place + 1
        order = [*range(begin, len(rows)), *range(begin)]
        row = next((r for r in order if not rows[r].is_read), None)
        if row is None:
            self.clearSelection()
            return
        self.setCurrentIndex(self._rows.index(row, 0))
        self.scrollTo(self._rows.index(row, 0))

    def _columns(self) -> tuple[Column[Stop], ...]:
        return (
            Column("mark", "", lambda s: "", lambda s: s.is_read, width=36, icon=self._icon),
            Column("slot", tr("Slot"), lambda s: s.frame.slot, lambda s: s.frame.slot, width=60),
            Column("frame", tr("Frame"), _name, lambda s: s.frame.number, width=92),
            Column("state", tr("Reading"), self._reading, lambda s: s.is_read, width=110),
        )

    def _icon(self, stop: Stop) -> QIcon | None:
        mark = verdict_mark(stop.judgement)
        if stop.is_pulled:
            mark = "below"
        return None if mark is None else mark_icon(mark, self.bench.theme.palette)

    def _reading(self, stop: Stop) -> str:
        draft = self._drafts.get(stop.frame.code)
        if draft is not None:
            return tr("{n} of {all}", n=draft.typed, all=len(draft.readings))
        if stop.survey is None:
            return tr("to read")
        mean = self.bench.formatter.number(stop.survey.mean)
        if stop.answer is None or stop.is_pulled or stop.judgement is None:
            state = self.bench.formatter.sentence(STATE_WORDS[stop.frame.state.state])
            return tr("{mean}, {answer}", mean=mean, answer=state)
        return tr(
            "{mean}, {answer}", mean=mean, answer=verdict_word(stop.judgement, self.bench.formatter)
        )


def _name(stop: Stop) -> str:
    """The label that the shop gave it, else its code: the verdict needs the room."""
    return stop.frame.own_label or stop.frame.code
