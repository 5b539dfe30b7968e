"""Claims about work off the window's thread."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
import shiboken6
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from framekeeper.domain.errors import NotFound
from framekeeper.ui.tasks import Cancelled, Job, Tasks
from tests.fakes import InlineTasks


@dataclass(frozen=True)
class Result:
    changes: str


@pytest.fixture
def tasks(qtbot: QtBot) -> Iterator[Tasks]:
    made = Tasks()
    yield made
    made.shutdown()


def test_work_leaves_the_windows_thread_and_the_answer_comes_home(
    qtbot: QtBot, tasks: Tasks
) -> None:
    """The work runs elsewhere, reads and changes on one thread, and `then` on ours."""
    ran: list[int] = []
    home: list[int] = []

    def work() -> int:
        ran.append(threading.get_ident())
        return 5

    tasks.read(work, lambda _: home.append(threading.get_ident()))
    tasks.change(work, lambda _: home.append(threading.get_ident()))
    qtbot.waitUntil(lambda: len(home) == 2)
    assert set(home) == {threading.get_ident()}
    assert len(set(ran)) == 1
    assert set(ran) != set(home)


def test_reads_and_changes_keep_their_order(qtbot: QtBot, tasks: Tasks) -> None:
    """A read that is asked for after a change sees it."""
    store: list[int] = []
    seen: list[int] = []
    for n in range(20):
        tasks.change(lambda n=n: store.append(n))
        tasks.read(lambda: len(store), seen.append)
    qtbot.waitUntil(lambda: len(seen) == 20)
    assert seen == list(range(1, 21))


def test_maths_does_not_wait_for_the_database(qtbot: QtBot, tasks: Tasks) -> None:
    """A long read leaves the second thread free."""
    gate = threading.Event()
    seen: list[str] = []
    tasks.read(lambda: gate.wait(5), lambda _: seen.append("read"))
    tasks.compute(lambda: "maths", seen.append)
    qtbot.waitUntil(lambda: seen == ["maths"])
    gate.set()
    qtbot.waitUntil(lambda: seen == ["maths", "read"])


def test_views_hear_of_a_change_before_its_own_callback(qtbot: QtBot, tasks: Tasks) -> None:
    """`changes_happened` carries the changes and who made them; reads never emit it."""
    heard: list[object] = []
    owner = QObject()
    tasks.changes_happened.connect(lambda changes, by: heard.append((changes, by is owner)))
    tasks.change(lambda: Result("frame 7"), lambda _: heard.append("then"), owner=owner)
    tasks.read(lambda: Result("not a change"), lambda _: heard.append("read"))
    qtbot.waitUntil(lambda: "read" in heard)
    assert heard == [("frame 7", True), "then", "read"]


def _raise(error: Exception) -> None:
    raise error


def test_trouble_goes_to_who_asked_or_to_everybody(qtbot: QtBot, tasks: Tasks) -> None:
    """A `FramekeeperError` reaches `fail`; without one it reaches `trouble`; a bug, `crash`."""
    private: list[Exception] = []
    public: list[Exception] = []
    bugs: list[Exception] = []
    tasks.trouble.connect(public.append)
    tasks.crash.connect(bugs.append)
    mine, yours, bug = NotFound("mine"), NotFound("yours"), KeyError("bug")
    tasks.change(lambda: _raise(mine), None, private.append)
    tasks.change(lambda: _raise(yours))
    tasks.change(lambda: _raise(bug), None, private.append)
    qtbot.waitUntil(lambda: bool(bugs))
    assert (private, public, bugs) == ([mine], [yours], [bug])


def test_an_answer_for_a_closed_page_is_dropped(qtbot: QtBot, tasks: Tasks) -> None:
    """A page that has gone is not called, whether named as owner or found from its method."""

    class Page(QObject):
        called = 0

        def show(self, _: object) -> None:
            Page.called += 1

    gate = threading.Event()
    named, found = Page(), Page()
    tasks.read(lambda: gate.wait(5), lambda _: named.show(None), owner=named)
    tasks.read(lambda: 1, found.show)
    shiboken6.delete(named)
    shiboken6.delete(found)
    gate.set()
    qtbot.waitUntil(lambda: tasks.waiting == 0)
    assert Page.called == 0


def test_progress_comes_home_and_a_cancelled_job_stops_between_items(
    qtbot: QtBot, tasks: Tasks
) -> None:
    """The work sees the wish at its next report; neither callback is called."""
    job = Job()
    progress: list[tuple[int, int]] = []
    called: list[object] = []
    reached: list[int] = []
    go = threading.Event()

    def work() -> None:
        for n in range(1, 100):
            job.report(n, 99)
            reached.append(n)
            go.wait(5)

    job.progressed.connect(lambda done, total: progress.append((done, total)))
    with qtbot.waitSignal(job.finished, timeout=5000):
        tasks.change(work, called.append, called.append, job=job)
        qtbot.waitUntil(lambda: progress == [(1, 99)])
        job.cancel()
        go.set()
    assert reached == [1]
    assert called == []
    with pytest.raises(Cancelled):
        job.report(2, 99)


def test_a_job_that_is_cancelled_before_its_turn_never_runs(qtbot: QtBot, tasks: Tasks) -> None:
    """Waiting work is dropped unseen."""
    gate = threading.Event()
    ran: list[int] = []
    tasks.read(lambda: gate.wait(5), lambda _: None)
    job = tasks.read(lambda: ran.append(1), lambda _: None)
    job.cancel()
    with qtbot.waitSignal(job.finished, timeout=5000):
        gate.set()
    assert ran == []


def test_only_long_work_shows_that_it_runs(qtbot: QtBot, tasks: Tasks) -> None:
    """Short work says nothing; long work says busy once, and calm once."""
    told: list[bool] = []
    tasks.busy_changed.connect(told.append)
    done: list[int] = []
    tasks.read(lambda: 1, done.append)
    qtbot.waitUntil(lambda: bool(done))
    assert told == []
    gate = threading.Event()
    tasks.read(lambda: gate.wait(5), lambda _: done.append(2))
    qtbot.waitUntil(lambda: told == [True], timeout=3000)
    assert tasks.is_busy
    gate.set()
    qtbot.waitUntil(lambda: told == [True, False])


def test_closing_finishes_changes_and_drops_reads(qtbot: QtBot) -> None:
    """What was written down is written; nothing is called afterwards; no thread is left."""
    tasks = Tasks()
    gate = threading.Event()
    ran: list[str] = []
    tasks.change(lambda: gate.wait(5))
    tasks.change(lambda: ran.append("change"), lambda _: ran.append("then"))
    tasks.read(lambda: ran.append("read"), lambda _: None)
    threading.Timer(0.05, gate.set).start()
    tasks.shutdown()
    qtbot.wait(1)
    assert ran == ["change"]
    assert not [t for t in threading.enumerate() if t.name.startswith("framekeeper-")]
    with pytest.raises(RuntimeError):
        tasks.read(lambda: 1, lambda _: None)


def test_inline_tasks_behave_like_the_real_ones(qtbot: QtBot) -> None:
    """The stand-in runs at once, and tells changes, trouble and bugs the same way."""
    tasks = InlineTasks()
    heard: list[object] = []
    tasks.changes_happened.connect(lambda changes, _by: heard.append(changes))
    tasks.trouble.connect(heard.append)
    tasks.change(lambda: Result("one"), lambda _: heard.append("then"))
    error = NotFound("no")
    tasks.read(lambda: _raise(error), lambda _: None)
    assert heard == ["one", "then", error]
    assert tasks.waiting == 0
