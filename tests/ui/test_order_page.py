"""What to order on the Mesh shelf: table, reasons, chart, print and workbook, by keys alone."""

from __future__ import annotations

import io
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QTextDocumentFragment
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot
from python_calamine import CalamineWorkbook

from framekeeper.domain.records import Buying
from framekeeper.services import marks, settings, stretch
from framekeeper.services.meshes import set_buying
from framekeeper.services.on_order import mark_ordered
from framekeeper.services.order import order_list
from framekeeper.services.settings import read_settings
from framekeeper.ui.dialogs.order_habits import OrderHabitsForm
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.order_page import OrderPage
from framekeeper.ui.places.today import Today
from framekeeper.ui.printing import save_order_sheet, save_order_workbook
from framekeeper.ui.widgets.notices import EmptyState
from tests.fakes import FakePrompter
from tests.ui.bench_shop import (
    ENTER,
    ESC,
    BenchShop,
    come_in,
    field_named,
    nameless,
    strike,
    type_into,
)
from tests.ui.bench_shop import bench_shop as bench_shop
from tests.ui.test_mesh_shelf import cells

CTRL = Qt.KeyboardModifier.ControlModifier
MESH = "230 yellow"


@pytest.fixture
def shop(bench_shop: BenchShop) -> BenchShop:
    """Ten frames burst and wait for 8.9 m of a mesh of which 8.1 m are left."""
    bench_shop.add_meshes()
    desk = bench_shop.desk
    codes = bench_shop.frames(11, prepped=True)
    stretch.stretch(desk, codes[:1], stretch.StretchRequest(MESH, roll="R0001"))
    stretch.stretch(desk, codes[1:], stretch.StretchRequest(MESH))
    marks.damage(desk, codes[1:], "burst", mesh_is_done=True)
    set_buying(desk, MESH, Buying("=Weberei Lund", 10, None, 1100, 10_000, Decimal("20.5")))
    bench_shop.clock.go_on(days=40)
    return bench_shop


def page_of(shop: BenchShop, qtbot: QtBot) -> tuple[MeshShelf, OrderPage]:
    place = come_in(MeshShelf, shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F9)
    assert place.order is not None
    return place, place.order


def told(page: OrderPage) -> str:
    return QTextDocumentFragment.fromHtml(page.reasons.text()).toPlainText()


def test_one_key_leads_there_and_esc_back(shop: BenchShop, qtbot: QtBot) -> None:
    place, page = page_of(shop, qtbot)
    assert page.isVisible()
    assert page.meshes.hasFocus()
    assert not nameless(place)
    QTest.keyClick(page.meshes, ESC)
    assert not page.isVisible()
    assert place.rolls.isVisible()


def test_the_table_says_what_to_order_and_the_words_why(shop: BenchShop, qtbot: QtBot) -> None:
    """What is to be ordered stands first, and is chosen, so that its reasons are there at once."""
    _, page = page_of(shop, qtbot)
    first = cells(page.meshes, 0)
    assert (first["Mesh"], first["On hand"]) == (MESH, "8.11 m")
    assert first["Chance to run out"] == "over 99 %"
    assert (first["Lasts"], first["Order"]) == ("not for now", "1 roll of 10.00 m, 1100 mm wide")
    assert cells(page.meshes, 1)["Order"] == "not known"
    lines = told(page).splitlines()
    assert lines[0] == "Order 230 yellow: 1 roll of 10.00 m, 1100 mm wide."
    assert "10 frames waiting" in lines[1]
    assert "A delivery takes 10 days." in lines
    assert page.header._purpose.text() == "1 mesh to order. 205.00 in all."


def test_inches_and_yards_where_the_shop_thinks_in_them(shop: BenchShop, qtbot: QtBot) -> None:
    shop.bench.change(lambda desk: settings.change_settings(desk, length_unit="inch"))
    _, page = page_of(shop, qtbot)
    assert cells(page.meshes, 0)["On hand"] == "8.87 yd"
    assert cells(page.meshes, 0)["Order"] == "1 roll of 10.94 yd, 43.3 in wide"
    assert "8.87 yd on hand." in told(page)
    assert page.chart._shown(914.4) == pytest.approx(1)


def test_the_chart_tells_its_numbers_by_keys(shop: BenchShop, qtbot: QtBot) -> None:
    """Right goes a day on; the last day is the delivery after the next look."""
    _, page = page_of(shop, qtbot)
    assert "about eight of ten" in page.chart.told
    page.chart.setFocus()
    QTest.keyClick(page.chart, Qt.Key.Key_Right)
    assert page.chart.told.startswith("Until 12 Apr 2025: ")
    for _step in range(60):
        QTest.keyClick(page.chart, Qt.Key.Key_Right)
    assert page.chart.told.startswith("Until 29 Apr 2025: ")
    assert "8.11 m can be used." in page.chart.told
    assert page.chart.accessibleDescription() == page.chart.told


def test_what_a_mesh_was_used_for_takes_the_place_of_its_chart(
    shop: BenchShop, qtbot: QtBot
) -> None:
    """F8 there and back; the eleven first stretches stand in one line."""
    place, page = page_of(shop, qtbot)
    strike(page, qtbot, Qt.Key.Key_F8)
    assert page.used.isVisible()
    assert not page.chart.isVisible()
    assert list(cells(page.used, 0).values()) == [
        "2025-03", "584 × 787 mm", "first stretch", "11", "9.78 m",
    ]  # fmt: skip
    assert not nameless(place)
    strike(page, qtbot, Qt.Key.Key_F8)
    assert page.chart.isVisible()


def test_what_was_ordered_is_on_its_way_until_it_is_undone_or_cancelled(
    shop: BenchShop, qtbot: QtBot
) -> None:
    """F6 remembers it, F7 forgets it; the row follows at once."""
    _, page = page_of(shop, qtbot)
    strike(page, qtbot, Qt.Key.Key_F6)
    page.meshes.choose([MESH])
    row = next(n for n in range(2) if cells(page.meshes, n)["Mesh"] == MESH)
    assert cells(page.meshes, row)["On its way"] == "10.00 m"
    assert cells(page.meshes, row)["Order"] == "nothing"
    assert "10.00 m that were ordered on 12 Apr 2025 are expected on 22 Apr 2025." in told(page)
    assert not page._ordered.isEnabled()
    strike(page, qtbot, Qt.Key.Key_F7)
    assert cells(page.meshes, 0)["Order"].startswith("1 roll ")
    assert not page._cancelled.isEnabled()
    assert shop.told[-2:] == ["Ordered: 230 yellow.", "230 yellow is not on its way any more."]


def test_the_paper_prints_what_the_view_shows(
    shop: BenchShop, qtbot: QtBot, tmp_path: Path
) -> None:
    """Only the mesh to order, with its supplier, width, length, price, sum and reason."""
    _, page = page_of(shop, qtbot)
    assert page.orders is not None
    path = tmp_path / "order.pdf"
    save_order_sheet(shop.bench, page, page.orders, prompter=FakePrompter([path]))
    papers = pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages
    words = " ".join(" ".join(paper.extract_text() for paper in papers).split())
    for shown in (MESH, "=Weberei Lund", "1100 mm", "10.00", "20.50", "205.00",
                  "Total 205.00", "10 frames waiting", "Signature:"):  # fmt: skip
        assert shown in words
    assert "110 " not in words.replace("1100 mm", "")


def test_the_workbook_holds_numbers_and_runs_nothing(
    shop: BenchShop, qtbot: QtBot, tmp_path: Path
) -> None:
    """A supplier's name that begins like a formula is a text with an apostrophe."""
    _, page = page_of(shop, qtbot)
    assert page.orders is not None
    path = tmp_path / "order.xlsx"
    save_order_workbook(shop.bench, page, page.orders, prompter=FakePrompter([path]))
    head, row, total = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()
    assert head[:8] == ["Mesh", "From", "Rolls", "Width, mm", "Each, m", "In all, m",
                        "Price per m", "Sum"]  # fmt: skip
    assert row[:8] == [MESH, "'=Weberei Lund", 1, 1100, 10, 10, 20.5, 205]
    assert total[6:8] == ["Total", 205]
    with path.open("rb") as file:
        assert b"<f>" not in file.read()


def test_the_habits_of_ordering_are_changed_in_a_form(shop: BenchShop, qtbot: QtBot) -> None:
    """A number out of range is refused at its field, and nothing is changed."""
    _, page = page_of(shop, qtbot)
    form = OrderHabitsForm(shop.bench, read_settings(shop.desk), page)
    qtbot.addWidget(form)
    form.open()
    assert not nameless(form)
    level = field_named(form, "It lasts in so many of 100 cases")
    type_into(level, "100")
    QTest.keyClick(level, ENTER)
    assert "between 50 and 99" in form.trouble.text
    type_into(level, "80")
    QTest.keyClick(level, ENTER)
    assert read_settings(shop.desk).service_level == 80
    assert order_list(shop.desk).settings.service_level == 80


def test_an_empty_shelf_says_what_to_do_first(bench_shop: BenchShop, qtbot: QtBot) -> None:
    place = come_in(MeshShelf, bench_shop, qtbot)
    place.show_order()
    assert place.order is not None
    assert place.order.findChild(EmptyState).isVisible()


def test_today_says_how_many_meshes_are_to_be_ordered(shop: BenchShop, qtbot: QtBot) -> None:
    """It is told once, and anew when the shelf changed."""
    today = come_in(Today, shop, qtbot)
    assert "1 mesh to order." in today._header._purpose.text()
    shop.bench.change(lambda desk: mark_ordered(desk, {MESH: 20_000}))
    assert "to order" not in today._header._purpose.text()
