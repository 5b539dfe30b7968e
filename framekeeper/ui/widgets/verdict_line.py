"""The verdict on a survey with its mark and its words, below a drawing or beside a list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP, Theme
from framekeeper.ui.widgets.marks import Mark, mark_pixmap

if TYPE_CHECKING:
    from framekeeper.services.verdicts import Judgement

_MARK_PX = 22
_LINES = 3
_MARKS: dict[str, Mark] = {"inside": "holds", "too close to call": "soon", "outside": "below"}


def verdict_mark(judged: Judgement | None) -> Mark | None:
    """Give the shape of a verdict: taut, sagging or torn; None where there is no verdict."""
    return None if judged is None or judged.verdict is None else _MARKS[judged.verdict]


def verdict_word(judged: Judgement, formatter: Formatter) -> str:
    """Say the verdict in a word or few."""
    return formatter.sentence(judged.word)


def verdict_reasons(judged: Judgement, formatter: Formatter) -> list[str]:
    """Say what was found with its likely cause, then what decided, then what was assumed.

    Beside "inside", what decided comes first: what was found did not decide, and would seem to
    contradict it.
    """
    said = [*judged.found, *judged.reasons]
    if judged.verdict == "inside":
        said = [*judged.reasons[:1], *judged.found, *judged.reasons[1:]]
    if judged.assumed is not None:
        said.append(judged.assumed)
    return [formatter.sentence(sentence) for sentence in said]


class VerdictLine(QWidget):
    """Shows a verdict in the same words as the papers; `so_far` while numbers are still typed."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._formatter = formatter
        self._judged: Judgement | None = None
        self._picture, self._word, self._count, self._why = (QLabel() for _ in range(4))
        self._word.setFont(theme.font("large", bold=True))
        self._count.setFont(theme.font("small"))
        self._count.setProperty("quiet", True)
        self._why.setFont(theme.font("small"))
        self._why.setWordWrap(True)
        self._why.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.setFixedHeight(_LINES * round(1.4 * theme.px("small")))  # nothing jumps
        said = QVBoxLayout()
        said.setSpacing(0)
        said.addWidget(self._word)
        said.addWidget(self._count)
        said.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * STEP)
        row.addWidget(self._picture, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(said)
        row.addSpacing(2 * STEP)
        row.addWidget(self._why, 1)
        theme.changed.connect(self._draw)
        self.hide()

    def hasHeightForWidth(self) -> bool:
        """No: the words may wrap, but the line keeps its height."""
        return False

    @property
    def words(self) -> str:
        """All that is said."""
        said = (self._word.text(), self._count.text(), self._why.text())
        return " ".join(text for text in said if text)

    def show_judged(
        self, judged: Judgement | None, *, so_far: tuple[int, int] | None = None
    ) -> None:
        """Show a verdict, or nothing; `so_far` are the whole points and all of them."""
        self._judged = judged
        self.setVisible(judged is not None)
        if judged is None:
            return
        self._word.setText(verdict_word(judged, self._formatter))
        is_whole = so_far is None or so_far[0] == so_far[1]
        self._count.setText(
            "" if so_far is None or is_whole else tr("so far, {n} of {all} points", n=so_far[0],
                                                     all=so_far[1])
        )  # fmt: skip
        reasons = verdict_reasons(judged, self._formatter)
        self._why.setText(" ".join(reasons[:2]))  # read in passing; the rest on demand
        self.setToolTip("\n".join(reasons))
        self.setAccessibleName(tr("Verdict of the survey"))
        self.setAccessibleDescription(self.words)
        self._draw()

    def _draw(self) -> None:
        mark = verdict_mark(self._judged)
        colours = self._theme.palette
        self._picture.setPixmap(mark_pixmap(mark, _MARK_PX, colours) if mark else QPixmap())
        self._picture.setVisible(mark is not None)


def whole_points(readings: Sequence[float | None]) -> tuple[int, int]:
    """Count the points of which both numbers are there, and all points."""
    pairs = list(zip(readings[::2], readings[1::2], strict=False))
    return sum(None not in pair for pair in pairs), len(pairs)
