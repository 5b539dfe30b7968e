"""The line on the Mesh shelf that tells which batches of glue run out of date."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from framekeeper.services.supplies import SupplyNow
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.marks import mark_pixmap

_MOST_LINES = 2


class DateWarnings(QWidget):
    """A mark and a sentence for each batch; it takes no room while all is well."""

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self._bench = bench
        self._mark, self._words = QLabel(), QLabel()
        self._words.setWordWrap(True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._words, 1)
        self.hide()

    def show_supplies(self, listed: tuple[SupplyNow, ...]) -> None:
        """Say which batches run out of date, the first of them first."""
        told = [now for now in listed if now.told is not None]
        near = sorted(told, key=lambda now: now.days_left or 0)
        formatter, theme = self._bench.formatter, self._bench.theme
        lines = [formatter.sentence(now.told) for now in near[:_MOST_LINES] if now.told]
        if len(near) > _MOST_LINES:
            more = len(near) - _MOST_LINES
            lines.append(tr_count("And {n} more: F7.", "And {n} more: F7.", more))
        self._words.setText("\n".join(lines))
        self.setVisible(bool(lines))
        if near:
            mark = mark_pixmap(
                "below" if near[0].is_past else "soon", theme.px("body"), theme.palette
            )
            self._mark.setPixmap(mark)
