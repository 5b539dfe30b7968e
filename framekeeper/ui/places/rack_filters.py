"""The line above the Rack: words, state, mesh and answers to show, and their order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QWidget

from framekeeper.domain.natural_order import natural
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.ui.places.rack_list import (
    SORTS,
    RackQuery,
    RackRow,
    left_words,
    mark_words,
    present_states,
)
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP


class FilterText(QLineEdit):
    """Filters while it is typed in; Enter and Down go to what was found, Esc takes it away."""

    def __init__(self, go_on: Callable[[], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._go_on = go_on
        self.setClearButtonEnabled(True)
        self.setMaxLength(100)
        self.setPlaceholderText(tr("Code, label, mesh, slot … (F3)"))
        self.setAccessibleName(tr("Show only frames with these words"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
            self._go_on()
        elif event.key() == Qt.Key.Key_Escape:
            self.clear()
            self._go_on()
        else:
            super().keyPressEvent(event)


class RackFilters(QWidget):
    """Says what of the rack is asked for.

    Signals
    -------
    changed()
        Something else is asked for.
    """

    changed = Signal()

    def __init__(self, go_on: Callable[[], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = FilterText(go_on)
        self.state, self.mesh, self.mark = QComboBox(), QComboBox(), QComboBox()
        self.left, self.sort = QComboBox(), QComboBox()
        _fill(self.state, tr("Every state"), {})
        _fill(self.mesh, tr("Every mesh"), {})
        _fill(self.mark, tr("Every answer"), mark_words())
        _fill(self.left, tr("Any days left"), left_words())
        names = (
            tr("By slot"),
            tr("By code"),
            tr("Slackest first"),
            tr("Fewest days left"),
            tr("Longest unread"),
        )
        for sort, words in zip(SORTS, names, strict=True):
            self.sort.addItem(words, sort)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self.words, 1)
        for box, name in (
            (self.state, tr("Show only this state")),
            (self.mesh, tr("Show only this mesh")),
            (self.mark, tr("Show only this answer")),
            (self.left, tr("Show only those with such days left")),
            (self.sort, tr("Sort the frames")),
        ):
            box.setAccessibleName(name)
            box.setToolTip(name)
            box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
            box.currentIndexChanged.connect(self.changed)
            row.addWidget(box)
        self.words.textChanged.connect(self.changed)

    @property
    def query(self) -> RackQuery:
        """What is asked for now."""
        return RackQuery(
            self.words.text(),
            self.state.currentData() or "",
            self.mesh.currentData() or "",
            self.mark.currentData() or "",
            self.sort.currentData() or SORTS[0],
            self.left.currentData() or "",
        )

    def offer(self, rows: Iterable[RackRow], formatter: Formatter) -> None:
        """Offer the states and meshes that occur; what is chosen stays chosen."""
        listed = list(rows)
        states: dict[str, str] = {
            s: formatter.sentence(STATE_WORDS[s]) for s in present_states(listed)
        }
        meshes = sorted({row.mesh_name for row in listed if row.mesh_name}, key=natural)
        _fill(self.state, tr("Every state"), states)
        _fill(self.mesh, tr("Every mesh"), {name: name for name in meshes})

    def begin(self) -> None:
        """Go to the words."""
        self.words.setFocus()
        self.words.selectAll()

    def clear(self) -> None:
        """Ask for every frame again; the order stays."""
        for box in (self.state, self.mesh, self.mark, self.left):
            with QSignalBlocker(box):
                box.setCurrentIndex(0)
        with QSignalBlocker(self.words):
            self.words.clear()
        self.changed.emit()


def _fill(box: QComboBox, everything: str, items: Mapping[str, str]) -> None:
    """Offer these; what is chosen stays chosen, also where it has become rare."""
    chosen, words = box.currentData() or "", box.currentText()
    with QSignalBlocker(box):
        box.clear()
        box.addItem(everything, "")
        for key, text in items.items():
            box.addItem(text, key)
        if chosen and chosen not in items:
            box.addItem(words, chosen)
        box.setCurrentIndex(max(0, box.findData(chosen)))
