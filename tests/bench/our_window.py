"""One start of the program's window on a shop: time to first paint and to a usable due list."""

from __future__ import annotations

import os
import sys
import time

STARTED = float(os.environ["FRAMEKEEPER_BENCH_STARTED"])  # monotonic, when it was spawned
HEAVY = ("scipy", "pyqtgraph", "alembic", "reportlab", "sqlalchemy", "numpy")


def main() -> int:
    """Open the window as the program does, say both times and what was imported, and leave."""
    from framekeeper.launch import open_window, window_words
    from framekeeper.ui.window import Window

    def watch(window: Window) -> None:
        from PySide6.QtCore import QTimer

        look = QTimer(window)

        def painted() -> None:
            loaded = ",".join(name for name in HEAVY if name in sys.modules)
            sys.stdout.write(f"{time.monotonic() - STARTED:.6f} {loaded or '-'} ")
            look.start(1)

        def usable() -> None:
            if window.bench.is_open and not window.bench.tasks.waiting:
                look.stop()
                sys.stdout.write(f"{time.monotonic() - STARTED:.6f}\n")
                sys.stdout.flush()
                window.close()

        look.timeout.connect(usable)
        window.painted.connect(painted)

    words = window_words(["--db", sys.argv[1]])
    assert words is not None
    return open_window(words, watch=watch)


if __name__ == "__main__":
    raise SystemExit(main())
