"""Takes a picture of every place of the window on a shop, without a screen."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtCore import QElapsedTimer, QEventLoop, QObject, QTimer
from PySide6.QtWidgets import QApplication

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.outlook import EVEN_CHANCE
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk
from framekeeper.services.plan import Listed, list_frames
from framekeeper.ui.bench import Bench
from framekeeper.ui.place_list import PLACES
from framekeeper.ui.places.findings import Findings
from framekeeper.ui.places.findings_page import FURTHER_PAGES
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.places.today import Today
from framekeeper.ui.theme import APP_ARGUMENTS
from framekeeper.ui.window import Window

WIDTH, HEIGHT = 1280, 800
_MOST_MS = 60_000
_LOOK_MS = 5
_QUIET_LOOKS = 5  # an answer that comes home may ask for more


def take(folder: Path, open_desk: Callable[[], Desk], *, further: bool = True) -> list[Path]:
    """Write a PNG of each place, of its pages, and of a frame; return their paths in order.

    Parameters
    ----------
    folder
        Made if it does not exist.
    open_desk
        Opens the shop; called on the database thread.
    further
        Turn to the further pages of a place, too.
    """
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication.instance() or QApplication(APP_ARGUMENTS)
    assert isinstance(app, QApplication)
    bench = Bench(app, open_desk)
    window = Window(bench)
    window.resize(WIDTH, HEIGHT)
    window.show()
    bench.open()
    try:
        return _take_all(window, folder, further=further)
    finally:
        window.close()


def _take_all(window: Window, folder: Path, *, further: bool) -> list[Path]:
    written: list[Path] = []
    wait_until_quiet(window)
    for number, entry in enumerate(PLACES, start=1):
        window.go(entry.key)
        wait_until_quiet(window)
        name = f"{number}-{entry.key}"
        written.append(_grab(window, folder / f"{name}.png"))
        if further:
            written += [
                _grab(window, folder / f"{name}-{page}.png") for page in _further_pages(window)
            ]
    listed: list[Listed] = []
    window.bench.read(list_frames, listed.extend, owner=window)
    wait_until_quiet(window)
    code = _telling_frame(listed)
    if code:
        window.show_frame(code)
        wait_until_quiet(window)
        written.append(_grab(window, folder / f"{len(PLACES) + 1}-frame.png"))
    return written


def _further_pages(window: Window) -> Iterator[str]:
    """Turn to each further page of the place where the window is, and name it once it is there."""
    place = window.current
    if isinstance(place, Today):
        place.show_week()
        wait_until_quiet(window)
        yield "week"
    if isinstance(place, StretchingTable):
        _plan_cuts(window, place)
        yield "cut-plan"
    if isinstance(place, MeshShelf):
        place.show_order()
        wait_until_quiet(window)
        yield "order"
    if isinstance(place, Findings):
        for page in FURTHER_PAGES:
            place.turn()
            wait_until_quiet(window)
            yield page.key


def _plan_cuts(window: Window, table: StretchingTable) -> None:
    """Plan the cuts for what is prepped; where nothing is, for what is to be restretched."""
    table.show_cut_plan()
    wait_until_quiet(window)
    page = table.cut
    assert page is not None
    if not any(job.is_to_cut for job in page.choice.jobs):
        page.take_queue("restretch")
    page.plan()
    wait_until_quiet(window, also=lambda: not page.watch.is_running)


def _telling_frame(listed: list[Listed]) -> str:
    """Choose the frame in service that was surveyed last, if possible one with a date to come."""
    surveyed = [
        (_has_a_date(f), life.survey.at, f.frame.code)
        for f in listed
        if (life := f.frame.state.life) is not None and life.survey is not None
    ]
    return max(surveyed, default=(False, dt.datetime.min.replace(tzinfo=dt.UTC), ""))[2]


def _has_a_date(listed: Listed) -> bool:
    """Whether its forecast says when it will be below its limit."""
    outlook = listed.outlook
    even = outlook.reached_at(EVEN_CHANCE) if outlook is not None else None
    return outlook is not None and even is not None and even > outlook.read_at


class _Quiet(QObject):
    """Ends an event loop once the window asks nothing of the shop any more."""

    def __init__(self, window: Window, also: Callable[[], bool]) -> None:
        super().__init__()
        self._window, self._also = window, also
        self._loop = QEventLoop()
        self._looks = 0
        self._clock = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_MS)
        self._timer.timeout.connect(self._look)

    def wait(self) -> None:
        self._clock.start()
        self._timer.start()
        self._loop.exec()
        self._timer.stop()

    def _look(self) -> None:
        is_quiet = self._also() and not self._window.bench.tasks.waiting
        self._looks = self._looks + 1 if is_quiet else 0
        if self._looks >= _QUIET_LOOKS or self._clock.elapsed() > _MOST_MS:
            self._loop.quit()


def _nothing_more() -> bool:
    return True


def wait_until_quiet(window: Window, *, also: Callable[[], bool] = _nothing_more) -> None:
    """Let the window work until nothing is asked of the shop any more, and `also` is true."""
    _Quiet(window, also).wait()


def _grab(window: Window, path: Path) -> Path:
    if not window.grab().save(str(path), "PNG"):
        raise StorageTrouble(
            say("{path} could not be written.", path=path), hint=say("Check the folder.")
        )
    return path
