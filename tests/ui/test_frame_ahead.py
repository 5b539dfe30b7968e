"""Proves that a frame's page says what is to come, a moment after it is shown, and never before."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from framekeeper.services import check, forecasts, foresight, register
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, edit_mesh_type, find_mesh_type
from framekeeper.ui.bench import Bench
from framekeeper.ui.places import frame_page
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.widgets.tension_chart import TensionChart
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, put_away, stocked_desk

Stocked = tuple[Desk, list[str]]
MESH = "230 yellow"
FALL = (25.0, 23.5, 22.8, 22.4, 22.1)  # N/cm, a week apart


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> Stocked:
    """Three screens, of which two were followed for a month, and their forecast."""
    desk, codes = stocked_desk(sqlite_place, clock)
    for tension in FALL:
        for place, code in enumerate(codes[:2]):
            check.survey(desk, code, SurveyRequest((tension - place,), (tension - place,)))
        clock.go_on(days=7)
    forecasts.refresh(desk)
    return desk, codes


@pytest.fixture
def bench(qapp: QApplication, stocked: Stocked, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def place(bench: Bench, qtbot: QtBot) -> FramePagePlace:
    made = FramePagePlace(bench)
    qtbot.addWidget(made)
    made.resize(1072, 740)
    with qtbot.waitExposed(made):
        made.show()
    return made


def rule(desk: Desk, **changes: object) -> None:
    with desk.read() as reader:
        rules = replace(find_mesh_type(reader, MESH).rules, **changes)  # type: ignore[arg-type]
    edit_mesh_type(desk, MESH, MeshTypeFacts(MESH, 230, "inch", 90.55, 48, "dyed", rules))


def test_the_page_says_when_its_screen_is_likely_below(
    place: FramePagePlace, stocked: Stocked
) -> None:
    desk, codes = stocked
    rule(desk, limit=21.0)
    place.show_frame(codes[0])
    found = foresight.frame_forecast(desk, codes[0])
    assert found is not None
    assert found.even_at is not None
    day = place.bench.formatter.date(found.even_at.date())
    assert f"Likely below 21.0 N/cm around {day}" in place.ahead.said.text()
    assert "Next reading on" in place.ahead.more.text()
    assert f"stretches of {MESH}" in place.ahead.more.text()
    assert place.ahead.accessibleDescription() == place.ahead.words
    assert place.chart.forecast == found


def test_the_readings_are_there_before_the_band(
    place: FramePagePlace, stocked: Stocked, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second read is asked for when the page is shown whole, and its answer is added."""
    seen: list[tuple[int, str]] = []
    real = frame_page._look_ahead

    def look_ahead(desk: Desk, code: str) -> foresight.FrameForecast | None:
        seen.append((len(place.chart._data.readings), place.ahead.words.strip()))
        assert place.journal.table.model().rowCount() > 0
        assert place.chart.forecast is None
        return real(desk, code)

    monkeypatch.setattr(frame_page, "_look_ahead", look_ahead)
    place.show_frame(stocked[1][0])
    assert seen == [(len(FALL), "Looking ahead …")]
    assert place.chart.forecast is not None


def test_a_late_answer_for_another_frame_is_dropped(
    place: FramePagePlace, stocked: Stocked
) -> None:
    codes = stocked[1]
    place.show_frame(codes[0])
    old_page, old = place.page, place.chart.forecast
    place.show_frame(codes[1])
    shown = place.chart.forecast
    assert old_page is not None
    assert shown != old
    place._show_forecast(old_page, old)
    assert place.chart.forecast == shown


def test_another_frame_never_wears_the_band_of_the_one_before(
    place: FramePagePlace, stocked: Stocked, monkeypatch: pytest.MonkeyPatch
) -> None:
    place.show_frame(stocked[1][0])
    assert place.chart.forecast is not None
    shown: list[object] = []
    real = TensionChart.show_data

    def show_data(chart: TensionChart, *given: object) -> None:
        shown.append(given[1])
        real(chart, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(TensionChart, "show_data", show_data)
    place.refresh()
    place.show_frame(stocked[1][1])
    assert shown[0] is not None  # the same mesh read again: no flicker
    assert shown[1] is None


def test_every_life_shows_the_band_of_the_present_one(
    place: FramePagePlace, stocked: Stocked
) -> None:
    place.show_frame(stocked[1][0])
    forecast = place.chart.forecast
    place._all_lives.click()
    assert place.chart.forecast == forecast


def no_limit(desk: Desk) -> None:
    rule(desk, limit=None)


def no_risk(desk: Desk) -> None:
    rule(desk, risk=None)


def nothing(_desk: Desk) -> None:
    """Leave the shop as it is."""


@pytest.mark.parametrize(
    ("change", "frame", "words"),
    [
        (no_limit, 0, f"No limit is set for {MESH}"),
        (no_risk, 0, f"No risk is set for {MESH}"),
        (nothing, 2, "Not enough readings yet"),
    ],
)
def test_what_is_missing_is_said_and_where_to_set_it(
    place: FramePagePlace,
    stocked: Stocked,
    change: Callable[[Desk], None],
    frame: int,
    words: str,
) -> None:
    desk, codes = stocked
    change(desk)
    place.show_frame(codes[frame])
    assert words in place.ahead.said.text()
    assert place.ahead.isVisible()
    assert ("mesh type" in place.ahead.said.text()) == (frame == 0)


def test_a_frame_without_mesh_says_nothing_of_it(place: FramePagePlace, stocked: Stocked) -> None:
    desk, _ = stocked
    bare = register.register(desk, [register.NewFrame(584, 787)]).codes[0]
    place.show_frame(bare)
    assert place.page is not None
    assert not place.ahead.isVisible()
    assert place.chart.forecast is None


def test_a_fit_that_lags_behind_is_told_quietly(
    place: FramePagePlace, stocked: Stocked, clock: FakeClock
) -> None:
    desk, codes = stocked
    place.show_frame(codes[0])
    assert "last worked out" not in place.ahead.words
    check.survey(desk, codes[1], SurveyRequest((21.0,), (21.0,)))
    place.refresh()
    day = place.bench.formatter.date(clock.now().date())
    assert f"the whole shop was last worked out on {day}: 1" in place.ahead.more.text()


def test_the_band_begins_anew_with_a_new_reading(
    place: FramePagePlace, stocked: Stocked, clock: FakeClock
) -> None:
    desk, codes = stocked
    place.show_frame(codes[0])
    clock.go_on(hours=5)
    place.bench.change(
        lambda at: check.survey(at, codes[0], SurveyRequest((21.9,), (21.9,))), owner=place
    )
    forecast = place.chart.forecast
    assert forecast is not None
    assert forecast.band is not None
    assert forecast.band.at[0] == clock.now()
    assert desk.clock.now() - forecast.band.at[0] == dt.timedelta(0)


def test_in_a_small_window_the_page_scrolls_and_nothing_is_painted_over(
    place: FramePagePlace, stocked: Stocked, qtbot: QtBot
) -> None:
    """The words above the chart wrap; the chart and the journal keep their room."""
    rule(stocked[0], limit=None)
    place.show_frame(stocked[1][0])
    place.resize(820, 560)
    parts = (place.due, place.ahead, place.chart, place.journal)

    def is_in_order() -> bool:
        boxes = [part.geometry() for part in parts]
        return all(a.bottom() < b.top() for a, b in pairwise(boxes))

    qtbot.waitUntil(is_in_order)
    assert place.ahead.height() >= place.ahead.heightForWidth(place.ahead.width())
    assert place.chart.height() >= place.chart.minimumHeight()


def test_the_maths_waits_until_somebody_looks_ahead() -> None:
    """The page and what it reads first import no numpy, and neither does the list of frames."""
    program = (
        "import sys\n"
        "import framekeeper.ui.places.frame_page, framekeeper.services.foresight\n"
        "import framekeeper.ui.places.rack, framekeeper.services.days_left\n"
        "print(sorted({'numpy', 'scipy', 'pyqtgraph', 'reportlab'} & set(sys.modules)))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "[]"
