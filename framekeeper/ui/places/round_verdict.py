"""What the last survey means, large enough for a look in passing, and what can be done about it."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.services.tension_round import Judged
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.marks import mark_pixmap
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.verdict_line import verdict_mark, verdict_reasons, verdict_word

_MARK_PX = 44
_TOLD_BY_THE_VERDICT = frozenset({"below_target", "uneven", "unbalanced"})


class VerdictPanel(QFrame):
    """The verdict on one frame, with its figures, what was found, why, and what can be done."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.judged: Judged | None = None
        self.other_meter = ""
        self._was_pulled = False
        theme = bench.theme
        self._picture = QLabel()
        self._word = QLabel()
        self._word.setFont(theme.font("title", bold=True))
        self._frame = QLabel()
        self._frame.setFont(theme.font("body", bold=True))
        self._figures = QLabel()
        self._reasons = QLabel()
        self._reasons.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.again = KeyHintButton(theme, tr("Read again"), "F2")
        self.pull = KeyHintButton(theme, tr("Pull it"), "F4")
        head = QHBoxLayout()
        head.setSpacing(3 * STEP)
        head.addWidget(self._picture)
        head.addWidget(self._word, 1)
        buttons = QHBoxLayout()
        buttons.setSpacing(2 * STEP)
        buttons.addWidget(self.again)
        buttons.addWidget(self.pull)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        column.addWidget(self._frame)
        column.addLayout(head)
        for label in (self._figures, self._reasons):
            label.setWordWrap(True)
            column.addWidget(label)
        column.addSpacing(STEP)
        column.addLayout(buttons)
        theme.changed.connect(self._show)
        self._show()

    @property
    def code(self) -> str:
        """The frame that the answer is about; empty before the first."""
        return self.judged.codes[0] if self.judged else ""

    @property
    def words(self) -> str:
        """All that is said, for a screen reader."""
        parts = (self._frame, self._word, self._figures, self._reasons)
        return ". ".join(part.text() for part in parts if part.text())

    def show_judged(self, judged: Judged, *, other_meter: str = "") -> None:
        """Show what a survey means; the other meter is offered where it is too close to call."""
        self.judged, self._was_pulled = judged, False
        said = judged.judgement
        is_close = said is not None and said.verdict == "too close to call"
        self.other_meter = other_meter if is_close else ""
        self._show()

    def show_pulled(self) -> None:
        """The screen that the answer is about was pulled."""
        self._was_pulled = True
        self._show()

    def reason(self) -> str:
        """Why the screen would be pulled, in this language."""
        tasks = self.judged.tasks if self.judged else ()
        if not tasks:
            return tr("taken out on the tension round")
        return "; ".join(self.bench.formatter.sentence(t.reason) for t in tasks)

    def _show(self) -> None:
        judged = self.judged
        for button in (self.again, self.pull):
            button.setVisible(judged is not None)
            button.setEnabled(judged is not None and not self._was_pulled)
        if judged is None or judged.page is None or judged.figures is None:
            self._picture.setPixmap(QPixmap())
            self._frame.setText(tr("No screen was read yet"))
            self._word.setText("")
            self._figures.setText(
                tr(
                    "After the last number of a screen its verdict stands here: inside, outside, "
                    "or too close to call."
                )
            )
            return
        colours = self.bench.theme.palette
        said = judged.judgement
        mark = verdict_mark(said)
        self._picture.setPixmap(mark_pixmap(mark, _MARK_PX, colours) if mark else QPixmap())
        word = verdict_word(said, self.bench.formatter) if said else ""
        self._word.setText(tr("pulled") if self._was_pulled else word)
        self.again.setText(
            tr("Read again: {meter}", meter=self.other_meter)
            if self.other_meter
            else tr("Read again")
        )
        frame = judged.page.frame
        self._frame.setText(
            tr("{slot}   {frame}", slot=frame.slot, frame=frame.name) if frame.slot else frame.name
        )
        self._figures.setText(self._figures_text(judged))
        self._reasons.setText("\n".join(self._reasons_of(judged)))
        self.setAccessibleName(tr("Verdict of the last survey"))
        self.setAccessibleDescription(self.words)

    def _reasons_of(self, judged: Judged) -> list[str]:
        """What the readings say, then what is due for the screen, once each."""
        said, page = judged.judgement, judged.page
        found = verdict_reasons(said, self.bench.formatter) if said else []
        last = page.last_survey if page else None
        if page is not None and last is not None and last.event.event_id in page.overdue:
            found.insert(0, tr("Meter overdue: its certificate had run out."))
        is_told = said is not None and said.verdict in ("outside", "too close to call")
        own = [t for t in judged.tasks if not (is_told and t.rule in _TOLD_BY_THE_VERDICT)]
        tasks = judged.page.tasks if judged.page else ()
        due = (*own, *(t for t in tasks if t not in judged.tasks))
        return [*found, *(self.bench.formatter.sentence(t.reason) for t in due)]

    def _figures_text(self, judged: Judged) -> str:
        f, figures, page = self.bench.formatter, judged.figures, judged.page
        assert figures is not None
        assert page is not None
        said = tr(
            "{mean}, lowest {lowest}, spread {spread}.",
            mean=f.tension(figures.mean),
            lowest=f.number(figures.lowest),
            spread=f.number(figures.spread),
        )
        if page.target is None or page.rules.limit is None:
            return said
        levels = tr(
            "Target {target}, limit {limit}.",
            target=f.number(page.target),
            limit=f.number(page.rules.limit),
        )
        return f"{said}\n{levels}"
