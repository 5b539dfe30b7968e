"""Proves the pages of the Mesh shelf: a roll with its movements, offcuts, glue, the stock-take."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import RollRecord
from framekeeper.services import history, meshes, settings, stock, stock_moves, stretch, supplies
from framekeeper.services.supplies import SupplyFacts
from framekeeper.ui.dialogs.buying import BuyingForm
from framekeeper.ui.dialogs.label_memory import LabelMemory
from framekeeper.ui.dialogs.roll_labels import RollLabelsForm, read_roll_label_shop
from framekeeper.ui.dialogs.supply import SupplyForm
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.prices import price_words, read_price_per_m
from framekeeper.ui.text import Formatter
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

TODAY = dt.date(2025, 3, 3)


@pytest.fixture
def cut(bench_shop: BenchShop) -> BenchShop:
    """A roll of 1.10 m that lost 0.889 m to a frame; frames of 584 x 787 mm."""
    bench_shop.add_meshes()
    codes = bench_shop.frames(2, prepped=True)
    request = stretch.StretchRequest("230 yellow", roll="R0001")
    stretch.stretch(bench_shop.desk, codes[:1], request)
    return bench_shop


def roll(shop: BenchShop, code: str) -> RollRecord:
    with shop.desk.read() as reader:
        found = reader.roll_by_code(code)
    assert found is not None
    return found


def words(widget: QWidget) -> str:
    return " ".join(label.text() for label in widget.findChildren(QLabel) if label.isVisible())


def open_roll(shop: BenchShop, qtbot: QtBot) -> MeshShelf:
    """Go to the shelf and press Enter on its roll."""
    place = come_in(MeshShelf, shop, qtbot)
    place.meshes.choose(["230 yellow"])
    place.rolls.setFocus()
    QTest.keyClick(place.rolls, ENTER)
    assert place.roll_page.isVisible()
    return place


def test_enter_on_a_roll_lists_its_movements(cut: BenchShop, qtbot: QtBot) -> None:
    """Who, when, why, down to the operation; Enter on a cut wants its frame; Esc leads back."""
    stock.count_roll(cut.desk, "R0001", length_mm=8000, reason="stock-take")
    place = open_roll(cut, qtbot)
    page = place.roll_page
    assert "230 yellow · 1100 mm wide · 8.00 m left · lot L-1" in words(page)
    newest, made = cells(page.lines, 0), cells(page.lines, 1)
    assert (newest["What"], newest["Length"], newest["Left"]) == ("counted", "−0.11 m", "8.00 m")
    assert (newest["Who"], newest["Why"]) == ("Maren", "stock-take")
    assert newest["Recorded as"].endswith(": count roll R0001")
    assert (made["What"], made["Frame"]) == ("cut", "FK0001R")
    wanted: list[str] = []
    cut.bench.frame_wanted.connect(wanted.append)
    page.lines.selectRow(1)
    QTest.keyClick(page.lines, ENTER)
    assert wanted == ["FK0001R"]
    assert nameless(place) == []
    QTest.keyClick(page.lines, ESC)
    assert place.rolls.isVisible()
    assert place.window().focusWidget() is place.rolls


def test_the_price_comes_later(cut: BenchShop, qtbot: QtBot) -> None:
    """Ctrl+E, a price with a comma, Enter; the shop's own currency stands beside it."""
    settings.change_settings(cut.desk, currency="Taler")
    cut.bench.formatter.currency = "Taler"
    place = open_roll(cut, qtbot)
    strike(place, qtbot, Qt.Key.Key_E, Qt.KeyboardModifier.ControlModifier)
    price = field_named(place, "Price")
    type_into(price, "31,5 x")
    QTest.keyClick(price, ENTER)
    assert "“31,5 x” is not a price" in words(place)
    assert place.window().focusWidget() is price
    type_into(price, "31,50")
    QTest.keyClick(price, ENTER)
    assert roll(cut, "R0001").price_per_m == Decimal("31.50")
    assert "31.50 Taler/m" in words(place.roll_page)


def test_an_inch_shop_changes_only_what_it_touches(cut: BenchShop, qtbot: QtBot) -> None:
    """1100 mm are shown as 43.3 in; saving a lot must not make them 1099.8 mm."""
    settings.change_settings(cut.desk, length_unit="inch")
    cut.bench.formatter.length_unit = "inch"
    place = open_roll(cut, qtbot)
    assert "43.3 in wide · 8.87 yd left" in words(place.roll_page)
    strike(place, qtbot, Qt.Key.Key_E, Qt.KeyboardModifier.ControlModifier)
    lot, price = field_named(place, "Lot"), field_named(place, "Price")
    type_into(lot, "L-2")
    type_into(price, "12.50")
    QTest.keyClick(price, ENTER)
    changed = roll(cut, "R0001")
    assert (changed.width_mm, changed.lot) == (1100, "L-2")
    assert "12.50 per yd" in words(place.roll_page)
    assert changed.price_per_m == Decimal("13.670166")  # 12.50 / 0.9144


def test_an_offcut_is_kept_and_told_what_it_serves(cut: BenchShop, qtbot: QtBot) -> None:
    """F6; too large is refused at its field; what serves no frame is proposed for scrap."""
    place = open_roll(cut, qtbot)
    QTest.keyClick(place.roll_page.lines, ESC)
    strike(place, qtbot, Qt.Key.Key_F6)
    along, across = field_named(place, "Along the roll"), field_named(place, "Across the roll")
    type_into(along, "889")
    type_into(across, "1200")
    QTest.keyClick(across, ENTER)
    assert "no offcut of it is wider" in words(place)
    type_into(across, "400")
    QTest.keyClick(across, ENTER)
    kept = roll(cut, "R0002")
    assert (kept.width_mm, kept.on_hand_mm, kept.is_offcut) == (400, 889, True)
    assert cells(place.rolls, 1)["Offcut serves"] == "none: scrap"
    assert "1 offcut serves no frame: scrap it" in words(place)
    mesh = cells(place.meshes, 1)
    assert (mesh["On hand"], mesh["Rolls"], mesh["Offcuts"]) == ("8.11 m", "1", "1")
    place.rolls.choose(["R0002"])
    strike(place, qtbot, Qt.Key.Key_F4)
    QTest.keyClick(field_named(place, "Length"), ENTER)
    assert roll(cut, "R0002").on_hand_mm == 0
    assert stock_moves.roll_page(cut.desk, "R0002").lines[0].move.reason == "serves no frame"


def test_an_offcut_that_never_was_leaves_the_shelf(cut: BenchShop, qtbot: QtBot) -> None:
    stock.keep_offcut(cut.desk, "R0001", width_mm=300, length_mm=300)
    place = come_in(MeshShelf, cut, qtbot)
    place.meshes.choose(["230 yellow"])
    place.rolls.choose(["R0002"])
    place.rolls.setFocus()
    QTest.keyClick(place.rolls, ENTER)
    assert "Cut from roll R0001." in words(place.roll_page)
    strike(place, qtbot, Qt.Key.Key_F9)
    assert not place.roll_page.isVisible()
    assert len(place.rolls.rows) == 1


# glue


def test_batches_are_kept_on_a_page_of_their_own(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """F7 says what to do first; F2 adds, F3 opens, F4 finishes; the shelf warns of dates."""
    bench_shop.add_meshes()
    place = come_in(MeshShelf, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F7)
    assert "No batch is on the shelf yet" in words(place.glue)
    strike(place, qtbot, Qt.Key.Key_F2)
    (form,) = place.glue.findChildren(SupplyForm)
    form.confirm()
    assert "number that stands on the tin" in form.trouble.text
    type_into(form.batch, "AH-1")
    form.best_before.show_day(TODAY + dt.timedelta(days=14))
    form.confirm()
    shown = cells(place.glue.batches, 0)
    assert (shown["Batch"], shown["Opened"], shown["Left of its time"]) == (
        "AH-1", "not yet", "14 days",
    )  # fmt: skip
    strike(place, qtbot, Qt.Key.Key_F3)
    assert cells(place.glue.batches, 0)["Opened"] != "not yet"
    assert nameless(place) == []
    QTest.keyClick(place.glue.batches, ESC)
    assert "Batch AH-1 (adhesive) is best before 17 Mar 2025." in words(place)
    bench_shop.clock.go_on(days=15)
    place.refresh()
    assert "past its best-before day, 17 Mar 2025. The maker’s label" in words(place)
    strike(place, qtbot, Qt.Key.Key_F7)
    strike(place, qtbot, Qt.Key.Key_F4)
    assert supplies.supplies(bench_shop.desk) == ()


def test_the_table_offers_open_batches_and_warns_of_old_ones(cut: BenchShop, qtbot: QtBot) -> None:
    """The open batch that goes off first is proposed, an old one warned of, any text taken."""
    for batch, days, is_open in (("OLD", -1, True), ("LATE", 90, True), ("SOON", 20, True)):
        day = TODAY + dt.timedelta(days=days)
        facts = SupplyFacts("adhesive", batch, "clear", day, TODAY if is_open else None)
        supplies.add_supply(cut.desk, facts)
    place = come_in(StretchingTable, cut, qtbot)
    place.take_scan("FK0001R")
    strike(place, qtbot, Qt.Key.Key_F5)
    lot = field_named(place.work, "Adhesive lot")
    box = lot.parent()
    assert isinstance(box, QComboBox)
    assert lot.text() == "SOON"
    assert [box.itemText(n) for n in range(box.count())] == [
        "OLD · clear · past 2 Mar 2025",
        "SOON · clear · until 23 Mar 2025",
        "LATE · clear · until 1 Jun 2025",
    ]
    assert "best-before" not in words(place.work)
    box.setCurrentIndex(0)
    box.activated.emit(0)
    assert lot.text() == "OLD"
    assert "Batch OLD (adhesive) is past its best-before day, 2 Mar 2025." in words(place.work)
    type_into(lot, "typed by hand")
    assert "best-before" not in words(place.work)
    QTest.keyClick(lot, ENTER)
    assert cut.kinds("FK0001R")[-1] == "glued"


def test_a_scanned_roll_is_taken_at_the_table(cut: BenchShop, qtbot: QtBot) -> None:
    """Its mesh with it; the label of a roll that is not there is left to the shelf."""
    stock.receive_roll(cut.desk, stock.NewRoll("110", 1500, 9000))
    place = come_in(StretchingTable, cut, qtbot)
    place.take_scan("FK0002P")
    assert place.take_roll(roll(cut, "R0002").id)
    request = place.pull.request()
    assert (request.mesh, request.roll) == ("110", "R0002")
    assert not place.take_roll(99)


# the stock-take


@pytest.fixture
def taking(cut: BenchShop, qtbot: QtBot) -> MeshShelf:
    """F8, with three rolls on the shelf."""
    for length in (5000, 7000):
        stock.receive_roll(cut.desk, stock.NewRoll("230 yellow", 1100, length))
    place = come_in(MeshShelf, cut, qtbot)
    strike(place, qtbot, Qt.Key.Key_F8)
    return place


def test_scan_length_enter_next(cut: BenchShop, taking: MeshShelf, qtbot: QtBot) -> None:
    """Expected, counted, difference, total; what nobody has seen is listed and can be none."""
    take = taking.take
    assert "0 rolls counted, 3 not seen yet" in words(take)
    taking.take_roll(roll(cut, "R0002").id)
    assert "R0002: 230 yellow, 1100 mm wide. The shelf says 5.00 m." in words(take)
    left = field_named(take, "Left on it")
    assert taking.window().focusWidget() is left
    type_into(left, "4,75")
    QTest.keyClick(left, ENTER)
    assert taking.window().focusWidget() is field_named(take, "Roll")
    shown = cells(take.lines, 0)
    assert list(shown.values())[2:] == ["5.00 m", "4.75 m", "−0.25 m", "Maren", "stock-take"]
    assert "1 roll differs from what was written, in all −0.25 m." in words(take)
    take.lines.choose([roll(cut, "R0003").id])
    strike(taking, qtbot, Qt.Key.Key_F4)
    assert roll(cut, "R0003").on_hand_mm == 0
    assert stock_moves.roll_page(cut.desk, "R0003").lines[0].move.reason == "not found"
    assert nameless(taking) == []


def test_a_scan_does_not_lose_a_typed_length(cut: BenchShop, taking: MeshShelf) -> None:
    taking.take_roll(roll(cut, "R0002").id)
    left = field_named(taking.take, "Left on it")
    type_into(left, "4.75")
    taking.take_roll(roll(cut, "R0003").id)
    assert "length of roll R0002 is typed but not recorded" in cut.refused[-1]
    assert (left.text(), field_named(taking.take, "Roll").text()) == ("4.75", "R0002")
    taking.take_roll(999)
    assert "no roll with this label" in cut.refused[-1]


def test_a_stock_take_by_keyboard(cut: BenchShop, taking: MeshShelf) -> None:
    """A code that is typed, a wrong one, a length that is none; what was typed stays."""
    take = taking.take
    code, left = field_named(take, "Roll"), field_named(take, "Left on it")
    type_into(code, "r9")
    QTest.keyClick(code, ENTER)
    assert "There is no roll r9 on the shelf." in words(take)
    type_into(code, "r0001")
    QTest.keyClick(code, ENTER)
    assert taking.window().focusWidget() is left
    type_into(left, "x" * 300)
    QTest.keyClick(left, ENTER)
    assert "is not a length" in words(take)
    type_into(left, "8.11")
    QTest.keyClick(left, ENTER)
    assert roll(cut, "R0001").on_hand_mm == 8110
    QTest.keyClick(code, ESC)
    assert not take.isVisible()


def test_undo_takes_the_last_count_off_the_page(cut: BenchShop, taking: MeshShelf) -> None:
    stock.count_roll(cut.desk, "R0002", length_mm=5000)
    taking.refresh()
    assert cells(taking.take.lines, 0)["Counted"] == "5.00 m"
    cut.bench.change(history.undo)
    assert cells(taking.take.lines, 0)["Counted"] == "not seen"


def test_a_stock_take_in_yards(cut: BenchShop, qtbot: QtBot) -> None:
    settings.change_settings(cut.desk, length_unit="inch")
    cut.bench.formatter.length_unit = "inch"
    place = come_in(MeshShelf, cut, qtbot)
    strike(place, qtbot, Qt.Key.Key_F8)
    place.take_roll(roll(cut, "R0001").id)
    left = field_named(place.take, "Left on it")
    type_into(left, "8")
    QTest.keyClick(left, ENTER)
    assert roll(cut, "R0001").on_hand_mm == round(8 * 914.4)
    assert cells(place.take.lines, 0)["Counted"] == "8.00 yd"
    assert "8.00 yd on hand" in cut.told[-1]


def test_an_empty_shelf_has_nothing_to_count(bench_shop: BenchShop, qtbot: QtBot) -> None:
    meshes.add_mesh_type(bench_shop.desk, meshes.MeshTypeFacts("110"))
    place = come_in(MeshShelf, bench_shop, qtbot)
    strike(place, qtbot, Qt.Key.Key_F8)
    assert "There is no mesh on the shelf to count." in words(place.take)


# buying, labels, prices


def test_how_a_mesh_is_bought(cut: BenchShop, qtbot: QtBot) -> None:
    """Ctrl+B; numbers with a comma, an empty field stays unknown, other facts stay."""
    place = come_in(MeshShelf, cut, qtbot)
    place.meshes.choose(["230 yellow"])
    strike(place, qtbot, Qt.Key.Key_B, Qt.KeyboardModifier.ControlModifier)
    (form,) = place.findChildren(BuyingForm)
    type_into(form.buy_from, "Weberei Lund")
    type_into(form.spread, "2")
    form.confirm()
    assert "a spread but no length" in form.trouble.text
    type_into(form.lead, "9,5")
    type_into(form.roll_length, "30")
    type_into(form.price, "31,50")
    form.confirm()
    with cut.desk.read() as reader:
        mesh = meshes.find_mesh_type(reader, "230 yellow")
    bought = mesh.buying
    assert (bought.buy_from, bought.lead_time_days, bought.lead_time_sd_days) == (
        "Weberei Lund", 9.5, 2,
    )  # fmt: skip
    assert (bought.buy_width_mm, bought.buy_length_mm) == (None, 30_000)
    assert bought.price_per_m == Decimal("31.50")
    assert mesh.rules.target == 25


def test_roll_labels_are_printed_and_the_next_free_label_remembered(
    cut: BenchShop, qtbot: QtBot, tmp_path: Path
) -> None:
    memory, shown = LabelMemory(tmp_path / "labels.json"), []

    def show(path: Path) -> bool:
        shown.append(path)
        return True

    shop = read_roll_label_shop(cut.desk, None)
    parent = QWidget()
    qtbot.addWidget(parent)
    prompter = FakePrompter([str(tmp_path / "rolls.pdf")])
    form = RollLabelsForm(cut.bench, shop, parent, memory=memory, prompter=prompter, show_file=show)
    form.open()
    form.confirm()
    assert (tmp_path / "rolls.pdf").read_bytes().startswith(b"%PDF")
    assert shown == [tmp_path / "rolls.pdf"]
    assert memory.recall(shop.address).next_cell == 2


@pytest.mark.parametrize(
    ("unit", "typed", "stored", "told"),
    [
        ("mm", "31,5", "31.5", "31,50 €/m"), ("inch", "12.5", "13.670166", "12,50 €/yd"),
        ("mm", "0.125", "0.125", "0,12 €/m"),
    ],
)  # fmt: skip
def test_a_price_is_written_in_the_shops_unit(
    qapp: QApplication, unit: str, typed: str, stored: str, told: str
) -> None:
    formatter = Formatter(QLocale("de_DE"), length_unit=unit)  # type: ignore[arg-type]
    formatter.currency = "€"
    price = read_price_per_m(formatter, typed, argument="price_per_m")
    assert price == Decimal(stored)
    assert price_words(formatter, price) == told
    assert read_price_per_m(formatter, " ", argument="price_per_m") is None


def test_a_currency_is_short(cut: BenchShop) -> None:
    with pytest.raises(NotValid):
        settings.change_settings(cut.desk, currency="x" * 9)
