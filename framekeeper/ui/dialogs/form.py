"""The shape that all forms share: fields with labels, one confirming key, trouble told in place.

Enter confirms and Esc leaves. A refusal is told at the form, beside what was typed, and the field
that it is about gets the focus. Leaving with something typed asks once, in the same place.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import mark_pixmap

WIDE = 38  # of the body's type size


class Trouble(QWidget):
    """What was refused, what was kept and what to do; takes no room while all is well."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._mark = QLabel()
        self._words = QLabel()
        self._words.setWordWrap(True)
        self._words.setAccessibleName(tr("Message"))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 2 * STEP, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self._mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self._words, 1)
        theme.changed.connect(self._dress)
        self._dress()
        self.hide()

    @property
    def text(self) -> str:
        """What is said now."""
        return self._words.text()

    def say(self, text: str) -> None:
        """Tell trouble; an empty text takes it away."""
        self._words.setText(text)
        self._words.setAccessibleDescription(text)
        self.setVisible(bool(text))

    def _dress(self) -> None:
        size = self._theme.px("body")
        self._mark.setPixmap(mark_pixmap("below", size, self._theme.palette))


class FormDialog(QDialog):
    """A form over a place. Subclasses add fields and say in `order` what the fields ask for.

    Signals
    -------
    succeeded(done)
        The shop took it; `done` is the result of the service.
    """

    succeeded = Signal(object)

    def __init__(
        self,
        bench: Bench,
        title: str,
        confirm: str,
        *,
        purpose: str = "",
        parent: QWidget | None = None,
        wide: int = WIDE,
    ) -> None:
        super().__init__(parent)
        self.bench = bench
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(title)
        self.setMinimumWidth(wide * bench.theme.px("body"))
        self._fields: dict[str, QWidget] = {}
        self._untouched: list[object] | None = None
        self._may_leave = False
        self.trouble = Trouble(bench.theme)
        self.form = self._rows()
        self.confirm_button = QPushButton(confirm)
        self.confirm_button.setProperty("main", True)
        self.confirm_button.setDefault(True)
        self.confirm_button.setToolTip(tr("{action} (Enter)", action=confirm.replace("&", "")))
        self.confirm_button.clicked.connect(self.confirm)
        self.leave_button = QPushButton(tr("Leave"))
        self.leave_button.setAutoDefault(False)
        self.leave_button.setToolTip(tr("Leave without a change (Esc)"))
        self.leave_button.clicked.connect(self.reject)
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(6 * STEP, 5 * STEP, 6 * STEP, 5 * STEP)
        self.column.setSpacing(3 * STEP)
        self._add_heading(title, purpose)
        self.column.addLayout(self.form)
        self._add_foot()

    def _add_heading(self, title: str, purpose: str) -> None:
        heading = QLabel(title)
        heading.setFont(self.bench.theme.font("large"))
        self.column.addWidget(heading)
        if purpose:
            self.column.addWidget(self.note(purpose))

    def _add_foot(self) -> None:
        foot = QHBoxLayout()
        foot.setSpacing(2 * STEP)
        foot.addStretch(1)
        foot.addWidget(self.leave_button)
        foot.addWidget(self.confirm_button)
        self.column.addStretch(0)
        self.column.addWidget(self.trouble)
        self.column.addLayout(foot)

    # building

    def note(self, text: str) -> QLabel:
        """Make a line of quiet words that may wrap."""
        words = QLabel(text)
        words.setProperty("quiet", True)
        words.setWordWrap(True)
        words.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        return words

    def add_field(
        self,
        argument: str,
        label: str,
        field: QWidget,
        hint: str = "",
        *,
        form: QFormLayout | None = None,
    ) -> None:
        """Add a labelled field; `argument` is the name by which a service refuses it."""
        rows = form or self.form
        self._fields[argument] = field
        field.setAccessibleName(field.accessibleName() or label.replace("&", ""))
        words = QLabel(label)
        words.setBuddy(field)
        words.setMinimumWidth(words.sizeHint().width() + STEP)  # else its last letter may be cut
        field.ensurePolished()
        words.setMinimumHeight(field.sizeHint().height())  # else it hangs above the field's text
        rows.addRow(words, field)
        if hint:
            field.setAccessibleDescription(hint)
            rows.addRow("", self.note(hint))

    def add_aside(self, widget: QWidget, stretch: int = 0) -> None:
        """Put a widget between the fields and the foot."""
        self.column.insertWidget(self.column.count() - 3, widget, stretch)

    def two_columns(self) -> tuple[QFormLayout, QFormLayout]:
        """Make room for two columns of fields between the first fields and the foot."""
        sides = QWidget()
        row = QHBoxLayout(sides)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8 * STEP)
        columns = self._rows(), self._rows()
        for column in columns:
            row.addLayout(column, 1)
        self.add_aside(sides)
        return columns

    def _rows(self) -> QFormLayout:
        rows = QFormLayout()
        rows.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        rows.setHorizontalSpacing(4 * STEP)
        rows.setVerticalSpacing(2 * STEP)
        return rows

    # the work

    def order(self) -> Callable[[Desk], Done]:
        """Return what the shop shall do, from what was typed; raise `NotValid` to refuse."""
        raise NotImplementedError

    def confirm(self) -> None:
        """Ask the shop to do it."""
        self.trouble.say("")
        try:
            work = self.order()
        except FramekeeperError as refused:
            self.show_trouble(refused)
            return
        self.confirm_button.setEnabled(False)
        self.bench.change(work, self._done, owner=self, fail=self.show_trouble)

    def show_trouble(self, error: FramekeeperError) -> None:
        """Tell a refusal, and put the focus where it comes from."""
        self.confirm_button.setEnabled(True)
        self.say_trouble(self.bench.formatter.error(error))
        field = self._fields.get(error.argument)
        if field is not None:
            field.setFocus()
            if isinstance(field, QLineEdit):
                field.selectAll()

    def say_trouble(self, text: str) -> None:
        """Tell something at the foot of the form, and make room for it."""
        self.trouble.say(text)
        self.make_room()

    def make_room(self) -> None:
        """Grow as far as the words need; wrapped lines have a height only at a known width."""
        self.column.activate()
        needed = self.column.totalHeightForWidth(self.width())
        if needed > self.height():
            self.resize(self.width(), needed)

    def _done(self, done: Any) -> None:
        self.succeeded.emit(done)
        self.accept()

    # leaving

    def open(self) -> None:
        """Show the form, and remember what stands in it so far."""
        self._untouched = self._contents()
        super().open()
        self.make_room()
        if self.focusWidget() in (None, self.confirm_button, self.leave_button):
            next(iter(self._fields.values()), self.confirm_button).setFocus()

    def reject(self) -> None:
        """Leave; where something was typed, a second Esc is needed."""
        if self._contents() != (self._untouched or []) and not self._may_leave:
            self._may_leave = True
            self.say_trouble(
                tr("What you typed is not saved. Press Esc again to leave without it.")
            )
            return
        super().reject()

    def _contents(self) -> list[object]:
        contents: list[object] = []
        for field in self.findChildren(QWidget):
            if isinstance(field, QLineEdit):
                contents.append(field.text())
            elif isinstance(field, QPlainTextEdit):
                contents.append(field.toPlainText())
            elif isinstance(field, QComboBox):
                contents.append(field.currentText())
            elif isinstance(field, QAbstractSpinBox):
                contents.append(field.text())
            elif isinstance(field, QAbstractButton) and field.isCheckable():
                contents.append(field.isChecked())
        return contents
