"""The cut plan: the second view of the stretching table, from the list of frames to the booking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services import cut_pieces, cut_plan, cut_queue
from framekeeper.services.cut_plan import CutRequest, WidthAdvice
from framekeeper.services.cut_queue import CutJob, CutShelf, Queue
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.cut_choice import CutChoice
from framekeeper.ui.places.cut_result import CutResult
from framekeeper.ui.places.cut_watch import CutWatch
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState

if TYPE_CHECKING:
    from framekeeper.domain.cutting import CutPlan
    from framekeeper.services.desk import Desk, Done


class CutPage(QWidget):
    """Left the frames that get mesh, right the plan for them.

    Signals
    -------
    summed_up(text)
        The list changed; the text says in one line what is on it.
    left()
        The person goes back to the table.
    """

    summed_up = Signal(str)
    left = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._shelf: CutShelf | None = None
        self._request: CutRequest | None = None
        self.choice, self.result = CutChoice(bench), CutResult(bench)
        self.watch = CutWatch(bench, self)
        self._empty = EmptyState(
            bench.theme,
            bench.icons,
            "stretching",
            tr("No plan yet"),
            tr("Put frames on the list: scan them, type a code, or take a queue. Then plan."),
        )
        self._right = QStackedWidget()
        self._right.addWidget(self._empty)
        self._right.addWidget(self.result)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6 * STEP)
        row.addWidget(self.choice, 9)
        row.addWidget(self._right, 11)
        self._connect()
        self.setFocusProxy(self.choice.table)

    def _connect(self) -> None:
        self.choice.queue_wanted.connect(self.take_queue)
        self.choice.frame_wanted.connect(self.add_frame)
        self.choice.piece_gone.connect(self._throw_away)
        self.choice.plan_wanted.connect(self.plan)
        self.choice.changed.connect(self._sum_up)
        self.watch.better.connect(self._show_plan)
        self.watch.ended.connect(self._search_ended)
        self.result.cancel_wanted.connect(self.watch.cancel)
        self.result.print_wanted.connect(self._print)
        self.result.book_wanted.connect(self._book)

    # the list

    def refresh(self) -> None:
        """Read again what there is to cut and to cut from."""
        codes = self.choice.codes

        def look(desk: Desk) -> CutShelf:
            return cut_queue.cut_shelf(desk, codes)

        self._bench.read(look, self._show_shelf, owner=self)

    def _show_shelf(self, shelf: CutShelf) -> None:
        is_first = self._shelf is None
        self._shelf = shelf
        self.choice.show_shelf(shelf)
        if is_first and not self.choice.codes:
            self.choice.add(shelf.table)
        if self._request is None:
            return
        is_as_planned = _is_as_planned(shelf, self._request)
        if self.result.is_booked and is_as_planned:
            self.result.set_unbooked()
        self.result.set_stale(not is_as_planned and not self.result.is_booked)

    def take_queue(self, name: Queue) -> None:
        """Put all frames of a queue on the list."""
        if self._shelf is None:
            return
        jobs = self._shelf.queue(name)
        if not jobs:
            self._bench.refused.emit(
                tr("No prepped frame waits for mesh.")
                if name == "table"
                else tr("No frame is bare, pulled, or below its limit.")
            )
        self.choice.add(jobs)

    def add_frame(self, text: str) -> None:
        """Put a frame on the list, by its code or label."""

        def find(desk: Desk) -> tuple[CutJob, ...]:
            return cut_queue.jobs_for(desk, [text])

        self._bench.read(find, self._found, owner=self)

    def _found(self, jobs: tuple[CutJob, ...]) -> None:
        self.choice.add(jobs)
        self.choice.table.choose([job.frame.code for job in jobs])

    def _throw_away(self, code: str) -> None:
        def record(desk: Desk) -> Done:
            return cut_pieces.throw_away(desk, code)

        self._bench.change(record, owner=self)

    def _sum_up(self) -> None:
        jobs = self.choice.jobs
        to_cut = sum(job.is_to_cut for job in jobs)
        meshes = {job.mesh.name for job in jobs if job.is_to_cut and job.mesh}
        self.summed_up.emit(
            tr(
                "{pieces} to cut, of {meshes}",
                pieces=tr_count("{n} piece", "{n} pieces", to_cut),
                meshes=tr_count("{n} mesh", "{n} meshes", len(meshes)),
            )
            if to_cut
            else tr("No piece to cut yet")
        )

    # the plan

    def plan(self) -> None:
        """Plan what is on the list: a first plan at once, better ones as they are found."""
        if self._shelf is None:
            return
        try:
            self._request = cut_plan.request_for(
                self._shelf, self.choice.jobs, may_turn=self.choice.may_turn
            )
        except FramekeeperError as refused:
            self._bench.show_trouble(refused)
            return
        self.result.begin(self._request)
        self._right.setCurrentWidget(self.result)
        self.watch.start(self._request, seconds=cut_plan.SECONDS)
        shelf, request = self._shelf, self._request
        self._bench.tasks.compute(
            lambda: (request, cut_plan.advise_widths(shelf, request)), self._advise, owner=self
        )

    def _advise(self, told: tuple[CutRequest, tuple[WidthAdvice, ...]]) -> None:
        request, advice = told
        if request is self._request:
            self.result.show_advice(advice)

    def _show_plan(self, plan: CutPlan) -> None:
        self.result.show_plan(plan, is_searching=self.watch.is_running)

    def _search_ended(self, is_whole: bool) -> None:
        self.result.end(is_whole=is_whole)

    def _print(self) -> None:
        view = self.result.view
        if view is not None:
            from framekeeper.ui.printing import save_cut_sheet

            save_cut_sheet(self._bench, self, view)

    def _book(self) -> None:
        plan, request = self.result.plan, self._request
        if plan is None or request is None:
            return
        self.watch.cancel()
        plan, keep = self.result.plan, self.result.kept
        assert plan is not None

        def book(desk: Desk) -> Done:
            return cut_plan.book(desk, request, plan, keep=keep)

        self.result.wait()
        self._bench.change(book, self._booked, owner=self, fail=self._refused)

    def _booked(self, _done: Done) -> None:
        self.result.set_booked()

    def _refused(self, error: FramekeeperError) -> None:
        self.result.refused()
        self._bench.show_trouble(error)

    # keys

    def event(self, event: QEvent) -> bool:
        """Esc stops the search, or goes back to the table; it is not the window's here."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() != Qt.Key.Key_Escape:
            super().keyPressEvent(event)
        elif self.watch.is_running:
            self.watch.cancel()
        else:
            self.left.emit()


def _is_as_planned(shelf: CutShelf, request: CutRequest) -> bool:
    """Whether the rolls of a plan, and the frames that wait for it, are as they were."""
    rolls = {roll.code: (roll.width_mm, roll.on_hand_mm) for roll in shelf.rolls}
    ready = {(piece.frame_id, piece.mesh_type_id) for piece in shelf.pieces}
    wanted = {(job.frame.id, job.mesh.id) for job in request.jobs if job.mesh}
    same = all(rolls.get(r.code) == (r.width_mm, r.on_hand_mm) for r in request.rolls)
    return same and not ready & wanted
