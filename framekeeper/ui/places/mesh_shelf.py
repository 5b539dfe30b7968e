"""The mesh shelf: what the shop stretches with, what is left of it, and how much it uses."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.services.desk import Done
from framekeeper.services.stock import Shelf, shelf
from framekeeper.services.stock_use import Usage
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import roll_length
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.shelf_forms import CountForm, ReceiveForm, ScrapForm, ShelfForm
from framekeeper.ui.places.shelf_tables import (
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
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.work_table import WorkTable


class MeshShelf(Place):
    """Mesh types above; below, the rolls of the chosen one and the mesh that was used."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._shelf: Shelf | None = None
        self._form: ShelfForm | None = None
        theme = bench.theme
        self._add = KeyHintButton(theme, tr("Add a mesh …"), "Ctrl+N")
        self._edit = KeyHintButton(theme, tr("Edit the mesh …"), "Ctrl+E")
        self._receive = KeyHintButton(theme, tr("A roll arrived …"), "F2", is_main=True)
        self._count = KeyHintButton(theme, tr("Count …"), "F3")
        self._scrap = KeyHintButton(theme, tr("Scrap …"), "F4")
        for button, slot in (
            (self._add, self._add_mesh),
            (self._edit, self._edit_mesh),
            (self._receive, self._open_receive),
            (self._count, self._open_count),
            (self._scrap, self._open_scrap),
        ):
            button.clicked.connect(slot)
        self._header = PlaceHeader(
            theme,
            tr("Mesh shelf"),
            tr("Looking at the shelf …"),
            (self._edit, self._add, self._receive),
        )
        meshes: RowsModel[MeshRow] = RowsModel(mesh_columns(bench), mesh_id, self)
        rolls: RowsModel[RollRow] = RowsModel(roll_columns(bench), roll_id, self)
        usage: RowsModel[Usage] = RowsModel(usage_columns(bench), usage_id, self)
        self.meshes = WorkTable(theme, meshes, tr("Mesh types"))
        self.rolls = WorkTable(theme, rolls, tr("Rolls"))
        self.usage = WorkTable(theme, usage, tr("Mesh used"))
        self._rolls_title, self._usage_title, self._total = QLabel(), QLabel(), QLabel()
        self._side, self._pages = QStackedWidget(), QStackedWidget()
        self._lay_out()
        self.meshes.asked.connect(self._edit_mesh)
        self.meshes.chosen_changed.connect(self._show_rolls)
        self.rolls.asked.connect(self._open_count)
        self.rolls.chosen_changed.connect(self._enable)

    def _lay_out(self) -> None:
        used = QWidget()
        right = QVBoxLayout(used)
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(STEP)
        right.addWidget(self._usage_title)
        right.addWidget(self.usage, 1)
        self._total.setProperty("quiet", True)
        right.addWidget(self._total)
        self._side.addWidget(used)
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self._rolls_title, 1)
        keys.addWidget(self._count)
        keys.addWidget(self._scrap)
        left = QVBoxLayout()
        left.setSpacing(STEP)
        left.addLayout(keys)
        left.addWidget(self.rolls, 1)
        foot = QHBoxLayout()
        foot.setSpacing(6 * STEP)
        foot.addLayout(left, 1)
        foot.addWidget(self._side, 1)
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3 * STEP)
        column.addWidget(self.meshes, 1)
        column.addLayout(foot, 1)
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
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)

    # what is shown

    def take_focus(self) -> None:
        if self._form is None:
            self.meshes.setFocus()

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds & {"mesh_types", "rolls", "settings"})

    def refresh(self) -> None:
        self.bench.read(shelf, self._show, owner=self)

    def _show(self, found: Shelf) -> None:
        self._shelf = found
        has_mesh = bool(found.mesh_types)
        self._pages.setCurrentIndex(0 if has_mesh else 1)
        for button in (self._add, self._edit, self._receive):
            button.setVisible(has_mesh)
        self.meshes.show_rows(mesh_rows(found))
        self.usage.show_rows(found.usage)
        self._usage_title.setText(tr("Mesh used"))
        self._total.setText(self._total_words(found))
        self._header.set_purpose(_purpose(found) if has_mesh else "")
        self._show_rolls()

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
            self._rolls_title.setText(
                tr("Rolls of {mesh} ({count})", mesh=mesh.name, count=len(rows))
            )
        self.rolls.show_rows(rows)
        self.rolls.choose_first()
        self._enable()

    def _enable(self) -> None:
        self._edit.setEnabled(self.chosen_mesh() is not None)
        roll = self.chosen_roll()
        self._count.setEnabled(roll is not None)
        self._scrap.setEnabled(roll is not None and roll.on_hand_mm > 0)

    def chosen_mesh(self) -> MeshTypeRecord | None:
        """Return the chosen mesh type, if it is one."""
        chosen = self.meshes.chosen()
        return chosen[0].mesh if len(chosen) == 1 else None

    def chosen_roll(self) -> RollRecord | None:
        """Return the chosen roll, if it is one."""
        chosen = self.rolls.chosen()
        return chosen[0].roll if len(chosen) == 1 else None

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

    def _open_receive(self) -> None:
        if self._shelf is not None and self._shelf.mesh_types:
            mesh = self.chosen_mesh()
            names = [m.name for m in self._shelf.mesh_types]
            self._open(ReceiveForm(self.bench, names, mesh.name if mesh else ""))

    def _open_count(self) -> None:
        if (roll := self.chosen_roll()) is not None:
            self._open(CountForm(self.bench, roll))

    def _open_scrap(self) -> None:
        if (roll := self.chosen_roll()) is not None:
            self._open(ScrapForm(self.bench, roll))

    def _open(self, form: ShelfForm) -> None:
        self._close_form()
        self._form = form
        form.confirmed.connect(self._confirm)
        form.left.connect(self._leave)
        self._side.addWidget(form)
        self._side.setCurrentWidget(form)
        form.begin()

    def _confirm(self) -> None:
        if self._form is None:
            return
        try:
            order = self._form.order()
        except NotValid as error:
            self._refused(error)
            return
        self._form.wait()
        self.bench.change(order, self._recorded, owner=self, fail=self._refused)

    def _refused(self, error: FramekeeperError) -> None:
        if self._form is not None:
            self._form.refuse(error, self.bench.formatter)
        else:
            self.bench.show_trouble(error)

    def _recorded(self, _done: Done) -> None:
        self._leave()

    def _leave(self) -> None:
        self._close_form()
        self.rolls.setFocus()

    def _close_form(self) -> None:
        if self._form is not None:
            self._side.removeWidget(self._form)
            self._form.deleteLater()
            self._form = None


def _purpose(found: Shelf) -> str:
    open_ones = sum(mesh.to_be_completed for mesh in found.mesh_types)
    full = sum(roll.on_hand_mm > 0 for roll in found.rolls)
    words = [
        tr_count("{n} mesh type", "{n} mesh types", len(found.mesh_types)),
        tr_count("{n} roll with mesh on it", "{n} rolls with mesh on them", full),
    ]
    if open_ones:
        words.append(tr_count("{n} to be completed", "{n} to be completed", open_ones))
    return ", ".join(words)
