"""A field that finds a grade of the starter book while one types a count and a thread."""

from __future__ import annotations

from PySide6.QtCore import QStringListModel, Signal
from PySide6.QtWidgets import QCompleter, QLineEdit, QWidget

from framekeeper.services.mesh_book import (
    BASIS_WORDS,
    Grade,
    Sourced,
    alias_words,
    find_grades,
)
from framekeeper.ui.text import Formatter, tr

_MOST_SHOWN = 12


class GradeField(QLineEdit):
    """Lists the grades that the typed numbers mean.

    Signals
    -------
    chosen(grade)
        One of them was chosen.
    """

    chosen = Signal(object)

    def __init__(self, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._formatter = formatter
        self._found: dict[str, Grade] = {}
        self._words = QStringListModel(self)
        completer = QCompleter(self._words, self)
        completer.setCompletionMode(QCompleter.CompletionMode.UnfilteredPopupCompletion)
        completer.setMaxVisibleItems(_MOST_SHOWN)
        popup = completer.popup()
        if popup is not None:
            popup.setAccessibleName(tr("Grades of the starter book"))
        self.setCompleter(completer)
        self.setPlaceholderText(tr("a count and a thread, such as 230 48"))
        self.textEdited.connect(self._find)
        completer.activated.connect(self._choose)

    @property
    def offered(self) -> tuple[Grade, ...]:
        """The grades that are listed now."""
        return tuple(self._found.values())

    def _find(self, text: str) -> None:
        """List what the text means before the list is shown for it."""
        self._found = {grade_line(g, self._formatter): g for g in find_grades(text)}
        self._words.setStringList(list(self._found))

    def _choose(self, line: str) -> None:
        grade = self._found.get(line)
        if grade is not None:
            self.chosen.emit(grade)


def grade_line(grade: Grade, formatter: Formatter) -> str:
    """Say one grade on one line."""
    per = tr("per cm") if grade.count_unit == "cm" else tr("per inch")
    colours = " / ".join(tr("white") if c == "white" else tr("yellow") for c in grade.colours)
    sold = " = ".join(formatter.number(count, 0) for count in grade.aliases)
    line = tr(
        "{name}   {count} {per}, {thread} µm, {weave}, {colours}",
        name=grade.name,
        count=formatter.number(grade.count, 0),
        per=per,
        thread=formatter.number(grade.thread_um, 0),
        weave=grade.weave,
        colours=colours,
    )
    return tr("{line}, sold as {sold} per inch", line=line, sold=sold) if sold else line


def grade_words(grade: Grade, formatter: Formatter) -> str:
    """Say where a grade and its numbers come from, and what else it is sold as."""
    said = []
    alias = alias_words(grade)
    if alias is not None:
        said.append(formatter.sentence(alias))
    said.append(
        tr(
            "Opening: {opening}. Thickness: {thickness}.",
            opening=_basis(grade.opening_um, formatter),
            thickness=_basis(grade.thickness_um, formatter),
        )
    )
    if len(grade.colours) > 1:
        said.append(tr("White and dyed are both sold: choose the colour."))
    return " ".join(said)


def _basis(value: Sourced, formatter: Formatter) -> str:
    return formatter.sentence(BASIS_WORDS[value.basis])
