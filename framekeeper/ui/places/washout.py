"""The washout: each scan is a reclaim; haze, damage and findings of the last one by one key."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services import washout
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import frame_page
from framekeeper.services.washout import Waiting, Washed
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.places.frame_damage import OneKeyDamageForm
from framekeeper.ui.places.frame_form import FormField, StepForm
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.washout_last import LastScan
from framekeeper.ui.places.washout_queue import QueueTable
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import CautionStrip, KeyHintButton, PlaceHeader


@dataclass(frozen=True, slots=True)
class _Looked:
    """The queue, and the scan that was asked about as it stands now; None where it was undone."""

    waiting: list[Waiting]
    asked: Washed | None
    found: Washed | None


def _look(desk: Desk, last: Washed | None) -> _Looked:
    found = None if last is None else _still(desk, last)
    return _Looked(washout.washout_queue(desk), last, found)


def _still(desk: Desk, last: Washed) -> Washed | None:
    page = frame_page(desk, last.codes[0])
    if all(event.event_id != last.event_id for event in page.standing):
        return None
    inspection = next((t for t in page.tasks if t.rule == "inspect_mesh"), None)
    return replace(last, frame=page.frame, inspection=inspection)


class Washout(Place):
    """Takes scans; what each one means stands above the field."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self.session: list[Washed] = []
        self._fills_queue = False
        theme = bench.theme
        self._header = PlaceHeader(theme, tr("Washout"), tr("Looking at the shop …"))
        self._meaning = QLabel()
        self._meaning.setFont(theme.font("large", bold=True))
        self.code = QLineEdit()
        self.code.setPlaceholderText(tr("Code or label"))
        self.code.setAccessibleName(tr("Scan or type a code"))
        self.code.returnPressed.connect(self._entered)
        self.trouble = Trouble(theme)
        self.haze_next = QCheckBox(tr("&Haze remover on what is scanned next (F3)"))
        self._count = QLabel()
        self._count.setFont(theme.font("large"))
        self.last = LastScan(bench)
        self.last.haze.clicked.connect(self._turn_haze)
        self.last.damage.clicked.connect(self._damage)
        self.last.inspected.clicked.connect(self._inspect)
        self.last.findings.clicked.connect(self._findings)
        self.last.undo.clicked.connect(self._undo)
        self._switch = KeyHintButton(theme, tr("Fill the queue instead"), "F7")
        self._switch.clicked.connect(self._turn_meaning)
        self.queue = QueueTable(bench)
        self._haze_key = QAction(tr("Haze remover on what is scanned next"), self)
        self._haze_key.setShortcut("F3")
        self._haze_key.triggered.connect(self.haze_next.toggle)
        self.addAction(self._haze_key)
        self._lay_out()
        self._show_meaning()
        self._show_session()

    def _lay_out(self) -> None:
        label = QLabel(tr("&Scan or type a code"))
        label.setBuddy(self.code)
        scan = QVBoxLayout()
        scan.setSpacing(2 * STEP)
        top = QHBoxLayout()
        top.addWidget(self._meaning, 1)
        top.addWidget(self._switch)
        scan.addLayout(top)
        scan.addWidget(label)
        scan.addWidget(self.code)
        scan.addWidget(self.haze_next)
        scan.addWidget(self.trouble)
        scan.addSpacing(3 * STEP)
        scan.addWidget(self._count)
        scan.addWidget(self.last)
        scan.addStretch(1)
        scan.addWidget(CautionStrip(self.bench.theme, caution("washout")))
        waiting = QVBoxLayout()
        waiting.setSpacing(2 * STEP)
        title = QLabel(tr("&Waiting, longest first"))
        title.setBuddy(self.queue)
        title.setFont(self.bench.theme.font("body", bold=True))
        waiting.addWidget(title)
        waiting.addWidget(self.queue, 1)
        body = QHBoxLayout()
        body.setSpacing(6 * STEP)
        body.addLayout(scan, 1)
        body.addLayout(waiting, 1)
        self.column.addWidget(self._header)
        self.column.addLayout(body, 1)

    def take_focus(self) -> None:
        self.code.setFocus()

    # what is shown

    def refresh(self) -> None:
        last = self.session[-1] if self.session else None
        self.bench.read(lambda desk: _look(desk, last), self._show, owner=self)

    def _show(self, looked: _Looked) -> None:
        self.queue.show_waiting(looked.waiting)
        count = len(looked.waiting)
        self._header.set_purpose(
            tr_count("{n} screen waits", "{n} screens wait", count)
            if count
            else tr("No screen waits. One is queued on its page, or here with F7 and a scan.")
        )
        # A scan may have come home between the question and its answer.
        if self.session and looked.asked and self.session[-1].event_id == looked.asked.event_id:
            self.session[-1:] = [looked.found] if looked.found is not None else []
        self._show_session()

    def _show_session(self) -> None:
        count = len(self.session)
        self._count.setText(
            tr_count("{n} reclaimed in this session", "{n} reclaimed in this session", count)
        )
        self.last.show_washed(self.session[-1] if self.session else None)

    def _show_meaning(self) -> None:
        if self._fills_queue:
            self._meaning.setText(tr("A scan puts the screen into the queue"))
            self._switch.setText(tr("Reclaim instead"))
        else:
            self._meaning.setText(tr("A scan records a reclaim"))
            self._switch.setText(tr("Fill the queue instead"))
        self.haze_next.setEnabled(not self._fills_queue)

    def _turn_meaning(self) -> None:
        self._fills_queue = not self._fills_queue
        self._show_meaning()
        self.code.setFocus()

    # scans

    def take_scan(self, code: str) -> bool:
        self._take(code, is_typed=False)
        return True

    def _entered(self) -> None:
        text = self.code.text().strip()
        if text:
            self._take(text, is_typed=True)

    def _take(self, code: str, *, is_typed: bool) -> None:
        """Record what a scan means; one that was not typed leaves the field as it is."""
        refused = partial(self._refused, is_typed=is_typed)
        haze = self.haze_next.isChecked()
        if self._fills_queue:
            self.bench.change(
                lambda desk: washout.queue(desk, [code]),
                partial(self._queued, is_typed=is_typed),
                owner=self,
                fail=refused,
            )
            return
        self.bench.change(
            lambda desk: washout.wash(desk, code, haze_remover=haze),
            partial(self._washed, is_typed=is_typed),
            owner=self,
            fail=refused,
        )

    def _queued(self, _done: Done, *, is_typed: bool) -> None:
        self._accepted(is_typed=is_typed)

    def _washed(self, washed: Washed, *, is_typed: bool) -> None:
        self._accepted(is_typed=is_typed)
        self.session.append(washed)
        self._show_session()

    def _accepted(self, *, is_typed: bool) -> None:
        self.trouble.say("")
        if is_typed:
            self.code.clear()
        self.code.setFocus()

    def _refused(self, error: FramekeeperError, *, is_typed: bool = False) -> None:
        self.trouble.say(self.bench.formatter.error(error))
        if is_typed:
            self.code.selectAll()

    # what is found on the last one

    def _turn_haze(self) -> None:
        washed = self.last.washed
        if washed is not None:
            self._record_otherwise(
                washed, haze_remover=not washed.haze_remover, findings=washed.findings
            )

    def _record_otherwise(self, washed: Washed, *, haze_remover: bool, findings: str) -> None:
        def work(desk: Desk) -> Washed:
            return washout.wash_otherwise(
                desk, washed, haze_remover=haze_remover, findings=findings
            )

        self.bench.change(work, self._corrected, owner=self, fail=self._refused)

    def _corrected(self, washed: Washed) -> None:
        """The correction takes the place of the scan that it is about."""
        codes = [w.codes for w in self.session]
        if washed.codes in codes:
            place = len(codes) - 1 - codes[::-1].index(washed.codes)
            self.session[place] = washed
        else:
            self.session.append(washed)
        self._show_session()
        self.code.setFocus()

    def _findings(self) -> None:
        washed = self.last.washed
        if washed is None or washed.frame is None:
            return

        def record(desk: Desk, values: dict[str, Any]) -> Done:
            return washout.wash_otherwise(
                desk, washed, haze_remover=washed.haze_remover, findings=values["findings"]
            )

        field = FormField("findings", tr("&Findings"), "text", washed.findings)
        form = StepForm(self.bench, tr("Findings"), washed.frame.name, (field,), record, self)
        form.succeeded.connect(self._corrected)
        form.open()

    def _damage(self) -> None:
        washed = self.last.washed
        if washed is not None and washed.frame is not None:
            OneKeyDamageForm(self.bench, washed.codes[0], washed.frame.name, self).open()

    def _inspect(self) -> None:
        washed = self.last.washed
        if washed is not None:
            code = washed.codes[0]
            self.bench.change(
                lambda desk: washout.inspect(desk, [code]), owner=self, fail=self._refused
            )
            self.code.setFocus()

    def _undo(self) -> None:
        washed = self.last.washed
        if washed is not None:
            self.bench.change(
                lambda desk: washout.unwash(desk, washed), owner=self, fail=self._refused
            )
            self.code.setFocus()
