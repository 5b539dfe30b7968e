"""The stretching table: prepped frames into the clamps, up in stages, under glue, and released."""

from __future__ import annotations

import datetime as dt
import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.services.bench_queues import TableNow, stretched_today, stretching_table
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.stretching_lists import GROUPS, Chosen, TableLists
from framekeeper.ui.places.stretching_pull import PullPanel
from framekeeper.ui.places.stretching_work import WorkPanel
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader

if TYPE_CHECKING:
    from framekeeper.ui.places.cut_page import CutPage

TICK_MS = 1000


class StretchingTable(Place):
    """Left what is at the table, right the work on the chosen frames; the cut plan behind them."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._table: TableNow | None = None
        self._read_at = time.monotonic()
        self._tick = QTimer(self)
        self._tick.setInterval(TICK_MS)
        self._tick.timeout.connect(self._on_tick)
        self._labels = KeyHintButton(bench.theme, tr("Labels of today’s stretch"), "Ctrl+L")
        self._labels.clicked.connect(self._print_labels)
        self._switch = KeyHintButton(bench.theme, tr("Cut plan"), "Ctrl+T")
        self._switch.clicked.connect(self._switch_view)
        self._cut: CutPage | None = None
        self._shows_cut = False
        self._header = PlaceHeader(
            bench.theme,
            tr("Stretching table"),
            tr("Looking at the table …"),
            (self._labels, self._switch),
        )
        self.lists = TableLists(bench, self.now)
        self.pull, self.work = PullPanel(bench), WorkPanel(bench)
        self._right = QStackedWidget()
        self._pages = QStackedWidget()
        self._lay_out()
        self.lists.chosen_changed.connect(self._show_work)
        self.lists.asked.connect(self._begin)
        self.pull.stretched.connect(self._in_the_clamps)
        self.work.finished.connect(self.take_focus)

    def _lay_out(self) -> None:
        self._right.addWidget(self.pull)
        self._right.addWidget(self.work)
        body = QWidget()
        row = QHBoxLayout(body)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6 * STEP)
        row.addWidget(self.lists, 1)
        row.addWidget(self._right, 1)
        self._pages.addWidget(body)
        self._pages.addWidget(
            EmptyState(
                self.bench.theme,
                self.bench.icons,
                "stretching",
                tr("No frame waits for mesh"),
                tr(
                    "Finish the prep of frames on the Prep bench; then they come here by "
                    "themselves."
                ),
            )
        )
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)

    # what is shown

    def now(self) -> dt.datetime:
        """The moment by the shop's clock, carried on since it was read."""
        if self._table is None:
            return dt.datetime.now(dt.UTC)
        return self._table.now + dt.timedelta(seconds=time.monotonic() - self._read_at)

    def take_focus(self) -> None:
        if self._shows_cut:
            self._cut_page().setFocus()
        else:
            self.lists.take_focus()

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds - {"forecast"})

    def refresh(self) -> None:
        if self._shows_cut:
            self._cut_page().refresh()
        else:
            self.bench.read(stretching_table, self._show, owner=self)

    # the two views

    @property
    def cut(self) -> CutPage | None:
        """The cut plan, where somebody looked at it."""
        return self._cut

    def show_cut_plan(self) -> None:
        """Show the cut plan."""
        if not self._shows_cut:
            self._switch_view()

    def _switch_view(self) -> None:
        self._shows_cut = not self._shows_cut
        self._switch.setText(tr("Back to the table") if self._shows_cut else tr("Cut plan"))
        self._labels.setVisible(not self._shows_cut)
        if self._shows_cut:
            self._pages.setCurrentWidget(self._cut_page())
            self._tick.stop()
        else:
            self._pages.setCurrentIndex(0)
        self.refresh()
        self.take_focus()

    def _cut_page(self) -> CutPage:
        if self._cut is None:
            from framekeeper.ui.places.cut_page import CutPage

            self._cut = CutPage(self.bench)
            self._cut.summed_up.connect(self._header.set_purpose)
            self._cut.left.connect(self._switch_view)
            self._pages.addWidget(self._cut)
        return self._cut

    def _show(self, table: TableNow) -> None:
        if self._shows_cut:
            return  # the person went on while this was read
        had_nothing = self._table is None or self._pages.currentIndex() == 1
        self._table, self._read_at = table, time.monotonic()
        self.lists.show_table(table)
        counts = {group: len(getattr(table, group)) for group in GROUPS}
        self._pages.setCurrentIndex(0 if any(counts.values()) else 1)
        self._header.set_purpose(_purpose(counts))
        if had_nothing and self.isVisible():
            self.take_focus()  # a list that was hidden could not take it before
        self._run_timer()

    def _show_work(self, chosen: Chosen) -> None:
        if self._table is None:
            return
        if chosen.group == "waiting":
            self.pull.show_chosen(self._table, chosen)
            self._right.setCurrentWidget(self.pull)
        else:
            self.work.show_chosen(self._table, chosen)
            self._right.setCurrentWidget(self.work)

    # timers

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._run_timer()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._tick.stop()

    def _run_timer(self) -> None:
        if self.isVisible() and not self._shows_cut and self.lists.tick():
            self._tick.start()
        else:
            self._tick.stop()

    def _on_tick(self) -> None:
        if not self.lists.tick():
            self._tick.stop()
            self.refresh()  # a cure that is over may have made a screen ready

    # the work

    def take_scan(self, code: str) -> bool:
        """Add a scanned frame to those of its list that are chosen; typing goes on where it was."""
        if self._shows_cut:
            self._cut_page().add_frame(code)
            return True
        is_same_list = code in {r.frame.code for r in self.lists.tables[self.lists.group].rows}
        if not self.lists.choose([code], add=is_same_list):
            return False
        typing = self.window().focusWidget()
        if typing is None or not typing.isVisible() or not self._right.isAncestorOf(typing):
            self.lists.take_focus()
        return True

    def take_roll(self, roll_id: int) -> bool:
        """Take the mesh from a scanned roll, where frames wait for mesh."""
        if self._shows_cut:
            return False
        if self.lists.chosen().group != "waiting" or not self.lists.chosen().rows:
            return False
        return self.pull.take_roll(roll_id)

    def _begin(self) -> None:
        if self.lists.chosen().group == "waiting":
            self.pull.begin()
        else:
            self.work.begin()

    def _in_the_clamps(self, codes: list[str]) -> None:
        self.lists.choose(codes)
        self.take_focus()

    def _print_labels(self) -> None:
        self.bench.read(stretched_today, self._open_labels, owner=self)

    def _open_labels(self, codes: tuple[str, ...]) -> None:
        chosen = self.lists.chosen()
        wanted = list(codes) or (chosen.codes if chosen.group != "waiting" else [])
        if not wanted:
            self.bench.refused.emit(
                tr(
                    "No frame was stretched today, so there is no label to print. Choose frames "
                    "on the Rack to print theirs."
                )
            )
            return
        from framekeeper.ui.dialogs.labels import open_labels

        open_labels(self.bench, self, wanted)


def _purpose(counts: dict[str, int]) -> str:
    return tr(
        "{waiting}, {clamps}, {curing}",
        waiting=tr_count("{n} waits", "{n} wait", counts["waiting"]),
        clamps=tr_count("{n} in the clamps", "{n} in the clamps", counts["in_clamps"]),
        curing=tr_count("{n} curing", "{n} curing", counts["curing"]),
    )
