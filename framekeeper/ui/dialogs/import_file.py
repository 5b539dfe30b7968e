"""Takes a shop's own list over: the file is looked at first, then written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtWidgets import (
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QTableView,
    QTabWidget,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.exchange import ImportChoices, ImportPlan, plan_import, run_import
from framekeeper.services.import_plan import PlannedFrame
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.asking import OpenPrompter, Prompter
from framekeeper.ui.dialogs.fields import OptionalDate, choices, side_by_side, today_here
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.models.table import Column, RowsModel, dress_table
from framekeeper.ui.text import tr, tr_count


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row or a cell that stays out, numbered in the order of the file."""

    number: int
    sheet: str
    row: int
    column: str
    value: str
    reason: Sentence


class ImportDialog(FormDialog):
    """A file, what is said of it where it says nothing itself, and what it would bring."""

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, *, prompter: Prompter | None = None
    ) -> None:
        super().__init__(
            bench,
            tr("Import the shop’s list"),
            tr("Look at the file"),
            purpose=tr(
                "A CSV, XLSX, XLS or ODS file with frames, meshes or readings. Nothing is written "
                "before you have seen what it brings."
            ),
            parent=parent,
            wide=66,
        )
        self._prompter = prompter or OpenPrompter(self)
        self._plan: ImportPlan | None = None
        self.path = QLineEdit()
        self.choose = QPushButton(tr("&Choose …"))
        self.choose.setAutoDefault(False)
        self.choose.clicked.connect(self._choose)
        guess = tr("as the file says, else guess")
        self.sizes = choices({"": guess, "mm": tr("mm"), "cm": tr("cm"), "inch": tr("inch")}, "")
        self.counts = choices(
            {"": guess, "inch": tr("threads per inch"), "cm": tr("threads per cm")}, ""
        )
        self.dates = choices(
            {"day": tr("day first: 3/4 is 3 April"), "month": tr("month first: 3/4 is 4 March")},
            "day",
        )
        self.undated = OptionalDate(tr("ta&ke them as read on"), today_here())
        self.summary = QLabel()
        self.summary.setWordWrap(True)
        self.progress = QProgressBar()
        self.progress.setRange(0, 0)
        self.progress.setAccessibleName(tr("Working"))
        self.progress.hide()
        self._make_tables()
        self._lay_out()
        self._forget()
        self.choose.setFocus()

    def _lay_out(self) -> None:
        self.add_field("path", tr("&File"), side_by_side(self.path, self.choose))
        self._fields["path"] = self.path
        self.path.setAccessibleName(tr("File"))
        self.add_field("size_unit", tr("&Sizes in"), self.sizes)
        self.add_field("count_unit", tr("&Mesh counts in"), self.counts)
        self.add_field("day_first", tr("&Dates"), self.dates)
        self.add_field("undated_readings_on", tr("&Readings without a date"), self.undated)
        self.path.textChanged.connect(self._forget)
        for box in (self.sizes, self.counts, self.dates):
            box.currentIndexChanged.connect(self._forget)
        self.undated.changed.connect(self._forget)
        self.add_aside(self.summary)
        self.add_aside(self.tabs, 1)
        self.add_aside(self.progress)

    def _make_tables(self) -> None:
        self.made: RowsModel[PlannedFrame] = RowsModel(
            self._made_columns(), lambda planned: planned.row, self
        )
        self.left_out: RowsModel[LeftOut] = RowsModel(
            self._left_columns(), lambda line: line.number, self
        )
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName(tr("What the file brings"))
        for model, name in (
            (self.made, tr("What will be made")),
            (self.left_out, tr("What stays out, and why")),
        ):
            table = QTableView()
            table.setModel(model)
            table.setAccessibleName(name)
            dress_table(table, self.bench.theme)
            self.tabs.addTab(table, name)
        self.tabs.setMinimumHeight(18 * self.bench.theme.px("body"))

    def _made_columns(self) -> tuple[Column[PlannedFrame], ...]:
        formatter = self.bench.formatter
        return (
            Column("row", tr("Row"), lambda p: str(p.row), lambda p: p.row, width=60),
            Column(
                "label", tr("Own label"), lambda p: p.frame.own_label,
                lambda p: p.frame.own_label, width=140,
            ),
            Column(
                "size", tr("Size"),
                lambda p: formatter.size(p.frame.width_mm, p.frame.height_mm),
                lambda p: p.frame.width_mm * p.frame.height_mm, width=150,
            ),
            Column("mesh", tr("Mesh"), lambda p: p.mesh, lambda p: p.mesh, width=160),
            Column("slot", tr("Slot"), lambda p: p.frame.slot, lambda p: p.frame.slot, width=80),
            Column(
                "events", tr("Events"), lambda p: str(len(p.events)), lambda p: len(p.events),
                width=80,
            ),
        )  # fmt: skip

    def _left_columns(self) -> tuple[Column[LeftOut], ...]:
        formatter = self.bench.formatter
        return (
            Column("sheet", tr("Sheet"), lambda p: p.sheet, lambda p: p.sheet, width=110),
            Column("row", tr("Row"), lambda p: str(p.row), lambda p: p.row, width=60),
            Column("column", tr("Column"), lambda p: p.column, lambda p: p.column, width=120),
            Column(
                "value", tr("What stands there"), lambda p: p.value, lambda p: p.value, width=160
            ),
            Column(
                "reason", tr("Why it stays out"), lambda p: formatter.sentence(p.reason),
                lambda p: str(p.reason), width=380,
                tooltip=lambda p: formatter.sentence(p.reason),
            ),
        )  # fmt: skip

    # looking

    def _choose(self) -> None:
        self._prompter.ask(tr("Choose the shop’s list"), self._take_path)

    def _take_path(self, path: object) -> None:
        self.path.setText(str(path))
        self.look_at_file()

    def look_at_file(self) -> None:
        """Read the file and say what it would bring; nothing is written."""
        self.trouble.say("")
        text = self.path.text().strip()
        if not text:
            self.show_trouble(
                NotValid(say("No file is named."), hint=say("Choose one."), argument="path")
            )
            return
        chosen = ImportChoices(
            size_unit=self.sizes.currentData() or None,
            count_unit=self.counts.currentData() or None,
            month_first=self.dates.currentData() == "month",
            undated_readings_on=self.undated.day(),
        )
        self._set_busy(True)
        self.bench.read(
            lambda desk: plan_import(desk, Path(text), chosen),
            self._show_plan,
            owner=self,
            fail=self.show_trouble,
        )

    def _show_plan(self, plan: ImportPlan) -> None:
        self._set_busy(False)
        self._plan = plan
        self.made.show_rows(plan.frames)
        self.left_out.show_rows(
            [
                LeftOut(n, p.sheet, p.row, p.column, p.value, p.reason)
                for n, p in enumerate(plan.problems)
            ]
        )
        self.tabs.setTabText(1, tr("What stays out, and why ({count})", count=len(plan.problems)))
        self.tabs.setCurrentIndex(1 if plan.problems else 0)
        self.summary.setText(self._said_of(plan))
        self.confirm_button.setText(self._offer_of(plan))
        self.confirm_button.setEnabled(not plan.is_empty)
        self.make_room()
        self.confirm_button.setFocus()

    def _offer_of(self, plan: ImportPlan) -> str:
        if not plan.problems:
            return tr("Take all of it over")
        if not plan.frames:
            return tr("Take the good readings, leave the rest out")
        return tr_count(
            "Take {n} good frame, leave the rest out",
            "Take {n} good frames, leave the rest out",
            len(plan.frames),
        )

    def _said_of(self, plan: ImportPlan) -> str:
        formatter = self.bench.formatter
        brings = tr(
            "{name} brings {frames} and {surveys}.",
            name=plan.name,
            frames=tr_count("{n} frame", "{n} frames", len(plan.frames)),
            surveys=tr_count("{n} survey", "{n} surveys", plan.survey_count),
        )
        lines = [brings]
        if plan.mesh_types:
            names = ", ".join(facts.name for facts in plan.mesh_types)
            lines.append(tr("Mesh types new to the shop, to be completed: {names}.", names=names))
        if plan.meters:
            lines.append(tr("Meters new to the shop: {names}.", names=", ".join(plan.meters)))
        return "\n".join(lines + [formatter.sentence(note) for note in plan.notes])

    def _forget(self) -> None:
        """What was seen no longer holds: another file, or read another way."""
        self._plan = None
        self.made.show_rows([])
        self.left_out.show_rows([])
        self.tabs.setTabText(1, tr("What stays out, and why"))
        self.summary.setText(tr("Nothing was looked at yet."))
        self.confirm_button.setText(tr("Look at the file"))
        self.confirm_button.setEnabled(True)

    # taking

    def confirm(self) -> None:
        """Look first; then take over what was seen."""
        if self._plan is None:
            self.look_at_file()
            return
        self._set_busy(True)
        super().confirm()

    def order(self) -> Callable[[Desk], Done]:
        plan = self._plan
        assert plan is not None
        return lambda desk: run_import(desk, plan, partial=bool(plan.problems))

    def show_trouble(self, error: FramekeeperError) -> None:
        self._set_busy(False)
        super().show_trouble(error)

    def _set_busy(self, busy: bool) -> None:
        self.progress.setVisible(busy)
        self.confirm_button.setEnabled(not busy)

    def _contents(self) -> list[object]:
        return []  # the file is still there
