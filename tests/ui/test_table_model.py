"""Claims about the table model."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from PySide6.QtCore import QAbstractItemModel, QModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QTableView
from pytestqt.qtbot import QtBot

from framekeeper.ui.models.table import (
    Column,
    RowIdRole,
    RowsModel,
    SortRole,
    chosen_ids,
    dress_table,
    refresh,
)
from framekeeper.ui.theme import Theme

UP, DOWN = Qt.SortOrder.AscendingOrder, Qt.SortOrder.DescendingOrder


@dataclass(frozen=True)
class Roll:
    id: int
    name: str
    metres: float | None


COLUMNS = (
    Column[Roll](
        "name",
        "Roll",
        lambda r: r.name,
        lambda r: r.name,
        tooltip=lambda r: f"No. {r.id}",
    ),
    Column[Roll](
        "metres",
        "Left, m",
        lambda r: "" if r.metres is None else f"{r.metres:.1f}",
        lambda r: r.metres,
        width=90,
        align=Qt.AlignmentFlag.AlignRight,
    ),
)
ROLLS = [Roll(1, "b", 9), Roll(2, "a", 10.5), Roll(3, "d", None), Roll(4, "c", 10.5)]


@pytest.fixture
def model(qapp: object) -> RowsModel[Roll]:
    made = RowsModel(COLUMNS, lambda r: r.id)
    made.show_rows(ROLLS)
    return made


@pytest.fixture
def view(qtbot: QtBot, theme: Theme) -> QTableView:
    model = RowsModel(COLUMNS, lambda r: r.id)
    model.show_rows([Roll(n, f"r{n:03}", n) for n in range(300)])
    made = QTableView()
    qtbot.addWidget(made)
    model.setParent(made)
    made.setModel(model)
    dress_table(made, theme)
    made.resize(400, 300)
    made.show()
    return made


def ids(model: QAbstractItemModel) -> list[object]:
    return [model.index(row, 0).data(RowIdRole) for row in range(model.rowCount())]


def test_it_is_a_correct_model(model: RowsModel[Roll]) -> None:
    """Qt's own tester finds nothing wrong while rows change and are sorted."""
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    model.sort(1, DOWN)
    model.show_rows(ROLLS[:2])
    model.show_rows([])
    assert tester.model() is model


def test_a_cell_answers_every_role(model: RowsModel[Roll]) -> None:
    """Words for people, native values for sorting, ids for the program."""
    cell = model.index(0, 1)
    assert cell.data() == "9.0"
    assert cell.data(SortRole) == 9
    assert cell.data(RowIdRole) == 1
    assert model.index(0, 0).data(Qt.ItemDataRole.ToolTipRole) == "No. 1"
    assert (
        Qt.AlignmentFlag(cell.data(Qt.ItemDataRole.TextAlignmentRole)) & Qt.AlignmentFlag.AlignRight
    )
    assert model.headerData(1, Qt.Orientation.Horizontal) == "Left, m"
    assert not model.flags(cell) & Qt.ItemFlag.ItemIsEditable
    assert model.data(QModelIndex()) is None


def test_sorting_is_by_value_and_the_unknown_comes_last(model: RowsModel[Roll]) -> None:
    """9 is before 10.5; equals keep their order; what is not known is last both ways."""
    model.sort(1, UP)
    assert ids(model) == [1, 2, 4, 3]
    model.sort(1, DOWN)
    assert ids(model) == [2, 4, 1, 3]


def test_new_rows_come_in_the_chosen_order(model: RowsModel[Roll]) -> None:
    """A refresh does not forget how the person sorted."""
    model.sort(0, UP)
    model.show_rows([*ROLLS, Roll(5, "aa", 1)])
    assert [row.name for row in model.rows] == ["a", "aa", "b", "c", "d"]


def test_only_cells_that_changed_are_told(qtbot: QtBot, model: RowsModel[Roll]) -> None:
    """With the same frames in the same order there is no reset, only the changed row."""
    changed: list[tuple[int, int]] = []
    resets: list[int] = []
    model.dataChanged.connect(lambda a, b: changed.append((a.row(), b.row())))
    model.modelReset.connect(lambda: resets.append(1))
    model.show_rows([ROLLS[0], Roll(2, "a", 7), *ROLLS[2:]])
    assert (changed, resets) == ([(1, 1)], [])
    assert model.index(1, 1).data() == "7.0"
    model.show_rows(ROLLS[:3])
    assert resets == [1]


def test_a_refresh_keeps_selection_focus_and_scroll_by_id(view: QTableView) -> None:
    """Ten rows vanish above; the chosen rows stay chosen and the same row stays on top."""
    model = view.model()
    assert isinstance(model, RowsModel)
    view.scrollTo(model.index(150, 0), QTableView.ScrollHint.PositionAtTop)
    view.selectRow(152)
    top = view.indexAt(view.viewport().rect().topLeft()).data(RowIdRole)
    refresh(view, model, [row for row in model.rows if row.id >= 10])
    assert chosen_ids(view) == [152]
    assert view.currentIndex().data(RowIdRole) == 152
    assert view.indexAt(view.viewport().rect().topLeft()).data(RowIdRole) == top == 150


def test_rows_that_are_gone_are_not_chosen(view: QTableView) -> None:
    """The selection loses what has left the list, and nothing else takes its place."""
    model = view.model()
    assert isinstance(model, RowsModel)
    view.selectRow(5)
    refresh(view, model, [row for row in model.rows if row.id != 5])
    assert chosen_ids(view) == []


def test_sorting_keeps_the_selection_with_its_rows(view: QTableView) -> None:
    """A click on a header moves the chosen row, not the choice."""
    view.selectRow(3)
    view.sortByColumn(1, DOWN)
    assert chosen_ids(view) == [3]
    assert view.currentIndex().row() == 296


def test_a_table_starts_in_the_order_that_it_was_given(view: QTableView) -> None:
    """Dressing a table does not sort it; rows have one height."""
    assert ids(view.model())[:3] == [0, 1, 2]
    assert view.rowHeight(0) == view.rowHeight(299) >= 24
    assert view.columnWidth(0) == 120
