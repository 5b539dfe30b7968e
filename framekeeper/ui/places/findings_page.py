"""The further pages of the findings: what each can be asked, and in which order they are turned."""

from __future__ import annotations

from importlib import import_module
from typing import NamedTuple

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from framekeeper.ui.bench import Bench


class FindingsPage(QWidget):
    """A page that is turned to by a key.

    Signals
    -------
    summed_up(text)
        An answer is shown; the text says in one line what it rests on.
    """

    summed_up = Signal(str)

    def refresh(self) -> None:
        """Read again what is shown; the answer arrives later."""

    def take_focus(self) -> None:
        """Put the focus where the work begins, or where it was left."""
        self.setFocus()

    @property
    def can_print(self) -> bool:
        """Whether there is anything to print."""
        return False

    def print_shown(self) -> None:
        """Save what is shown as a PDF."""


class PageEntry(NamedTuple):
    """A page: its name, and where its widget is, which is imported when somebody turns to it."""

    key: str
    title: str
    module: str
    widget: str

    def build(self, bench: Bench) -> FindingsPage:
        """Make the page's widget."""
        made = getattr(import_module(f"framekeeper.ui.places.{self.module}"), self.widget)(bench)
        assert isinstance(made, FindingsPage)
        return made


FURTHER_PAGES: tuple[PageEntry, ...] = (
    PageEntry("lives", "Lives", "lives_page", "LivesPage"),
    PageEntry("costs", "Costs", "costs_page", "CostsPage"),
)
