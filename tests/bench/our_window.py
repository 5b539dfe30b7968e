"""One start of the program's window on a shop: time to first paint and to a usable due list."""

from __future__ import annotations

import os
import sys
import time

STARTED = float(os.environ["FRAMEKEEPER_BENCH_STARTED"])  # monotonic, when it was spawned


def main() -> None:
    """Show the window as the program does, say both times and what was imported, and leave."""
    from PySide6.QtCore import Qt, QTimer
    from PySide6.QtWidgets import QApplication

    from framekeeper.ui.bench import Bench
    from framekeeper.ui.start import listen
    from framekeeper.ui.theme import APP_ARGUMENTS
    from framekeeper.ui.window import Window

    heavy = ("scipy", "pyqtgraph", "alembic", "reportlab", "sqlalchemy", "numpy")
    place = sys.argv[1]
    app = QApplication(APP_ARGUMENTS)

    def open_shop() -> object:
        from framekeeper.bootstrap import open_desk

        return open_desk(place)

    bench = Bench(app, open_shop)
    painted: list[float] = []

    def first_paint() -> None:
        painted.append(time.monotonic() - STARTED)
        loaded = ",".join(name for name in heavy if name in sys.modules)
        sys.stdout.write(f"{painted[0]:.6f} {loaded or '-'} ")

    window = Window(bench)
    window.painted.connect(first_paint)
    window.painted.connect(bench.open, Qt.ConnectionType.QueuedConnection)
    window.painted.connect(lambda: listen(window, app), Qt.ConnectionType.QueuedConnection)
    window.show()
    look = QTimer()

    def usable() -> None:
        if painted and bench.is_open and not bench.tasks.waiting:
            look.stop()
            sys.stdout.write(f"{time.monotonic() - STARTED:.6f}\n")
            sys.stdout.flush()
            window.close()

    look.setInterval(1)
    look.timeout.connect(usable)
    look.start()
    app.exec()


if __name__ == "__main__":
    main()
