"""Starts the window: painted first, opened after, closed in order."""

from __future__ import annotations

import sys
from collections.abc import Callable

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from framekeeper.services.desk import Desk
from framekeeper.ui.bench import Bench
from framekeeper.ui.scanner import Scanner
from framekeeper.ui.window import Window


def run(open_desk: Callable[[], Desk]) -> int:
    """Show the window until it is closed; `open_desk` is called on the database thread."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("Framekeeper")
    bench = Bench(app, open_desk)
    window = Window(bench, Scanner(app))
    window.show()
    QTimer.singleShot(0, bench.open)  # after the first paint
    return app.exec()
