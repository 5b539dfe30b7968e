"""The screens that wait for the washout, longest first."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QTableView, QWidget

from framekeeper.services.washout import Waiting
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column, RowIdRole, RowsModel, dress_table, refresh
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.marks import mark_icon


class QueueTable(QTableView):
    """Who waits, since how many days, and who is to be inspected; Enter opens a frame's page."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._rows: RowsModel[Waiting] = RowsModel(self._columns(), _code, self)
        self.setModel(self._rows)
        self.setAccessibleName(tr("Screens that wait for the washout"))
        dress_table(self, bench.theme)
        self.activated.connect(self._open)

    @property
    def waiting(self) -> Sequence[Waiting]:
        """Who waits, as shown."""
        return self._rows.rows

    def show_waiting(self, waiting: Sequence[Waiting]) -> None:
        """Show the queue."""
        refresh(self, self._rows, waiting)

    def _columns(self) -> tuple[Column[Waiting], ...]:
        return (
            Column(
                "days",
                tr("Days"),
                lambda w: "" if w.days is None else str(w.days),
                lambda w: w.days,
                width=64,
                align=Qt.AlignmentFlag.AlignRight,
                header_tooltip=tr("How long it waits"),
            ),
            Column("slot", tr("Slot"), lambda w: w.frame.slot, lambda w: w.frame.slot, width=64),
            Column(
                "frame", tr("Frame"), lambda w: w.frame.name, lambda w: w.frame.number, width=150
            ),
            Column("mesh", tr("Mesh"), lambda w: w.mesh_name, lambda w: w.mesh_name, width=110),
            Column(
                "due",
                tr("Inspect"),
                lambda w: tr("due") if w.inspection else "",
                lambda w: w.inspection is None,
                width=80,
                icon=self._icon,
                tooltip=self._why,
            ),
        )

    def _icon(self, waiting: Waiting) -> QIcon | None:
        task = waiting.inspection
        return mark_icon(task.urgency, self.bench.theme.palette) if task else None

    def _why(self, waiting: Waiting) -> str:
        task = waiting.inspection
        return self.bench.formatter.sentence(task.reason) if task else ""

    def _open(self, index: QModelIndex) -> None:
        code = index.data(RowIdRole)
        if code is not None:
            self.bench.frame_wanted.emit(code)


def _code(waiting: Waiting) -> str:
    return waiting.frame.code
