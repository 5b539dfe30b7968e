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
_MARKS: dict[str, Mark] = {"inside": "holds", "too close to call": "soon", "outside": "below"}


def verdict_mark(judged: Judgement | None) -> Mark | None:
    """Give the shape of a verdict: taut, sagging or torn; None where there is no verdict."""
    return None if judged is None or judged.verdict is None else _MARKS[judged.verdict]


def verdict_word(judged: Judgement, formatter: Formatter) -> str:
    """Say the verdict in a word or few."""
    return formatter.sentence(judged.word)


def verdict_reasons(judged: Judgement, formatter: Formatter) -> list[str]:
    """Say what was found with its likely cause, then what decided, then what was assumed."""
    said = [*judged.found, *judged.reasons]
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
        self._picture, self._word, self._why = QLabel(), QLabel(), QLabel()
        self._word.setFont(theme.font("large", bold=True))
        self._why.setWordWrap(True)
        self._why.setMinimumHeight(2 * theme.px("body") + 3 * STEP)  # the drawing keeps its size
        self._why.setAlignment(Qt.AlignmentFlag.AlignTop)
        head = QHBoxLayout()
        head.setSpacing(2 * STEP)
        head.addWidget(self._picture)
        head.addWidget(self._word, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        column.addLayout(head)
        column.addWidget(self._why)
        theme.changed.connect(self._draw)
        self.hide()

    @property
    def words(self) -> str:
        """All that is said."""
        return " ".join(text for text in (self._word.text(), self._why.text()) if text)

    def show_judged(
        self, judged: Judgement | None, *, so_far: tuple[int, int] | None = None
    ) -> None:
        """Show a verdict, or nothing; `so_far` are the whole points and all of them."""
        self._judged = judged
        self.setVisible(judged is not None)
        if judged is None:
            return
        word = verdict_word(judged, self._formatter)
        if so_far is not None and so_far[0] < so_far[1]:
            word = tr("{verdict} so far, {n} of {all} points", verdict=word, n=so_far[0],
                      all=so_far[1])  # fmt: skip
        self._word.setText(word)
        self._why.setText(" ".join(_short(verdict_reasons(judged, self._formatter))))
        self.setAccessibleName(tr("Verdict of the survey"))
        self.setAccessibleDescription(self.words)
        self._draw()

    def _draw(self) -> None:
        mark = verdict_mark(self._judged)
        colours = self._theme.palette
        self._picture.setPixmap(mark_pixmap(mark, _MARK_PX, colours) if mark else QPixmap())
        self._picture.setVisible(mark is not None)


def _short(reasons: Sequence[str]) -> Sequence[str]:
    """Two sentences are read in passing; the whole story stands on the paper and in the panel."""
    return reasons[:2]


def whole_points(readings: Sequence[float | None]) -> tuple[int, int]:
    """Count the points of which both numbers are there, and all points."""
    pairs = list(zip(readings[::2], readings[1::2], strict=False))
    return sum(None not in pair for pair in pairs), len(pairs)
