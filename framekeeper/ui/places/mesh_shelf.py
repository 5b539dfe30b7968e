"""The mesh shelf: what the shop stretches with, what is left of it, and how much it uses."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.services.stock import Shelf, shelf
from framekeeper.services.stock_use import Usage
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import roll_length
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.shelf_dates import DateWarnings
from framekeeper.ui.places.shelf_forms import (
    CountForm,
    FormHost,
    OffcutForm,
    ReceiveForm,
    ScrapForm,
    ShelfForm,
)
from framekeeper.ui.places.shelf_glue import GluePanel
from framekeeper.ui.places.shelf_page import ShelfPage
from framekeeper.ui.places.shelf_roll import RollPanel
from framekeeper.ui.places.shelf_tables import (
    MESH_COLUMN,
    MeshRow,
    RollRow,
    mesh_columns,
    mesh_id,
    mesh_rows,
    roll_columns,
    roll_id,
    roll_rows,
    usage_columns,
    usage_id,
)
from framekeeper.ui.places.shelf_take import StockTakePanel
from framekeeper.ui.places.shelf_words import purpose_words
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.work_table import WorkTable

if TYPE_CHECKING:
    from framekeeper.ui.places.order_page import OrderPage


class MeshShelf(Place):
    """Mesh types above; below, the rolls of the chosen one and the mesh that was used.

    A roll, the glue, the stock-take and what to order have pages of their own; Esc leads back here.
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._shelf: Shelf | None = None
        self._scanned: int | None = None  # a roll, before the shelf was read
        self.order: OrderPage | None = None  # made when somebody looks, since it loads maths
        self._make_buttons()
        theme = bench.theme
        self._header = PlaceHeader(
            theme,
            tr("Mesh shelf"),
            tr("Looking at the shelf …"),
            (self._to_glue, self._to_take, self._to_order, self._receive),
        )
        meshes: RowsModel[MeshRow] = RowsModel(mesh_columns(bench), mesh_id, self)
        rolls: RowsModel[RollRow] = RowsModel(roll_columns(bench), roll_id, self)
        usage: RowsModel[Usage] = RowsModel(usage_columns(bench), usage_id, self)
        self.meshes = WorkTable(theme, meshes, tr("Mesh types"))
        self.rolls = WorkTable(theme, rolls, tr("Rolls"))
        self.usage = WorkTable(theme, usage, tr("Mesh used"))
        self._meshes_title = QLabel(tr("Mesh types"))
        self._rolls_title, self._usage_title, self._total = QLabel(), QLabel(), QLabel()
        self._dates = DateWarnings(bench)
        self._pages, self._views = QStackedWidget(), QStackedWidget()
        self.roll_page, self.glue = RollPanel(bench), GluePanel(bench)
        self.take = StockTakePanel(bench)
        self._lay_out()
        self.meshes.asked.connect(self._edit_mesh)
        self.meshes.chosen_changed.connect(self._show_rolls)
        self.rolls.asked.connect(self._open_roll)
        self.rolls.chosen_changed.connect(self._enable)

    def _make_buttons(self) -> None:
        theme = self.bench.theme
        self._add = KeyHintButton(theme, tr("Add a mesh …"), "Ctrl+N")
        self._edit = KeyHintButton(theme, tr("Edit the mesh …"), "Ctrl+E")
        self._buying = KeyHintButton(theme, tr("How it is bought …"), "Ctrl+B")
        self._receive = KeyHintButton(theme, tr("A roll arrived …"), "F2", is_main=True)
        self._count = KeyHintButton(theme, tr("Count …"), "F3")
        self._scrap = KeyHintButton(theme, tr("Scrap …"), "F4")
        self._offcut = KeyHintButton(theme, tr("Offcut …"), "F6")
        self._labels = KeyHintButton(theme, tr("Labels"), "Ctrl+L")
        self._to_glue = KeyHintButton(theme, tr("Glue"), "F7")
        self._to_take = KeyHintButton(theme, tr("Stock-take"), "F8")
        self._to_order = KeyHintButton(theme, tr("What to order"), "F9")
        for button, slot in (
            (self._add, self._add_mesh),
            (self._edit, self._edit_mesh),
            (self._buying, self._open_buying),
            (self._receive, self._open_receive),
            (self._count, self._open_count),
            (self._scrap, self._open_scrap),
            (self._offcut, self._open_offcut),
            (self._labels, self._open_labels),
            (self._to_glue, self._go_to_glue),
            (self._to_take, self._go_to_take),
            (self._to_order, self.show_order),
        ):
            button.clicked.connect(slot)

    def _lay_out(self) -> None:
        self._total.setProperty("quiet", True)
        self.forms = FormHost(self.bench, _column(self._usage_title, self.usage, self._total))
        self.forms.closed.connect(self.rolls.setFocus)
        rolls = QVBoxLayout()
        rolls.setSpacing(STEP)
        keys = (self._count, self._scrap, self._offcut, self._labels)
        rolls.addLayout(_title_row(self._rolls_title, keys))
        rolls.addWidget(self.rolls, 1)
        foot = QHBoxLayout()
        foot.setSpacing(6 * STEP)
        foot.addLayout(rolls, 29)
        foot.addWidget(self.forms, 21)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(_title_row(self._meshes_title, (self._buying, self._edit, self._add)))
        column.addWidget(self.meshes, 3)
        column.addLayout(foot, 4)
        self._first = KeyHintButton(self.bench.theme, tr("Add the first mesh …"), "Ctrl+N")
        self._first.clicked.connect(self._add_mesh)
        self._pages.addWidget(body)
        self._pages.addWidget(
            EmptyState(
                self.bench.theme,
                self.bench.icons,
                "shelf",
                tr("The shelf knows no mesh yet"),
                tr(
                    "Add the first mesh by the name that you buy it under, with its target; then "
                    "put its rolls on the shelf."
                ),
                self._first,
            )
        )
        front = QWidget()
        whole = QVBoxLayout(front)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(2 * STEP)
        whole.addWidget(self._header)
        whole.addWidget(self._dates)
        whole.addWidget(self._pages, 1)
        self._views.addWidget(front)
        for page in (self.roll_page, self.glue, self.take):
            self._views.addWidget(page)
            page.left.connect(self._back)
        self.column.addWidget(self._views)

    # what is shown

    def take_focus(self) -> None:
        page = self._views.currentWidget()
        if isinstance(page, ShelfPage):
            page.take_focus()
        elif self.forms.form is None:
            self.meshes.setFocus()

    def follows(self, changes: Changes) -> bool:
        kinds = {"mesh_types", "rolls", "settings"}
        if self._views.currentWidget() is self.order:
            kinds |= {"frames", "forecast"}
        return bool(changes.kinds & kinds)

    def refresh(self) -> None:
        self.bench.read(shelf, self._show, owner=self)
        page = self._views.currentWidget()
        if isinstance(page, ShelfPage):
            page.refresh()

    def _show(self, found: Shelf) -> None:
        self._shelf = found
        has_mesh = bool(found.mesh_types)
        self._pages.setCurrentIndex(0 if has_mesh else 1)
        for button in (self._receive, self._to_order, self._to_take):
            button.setVisible(has_mesh)
        self.meshes.show_rows(mesh_rows(found))
        self.usage.show_rows(found.usage)
        self._usage_title.setText(tr("Mesh used"))
        self._total.setText(self._total_words(found))
        self._header.set_purpose(purpose_words(found) if has_mesh else "")
        self._dates.show_supplies(found.supplies)
        self._show_rolls()
        if self._scanned is not None:
            roll_id, self._scanned = self._scanned, None
            self.take_roll(roll_id)

    def _total_words(self, found: Shelf) -> str:
        if not found.usage:
            return tr("Each cut at the stretching table is counted here.")
        formatter = self.bench.formatter
        return tr(
            "In all: {pieces}, {cut} cut, {scrap} scrap",
            pieces=tr_count("{n} piece", "{n} pieces", sum(u.pieces for u in found.usage)),
            cut=roll_length(formatter, sum(u.cut_mm for u in found.usage)),
            scrap=roll_length(formatter, sum(u.scrapped_mm for u in found.usage)),
        )

    def _show_rolls(self) -> None:
        if self._shelf is None:
            return
        mesh = self.chosen_mesh()
        rows = roll_rows(self._shelf, mesh)
        if mesh is None:
            self._rolls_title.setText(tr("All rolls ({count})", count=len(rows)))
        else:
            self._rolls_title.setText(tr("Its rolls ({count})", count=len(rows)))
            self._rolls_title.setToolTip(mesh.name)
        self.rolls.setColumnHidden(MESH_COLUMN, mesh is not None)
        self.rolls.show_rows(rows)
        self.rolls.choose_first()
        self._enable()

    def _enable(self) -> None:
        for button in (self._edit, self._buying):
            button.setEnabled(self.chosen_mesh() is not None)
        roll = self.chosen_roll()
        self._count.setEnabled(roll is not None)
        self._offcut.setEnabled(roll is not None)
        self._scrap.setEnabled(roll is not None and roll.on_hand_mm > 0)
        self._labels.setEnabled(bool(self.rolls.rows))

    def chosen_mesh(self) -> MeshTypeRecord | None:
        """Return the chosen mesh type, if it is one."""
        chosen = self.meshes.chosen()
        return chosen[0].mesh if len(chosen) == 1 else None

    def chosen_roll(self) -> RollRecord | None:
        """Return the chosen roll, if it is one."""
        chosen = self.rolls.chosen()
        return chosen[0].roll if len(chosen) == 1 else None

    # pages

    def _go(self, page: ShelfPage) -> None:
        self._views.setCurrentWidget(page)
        page.take_focus()

    def _back(self) -> None:
        self._views.setCurrentIndex(0)
        (self.rolls if self.rolls.rows else self.meshes).setFocus()

    def _open_roll(self) -> None:
        if (roll := self.chosen_roll()) is not None:
            self.roll_page.show_roll(roll.code)
            self._go(self.roll_page)

    def _go_to_glue(self) -> None:
        self.glue.refresh()
        self._go(self.glue)

    def _go_to_take(self) -> None:
        if self._shelf is not None:
            self._views.setCurrentWidget(self.take)
            self.take.begin(self._day_here(self._shelf.read_at))

    def show_order(self) -> None:
        """Go to what is to be ordered."""
        if self.order is None:
            from framekeeper.ui.places.order_page import OrderPage

            self.order = OrderPage(self.bench)
            self.order.left.connect(self._back)
            self._views.addWidget(self.order)
        self.order.refresh()
        self._go(self.order)

    def _day_here(self, moment: dt.datetime) -> dt.date:
        return self.bench.formatter.day_of(moment)

    def take_roll(self, roll_id: int) -> bool:
        """Count a scanned roll where a stock-take is on; else open its page."""
        if self._views.currentWidget() is self.take:
            return self.take.take_roll(roll_id)
        if self._shelf is None:
            self._scanned = roll_id
            return True
        roll = next((r for r in self._shelf.rolls if r.id == roll_id), None)
        if roll is None:
            self.bench.refused.emit(
                tr("The shelf has no roll with this label. Receive it first, or scan it again.")
            )
        else:
            self.roll_page.show_roll(roll.code)
            self._go(self.roll_page)
        return True

    # the work

    def _add_mesh(self) -> None:
        self._open_mesh(None)

    def _edit_mesh(self) -> None:
        mesh = self.chosen_mesh()
        if mesh is not None:
            self._open_mesh(mesh)

    def _open_mesh(self, mesh: MeshTypeRecord | None) -> None:
        from framekeeper.ui.dialogs.mesh_type import MeshTypeForm

        MeshTypeForm(self.bench, mesh, self).open()

    def _open_buying(self) -> None:
        from framekeeper.ui.dialogs.buying import BuyingForm

        if (mesh := self.chosen_mesh()) is not None:
            BuyingForm(self.bench, mesh, self).open()

    def _open_receive(self) -> None:
        if self._shelf is not None and self._shelf.mesh_types:
            mesh = self.chosen_mesh()
            names = [m.name for m in self._shelf.mesh_types]
            self._open(ReceiveForm(self.bench, names, mesh.name if mesh else ""))

    def _open_count(self) -> None:
        if (roll := self.chosen_roll()) is not None:
            self._open(CountForm(self.bench, roll))

    def _open_scrap(self) -> None:
        roll = self.chosen_roll()
        if roll is not None and self._shelf is not None:
            serving = self._shelf.servings.get(roll.id)
            is_for_scrap = serving is not None and serving.is_for_scrap
            self._open(ScrapForm(self.bench, roll, is_for_scrap=is_for_scrap))

    def _open_offcut(self) -> None:
        if (roll := self.chosen_roll()) is not None:
            self._open(OffcutForm(self.bench, roll))

    def _open_labels(self) -> None:
        from framekeeper.ui.dialogs.roll_labels import open_roll_labels

        chosen = [row.roll.code for row in self.rolls.chosen()]
        open_roll_labels(self.bench, self, chosen or [r.roll.code for r in self.rolls.rows])

    def _open(self, form: ShelfForm) -> None:
        self.forms.open(form)


def _title_row(title: QLabel, buttons: tuple[QPushButton, ...]) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(2 * STEP)
    title.setMinimumWidth(1)  # a long name must not push the keys out of the window
    row.addWidget(title, 1)
    for button in buttons:
        row.addWidget(button)
    return row


def _column(*widgets: QWidget) -> QWidget:
    """Put widgets one below the other; a table takes the room."""
    box = QWidget()
    column = QVBoxLayout(box)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(STEP)
    for widget in widgets:
        column.addWidget(widget, int(isinstance(widget, WorkTable)))
    return box
