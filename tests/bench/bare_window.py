"""The peer of the start benchmark: a bare PySide6 window with an empty table."""

from __future__ import annotations

import os
import sys
import time

STARTED = float(os.environ["FRAMEKEEPER_BENCH_STARTED"])  # monotonic, when it was spawned


def main() -> None:
    """Show the window, say how long the first paint took, and leave."""
    from PySide6.QtCore import QEvent, QTimer
    from PySide6.QtWidgets import QApplication, QMainWindow, QTableWidget

    class Bare(QMainWindow):
        def event(self, event: QEvent) -> bool:
            done = super().event(event)
            if event.type() == QEvent.Type.Paint:
                sys.stdout.write(f"{time.monotonic() - STARTED:.6f}\n")
                sys.stdout.flush()
                QTimer.singleShot(0, self.close)
            return done

    app = QApplication(sys.argv[:1])
    window = Bare()
    window.setCentralWidget(QTableWidget(0, 8))
    window.resize(1280, 800)
    window.show()
    app.exec()


if __name__ == "__main__":
    main()
