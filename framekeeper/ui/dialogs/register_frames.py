"""Takes one frame or many into the register, bare or with the mesh that is on them already."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QLineEdit, QSpinBox, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.domain.sizes import USUAL_FRAME_MM
from framekeeper.domain.trade_words import FRAME_KIND_WORDS
from framekeeper.services import register
from framekeeper.services.desk import Desk, Done
from framekeeper.services.register import FoundMesh, NewFrame
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import (
    MOST_AT_ONCE,
    OptionalDate,
    choices,
    numbered,
    optional_whole_in,
    today_here,
)
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.size_field import SizeField
from framekeeper.ui.text import tr, tr_count


@dataclass(frozen=True, slots=True)
class KnownToTheShop:
    """What the form offers to choose from."""

    mesh_names: Sequence[str] = ()
    sizes_mm: Sequence[tuple[float, float]] = ()  # the usual one first


class RegisterFramesForm(FormDialog):
    """Size, kind, labels that count up, slots, and the mesh that is on the frames."""

    def __init__(self, bench: Bench, known: KnownToTheShop, parent: QWidget | None = None) -> None:
        super().__init__(
            bench,
            tr("Register frames"),
            tr("Register"),
            purpose=tr("Every frame gets a code of its own; its own label may stay as it is."),
            parent=parent,
            wide=44,
        )
        words = {key: bench.formatter.sentence(said) for key, said in FRAME_KIND_WORDS.items()}
        self.count = QSpinBox()
        self.count.setRange(1, MOST_AT_ONCE)
        self.outer_size = SizeField(bench.formatter, known_mm=known.sizes_mm or (USUAL_FRAME_MM,))
        self.kind = choices(words, "glued")
        self.own_label = QLineEdit()
        self.own_label.setPlaceholderText(tr("such as A-01; several count up from it"))
        self.labels_shown = self.note("")
        self.profile = QLineEdit()
        self.slot = QLineEdit()
        self.slots_count = QCheckBox(tr("Slots co&unt up too"))
        self._add_frame_fields()
        self.has_mesh = QCheckBox(tr("&Mesh is on it already"))
        self.mesh = QComboBox()
        self.mesh.addItems(list(known.mesh_names))
        self.reclaims = QLineEdit()
        self.reclaims.setPlaceholderText(tr("not known"))
        self.since = OptionalDate(tr("k&nown"), today_here())
        self._add_mesh_fields(has_meshes=bool(known.mesh_names))
        for changed in (self.own_label.textChanged, self.count.valueChanged):
            changed.connect(self._show_labels)
        self._show_labels()
        self._show_mesh_fields()
        self.count.setFocus()

    def _add_frame_fields(self) -> None:
        self.add_field("count", tr("How m&any"), self.count)
        self.add_field("size", self.outer_size.label(), self.outer_size)
        self.add_field("kind", tr("&Kind"), self.kind)
        self.add_field("own_label", tr("Own &label"), self.own_label)
        self.form.addRow("", self.labels_shown)
        self.add_field("profile", tr("&Profile of the bars"), self.profile)
        self.add_field("slot", tr("&Slot on the rack"), self.slot)
        self.form.addRow("", self.slots_count)

    def _add_mesh_fields(self, *, has_meshes: bool) -> None:
        self.form.addRow("", self.has_mesh)
        self.has_mesh.setEnabled(has_meshes)
        self.no_mesh: QLabel | None = None
        if not has_meshes:
            self.no_mesh = self.note(tr("Add a mesh type first, then it can be chosen here."))
            self.form.addRow("", self.no_mesh)
        self.add_field("mesh", tr("M&esh"), self.mesh)
        self.add_field("reclaims_so_far", tr("&Reclaims so far"), self.reclaims)
        self.add_field("mesh_since", tr("S&tretched on"), self.since)
        self.has_mesh.toggled.connect(self._show_mesh_fields)

    def _show_mesh_fields(self) -> None:
        for field in (self.mesh, self.reclaims, self.since):
            self.form.setRowVisible(field, self.has_mesh.isChecked())
        self.make_room()

    def _show_labels(self) -> None:
        count = self.count.value()
        self.form.setRowVisible(self.slots_count, count > 1)
        try:
            labels = numbered(self.own_label.text(), count)
        except NotValid as refused:
            self.labels_shown.setText(self.bench.formatter.sentence(refused.hint))
            return
        if not labels[0]:
            text = tr_count("{n} frame without a label", "{n} frames without a label", count)
        elif count == 1:
            text = tr("1 frame: {label}", label=labels[0])
        else:
            text = tr("{n} frames: {first} … {last}", n=count, first=labels[0], last=labels[-1])
        self.labels_shown.setText(text)

    def order(self) -> Callable[[Desk], Done]:
        count = self.count.value()
        width, height = self.outer_size.size_mm()
        labels = numbered(self.own_label.text(), count)
        slots = (self.slot.text().strip(),) * count
        if count > 1 and self.slots_count.isChecked():
            slots = _numbered_slots(self.slot.text(), count)
        frames = [
            NewFrame(
                width_mm=width,
                height_mm=height,
                kind=self.kind.currentData(),
                own_label=label,
                profile=self.profile.text(),
                slot=slot,
            )
            for label, slot in zip(labels, slots, strict=True)
        ]
        if not self.has_mesh.isChecked():
            return lambda desk: register.register(desk, frames)
        mesh, since = self.mesh.currentText(), self.since.day()
        reclaims = optional_whole_in(self.reclaims, "reclaims_so_far", self.bench.formatter)
        return lambda desk: register.register(
            desk, frames, found=FoundMesh(mesh, reclaims, _moment_of(since, desk))
        )


def _numbered_slots(first: str, count: int) -> tuple[str, ...]:
    try:
        return numbered(first, count)
    except NotValid as refused:
        raise NotValid(
            refused.said,
            hint=say("Write the first slot with its number, such as R1-01."),
            argument="slot",
        ) from refused


def _moment_of(day: dt.date | None, desk: Desk) -> dt.datetime | None:
    """Noon of the day at this shop; nobody knows the hour, and it must not lie ahead."""
    if day is None:
        return None
    noon = dt.datetime.combine(day, dt.time(12), desk.clock.zone())
    now = desk.clock.now()
    return min(noon, now) if day <= desk.today() else noon
