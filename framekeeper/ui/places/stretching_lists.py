"""The left side of the stretching table: what waits, what is in the clamps, what cures."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from framekeeper.services.bench_queues import TableNow, TableRow
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column, RowsModel
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.work_table import WorkTable

GROUPS = ("waiting", "in_clamps", "curing", "rollers")


@dataclass(frozen=True, slots=True)
class Chosen:
    """The frames that are worked on, all of one group."""

    group: str
    rows: tuple[TableRow, ...]

    @property
    def codes(self) -> list[str]:
        """Their codes."""
        return [row.frame.code for row in self.rows]

    def is_joined_by(self, later: Chosen) -> bool:
        """Whether the same frames are chosen later, perhaps with others; the work goes on then."""
        mine = set(self.codes)
        return bool(mine) and self.group == later.group and mine <= set(later.codes)


def time_left(ends_at: dt.datetime | None, now: dt.datetime) -> str:
    """Write what is left of a timer as minutes and seconds; "over" once it has run out."""
    if ends_at is None:
        return ""
    seconds = math.ceil((ends_at - now).total_seconds())
    if seconds <= 0:
        return tr("over")
    hours, rest = divmod(seconds, 3600)
    if hours:
        return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"{rest // 60}:{rest % 60:02d}"


class TableLists(QWidget):
    """Four lists, of which one has the chosen frames; an empty one takes no room.

    Signals
    -------
    chosen_changed(chosen)
        Other frames are chosen, or they were read again.
    asked()
        Go on with the chosen frames.
    """

    chosen_changed = Signal(object)
    asked = Signal()

    def __init__(self, bench: Bench, now: Callable[[], dt.datetime]) -> None:
        super().__init__()
        self._bench, self._now = bench, now
        self._is_choosing = False
        self.group = "waiting"
        self._titles: dict[str, QLabel] = {}
        self.tables: dict[str, WorkTable[TableRow]] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        for group in GROUPS:
            self._titles[group] = QLabel()
            model: RowsModel[TableRow] = RowsModel(self._columns(group), _row_id, self)
            table = WorkTable(bench.theme, model, self._title(group))
            table.asked.connect(self.asked)
            table.chosen_changed.connect(_Heard(self, group))
            self.tables[group] = table
            column.addWidget(self._titles[group])
            column.addWidget(table, 3 if group == "waiting" else 2)
        self.show_table(None)

    def show_table(self, table: TableNow | None) -> None:
        """Show what is at the table; chosen frames that moved on stay chosen in their new list."""
        was = self.chosen().codes
        groups: dict[str, Sequence[TableRow]] = {
            group: getattr(table, group) if table else () for group in GROUPS
        }
        self._is_choosing = True
        for group, rows in groups.items():
            self.tables[group].show_rows(rows)
            self._titles[group].setText(
                tr("{title} ({count})", title=self._title(group), count=len(rows))
            )
            for widget in (self._titles[group], self.tables[group]):
                widget.setVisible(bool(rows))
            if group != "waiting":
                self.tables[group].take_only_rows()
        self._is_choosing = False
        if not self.chosen().rows:
            self._choose_again(was)
        self._tell()

    def _choose_again(self, codes: Sequence[str]) -> None:
        if codes and self.choose(codes):
            return
        full = [group for group in GROUPS if self.tables[group].rows]
        if full and self.group not in full:
            self.group = full[0]

    def choose(self, codes: Sequence[str], *, add: bool = False) -> bool:
        """Choose frames by code, in the list where they are; `add` keeps the others there."""
        for group in GROUPS:
            table = self.tables[group]
            here = {row.frame.code for row in table.rows}
            if wanted := [code for code in codes if code in here]:
                kept = [r.frame.code for r in table.chosen()] if add else []
                table.choose([*kept, *wanted])
                self._heard(group)
                return True
        return False

    def chosen(self) -> Chosen:
        """Return the frames that are worked on."""
        return Chosen(self.group, tuple(self.tables[self.group].chosen()))

    def take_focus(self) -> None:
        """Put the focus into the list that is worked on."""
        self.tables[self.group].setFocus()

    def tick(self) -> bool:
        """Write the timers anew; say whether one is still running."""
        running = False
        for table in self.tables.values():
            model = table.model()
            assert isinstance(model, RowsModel)
            ends = [row.timer_ends_at for row in table.rows if row.timer_ends_at]
            if ends:
                last = len(model.columns) - 1
                model.dataChanged.emit(model.index(0, last), model.index(len(table.rows) - 1, last))
            running = running or any(at > self._now() for at in ends)
        return running

    def _heard(self, group: str) -> None:
        """One list has the chosen frames, so the others let theirs go."""
        if self._is_choosing:
            return
        if self.tables[group].chosen():
            self.group = group
            self._is_choosing = True
            for other, table in self.tables.items():
                if other != group:
                    table.clearSelection()
            self._is_choosing = False
        if group == self.group:
            self._tell()

    def _tell(self) -> None:
        self.chosen_changed.emit(self.chosen())

    def _title(self, group: str) -> str:
        return {
            "waiting": tr("Prepped, waiting for mesh"),
            "in_clamps": tr("In the clamps"),
            "curing": tr("Curing"),
            "rollers": tr("Roller frames in service"),
        }[group]

    def _columns(self, group: str) -> tuple[Column[TableRow], ...]:
        formatter = self._bench.formatter
        shared = (
            Column[TableRow](
                "code", tr("Frame"), lambda r: r.frame.name, lambda r: r.frame.number, width=150
            ),
            Column[TableRow](
                "size",
                tr("Size"),
                lambda r: formatter.size(r.frame.width_mm, r.frame.height_mm),
                lambda r: (r.frame.width_mm, r.frame.height_mm),
                width=140,
            ),
            Column[TableRow](
                "mesh",
                tr("Last mesh") if group == "waiting" else tr("Mesh"),
                lambda r: r.mesh.name if r.mesh else "",
                lambda r: r.mesh.name if r.mesh else None,
                width=108,
            ),
        )
        return (*shared, self._last_column(group, formatter))

    def _last_column(self, group: str, formatter: Formatter) -> Column[TableRow]:
        if group == "waiting":
            return Column(
                "hold",
                tr("Hold"),
                lambda r: r.frame.state.hold_reason or "",
                lambda r: r.frame.state.hold_reason or "",
                width=90,
                tooltip=lambda r: r.frame.state.hold_reason or "",
            )
        if group == "rollers":
            return Column(
                "tension",
                tr("N/cm"),
                lambda r: _tension(r, formatter),
                lambda r: r.tension_n_per_cm,
                width=90,
            )
        return Column(
            "timer",
            tr("Rest") if group == "in_clamps" else tr("Cure"),
            lambda r: self._timer(r),
            lambda r: r.timer_ends_at,
            width=90,
        )

    def _timer(self, row: TableRow) -> str:
        left = time_left(row.timer_ends_at, self._now())
        if row.tension_n_per_cm is None:
            return left
        tension = self._bench.formatter.number(row.tension_n_per_cm)
        return tr("{left} at {tension}", left=left, tension=tension) if left else tension


class _Heard:
    """Tells which list spoke; a plain callable, because a lambda would remember the last one."""

    def __init__(self, lists: TableLists, group: str) -> None:
        self._lists, self._group = lists, group

    def __call__(self) -> None:
        self._lists._heard(self._group)


def _row_id(row: TableRow) -> str:
    return row.frame.code


def _tension(row: TableRow, formatter: Formatter) -> str:
    return "" if row.tension_n_per_cm is None else formatter.number(row.tension_n_per_cm)
