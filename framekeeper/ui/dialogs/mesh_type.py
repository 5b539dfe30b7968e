"""Adds a mesh type or completes one: a grade of the book or the name as bought fills the rest."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QLineEdit, QPushButton, QWidget

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.mesh import (
    CM_PER_INCH,
    THICKNESS_PER_DIAMETER,
    Mesh,
    suggest_target,
    target_warning,
)
from framekeeper.domain.records import MeshTypeRecord
from framekeeper.services import mesh_book, meshes
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
from framekeeper.ui.dialogs.grade_field import GradeField, grade_words
from framekeeper.ui.dialogs.reading_rules import EffectLines, ReadingFields
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP


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
            wide=82,
        )
        self._mesh = mesh
        self.grade = GradeField(bench.formatter)
        self.grade.chosen.connect(self._fill_from_book)
        self.grade_words = self.note("")
        self.grade_words.hide()
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
        self.weave = QLineEdit(mesh.weave if mesh else "1:1")
        self.opening = number_field(mesh.opening_um if mesh else None, formatter)
        self.thickness = number_field(mesh.thickness_um if mesh else None, formatter)
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
        self.reading = ReadingFields(rules, formatter)
        self.reclaims = number_field(rules.inspect_after_reclaims, formatter)
        self.effect = EffectLines(bench, mesh.name, self._rules) if mesh else None
        self._lay_out()
        self.name.textEdited.connect(self._read_name)
        for field in (
            self.count, self.thread_width, self.weave, self.opening, self.thickness, self.target,
        ):  # fmt: skip
            field.textChanged.connect(self._show_geometry)
        self.unit.currentIndexChanged.connect(self._show_geometry)
        for field in (self.target, self.limit, *(row[2] for row in self.reading.rows())):
            field.textChanged.connect(self._look_again)
        self._show_geometry()
        self.name.setFocus()

    def open(self) -> None:
        """Show the form no higher than its words need: Qt takes them to be in a narrower one."""
        super().open()
        self.resize(self.width(), self.column.totalHeightForWidth(self.width()))

    def _lay_out(self) -> None:
        self.add_field("grade", tr("From the &book"), self.grade)
        self.form.addRow("", self.grade_words)
        cloth, rules = self.two_columns()
        self._add_cloth(cloth)
        self._add_rules(rules)
        self.geometry_words.setMinimumHeight(2 * self.bench.theme.px("body"))
        self.add_aside(self.geometry_words)
        self.add_aside(self.suggestion)
        self._add_reading()

    def _add_reading(self) -> None:
        """When a screen is read, which threshold counts when, and what they do."""
        which = self.note(
            tr(
                "When a screen is read again: before the risk is used up, as the forecast sees "
                "it, and after the longest wait at the latest. The fixed interval counts only "
                "where nothing is foretold: without a limit or a reading, or with the risk left "
                "empty."
            )
        )
        which.setMinimumHeight(2 * self.bench.theme.px("body"))
        self.add_aside(which)
        sides = QWidget()
        row = QHBoxLayout(sides)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8 * STEP)
        fields = self._rows()
        for argument, label, field in self.reading.rows():
            self.add_field(argument, label, field, form=fields)
        row.addLayout(fields, 2)
        if self.effect is not None:
            self.effect.told.connect(self.make_room)
            row.addWidget(self.effect, 3)
        else:
            words = tr("What that does is shown here once screens carry this mesh.")
            row.addWidget(self.note(words), 3, Qt.AlignmentFlag.AlignTop)
        self.add_aside(sides)

    def _look_again(self) -> None:
        if self.effect is not None:
            self.effect.look_again()

    def _add_cloth(self, form: QFormLayout) -> None:
        self.add_field("name", tr("&Name as bought"), self.name, form=form)
        count = side_by_side(self.count, self.unit)
        self.add_field("threads_per_cm", tr("&Count"), count, form=form)
        self._fields["threads_per_cm"] = self.count
        self.count.setAccessibleName(tr("Count"))
        self.unit.setAccessibleName(tr("Unit of the count"))
        self.add_field("thread_um", tr("T&hread, µm"), self.thread_width, form=form)
        self.add_field("weave", tr("Wea&ve"), self.weave, form=form)
        self.add_field("colour", tr("C&olour"), self.colour, form=form)
        sheet = side_by_side(self.opening, self.thickness)
        self.add_field("opening_um", tr("Data sheet: o&pening, thickness, µm"), sheet, form=form)
        self._fields |= {"opening_um": self.opening, "thickness_um": self.thickness}
        self.opening.setAccessibleName(tr("Data sheet: opening, µm"))
        self.thickness.setAccessibleName(tr("Data sheet: thickness, µm"))

    def _add_rules(self, form: QFormLayout) -> None:
        target = side_by_side(self.target, self.take)
        self.add_field("target", tr("&Target, N/cm"), target, form=form)
        self._fields["target"] = self.target
        self.target.setAccessibleName(tr("Target, N/cm"))
        for argument, label, field in (
            ("limit", tr("&Limit, N/cm: below it, pull"), self.limit),
            ("tolerance", tr("Target may &miss by, N/cm"), self.tolerance),
            ("spread_limit", tr("Largest &spread, N/cm"), self.spread),
            ("balance_limit", tr("Warp and &weft may differ by, N/cm"), self.balance),
            ("inspect_after_reclaims", tr("Inspect after &reclaims"), self.reclaims),
        ):
            self.add_field(argument, label, field, form=form)
        for field in (self.limit, self.spread, self.balance, self.reclaims):
            field.setPlaceholderText(tr("empty: no such rule"))

    # what the book, the name and the numbers tell

    def _fill_from_book(self, grade: mesh_book.Grade) -> None:
        """Fill in what the cloth is; the name stays where one was typed already."""
        facts = mesh_book.facts_of_grade(grade, self.name.text())
        formatter = self.bench.formatter
        self.name.setText(facts.name)
        self.unit.setCurrentIndex(self.unit.findData(facts.count_unit))
        for field, value in (
            (self.count, facts.count_as_bought),
            (self.thread_width, facts.thread_um),
            (self.opening, facts.opening_um),
            (self.thickness, facts.thickness_um),
        ):
            field.setText("" if value is None else shown_number(value, formatter))
        self.weave.setText(facts.weave)
        self.colour.setCurrentIndex(self.colour.findData(facts.colour))
        self.grade_words.setText(grade_words(grade, formatter))
        self.grade_words.show()
        self._show_geometry()
        self.name.setFocus()
        self.name.selectAll()

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
            mesh = self._cloth(per_cm, thread)
            target = optional_number_in(self.target, "target", self.bench.formatter)
        except FramekeeperError as refused:
            self.geometry_words.setText(self.bench.formatter.sentence(refused.said))
            mesh, target = None, None
        else:
            self.geometry_words.setText(_geometry(mesh, self.bench.formatter))
            self._show_estimates(per_cm, thread)
        self._show_suggestion(mesh, target)

    def _cloth(self, per_cm: float | None, thread: float | None) -> Mesh | None:
        if per_cm is None or thread is None:
            return None
        return Mesh(
            per_cm,
            thread,
            weave=self.weave.text().strip(),
            opening_um=optional_number_in(self.opening, "opening_um", self.bench.formatter),
            thickness_um=optional_number_in(self.thickness, "thickness_um", self.bench.formatter),
        )

    def _show_estimates(self, per_cm: float | None, thread: float | None) -> None:
        """Say in the empty fields of the data sheet what the rules estimate."""
        number = self.bench.formatter.number
        opening = thickness = tr("not known")
        if per_cm is not None and thread is not None:
            by_rule = Mesh(per_cm, thread, weave=self.weave.text().strip())
            opening = tr("{value}, estimated", value=number(by_rule.opening_um, 0))
            thickness = tr("{value}, estimated", value=number(by_rule.thickness_um, 0))
        self.opening.setPlaceholderText(opening)
        self.thickness.setPlaceholderText(thickness)

    def _show_suggestion(self, mesh: Mesh | None, target: float | None) -> None:
        formatter = self.bench.formatter
        lines = []
        if mesh is not None:
            found = suggest_target(mesh)
            self._suggested = found.tension
            if found.tension is not None and found.low is not None and found.high is not None:
                lines.append(
                    tr(
                        "Suggested: {tension} ({low} to {high}). {reason}",
                        tension=formatter.tension(found.tension),
                        low=formatter.number(found.low),
                        high=formatter.number(found.high),
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

    def _rules(self) -> MeshRules:
        """The thresholds as they are typed."""
        formatter = self.bench.formatter
        return MeshRules(
            target=optional_number_in(self.target, "target", formatter),
            tolerance=number_in(self.tolerance, "tolerance", formatter),
            limit=optional_number_in(self.limit, "limit", formatter),
            spread_limit=optional_number_in(self.spread, "spread_limit", formatter),
            balance_limit=optional_number_in(self.balance, "balance_limit", formatter),
            days_between_readings=self.reading.days_typed(),
            risk=self.reading.risk_typed(),
            longest_wait_days=self.reading.longest_typed(),
            inspect_after_reclaims=optional_whole_in(
                self.reclaims, "inspect_after_reclaims", formatter
            ),
        )

    def order(self) -> Callable[[Desk], Done]:
        formatter = self.bench.formatter
        facts = MeshTypeFacts(
            name=self.name.text().strip(),
            count_as_bought=optional_number_in(self.count, "threads_per_cm", formatter),
            count_unit=self.unit.currentData(),
            threads_per_cm=self._threads_per_cm(),
            thread_um=optional_number_in(self.thread_width, "thread_um", formatter),
            colour=self.colour.currentData(),
            weave=self.weave.text().strip(),
            opening_um=optional_number_in(self.opening, "opening_um", formatter),
            thickness_um=optional_number_in(self.thickness, "thickness_um", formatter),
            rules=self._rules(),
        )
        mesh = self._mesh
        if mesh is None:
            return lambda desk: meshes.add_mesh_type(desk, facts)
        return lambda desk: meshes.edit_mesh_type(desk, mesh.name, facts, version=mesh.version)


def _geometry(mesh: Mesh | None, formatter: Formatter) -> str:
    if mesh is None:
        return tr("Count and thread give opening, open area and ink volume.")
    opening = formatter.number(mesh.opening_um, 0)
    said = tr(
        "Opening {opening} µm, open area {area} %, ink volume {volume} cm³/m², "
        "thread {section} mm² per cm.",
        opening=tr("at most {opening}", opening=opening) if mesh.is_upper_bound else opening,
        area=formatter.number(100 * mesh.open_area, 0),
        volume=formatter.number(mesh.ink_volume_cm3_m2, 0),
        section=formatter.number(mesh.cross_section_mm2_per_cm, 3),
    )
    return " ".join([said, *_estimates(mesh, formatter)])


def _estimates(mesh: Mesh, formatter: Formatter) -> list[str]:
    """Say which numbers a rule gave, and which rule."""
    said = []
    if mesh.is_upper_bound:
        said.append(
            tr("The opening is estimated: pitch less thread, and threads so fine or twilled lie "
               "flatter.")
        )  # fmt: skip
    elif mesh.opening_is_estimate:
        said.append(tr("The opening is estimated: pitch less thread."))
    if mesh.thickness_is_estimate:
        said.append(
            tr("The thickness is estimated: {factor} times the thread.",
               factor=formatter.number(THICKNESS_PER_DIAMETER, 2))
        )  # fmt: skip
    return said
