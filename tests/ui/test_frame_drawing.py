"""Claims about the frame drawing: true to scale, told in words, and filled in by the keyboard."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from PySide6.QtCore import QLocale, QPoint, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from framekeeper.domain.points import point_pattern
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import LIGHT, Theme
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.frame_entry import FrameEntry
from framekeeper.ui.widgets.frame_paint import paint_frame, place_frame
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.marks import MARKS, mark_path

WIDTH, HEIGHT = 584.2, 787.4
GERMAN = QLocale(QLocale.Language.German)


def bare(pattern: str = "5", **more: object) -> FramePicture:
    points = tuple(PointPicture(x, y) for x, y in point_pattern(pattern, WIDTH, HEIGHT))
    return FramePicture(WIDTH, HEIGHT, "yellow", "ready", points=points, **more)  # type: ignore[arg-type]


def painted(picture: FramePicture, side: int = 90) -> QImage:
    image = QImage(side, side, QImage.Format.Format_ARGB32)
    image.fill(QColor(LIGHT.ground))
    painter = QPainter(image)
    place = place_frame(picture, QRectF(8, 8, side - 16, side - 16))
    paint_frame(painter, picture, place, LIGHT)
    painter.end()
    return image


@pytest.mark.parametrize(("width", "height"), [(584.2, 787.4), (900.0, 400.0), (500.0, 500.0)])
def test_proportions_are_true(width: float, height: float) -> None:
    """Sides, bars and points keep the ratio that they have in mm, and the frame fits its room."""
    room = QRectF(10, 20, 300, 400)
    place = place_frame(FramePicture(width, height), room)
    assert place.outer.width() / place.outer.height() == pytest.approx(width / height)
    assert room.adjusted(-1e-6, -1e-6, 1e-6, 1e-6).contains(place.outer)
    bar_mm = (place.inner.left() - place.outer.left()) / place.px_per_mm
    assert bar_mm == pytest.approx(38.1)
    middle = place.at(width / 2, height / 2)
    assert (middle - place.outer.center()).manhattanLength() < 1e-6


def test_frames_on_one_scale_can_be_compared() -> None:
    """With a common longest side, a frame half as long is drawn half as long."""
    room = QRectF(0, 0, 100, 100)
    long = place_frame(FramePicture(500, 1000), room, 1000)
    short = place_frame(FramePicture(250, 500), room, 1000)
    assert long.outer.height() == pytest.approx(2 * short.outer.height())


def test_every_state_looks_different_even_on_a_tile(qapp: object) -> None:
    """No two states share a picture at the size of the rack wall; hold and pennant show too."""
    cloth = {"bare": "none", "prepped": "none"}
    pictures = [
        FramePicture(WIDTH, HEIGHT, cloth.get(state, "yellow"), state)  # type: ignore[arg-type]
        for state in STATE_WORDS
        if state != "void"
    ]
    pictures += [replace(pictures[4], is_held=True), replace(pictures[4], is_reserved=True)]
    seen = {bytes(painted(picture).constBits()) for picture in pictures}
    assert len(seen) == len(pictures)


@pytest.mark.parametrize(
    ("cloth", "colour"), [("yellow", "mesh_yellow"), ("white", "mesh_white"), ("none", "ground")]
)
def test_the_cloth_has_its_own_colour(qapp: object, cloth: str, colour: str) -> None:
    """Dyed mesh is yellow, white is white, and a bare frame shows the bench."""
    image = painted(FramePicture(WIDTH, HEIGHT, cloth, "ready"))  # type: ignore[arg-type]
    assert image.pixelColor(45, 45) == QColor(getattr(LIGHT, colour))


def test_a_large_cloth_is_woven_and_a_small_one_is_a_flat_tone(qapp: object) -> None:
    """Threads are drawn where they can be seen."""

    def tones(side: int) -> int:
        image = painted(FramePicture(WIDTH, HEIGHT, "yellow", "ready"), side)
        middle = side // 2
        return len({image.pixel(middle + x, middle + y) for x in range(10) for y in range(10)})

    assert tones(90) == 1
    assert tones(500) > 2


def test_marks_differ_by_shape_alone() -> None:
    """Without any colour the three answers cover clearly different areas of their square."""
    box = QRectF(0, 0, 20, 20)
    shapes = []
    for mark in MARKS:
        path = mark_path(mark, box)
        shapes.append(
            frozenset(
                (x, y)
                for x in range(20)
                for y in range(20)
                if path.contains(QRectF(x + 0.4, y + 0.4, 0.2, 0.2))
            )
        )
    for first in range(3):
        for second in range(first):
            assert len(shapes[first] ^ shapes[second]) >= 40  # a tenth of the square


@pytest.mark.parametrize(
    ("along", "width", "height", "upright"),
    [
        ("long", 500, 700, True),
        ("short", 500, 700, False),
        ("long", 700, 500, False),
        (None, 500, 700, None),
    ],
)
def test_the_warp_follows_the_side_that_was_told(
    along: str | None, width: float, height: float, upright: bool | None
) -> None:
    """Along the long side is upright on a portrait frame and level on a landscape one."""
    picture = FramePicture(width, height, warp_along=along)  # type: ignore[arg-type]
    assert picture.warp_is_upright is upright


def test_the_drawing_is_told_in_words(qtbot: QtBot, theme: Theme) -> None:
    """A screen reader hears size, mesh, state, hold and the readings."""
    drawing = FrameDrawing(theme, Formatter(QLocale.c()))
    qtbot.addWidget(drawing)
    points = (PointPicture(100, 100, 24.5, 23.9),)
    drawing.show_picture(replace(bare(is_held=True), points=points))
    assert drawing.accessibleName() == "Frame 23 × 31 in, with yellow mesh, ready, on hold"
    assert "24.5; 23.9" in drawing.accessibleDescription()


class Walk:
    """A frame in entry mode with a hand on the keys."""

    def __init__(self, qtbot: QtBot, theme: Theme, pattern: str = "5") -> None:
        self.qtbot = qtbot
        self.entry = FrameEntry(theme, Formatter(GERMAN))
        qtbot.addWidget(self.entry)
        self.entry.resize(620, 720)
        self.entry.show()
        self.entry.activateWindow()
        qtbot.waitUntil(self.entry.isActiveWindow)
        self.changed: list[tuple[int, float]] = []
        self.completed: list[object] = []
        self.entry.reading_changed.connect(lambda i, v: self.changed.append((i, v)))
        self.entry.completed.connect(self.completed.append)
        self.entry.begin(bare(pattern))

    @property
    def field(self) -> QLineEdit:
        found = self.entry.findChild(QLineEdit, "reading")
        assert isinstance(found, QLineEdit)
        return found

    @property
    def refusal(self) -> QLabel:
        found = self.entry.findChild(QLabel, "refusal")
        assert isinstance(found, QLabel)
        return found

    def type(self, text: str) -> None:
        self.qtbot.keyClicks(self.field, text)

    def press(self, key: Qt.Key) -> None:
        self.qtbot.keyClick(self.field if self.field.isVisible() else self.entry, key)

    def read(self, text: str) -> None:
        self.type(text)
        self.press(Qt.Key.Key_Return)


@pytest.fixture
def walk(qtbot: QtBot, theme: Theme) -> Walk:
    return Walk(qtbot, theme)


@pytest.mark.parametrize("pattern", ["1", "5", "6", "9"])
def test_digits_and_enter_are_enough(qtbot: QtBot, theme: Theme, pattern: str) -> None:
    """Each number goes on, warp then weft; after the last one, all are handed over."""
    walk = Walk(qtbot, theme, pattern)
    count = 2 * int(pattern)
    for n in range(count):
        assert walk.entry.current == n
        assert walk.field.hasFocus()
        walk.read(f"{20 + n},5" if n % 2 else f"{20 + n}.5")
    expected = tuple(20.5 + n for n in range(count))
    assert walk.changed == list(enumerate(expected))
    assert walk.completed == [expected]
    assert walk.entry.current is None
    assert not walk.field.isVisible()


def test_the_field_walks_over_the_points(walk: Walk) -> None:
    """The field lies on the plate of its point: warp above weft, then on to the next point."""
    seen: list[QPoint] = []
    for _ in range(10):
        seen.append(walk.field.geometry().center())
        assert walk.entry.rect().contains(walk.field.geometry())
        walk.read("22")
    picture, place = walk.entry.picture, walk.entry.place()
    assert picture is not None
    assert place is not None
    for number, point in enumerate(picture.points):
        plate = walk.entry.plate(place.at(point.x_mm, point.y_mm))
        warp, weft = seen[2 * number], seen[2 * number + 1]
        assert plate.contains(warp)
        assert plate.contains(weft)
        assert warp.y() < weft.y()
    assert all(a != b for a, b in pairwise(seen))


def test_backspace_in_an_empty_field_goes_back_one(walk: Walk) -> None:
    """A wrong digit is one key back: the last number lies there chosen, ready to be typed over."""
    walk.read("24")
    walk.read("32")
    walk.read("22")
    walk.press(Qt.Key.Key_Backspace)
    walk.qtbot.keyClick(walk.field, Qt.Key.Key_Delete)
    walk.press(Qt.Key.Key_Backspace)
    assert walk.entry.current == 1
    assert walk.field.selectedText() == "32,0"
    walk.read("23")
    assert walk.entry.readings()[:4] == (24, 23, 22, None)
    assert walk.entry.current == 3


def test_backspace_in_a_number_deletes_a_digit(walk: Walk) -> None:
    """Going back never happens while something stands in the field."""
    walk.read("24")
    walk.type("23")
    walk.press(Qt.Key.Key_Backspace)
    assert walk.field.text() == "2"
    assert walk.entry.current == 1


def test_backspace_at_the_very_start_stays(walk: Walk) -> None:
    """There is nothing before the first reading."""
    walk.press(Qt.Key.Key_Backspace)
    assert walk.entry.current == 0


def test_after_the_last_reading_one_key_opens_it_again(qtbot: QtBot, theme: Theme) -> None:
    """Even a finished survey can be mended from the keyboard, and is then handed over again."""
    walk = Walk(qtbot, theme, "1")
    walk.read("24")
    walk.read("32")
    assert walk.entry.hasFocus()
    walk.press(Qt.Key.Key_Backspace)
    assert walk.entry.current == 1
    walk.read("23")
    assert walk.completed == [(24, 32), (24, 23)]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("-3", "cannot be"),
        ("0", "cannot be"),
        ("60,1", "more than"),
        ("2x", "not a number"),
        ("", "Enter"),
    ],
)
def test_a_reading_that_no_meter_shows_is_refused_at_its_place(
    walk: Walk, typed: str, words: str
) -> None:
    """The sentence stands at the field, the number stays to be mended, nothing is taken."""
    walk.read(typed)
    assert walk.entry.current == 0
    assert walk.refusal.isVisible()
    assert words in walk.refusal.text()
    assert walk.entry.rect().contains(walk.refusal.geometry())
    assert not walk.refusal.geometry().intersects(walk.field.geometry())
    assert walk.changed == []
    walk.type("6")
    assert not walk.refusal.isVisible()


def test_60_is_still_a_reading(walk: Walk) -> None:
    """The bound itself is accepted."""
    walk.read("60")
    assert walk.changed == [(0, 60)]


def test_the_refusal_stays_inside_the_drawing_at_every_point(qtbot: QtBot, theme: Theme) -> None:
    """At the lowest points the sentence is laid above the plate instead of below the edge."""
    walk = Walk(qtbot, theme, "9")
    for _ in range(18):
        walk.read("999")
        assert walk.entry.rect().contains(walk.refusal.geometry())
        walk.read("22")


def test_a_half_typed_walk_is_offered_back(walk: Walk) -> None:
    """What an earlier walk left is shown, and the field waits at the first gap."""
    walk.entry.begin(bare(), [24.0, 23.5, 22.0])
    assert walk.entry.current == 3
    picture = walk.entry.picture
    assert picture is not None
    assert (picture.points[0].warp, picture.points[1].warp) == (24.0, 22.0)


def test_a_gap_is_asked_for_after_the_last_point(walk: Walk) -> None:
    """The walk is complete only when no reading is missing, wherever the hand began."""
    walk.entry.go_to(2)
    for _ in range(8):
        walk.read("22")
    assert walk.completed == []
    assert walk.entry.current == 0
    walk.read("22")
    walk.read("22")
    assert len(walk.completed) == 1


def test_a_click_on_a_number_goes_there(qtbot: QtBot, walk: Walk) -> None:
    """The mouse may be used, too."""
    picture, place = walk.entry.picture, walk.entry.place()
    assert picture is not None
    assert place is not None
    point = picture.points[3]
    plate = walk.entry.plate(place.at(point.x_mm, point.y_mm))
    spot = walk.entry.row(plate, 1).center().toPoint()
    qtbot.mouseClick(walk.entry, Qt.MouseButton.LeftButton, pos=spot)
    assert walk.entry.current == 7


def test_each_field_says_where_it_is(walk: Walk) -> None:
    """A screen reader hears point, direction and unit."""
    assert walk.field.accessibleName() == "Point 1 of 5, warp, N/cm"
    walk.read("22")
    assert walk.field.accessibleName() == "Point 1 of 5, weft, N/cm"


def test_marks_are_shown_only_where_something_was_read(walk: Walk) -> None:
    """A judgement reaches the drawing, and goes when a new walk begins."""
    walk.read("22")
    walk.entry.show_marks([("below", -3.0)] + [(None, None)] * 4)
    picture = walk.entry.picture
    assert picture is not None
    assert picture.points[0].mark == "below"
    walk.entry.begin(picture)
    assert walk.entry.picture is not None
    assert walk.entry.picture.points[0].mark is None
