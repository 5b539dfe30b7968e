"""Draws the program's own line icons from SVG files in the colours of the palette."""

from __future__ import annotations

import weakref
from typing import Protocol

import shiboken6
from PySide6.QtCore import QByteArray, QObject, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from framekeeper import shipped
from framekeeper.ui.theme import Theme, device_ratio

PLACE_ICONS = (
    "today",
    "rack",
    "prep",
    "stretching",
    "round",
    "washout",
    "shelf",
    "meters",
    "findings",
)


class Dressed(Protocol):
    """An action or a button: whatever can wear an icon."""

    def setIcon(self, icon: QIcon) -> None:
        """Take the icon."""


class IconSet(QObject):
    """Renders icons in the palette's colours and keeps them fresh when the scheme changes."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(theme)
        self._theme = theme
        self._sources: dict[str, str] = {}
        self._cache: dict[tuple[str, str, int, str], QPixmap] = {}
        self._dressed: list[tuple[weakref.ref[QObject], str, str]] = []
        theme.changed.connect(self._dress_again)

    def pixmap(self, name: str, size: int = 24, colour: str = "ink") -> QPixmap:
        """Draw an icon at a size in a colour of the palette, named as in `Palette`."""
        key = (name, colour, size, self._theme.scheme.value)
        if key not in self._cache:
            self._cache[key] = self._render(name, size, getattr(self._theme.palette, colour))
        return self._cache[key]

    def icon(self, name: str, colour: str = "press") -> QIcon:
        """Give an icon; where it cannot be pressed, the style makes it quiet."""
        return QIcon(self.pixmap(name, 24, colour))

    def dress(self, target: Dressed, name: str, colour: str = "press") -> None:
        """Give an action or a button its icon, now and after every change of scheme."""
        target.setIcon(self.icon(name, colour))
        if isinstance(target, QObject):
            self._dressed.append((weakref.ref(target), name, colour))

    def _dress_again(self) -> None:
        alive = []
        for ref, name, colour in self._dressed:
            target = ref()
            if target is not None and shiboken6.isValid(target):
                target.setIcon(self.icon(name, colour))  # type: ignore[attr-defined]
                alive.append((ref, name, colour))
        self._dressed = alive

    def _render(self, name: str, size: int, colour: str) -> QPixmap:
        if name not in self._sources:
            path = shipped.find(f"resources/icons/{name}.svg")
            self._sources[name] = path.read_text(encoding="utf-8")
        svg = self._sources[name].replace("currentColor", colour)
        ratio = device_ratio()
        pixmap = QPixmap(QSize(round(size * ratio), round(size * ratio)))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        QSvgRenderer(QByteArray(svg.encode())).render(painter, QRectF(0, 0, size, size))
        painter.end()
        return pixmap
