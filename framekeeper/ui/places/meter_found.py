"""A meter is found out: first what would change, frame by frame; then one key records it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.meter_checks import (
    ChangedFrame,
    FoundOut,
    FoundOutDone,
    MeterPage,
    bias_of,
    find_out,
    look_into,
)
from framekeeper.services.meter_telling import what_is_doubted
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_field, number_in
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.meter_step import MeterStep
from framekeeper.ui.places.meter_tables import changed_columns, changed_id
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.short_form import ShortForm
from framekeeper.ui.widgets.work_table import WorkTable

_FORM_WIDTH = 160 * STEP


class FoundOutPage(MeterStep):
    """The bias, what it would change, and the key that records it."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._meter = ""
        self.found: FoundOut | None = None
        self._asked: float | None = None
        self._is_waiting = False
        theme = bench.theme
        self.form = ShortForm(theme, "", tr("Show what changes"))
        self.form.setMaximumWidth(_FORM_WIDTH)
        self.bias = self.form.add_field(
            "bias", tr("It reads too &high by"), QLineEdit(), unit=tr("N/cm")
        )
        self.note = self.form.add_field("note", tr("No&te"), QLineEdit())
        hint = QLabel(
            tr(
                "What it shows on the reference screen, its correction added, less what the "
                "screen has; below zero where it reads too low. Raw values stay."
            )
        )
        hint.setProperty("quiet", True)
        self.form.add_note(hint)
        self.form.confirmed.connect(self._look)
        self.form.left.connect(self.left)
        self.bias.textChanged.connect(self._forget_look)
        self._words = QLabel()
        self._words.setFont(theme.font("large"))
        self._words.setWordWrap(True)
        rows: RowsModel[ChangedFrame] = RowsModel(changed_columns(bench), changed_id, self)
        self.changed = WorkTable(theme, rows, tr("Frames whose answer changes"))
        self.changed.asked.connect(self._open_frame)
        self.record = KeyHintButton(theme, tr("Conclude anew"), "Ctrl+Return", is_main=True)
        self.record.setAutoDefault(True)  # else Enter does nothing outside a dialog
        self.record.clicked.connect(self._record)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self.form)
        column.addWidget(self._words)
        column.addWidget(self.changed, 1)
        column.addWidget(self.record, 0, Qt.AlignmentFlag.AlignLeft)
        column.addStretch(0)

    @property
    def words(self) -> str:
        """What would change, in words."""
        return self._words.text()

    def begin(self, page: MeterPage) -> None:
        """Ask for the bias; that of the newest failed reference is proposed, and looked into."""
        self._meter = page.trust.meter.name
        self.form.set_title(tr("{meter} is found out", meter=self._meter))
        known = bias_of(page)
        proposed = number_field(known, self.bench.formatter, 2).text() if known else ""
        self.bias.setText(proposed)
        self.note.clear()
        self._forget_look()
        self.form.begin()
        if known:
            self._look()

    def focus_work(self) -> None:
        (self.record if self.record.isVisible() else self.bias).setFocus()

    def _forget_look(self) -> None:
        self.found, self._asked = None, None
        self._words.setText("")
        self.changed.show_rows(())
        self.changed.hide()
        self.record.hide()

    def _look(self) -> None:
        self.form.clear_error()
        try:
            bias = number_in(self.bias, "bias", self.bench.formatter)
        except FramekeeperError as refused:
            self.form.refuse(refused, self.bench.formatter)
            return
        meter = self._meter
        self._asked = bias
        self.bench.read(
            lambda desk: (bias, look_into(desk, meter, bias_n_per_cm=bias)),
            self._show,
            owner=self,
            fail=self._refused,
        )

    def _show(self, looked: tuple[float, FoundOut]) -> None:
        bias, found = looked
        if bias != self._asked:
            return  # the number was changed while the answer was under way
        self.found = found
        self._words.setText(self.bench.formatter.sentence(what_is_doubted(found)))
        self.changed.show_rows(found.changed)
        self.changed.setVisible(bool(found.changed))
        self.record.setVisible(bool(found.survey_ids))
        if found.survey_ids:
            self.record.setFocus()

    def _record(self) -> None:
        if self._is_waiting or self.found is None or self._asked is None:
            return
        self._is_waiting = True
        meter, bias, note = self._meter, self._asked, self.note.text()
        self.bench.change(
            lambda desk: find_out(desk, meter, bias_n_per_cm=bias, note=note),
            self._recorded,
            owner=self,
            fail=self._refused,
        )

    def _recorded(self, _done: FoundOutDone) -> None:
        self._is_waiting = False
        self.left.emit()

    def _refused(self, error: FramekeeperError) -> None:
        self._is_waiting = False
        self.form.refuse(error, self.bench.formatter)

    def _open_frame(self) -> None:
        chosen = self.changed.chosen()
        if len(chosen) == 1:
            self.bench.frame_wanted.emit(chosen[0].frame.code)
