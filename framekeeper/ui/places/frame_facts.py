"""What is known of a frame at a look: its facts, what is due for it and why."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from framekeeper.domain.trade_words import FRAME_KIND_WORDS, TASK_WORDS
from framekeeper.services.frame_page import FramePage
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.status_mark import StatusMark

_PAIRS_IN_A_ROW = 4


class FrameFacts(QWidget):
    """Names and values, a few pairs in a row."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(4 * STEP)
        self._grid.setVerticalSpacing(0)
        for place in range(_PAIRS_IN_A_ROW):
            self._grid.setColumnStretch(place, 1)
        self._labels: list[QLabel] = []

    def show_page(self, page: FramePage) -> None:
        """Show the facts of a frame; those that nobody knows are left out."""
        for label in self._labels:
            label.deleteLater()
        self._labels = []
        for place, (name, value) in enumerate(self._facts(page)):
            row, column = divmod(place, _PAIRS_IN_A_ROW)
            quiet, words = QLabel(name), QLabel(value)
            quiet.setProperty("quiet", True)
            quiet.setFont(self.bench.theme.font("small"))
            quiet.setContentsMargins(0, STEP if place >= _PAIRS_IN_A_ROW else 0, 0, 0)
            words.setWordWrap(True)
            words.setAccessibleName(tr("{name}: {value}", name=name, value=value))
            words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            self._grid.addWidget(quiet, 2 * row, column)
            self._grid.addWidget(words, 2 * row + 1, column, Qt.AlignmentFlag.AlignTop)
            self._labels += [quiet, words]

    def _facts(self, page: FramePage) -> Iterator[tuple[str, str]]:
        f, frame, life, mesh = self.bench.formatter, page.frame, page.settled.life, page.mesh
        yield tr("Size"), f.size(frame.width_mm, frame.height_mm)
        yield tr("Kind"), f.sentence(FRAME_KIND_WORDS[frame.kind])
        if frame.slot:
            yield tr("Slot"), frame.slot
        if life is not None and mesh is not None:
            yield tr("Mesh"), mesh.name
            if mesh.colour != "not_told":
                yield tr("Colour"), tr(mesh.colour)
            if page.target is not None:
                yield tr("Target"), f.tension(page.target)
            if page.rules.limit is not None:
                yield tr("Limit"), f.tension(page.rules.limit)
            yield tr("Reclaims"), _reclaims(page)
            if life.impressions:
                yield tr("Impressions"), str(life.impressions)
            if life.started_at is not None:
                yield tr("Mesh since"), f.date(f.day_of(life.started_at))
        yield tr("Stretches"), str(page.settled.stretches)


def _reclaims(page: FramePage) -> str:
    life = page.settled.life
    assert life is not None
    if life.reclaims_known:
        return str(life.reclaims)
    return tr_count("at least {n}", "at least {n}", life.reclaims)


class DueList(QWidget):
    """What is due for a frame: the answer, the task, the reason; or that all is well."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(3 * STEP)
        self._grid.setVerticalSpacing(STEP)
        self._grid.setColumnStretch(1, 1)
        self._rows: list[QWidget] = []

    def show_page(self, page: FramePage) -> None:
        """Show what is due."""
        for widget in self._rows:
            widget.deleteLater()
        self._rows = []
        f = self.bench.formatter
        for task in page.tasks:
            words = tr(
                "{task}: {reason}",
                task=f.sentence(TASK_WORDS[task.rule]),
                reason=f.sentence(task.reason),
            )
            self._add(StatusMark(self.bench.theme, task.urgency), words)
        if not page.tasks and page.settled.state in ("ready", "in_use", "to_reclaim"):
            self._add(StatusMark(self.bench.theme, "holds"), tr("Nothing is due for it."))

    def _add(self, mark: StatusMark, words: str) -> None:
        reason = QLabel(words)
        reason.setWordWrap(True)
        reason.setAccessibleName(words)
        row = len(self._rows) // 2
        self._grid.addWidget(mark, row, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(reason, row, 1)
        self._rows += [mark, reason]
