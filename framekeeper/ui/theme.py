"""The one place of colours, type sizes and spacing: light, dark and large text stay one look.

Paper, ink, and the gold of dyed mesh. No other module of the window holds a literal colour.
The colours of the three answers (holds, soon, below) are from the colour-blind-safe palette of
Okabe and Ito, "Color Universal Design", 2008; each also has its own mark and word.
"""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontInfo, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from framekeeper.ui.stylesheet import stylesheet

STEP = 4  # every distance is a multiple of this
CORNER = 4
TARGET = 24  # nothing that may be pressed is smaller
BODY_PX = 14
SCALE = {"small": 12 / 14, "body": 1.0, "large": 18 / 14, "title": 28 / 14}


class Scheme(StrEnum):
    """Light or dark."""

    LIGHT = "light"
    DARK = "dark"


class Palette(NamedTuple):
    """The colours of one scheme, named by what they are for."""

    ground: str  # behind everything
    surface: str  # what lies on the ground: fields, tables, papers
    ink: str
    quiet: str  # ink of second rank
    line: str  # hairlines in tables; never the only border of a control
    edge: str  # border of a control; 3:1 against ground and surface
    place: str  # gold: the cloth, and the place where you are
    place_tint: str  # the flat tone behind what is chosen; ink is readable on it
    on_place: str
    press: str  # what may be pressed
    on_press: str
    holds: str
    soon: str
    below: str
    mesh_white: str
    mesh_yellow: str
    thread_white: str
    thread_yellow: str
    bar: str  # the frame's bars

    def colour(self, name: str) -> QColor:
        """Give one colour as Qt wants it."""
        return QColor(getattr(self, name))


LIGHT = Palette(
    ground="#F6F4EF",
    surface="#FFFFFF",
    ink="#1C2430",
    quiet="#5B6675",
    line="#D9D5CB",
    edge="#858B93",
    place="#E3B23C",
    place_tint="#F7E9C6",
    on_place="#1C2430",
    press="#1F4E79",
    on_press="#FFFFFF",
    holds="#009E73",
    soon="#E69F00",
    below="#D55E00",
    mesh_white="#F4F2EC",
    mesh_yellow="#F3DA92",
    thread_white="#B9B6AD",
    thread_yellow="#BF8A1F",
    bar="#E4E6E8",
)

DARK = Palette(
    ground="#15191F",
    surface="#1E242C",
    ink="#E8E6E1",
    quiet="#9AA4B1",
    line="#333B46",
    edge="#717C8A",
    place="#E3B23C",
    place_tint="#453A1E",
    on_place="#1C2430",
    press="#7FB2E5",
    on_press="#10161D",
    holds="#009E73",
    soon="#E69F00",
    below="#D55E00",
    mesh_white="#4A4F55",
    mesh_yellow="#8F7128",
    thread_white="#8D9196",
    thread_yellow="#DDB350",
    bar="#343C46",
)

# Fusion is chosen by an argument: `setStyle` would hand every constant of QStyle to Python, which
# takes a tenth of the time to the first paint.
APP_ARGUMENTS = ["framekeeper", "-style", "fusion"]

PALETTES = {Scheme.LIGHT: LIGHT, Scheme.DARK: DARK}


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two colours, from 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio" and "relative luminance".
    """

    def luminance(name: str) -> float:
        colour = QColor(name)
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
            for c in (colour.redF(), colour.greenF(), colour.blueF())
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


class Theme(QObject):
    """The look that is in force; handed to every widget that paints.

    Parameters
    ----------
    app
        The application that is dressed; made with `APP_ARGUMENTS`.
    choice
        A scheme that the person chose; None follows the system.
    """

    changed = Signal()

    def __init__(self, app: QApplication, choice: Scheme | None = None) -> None:
        super().__init__(app)
        self._app = app
        self._choice = choice
        font = app.font()
        # A system that asks for large text is obeyed; below 14 px nobody reads at arm's length.
        self._body_px = max(BODY_PX, QFontInfo(font).pixelSize())
        self._scheme = self._wanted()
        app.styleHints().colorSchemeChanged.connect(self._system_changed)
        self._dress()

    @property
    def scheme(self) -> Scheme:
        """Light or dark, as shown now."""
        return self._scheme

    @property
    def palette(self) -> Palette:
        """The colours in force."""
        return PALETTES[self._scheme]

    def choose(self, choice: Scheme | None) -> None:
        """Take a scheme, or follow the system again."""
        self._choice = choice
        self._refresh()

    def px(self, size: str) -> int:
        """Pixel size of one step of the type scale: small, body, large or title."""
        return round(self._body_px * SCALE[size])

    def font(self, size: str = "body", *, bold: bool = False) -> QFont:
        """Give the system's typeface at one step of the scale, with tabular figures."""
        font = QFont(self._app.font())
        font.setPixelSize(self.px(size))
        font.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    def _wanted(self) -> Scheme:
        if self._choice is not None:
            return self._choice
        system = self._app.styleHints().colorScheme()
        # Unknown (an X11 session without a desktop): paper, because shops are bright.
        return Scheme.DARK if system == Qt.ColorScheme.Dark else Scheme.LIGHT

    def _system_changed(self) -> None:
        self._refresh()

    def _refresh(self) -> None:
        wanted = self._wanted()
        if wanted != self._scheme:
            self._scheme = wanted
            self._dress()
            self.changed.emit()

    def _dress(self) -> None:
        self._app.setFont(self.font())
        self._app.setPalette(qt_palette(self.palette))
        self._app.setStyleSheet(stylesheet(self.palette, self._body_px, STEP, CORNER, TARGET))


def qt_palette(colours: Palette) -> QPalette:
    """Fill Qt's roles from ours, for everything that the stylesheet leaves alone."""
    role = QPalette.ColorRole
    palette = QPalette()
    for target, name in (
        (role.Window, "ground"),
        (role.WindowText, "ink"),
        (role.Base, "surface"),
        (role.AlternateBase, "ground"),
        (role.Text, "ink"),
        (role.PlaceholderText, "quiet"),
        (role.Button, "surface"),
        (role.ButtonText, "ink"),
        (role.BrightText, "ink"),
        (role.ToolTipBase, "ink"),
        (role.ToolTipText, "ground"),
        (role.Highlight, "place_tint"),
        (role.HighlightedText, "ink"),
        (role.Accent, "press"),
        (role.Link, "press"),
        (role.LinkVisited, "press"),
        (role.Light, "surface"),
        (role.Midlight, "line"),
        (role.Mid, "line"),
        (role.Dark, "edge"),
        (role.Shadow, "edge"),
    ):
        palette.setColor(target, colours.colour(name))
    for target in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, target, colours.colour("quiet"))
    return palette


def device_ratio() -> float:
    """Give the largest pixel ratio of the screens, so that cached pictures are sharp on each."""
    app = QGuiApplication.instance()
    return app.devicePixelRatio() if isinstance(app, QGuiApplication) else 1.0
