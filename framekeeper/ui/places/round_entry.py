"""Where the numbers of a survey go in: meter and points chosen once, then the drawing as a form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import Moment
from framekeeper.domain.low_spot import centre_of
from framekeeper.domain.points import OWN, PATTERN_NAMES
from framekeeper.domain.records import MeterRecord
from framekeeper.domain.survey import valid_tension
from framekeeper.services.check import SurveyRequest, suggested_moment
from framekeeper.services.frame_page import FramePage
from framekeeper.services.tension_round import judge_points
from framekeeper.services.verdicts import judge_so_far
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.places.frame_look import blank_picture, entry_picture
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.frame_entry import FrameEntry
from framekeeper.ui.widgets.frame_picture import FramePicture
from framekeeper.ui.widgets.notices import EmptyState
from framekeeper.ui.widgets.verdict_line import VerdictLine, whole_points

SMALLEST_DRAWING = (330, 350)  # px; the plates of five points do not touch on a usual frame
ONE_NUMBER = "0"  # a shop that reads one value without a direction
PATTERN_WORDS = {
    ONE_NUMBER: "one number",
    "1": "1 point",
    "5": "5 points",
    "6": "6 points",
    "9": "9 points",
    OWN: "own points",
}


@dataclass(frozen=True, slots=True)
class Numbers:
    """What was read, with the points and the meter it was read with.

    The moment is told where it is not the one that the frame's state suggests.
    """

    pattern: str
    meter: str
    values: tuple[float, ...]
    moment: Moment | None = None

    def request(self) -> SurveyRequest:
        """The survey that these numbers are."""
        if self.pattern == ONE_NUMBER:
            return SurveyRequest(not_told=self.values, moment=self.moment, meter=self.meter)
        return SurveyRequest(
            self.values[::2], self.values[1::2], moment=self.moment, meter=self.meter
        )


class SurveyPanel(QWidget):
    """Takes one survey after another.

    Signals
    -------
    typed(readings)
        A number was taken; a tuple with None for what is still open.
    completed(numbers)
        The last number was taken; a `Numbers`.
    choice_changed()
        Another meter or other points were chosen.
    """

    typed = Signal(object)
    completed = Signal(object)
    choice_changed = Signal()

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, *, is_narrow: bool = False
    ) -> None:
        super().__init__(parent)
        self.bench = bench
        self._page: FramePage | None = None
        self._pattern = "5"  # of the survey that is being typed
        self._moment: Moment | None = None
        self._own_meter: str | None = None  # while another one is lent for a single reading
        self._meters: tuple[MeterRecord, ...] = ()
        self._meter = _box(tr("Meter"))
        self._points = _box(tr("Points"))
        for box in (self._meter, self._points):
            box.activated.connect(self._chosen)
        self.entry = FrameEntry(bench.theme, bench.formatter)
        self.entry.reading_changed.connect(self._took)
        self.entry.completed.connect(self._finished)
        self.single = _OneNumber(bench)
        self.single.completed.connect(self._finished)
        self._still = FrameDrawing(bench.theme, bench.formatter)
        self.verdict = VerdictLine(bench.theme, bench.formatter)
        if is_narrow:
            for drawing in (self.entry, self._still):
                drawing.setMinimumSize(*SMALLEST_DRAWING)
        self._stack = QStackedWidget()
        for page in (self._how_to(), self._still, self.entry, self.single):
            self._stack.addWidget(page)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addLayout(self._choices(is_narrow))
        column.addWidget(self._stack, 1)
        column.addWidget(self.verdict)

    @property
    def meter(self) -> str:
        """The name of the chosen meter; empty where none is."""
        return self._meter.currentData() or ""

    @property
    def lent_meter(self) -> str:
        """The meter that was chosen for this one reading; empty where it is the bench's own."""
        return "" if self._own_meter is None else self.meter

    @property
    def own_meter(self) -> str:
        """The meter of the readings after this one."""
        return self.meter if self._own_meter is None else self._own_meter

    @property
    def pattern(self) -> str:
        """The points that the next survey will be read at."""
        return self._points.currentData() or "5"

    @property
    def page(self) -> FramePage | None:
        """The frame whose numbers are typed now."""
        return self._page

    @property
    def moment(self) -> Moment | None:
        """The moment of the survey that is being typed, where it was told."""
        return self._moment

    @property
    def typing_pattern(self) -> str:
        """The points of the survey that is being typed."""
        return self._pattern

    def readings(self) -> tuple[float | None, ...]:
        """What was typed so far."""
        return () if self._pattern == ONE_NUMBER else self.entry.readings()

    def set_choices(
        self,
        meters: Sequence[MeterRecord],
        meter: str,
        pattern: str,
        patterns: Sequence[str] = PATTERN_NAMES,
    ) -> None:
        """Offer the shop's meters and patterns, and choose what was chosen before."""
        self._points.clear()
        for key in (ONE_NUMBER, *patterns):
            self._points.addItem(tr(PATTERN_WORDS[key]), key)
        self._meters = tuple(meters)
        self._meter.clear()
        self._meter.addItem(tr("not told"), "")
        for known in meters:
            self._meter.addItem(known.name, known.name)
        self._meter.setCurrentIndex(max(0, self._meter.findData(meter)))
        self._points.setCurrentIndex(max(0, self._points.findData(pattern)))

    def choose_meter(self, name: str) -> None:
        """Choose a meter by its name."""
        self._meter.setCurrentIndex(max(0, self._meter.findData(name)))

    def lend_meter(self, name: str) -> None:
        """Choose another meter for one reading."""
        self._own_meter = self.own_meter
        self.choose_meter(name)

    def take_meter_back(self) -> None:
        """Choose the bench's own meter again after a reading with another one."""
        if self._own_meter is not None:
            self.choose_meter(self._own_meter)
            self._own_meter = None

    def other_meter(self) -> str:
        """The name of a meter of this shop that is not the chosen one; empty where none is."""
        return next((m.name for m in self._meters if m.name != self.meter), "")

    def begin(
        self,
        page: FramePage,
        readings: Sequence[float | None] = (),
        pattern: str | None = None,
        *,
        from_last: bool = False,
        moment: Moment | None = None,
    ) -> None:
        """Ask for the numbers of a frame; `from_last` opens the last one of a full survey.

        The moment is told for a survey that is read or written anew.
        """
        self._page, self._moment = page, moment
        self.verdict.show_judged(None)
        offered = self._points.findData(pattern) >= 0
        self._pattern = pattern if pattern and offered else self.pattern
        if self._pattern == ONE_NUMBER:
            self._stack.setCurrentWidget(self.single)
            self.single.begin(page, readings)
            return
        self._stack.setCurrentWidget(self.entry)
        self.entry.begin(entry_picture(page, self._pattern), readings)
        self._judge()
        if from_last:
            self.entry.go_to(len(self.entry.readings()) - 1)

    def put_away(self) -> None:
        """Ask for nothing; the frame stays in sight as it is."""
        if self._page is not None:
            self.show_still(blank_picture(self._page))
        self._page = None

    def show_still(self, picture: FramePicture) -> None:
        """Show a frame to look at, such as the survey that was just recorded."""
        self.verdict.show_judged(None)
        self._still.show_picture(picture)
        self._stack.setCurrentWidget(self._still)

    def focus_number(self) -> None:
        """Put the focus back where the next number goes."""
        if self._stack.currentWidget() is self.entry:
            self.entry.setFocus()
        elif self._stack.currentWidget() is self.single:
            self.single.field.setFocus()

    def _how_to(self) -> EmptyState:
        return EmptyState(
            self.bench.theme,
            self.bench.icons,
            "round",
            tr("Scan the first screen"),
            tr(
                "Type each number and Enter: warp, then weft, point after point. The last number "
                "records the survey. Backspace goes one number back, Esc leaves a screen half "
                "typed; both lose nothing."
            ),
        )

    def _choices(self, is_narrow: bool) -> QVBoxLayout:
        rows, row = QVBoxLayout(), QHBoxLayout()
        row.setSpacing(2 * STEP)
        for words, box in ((tr("&Meter"), self._meter), (tr("P&oints"), self._points)):
            label = QLabel(words)
            label.setBuddy(box)
            row.addWidget(label)
            row.addWidget(box)
            row.addSpacing(2 * STEP)
        zero = QLabel(tr("Zero the meter on glass first."))
        zero.setFont(self.bench.theme.font("body", bold=True))
        if not is_narrow:
            row.addWidget(zero)
        row.addStretch(1)
        rows.addLayout(row)
        if is_narrow:
            rows.addWidget(zero)
        return rows

    def _chosen(self) -> None:
        """Other points begin the frame anew; another meter does not touch what was read."""
        if self._page is not None and self.pattern != self._pattern:
            self.begin(self._page, moment=self._moment)
        else:
            self._judge()
            self.focus_number()
        self.choice_changed.emit()

    def _took(self, _index: int, _value: float) -> None:
        self._judge()
        self.typed.emit(self.entry.readings())

    def _judge(self) -> None:
        """Show how each point and the whole stand, with what is known of the meter."""
        page = self._page
        if page is None or self._pattern == ONE_NUMBER:
            return
        meter = next((m for m in self._meters if m.name == self.meter), None)
        added = meter.correction if meter else 0.0
        readings = self.entry.readings()
        values = [None if v is None else v + added for v in readings]
        frame = page.frame
        places = page.settings.places(self._pattern, frame.width_mm, frame.height_mm)
        self.entry.show_marks(judge_points(values, page.rules, centre=centre_of(places)))
        judged = judge_so_far(
            readings,
            correction_n_per_cm=added,
            moment=self._moment or suggested_moment(frame),
            rules=page.rules,
            target=page.target,
            meter=meter,
            places=places,
        )
        self.verdict.show_judged(judged, so_far=whole_points(readings))

    def _finished(self, values: object) -> None:
        assert isinstance(values, tuple)
        self.completed.emit(Numbers(self._pattern, self.meter, values, self._moment))


class _OneNumber(QWidget):
    """A large field for one value."""

    completed = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._label = QLabel()
        self._label.setFont(bench.theme.font("large"))
        self.field = QLineEdit()
        self.field.setObjectName("one_number")
        self.field.setFont(bench.theme.font("title", bold=True))
        self.field.setMaximumWidth(10 * bench.theme.px("title"))
        self.field.returnPressed.connect(self._take)
        self._label.setBuddy(self.field)
        self._trouble = Trouble(bench.theme)
        column = QVBoxLayout(self)
        column.addStretch(1)
        for part in (self._label, self.field, self._trouble):
            column.addWidget(part, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(2)

    def begin(self, page: FramePage, readings: Sequence[float | None]) -> None:
        """Ask for the tension of a frame."""
        self._label.setText(tr("Tension of {frame}, N/cm", frame=page.frame.name))
        self.field.setAccessibleName(self._label.text())
        value = next((v for v in readings if v is not None), None)
        self.field.setText("" if value is None else self._bench.formatter.number(value))
        self.field.selectAll()
        self._trouble.say("")
        self.field.setFocus()

    def _take(self) -> None:
        try:
            value = valid_tension(self._bench.formatter.parse_number(self.field.text()))
        except NotValid as refused:
            self._trouble.say(self._bench.formatter.error(refused))
            self.field.selectAll()
            return
        self._trouble.say("")
        self.completed.emit((value,))


def _box(name: str) -> QComboBox:
    box = QComboBox()
    box.setAccessibleName(name)
    box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
    return box
