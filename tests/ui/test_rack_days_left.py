"""Proves that the Rack shows how long each screen holds: sorted, filtered, marked and told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import replace

import pytest
from PySide6.QtCore import QLocale, QRect, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from framekeeper.domain.outlook import Outlook
from framekeeper.domain.records import FrameRecord
from framekeeper.services import check, forecasts, settings
from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.rack import Rack
from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets import rack_tile
from framekeeper.ui.widgets.rack_tile import Tile, paint_words
from tests.fakes import FakeClock
from tests.made_forecast import made_outlook
from tests.ui.small_shop import inline_bench, put_away, stocked_desk

# the days on which each screen is as likely as not below its limit; "year": past the forecast
DAYS: dict[str, float | None] = {"S1": 84, "S2": 0, "S3": 5, "S4": None, "S5": 14, "S6": 28}
UNTOLD = ["S7", "S8"]


@pytest.fixture
def desk(sqlite_place: str, clock: FakeClock, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """Eight screens, of which six were read today; what is foretold of them is written down."""
    made, codes = stocked_desk(sqlite_place, clock, screens=8)
    for code in codes[:6]:
        check.survey(made, code, check.SurveyRequest((21.0,), (21.0,)))
    foretell(made, clock, monkeypatch)
    return made


def foretell(desk: Desk, clock: FakeClock, monkeypatch: pytest.MonkeyPatch) -> None:
    read_at = clock.now()

    def outlooks(
        _reader: object, frames: Iterable[FrameRecord], _rules: object
    ) -> dict[int, Outlook]:
        told = {f.id: f.own_label for f in frames if f.own_label in DAYS}
        return {
            frame_id: made_outlook(
                DAYS[label], read_at=read_at, check_at=read_at + dt.timedelta(days=10)
            )
            for frame_id, label in told.items()
        }

    monkeypatch.setattr(forecasts, "outlooks", outlooks)


@pytest.fixture
def bench(qapp: QApplication, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = inline_bench(qapp, desk, monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def rack(bench: Bench, qtbot: QtBot) -> Rack:
    return come_in(bench, qtbot)


def come_in(bench: Bench, qtbot: QtBot) -> Rack:
    place = Rack(bench)
    qtbot.addWidget(place)
    place.resize(1072, 760)
    with qtbot.waitExposed(place):
        place.show()
    place.activateWindow()
    qtbot.waitUntil(place.isActiveWindow)
    place.enter()
    return place


def labels(rack: Rack) -> list[str]:
    return [tile.own_label for tile in rack.wall.tiles]


def cells(rack: Rack, key: str) -> dict[str, str]:
    """The texts of one column, by the shop's own label."""
    place = [column.key for column in rack.model.columns].index(key)
    return {
        row.frame.own_label: rack.model.index(at, place).data()
        for at, row in enumerate(rack.model.rows)
    }


def choose(rack: Rack, sort: str = "", left: str = "") -> None:
    """Choose in the boxes by key, as a person without a mouse does."""
    for box, wanted in ((rack.filters.sort, sort), (rack.filters.left, left)):
        if wanted:
            box.setFocus()
            for _ in range(box.count()):
                QTest.keyClick(box, Qt.Key.Key_Up)
            while box.currentData() != wanted:
                before = box.currentIndex()
                QTest.keyClick(box, Qt.Key.Key_Down)
                assert box.currentIndex() > before


def test_the_table_says_how_many_days_are_left(rack: Rack) -> None:
    """In days; more than the forecast reaches; or a dash where nothing is foretold."""
    assert cells(rack, "left") == {
        "S1": "84 d", "S2": "0 d", "S3": "5 d", "S4": "> 365 d", "S5": "14 d", "S6": "28 d",
        "S7": "—", "S8": "—",
    }  # fmt: skip


def test_the_table_sorts_fewest_first_and_what_is_not_known_last_both_ways(rack: Rack) -> None:
    place = [column.key for column in rack.model.columns].index("left")
    rack.model.sort(place, Qt.SortOrder.AscendingOrder)
    assert list(cells(rack, "left")) == ["S2", "S3", "S5", "S6", "S1", "S4", *UNTOLD]
    rack.model.sort(place, Qt.SortOrder.DescendingOrder)
    assert list(cells(rack, "left")) == ["S4", "S1", "S6", "S5", "S3", "S2", *UNTOLD]


def test_the_wall_sorts_by_days_left_and_shows_their_marks(rack: Rack) -> None:
    """One mark on a tile: what is due while tension is shown large, days left while they are."""
    assert not rack.wall._by_days
    choose(rack, sort="left")
    assert labels(rack) == ["S2", "S3", "S5", "S6", "S1", "S4", *UNTOLD]
    assert [tile.days_mark for tile in rack.wall.tiles] == [
        "below", "soon", "soon", "holds", "holds", "holds", None, None,
    ]  # fmt: skip
    assert rack.wall._by_days
    assert rack._header._purpose.text() == "8 frames, 3 below or soon below"
    choose(rack, sort="slot")
    assert not rack.wall._by_days
    assert labels(rack) == [f"S{n}" for n in range(1, 9)]


@pytest.mark.parametrize(
    ("answer", "found"),
    [("soon", ["S3", "S5"]), ("below", ["S2"]), ("holds", ["S1", "S4", "S6"])],
)
def test_the_rack_narrows_to_what_is_soon_below(rack: Rack, answer: str, found: list[str]) -> None:
    choose(rack, left=answer)
    assert labels(rack) == found
    assert rack.wall._by_days
    assert rack.filters.query.is_narrow
    rack.clear_filters()
    assert len(labels(rack)) == 8


def test_the_filters_go_together(rack: Rack) -> None:
    choose(rack, sort="left", left="soon")
    rack.filters.words.setText("s5")
    assert labels(rack) == ["S5"]
    rack.filters.words.setText("s1")
    assert labels(rack) == []


@pytest.mark.parametrize(
    ("label", "words"),
    [
        ("S1", "84 days left,"),
        ("S2", "likely below its limit by now"),
        ("S3", "5 days left, soon below"),
        ("S4", "more than 365 days left"),
    ],
)
def test_a_tile_is_told_with_its_days(rack: Rack, label: str, words: str) -> None:
    """A screen reader hears what the mark says; the mark of work is told as before."""
    (tile,) = (t for t in rack.wall.tiles if t.own_label == label)
    assert words in rack.wall.describe(tile) + ","
    (untold,) = (t for t in rack.wall.tiles if t.own_label == "S8")
    assert "day" not in rack.wall.describe(untold)


def test_the_cell_tells_the_date(rack: Rack, clock: FakeClock) -> None:
    place = [column.key for column in rack.model.columns].index("left")
    row = next(r for r in rack.model.rows if r.frame.own_label == "S6")
    at = rack.model.index(list(rack.model.rows).index(row), place)
    day = rack.bench.formatter.date((clock.now() + dt.timedelta(days=28)).date())
    told = at.data(Qt.ItemDataRole.ToolTipRole)
    assert told == f"28 days left: likely below around {day}"
    assert at.data(Qt.ItemDataRole.DecorationRole) is not None


def test_the_days_go_by(rack: Rack, clock: FakeClock) -> None:
    """What was to hold three weeks ago is soon below now."""
    clock.go_on(days=20)
    rack.refresh()
    assert cells(rack, "left")["S6"] == "8 d"
    choose(rack, left="soon")
    assert labels(rack) == ["S6"]


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_days_are_days_in_every_unit_of_length(
    bench: Bench, desk: Desk, qtbot: QtBot, unit: str
) -> None:
    settings.change_settings(desk, length_unit=unit)
    bench.formatter.length_unit = "mm" if unit == "mm" else "inch"
    rack = come_in(bench, qtbot)
    assert cells(rack, "left")["S1"] == "84 d"
    assert (" mm" in cells(rack, "size")["S1"]) == (unit == "mm")


def test_an_empty_shop_and_one_without_forecast_have_no_days(
    qapp: QApplication, sqlite_place: str, clock: FakeClock, qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    bench = inline_bench(qapp, Desk(Shop.open(sqlite_place), clock), monkeypatch)
    rack = come_in(bench, qtbot)
    assert rack._pages.currentWidget() is rack._empty
    put_away(bench)


# painting


def painted(theme: Theme, tile: Tile, *, by_days: bool, room: QRectF | None = None) -> QImage:
    """The words of a tile, twice as large as on the wall, so that single marks can be found."""
    where = room or QRectF(0, 0, 104, 90)
    image = QImage(2 * round(where.width()), 180, QImage.Format.Format_RGB32)
    image.fill(theme.palette.colour("surface"))
    painter = QPainter(image)
    painter.scale(2, 2)
    paint_words(painter, tile, where, theme, Formatter(QLocale.c()), by_days=by_days)
    painter.end()
    return image


def has_colour(image: QImage, name: str, theme: Theme) -> bool:
    wanted = theme.palette.colour(name).rgb()
    return any(
        image.pixel(x, y) == wanted for x in range(image.width()) for y in range(image.height())
    )


TILE = Tile(
    1, "FK0158Y", 584, 787, state_word="ready", mark="below", tension_n_per_cm=23.8, slot="G15",
    days_left="103 d", days_mark="holds",
)  # fmt: skip


def test_a_tile_never_carries_two_marks(theme: Theme) -> None:
    """Work that is due and days left have the same three marks, so only one of them is painted."""
    by_tension, by_days = (painted(theme, TILE, by_days=days) for days in (False, True))
    assert has_colour(by_tension, "below", theme)
    assert not has_colour(by_tension, "holds", theme)
    assert has_colour(by_days, "holds", theme)
    assert not has_colour(by_days, "below", theme)


def test_what_is_not_foretold_has_no_mark_by_days(theme: Theme) -> None:
    bare = replace(TILE, days_left="", days_mark=None)
    image = painted(theme, bare, by_days=True)
    assert not any(has_colour(image, name, theme) for name in ("holds", "soon", "below"))


@pytest.mark.parametrize("by_days", [False, True])
def test_long_names_and_slots_stay_within_their_tile(
    theme: Theme, by_days: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A name goes before its slot; what has no room is shortened, never painted over the edge."""
    long = replace(
        TILE, own_label="the long blue one " * 5, slot="the rack behind the door " * 5,
        state_word="ready, reserved for a job with a very long name",
    )  # fmt: skip
    drawn: list[QRect] = []
    real = QPainter.drawText

    def draw_text(painter: QPainter, rect: QRectF, flags: int, text: str) -> None:
        if text:
            drawn.append(painter.fontMetrics().boundingRect(rect.toRect(), flags, text))
        real(painter, rect, flags, text)

    monkeypatch.setattr(rack_tile.QPainter, "drawText", draw_text)
    painted(theme, long, by_days=by_days, room=QRectF(10, 5, 104, 90))
    assert len(drawn) >= 3
    assert all(box.left() >= 9 and box.right() <= 116 for box in drawn)
