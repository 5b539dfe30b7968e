"""The journal with its two remedies: take a line back, or correct it."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.domain.events import Surveyed
from framekeeper.services import history
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import FramePage, JournalLine
from framekeeper.services.record import When
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_actions import detail_fields, with_details
from framekeeper.ui.places.frame_form import FormField, StepForm
from framekeeper.ui.places.frame_journal import JournalTable
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton


class JournalPanel(QWidget):
    """Shows the journal; the two buttons are about the chosen line.

    Signals
    -------
    survey_is_wrong(event_id)
        The numbers of this survey shall be typed anew.
    """

    survey_is_wrong = Signal(int)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._page: FramePage | None = None
        title = QLabel(tr("&Journal"))
        title.setFont(bench.theme.font("body", bold=True))
        self.table = JournalTable(bench)
        self.table.setMinimumHeight(7 * bench.theme.px("body"))
        title.setBuddy(self.table)
        self._correct = KeyHintButton(bench.theme, tr("Correct"), "C")
        self._correct.clicked.connect(self.correct)
        self._take_back = KeyHintButton(bench.theme, tr("Take back"), "Del")
        self._take_back.clicked.connect(self.take_back)
        head = QHBoxLayout()
        head.setSpacing(2 * STEP)
        head.addWidget(title)
        head.addStretch(1)
        head.addWidget(self._correct)
        head.addWidget(self._take_back)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        column.addLayout(head)
        column.addWidget(self.table, 1)
        self.table.selectionModel().currentChanged.connect(self._enable)

    def show_page(self, page: FramePage) -> None:
        """Show the journal of a frame."""
        self._page = page
        self.table.show_page(page)
        self._enable()

    def take_back(self) -> None:
        """Take the chosen line back; undo brings it again."""
        line = self.table.chosen
        if line is None or self._page is None:
            return
        code, event_id = self._page.frame.code, line.event.event_id
        self.bench.change(lambda desk: history.withdraw(desk, code, event_id), owner=self)

    def correct(self) -> None:
        """Open what the chosen line says: the numbers of a survey, else its time and details."""
        line = self.table.chosen
        if line is None or self._page is None:
            return
        if isinstance(line.event.payload, Surveyed):
            self.survey_is_wrong.emit(line.event.event_id)
            return
        self._form(self._page, line).open()

    def _form(self, page: FramePage, line: JournalLine) -> StepForm:
        event, code = line.event, page.frame.code
        fields = (
            *detail_fields(event.payload),
            FormField("happened_at", tr("&When"), "moment", event.happened_at),
            FormField("note", tr("N&ote"), "text", event.note),
        )

        def record(desk: Desk, values: dict[str, Any]) -> Done:
            said = values.pop("happened_at")
            # The form shows minutes; a time that nobody touched keeps its seconds and its place.
            is_same = said == event.happened_at.replace(second=0, microsecond=0)
            when = When(None if is_same else said, values.pop("note"))
            right = with_details(event.payload, values)
            return history.correct(desk, code, event.event_id, right, when=when)

        return StepForm(self.bench, tr("Correct"), self.table.words(line), fields, record, self)

    def _enable(self) -> None:
        for button in (self._correct, self._take_back):
            button.setEnabled(self.table.chosen is not None)
