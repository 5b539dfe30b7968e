"""Remembers what a widget held before a scan landed in it, and puts it back.

Text, cursor and selection of fields; the chosen row of lists, tables and boxes, which jump to what
is typed.
"""

from __future__ import annotations

from collections.abc import Callable

import shiboken6
from PySide6.QtCore import QItemSelection, QItemSelectionModel, QModelIndex, QPersistentModelIndex
from PySide6.QtGui import QTextCursor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)


def remember(widget: QWidget) -> Callable[[], None]:
    """Take a picture of the widget's input; the answer puts it back, if the widget still lives."""
    restore = _restorer(widget)

    def put_back() -> None:
        if shiboken6.isValid(widget):
            restore()

    return put_back


def _restorer(widget: QWidget) -> Callable[[], None]:
    if isinstance(widget, QLineEdit):
        return _line(widget)
    if isinstance(widget, QAbstractSpinBox):
        return _line(widget.lineEdit())
    if isinstance(widget, QPlainTextEdit | QTextEdit):
        return _text(widget)
    if isinstance(widget, QComboBox):
        return _box(widget)
    if isinstance(widget, QAbstractItemView):
        return _rows(widget)
    return lambda: None


def _box(box: QComboBox) -> Callable[[], None]:
    row, line = box.currentIndex(), box.lineEdit()
    # The field of an editable box hands the focus on to the box, so its words are kept here.
    put_words_back = None if line is None else _line(line)

    def put_back() -> None:
        box.setCurrentIndex(row)
        if put_words_back is not None:
            put_words_back()

    return put_back


def _line(field: QLineEdit) -> Callable[[], None]:
    text, cursor, modified = field.text(), field.cursorPosition(), field.isModified()
    start, length = field.selectionStart(), field.selectionLength()

    def put_back() -> None:
        field.setText(text)
        field.setModified(modified)
        if start >= 0:
            # A selection made backwards has its cursor at its start.
            if cursor == start:
                field.setSelection(start + length, -length)
            else:
                field.setSelection(start, length)
        else:
            field.setCursorPosition(cursor)

    return put_back


def _text(field: QPlainTextEdit | QTextEdit) -> Callable[[], None]:
    before = field.toPlainText()
    cursor = field.textCursor()
    anchor, position = cursor.anchor(), cursor.position()

    def put_back() -> None:
        if field.toPlainText() != before:
            field.setPlainText(before)
        cursor = field.textCursor()
        cursor.setPosition(anchor)
        cursor.setPosition(position, QTextCursor.MoveMode.KeepAnchor)
        field.setTextCursor(cursor)

    return put_back


def _rows(view: QAbstractItemView) -> Callable[[], None]:
    current = QPersistentModelIndex(view.currentIndex())
    model = view.selectionModel()
    chosen = [QPersistentModelIndex(index) for index in model.selectedIndexes()] if model else []

    def put_back() -> None:
        selection = view.selectionModel()
        if selection is None:
            return
        flags = QItemSelectionModel.SelectionFlag
        was = QItemSelection()
        for kept in chosen:
            index = _live(view, kept)
            was.select(index, index)
        selection.setCurrentIndex(_live(view, current), flags.NoUpdate)
        selection.select(was, flags.ClearAndSelect)

    return put_back


def _live(view: QAbstractItemView, kept: QPersistentModelIndex) -> QModelIndex:
    if not kept.isValid():
        return QModelIndex()
    return view.model().index(kept.row(), kept.column(), kept.parent())
