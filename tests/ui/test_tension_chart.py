"""Claims about the tension chart."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from dataclasses import replace

import pytest
from PySide6.QtCore import QLocale, QPointF, Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import DARK, Scheme, Theme
from framekeeper.ui.widgets.tension_ahead import say_ahead, stops_ahead
from framekeeper.ui.widgets.tension_chart import ChartData, ChartMark, ChartReading, TensionChart
from tests.made_forecast import READ_AT, after, made_forecast
from tests.ui.gallery import life


@pytest.fixture
def chart(qtbot: QtBot, theme: Theme) -> TensionChart:
    made = TensionChart(theme, Formatter(QLocale.c()))
    qtbot.addWidget(made)
    made.resize(900, 420)
    made.show()
    qtbot.waitExposed(made)
    return made


def test_the_plotting_library_waits_for_the_first_chart() -> None:
    """Importing and building the chart loads neither the plotting library nor numpy."""
    program = (
        "import sys\n"
        "import framekeeper.ui.widgets.tension_chart, framekeeper.ui.widgets.frame_entry\n"
        "import framekeeper.ui.widgets.rack_wall, framekeeper.ui.models.table\n"
        "import framekeeper.ui.tasks, framekeeper.ui.scanner, framekeeper.ui.widgets.notices\n"
        "heavy = {'pyqtgraph', 'numpy', 'scipy', 'sqlalchemy', 'reportlab', 'alembic'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == "[]"


def test_an_empty_chart_says_what_starts_it(chart: TensionChart) -> None:
    """Without readings, there is a sentence instead of empty axes."""
    chart.show_data(ChartData())
    texts = [label.text() for label in chart.findChildren(QLabel) if label.isVisible()]
    assert any("No tension has been read yet" in text for text in texts)
    chart.show_data(life())
    texts = [label.text() for label in chart.findChildren(QLabel) if label.isVisible()]
    assert not any("No tension" in text for text in texts)
    assert any("reclaims" in text for text in texts)


def test_pointing_near_a_reading_tells_its_numbers(chart: TensionChart) -> None:
    """The nearest reading within a finger's width is told, and nothing far from any."""
    data = life()
    chart.show_data(data)
    plot = chart._plot
    assert plot is not None
    box = plot.getPlotItem().vb
    reading = data.readings[5]
    at = box.mapViewToScene(QPointF(reading.when.timestamp(), reading.tension_n_per_cm))
    plot.scene().sigMouseMoved.emit(at + QPointF(5, -5))
    assert chart.told == chart.describe(reading)
    assert "19.7 N/cm ± 0.9" in chart.told
    assert "soon" in chart.told
    plot.scene().sigMouseMoved.emit(at + QPointF(0, -80))
    assert "19.7" not in chart.told


def test_arrow_keys_walk_the_readings(qtbot: QtBot, chart: TensionChart) -> None:
    """The keyboard tells what the pointer tells, the newest first, and a screen reader hears it."""
    data = life()
    chart.show_data(data)
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert chart.told == chart.describe(data.readings[-1])
    qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert chart.told == chart.describe(data.readings[-2])
    assert chart.accessibleDescription() == chart.told
    for _ in range(5):
        qtbot.keyClick(chart, Qt.Key.Key_Right)
    assert chart.told == chart.describe(data.readings[-1])


def test_all_readings_and_levels_are_in_view(chart: TensionChart) -> None:
    """Limit and target are seen even when no reading is near them."""
    data = life()
    chart.show_data(data)
    assert chart._plot is not None
    (left, right), (low, high) = chart._plot.getPlotItem().vb.viewRange()
    assert low < 17.6
    assert low < 18 < 25 < high
    assert all(left < r.when.timestamp() < right for r in data.readings)


def test_one_reading_makes_a_chart(chart: TensionChart) -> None:
    """A single point without uncertainty is drawn with air around it."""
    chart.show_data(ChartData(readings=life().readings[:1]))
    assert chart._plot is not None
    (left, right), (low, high) = chart._plot.getPlotItem().vb.viewRange()
    assert right - left > 80_000
    assert high - low > 4


def test_lives_are_not_joined_across_a_stretch(chart: TensionChart) -> None:
    """The line breaks where new mesh began."""
    import pyqtgraph

    data = life()
    chart.show_data(data)
    assert chart._plot is not None
    (curve,) = [
        item for item in chart._plot.getPlotItem().items if type(item) is pyqtgraph.PlotCurveItem
    ]
    assert list(curve.opts["connect"]) == [1, 1, 1, 1, 1, 1, 0, 1, 1, 1, 0]


def test_the_chart_follows_the_scheme(chart: TensionChart, theme: Theme) -> None:
    """A dark room gets a dark chart."""
    chart.show_data(life())
    theme.choose(Scheme.DARK)
    image = chart.grab().toImage()
    assert image.pixelColor(image.width() // 2, 4).name().upper() == DARK.surface


def present(now: dt.datetime = READ_AT) -> ChartData:
    """One mesh, read three times, the last time where the made forecast begins."""
    readings = tuple(
        ChartReading(after(day), tension, 0.3, "holds")
        for day, tension in ((-20, 23.0), (-10, 21.6), (0, 21.0))
    )
    return ChartData(readings, (ChartMark(after(-21), "stretch"),), 25.0, 18.0, now)


def words_in(chart: TensionChart) -> list[str]:
    """The words that stand in the plot."""
    import pyqtgraph

    assert chart._plot is not None
    items = chart._plot.getPlotItem().items
    texts = [i for i in items if isinstance(i, pyqtgraph.TextItem)]
    lines = [i for i in items if isinstance(i, pyqtgraph.InfiniteLine)]
    return [t.toPlainText() for t in texts] + [
        line.label.toPlainText() for line in lines if hasattr(line, "label")
    ]


def curves(chart: TensionChart) -> list[tuple[list[float], list[float]]]:
    """The points of all lines in the plot."""
    import pyqtgraph

    assert chart._plot is not None
    found = [
        item.getData()
        for item in chart._plot.getPlotItem().items
        if type(item) is pyqtgraph.PlotCurveItem
    ]
    return [(list(x), list(y)) for x, y in found]


def symbols(chart: TensionChart) -> list[list[tuple[float, float]]]:
    """Where the symbols of each kind stand."""
    import pyqtgraph

    assert chart._plot is not None
    return [
        list(zip(*item.getData(), strict=True))
        for item in chart._plot.getPlotItem().items
        if isinstance(item, pyqtgraph.ScatterPlotItem)
    ]


def test_the_band_and_the_expected_line_are_drawn_where_they_were_foretold(
    chart: TensionChart,
) -> None:
    """Edges, middle and tone; all of it in view, also what lies below the limit."""
    import pyqtgraph

    forecast = made_forecast(28)
    chart.show_data(present(), forecast)
    band = forecast.band
    assert band is not None
    drawn = curves(chart)
    x = [at.timestamp() for at in band.at]
    for line in (band.low, band.high, band.mean):
        assert (x, list(line)) in drawn
    assert chart._plot is not None
    items = chart._plot.getPlotItem().items
    assert sum(isinstance(item, pyqtgraph.FillBetweenItem) for item in items) == 1
    (left, right), (low, high) = chart._plot.getPlotItem().vb.viewRange()
    assert left < after(-21).timestamp() < x[-1] < right
    assert low < min(band.low) < max(band.high) < high


def test_the_edges_of_the_band_need_no_colour(chart: TensionChart) -> None:
    """Dots, long dashes and a full line are three lines on a grey print too."""
    import pyqtgraph

    chart.show_data(present(), made_forecast(28))
    assert chart._plot is not None
    styles = [
        item.opts["pen"].style()
        for item in chart._plot.getPlotItem().items
        if type(item) is pyqtgraph.PlotCurveItem and len(item.getData()[0]) > 3
    ]
    assert sorted(style.name for style in styles) == ["CustomDashLine", "DotLine", "DotLine"]


def test_the_crossing_has_its_mark_its_date_and_its_span(chart: TensionChart) -> None:
    """The even date on the limit, a span from the 10 % to the 90 % date, today's line."""
    forecast = made_forecast(28)
    chart.show_data(present(), forecast)
    assert {"29 Jun 2025", "today", "limit 18.0", "target 25.0"} <= set(words_in(chart))
    even, early, late = after(28), forecast.early_at, forecast.late_at
    assert early is not None
    assert late is not None
    assert [(even.timestamp(), 18.0)] in symbols(chart)
    assert [(early.timestamp(), 18.0), (late.timestamp(), 18.0)] in symbols(chart)
    span = ([early.timestamp(), late.timestamp()], [18.0, 18.0])
    assert span in curves(chart)


def test_a_late_end_that_is_not_foretold_leaves_the_span_open(chart: TensionChart) -> None:
    """Where the 90 % date lies past a year, the span runs on to the end and has no mark there."""
    forecast = replace(made_forecast(28), late_at=None)
    chart.show_data(present(), forecast)
    early, band = forecast.early_at, forecast.band
    assert early is not None
    assert band is not None
    assert [(early.timestamp(), 18.0)] in symbols(chart)
    assert ([early.timestamp(), band.at[-1].timestamp()], [18.0, 18.0]) in curves(chart)


@pytest.mark.parametrize("even_day", [None, 0])
def test_no_date_is_shown_where_none_is_to_come(
    chart: TensionChart, even_day: float | None
) -> None:
    """A screen that holds for the year and one that is below already have a band and no date."""
    chart.show_data(present(), made_forecast(even_day))
    assert not any("2025" in word for word in words_in(chart))
    assert len(symbols(chart)) == 1  # the readings
    assert len(curves(chart)) == 4


def test_without_a_limit_the_band_stands_alone(chart: TensionChart) -> None:
    """How the tension goes on can be seen; no chance is told of what has no limit."""
    forecast = replace(
        made_forecast(28), limit=None, outlook=None, early_at=None, even_at=None, late_at=None
    )
    chart.show_data(replace(present(), limit_n_per_cm=None), forecast)
    assert len(curves(chart)) == 4
    assert not any("2025" in word for word in words_in(chart))
    told = say_ahead(forecast, after(14), Formatter(QLocale.c()))
    assert told == "15 Jun 2025   expected 19.5 N/cm, 80 % between 18.5 and 20.5"


def test_the_band_comes_later_and_goes_with_the_frame(chart: TensionChart) -> None:
    """Readings are shown at once; a band of another frame never stays beside them."""
    chart.show_data(present())
    assert len(curves(chart)) == 1
    chart.show_forecast(made_forecast(28))
    assert len(curves(chart)) == 5
    assert "Dashes: expected" in chart.told
    chart.show_data(life())
    assert chart.forecast is None
    assert "Dashes" not in chart.told
    chart.show_data(ChartData(), made_forecast(28))
    assert chart.told == ""


def test_pointing_ahead_tells_the_numbers_of_that_day(chart: TensionChart) -> None:
    """Expected tension, its band and the chance, between what is kept; a line shows the day."""
    chart.show_data(present(), made_forecast(28))
    assert chart._plot is not None
    box = chart._plot.getPlotItem().vb
    place = box.mapViewToScene(QPointF(after(14).timestamp() + 60, 24.0))
    chart._plot.scene().sigMouseMoved.emit(place)
    assert chart.told == (
        "15 Jun 2025   expected 19.5 N/cm, 80 % between 18.5 and 20.5   chance of being below: 25 %"
    )
    here = chart._ahead._here
    assert here is not None
    assert here.isVisible()
    assert here.value() == pytest.approx(after(14).timestamp(), abs=43_200)
    chart._plot.scene().sigMouseMoved.emit(box.mapViewToScene(QPointF(after(-15).timestamp(), 26)))
    assert "Dashes" in chart.told
    assert not here.isVisible()


def test_a_reading_is_told_before_the_band_behind_it(chart: TensionChart) -> None:
    """The latest reading stands where the band begins, and is what a person points at."""
    chart.show_data(present(), made_forecast(28))
    assert chart._plot is not None
    box = chart._plot.getPlotItem().vb
    at = box.mapViewToScene(QPointF(after(0).timestamp() + 3600, 21.0))
    chart._plot.scene().sigMouseMoved.emit(at)
    assert chart.told == chart.describe(present().readings[-1])


def test_arrow_keys_walk_on_into_the_days_to_come(qtbot: QtBot, chart: TensionChart) -> None:
    """Week by week and to the dates of the crossing; then back to the readings."""
    forecast = made_forecast(28)
    chart.show_data(present(), forecast)
    stops = stops_ahead(forecast)
    assert after(7) in stops
    assert forecast.early_at in stops
    assert stops == sorted(stops)
    qtbot.keyClick(chart, Qt.Key.Key_Right)
    assert chart.told == chart.describe(present().readings[-1])
    qtbot.keyClick(chart, Qt.Key.Key_Right)
    assert "expected" in chart.told
    assert chart.accessibleDescription() == chart.told
    for _ in range(len(stops) + 3):
        qtbot.keyClick(chart, Qt.Key.Key_Right)
    assert chart.told == say_ahead(forecast, stops[-1], Formatter(QLocale.c()))
    for _ in range(len(stops)):
        qtbot.keyClick(chart, Qt.Key.Key_Left)
    assert chart.told == chart.describe(present().readings[-1])


def test_numbers_ahead_follow_the_persons_language() -> None:
    """A German bench reads a decimal comma."""
    told = say_ahead(made_forecast(28), after(14), Formatter(QLocale("de_DE")))
    assert "19,5 N/cm, 80 % between 18,5 and 20,5" in told
