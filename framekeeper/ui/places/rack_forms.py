"""Opens the forms of the Rack: what an action asks for, new frames, and the shop's own set-up."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtWidgets import QMenu, QWidget

from framekeeper.domain.records import MeshTypeRecord, MeterRecord
from framekeeper.services.settings import ShopSettings
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.places.rack_actions import RackAction
from framekeeper.ui.places.rack_list import RackNow, RackRow, usual_sizes
from framekeeper.ui.text import tr, tr_count

_NAMED = 6  # frames that are listed by name in the head of a form


class RackForms:
    """Builds each form when it is asked for, so that none is imported before."""

    def __init__(self, bench: Bench, parent: QWidget) -> None:
        self._bench, self._parent = bench, parent
        self._menu: QMenu | None = None

    def ask(self, action: RackAction, rows: Sequence[RackRow], now: RackNow) -> None:
        """Open the form of an action for these frames."""
        codes = [row.frame.code for row in rows]
        if action.key == "labels":
            from framekeeper.ui.dialogs.labels import open_labels

            open_labels(self._bench, self._parent, codes)
        elif action.key == "again":
            from framekeeper.ui.printing import save_labels

            save_labels(self._bench, self._parent, codes)
        else:
            self._form(action, rows, codes, now).open()

    def _form(
        self, action: RackAction, rows: Sequence[RackRow], codes: list[str], now: RackNow
    ) -> FormDialog:
        bench, parent, subject = self._bench, self._parent, named(rows)
        if action.key == "damage":
            from framekeeper.ui.dialogs.damage import DamageForm

            has_mesh = any(row.state.life is not None for row in rows)
            return DamageForm(bench, codes, subject, has_mesh=has_mesh, parent=parent)
        if action.key == "receive":
            from framekeeper.ui.dialogs.receive import ReceiveForm

            return ReceiveForm(bench, codes, subject, [m.name for m in now.mesh_types], parent)
        if action.key == "edit":
            from framekeeper.ui.dialogs.edit_frame import EditFrameForm

            return EditFrameForm(bench, rows[0].frame, parent)
        from framekeeper.ui.dialogs.reason import ReasonForm

        question, asked = action.question, action.asked
        assert question is not None
        assert asked is not None
        return ReasonForm(
            bench,
            question,
            subject,
            lambda desk, text, day: asked(desk, codes, text, day),
            parent,
        )

    def register(self, now: RackNow) -> None:
        """Open the form for new frames."""
        from framekeeper.ui.dialogs.register_frames import KnownToTheShop, RegisterFramesForm

        known = KnownToTheShop([m.name for m in now.mesh_types], usual_sizes(now.rows))
        RegisterFramesForm(self._bench, known, self._parent).open()

    def import_file(self) -> None:
        """Open the import."""
        from framekeeper.ui.dialogs.import_file import ImportDialog

        ImportDialog(self._bench, self._parent).open()

    def set_up_menu(self, now: RackNow) -> QMenu:
        """Build the menu of what a shop sets up once: settings, mesh types and meters."""
        if self._menu is not None:
            self._menu.deleteLater()
        menu = self._menu = QMenu(self._parent)
        menu.addAction(tr("&Settings …"), partial(self._settings, now.settings))
        menu.addAction(tr("&Days and minutes …"), partial(self._working_days, now.settings))
        menu.addSeparator()
        menu.addAction(tr("Add a &mesh type …"), partial(self._mesh_type, None))
        meshes = menu.addMenu(tr("&Change a mesh type"))
        for mesh in now.mesh_types:
            name = tr("{name} (to be completed)", name=mesh.name)
            text = name if mesh.to_be_completed else mesh.name
            meshes.addAction(text.replace("&", "&&"), partial(self._mesh_type, mesh))
        meshes.setEnabled(bool(now.mesh_types))
        menu.addSeparator()
        menu.addAction(tr("&Add a meter …"), partial(self._meter, None))
        meters = menu.addMenu(tr("Change a m&eter"))
        for meter in now.meters:
            meters.addAction(meter.name.replace("&", "&&"), partial(self._meter, meter))
        meters.setEnabled(bool(now.meters))
        return menu

    def _settings(self, current: ShopSettings) -> None:
        from framekeeper.ui.dialogs.shop_settings import ShopSettingsForm

        ShopSettingsForm(self._bench, current, self._parent).open()

    def _working_days(self, current: ShopSettings) -> None:
        from framekeeper.ui.dialogs.working_days import WorkingDaysForm

        WorkingDaysForm(self._bench, current, self._parent).open()

    def _mesh_type(self, mesh: MeshTypeRecord | None) -> None:
        from framekeeper.ui.dialogs.mesh_type import MeshTypeForm

        MeshTypeForm(self._bench, mesh, self._parent).open()

    def _meter(self, meter: MeterRecord | None) -> None:
        from framekeeper.ui.dialogs.meter import MeterForm

        MeterForm(self._bench, meter, self._parent).open()


def named(rows: Sequence[RackRow]) -> str:
    """Name the frames that a form is about."""
    names = ", ".join(row.frame.name for row in rows[:_NAMED])
    if len(rows) <= _NAMED:
        return names
    return tr_count(
        "{names} and {n} more frame", "{names} and {n} more frames", len(rows) - _NAMED, names=names
    )
