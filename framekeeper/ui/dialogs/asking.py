"""How the window asks for a file: behind one small Protocol, so that a test can answer instead."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from PySide6.QtCore import QSaveFile, QStandardPaths, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QWidget

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.ui.text import tr


class Prompter(Protocol):
    """Asks a person a question; the answer comes later, or never."""

    def ask(self, question: str, then: Callable[[object], None]) -> None:
        """Ask; `then` gets the answer unless the person gave none."""


class SavePrompter:
    """Asks where a file shall go, without stopping the window."""

    def __init__(self, parent: QWidget, suggested: Path) -> None:
        self._parent, self._suggested = parent, suggested

    def ask(self, question: str, then: Callable[[object], None]) -> None:
        """Open the dialog; `then` gets the path as text."""
        dialog = QFileDialog(self._parent, question, str(self._suggested.parent))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        is_calendar = self._suggested.suffix == ".ics"
        kinds = tr("Calendar files (*.ics)") if is_calendar else tr("PDF papers (*.pdf)")
        dialog.setNameFilter(kinds)
        dialog.setDefaultSuffix("ics" if is_calendar else "pdf")
        dialog.selectFile(self._suggested.name)
        _open(dialog, then)


class OpenPrompter:
    """Asks for a file that shall be read."""

    def __init__(self, parent: QWidget) -> None:
        self._parent = parent

    def ask(self, question: str, then: Callable[[object], None]) -> None:
        """Open the dialog; `then` gets the path as text."""
        dialog = QFileDialog(self._parent, question, str(documents()))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilters(
            [tr("Lists of frames (*.csv *.txt *.tsv *.xlsx *.xls *.ods)"), tr("Every file (*)")]
        )
        _open(dialog, then)


def _open(dialog: QFileDialog, then: Callable[[object], None]) -> None:
    dialog.fileSelected.connect(then)
    dialog.finished.connect(dialog.deleteLater)
    dialog.open()


def documents() -> Path:
    """Return the person's folder for documents."""
    return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation))


def write_file(path: Path, data: bytes) -> None:
    """Write a file whole or not at all.

    Raises
    ------
    StorageTrouble
        If the disk refuses; an older file of that name is still there.
    """
    file = QSaveFile(str(path))
    if file.open(QSaveFile.OpenModeFlag.WriteOnly) and file.write(data) == len(data):
        if file.commit():
            return
    else:
        file.cancelWriting()
    raise StorageTrouble(
        say("The file {path} could not be written: {why}.", path=str(path), why=file.errorString()),
        kept=say("A file of that name is as it was."),
        hint=say("Choose another folder or another name."),
    )


def open_file(path: Path) -> bool:
    """Show a file with the program that this computer uses for it; False where it has none."""
    return QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))
