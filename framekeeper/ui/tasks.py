"""Keeps the window awake: work runs on other threads and its answer comes home on the window's.

One thread owns the database, so reads and changes happen in the order in which they were asked
for; a second one does pure maths. Nothing here knows what the work is.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple, TypeVar

import shiboken6
from PySide6.QtCore import QObject, Qt, QTimer, Signal, SignalInstance

from framekeeper.domain.errors import FramekeeperError

if TYPE_CHECKING:
    from concurrent.futures import ThreadPoolExecutor

T = TypeVar("T")
POPUP_DELAY_MS = 400  # shorter work is over before a person has read that it runs


class Cancelled(Exception):
    """The person gave up waiting; raised inside the work so that it rolls back."""


class Job(QObject):
    """One piece of work: its progress, and the way to stop it.

    Signals
    -------
    progressed(done, total)
        How far the work is; arrives on the window's thread.
    finished()
        The work is over, whichever way it ended.
    """

    progressed = Signal(int, int)
    finished = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._stop = threading.Event()

    def cancel(self) -> None:
        """Ask the work to stop at its next item."""
        self._stop.set()

    @property
    def is_cancelled(self) -> bool:
        """True once somebody asked the work to stop."""
        return self._stop.is_set()

    def report(self, done: int, total: int) -> None:
        """Called by the work between items: tells progress, and stops where that was asked.

        Raises
        ------
        Cancelled
            Where the person gave up waiting.
        """
        if self.is_cancelled:
            raise Cancelled
        self.progressed.emit(done, total)


class _Order(NamedTuple):
    """What was asked for, and who waits for the answer."""

    work: Callable[[], object]
    then: Callable[[object], None] | None
    fail: Callable[[FramekeeperError], None] | None
    owner: QObject | None
    job: Job
    is_change: bool


class _Answer(NamedTuple):
    order: _Order
    result: object = None
    error: Exception | None = None


class Tasks(QObject):
    """Runs work off the window's thread.

    Signals
    -------
    changes_happened(changes, initiator)
        A change was written; `changes` is the `.changes` of its result, `initiator` its owner.
    trouble(error)
        A `FramekeeperError` that nobody asked to hear about.
    crash(error)
        Anything else that was raised: a bug.
    busy_changed(busy)
        True when work has been running for longer than a person likes to wonder.
    """

    changes_happened = Signal(object, object)
    trouble = Signal(object)
    crash = Signal(object)
    busy_changed = Signal(bool)
    _came_home = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pools: dict[str, ThreadPoolExecutor] = {}
        self._open: set[Job] = set()
        self._closed = False
        self._is_busy = False
        self._delay = QTimer(self)
        self._delay.setSingleShot(True)
        self._delay.setInterval(POPUP_DELAY_MS)
        self._delay.timeout.connect(self._now_busy)
        self._came_home.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """True while work runs that a person should be told about."""
        return self._is_busy

    @property
    def waiting(self) -> int:
        """How many pieces of work have not come home yet."""
        return len(self._open)

    def read(
        self,
        work: Callable[[], T],
        then: Callable[[T], None],
        fail: Callable[[FramekeeperError], None] | None = None,
        *,
        owner: QObject | None = None,
        job: Job | None = None,
    ) -> Job:
        """Read on the database thread; `then` gets the result unless its owner has gone."""
        return self._submit("database", work, then, fail, owner, job, is_change=False)

    def change(
        self,
        work: Callable[[], T],
        then: Callable[[T], None] | None = None,
        fail: Callable[[FramekeeperError], None] | None = None,
        *,
        owner: QObject | None = None,
        job: Job | None = None,
    ) -> Job:
        """Change on the database thread; views hear of it before `then` is called."""
        return self._submit("database", work, then, fail, owner, job, is_change=True)

    def compute(
        self,
        work: Callable[[], T],
        then: Callable[[T], None],
        fail: Callable[[FramekeeperError], None] | None = None,
        *,
        owner: QObject | None = None,
        job: Job | None = None,
        quiet: bool = False,
    ) -> Job:
        """Run pure maths on its own thread; quietly where nobody waits for it."""
        return self._submit("maths", work, then, fail, owner, job, is_change=False, quiet=quiet)

    def shutdown(self) -> None:
        """Finish every change that was asked for, drop the rest, and join the threads."""
        self._closed = True
        self._delay.stop()
        for pool in self._pools.values():
            pool.shutdown(wait=True)
        self._pools.clear()
        self._open.clear()

    def _submit(
        self,
        pool: str,
        work: Callable[[], T],
        then: Callable[[T], None] | None,
        fail: Callable[[FramekeeperError], None] | None,
        owner: QObject | None,
        job: Job | None,
        *,
        is_change: bool,
        quiet: bool = False,
    ) -> Job:
        if self._closed:
            raise RuntimeError("the window is closing; no new work is taken")
        if owner is None and isinstance(receiver := getattr(then, "__self__", None), QObject):
            owner = receiver
        job = job or Job()
        order = _Order(work, then, fail, owner, job, is_change)  # type: ignore[arg-type]
        if not quiet:
            self._open.add(job)
            if not self._is_busy and not self._delay.isActive():
                self._delay.start()
        self._start(pool, order)
        return job

    def _start(self, pool: str, order: _Order) -> None:
        from concurrent.futures import ThreadPoolExecutor  # after the first paint

        if pool not in self._pools:
            self._pools[pool] = ThreadPoolExecutor(1, thread_name_prefix=f"framekeeper-{pool}")
        self._pools[pool].submit(self._run, order)

    def _run(self, order: _Order) -> None:
        """Runs on a worker thread."""
        answer = self._answer(order)
        if not self._closed:
            self._came_home.emit(answer)

    def _answer(self, order: _Order) -> _Answer:
        if order.job.is_cancelled or (self._closed and not order.is_change):
            return _Answer(order, error=Cancelled())
        try:
            return _Answer(order, result=order.work())
        except Exception as error:  # the border: what the work raises is told, never lost
            return _Answer(order, error=error)

    def _deliver(self, answer: object) -> None:
        assert isinstance(answer, _Answer)
        order = answer.order
        self._open.discard(order.job)
        if not self._open:
            self._calm()
        if not self._closed:
            self._tell(answer)
        _emit(order.job, order.job.finished)

    def _tell(self, answer: _Answer) -> None:
        order, error = answer.order, answer.error
        is_here = order.owner is None or shiboken6.isValid(order.owner)
        if isinstance(error, Cancelled):
            return
        if isinstance(error, FramekeeperError):
            if order.fail is None:
                self.trouble.emit(error)
            elif is_here:
                order.fail(error)
            return
        if error is not None:
            self.crash.emit(error)
            return
        changes = getattr(answer.result, "changes", None)
        if order.is_change and changes is not None:
            self.changes_happened.emit(changes, order.owner if is_here else None)
        if order.then is not None and is_here:
            order.then(answer.result)

    def _now_busy(self) -> None:
        if self._open:
            self._is_busy = True
            self.busy_changed.emit(True)

    def _calm(self) -> None:
        self._delay.stop()
        if self._is_busy:
            self._is_busy = False
            self.busy_changed.emit(False)


def _emit(sender: QObject, signal: SignalInstance) -> None:
    if shiboken6.isValid(sender):
        signal.emit()
