"""What a cost rests on: each of its numbers, and the events, movements and rolls behind it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.services.costs import KnownCosts, Number
from framekeeper.services.costs_telling import input_words, number_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.costs_tables import TraceRow, trace_columns, trace_id
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.esc_page import EscPage
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.work_table import WorkTable


class CostsBehind(EscPage):
    """The numbers in sentences above, what they rest on below; Enter opens the frame there."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._title, self._numbers = QLabel(), QLabel()
        self._title.setFont(bench.theme.font("large"))
        self._numbers.setWordWrap(True)
        rows: RowsModel[TraceRow] = RowsModel(trace_columns(bench), trace_id, self)
        self.rows = WorkTable(bench.theme, rows, tr("What this number rests on"))
        self._hint = QLabel(
            tr("Enter opens a frame at its event; a roll and scrap stand on the Mesh shelf.")
        )
        self._hint.setProperty("quiet", True)
        self._hint.setWordWrap(True)
        self._back = LocalKeyButton(bench.theme, tr("Back to the costs"), "Esc")
        self._back.clicked.connect(self.left)
        self.rows.asked.connect(self._open)
        self._lay_out()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self._title, 1)
        head.addWidget(self._back)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(head)
        column.addWidget(self._numbers)
        column.addWidget(self.rows, 1)
        column.addWidget(self._hint)

    @property
    def words(self) -> str:
        """What is said above the rows: the number, and those that it rests on."""
        return f"{self._title.text()}\n{self._numbers.text()}"

    def show_numbers(self, title: str, numbers: Sequence[Number], known: KnownCosts) -> None:
        """Show what these numbers rest on."""
        sentence = self._bench.formatter.sentence
        self._title.setText(title)
        self.setAccessibleName(title)
        self._numbers.setText("\n".join(sentence(number_words(n, known)) for n in numbers))
        rows = [
            TraceRow(sentence(input_words(number.name)), place, sentence(trace.what), trace)
            for number in numbers
            for place, trace in enumerate(number.traces)
        ]
        self.rows.clearSelection()
        self.rows.show_rows(rows)
        self.rows.choose_first()

    def take_focus(self) -> None:
        """Begin at the rows."""
        (self.rows if self.rows.rows else self._back).setFocus()

    def _open(self) -> None:
        chosen = self.rows.chosen()
        trace = chosen[0].trace if chosen else None
        if trace is None:
            return
        if trace.code:
            self._bench.event_wanted.emit(trace.code, trace.event_id)
        else:
            self._bench.place_wanted.emit("shelf")
