"""Walks a person through the readings of a study: one question, one number, Enter, the next."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.tension import valid_tension
from framekeeper.services.meter_studies import StudyDone
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.dialogs.fields import number_in, shown_number
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.models.table import Column, RowsModel
from framekeeper.ui.places.meter_memory import HalfStudy
from framekeeper.ui.places.meter_step import MeterStep
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import CautionStrip, KeyHintButton
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.work_table import WorkTable


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that was typed, with its question."""

    number: int
    question: str
    value: float


class StudyWalk(MeterStep):
    """Asks for one reading after the other; what is typed is kept when the person leaves.

    Signals
    -------
    changed()
        Another number is there, or one less: keep the study as it stands.
    saved(done)
        The study is complete and in the shop's books.
    forgotten(kind)
        The person wants to begin anew.
    left()
        The person goes; the study stays half typed.
    """

    changed = Signal()
    saved = Signal(object)
    forgotten = Signal(str)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        theme = bench.theme
        self._half: HalfStudy | None = None
        self._at = 0
        self._is_waiting = False
        self._may_forget = False
        self._title, self._question, self._progress = QLabel(), QLabel(), QLabel()
        self._title.setFont(theme.font("large"))
        self._question.setFont(theme.font("title", bold=True))
        self._question.setWordWrap(True)
        self._progress.setProperty("quiet", True)
        self.field = QLineEdit()
        self.field.setFont(theme.font("title"))
        self.field.returnPressed.connect(self._entered)
        self.trouble = Trouble(theme)
        self.back = KeyHintButton(theme, tr("One back"), "F3")
        self.finish = KeyHintButton(theme, tr("Work it out and save"), "Ctrl+Return", is_main=True)
        self.forget = KeyHintButton(theme, tr("Begin anew"), "F8")
        self.leave = LocalKeyButton(theme, tr("Leave it half typed"), "Esc")
        self.back.clicked.connect(self._one_back)
        self.finish.clicked.connect(self._finish)
        self.forget.clicked.connect(self._forget)
        self.leave.clicked.connect(self.left)
        typed: RowsModel[Typed] = RowsModel(self._columns(), _typed_id, self)
        self.typed = WorkTable(theme, typed, tr("Numbers so far"))
        self.typed.asked.connect(self._correct)
        self._lay_out()

    def _columns(self) -> tuple[Column[Typed], ...]:
        f = self.bench.formatter
        right = Qt.AlignmentFlag.AlignRight
        return (
            Column("n", tr("No."), lambda t: str(t.number + 1), lambda t: t.number, 56, right),
            Column(
                "value", tr("N/cm"), lambda t: shown_number(t.value, f, 2), lambda t: t.value, 80,
                right,
            ),
            Column("what", tr("Reading"), lambda t: t.question, lambda t: t.number, width=240),
        )  # fmt: skip

    def _lay_out(self) -> None:
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        for button in (self.finish, self.back):
            keys.addWidget(button)
        keys.addStretch(1)
        rest = QHBoxLayout()
        rest.setSpacing(2 * STEP)
        for button in (self.leave, self.forget):
            rest.addWidget(button)
        rest.addStretch(1)
        self._label = QLabel(tr("&The meter shows, N/cm"))
        self._label.setBuddy(self.field)
        asking = QVBoxLayout()
        asking.setSpacing(2 * STEP)
        asking.addWidget(self._title)
        asking.addWidget(self._progress)
        asking.addSpacing(4 * STEP)
        for widget in (self._question, self._label, self.field, self.trouble):
            asking.addWidget(widget)
        asking.addSpacing(3 * STEP)
        asking.addLayout(keys)
        asking.addLayout(rest)
        asking.addStretch(1)
        asking.addWidget(CautionStrip(self.bench.theme, caution("meter")))
        body = QHBoxLayout(self)
        body.setContentsMargins(0, 0, 0, 0)
        body.setSpacing(6 * STEP)
        body.addLayout(asking, 3)
        body.addWidget(self.typed, 2)

    @property
    def half(self) -> HalfStudy | None:
        """The study as it stands."""
        return self._half

    @property
    def question(self) -> str:
        """What is asked for now."""
        return self._question.text()

    def begin(self, half: HalfStudy) -> None:
        """Ask for the next number of a study that was just begun, or left half typed."""
        self._half, self._at = half, len(half.values)
        self._is_waiting = False
        self.trouble.say("")
        self._ask()
        self.focus_work()

    def focus_work(self) -> None:
        self.field.setFocus()

    def _ask(self) -> None:
        half = self._half
        assert half is not None
        plan, taken = half.plan, len(half.values)
        self._may_forget = False
        self._title.setText(plan.title())
        self._progress.setText(plan.progress(taken))
        if self._at < taken or plan.takes_more(taken):
            self._question.setText(plan.question(self._at))
        else:
            self._question.setText(tr("All numbers are here. Enter works them out and saves them."))
        self.field.setAccessibleName(self._question.text())
        if self._at < taken:
            self.field.setText(shown_number(half.values[self._at], self.bench.formatter, 2))
            self.field.selectAll()
        else:
            self.field.clear()
        self.finish.setEnabled(plan.is_complete(taken))
        self.back.setEnabled(self._at > 0)
        rows = [Typed(n, plan.question(n), value) for n, value in enumerate(half.values)]
        self.typed.show_rows(rows[::-1])

    # numbers

    def _entered(self) -> None:
        half = self._half
        assert half is not None
        taken = len(half.values)
        if self._at == taken and not half.plan.takes_more(taken):
            self._finish()
            return
        try:
            value = valid_tension(number_in(self.field, "reading", self.bench.formatter))
        except FramekeeperError as refused:
            self.trouble.say(self.bench.formatter.error(refused))
            self.field.selectAll()
            return
        self.trouble.say("")
        values = list(half.values)
        values[self._at : self._at + 1] = [value]
        self._half = HalfStudy(half.plan, tuple(values))
        self._at = len(values)
        self._ask()
        self.changed.emit()

    def _one_back(self) -> None:
        self._at = max(0, self._at - 1)
        self._ask()
        self.focus_work()

    def _correct(self) -> None:
        chosen = self.typed.chosen()
        if len(chosen) == 1:
            self._at = chosen[0].number
            self._ask()
            self.focus_work()

    # the end

    def _finish(self) -> None:
        half = self._half
        if half is None or self._is_waiting or not half.plan.is_complete(len(half.values)):
            return
        self._is_waiting = True
        self.bench.change(half.plan.order(half.values), self._saved, owner=self, fail=self._refused)

    def _saved(self, done: StudyDone) -> None:
        self._is_waiting = False
        self._half = None
        self.saved.emit(done)

    def _refused(self, error: FramekeeperError) -> None:
        self._is_waiting = False
        self.trouble.say(self.bench.formatter.error(error))
        self.focus_work()

    def _forget(self) -> None:
        """Typed numbers are nowhere else, so the key is needed twice."""
        half = self._half
        if half is None:
            return
        if half.values and not self._may_forget:
            self._may_forget = True
            self.trouble.say(
                tr("Press F8 again to throw {n} typed numbers away.", n=len(half.values))
            )
            return
        self._half = None
        self.forgotten.emit(half.plan.kind)


def _typed_id(typed: Typed) -> int:
    return typed.number
