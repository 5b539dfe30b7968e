"""Keeps the tests of the window honest: nothing may be left running, open or complained about."""

from __future__ import annotations

import gc
import os
import re
import threading
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer, QtMsgType
from PySide6.QtWidgets import QApplication

from framekeeper.ui.theme import Scheme, Theme

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

# The offscreen platform says this of windows and lists that are shown; it is not about the program.
HARMLESS = re.compile(
    r"This plugin does not support ((propagateSizeHints|raise)\(\)|grabbing the keyboard)"
)
LOUD = (QtMsgType.QtWarningMsg, QtMsgType.QtCriticalMsg, QtMsgType.QtFatalMsg)


@pytest.fixture(autouse=True)
def nothing_left_behind(request: pytest.FixtureRequest) -> Iterator[None]:
    """Fail a test that leaves a thread, a running timer or a window, or that makes Qt complain."""
    # Only tests that use Qt pay for this; asking for qtbot here would open a window system for all.
    if "qtbot" not in request.fixturenames and "qapp" not in request.fixturenames:
        yield
        return
    app: QApplication = request.getfixturevalue("qapp")
    log = request.getfixturevalue("qtlog")
    threads = set(threading.enumerate())
    windows = set(map(id, app.topLevelWidgets()))
    timers = set(map(id, _running_timers(app)))
    yield
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    left = [t.name for t in threading.enumerate() if t not in threads and t.is_alive()]
    assert not left, f"threads left running: {left}"
    open_now = [w for w in app.topLevelWidgets() if id(w) not in windows and w.isVisible()]
    assert not open_now, f"windows left open: {open_now}"
    running = [t for t in _running_timers(app) if id(t) not in timers]
    assert not running, f"timers left running: {running}"
    said = [r.message for r in log.records if r.type in LOUD and not HARMLESS.search(r.message)]
    assert not said, f"Qt complained: {said}"


def _running_timers(app: QApplication) -> list[QTimer]:
    roots: list[QObject] = [app, *app.topLevelWidgets()]
    return [t for root in roots for t in root.findChildren(QTimer) if t.isActive()]


@pytest.fixture
def theme(qapp: QApplication) -> Iterator[Theme]:
    """Give the light look, and undress the application afterwards."""
    made = Theme(qapp, Scheme.LIGHT)
    yield made
    made.deleteLater()
    qapp.setStyleSheet("")
