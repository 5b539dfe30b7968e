"""A form built from a list of fields, for the steps that a frame's page records."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import (
    OptionalDate,
    choices,
    number_field,
    optional_number_in,
    optional_whole_in,
    today_here,
)
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import tr

Kind = Literal["text", "number", "count", "date", "moment", "choice", "yes_no"]
_MOMENT = "%Y-%m-%d %H:%M"


@dataclass(frozen=True, slots=True)
class FormField:
    """One field of a form.

    `key` is the name by which a service refuses it; `choices` are the words of a choice.
    """

    key: str
    label: str
    kind: Kind = "text"
    initial: Any = None
    choices: tuple[str, ...] = ()


class StepForm(FormDialog):
    """Asks for what a step needs and records it."""

    def __init__(
        self,
        bench: Bench,
        title: str,
        subject: str,
        fields: Sequence[FormField],
        record: Callable[[Desk, dict[str, Any]], Done],
        parent: QWidget,
    ) -> None:
        super().__init__(bench, title, tr("Record"), purpose=subject, parent=parent, wide=34)
        self._record = record
        self._kinds = {field.key: field.kind for field in fields}
        for field in fields:
            self._add(field)
        if fields:
            self.input(fields[0].key).setFocus()

    def input(self, key: str) -> QWidget:
        """Give the widget of a field."""
        return self._fields[key]

    def order(self) -> Callable[[Desk], Done]:
        values = {key: self._value(key, kind) for key, kind in self._kinds.items()}
        record = self._record
        return lambda desk: record(desk, values)

    def _add(self, field: FormField) -> None:
        if field.kind in ("date", "yes_no"):  # the label is part of what is ticked
            widget = self._ticked(field)
            self._fields[field.key] = widget
            self.form.addRow("", widget)
            return
        if field.kind == "choice":
            words = {name: name for name in field.choices}
            self.add_field(field.key, field.label, choices(words, str(field.initial or "")))
        elif field.kind in ("number", "count"):
            line = number_field(field.initial, self.bench.formatter)
            self.add_field(field.key, field.label, line)
        elif field.kind == "moment":
            line = QLineEdit(field.initial.astimezone().strftime(_MOMENT))
            self.add_field(field.key, field.label, line)
        else:
            self.add_field(field.key, field.label, QLineEdit(field.initial or ""))

    def _ticked(self, field: FormField) -> QWidget:
        if field.kind == "date":
            date = OptionalDate(field.label, field.initial or today_here())
            date.show_day(field.initial)
            return date
        box = QCheckBox(field.label)
        box.setChecked(bool(field.initial))
        return box

    def _value(self, key: str, kind: Kind) -> Any:
        widget, formatter = self._fields[key], self.bench.formatter
        if isinstance(widget, OptionalDate):
            return widget.day()
        if isinstance(widget, QCheckBox):
            return widget.isChecked()
        if isinstance(widget, QComboBox):
            return widget.currentData()
        assert isinstance(widget, QLineEdit)
        if kind == "number":
            return optional_number_in(widget, key, formatter)
        if kind == "count":
            return optional_whole_in(widget, key, formatter)
        if kind == "moment":
            return _moment(widget.text(), key)
        return widget.text().strip()


def _moment(text: str, argument: str) -> dt.datetime:
    """Read a date and time of this bench."""
    try:
        return dt.datetime.strptime(text.strip(), _MOMENT).astimezone()
    except ValueError as wrong:
        raise NotValid(
            say("“{text}” is not a date and time as this field reads them.", text=text.strip()),
            hint=say("Write them like {shape}.", shape="2025-03-31 14:05"),
            argument=argument,
        ) from wrong
