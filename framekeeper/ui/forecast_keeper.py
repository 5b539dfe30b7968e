"""Keeps the forecast up to date behind the window: fitted on another thread, told when new."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from framekeeper.ui.bench import Bench
from framekeeper.ui.tasks import Job

if TYPE_CHECKING:
    from framekeeper.domain.changes import Changes
    from framekeeper.domain.errors import FramekeeperError
    from framekeeper.services.forecasts import Gathered, Worked

WAIT_MS = 1500  # after the last change: a round of readings is one refit, not forty
_CONCERNS = frozenset({"frames", "mesh_types"})


class ForecastKeeper(QObject):
    """Refits when the shop has moved on, and keeps each screen's forecast.

    Lists do not wait for it: what is not kept yet is worked out when it is read.
    """

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self._bench = bench
        self._is_at_work = False
        self._is_wanted = False
        self._last: Job | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(WAIT_MS)
        self._timer.timeout.connect(self._begin)
        bench.tasks.changes_happened.connect(self._changed)
        bench.closing.connect(self._timer.stop)

    def start(self) -> None:
        """Look soon whether anything is to be done."""
        self._timer.start()

    def _changed(self, changes: Changes, _initiator: object) -> None:
        if changes.kinds & _CONCERNS and self._bench.is_open:
            self._timer.start()

    def _begin(self) -> None:
        if self._is_at_work:
            self._is_wanted = True  # what came meanwhile gets its turn after this one
            return
        from framekeeper.services import forecasts

        self._is_at_work = True
        self._bench.read(
            forecasts.gather, self._gathered, owner=self, fail=self._could_not, job=self._step()
        )

    def _gathered(self, gathered: Gathered) -> None:
        from framekeeper.services import forecasts

        self._bench.tasks.compute(
            lambda: forecasts.fit(gathered),
            self._fitted,
            self._could_not,
            owner=self,
            job=self._step(),
            quiet=True,
        )

    def _fitted(self, worked: Worked) -> None:
        from framekeeper.services import forecasts

        self._bench.change(
            lambda desk: forecasts.keep(desk, worked),
            owner=self,
            fail=self._could_not,
            job=self._step(),
        )

    def _could_not(self, _error: FramekeeperError) -> None:
        """Nothing that a person did is lost, and the next change tries again; so nobody is told."""

    def _step(self) -> Job:
        """Begin a step. The last one that was begun ends the work, whichever way it ends itself."""
        self._last = Job()
        self._last.finished.connect(self._step_is_over)
        return self._last

    def _step_is_over(self) -> None:
        if self.sender() is not self._last:
            return
        self._is_at_work = False
        if self._is_wanted:
            self._is_wanted = False
            self._timer.start()
