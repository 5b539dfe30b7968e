"""Claims about the rack wall: thousands of tiles, keyboard, selection that survives."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QLocale, Qt
from pytestqt.qtbot import QtBot

from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.rack_wall import RackWall
from tests.ui.gallery import tiles

CONTROL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton


@pytest.fixture
def wall(qtbot: QtBot, theme: Theme) -> RackWall:
    made = RackWall(theme, Formatter(QLocale.c()))
    qtbot.addWidget(made)
    made.resize(1280, 800)
    made.show_tiles(tiles(5000))
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.setFocus()
    return made


def columns(wall: RackWall) -> int:
    return wall.viewport().width() // wall.cell_size().width()


def test_only_what_is_seen_is_painted(wall: RackWall, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 5 000 tiles one screenful is painted, and few drawings serve them all."""
    painted: list[int] = []
    original = wall._paint_tile
    monkeypatch.setattr(
        wall, "_paint_tile", lambda p, row, rect: (painted.append(row), original(p, row, rect))
    )
    wall.verticalScrollBar().setValue(wall.verticalScrollBar().maximum())
    wall.viewport().repaint()
    assert 20 < len(set(painted)) < 100
    assert max(painted) == 4999
    assert len(wall._drawings) < 100


def test_arrows_walk_the_grid_and_bring_the_tile_into_view(qtbot: QtBot, wall: RackWall) -> None:
    """Right and down step by one tile and one line; End and Home reach the ends."""
    wide = columns(wall)
    steps = [
        (Qt.Key.Key_Right, 0),  # the first key only enters the wall
        (Qt.Key.Key_Right, 1),
        (Qt.Key.Key_Down, 1 + wide),
        (Qt.Key.Key_Left, wide),
        (Qt.Key.Key_Up, 0),
        (Qt.Key.Key_Up, 0),
        (Qt.Key.Key_End, 4999),
        (Qt.Key.Key_PageUp, None),
        (Qt.Key.Key_Home, 0),
    ]
    for key, expected in steps:
        qtbot.keyClick(wall, key)
        current = wall.current_id()
        assert current is not None
        if expected is not None:
            assert current == expected
        assert wall.viewport().rect().contains(wall.tile_rect(current).center())
        assert wall.selected_ids() == {current}


def test_shift_chooses_a_range_and_control_single_tiles(qtbot: QtBot, wall: RackWall) -> None:
    """Shift grows and shrinks from where it began; Control with Space adds and takes away."""
    wall.go_to(10)
    for _ in range(3):
        qtbot.keyClick(wall, Qt.Key.Key_Right, SHIFT)
    assert wall.selected_ids() == {10, 11, 12, 13}
    qtbot.keyClick(wall, Qt.Key.Key_Left, SHIFT)
    assert wall.selected_ids() == {10, 11, 12}
    for _ in range(2):
        qtbot.keyClick(wall, Qt.Key.Key_Right, CONTROL)
    assert wall.selected_ids() == {10, 11, 12}
    qtbot.keyClick(wall, Qt.Key.Key_Space, CONTROL)
    assert wall.selected_ids() == {10, 11, 12, 14}
    qtbot.keyClick(wall, Qt.Key.Key_A, CONTROL)
    assert len(wall.selected_ids()) == 5000


def test_the_mouse_chooses_like_the_keys(qtbot: QtBot, wall: RackWall) -> None:
    """Click, Control-click, Shift-click; a right click inside the selection keeps it."""

    def click(tile: int, held: Qt.KeyboardModifier, button: Qt.MouseButton = LEFT) -> None:
        spot = wall.tile_rect(tile).center()
        qtbot.mouseClick(wall.viewport(), button, held, spot)

    click(3, Qt.KeyboardModifier.NoModifier)
    click(7, CONTROL)
    assert wall.selected_ids() == {3, 7}
    click(9, SHIFT)
    assert wall.selected_ids() == {7, 8, 9}
    click(8, Qt.KeyboardModifier.NoModifier, RIGHT)
    assert wall.selected_ids() == {7, 8, 9}
    click(1, Qt.KeyboardModifier.NoModifier, RIGHT)
    assert wall.selected_ids() == {1}


def test_enter_and_double_click_open_a_frame(qtbot: QtBot, wall: RackWall) -> None:
    """Both tell the id of the tile."""
    opened: list[int] = []
    wall.activated.connect(opened.append)
    wall.go_to(4)
    qtbot.keyClick(wall, Qt.Key.Key_Return)
    qtbot.mouseDClick(wall.viewport(), LEFT, pos=wall.tile_rect(6).center())
    assert opened == [4, 6]


def test_a_refresh_keeps_selection_and_focus_with_their_frames(wall: RackWall) -> None:
    """In another order, and with one frame less, the same frames are chosen."""
    wall.go_to(100)
    wall.select({100, 101, 102})
    told: list[object] = []
    wall.selection_changed.connect(told.append)
    wall.show_tiles(reversed(tiles(5000)))
    assert wall.selected_ids() == {100, 101, 102}
    assert wall.current_id() == 100
    assert told == []
    wall.show_tiles([tile for tile in tiles(5000) if tile.id != 101])
    assert wall.selected_ids() == {100, 102}
    assert told == [{100, 102}]


def test_the_current_tile_is_told_in_words(wall: RackWall) -> None:
    """A screen reader hears name, size, state, tension, answer and slot."""
    wall.go_to(8)
    assert wall.accessibleName() == "Rack wall"
    words = wall.accessibleDescription()
    for part in ("FK0009B", "23 × 31 in", "ready", "19.3 N/cm", "soon", "slot A9"):
        assert part in words


def test_tiles_fill_the_line(wall: RackWall) -> None:
    """No column of ground is left at the right edge."""
    left_over = wall.viewport().width() - columns(wall) * wall.cell_size().width()
    assert 0 <= left_over < columns(wall)


def test_an_empty_wall_takes_keys_calmly(qtbot: QtBot, wall: RackWall) -> None:
    """With no frames, nothing is chosen and nothing fails."""
    wall.go_to(3)
    wall.show_tiles([])
    for key in (Qt.Key.Key_Right, Qt.Key.Key_End, Qt.Key.Key_Return, Qt.Key.Key_Space):
        qtbot.keyClick(wall, key)
    assert wall.current_id() is None
    assert wall.selected_ids() == frozenset()
