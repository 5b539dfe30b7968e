"""The stock-take: scan the label of a roll, type what is left, Enter, next.

Every count is recorded at once. So a stock-take can be left and gone on with, two people can share
it, and undo takes back the last count, as after any other scan.
"""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QDate, QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QDateEdit, QHBoxLayout, QLabel, QLineEdit, QVBoxLayout

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.sentence import say
from framekeeper.services import stock
from framekeeper.services.desk import Desk, Done
from framekeeper.services.stock_moves import StockTake, TakeLine, stock_take
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import difference, read_roll_mm, roll_length, roll_unit_word
from framekeeper.ui.models.table import Column, RowsModel
from framekeeper.ui.places.shelf_page import ShelfPage
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.short_form import ShortForm
from framekeeper.ui.widgets.work_table import WorkTable

_RIGHT = Qt.AlignmentFlag.AlignRight
_HISTORY = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)


class _CodeField(QLineEdit):
    """Leaves undo to the shop while it is empty: a count was recorded, nothing was typed."""

    def event(self, event: QEvent) -> bool:
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and not self.text()
            and any(event.matches(key) for key in _HISTORY)
        ):
            event.ignore()
            return False
        return super().event(event)


class StockTakePanel(ShelfPage):
    """At the left what was counted and what nobody has seen, at the right the roll in hand."""

    def __init__(self, bench: Bench) -> None:
        theme = bench.theme
        super().__init__(bench, tr("Stock-take"))
        self._take: StockTake | None = None
        self._line: TakeLine | None = None
        model: RowsModel[TakeLine] = RowsModel(_columns(bench), _line_id, self)
        self.lines = WorkTable(theme, model, tr("Rolls of the stock-take"))
        self.lines.asked.connect(self._take_chosen)
        self.lines.chosen_changed.connect(self._enable)
        self._total = QLabel()
        self._gone = KeyHintButton(theme, tr("Nothing left of it"), "F4")
        self._gone.clicked.connect(self._count_nothing)
        self.since = QDateEdit()
        self.since.setDisplayFormat("yyyy-MM-dd")
        for named in (self.since, self.since.lineEdit()):
            named.setAccessibleName(tr("Counted since"))
        self.since.dateChanged.connect(self.refresh)
        self.form = ShortForm(theme, tr("Scan a roll"), tr("Record the count"), can_leave=False)
        self._code = self.form.add_field("code", tr("&Roll"), _CodeField())
        self._code.setPlaceholderText(tr("scan its label, or type its code"))
        self._left = self.form.add_field(
            "length_mm", tr("&Left on it"), QLineEdit(), unit=roll_unit_word(bench.formatter)
        )
        self._reason = self.form.add_field(
            "reason", tr("&Why it differs"), QLineEdit(tr("stock-take"))
        )
        self._says = QLabel()
        self.form.add_note(self._says)
        self.form.confirmed.connect(self._confirm)
        self._lay_out()

    def _lay_out(self) -> None:
        since = QHBoxLayout()
        since.setSpacing(2 * STEP)
        words = QLabel(tr("Counted &since"))
        words.setBuddy(self.since)
        since.addWidget(words)
        since.addWidget(self.since)
        since.addStretch(1)
        since.addWidget(self._gone)
        left = QVBoxLayout()
        left.setSpacing(STEP)
        left.addLayout(since)
        left.addWidget(self.lines, 1)
        self._total.setWordWrap(True)
        left.addWidget(self._total)
        body = QHBoxLayout()
        body.setSpacing(6 * STEP)
        body.addLayout(left, 7)
        body.addWidget(self.form, 4)
        self.column.addLayout(body, 1)

    # what is shown

    def begin(self, today: dt.date) -> None:
        """Start with an empty form; counts of earlier today are there already."""
        self.since.blockSignals(True)
        self.since.setDate(QDate(today.year, today.month, today.day))
        self.since.blockSignals(False)
        self.form.set_unit("length_mm", roll_unit_word(self.bench.formatter))
        self._empty_hands()
        self.refresh()
        self.take_focus()

    def take_focus(self) -> None:
        (self._code if self._line is None else self._left).setFocus()

    def refresh(self) -> None:
        shown = self.since.date()
        day = dt.date(shown.year(), shown.month(), shown.day())
        self.bench.read(lambda desk: stock_take(desk, since=day), self._show, owner=self)

    def _show(self, take: StockTake) -> None:
        self._take = take
        self.lines.show_rows([*take.counted, *take.not_seen])
        if self._line is not None:
            self._line = take.line_of(self._line.roll.id)
            self._say_what_is_written()
        self.header.set_purpose(
            tr(
                "{counted}, {unseen}",
                counted=tr_count("{n} roll counted", "{n} rolls counted", len(take.counted)),
                unseen=tr_count("{n} not seen yet", "{n} not seen yet", len(take.not_seen)),
            )
        )
        self._total.setText(self._total_words(take))
        self._enable()

    def _total_words(self, take: StockTake) -> str:
        if not take.counted and not take.not_seen:
            return tr("There is no mesh on the shelf to count.")
        if not take.counted:
            return tr("Each count is recorded at once; undo takes back the last one.")
        differs = [line for line in take.counted if line.difference_mm]
        return tr(
            "{differing}, in all {total}.",
            differing=tr_count(
                "{n} roll differs from what was written",
                "{n} rolls differ from what was written",
                len(differs),
            ),
            total=difference(self.bench.formatter, take.difference_mm),
        )

    def _say_what_is_written(self) -> None:
        line = self._line
        if line is None:
            self._says.setText("")
            return
        formatter = self.bench.formatter
        self._says.setText(
            tr(
                "{roll}: {mesh}, {width} wide. The shelf says {left}.",
                roll=line.roll.code,
                mesh=line.mesh.name if line.mesh else "—",
                width=formatter.length(line.roll.width_mm),
                left=roll_length(formatter, line.roll.on_hand_mm),
            )
        )

    def _enable(self) -> None:
        chosen = self.lines.chosen()
        self._gone.setEnabled(len(chosen) == 1 and chosen[0].counted_mm is None)

    # the work

    def take_roll(self, roll_id: int) -> bool:
        """Take a scanned roll in hand; a length that is typed and not recorded is kept."""
        line = self._take.line_of(roll_id) if self._take is not None else None
        if line is None:
            self.bench.refused.emit(
                tr("The shelf has no roll with this label. Receive it first, or scan it again.")
            )
        elif self._line is not None and self._line.roll.id != roll_id and self._left.text().strip():
            self.bench.refused.emit(
                tr(
                    "The length of roll {code} is typed but not recorded. Press Enter first, or "
                    "empty the field, then scan again.",
                    code=self._line.roll.code,
                )
            )
            self._left.setFocus()
        else:
            self._take_in_hand(line)
        return True

    def _take_in_hand(self, line: TakeLine) -> None:
        self._line = line
        self._code.setText(line.roll.code)
        self._say_what_is_written()
        self.form.clear_error()
        self._left.setFocus()
        self._left.selectAll()

    def _empty_hands(self) -> None:
        self._line = None
        self._code.clear()
        self._left.clear()
        self._say_what_is_written()
        self.form.clear_error()

    def _take_chosen(self) -> None:
        chosen = self.lines.chosen()
        if len(chosen) == 1:
            self._left.clear()
            self._take_in_hand(chosen[0])

    def _confirm(self) -> None:
        """Enter in the field of the roll looks it up; with a length, the count is recorded."""
        code = self._code.text().strip()
        line = self._find(code)
        if line is None:
            self._refused(
                NotValid(
                    say("There is no roll {code} on the shelf.", code=code[:40] or "—"),
                    hint=say("Scan its label, or type the code that stands on it."),
                    argument="code",
                )
            )
            return
        self._line = line
        self._say_what_is_written()
        self.form.clear_error()
        if self._left.text().strip():
            self._record(line.roll.code)
        else:
            self._left.setFocus()

    def _find(self, code: str) -> TakeLine | None:
        take = self._take
        every = (*take.counted, *take.not_seen, *take.empty) if take is not None else ()
        return next((line for line in every if line.roll.code == code.upper()), None)

    def _record(self, code: str) -> None:
        formatter = self.bench.formatter
        try:
            left = read_roll_mm(formatter, self._left.text(), argument="length_mm")
        except NotValid as error:
            self._refused(error)
            return
        self._count(code, left, self._reason.text())

    def _count_nothing(self) -> None:
        chosen = self.lines.chosen()
        if len(chosen) == 1:
            self._count(chosen[0].roll.code, 0, tr("not found"))

    def _count(self, code: str, left_mm: int, reason: str) -> None:
        def count(desk: Desk) -> Done:
            return stock.count_roll(desk, code, length_mm=left_mm, reason=reason)

        self.form.wait()
        self.bench.change(count, self._recorded, owner=self, fail=self._refused)

    def _refused(self, error: FramekeeperError) -> None:
        self.form.refuse(error, self.bench.formatter)

    def _recorded(self, _done: Done) -> None:
        self._empty_hands()
        self._code.setFocus()


def _columns(bench: Bench) -> tuple[Column[TakeLine], ...]:
    formatter = bench.formatter
    return (
        Column("code", tr("Roll"), lambda r: r.roll.code, lambda r: r.roll.code, width=74),
        Column(
            "mesh",
            tr("Mesh"),
            lambda r: r.mesh.name if r.mesh else "",
            lambda r: r.mesh.name if r.mesh else "",
            width=98,
        ),
        Column(
            "expected",
            tr("Written"),
            lambda r: roll_length(formatter, r.expected_mm),
            lambda r: r.expected_mm,
            width=92,
            align=_RIGHT,
        ),
        Column(
            "counted",
            tr("Counted"),
            lambda r: (
                tr("not seen") if r.counted_mm is None else roll_length(formatter, r.counted_mm)
            ),
            lambda r: r.counted_mm,
            width=92,
            align=_RIGHT,
        ),
        Column(
            "difference",
            tr("Difference"),
            lambda r: "" if r.counted_mm is None else difference(formatter, r.difference_mm),
            lambda r: None if r.counted_mm is None else r.difference_mm,
            width=98,
            align=_RIGHT,
        ),
        Column("by", tr("Who"), lambda r: r.by, lambda r: r.by, width=72),
        Column("why", tr("Why"), lambda r: r.reason, lambda r: r.reason, width=100),
    )


def _line_id(line: TakeLine) -> int:
    return line.roll.id
