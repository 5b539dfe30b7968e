"""Today: what is due, where, and why in one line."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import QModelIndex
from PySide6.QtWidgets import QStackedWidget, QTableView, QWidget

from framekeeper.services.plan import DueItem, due
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column, RowIdRole, RowsModel, chosen_ids, dress_table
from framekeeper.ui.models.table import refresh as refresh_table
from framekeeper.ui.places.place import Place
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.widgets.marks import mark_icon
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader

TASK_WORDS = {
    "below_limit": "pull or restretch",
    "below_target": "stretch again or accept",
    "uneven": "look at the frame",
    "unbalanced": "look at the frame",
    "reading_due": "check tension",
    "first_reading": "first reading",
    "no_reading": "check tension",
    "release": "release",
    "inbound_survey": "survey what came back",
    "inspect_mesh": "inspect the mesh",
    "regrind": "regrind the face",
    "overdue_outside": "ask the stretcher",
    "strip": "strip and prep",
}
PLACE_WORDS = {
    "prep": "Prep bench",
    "stretching": "Stretching table",
    "round": "Tension round",
    "washout": "Washout",
    "rack": "Rack",
}
_PLACE_ORDER = ("rack", "stretching", "round", "washout", "prep")


class Today(Place):
    """The due list. Enter opens the frame; the place button goes where the work is done."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._go = KeyHintButton(bench.theme, tr("Go there"), "Ctrl+G", is_main=True)
        self._go.clicked.connect(self._go_there)
        self._print = KeyHintButton(bench.theme, tr("Print the list"), "Ctrl+P")
        self._print.clicked.connect(self._print_list)
        self._header = PlaceHeader(
            bench.theme, tr("Today"), tr("Looking at the shop …"), (self._print, self._go)
        )
        self._model: RowsModel[DueItem] = RowsModel(self._columns(), _row_id, self)
        self._table = QTableView()
        self._table.setModel(self._model)
        self._table.setAccessibleName(tr("What is due"))
        dress_table(self._table, bench.theme)
        self._table.activated.connect(self._open)
        self._pages = QStackedWidget()
        self._pages.addWidget(self._table)
        self._nothing = EmptyState(
            bench.theme,
            bench.icons,
            "today",
            tr("Nothing is due"),
            tr(
                "Register frames on the Rack, or import the shop's list; then this page says what "
                "needs work and why."
            ),
        )
        self._pages.addWidget(self._nothing)
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)

    def take_focus(self) -> None:
        self._table.setFocus()

    def refresh(self) -> None:
        self.bench.read(due, self._show, owner=self)

    def _show(self, items: list[DueItem]) -> None:
        ordered = sorted(items, key=lambda i: _PLACE_ORDER.index(i.task.place))
        refresh_table(self._table, self._model, ordered)
        if ordered and not self._table.currentIndex().isValid():
            self._table.setCurrentIndex(self._model.index(0, 0))
        frames = len({item.frame.id for item in items})
        self._header.set_purpose(
            tr(
                "{tasks} on {frames}, what is below its limit first",
                tasks=tr_count("{n} task", "{n} tasks", len(items)),
                frames=tr_count("{n} frame", "{n} frames", frames),
            )
            if items
            else tr("Every frame holds.")
        )
        self._pages.setCurrentWidget(self._table if items else self._nothing)
        for button in (self._go, self._print):
            button.setEnabled(bool(items))

    def _columns(self) -> tuple[Column[DueItem], ...]:
        formatter = self.bench.formatter
        return (
            Column(
                "mark",
                "",
                lambda i: "",
                lambda i: i.task.urgency == "soon",
                width=34,
                icon=lambda i: mark_icon(i.task.urgency, self.bench.theme.palette),
            ),
            Column(
                "place",
                tr("Where"),
                lambda i: tr(PLACE_WORDS[i.task.place]),
                lambda i: _PLACE_ORDER.index(i.task.place),
                width=118,
            ),
            Column(
                "code", tr("Frame"), lambda i: i.frame.name, lambda i: i.frame.number, width=132
            ),
            Column("mesh", tr("Mesh"), lambda i: i.mesh_name, lambda i: i.mesh_name, width=88),
            Column("slot", tr("Slot"), lambda i: i.frame.slot, lambda i: i.frame.slot, width=58),
            Column(
                "task",
                tr("To do"),
                lambda i: tr(TASK_WORDS[i.task.rule]),
                lambda i: tr(TASK_WORDS[i.task.rule]),
                width=146,
            ),
            Column(
                "since",
                tr("Due since"),
                self._since,
                lambda i: i.task.due_at,
                width=92,
                tooltip=lambda i: formatter.moment(i.task.due_at),
            ),
            Column(
                "why",
                tr("Why"),
                lambda i: formatter.sentence(i.task.reason),
                lambda i: str(i.task.reason),
                width=420,
                tooltip=lambda i: formatter.sentence(i.task.reason),
            ),
        )

    def _since(self, item: DueItem) -> str:
        today = self.bench.formatter.day_of(dt.datetime.now(dt.UTC))
        return self.bench.formatter.ago(
            (today - self.bench.formatter.day_of(item.task.due_at)).days
        )

    def _open(self, index: QModelIndex) -> None:
        row_id = index.data(RowIdRole)
        if row_id is not None:
            self.bench.frame_wanted.emit(row_id[0])

    def _go_there(self) -> None:
        index = self._table.currentIndex()
        if index.isValid():
            item = self._model.rows[index.row()]
            self.bench.place_wanted.emit(item.task.place)

    def _print_list(self) -> None:
        from framekeeper.ui.printing import save_due_sheet

        save_due_sheet(self.bench, self)

    def chosen_codes(self) -> list[str]:
        """Return the codes of the chosen frames."""
        return [row_id[0] for row_id in chosen_ids(self._table)]  # type: ignore[index]


def _row_id(item: DueItem) -> tuple[str, str]:
    return item.frame.code, item.task.rule
