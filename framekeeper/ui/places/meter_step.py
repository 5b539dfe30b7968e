"""A piece of work that takes a whole place for a while; Esc leaves it."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.widgets.esc_page import EscPage


class MeterStep(EscPage):
    """Work over the list of meters."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench

    def focus_work(self) -> None:
        """Put the focus where the work goes on."""
        self.setFocus()
