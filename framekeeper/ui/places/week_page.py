"""The week: what the benches hold day by day, the jobs of one bench on one day, and "what if"."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.desk import Desk
from framekeeper.services.week import WeekPlan, week_plan
from framekeeper.services.what_if import Outcome, what_if
from framekeeper.ui.bench import Bench
from framekeeper.ui.places import week_words
from framekeeper.ui.places.what_if_panel import Knobs, WhatIfPanel
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.due_list import DueLine, DueList
from framekeeper.ui.widgets.notices import EmptyState
from framekeeper.ui.widgets.week_board import WeekBoard


@dataclass(frozen=True, slots=True)
class WeekNow:
    """What the page shows."""

    week: WeekPlan
    meshes: tuple[str, ...]


def read_week(desk: Desk) -> WeekNow:
    """Read the plan and what the knobs may be turned to."""
    with desk.read() as reader:
        meshes = tuple(mesh.name for mesh in reader.mesh_types())
    return WeekNow(week_plan(desk), meshes)


class WeekPage(QWidget):
    """The second view of Today.

    Signals
    -------
    summed_up(text)
        The plan was read; the text says in one line what it holds.
    frame_wanted(code)
        Somebody wants to see this frame's page.
    """

    summed_up = Signal(str)
    frame_wanted = Signal(str)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._week: WeekPlan | None = None
        self.board = WeekBoard(bench.theme)
        self.board.cell_changed.connect(self._show_jobs)
        self.board.jobs_wanted.connect(self._go_to_jobs)
        self.jobs = DueList(bench.theme)
        self.jobs.setAccessibleName(tr("The jobs of this bench on this day"))
        self.jobs.line_wanted.connect(self._open)
        self.free = EmptyState(
            bench.theme, bench.icons, "today", tr("Nothing planned here"),
            tr("The arrows go to other benches and days."),
        )  # fmt: skip
        self.closed = EmptyState(
            bench.theme, bench.icons, "today", tr("The shop is closed"),
            tr("The coming two weeks have no working day. Days and minutes changes that."),
        )  # fmt: skip
        self.empty = EmptyState(
            bench.theme, bench.icons, "today", tr("No work in the coming days"),
            tr("Register frames on the Rack and read some screens; then their work stands here."),
        )  # fmt: skip
        self._below = QStackedWidget()
        for page in (self.jobs, self.free, self.closed, self.empty):
            self._below.addWidget(page)
        self.what_if = WhatIfPanel(bench)
        self.what_if.turned.connect(self._reckon)
        self._lay_out()

    def _lay_out(self) -> None:
        low = QHBoxLayout()
        low.setSpacing(6 * STEP)
        low.addWidget(self._below, 5)
        low.addWidget(self.what_if, 3)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3 * STEP)
        column.addWidget(self.board)
        column.addLayout(low, 1)
        QWidget.setTabOrder(self.board, self.jobs)
        self.setFocusProxy(self.board)

    def refresh(self) -> None:
        """Read the plan again, and reckon the knobs anew."""
        self._bench.read(read_week, self._show, owner=self)
        self._reckon()

    @property
    def current_place(self) -> str | None:
        """Where the chosen job is done; without one, the bench of the chosen cell."""
        if self._week is None:
            return None
        bench, _ = self.board.chosen
        return self._week.plan.benches[bench] if bench >= 0 else None

    @property
    def lines(self) -> list[DueLine]:
        """The jobs that are listed now."""
        return self.jobs.lines if self._below.currentWidget() is self.jobs else []

    def _show(self, now: WeekNow) -> None:
        is_first = self._week is None
        self._week = now.week
        self.what_if.set_meshes(list(now.meshes))
        benches, days, cells = week_words.board(now.week, self._bench.formatter)
        self.board.setVisible(bool(days))
        self.board.show_board(benches, days, cells)
        if is_first and days:
            self.board.choose(*_first_work(now.week))
        self._show_jobs(*self.board.chosen)
        self.summed_up.emit(week_words.summary(now.week, self._bench.formatter))

    def _show_jobs(self, bench: int, day: int) -> None:
        if self._week is None:
            return
        if not self._week.works:
            is_open = bool(self._week.plan.days)
            self._below.setCurrentWidget(self.empty if is_open else self.closed)
            return
        if bench < 0 or day < 0:
            return
        lines = week_words.lines_of(self._week, bench, day, self._bench.formatter)
        self.jobs.show_lines(lines)
        self._below.setCurrentWidget(self.jobs if lines else self.free)

    def _go_to_jobs(self) -> None:
        if self.lines:
            self.jobs.setFocus()

    def _open(self, row_id: tuple[str, str]) -> None:
        self.frame_wanted.emit(row_id[0])

    # what if

    def _reckon(self) -> None:
        try:
            knobs = self.what_if.knobs()
        except FramekeeperError as refused:
            self.what_if.show_trouble(refused)
            return
        self._bench.read(
            _Reckoning(knobs),
            self.what_if.show_outcome,
            owner=self.what_if,
            fail=self.what_if.show_trouble,
        )


@dataclass(frozen=True)
class _Reckoning:
    """One question to the shop, with the knobs as they stood when it was asked."""

    knobs: Knobs

    def __call__(self, desk: Desk) -> Outcome:
        knobs = self.knobs
        return what_if(desk, minutes=knobs.minutes, closed=knobs.closed, also=knobs.also)


def _first_work(week: WeekPlan) -> tuple[int, int]:
    """Find the bench and day where the work begins; the first cell where there is none."""
    width = len(week.plan.benches)
    for number, there in enumerate(week.plan.bench_days):
        if there.jobs:
            return number % width, number // width
    return 0, 0
