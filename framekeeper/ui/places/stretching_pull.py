"""Before the clamps: mesh, roll, target and pieces for the chosen frames, and the load to come."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import say
from framekeeper.services import stretch
from framekeeper.services.bench_queues import TableNow
from framekeeper.services.desk import Done
from framekeeper.services.record import When
from framekeeper.services.stretch import StretchRequest
from framekeeper.services.stretch_plan import PullPlan, fitting_roll, kilograms, plan_pull
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.lengths import bare_length, length_unit_word, read_length_mm, roll_length
from framekeeper.ui.places.stretching_lists import Chosen
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import CautionStrip
from framekeeper.ui.widgets.short_form import ShortForm, choice


class PullPanel(QWidget):
    """The work on frames that wait for mesh.

    Signals
    -------
    stretched(codes)
        The frames are in the clamps.
    """

    stretched = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._table: TableNow | None = None
        self._chosen = Chosen("waiting", ())
        self._plan: PullPlan | None = None
        self._is_filling = False
        self.form = ShortForm(bench.theme, "", tr("Put into the clamps"), can_leave=False)
        self._add_fields()
        self._caution = CautionStrip(bench.theme, caution("pull"))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self.form)
        column.addWidget(self._caution)
        column.addStretch(1)
        self.form.confirmed.connect(self._confirm)

    def _add_fields(self) -> None:
        form = self.form
        self._mesh: QComboBox = form.add_field("mesh", tr("&Mesh"), choice({}))
        self._roll: QComboBox = form.add_field("roll", tr("&Roll"), choice({}))
        self._target = form.add_field("target", tr("&Target"), QLineEdit(), unit=tr("N/cm"))
        self._mesh.setPlaceholderText(tr("Choose the mesh"))
        self._reason, self._load = QLabel(), QLabel()
        self._reason.setProperty("quiet", True)
        form.add_note(self._reason)
        self._length = form.add_field(
            "cut_length_mm", tr("Piece, &along the roll"), QLineEdit(), unit=tr("mm")
        )
        self._width = form.add_field(
            "cut_width_mm", tr("a&cross"), QLineEdit(), unit=tr("mm"), beside="cut_length_mm"
        )
        self._width.setAccessibleName(tr("Piece, across the roll"))
        self._pieces = QLabel()
        self._pieces.setProperty("quiet", True)
        form.add_note(self._pieces)
        self._warp: QComboBox = form.add_field(
            "warp_along",
            tr("&Warp runs along"),
            choice(
                {"": tr("not told"), "long": tr("the long side"), "short": tr("the short side")}
            ),
        )
        self._one_pull = QCheckBox(tr("&One pull for all"))
        self._one_pull.setToolTip(
            tr("All the chosen frames share one piece of mesh in the clamps.")
        )
        form.add_beside("warp_along", self._one_pull)
        self._note = form.add_field("note", tr("&Note"), QLineEdit())
        self._note.setPlaceholderText(tr("such as clamps on each side"))
        form.add_note(self._load)
        self._mesh.currentIndexChanged.connect(self._mesh_changed)
        self._target.textEdited.connect(self._plan_again)

    # what is shown

    def show_chosen(self, table: TableNow, chosen: Chosen) -> None:
        """Show the work on these frames; what was typed stays while no frame leaves the choice."""
        is_same = chosen.codes == self._chosen.codes and self._table is not None
        goes_on = is_same or self._chosen.is_joined_by(chosen)
        self._table, self._chosen = table, chosen
        self.form.set_title(_title(chosen))
        for argument in ("cut_length_mm", "cut_width_mm"):
            self.form.set_unit(argument, length_unit_word(self._bench.formatter))
        self._fill_meshes(table, chosen, keep=goes_on)
        self._one_pull.setVisible(len(chosen.rows) > 1)
        self.form.setEnabled(bool(chosen.rows))
        if is_same:
            self._plan_again()
        elif goes_on:
            self._fill_in(keep_typed=True)
        else:
            self._one_pull.setChecked(False)
            self._note.clear()
            self.form.clear_error()
            self._mesh_changed()

    def begin(self) -> None:
        """Put the focus into the first field."""
        self.form.begin()

    def _fill_meshes(self, table: TableNow, chosen: Chosen, *, keep: bool) -> None:
        worn = next((row.mesh.name for row in chosen.rows if row.mesh), "")
        wanted = (self._mesh.currentData() if keep or not worn else worn) or worn
        self._is_filling = True
        self._mesh.clear()
        for mesh in table.mesh_types:
            self._mesh.addItem(mesh.name, mesh.name)
        only = 0 if len(table.mesh_types) == 1 else -1
        place = self._mesh.findData(wanted) if wanted else only
        self._mesh.setCurrentIndex(max(place, only))
        self._is_filling = False

    def _mesh_changed(self) -> None:
        """Another mesh has another target, and other rolls."""
        if not self._is_filling and self._table is not None:
            self._fill_in(keep_typed=False)

    def _fill_in(self, *, keep_typed: bool) -> None:
        """Propose target, roll and piece; a target or piece that was typed may stay."""
        mesh = self._mesh_type()
        if mesh is None:
            self._clear_plan()
            return
        if keep_typed and self._target.isModified():
            plan = self._planned(mesh, self._half_typed_target())
        else:
            plan = self._planned(mesh, None)
            target = plan.target_n_per_cm
            self._target.setText("" if target is None else self._bench.formatter.number(target))
        self._fill_rolls(mesh, plan, keep_chosen=keep_typed)
        self._fill_piece(plan, keep_typed=keep_typed)
        self._tell(plan)

    def _half_typed_target(self) -> float | None:
        try:
            return self._read_target()
        except NotValid:
            return None  # confirming will say so

    def _clear_plan(self) -> None:
        self._plan = None
        self._roll.clear()
        self._roll.addItem(tr("none noted"), "")
        for field in (self._target, self._length, self._width):
            field.clear()
        for label in (self._reason, self._pieces, self._load):
            label.clear()

    def _fill_rolls(self, mesh: MeshTypeRecord, plan: PullPlan, *, keep_chosen: bool) -> None:
        assert self._table is not None
        chosen = self._roll.currentData() if keep_chosen else None
        rolls = [r for r in self._table.rolls if r.mesh_type_id == mesh.id]
        self._roll.clear()
        self._roll.addItem(tr("none noted"), "")
        for roll in rolls:
            self._roll.addItem(self._roll_words(roll), roll.code)
        same = [roll for roll in rolls if roll.code == chosen]
        best = None if chosen == "" else fitting_roll(same, plan) or fitting_roll(rolls, plan)
        self._roll.setCurrentIndex(self._roll.findData(best.code) if best else 0)

    def take_roll(self, roll_id: int) -> bool:
        """Choose a scanned roll, with its mesh; False if the shelf has no such roll."""
        rolls = self._table.rolls if self._table else ()
        roll = next((r for r in rolls if r.id == roll_id), None)
        types = self._table.mesh_types if self._table else ()
        mesh = next((m for m in types if roll and m.id == roll.mesh_type_id), None)
        if roll is None or mesh is None:
            return False
        self._mesh.setCurrentIndex(self._mesh.findData(mesh.name))
        self._roll.setCurrentIndex(self._roll.findData(roll.code))
        return True

    def _roll_words(self, roll: RollRecord) -> str:
        formatter = self._bench.formatter
        if roll.is_offcut:
            return tr(
                "{code}, offcut, {width} wide, {left} left",
                code=roll.code,
                width=formatter.length(roll.width_mm),
                left=roll_length(formatter, roll.on_hand_mm),
            )
        return tr(
            "{code}, {width} wide, {left} left",
            code=roll.code,
            width=formatter.length(roll.width_mm),
            left=roll_length(formatter, roll.on_hand_mm),
        )

    def _fill_piece(self, plan: PullPlan, *, keep_typed: bool) -> None:
        sizes = {(piece.length_mm, piece.width_mm) for piece in plan.pieces}
        one = next(iter(sizes)) if len(sizes) == 1 else None
        if one and keep_typed and (self._length.isModified() or self._width.isModified()):
            return
        for place, field in enumerate((self._length, self._width)):
            field.setEnabled(one is not None)
            field.setText(bare_length(self._bench.formatter, one[place]) if one else "")

    def _plan_again(self) -> None:
        mesh = self._mesh_type()
        if mesh is None or self._table is None:
            return
        try:
            asked = self._bench.formatter.parse_number(self._target.text())
        except NotValid:
            return  # half a number; confirming will say so
        self._tell(self._planned(mesh, asked))

    def _planned(self, mesh: MeshTypeRecord, asked: float | None) -> PullPlan:
        assert self._table is not None
        return plan_pull(
            [row.frame for row in self._chosen.rows],
            mesh,
            allowance_mm=self._table.settings.cut_allowance_mm,
            asked_n_per_cm=asked,
        )

    def _tell(self, plan: PullPlan) -> None:
        """Say where the target comes from, what is cut, and what the bars will carry."""
        self._plan = plan
        formatter = self._bench.formatter
        said = [formatter.sentence(plan.reason)]
        if plan.warning is not None:
            said.append(formatter.sentence(plan.warning))
        self._reason.setText(" ".join(said))
        self._pieces.setText(self._pieces_words(plan))
        self._load.setText(self._load_words(plan))

    def _pieces_words(self, plan: PullPlan) -> str:
        assert self._table is not None
        mesh, formatter = self._mesh_type(), self._bench.formatter
        ready = {p.frame_id for p in self._table.pieces if mesh and p.mesh_type_id == mesh.id}
        ahead = [piece for piece in plan.pieces if piece.frame.id in ready]
        words = tr(
            "{pieces}, {total} off the roll; each is the frame’s outside and {allowance}.",
            pieces=tr_count("{n} piece", "{n} pieces", len(plan.pieces)),
            total=roll_length(formatter, plan.length_mm - sum(p.length_mm for p in ahead)),
            allowance=formatter.length(self._table.settings.cut_allowance_mm),
        )
        if not ahead:
            return words
        return tr(
            "{pieces} Cut already, so used as it is unless another size is typed: {frames}.",
            pieces=words,
            frames=", ".join(piece.frame.code for piece in ahead),
        )

    def _load_words(self, plan: PullPlan) -> str:
        long = max((p.long_bar_n or 0.0 for p in plan.pieces), default=0.0)
        short = max((p.short_bar_n or 0.0 for p in plan.pieces), default=0.0)
        if not long:
            return ""
        number = self._bench.formatter.number
        return tr(
            "Load at the target: {long} N on each long bar and {short} N on each short one, "
            "about the weight of {long_kg} kg and {short_kg} kg.",
            long=number(round(long, -1), 0),
            short=number(round(short, -1), 0),
            long_kg=number(kilograms(long), 0),
            short_kg=number(kilograms(short), 0),
        )

    # the work

    def _mesh_type(self) -> MeshTypeRecord | None:
        name = self._mesh.currentData()
        types = self._table.mesh_types if self._table else ()
        return next((mesh for mesh in types if mesh.name == name), None)

    def request(self) -> StretchRequest:
        """Return what was entered.

        Raises
        ------
        NotValid
            For a field that is no number.
        """
        length, width = self._piece()
        warp = self._warp.currentData()
        return StretchRequest(
            mesh=self._mesh.currentData() or "",
            target_n_per_cm=self._read_target(),
            roll=self._roll.currentData() or "",
            cut_length_mm=length,
            cut_width_mm=width,
            warp_along=warp or None,
            one_pull=self._one_pull.isChecked() and len(self._chosen.rows) > 1,
        )

    def _read_target(self) -> float | None:
        if not self._target.text().strip():
            return None
        try:
            return self._bench.formatter.parse_number(self._target.text())
        except NotValid as error:
            raise NotValid(error.said, hint=error.hint, argument="target") from error

    def _piece(self) -> tuple[int | None, int | None]:
        """Return the piece that was typed; untouched fields leave each frame its own."""
        if not self._length.isEnabled() or self._plan is None or not self._plan.pieces:
            return None, None
        formatter, own = self._bench.formatter, self._plan.pieces[0]
        shown = (
            bare_length(formatter, own.length_mm),
            bare_length(formatter, own.width_mm),
        )
        if (self._length.text(), self._width.text()) == shown:
            return None, None
        length = read_length_mm(formatter, self._length.text(), argument="cut_length_mm")
        return length, read_length_mm(formatter, self._width.text(), argument="cut_width_mm")

    def _confirm(self) -> None:
        codes, note = self._chosen.codes, self._note.text().strip()
        try:
            if not codes:
                raise NotValid(say("No frame is chosen."), hint=say("Scan one, or choose it."))
            request = self.request()
        except NotValid as error:
            self._refused(error)
            return
        self.form.wait()
        self._bench.change(
            lambda desk: stretch.stretch(desk, codes, request, when=When(note=note)),
            self._stretched,
            owner=self,
            fail=self._refused,
        )

    def _refused(self, error: FramekeeperError) -> None:
        self.form.refuse(error, self._bench.formatter)

    def _stretched(self, done: Done) -> None:
        self.form.clear_error()
        self.stretched.emit(list(done.codes))


def _title(chosen: Chosen) -> str:
    if len(chosen.rows) == 1:
        return tr("Stretch {frame}", frame=chosen.rows[0].frame.name)
    if not chosen.rows:
        return tr("Choose frames, or scan them")
    return tr_count("Stretch {n} frame", "Stretch {n} frames", len(chosen.rows))
