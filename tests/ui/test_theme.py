"""Claims about the look: readable in both schemes, one source of colours, icons that follow."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from framekeeper import shipped
from framekeeper.ui.icons import PLACE_ICONS, IconSet
from framekeeper.ui.theme import DARK, LIGHT, PALETTES, Palette, Scheme, Theme, contrast

TEXT_PAIRS = [
    ("ink", "ground"),
    ("ink", "surface"),
    ("ink", "place_tint"),
    ("quiet", "ground"),
    ("quiet", "surface"),
    ("press", "surface"),
    ("press", "ground"),
    ("on_press", "press"),
    ("on_place", "place"),
]


def test_contrast_of_black_on_white_is_21() -> None:
    """The ratio meets the end points that WCAG 2.1 gives: 21 for black on white, 1 for equals."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#123456", "#123456") == pytest.approx(1)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("text", "behind"), TEXT_PAIRS)
def test_text_is_readable(palette: Palette, text: str, behind: str) -> None:
    """Every pair of text and ground reaches 4.5, the WCAG 2.1 AA bound for text."""
    assert contrast(getattr(palette, text), getattr(palette, behind)) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("behind", ["ground", "surface"])
def test_borders_of_controls_are_seen(palette: Palette, behind: str) -> None:
    """The border of a control reaches 3, the WCAG 2.1 AA bound for controls."""
    assert contrast(palette.edge, getattr(palette, behind)) >= 3


def test_only_the_theme_holds_colours() -> None:
    """No other module of the window writes a colour by its number."""
    folder = Path(shipped.__file__).parent / "ui"
    literal = re.compile(r"#[0-9A-Fa-f]{6}\b|#[0-9A-Fa-f]{3}\b|QColor\(\s*\d")
    found = [
        path.name
        for path in folder.rglob("*.py")
        if path.name != "theme.py" and literal.search(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_choosing_a_scheme_dresses_the_window_and_tells(qtbot: QtBot, theme: Theme) -> None:
    """A change of scheme reaches palette and stylesheet, and is told once."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    with qtbot.waitSignal(theme.changed, timeout=1000):
        theme.choose(Scheme.DARK)
    assert app.palette().window().color() == QColor(DARK.ground)
    assert DARK.press in app.styleSheet()
    with qtbot.assertNotEmitted(theme.changed):
        theme.choose(Scheme.DARK)


def test_an_unknown_system_scheme_means_paper(qapp: QApplication) -> None:
    """Where the system does not tell, the window is light."""
    assert qapp.styleHints().colorScheme() in (Qt.ColorScheme.Unknown, Qt.ColorScheme.Light)
    theme = Theme(qapp)
    assert theme.scheme is Scheme.LIGHT
    theme.deleteLater()
    qapp.setStyleSheet("")


def test_the_scale_is_12_14_18_28_and_grows_with_the_system(qapp: QApplication) -> None:
    """The sizes keep their proportions when the system asks for larger text."""
    before = QFont(qapp.font())
    try:
        for system_px, expected in ((10, [12, 14, 18, 28]), (28, [24, 28, 36, 56])):
            font = QFont(before)
            font.setPixelSize(system_px)
            qapp.setFont(font)
            theme = Theme(qapp, Scheme.LIGHT)
            assert [theme.px(s) for s in ("small", "body", "large", "title")] == expected
            theme.deleteLater()
    finally:
        qapp.setFont(before)
        qapp.setStyleSheet("")


def test_figures_stand_under_each_other(theme: Theme) -> None:
    """All ten figures have one width, so columns of numbers line up."""
    metrics = QFontMetrics(theme.font("large"))
    assert len({metrics.horizontalAdvance(str(figure)) for figure in range(10)}) == 1


@pytest.mark.parametrize("path", sorted(shipped.find("resources/icons").glob("*.svg")), ids=str)
def test_icons_are_on_one_grid_and_take_the_palettes_colour(path: Path) -> None:
    """Each icon is valid SVG on the 24 grid with the one stroke, and holds no colour of its own."""
    text = path.read_text(encoding="utf-8")
    assert 'viewBox="0 0 24 24"' in text
    assert 'stroke-width="1.75"' in text
    assert "#" not in text
    assert QSvgRenderer(str(path)).isValid()


def test_an_icon_is_tinted_and_follows_the_scheme(qtbot: QtBot, theme: Theme) -> None:
    """The same button shows another picture after the scheme has changed."""
    icons = IconSet(theme)
    button = QPushButton()
    qtbot.addWidget(button)
    icons.dress(button, "today")

    def colours(pixmap: QPixmap) -> set[str]:
        image = pixmap.toImage()
        opaque = (
            image.pixelColor(x, y) for x in range(image.width()) for y in range(image.height())
        )
        return {c.name().upper() for c in opaque if c.alpha() == 255}

    assert PALETTES[Scheme.LIGHT].press in colours(button.icon().pixmap(24, 24))
    theme.choose(Scheme.DARK)
    assert PALETTES[Scheme.DARK].press in colours(button.icon().pixmap(24, 24))


def test_every_place_has_an_icon(theme: Theme) -> None:
    """No place of the shop is left without its picture, and no two share one."""
    icons = IconSet(theme)
    pictures = {bytes(icons.pixmap(name).toImage().constBits()) for name in PLACE_ICONS}
    assert len(pictures) == 9
