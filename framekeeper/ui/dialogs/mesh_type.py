"""Adds a mesh type or completes one: the name as bought fills the rest, and proposes a target."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QPushButton, QWidget

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.mesh import CM_PER_INCH, Mesh, suggest_target, target_warning
from framekeeper.domain.records import MeshTypeRecord
from framekeeper.services import meshes
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meshes import MeshTypeFacts
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import (
    choices,
    number_field,
    number_in,
    optional_number_in,
    optional_whole_in,
    shown_number,
    side_by_side,
)
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import Formatter, tr


class MeshTypeForm(FormDialog):
    """What a cloth is, and the shop's thresholds for it."""

    def __init__(
        self, bench: Bench, mesh: MeshTypeRecord | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            bench,
            tr("Change a mesh type") if mesh else tr("Add a mesh type"),
            tr("Save") if mesh else tr("Add"),
            parent=parent,
            wide=50,
        )
        self._mesh = mesh
        self._read: MeshTypeFacts | None = None
        formatter = bench.formatter
        rules = mesh.rules if mesh else MeshRules()
        self.name = QLineEdit(mesh.name if mesh else "")
        self.name.setPlaceholderText(tr("as bought, such as 230 yellow or 90-48"))
        self.count = number_field(mesh.count_as_bought if mesh else None, formatter)
        self.unit = choices(
            {"inch": tr("per inch"), "cm": tr("per cm")},
            mesh.count_unit if mesh else formatter.count_unit,
        )
        self.thread_width = number_field(mesh.thread_um if mesh else None, formatter)
        self.colour = choices(
            {"not_told": tr("not told"), "white": tr("white"), "dyed": tr("dyed")},
            mesh.colour if mesh else "not_told",
        )
        self.geometry_words = self.note("")
        self.target = number_field(rules.target, formatter)
        self.take = QPushButton(tr("Ta&ke it"))
        self.take.setAutoDefault(False)
        self.take.clicked.connect(self._take_suggestion)
        self.suggestion = self.note("")
        self._suggested: float | None = None
        self.limit = number_field(rules.limit, formatter)
        self.tolerance = number_field(rules.tolerance, formatter)
        self.spread = number_field(rules.spread_limit, formatter)
        self.balance = number_field(rules.balance_limit, formatter)
        self.days = number_field(rules.days_between_readings, formatter)
        self.reclaims = number_field(rules.inspect_after_reclaims, formatter)
        self._lay_out()
        self.name.textEdited.connect(self._read_name)
        for field in (self.count, self.thread_width, self.target):
            field.textChanged.connect(self._show_geometry)
        self.unit.currentIndexChanged.connect(self._show_geometry)
        self._show_geometry()
        self.name.setFocus()

    def _lay_out(self) -> None:
        self.add_field("name", tr("&Name as bought"), self.name)
        self.add_field("threads_per_cm", tr("&Count"), side_by_side(self.count, self.unit))
        self._fields["threads_per_cm"] = self.count
        self.count.setAccessibleName(tr("Count"))
        self.unit.setAccessibleName(tr("Unit of the count"))
        self.add_field("thread_um", tr("T&hread, µm"), self.thread_width)
        self.add_field("colour", tr("C&olour"), self.colour)
        self.form.addRow("", self.geometry_words)
        self.add_field("target", tr("&Target, N/cm"), side_by_side(self.target, self.take))
        self._fields["target"] = self.target
        self.target.setAccessibleName(tr("Target, N/cm"))
        self.form.addRow("", self.suggestion)
        self.add_field("limit", tr("&Limit, N/cm: below it, pull"), self.limit)
        self.add_field("tolerance", tr("Target may &miss by, N/cm"), self.tolerance)
        self.add_field("spread_limit", tr("Largest &spread, N/cm"), self.spread)
        self.add_field("balance_limit", tr("Warp and &weft may differ by, N/cm"), self.balance)
        self.add_field("days_between_readings", tr("&Days between readings"), self.days)
        self.add_field("inspect_after_reclaims", tr("Inspect after &reclaims"), self.reclaims)
        for field in (self.limit, self.spread, self.balance, self.days, self.reclaims):
            field.setPlaceholderText(tr("empty: no such rule"))

    # what the name and the numbers tell

    def _read_name(self, text: str) -> None:
        try:
            self._read = meshes.facts_from_text(text)
        except FramekeeperError:
            self._read = None
            return
        read, formatter = self._read, self.bench.formatter
        self.unit.setCurrentIndex(self.unit.findData(read.count_unit))
        for field, value in (
            (self.count, read.count_as_bought),
            (self.thread_width, read.thread_um),
        ):
            field.setText("" if value is None else shown_number(value, formatter))
        self.colour.setCurrentIndex(self.colour.findData(read.colour))

    def _threads_per_cm(self) -> float | None:
        count = optional_number_in(self.count, "threads_per_cm", self.bench.formatter)
        if count is None:
            return None
        return count / CM_PER_INCH if self.unit.currentData() == "inch" else count

    def _show_geometry(self) -> None:
        self._suggested = None
        try:
            per_cm = self._threads_per_cm()
            thread = optional_number_in(self.thread_width, "thread_um", self.bench.formatter)
            mesh = Mesh(per_cm, thread) if per_cm is not None and thread is not None else None
            target = optional_number_in(self.target, "target", self.bench.formatter)
        except FramekeeperError as refused:
            self.geometry_words.setText(self.bench.formatter.sentence(refused.said))
            mesh, target = None, None
        else:
            self.geometry_words.setText(_geometry(mesh, self.bench.formatter))
        self._show_suggestion(mesh, target)

    def _show_suggestion(self, mesh: Mesh | None, target: float | None) -> None:
        formatter = self.bench.formatter
        lines = []
        if mesh is not None:
            found = suggest_target(mesh)
            self._suggested = found.tension
            if found.tension is not None:
                lines.append(
                    tr(
                        "Suggested: {tension}. {reason}",
                        tension=formatter.tension(found.tension),
                        reason=formatter.sentence(found.reason),
                    )
                )
            if found.warning is not None:
                lines.append(formatter.sentence(found.warning))
            if target is not None and (warning := target_warning(mesh, target)) is not None:
                lines.append(formatter.sentence(warning))
        self.suggestion.setText("\n".join(lines) or tr("A suggestion needs count and thread."))
        self.take.setEnabled(self._suggested is not None)
        self.make_room()

    def _take_suggestion(self) -> None:
        if self._suggested is not None:
            self.target.setText(self.bench.formatter.number(round(self._suggested, 1), 1))
            self.limit.setFocus()

    # the work

    def order(self) -> Callable[[Desk], Done]:
        formatter = self.bench.formatter
        facts = MeshTypeFacts(
            name=self.name.text().strip(),
            count_as_bought=optional_number_in(self.count, "threads_per_cm", formatter),
            count_unit=self.unit.currentData(),
            threads_per_cm=self._threads_per_cm(),
            thread_um=optional_number_in(self.thread_width, "thread_um", formatter),
            colour=self.colour.currentData(),
            rules=MeshRules(
                target=optional_number_in(self.target, "target", formatter),
                tolerance=number_in(self.tolerance, "tolerance", formatter),
                limit=optional_number_in(self.limit, "limit", formatter),
                spread_limit=optional_number_in(self.spread, "spread_limit", formatter),
                balance_limit=optional_number_in(self.balance, "balance_limit", formatter),
                days_between_readings=optional_whole_in(
                    self.days, "days_between_readings", formatter
                ),
                inspect_after_reclaims=optional_whole_in(
                    self.reclaims, "inspect_after_reclaims", formatter
                ),
            ),
        )
        mesh = self._mesh
        if mesh is None:
            return lambda desk: meshes.add_mesh_type(desk, facts)
        return lambda desk: meshes.edit_mesh_type(desk, mesh.name, facts, version=mesh.version)


def _geometry(mesh: Mesh | None, formatter: Formatter) -> str:
    if mesh is None:
        return tr("Count and thread give opening, open area and ink volume.")
    opening = formatter.number(mesh.opening_um, 0)
    return tr(
        "Opening {opening} µm, open area {area} %, ink volume {volume} cm³/m², "
        "thread {section} mm² per cm.",
        opening=tr("at most {opening}", opening=opening) if mesh.is_upper_bound else opening,
        area=formatter.number(100 * mesh.open_area, 0),
        volume=formatter.number(mesh.ink_volume_cm3_m2, 0),
        section=formatter.number(mesh.cross_section_mm2_per_cm, 3),
    )
