"""Looks after a search for a better cut plan: its process lives no longer than somebody waits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from framekeeper.services import cut_plan
from framekeeper.ui.bench import Bench

if TYPE_CHECKING:
    from framekeeper.domain.cutting import CutPlan
    from framekeeper.domain.cutting_process import CutSearch

LOOK_EVERY_MS = 200


class CutWatch(QObject):
    """One search at a time.

    The first plan takes milliseconds and is made here; the search is a process of its own, which
    is looked at a few times a second. It ends with the window, or when it is cancelled.

    Signals
    -------
    better(plan)
        There is a plan: the first one at once, later ones as they are found.
    ended(is_whole)
        The search is over: by itself, or because somebody cancelled it or it broke.
    """

    better = Signal(object)
    ended = Signal(bool)

    def __init__(self, bench: Bench, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._search: CutSearch | None = None
        self._told: CutPlan | None = None
        self._look = QTimer(self)
        self._look.setInterval(LOOK_EVERY_MS)
        self._look.timeout.connect(self._poll)
        bench.closing.connect(self.stop)

    @property
    def is_running(self) -> bool:
        """Whether better plans are still looked for."""
        return self._search is not None

    def start(self, request: cut_plan.CutRequest, *, seconds: float) -> None:
        """Make a first plan, and look for better ones."""
        self.stop()
        self._search = cut_plan.search(request, seconds=seconds)
        self._told = None
        self._look.start()
        self._tell()

    def cancel(self) -> None:
        """Stop looking; the best plan so far was told, or is told now."""
        if self._search is not None:
            self._search.cancel()
            self._end(is_whole=False)

    def stop(self) -> None:
        """Stop looking, and tell nothing more: whoever waited has gone, or asks anew."""
        self._look.stop()
        if self._search is not None:
            self._search.cancel()
            self._search = None

    def _poll(self) -> None:
        if self._search is None:
            return
        if self._search.poll():
            self._tell()
        else:
            self._end(is_whole=self._search.has_finished)

    def _end(self, *, is_whole: bool) -> None:
        self._tell()
        self._look.stop()
        self._search = None
        self.ended.emit(is_whole)

    def _tell(self) -> None:
        assert self._search is not None
        best = self._search.best()
        if best is not self._told:
            self._told = best
            self.better.emit(best)
