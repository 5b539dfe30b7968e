"""A small form for what needs a reason or a name: hold, reserve, pull, send out, retire."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import QGridLayout, QLineEdit, QPushButton, QWidget

from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import OptionalDate, today_here
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP

Answer = Callable[[Desk, str, dt.date | None], Done]
_IN_A_ROW = 2


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: `argument` is the name by which the service refuses the text."""

    title: str
    confirm: str
    label: str
    argument: str
    quick: Sequence[str] = ()
    date_label: str = ""  # empty: no date is asked for
    days_ahead: int = 7


class ReasonForm(FormDialog):
    """One text with quick answers on Alt and a number, and a date where one helps."""

    def __init__(
        self,
        bench: Bench,
        question: Question,
        subject: str,
        answer: Answer,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(
            bench, question.title, question.confirm, purpose=subject, parent=parent, wide=34
        )
        self._answer = answer
        self.text = QLineEdit()
        self.add_field(question.argument, question.label, self.text)
        if question.quick:
            self.form.addRow("", self._quick(question.quick))
        self.date: OptionalDate | None = None
        if question.date_label:
            day = today_here() + dt.timedelta(days=question.days_ahead)
            self.date = OptionalDate(question.date_label, day)
            self.form.addRow("", self.date)
        self.text.setFocus()

    def _quick(self, reasons: Sequence[str]) -> QWidget:
        box = QWidget()
        grid = QGridLayout(box)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(STEP)
        for number, reason in enumerate(reasons, start=1):
            button = QPushButton(tr("&{number}  {reason}", number=number, reason=reason))
            button.setAutoDefault(False)
            button.setAccessibleName(reason)
            button.setToolTip(tr("{action} (Alt+{number})", action=reason, number=number))
            button.setProperty("reason", reason)
            button.setStyleSheet("text-align: left;")
            button.clicked.connect(self._take)
            grid.addWidget(button, *divmod(number - 1, _IN_A_ROW))
        return box

    def _take(self) -> None:
        button = self.sender()
        if isinstance(button, QPushButton):
            self.text.setText(str(button.property("reason")))
            self.text.setFocus()

    def order(self) -> Callable[[Desk], Done]:
        text = self.text.text()
        day = self.date.day() if self.date is not None else None
        return lambda desk: self._answer(desk, text, day)
