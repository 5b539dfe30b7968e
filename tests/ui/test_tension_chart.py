"""Claims about the tension chart."""

from __future__ import annotations

import subprocess
import sys

import pytest
from PySide6.QtCore import QLocale, QPointF, Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import DARK, Scheme, Theme
from framekeeper.ui.widgets.tension_chart import ChartData, TensionChart
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
