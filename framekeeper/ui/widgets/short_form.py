"""A few fields at the place of work: Enter confirms, Esc leaves, a refusal keeps what was typed."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFormLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import mark_pixmap
from framekeeper.ui.widgets.notices import KeyHintButton

W = TypeVar("W", bound=QWidget)
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class LocalKeyButton(KeyHintButton):
    """Shows a key that the widget around it hears itself, because it is not the whole window's."""

    def __init__(
        self, theme: Theme, text: str, key: str, *, is_main: bool = False,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        self._shown_key = QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)
        super().__init__(theme, text, key, is_main=is_main, parent=parent)

    def _hear_key(self) -> None:
        self.setShortcut(QKeySequence())

    @property
    def key_text(self) -> str:
        return self._shown_key


class ShortForm(QFrame):
    """A form of a few fields.

    Signals
    -------
    confirmed()
        Enter, or the button.
    left()
        Esc, or the other button; nothing is changed.
    """

    confirmed = Signal()
    left = Signal()

    def __init__(
        self, theme: Theme, title: str, confirm: str, *, can_leave: bool = True,
        parent: QWidget | None = None,
    ) -> None:  # fmt: skip
        super().__init__(parent)
        self._theme = theme
        self._fields: dict[str, QWidget] = {}
        self._units: dict[str, QLabel] = {}
        self._rows: dict[str, QHBoxLayout] = {}
        self._heading = QLabel(title)
        self._heading.setFont(theme.font("large"))
        self._heading.setWordWrap(True)
        self._heading.setVisible(bool(title))
        self.form = QFormLayout()
        self.form.setHorizontalSpacing(3 * STEP)
        self.form.setVerticalSpacing(2 * STEP)
        self.form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.ExpandingFieldsGrow)
        self.form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._sign, self._error = QLabel(), QLabel()
        self._error.setWordWrap(True)
        self._error.setObjectName("form_error")
        self.confirm_button = LocalKeyButton(theme, confirm, "Return", is_main=True)
        self.confirm_button.clicked.connect(self._confirm)
        self.leave_button = LocalKeyButton(theme, tr("Leave"), "Esc")
        self.leave_button.clicked.connect(self._leave)
        self.leave_button.setVisible(can_leave)
        self._can_leave = can_leave
        self._is_waiting = False
        self.setAccessibleName(title or confirm)
        self._lay_out()
        self.clear_error()

    def _lay_out(self) -> None:
        said = QHBoxLayout()
        said.setSpacing(2 * STEP)
        said.addWidget(self._sign, 0, Qt.AlignmentFlag.AlignTop)
        said.addWidget(self._error, 1)
        buttons = QHBoxLayout()
        buttons.setSpacing(2 * STEP)
        buttons.addWidget(self.confirm_button)
        buttons.addWidget(self.leave_button)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self._heading)
        column.addLayout(self.form)
        column.addLayout(said)
        column.addLayout(buttons)
        column.addStretch(1)

    def add_field(
        self, argument: str, label: str, field: W, unit: str = "", *, beside: str = ""
    ) -> W:
        """Add a field; `argument` is the name by which a service refuses its value.

        `beside` puts it into the row of an earlier field.
        """
        words = QLabel(label)
        words.setBuddy(field)
        words.setMinimumHeight(field.sizeHint().height())  # beside the middle of its field
        field.setAccessibleName(label.replace("&", ""))
        field.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        if isinstance(field, QComboBox) and field.isEditable():
            line = field.lineEdit()
            assert line is not None
            line.setAccessibleName(label.replace("&", ""))
        self._fields[argument] = field
        if beside:
            self._rows[argument] = self._rows[beside]
            self._rows[beside].addWidget(words)
        else:
            self._rows[argument] = QHBoxLayout()
            self._rows[argument].setSpacing(2 * STEP)
            self.form.addRow(words, self._rows[argument])
        self._rows[argument].addWidget(field, 1)
        if unit:
            self._units[argument] = _quiet("")
            self._rows[argument].addWidget(self._units[argument])
            self.set_unit(argument, unit)
        return field

    def add_beside(self, argument: str, widget: QWidget) -> None:
        """Put a control into the row of a field."""
        self._rows[argument].addWidget(widget)

    def set_unit(self, argument: str, unit: str) -> None:
        """Say the unit of a field; shops change theirs."""
        self._units[argument].setText(unit)
        self._fields[argument].setAccessibleDescription(unit)

    def add_note(self, label: QLabel) -> None:
        """Add words that belong to the fields above."""
        label.setWordWrap(True)
        self.form.addRow(label)

    def set_title(self, title: str) -> None:
        """Name the form, which is often about the chosen frames."""
        self._heading.setText(title)
        self._heading.setVisible(bool(title))
        self.setAccessibleName(title)

    def begin(self) -> None:
        """Put the focus into the first field, with a clean slate of errors."""
        self.clear_error()
        for field in self._fields.values():
            if field.isEnabled() and field.isVisibleTo(self):
                field.setFocus(Qt.FocusReason.ShortcutFocusReason)
                return

    def refuse(self, error: FramekeeperError, formatter: Formatter) -> None:
        """Say what is wrong at the form, and go to the field that it is about."""
        self._is_waiting = False
        text = formatter.error(error)
        self._error.setText(text)
        self._error.setAccessibleName(text)
        self._error.show()
        self._sign.setPixmap(mark_pixmap("below", self._theme.px("body"), self._theme.palette))
        self._sign.show()
        field = self._fields.get(error.argument)
        if field is not None:
            field.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def error_text(self) -> str:
        """What was refused, or nothing."""
        return self._error.text()

    def clear_error(self) -> None:
        """Forget the last refusal, and take Enter again."""
        self._is_waiting = False
        self._error.clear()
        self._error.hide()
        self._sign.hide()

    def event(self, event: QEvent) -> bool:
        """Esc is this form's while it has the focus, not the window's."""
        if (
            self._can_leave
            and event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._can_leave:
            self._leave()
        elif event.key() in _ENTER:
            pressed = QApplication.focusWidget()
            if isinstance(pressed, QPushButton):
                pressed.click()
            else:
                self._confirm()
        else:
            super().keyPressEvent(event)

    def wait(self) -> None:
        """Take no second Enter until the answer is here, so that nothing is recorded twice."""
        self._is_waiting = True

    def _confirm(self) -> None:
        if not self._is_waiting:
            self.confirmed.emit()

    def _leave(self) -> None:
        self.clear_error()
        self.left.emit()


def _quiet(text: str) -> QLabel:
    label = QLabel(text)
    label.setProperty("quiet", True)
    return label


def choice(options: dict[str, str], *, may_type: bool = False) -> QComboBox:
    """Make a combo box of values and their words; with `may_type` other words may be typed."""
    box = QComboBox()
    box.setEditable(may_type)
    if may_type:
        box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        box.setCompleter(None)  # type: ignore[arg-type]  # what is typed stays as it is typed
    for value, words in options.items():
        box.addItem(words, value)
    return box
