"""Proves the mesh shelf: what is on hand, rolls that come, are counted and scrapped, the use."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot

from framekeeper.domain.records import RollRecord
from framekeeper.services import meshes, settings, stock, stretch
from framekeeper.ui.dialogs import mesh_type
from framekeeper.ui.lengths import read_length_mm, read_roll_mm, roll_length
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.text import Formatter
from framekeeper.ui.widgets.notices import EmptyState
from framekeeper.ui.widgets.work_table import WorkTable
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


@pytest.fixture
def stocked(bench_shop: BenchShop) -> BenchShop:
    bench_shop.add_meshes()
    return bench_shop


def cells(table: WorkTable, row: int) -> dict[str, str]:
    model = table.model()
    return {
        model.headerData(column, Qt.Orientation.Horizontal): model.index(row, column).data()
        for column in range(model.columnCount())
    }


def rolls(shop: BenchShop) -> list[RollRecord]:
    with shop.desk.read() as reader:
        return reader.rolls()


def test_a_mesh_is_shown_with_what_is_on_hand(stocked: BenchShop, qtbot: QtBot) -> None:
    """Name as bought, count in the shop's unit, thread, thresholds, and the sum of its rolls."""
    place = come_in(MeshShelf, stocked, qtbot)
    shown = cells(place.meshes, 1)
    assert shown["Mesh, as bought"] == "230 yellow"
    assert shown["Count"] == "230 per inch"
    assert shown["Thread"] == "48 µm"
    assert (shown["Target"], shown["Limit"]) == ("25.0", "18.0")
    assert (shown["On hand"], shown["Rolls"]) == ("9.00 m", "1")
    assert cells(place.meshes, 0)["Target"] == "—"


def test_a_mesh_from_a_list_is_marked_to_be_completed(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """What an import made up from a name asks for its numbers."""
    with bench_shop.desk.work("import") as work:
        meshes.put_mesh_type(work, meshes.facts_from_text("195 white"), to_be_completed=True)
        work.commit()
    place = come_in(MeshShelf, bench_shop, qtbot)
    assert cells(place.meshes, 0)["Remarks"] == "to be completed"


def test_units_follow_the_shop(stocked: BenchShop, qtbot: QtBot) -> None:
    """A shop that thinks in inches buys rolls in yards; 9 m are 9.84 yd."""
    place = come_in(MeshShelf, stocked, qtbot)
    stocked.bench.change(
        lambda desk: settings.change_settings(desk, length_unit="inch", count_unit="cm")
    )
    place.refresh()
    assert cells(place.meshes, 1)["Count"] == "91 per cm"
    assert cells(place.meshes, 1)["On hand"] == "9.84 yd"
    assert cells(place.rolls, 0)["Width"] == "43.3 in"


def test_a_roll_arrives(stocked: BenchShop, qtbot: QtBot) -> None:
    """F2, width and length with a comma, Enter: it is on the shelf with the next free code."""
    place = come_in(MeshShelf, stocked, qtbot)
    place.meshes.choose(["230 yellow"])
    strike(place, qtbot, Qt.Key.Key_F2)
    type_into(field_named(place, "Width"), "1500")
    type_into(field_named(place, "Lot"), "L-2")
    length = field_named(place, "Length")
    type_into(length, "22,5")
    QTest.keyClick(length, ENTER)
    new = rolls(stocked)[-1]
    assert (new.code, new.lot, new.width_mm, new.on_hand_mm) == ("R0002", "L-2", 1500, 22500)
    assert cells(place.meshes, 1)["On hand"] == "31.50 m"
    assert place.forms.form is None


def test_a_length_that_is_none_is_refused_at_its_field(stocked: BenchShop, qtbot: QtBot) -> None:
    """What was typed stays; Esc leaves, and the shelf is as before."""
    place = come_in(MeshShelf, stocked, qtbot)
    strike(place, qtbot, Qt.Key.Key_F2)
    type_into(field_named(place, "Width"), "1500")
    length = field_named(place, "Length")
    type_into(length, "a lot")
    QTest.keyClick(length, ENTER)
    assert place.forms.form is not None
    assert "“a lot” is not a length" in place.forms.form.error_text
    assert length.text() == "a lot"
    assert place.window().focusWidget() is length
    QTest.keyClick(length, ESC)
    assert place.forms.form is None
    assert len(rolls(stocked)) == 1


def test_a_count_writes_the_difference(stocked: BenchShop, qtbot: QtBot) -> None:
    """F3 on a roll: the ledger gets what is missing."""
    place = come_in(MeshShelf, stocked, qtbot)
    place.meshes.choose(["230 yellow"])
    strike(place, qtbot, Qt.Key.Key_F3)
    left = field_named(place, "Left on it")
    type_into(left, "8.2")
    QTest.keyClick(left, ENTER)
    assert rolls(stocked)[0].on_hand_mm == 8200
    with stocked.desk.read() as reader:
        assert reader.moves()[-1].length_mm == -800


def test_scrap_needs_no_more_than_is_there(stocked: BenchShop, qtbot: QtBot) -> None:
    """Too much is refused with what is left; the right length goes to scrap with its reason."""
    place = come_in(MeshShelf, stocked, qtbot)
    place.meshes.choose(["230 yellow"])
    strike(place, qtbot, Qt.Key.Key_F4)
    length = field_named(place, "Length")
    type_into(length, "10")
    QTest.keyClick(length, ENTER)
    assert place.forms.form is not None
    assert "holds only" in place.forms.form.error_text
    type_into(length, "0,4")
    QTest.keyClick(length, ENTER)
    assert rolls(stocked)[0].on_hand_mm == 8600
    with stocked.desk.read() as reader:
        assert reader.moves()[-1].reason == "flaw in the weave"


def test_the_use_is_summed_by_month_and_mesh(stocked: BenchShop, qtbot: QtBot) -> None:
    """Cuts of two months stand apart; the total is below."""
    desk, request = stocked.desk, stretch.StretchRequest("230 yellow", roll="R0001")
    codes = stocked.frames(3, prepped=True)
    stretch.stretch(desk, codes[:1], request)
    stocked.clock.go_on(days=31)
    stretch.stretch(desk, codes[1:], request)
    stock.scrap(desk, "R0001", length_mm=400, reason="creased")
    place = come_in(MeshShelf, stocked, qtbot)
    assert list(cells(place.usage, 0).values()) == [
        "2025-04",
        "230 yellow",
        "2",
        "1.78 m",
        "0.40 m",
    ]
    assert list(cells(place.usage, 1).values()) == [
        "2025-03",
        "230 yellow",
        "1",
        "0.89 m",
        "0.00 m",
    ]
    said = [label.text() for label in place.findChildren(QLabel)]
    assert "In all: 3 pieces, 2.67 m cut, 0.40 m scrap" in said


def test_enter_opens_the_chosen_mesh(
    stocked: BenchShop, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Enter edits the chosen mesh, Ctrl+N adds one; the form is opened, not waited for."""
    opened: list[object] = []

    class Form:
        def __init__(self, bench: object, mesh: object, parent: object) -> None:
            self.mesh = mesh

        def open(self) -> None:
            opened.append(self.mesh)

    monkeypatch.setattr(mesh_type, "MeshTypeForm", Form)
    place = come_in(MeshShelf, stocked, qtbot)
    place.meshes.choose(["230 yellow"])
    QTest.keyClick(place.meshes, ENTER)
    strike(place, qtbot, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    assert [getattr(mesh, "name", None) for mesh in opened] == ["230 yellow", None]


def test_an_empty_shelf_offers_the_first_mesh(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """The only way on is shown and has its key."""
    place = come_in(MeshShelf, bench_shop, qtbot)
    assert any(empty.isVisible() for empty in place.findChildren(EmptyState))
    assert place._first.isVisible()
    assert not place._receive.isVisible()
    strike(place, qtbot, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    forms = place.findChildren(mesh_type.MeshTypeForm)
    assert len(forms) == 1
    forms[0].close()


def test_every_control_has_a_name_and_room(stocked: BenchShop, qtbot: QtBot) -> None:
    """Screen reader and gloves, with each form open."""
    place = come_in(MeshShelf, stocked, qtbot)
    place.meshes.choose(["230 yellow"])
    assert nameless(place) == []
    for key in (Qt.Key.Key_F2, Qt.Key.Key_F3, Qt.Key.Key_F4):
        strike(place, qtbot, key)
        assert nameless(place) == []


@pytest.mark.parametrize(
    ("unit", "typed", "mm"),
    [
        ("mm", "889", 889), ("mm", "35 in", 889), ("inch", "35", 889), ("inch", '35"', 889),
        ("inch", "88,9 cm", 889), ("mm", "889,4 mm", 889),
    ],
)  # fmt: skip
def test_a_piece_is_read_in_the_unit_that_is_typed(
    qapp: object, unit: str, typed: str, mm: int
) -> None:
    """A unit in the field wins over the shop's."""
    formatter = Formatter(length_unit=unit)  # type: ignore[arg-type]
    assert read_length_mm(formatter, typed, argument="x") == mm


@pytest.mark.parametrize(
    ("unit", "typed", "mm", "said"),
    [
        ("mm", "12,5", 12500, "12.50 m"), ("inch", "10", 9144, "10.00 yd"),
        ("mm", "10 yd", 9144, "9.14 m"), ("inch", "2 m", 2000, "2.19 yd"),
    ],
)  # fmt: skip
def test_a_roll_is_read_and_written_in_metres_or_yards(
    qapp: object, unit: str, typed: str, mm: int, said: str
) -> None:
    """A yard is 0.9144 m by definition."""
    formatter = Formatter(length_unit=unit)  # type: ignore[arg-type]
    assert read_roll_mm(formatter, typed, argument="x") == mm
    assert roll_length(formatter, mm) == said
