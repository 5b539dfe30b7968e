"""A page within the Mesh shelf: its own head and keys, and Esc leads back to the shelf."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton, QVBoxLayout

from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.esc_page import EscPage
from framekeeper.ui.widgets.notices import PlaceHeader
from framekeeper.ui.widgets.short_form import LocalKeyButton


class ShelfPage(EscPage):
    """Subclasses put their widgets below the head into `self.column`."""

    def __init__(self, bench: Bench, title: str, actions: tuple[QPushButton, ...] = ()) -> None:
        super().__init__()
        self.bench = bench
        self.back = LocalKeyButton(bench.theme, tr("Back to the shelf"), "Esc")
        self.back.clicked.connect(self.left)
        self.header = PlaceHeader(bench.theme, title, "", (self.back, *actions))
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(3 * STEP)
        self.column.addWidget(self.header)

    def refresh(self) -> None:
        """Read again what is shown."""

    def take_focus(self) -> None:
        """Put the focus where the work begins."""
