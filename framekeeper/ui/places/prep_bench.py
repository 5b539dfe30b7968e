"""The prep bench: bare and pulled frames, what each still needs, and one key for each step."""

from __future__ import annotations

from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.events import PrepStep
from framekeeper.services import marks, prep
from framekeeper.services.bench_queues import PrepQueue, PrepRow, prep_queue
from framekeeper.services.desk import Desk, Done
from framekeeper.services.prep import BenchStep, StepRequest
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.prep_forms import SKIPPABLE, FailForm, SkipForm
from framekeeper.ui.places.prep_table import prep_columns, step_name
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.short_form import LocalKeyButton, ShortForm
from framekeeper.ui.widgets.work_table import WorkTable

STEP_KEYS: dict[BenchStep, str] = {
    "inspect": "F2",
    "strip": "F3",
    "old_glue": "F4",
    "abrade": "F5",
    "corners": "F6",
    "degrease": "F7",
    "regrind": "F8",
}


class PrepBench(Place):
    """Shows what waits for prep; a step is one key for all the chosen frames."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._scanned = ""
        self._go = KeyHintButton(bench.theme, tr("To the stretching table"), "Ctrl+G")
        self._go.clicked.connect(self._go_stretching)
        self._header = PlaceHeader(
            bench.theme, tr("Prep bench"), tr("Looking at the frames …"), (self._go,)
        )
        model: RowsModel[PrepRow] = RowsModel(prep_columns(bench), _row_id, self)
        self.table = WorkTable(bench.theme, model, tr("Frames at the prep bench"))
        self.table.asked.connect(self.do_next)
        self.table.chosen_changed.connect(self._chosen_changed)
        self._chosen = QLabel()
        self._chosen.setFont(bench.theme.font("large"))
        self._chosen.setWordWrap(True)
        self._caution = CautionStrip(bench.theme, "")
        self._next = LocalKeyButton(bench.theme, tr("Do the next step"), "Space", is_main=True)
        self._next.clicked.connect(self.do_next)
        self._skip, self._fail = SkipForm(bench), FailForm(bench)
        self._buttons = self._step_buttons()
        self._work = QStackedWidget()
        self._pages = QStackedWidget()
        self._lay_out()
        for form in (self._skip, self._fail):
            form.left.connect(self._show_steps)
        self._skip.confirmed.connect(self._confirm_skip)
        self._fail.confirmed.connect(self._confirm_fail)

    # layout

    def _step_buttons(self) -> QWidget:
        page = QWidget()
        grid = QGridLayout(page)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(2 * STEP)
        buttons: list[KeyHintButton] = []
        for step, key in STEP_KEYS.items():
            button = KeyHintButton(self.bench.theme, step_name(step), key)
            button.clicked.connect(_Do(self, step))
            buttons.append(button)
        for words, key, slot in (
            (tr("Skip a step …"), "F9", self._open_skip),
            (tr("Fails inspection …"), "F10", self._open_fail),
            (tr("End the hold"), "Ctrl+E", self._end_hold),
            (tr("Open the frame"), "Ctrl+O", self._open_frame),
        ):
            button = KeyHintButton(self.bench.theme, words, key)
            button.clicked.connect(slot)
            buttons.append(button)
        for number, button in enumerate(buttons):
            grid.addWidget(button, number // 4, number % 4)
        grid.setRowStretch(3, 1)
        for place in range(4):
            grid.setColumnStretch(place, 1)
        return page

    def _lay_out(self) -> None:
        for page in (self._buttons, self._skip, self._fail):
            self._work.addWidget(page)
        left = QVBoxLayout()
        left.setSpacing(2 * STEP)
        left.addWidget(self._chosen)
        left.addWidget(self._next)
        left.addStretch(1)
        foot = QHBoxLayout()
        foot.setSpacing(6 * STEP)
        foot.addLayout(left, 2)
        foot.addWidget(self._work, 5)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3 * STEP)
        column.addWidget(self.table, 1)
        column.addLayout(foot)
        column.addWidget(self._caution)
        self._empty = EmptyState(
            self.bench.theme,
            self.bench.icons,
            "prep",
            tr("No frame waits for prep"),
            tr(
                "Bare frames come here when they are registered on the Rack, and screens when "
                "they are pulled from service."
            ),
        )
        self._pages.addWidget(body)
        self._pages.addWidget(self._empty)
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)

    # what is shown

    def take_focus(self) -> None:
        self.table.setFocus()

    def refresh(self) -> None:
        self.bench.read(prep_queue, self._show, owner=self)

    def _show(self, queue: PrepQueue) -> None:
        self.table.show_rows(queue.rows)
        self.table.choose_first()
        self._header.set_purpose(_purpose(queue))
        self._pages.setCurrentIndex(0 if queue.rows else 1)
        self._go.setVisible(queue.prepped > 0)

    def _chosen_changed(self) -> None:
        chosen = self.table.chosen()
        if len(chosen) == 1:
            self._chosen.setText(chosen[0].frame.name)
        else:
            self._chosen.setText(
                tr_count("{n} frame chosen", "{n} frames chosen", len(chosen))
                if chosen
                else tr("Choose frames, or scan one")
            )
        steps = {row.next_step for row in chosen if row.next_step}
        self._name_next(steps)
        for button in (self._next, *self._buttons.findChildren(QPushButton)):
            button.setEnabled(bool(chosen))

    def _name_next(self, steps: set[BenchStep]) -> None:
        only = next(iter(steps)) if len(steps) == 1 else None
        self._next.setText(
            tr("Next: {step}", step=step_name(only)) if only else tr("Do the next step of each")
        )
        texts = {caution(step) for step in steps} - {""}
        self._caution.show_caution(" ".join(sorted(texts)))
        self._caution.setVisible(bool(texts))

    # steps

    def codes(self) -> list[str]:
        """Return the codes of the chosen frames."""
        return [row.frame.code for row in self.table.chosen()]

    def do_next(self) -> None:
        """Record the next step of each chosen frame."""
        if codes := self.codes():
            self.bench.change(lambda desk: prep.do_next(desk, codes), owner=self)

    def do_step(self, step: BenchStep) -> None:
        """Record one step for the chosen frames."""
        if codes := self.codes():
            self.bench.change(lambda desk: _record(desk, codes, step), owner=self)

    def take_scan(self, code: str) -> bool:
        """Choose the scanned frame; the same frame scanned again gets its next step."""
        if code not in {row.frame.code for row in self.table.rows}:
            self._scanned = ""
            return False
        again = code == self._scanned and self.codes() == [code]
        self._show_steps()
        self.table.choose([code])
        self._scanned = code
        if again:
            self.do_next()
        return True

    def _open_skip(self) -> None:
        coming = next((r.next_step for r in self.table.chosen() if r.next_step in SKIPPABLE), None)
        self._work.setCurrentWidget(self._skip)
        self._skip.open_for(_as_prep_step(coming))

    def _open_fail(self) -> None:
        self._work.setCurrentWidget(self._fail)
        self._fail.open_for()

    def _confirm_skip(self) -> None:
        self._send(self._skip, self._skip.request())

    def _confirm_fail(self) -> None:
        try:
            request = self._fail.request()
        except NotValid as error:
            self._fail.refuse(error, self.bench.formatter)
            return
        self._send(self._fail, request)

    def _send(self, form: ShortForm, request: StepRequest) -> None:
        codes = self.codes()
        form.wait()

        def refused(error: FramekeeperError) -> None:
            form.refuse(error, self.bench.formatter)

        self.bench.change(
            lambda desk: prep.do_step(desk, codes, request),
            self._recorded,
            owner=self,
            fail=refused,
        )

    def _recorded(self, _done: Done) -> None:
        self._show_steps()

    def _show_steps(self) -> None:
        self._work.setCurrentWidget(self._buttons)
        self.table.setFocus()

    def _end_hold(self) -> None:
        if codes := self.codes():
            self.bench.change(lambda desk: marks.end_hold(desk, codes), owner=self)

    def _open_frame(self) -> None:
        if codes := self.codes():
            self.bench.frame_wanted.emit(codes[0])

    def _go_stretching(self) -> None:
        self.bench.place_wanted.emit("stretching")


class _Do:
    """Records one step; a plain callable, because a lambda in a loop would remember the last."""

    def __init__(self, place: PrepBench, step: BenchStep) -> None:
        self._place, self._step = place, step

    def __call__(self) -> None:
        self._place.do_step(self._step)


def _record(desk: Desk, codes: list[str], step: BenchStep) -> Done:
    if step == "strip":
        return prep.strip(desk, codes)
    return prep.do_step(desk, codes, StepRequest(step))


def _as_prep_step(step: BenchStep | None) -> PrepStep | None:
    return None if step is None or step == "strip" else step


def _row_id(row: PrepRow) -> str:
    return row.frame.code


def _purpose(queue: PrepQueue) -> str:
    held = sum(row.frame.state.hold_reason is not None for row in queue.rows)
    words = [tr_count("{n} frame waits", "{n} frames wait", len(queue.rows))]
    if held:
        words.append(tr_count("{n} on hold", "{n} on hold", held))
    if queue.prepped:
        words.append(
            tr_count("{n} prepped and ready to stretch", "{n} prepped and ready to stretch",
                     queue.prepped)
        )  # fmt: skip
    return ", ".join(words)
