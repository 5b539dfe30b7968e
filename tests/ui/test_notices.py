"""Claims about the small widgets: names for screen readers, words beside marks, keys on buttons."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel
from pytestqt.qtbot import QtBot

from framekeeper.ui.icons import IconSet
from framekeeper.ui.theme import TARGET, Scheme, Theme
from framekeeper.ui.widgets.marks import MARKS
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.status_mark import StatusMark
from tests.ui.gallery import paint_gallery


def test_an_answer_is_a_mark_and_a_word(qtbot: QtBot, theme: Theme) -> None:
    """Word and picture change together, and a longer text is kept over a change of scheme."""
    status = StatusMark(theme, "holds")
    qtbot.addWidget(status)
    assert status.accessibleName() == "holds"
    status.show_mark("below")
    assert status.accessibleName() == "below"
    status.show_mark("soon", "soon: 3 June")
    theme.choose(Scheme.DARK)
    assert status.accessibleName() == "soon: 3 June"
    status.show_mark(None)
    assert status.accessibleName() == ""
    assert status.mark is None
    assert len(MARKS) == 3


def test_a_button_shows_and_obeys_its_key(qtbot: QtBot, theme: Theme) -> None:
    """The key is on the button, in its tip and for the screen reader, and there is room for it."""
    button = KeyHintButton(theme, "Print labels", "Ctrl+P")
    qtbot.addWidget(button)
    plain = KeyHintButton(theme, "Print labels", "")
    qtbot.addWidget(plain)
    button.show()
    button.activateWindow()
    assert button.key_text == "Ctrl+P"
    assert "Ctrl+P" in button.toolTip()
    assert button.accessibleDescription() == "Ctrl+P"
    assert button.sizeHint().height() >= TARGET
    assert button.sizeHint().width() > plain.sizeHint().width() + 30
    qtbot.waitUntil(button.isActiveWindow)
    with qtbot.waitSignal(button.clicked, timeout=2000):
        qtbot.keyClick(button, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier)


def test_a_caution_always_defers(qtbot: QtBot, theme: Theme) -> None:
    """Sheet, manual, codes and trained people are named beside every caution."""
    strip = CautionStrip(theme, "Loaded mesh can burst.")
    qtbot.addWidget(strip)
    strip.show_caution("Hands clear of the jaws.")
    words = " ".join(label.text() for label in strip.findChildren(QLabel))
    for part in (
        "Hands clear of the jaws.", "safety data sheet", "manual", "local codes", "trained",
    ):  # fmt: skip
        assert part in words
    assert strip.accessibleDescription() == "Hands clear of the jaws."


def test_places_and_empty_places_have_names(qtbot: QtBot, theme: Theme) -> None:
    """A screen reader hears where it is and what to do first."""
    header = PlaceHeader(theme, "Rack", "Every frame.")
    empty = EmptyState(theme, IconSet(theme), "rack", "The rack is empty", "Register a frame.")
    for widget in (header, empty):
        qtbot.addWidget(widget)
    header.set_purpose("12 frames.")
    assert header.accessibleName() == "Rack"
    assert "12 frames." in [label.text() for label in header.findChildren(QLabel)]
    assert empty.accessibleName() == "The rack is empty"
    assert empty.accessibleDescription() == "Register a frame."


def test_every_widget_can_be_painted_light_and_dark(
    qtbot: QtBot, qapp: QApplication, tmp_path: Path
) -> None:
    """The gallery is complete, and no picture is the same in both schemes."""
    written = paint_gallery(qapp, tmp_path)
    assert len(written) == 18
    for light in tmp_path.glob("*_light.png"):
        dark = light.with_name(light.name.replace("light", "dark"))
        assert light.read_bytes() != dark.read_bytes()
    qapp.setStyleSheet("")
