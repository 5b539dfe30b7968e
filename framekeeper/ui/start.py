"""Starts the window: painted first, opened after, closed in order."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from framekeeper.ui.bench import Bench
from framekeeper.ui.forecast_keeper import ForecastKeeper
from framekeeper.ui.theme import APP_ARGUMENTS
from framekeeper.ui.window import Window

if TYPE_CHECKING:
    from framekeeper.services.desk import Desk


def listen(window: Window, app: QApplication) -> None:
    """Let a scanner that types be heard in the window."""
    from framekeeper.ui.scanner import Scanner  # after the first paint

    window.listen_to(Scanner(app))


def run(open_desk: Callable[[], Desk], *, watch: Callable[[Window], None] | None = None) -> int:
    """Show the window until it is closed.

    Parameters
    ----------
    open_desk
        Opens the shop; called on the database thread, after the first paint.
    watch
        Gets the window before it is shown; for measurements.
    """
    app = QApplication.instance() or QApplication(APP_ARGUMENTS)
    assert isinstance(app, QApplication)
    app.setApplicationName("Framekeeper")
    bench = Bench(app, open_desk)
    window = Window(bench)
    window.painted.connect(bench.open, Qt.ConnectionType.QueuedConnection)
    keeper = ForecastKeeper(bench)
    bench.opened.connect(keeper.start)
    window.painted.connect(lambda: listen(window, app), Qt.ConnectionType.QueuedConnection)
    if watch is not None:
        watch(window)
    window.show()
    return app.exec()
