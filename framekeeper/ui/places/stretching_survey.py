"""The survey before glue: the frame is the form, its points are the fields."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.points import point_pattern
from framekeeper.services import check
from framekeeper.services.bench_queues import TableNow, TableRow
from framekeeper.services.check import SurveyDone
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.frame_entry import DIRECTIONS, FrameEntry
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.short_form import LocalKeyButton


class SurveyPanel(QWidget):
    """Takes the readings of one frame in the clamps; the last number records the survey.

    Signals
    -------
    recorded()
        The survey is in the journal.
    left()
        Esc: nothing was recorded; what was typed is offered again for the same frame.
    """

    recorded = Signal()
    left = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._code = self._name = ""
        self._unfinished: dict[str, tuple[float | None, ...]] = {}
        self._heading, self._error = QLabel(), QLabel()
        self._heading.setFont(bench.theme.font("large"))
        self._error.setWordWrap(True)
        self._error.hide()
        self._meter = QComboBox()
        self._meter.setAccessibleName(tr("Meter"))
        words = QLabel(tr("Mete&r"))
        words.setBuddy(self._meter)
        self._meter_words = words
        self.entry = FrameEntry(bench.theme, bench.formatter)
        self.entry.completed.connect(self._completed)
        leave = LocalKeyButton(bench.theme, tr("Leave"), "Esc")
        leave.clicked.connect(self._leave)
        top = QHBoxLayout()
        top.setSpacing(2 * STEP)
        top.addWidget(self._heading, 1)
        top.addWidget(words)
        top.addWidget(self._meter)
        top.addWidget(leave)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(top)
        column.addWidget(self._error)
        column.addWidget(self.entry, 1)

    def begin(self, table: TableNow, row: TableRow) -> None:
        """Ask for the readings of a frame; what was left unfinished is offered back."""
        self._code, self._name = row.frame.code, row.frame.name
        self._heading.setText(tr("Survey of {frame} before glue", frame=row.frame.name))
        self._error.hide()
        chosen = self._meter.currentData()
        self._meter.clear()
        self._meter.addItem(tr("not told"), "")
        for meter in table.meters:
            self._meter.addItem(meter.name, meter.name)
        only = table.meters[0].name if len(table.meters) == 1 else chosen
        self._meter.setCurrentIndex(max(self._meter.findData(only), 0))
        for widget in (self._meter, self._meter_words):
            widget.setVisible(bool(table.meters))
        self.entry.begin(
            picture_of(row, table.settings.point_pattern), self._unfinished.get(self._code, ())
        )

    def _completed(self, readings: tuple[float, ...]) -> None:
        code, meter = self._code, self._meter.currentData() or ""
        self._unfinished[code] = readings
        request = check.SurveyRequest(
            warp=readings[::DIRECTIONS],
            weft=readings[1::DIRECTIONS],
            moment="before_glue",
            meter=meter,
        )
        self._bench.change(
            lambda desk: check.survey(desk, code, request),
            self._recorded,
            owner=self,
            fail=self._refused,
        )

    def _recorded(self, done: SurveyDone) -> None:
        self._unfinished.pop(done.codes[0], None)
        self.recorded.emit()

    def _refused(self, error: FramekeeperError) -> None:
        text = self._bench.formatter.error(error)
        self._error.setText(text)
        self._error.setAccessibleName(text)
        self._error.show()

    def event(self, event: QEvent) -> bool:
        """Esc leaves the survey, not the place."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._leave()
        else:
            super().keyPressEvent(event)

    def set_aside(self) -> None:
        """Leave for another frame: what was typed is kept for this one, and the person is told."""
        readings = self.entry.readings()
        self._unfinished[self._code] = readings
        if typed := sum(value is not None for value in readings):
            self._bench.told.emit(
                tr(
                    "{frame} is kept half typed, {n} of {all} numbers.",
                    frame=self._name,
                    n=typed,
                    all=len(readings),
                )
            )

    def _leave(self) -> None:
        self._unfinished[self._code] = self.entry.readings()
        self.left.emit()


def picture_of(row: TableRow, pattern: str) -> FramePicture:
    """Draw the frame of a row with the points of the shop's pattern."""
    frame, mesh = row.frame, row.mesh
    points = point_pattern(pattern, frame.width_mm, frame.height_mm)
    return FramePicture(
        frame.width_mm,
        frame.height_mm,
        cloth="yellow" if mesh is not None and mesh.colour == "dyed" else "white",
        state=frame.state.state,
        is_held=frame.state.hold_reason is not None,
        threads_per_cm=mesh.threads_per_cm if mesh else None,
        points=tuple(PointPicture(x, y) for x, y in points),
    )
