"""The head of a frame's page: its code, its state and marks, and the next step as one button."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.domain.sentence import Sentence
from framekeeper.domain.trade_words import DAMAGE_WORDS, STATE_WORDS
from framekeeper.services.frame_page import FramePage
from framekeeper.services.tension_round import Answer, answer_of
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_actions import Action
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.marks import mark_pixmap
from framekeeper.ui.widgets.notices import KeyHintButton

_MARK_PX = 28


class FrameHead(QWidget):
    """Says which frame this is and what comes next."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        theme = bench.theme
        self._answer: Answer | None = None
        self._mark = QLabel()
        self._code = QLabel()
        self._code.setFont(theme.font("title", bold=True))
        self._code.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._label = QLabel()
        self._label.setFont(theme.font("title"))
        self._state = QLabel()
        self._state.setWordWrap(True)
        self.next = KeyHintButton(theme, tr("Next"), "G", is_main=True)
        self.edit = KeyHintButton(theme, tr("Edit"), "E")
        self.label = KeyHintButton(theme, tr("Label"), "Ctrl+L")
        self.sheet = KeyHintButton(theme, tr("Tension sheet"), "Ctrl+P")
        first = QHBoxLayout()
        first.setSpacing(3 * STEP)
        first.addWidget(self._mark)
        first.addWidget(self._code)
        first.addWidget(self._label)
        first.addStretch(1)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addLayout(first)
        words.addWidget(self._state)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addLayout(words, 1)
        for button in (self.edit, self.label, self.sheet, self.next):
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        theme.changed.connect(self._dress)

    def show_page(self, page: FramePage, following: Action | None) -> None:
        """Show the head of this frame."""
        self._code.setText(page.frame.code)
        self._label.setText(page.frame.own_label)
        self._state.setText(self._state_words(page))
        in_service = page.settled.state in ("ready", "in_use", "to_reclaim")
        self._answer = answer_of(page.tasks) if in_service else None
        self._dress()
        self.next.setVisible(following is not None)
        if following is not None:
            self.next.setText(tr("Next: {step}", step=following.title))
        self.setAccessibleName(tr("Frame {name}", name=page.frame.name))
        self.setAccessibleDescription(self._state.text())

    def _dress(self) -> None:
        self._mark.setVisible(self._answer is not None)
        if self._answer is not None:
            self._mark.setPixmap(mark_pixmap(self._answer, _MARK_PX, self.bench.theme.palette))

    @property
    def state(self) -> str:
        """What is said about the state."""
        return self._state.text()

    def _state_words(self, page: FramePage) -> str:
        f, state = self.bench.formatter, page.settled
        parts = [f.sentence(STATE_WORDS[state.state])]
        if state.since is not None:
            since = f.date(f.day_of(state.since))
            parts = [tr("{state} since {day}", state=parts[0], day=since)]
        if state.taken_out_reason and state.state in ("pulled", "retired"):
            parts.append(f.sentence(_why(state.taken_out_reason)))
        if state.hold_reason is not None:
            parts.append(tr("on hold: {reason}", reason=state.hold_reason))
        if state.reserved_job is not None:
            parts.append(tr("reserved for {job}", job=state.reserved_job))
        if state.out_to is not None:
            parts.append(tr("with {who}", who=state.out_to))
        return "   ·   ".join(parts)


def _why(reason: str) -> Sentence | str:
    return DAMAGE_WORDS.get(reason, reason)
