"""The survey before glue: the frame is the form, its points are the fields."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.low_spot import centre_of
from framekeeper.domain.records import MeterRecord
from framekeeper.services import check
from framekeeper.services.bench_queues import TableNow, TableRow
from framekeeper.services.check import SurveyDone
from framekeeper.services.tension_round import judge_points, survey_and_judge
from framekeeper.services.verdicts import judge_so_far
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.frame_entry import DIRECTIONS, FrameEntry
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.short_form import LocalKeyButton
from framekeeper.ui.widgets.verdict_line import VerdictLine, whole_points


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
        self.entry.reading_changed.connect(self._judge)
        self._meter.activated.connect(self._judge)
        self._table: TableNow | None = None
        self._row: TableRow | None = None
        self.verdict = VerdictLine(bench.theme, bench.formatter)
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
        column.addWidget(self.verdict)

    def begin(self, table: TableNow, row: TableRow) -> None:
        """Ask for the readings of a frame; what was left unfinished is offered back."""
        self._code, self._name = row.frame.code, row.frame.name
        self._table, self._row = table, row
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
        self.entry.begin(picture_of(table, row), self._unfinished.get(self._code, ()))
        self._judge()

    def _judge(self, *_what: object) -> None:
        """Show how each point and the whole stand against the target of this stretch."""
        table, row = self._table, self._row
        if table is None or row is None or row.mesh is None:
            return
        meter = self._chosen_meter(table)
        added = meter.correction if meter else 0.0
        readings, frame, life = self.entry.readings(), row.frame, row.frame.state.life
        settings, rules = table.settings, row.mesh.rules
        places = settings.places(settings.point_pattern, frame.width_mm, frame.height_mm)
        values = [None if v is None else v + added for v in readings]
        self.entry.show_marks(judge_points(values, rules, centre=centre_of(places)))
        judged = judge_so_far(
            readings,
            correction_n_per_cm=added,
            moment="before_glue",
            rules=rules,
            target=(life.target_n_per_cm if life else None) or rules.target,
            meter=meter,
            places=places,
        )
        self.verdict.show_judged(judged, so_far=whole_points(readings))

    def _chosen_meter(self, table: TableNow) -> MeterRecord | None:
        name = self._meter.currentData()
        return next((meter for meter in table.meters if meter.name == name), None)

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
            lambda desk: survey_and_judge(desk, code, request),
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


def picture_of(table: TableNow, row: TableRow) -> FramePicture:
    """Draw the frame of a row with the points of the shop's pattern."""
    frame, mesh, settings = row.frame, row.mesh, table.settings
    points = settings.places(settings.point_pattern, frame.width_mm, frame.height_mm)
    return FramePicture(
        frame.width_mm,
        frame.height_mm,
        cloth="yellow" if mesh is not None and mesh.colour == "dyed" else "white",
        state=frame.state.state,
        is_held=frame.state.hold_reason is not None,
        threads_per_cm=mesh.threads_per_cm if mesh else None,
        points=tuple(PointPicture(x, y) for x, y in points),
    )
