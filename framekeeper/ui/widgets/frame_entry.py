"""The frame drawing as a form: the points are the fields, walked in the order of the hand.

Digits, Enter and Backspace are enough for a whole survey. Enter takes the number and goes on;
Backspace in an empty field goes back one; a number that no meter shows is refused at its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.survey import valid_tension
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.marks import Mark

DIRECTIONS = 2  # warp, then weft


class FrameEntry(FrameDrawing):
    """Takes the readings of a survey.

    A reading's index counts warp and weft: 0 is the warp of the first point, 1 its weft, and so on.

    Signals
    -------
    reading_changed(index, value)
        A number was taken.
    completed(readings)
        Every number is there; a tuple of floats.
    """

    reading_changed = Signal(int, float)
    completed = Signal(object)

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(theme, formatter, "large", parent)
        self._readings: list[float | None] = []
        self._current: int | None = None
        self._field = QLineEdit(self)
        self._field.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._field.setObjectName("reading")
        self._field.installEventFilter(self)
        self._field.returnPressed.connect(self._take)
        self._field.textEdited.connect(self._typing)
        self._field.hide()
        self._refusal = QLabel(self)
        self._refusal.setObjectName("refusal")
        self._refusal.setWordWrap(True)
        self._refusal.hide()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        theme.changed.connect(self._dress)
        self._dress()

    @property
    def current(self) -> int | None:
        """The index of the reading that is asked for; None once all are there."""
        return self._current

    def readings(self) -> tuple[float | None, ...]:
        """What was taken so far, None where nothing was."""
        return tuple(self._readings)

    def begin(self, picture: FramePicture, readings: Sequence[float | None] = ()) -> None:
        """Ask for the readings of a frame's points; what an earlier walk left is offered back."""
        count = DIRECTIONS * len(picture.points)
        kept = list(readings)[:count]
        self._readings = kept + [None] * (count - len(kept))
        self.show_picture(self._with_readings(picture))
        self.go_to(self._first_open())

    def show_marks(self, marks: Sequence[tuple[Mark | None, float | None]]) -> None:
        """Show how each point is judged: its mark, and how far it leans, in N/cm."""
        if self._picture is None:
            return
        points = tuple(
            replace(point, mark=mark, lean_n_per_cm=lean)
            for point, (mark, lean) in zip(self._picture.points, marks, strict=True)
        )
        self.show_picture(replace(self._picture, points=points))

    def go_to(self, index: int | None) -> None:
        """Move the field to a reading; None puts it away."""
        self._current = index
        self._refusal.hide()
        if index is None:
            self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self.setFocus()
            self._field.hide()
            self.update()
            return
        value = self._readings[index]
        self._field.setText("" if value is None else self._formatter.number(value))
        self._field.selectAll()
        self._field.setAccessibleName(self._name_of(index))
        self._put_field()
        self._field.show()
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # the field is the stop of the Tab key now
        self._field.setFocus()
        self.update()

    def is_current(self, number: int) -> bool:
        return self._current is not None and self._current // DIRECTIONS == number

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            watched is self._field
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Backspace
            and not self._field.text()
        ):
            self._back()
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """With all readings taken, one key back opens the last one again."""
        if event.key() == Qt.Key.Key_Backspace and self._readings and self._current is None:
            self.go_to(len(self._readings) - 1)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self._current is not None:
            self._field.setFocus(event.reason())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        place = self.place()
        if place is None or self._picture is None:
            return
        for number, point in enumerate(self._picture.points):
            plate = self.plate(place.at(point.x_mm, point.y_mm))
            for direction in range(DIRECTIONS):
                if self.row(plate, direction).contains(event.position()):
                    self.go_to(DIRECTIONS * number + direction)
                    return

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._put_field()

    def _first_open(self) -> int | None:
        return next((i for i, value in enumerate(self._readings) if value is None), None)

    def _back(self) -> None:
        if self._current:
            self.go_to(self._current - 1)

    def _typing(self) -> None:
        self._refusal.hide()

    def _take(self) -> None:
        index = self._current
        if index is None:
            return
        try:
            value = valid_tension(self._formatter.parse_number(self._field.text()))
        except NotValid as refused:
            self._refuse(refused)
            return
        self._readings[index] = value
        if self._picture is not None:
            self.show_picture(self._with_readings(self._picture))
        self._go_on(index)
        self.reading_changed.emit(index, value)
        if self._current is None:
            self.completed.emit(self.readings())

    def _go_on(self, index: int) -> None:
        """To the next reading that is open, from the start again after the last one."""
        later = range(index + 1, len(self._readings))
        following = next((i for i in later if self._readings[i] is None), None)
        self.go_to(self._first_open() if following is None else following)

    def _refuse(self, refused: NotValid) -> None:
        if not self._field.text().strip():
            said = tr("Type what the meter shows, then Enter. Backspace goes back one.")
        else:
            hint = self._formatter.sentence(refused.hint)
            said = tr("{what} {hint}", what=self._formatter.sentence(refused.said), hint=hint)
        self._refusal.setText(said)
        self._refusal.setAccessibleName(said)
        self._field.setAccessibleDescription(said)
        self._field.selectAll()
        self._put_field()
        self._refusal.show()
        self._refusal.raise_()

    def _name_of(self, index: int) -> str:
        number, direction = divmod(index, DIRECTIONS)
        count = len(self._readings) // DIRECTIONS
        if direction == 0:
            return tr("Point {number} of {count}, warp, N/cm", number=number + 1, count=count)
        return tr("Point {number} of {count}, weft, N/cm", number=number + 1, count=count)

    def _with_readings(self, picture: FramePicture) -> FramePicture:
        points: list[PointPicture] = []
        for number, point in enumerate(picture.points):
            warp, weft = self._readings[DIRECTIONS * number : DIRECTIONS * number + DIRECTIONS]
            is_open = warp is None and weft is None
            points.append(
                replace(
                    point,
                    warp=warp,
                    weft=weft,
                    mark=None if is_open else point.mark,
                    lean_n_per_cm=None if is_open else point.lean_n_per_cm,
                )
            )
        return replace(picture, points=tuple(points))

    def _put_field(self) -> None:
        """Lay the field over its number, and the refusal beside it inside the drawing."""
        place = self.place()
        if place is None or self._picture is None or self._current is None:
            return
        number, direction = divmod(self._current, DIRECTIONS)
        point = self._picture.points[number]
        plate = self.plate(place.at(point.x_mm, point.y_mm))
        row = self.row(plate, direction).adjusted(6 * STEP, 0, -5 * STEP, 0).toRect()
        self._field.setGeometry(row)
        wide = min(self.width() - 2 * STEP, 20 * self._theme.px("body"))
        self._refusal.setFixedWidth(wide)
        self._refusal.adjustSize()
        x = min(max(round(plate.center().x()) - wide // 2, STEP), self.width() - wide - STEP)
        y = round(plate.bottom()) + STEP
        if y + self._refusal.height() > self.height():
            y = round(plate.top()) - self._refusal.height() - 5 * STEP
        self._refusal.move(x, y)

    def _dress(self) -> None:
        colours, corner = self._theme.palette, STEP
        self._refusal.setStyleSheet(
            f"background: {colours.surface}; color: {colours.ink};"
            f"border: 2px solid {colours.below}; border-radius: {corner}px; padding: {STEP}px;"
        )
        self._field.setStyleSheet(
            f"min-height: 0; padding: 0 {STEP}px; border: 2px solid {colours.press};"
        )
        self._field.setFont(self._theme.font("body", bold=True))
