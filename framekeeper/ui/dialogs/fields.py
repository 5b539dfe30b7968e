"""Reads what was typed into fields, and offers the fields that Qt does not: a date or not known."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import QDate, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QDateEdit, QHBoxLayout, QLineEdit, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import STEP

MOST_AT_ONCE = 500
_LAST_DIGITS = re.compile(r"(\d{1,12})(\D*)\Z", re.ASCII)


class OptionalDate(QWidget):
    """A date that may be left unknown: a box to tick, then the date.

    Signals
    -------
    changed()
        Another date, or it is known or not known now.
    """

    changed = Signal()

    def __init__(self, label: str, day: dt.date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._is_known = QCheckBox(label)
        self._day = QDateEdit(QDate(day.year, day.month, day.day))
        self._day.setDisplayFormat("yyyy-MM-dd")
        self._day.setAccessibleName(label.replace("&", ""))
        self._day.setEnabled(False)
        self._is_known.toggled.connect(self._day.setEnabled)
        self._is_known.toggled.connect(self.changed)
        self._day.dateChanged.connect(self.changed)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self._is_known)
        row.addWidget(self._day, 1)
        self.setFocusProxy(self._is_known)

    def day(self) -> dt.date | None:
        """The date, or None where it is not known."""
        if not self._is_known.isChecked():
            return None
        shown = self._day.date()
        return dt.date(shown.year(), shown.month(), shown.day())

    def show_day(self, day: dt.date | None) -> None:
        """Show a date, or that none is known."""
        self._is_known.setChecked(day is not None)
        if day is not None:
            self._day.setDate(QDate(day.year, day.month, day.day))


def number_in(field: QLineEdit, argument: str, formatter: Formatter) -> float:
    """Read the number in a field, with either decimal sign.

    Raises
    ------
    NotValid
        With the name of the field, so that the form can go there.
    """
    try:
        return formatter.parse_number(field.text())
    except NotValid as refused:
        said = refused.said
        if not field.text().strip():
            said = say("{field} is empty.", field=field.accessibleName())
        raise NotValid(said, hint=refused.hint, argument=argument) from refused


def optional_number_in(field: QLineEdit, argument: str, formatter: Formatter) -> float | None:
    """Read the number in a field; None where it is empty."""
    return number_in(field, argument, formatter) if field.text().strip() else None


def whole_in(field: QLineEdit, argument: str, formatter: Formatter) -> int:
    """Read the whole number in a field."""
    value = number_in(field, argument, formatter)
    if not value.is_integer():
        raise NotValid(
            say("“{text}” is not a whole number.", text=field.text().strip()), argument=argument
        )
    return int(value)


def optional_whole_in(field: QLineEdit, argument: str, formatter: Formatter) -> int | None:
    """Read the whole number in a field; None where it is empty."""
    return whole_in(field, argument, formatter) if field.text().strip() else None


def number_field(value: float | None, formatter: Formatter, decimals: int = 1) -> QLineEdit:
    """Make a field that shows a number without needless zeros."""
    field = QLineEdit("" if value is None else shown_number(value, formatter, decimals))
    field.setMaxLength(30)
    return field


def shown_number(value: float, formatter: Formatter, decimals: int = 1) -> str:
    """Write a number as a person would type it, without needless zeros."""
    needed = next(n for n in range(decimals + 1) if round(value, n) == round(value, decimals))
    return formatter.number(value, needed)


def side_by_side(field: QLineEdit, *others: QWidget) -> QWidget:
    """Put a field and what belongs to it on one line; the label's key goes to the field."""
    pair = QWidget()
    row = QHBoxLayout(pair)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(2 * STEP)
    row.addWidget(field, 1)
    for other in others:
        row.addWidget(other, isinstance(other, QLineEdit))
    pair.setFocusProxy(field)
    return pair


def choices(items: Mapping[Any, str], chosen: str) -> QComboBox:
    """Make a list to choose from: keys with the words that are shown."""
    box = QComboBox()
    for key, words in items.items():
        box.addItem(words, key)
    box.setCurrentIndex(max(0, box.findData(chosen)))
    return box


def numbered(first: str, count: int) -> tuple[str, ...]:
    """Count a label up: its last digits go on, with their zeros.

    Raises
    ------
    NotValid
        If several labels are wanted and the first has no digits to count.

    Examples
    --------
    >>> numbered("A-08", 3)
    ('A-08', 'A-09', 'A-10')
    """
    if not first.strip():
        return ("",) * count
    if count == 1:
        return (first.strip(),)
    match = _LAST_DIGITS.search(first.strip())
    if match is None:
        raise NotValid(
            say("“{label}” has no number to count from.", label=first.strip()),
            hint=say("Write the first label with its number, such as A-01."),
            argument="own_label",
        )
    head, digits, tail = first.strip()[: match.start()], match.group(1), match.group(2)
    return tuple(f"{head}{int(digits) + step:0{len(digits)}d}{tail}" for step in range(count))


def today_here() -> dt.date:
    """The date of this computer, for what a date field proposes; services use the shop's clock."""
    return dt.datetime.now().astimezone().date()
