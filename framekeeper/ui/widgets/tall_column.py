"""The inside of a scroll area that knows how high its wrapped words are at this width.

Qt asks what is in a scroll area for its least size without telling it the width. Words that wrap
then count as one line, and what stands below them is squeezed or painted over.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget


class TallColumn(QWidget):
    """As high as its layout needs at its width; then its scroll area scrolls instead."""

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._claim()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self._claim()
        return super().event(event)

    def _claim(self) -> None:
        layout = self.layout()
        if layout is not None and layout.hasHeightForWidth():
            self.setMinimumHeight(layout.minimumHeightForWidth(self.width()))
