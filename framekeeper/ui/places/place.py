"""The shape that all places share: shown, refreshed when something changed, and fed by scans."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from framekeeper.ui.bench import Bench
from framekeeper.ui.theme import STEP

if TYPE_CHECKING:
    from framekeeper.domain.changes import Changes


class Place(QWidget):
    """One place in the shop. It shows and asks; services decide.

    Subclasses build their widgets into `self.column` in `__init__`, override `refresh` to read
    what they show, `follows` to say which changes concern them, and `take_scan` where a scan means
    more here than opening the frame.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._is_stale = True
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(6 * STEP, 5 * STEP, 6 * STEP, 4 * STEP)
        self.column.setSpacing(3 * STEP)
        bench.tasks.changes_happened.connect(self._on_changes)

    def enter(self) -> None:
        """The person comes here: refresh what went stale meanwhile, and take the focus."""
        if self._is_stale:
            self._is_stale = False
            self.refresh()
        self.take_focus()

    def take_focus(self) -> None:
        """Put the focus where the work begins."""
        self.setFocus()

    def refresh(self) -> None:
        """Read again what is shown; the answer arrives later."""

    def follows(self, changes: Changes) -> bool:
        """Say whether these changes concern this place."""
        return bool(changes.kinds & {"frames", "mesh_types", "settings", "forecast"})

    def take_scan(self, code: str) -> bool:
        """Use a scanned code; False lets the window open the frame's page."""
        return False

    def take_roll(self, roll_id: int) -> bool:
        """Use the scanned label of a roll; False lets the window go to the Mesh shelf with it."""
        return False

    def _on_changes(self, changes: Changes, _initiator: object) -> None:
        if not self.follows(changes):
            return
        if self.isVisible():
            self.refresh()
        else:
            self._is_stale = True
