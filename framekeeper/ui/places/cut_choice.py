"""The left side of the cut plan: the frames that get mesh, which mesh, and who may be turned."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from framekeeper.services.cut_queue import CutJob, CutShelf
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.models.table import RowsModel
from framekeeper.ui.places.cut_jobs import JobList, job_columns, job_id
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, TARGET
from framekeeper.ui.widgets.notices import CautionStrip, KeyHintButton
from framekeeper.ui.widgets.short_form import choice
from framekeeper.ui.widgets.work_table import WorkTable

_TURNING: dict[str, bool | None] = {"plan": None, "free": True, "fixed": False}


class CutChoice(QWidget):
    """A list to fill by scan, by code, or from a queue.

    Signals
    -------
    queue_wanted(name)
        Put a queue on the list.
    frame_wanted(text)
        Put the frame with this code or label on the list.
    piece_gone(code)
        The piece that was cut for this frame is lost.
    plan_wanted()
        Plan what is on the list.
    changed()
        Other frames are on the list, or another mesh was chosen.
    """

    queue_wanted = Signal(str)
    frame_wanted = Signal(str)
    piece_gone = Signal(str)
    plan_wanted = Signal()
    changed = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._shelf: CutShelf | None = None
        self._list = JobList()
        theme = bench.theme
        self._code = QLineEdit()
        self._code.setPlaceholderText(tr("Code or label"))
        self._code.setAccessibleName(tr("Add a frame by its code or label"))
        self._table_queue = KeyHintButton(theme, tr("Prepped frames"), "F2")
        self._restretch = KeyHintButton(theme, tr("To restretch"), "F3")
        self._leave_out = KeyHintButton(theme, tr("Leave out"), "Del")
        self._gone = KeyHintButton(theme, tr("Piece is gone"), "F7")
        self._gone.setToolTip(
            tr("The piece that was cut for the chosen frame is lost; it is cut again.")
        )
        model: RowsModel[CutJob] = RowsModel(job_columns(bench), job_id, self)
        self.table = WorkTable(theme, model, tr("Frames to cut mesh for"))
        self._mesh, self._turning = (
            choice({}),
            choice(
                {
                    "plan": tr("as below"),
                    "free": tr("may be turned"),
                    "fixed": tr("keeps its warp"),
                }
            ),
        )
        self._may_turn = QCheckBox(tr("Pieces may be &turned: the warp may run across the frame"))
        self.plan_button = KeyHintButton(theme, tr("Plan the cuts"), "F5", is_main=True)
        self._may_turn.setMinimumHeight(TARGET)
        self._lay_out()
        self._connect()
        self._enable()

    def _lay_out(self) -> None:
        queues = QHBoxLayout()
        queues.setSpacing(2 * STEP)
        queues.addWidget(self._code, 1)
        queues.addWidget(self._table_queue)
        queues.addWidget(self._restretch)
        of_chosen = QHBoxLayout()
        of_chosen.setSpacing(2 * STEP)
        for text, box, name in (
            (tr("&Mesh"), self._mesh, tr("Mesh of the chosen frames")),
            (tr("T&urning"), self._turning, tr("Turning of the chosen pieces")),
        ):
            label = QLabel(text)
            label.setBuddy(box)
            box.setAccessibleName(name)
            of_chosen.addWidget(label)
            of_chosen.addWidget(box, 1)
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self.plan_button, 1)
        keys.addWidget(self._leave_out)
        keys.addWidget(self._gone)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(queues)
        column.addWidget(self.table, 1)
        column.addLayout(of_chosen)
        column.addWidget(self._may_turn)
        column.addLayout(keys)
        column.addWidget(CautionStrip(self._bench.theme, caution("cut")))

    def _connect(self) -> None:
        self._code.returnPressed.connect(self._add_typed)
        self._table_queue.clicked.connect(self._want_table)
        self._restretch.clicked.connect(self._want_restretch)
        self._leave_out.clicked.connect(self._leave_chosen_out)
        self._gone.clicked.connect(self._throw_away)
        self.plan_button.clicked.connect(self.plan_wanted)
        self.table.chosen_changed.connect(self._enable)
        self.table.asked.connect(self._turning.setFocus)
        self._mesh.activated.connect(self._mesh_chosen)
        self._turning.activated.connect(self._turning_chosen)

    # the list

    @property
    def jobs(self) -> tuple[CutJob, ...]:
        """What is on the list."""
        return self._list.jobs

    @property
    def codes(self) -> tuple[str, ...]:
        """The frames on the list."""
        return self._list.codes

    @property
    def may_turn(self) -> bool:
        """Whether pieces may be turned that do not say so themselves."""
        return self._may_turn.isChecked()

    def add(self, jobs: Iterable[CutJob]) -> None:
        """Put frames on the list."""
        self._list.add(jobs)
        self._show()

    def show_shelf(self, shelf: CutShelf) -> None:
        """Take over what the shop says now."""
        self._shelf = shelf
        self._list.refresh(shelf, shelf.chosen)
        names = [mesh.name for mesh in shelf.mesh_types]
        if names != [self._mesh.itemText(n) for n in range(self._mesh.count())]:
            self._mesh.clear()
            self._mesh.addItems(names)
        self._show()

    def _show(self) -> None:
        self.table.show_rows(self._list.jobs)
        self._enable()
        self.changed.emit()

    def _chosen_codes(self) -> list[str]:
        return [job.frame.code for job in self.table.chosen()]

    def _enable(self) -> None:
        chosen = self.table.chosen()
        for control in (self._mesh, self._turning, self._leave_out):
            control.setEnabled(bool(chosen))
        self._gone.setEnabled(len(chosen) == 1 and chosen[0].ready is not None)
        self.plan_button.setEnabled(any(job.is_to_cut for job in self._list.jobs))
        meshes = {job.mesh.name if job.mesh else "" for job in chosen}
        _set(self._mesh, self._mesh.findText(meshes.pop()) if len(meshes) == 1 else -1)
        turning = {job.may_turn for job in chosen}
        words = {may: name for name, may in _TURNING.items()}
        place = self._turning.findData(words[turning.pop()]) if len(turning) == 1 else -1
        _set(self._turning, place)

    def _add_typed(self) -> None:
        text = self._code.text().strip()
        if text:
            self._code.clear()
            self.frame_wanted.emit(text)

    def _want_table(self) -> None:
        self.queue_wanted.emit("table")

    def _want_restretch(self) -> None:
        self.queue_wanted.emit("restretch")

    def _leave_chosen_out(self) -> None:
        self._list.leave_out(self._chosen_codes())
        self.table.clearSelection()
        self._show()
        self.table.setFocus()

    def _throw_away(self) -> None:
        for job in self.table.chosen():
            self.piece_gone.emit(job.frame.code)

    def _mesh_chosen(self) -> None:
        if self._shelf is not None:
            self._list.choose_mesh(self._chosen_codes(), self._mesh.currentText(), self._shelf)
            self._show()

    def _turning_chosen(self) -> None:
        self._list.choose_turning(self._chosen_codes(), _TURNING[self._turning.currentData()])
        self._show()


def _set(box: QComboBox, place: int) -> None:
    """Show an entry without acting as if a person had chosen it."""
    if box.currentIndex() != place:
        box.setCurrentIndex(place)
