"""The page of one roll: what is known of it, and every movement down to who, when and why."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services import stock
from framekeeper.services.stock_moves import MoveLine, RollPage, roll_page
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import difference, roll_length
from framekeeper.ui.models.table import Column, RowsModel
from framekeeper.ui.places.shelf_forms import (
    CountForm,
    EditRollForm,
    FormHost,
    OffcutForm,
    ScrapForm,
    ShelfForm,
)
from framekeeper.ui.places.shelf_page import ShelfPage
from framekeeper.ui.places.shelf_words import serving_words
from framekeeper.ui.prices import price_words
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.work_table import WorkTable

_RIGHT = Qt.AlignmentFlag.AlignRight


class RollPanel(ShelfPage):
    """A roll or an offcut; Enter on a cut opens the frame that it was for."""

    def __init__(self, bench: Bench) -> None:
        theme = bench.theme
        self.edit = KeyHintButton(theme, tr("Change …"), "Ctrl+E")
        self.labels = KeyHintButton(theme, tr("Label …"), "Ctrl+L")
        super().__init__(bench, tr("Roll"), (self.labels, self.edit))
        self._code = ""
        self.page: RollPage | None = None
        self._never = KeyHintButton(theme, tr("It never came"), "F9")
        self._count = KeyHintButton(theme, tr("Count …"), "F3")
        self._scrap = KeyHintButton(theme, tr("Scrap …"), "F4")
        self._offcut = KeyHintButton(theme, tr("Keep an offcut …"), "F6")
        for button, slot in (
            (self.edit, self._open_edit),
            (self.labels, self._open_labels),
            (self._never, self._take_back),
            (self._count, self._open_count),
            (self._scrap, self._open_scrap),
            (self._offcut, self._open_offcut),
        ):
            button.clicked.connect(slot)
        model: RowsModel[MoveLine] = RowsModel(_columns(bench), _line_id, self)
        self.lines = WorkTable(theme, model, tr("Movements"))
        self.lines.asked.connect(self._open_frame)
        self._facts = QLabel()
        self._facts.setWordWrap(True)
        self._lay_out()

    def _lay_out(self) -> None:
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self._facts, 1)
        for button in (self._count, self._scrap, self._offcut, self._never):
            keys.addWidget(button)
        self.column.addLayout(keys)
        self.forms = FormHost(self.bench, QWidget())
        self.forms.hide()
        self.forms.closed.connect(self._rest)
        body = QHBoxLayout()
        body.setSpacing(6 * STEP)
        body.addWidget(self.lines, 2)
        body.addWidget(self.forms, 1)
        self.column.addLayout(body, 1)

    # what is shown

    def show_roll(self, code: str) -> None:
        """Show another roll."""
        self._code = code
        self._rest()
        self.refresh()

    def refresh(self) -> None:
        if self._code:
            code = self._code
            self.bench.read(
                lambda desk: roll_page(desk, code), self._show, owner=self, fail=self._gone
            )

    def _gone(self, _error: FramekeeperError) -> None:
        """Its arrival was taken back."""
        self._code = ""
        self.left.emit()

    def _show(self, page: RollPage) -> None:
        self.page = page
        roll, formatter = page.roll, self.bench.formatter
        kind = tr("Offcut {code}") if roll.is_offcut else tr("Roll {code}")
        self.header.set_title(kind.format(code=roll.code))
        told = [
            page.mesh.name,
            tr("{width} wide", width=formatter.length(roll.width_mm)),
            tr("{length} left", length=roll_length(formatter, roll.on_hand_mm)),
            tr("lot {lot}", lot=roll.lot) if roll.lot else "",
            roll.supplier,
            price_words(formatter, roll.price_per_m),
        ]
        self.header.set_purpose(" · ".join(word for word in told if word))
        self._facts.setText(self._kin_words(page))
        self.lines.show_rows(page.lines)
        self.lines.choose_first()
        self._scrap.setEnabled(roll.on_hand_mm > 0)
        has_only_come = all(line.move.kind == "received" for line in page.lines)
        self._never.setVisible(has_only_come and not page.offcuts)

    def _kin_words(self, page: RollPage) -> str:
        said = []
        if page.mother is not None:
            said.append(tr("Cut from roll {code}.", code=page.mother.code))
        if page.serving is not None:
            said.append(serving_words(self.bench.formatter, page.serving))
        if page.offcuts:
            codes = ", ".join(r.code for r in page.offcuts)
            said.append(tr("Offcuts kept: {codes}.", codes=codes))
        return " ".join(said)

    def take_focus(self) -> None:
        if self.forms.form is None:
            self.lines.setFocus()

    # the work

    def _open(self, form: ShelfForm) -> None:
        self.forms.show()
        self.forms.open(form)

    def _rest(self) -> None:
        self.forms.hide()
        self.lines.setFocus()

    def _open_edit(self) -> None:
        if self.page is not None:
            self._open(EditRollForm(self.bench, self.page.roll))

    def _open_count(self) -> None:
        if self.page is not None:
            self._open(CountForm(self.bench, self.page.roll))

    def _open_scrap(self) -> None:
        if self.page is not None:
            is_for_scrap = self.page.serving is not None and self.page.serving.is_for_scrap
            self._open(ScrapForm(self.bench, self.page.roll, is_for_scrap=is_for_scrap))

    def _open_offcut(self) -> None:
        if self.page is not None:
            self._open(OffcutForm(self.bench, self.page.roll))

    def _open_labels(self) -> None:
        from framekeeper.ui.dialogs.roll_labels import open_roll_labels

        if self.page is not None:
            open_roll_labels(self.bench, self, [self.page.roll.code])

    def _take_back(self) -> None:
        code = self._code
        self.bench.change(lambda desk: stock.take_back_roll(desk, code), owner=self)

    def _open_frame(self) -> None:
        chosen = self.lines.chosen()
        if len(chosen) == 1 and chosen[0].frame is not None:
            self.bench.frame_wanted.emit(chosen[0].frame.code)


def _columns(bench: Bench) -> tuple[Column[MoveLine], ...]:
    formatter = bench.formatter
    return (
        Column(
            "at",
            tr("When"),
            lambda r: formatter.moment(r.move.happened_at),
            lambda r: (r.move.happened_at, r.move.id),
            width=170,
        ),
        Column("kind", tr("What"), kind_words, kind_words, width=130),
        Column(
            "length",
            tr("Length"),
            lambda r: difference(formatter, r.move.length_mm),
            lambda r: r.move.length_mm,
            width=104,
            align=_RIGHT,
        ),
        Column(
            "left",
            tr("Left"),
            lambda r: roll_length(formatter, r.left_mm),
            lambda r: r.left_mm,
            width=90,
            align=_RIGHT,
        ),
        Column(
            "frame",
            tr("Frame"),
            lambda r: r.frame.name if r.frame else "",
            lambda r: r.frame.number if r.frame else None,
            width=104,
        ),
        Column("by", tr("Who"), lambda r: r.operation.by, lambda r: r.operation.by, width=80),
        Column("why", tr("Why"), lambda r: r.move.reason, lambda r: r.move.reason, width=120),
        Column(
            "operation",
            tr("Recorded as"),
            _operation_words,
            lambda r: r.operation.id,
            width=200,
            tooltip=lambda r: formatter.moment(r.operation.recorded_at),
        ),
    )


def kind_words(line: MoveLine) -> str:
    """Say what a movement was; one that was taken back says so."""
    words = {
        "received": tr("came"),
        "cut": tr("cut"),
        "scrapped": tr("scrapped"),
        "counted": tr("counted"),
    }[line.move.kind]
    if line.takes_back is not None:
        return tr("{what}: taken back", what=words)
    return tr("{what}, later taken back", what=words) if line.is_taken_back else words


def _operation_words(line: MoveLine) -> str:
    operation = line.operation
    return tr(
        "{number}: {action} {subject}",
        number=operation.id,
        action=operation.action,
        subject=operation.subject,
    )


def _line_id(line: MoveLine) -> int:
    return line.move.id
