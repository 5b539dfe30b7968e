"""The last scan of the washout, large, with the keys for what is found while the screen drips."""

from __future__ import annotations

from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from framekeeper.services.washout import Washed
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.marks import mark_pixmap
from framekeeper.ui.widgets.notices import KeyHintButton

_MARK_PX = 20


class LastScan(QFrame):
    """What was reclaimed last; its buttons are about that screen."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.washed: Washed | None = None
        theme = bench.theme
        self._code = QLabel()
        self._code.setFont(theme.font("title", bold=True))
        self._what = QLabel()
        self._what.setFont(theme.font("large"))
        self._what.setWordWrap(True)
        self._facts = QLabel()
        self._facts.setWordWrap(True)
        self._facts.setProperty("quiet", True)
        self._mark = QLabel()
        self._inspection = QLabel()
        self._inspection.setWordWrap(True)
        self._inspection.setFont(theme.font("body", bold=True))
        self.haze = KeyHintButton(theme, tr("Haze remover on it"), "F2")
        self.damage = KeyHintButton(theme, tr("Damage"), "F4")
        self.inspected = KeyHintButton(theme, tr("Inspected"), "F5")
        self.findings = KeyHintButton(theme, tr("Findings"), "F6")
        self.undo = KeyHintButton(theme, tr("Undo this scan"), "F8")
        due = QHBoxLayout()
        due.setSpacing(2 * STEP)
        due.addWidget(self._mark)
        due.addWidget(self._inspection, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        for label in (self._code, self._what, self._facts):
            column.addWidget(label)
        column.addLayout(due)
        column.addSpacing(2 * STEP)
        column.addLayout(self._keys())
        theme.changed.connect(self._show)
        self._show()

    @property
    def words(self) -> str:
        """All that is said, for a screen reader."""
        parts = (self._code, self._what, self._facts, self._inspection)
        return ". ".join(part.text() for part in parts if part.text())

    @property
    def buttons(self) -> tuple[KeyHintButton, ...]:
        """The keys that are about this screen."""
        return self.haze, self.damage, self.inspected, self.findings, self.undo

    def show_washed(self, washed: Washed | None) -> None:
        """Show a scan, or that there is none yet."""
        self.washed = washed
        self._show()

    def _keys(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(2 * STEP)
        for place, button in enumerate(self.buttons):
            grid.addWidget(button, place // 2, place % 2)
        return grid

    def _show(self) -> None:
        washed = self.washed
        for button in self.buttons:
            button.setEnabled(washed is not None)
        self._mark.setPixmap(QPixmap())
        if washed is None or washed.frame is None:
            self._code.setText(tr("No scan yet"))
            self._what.setText(tr("Each scan records one reclaim."))
            self._facts.setText("")
            self._inspection.setText("")
            return
        frame = washed.frame
        self._code.setText(frame.name)
        self._what.setText(
            tr("reclaimed with haze remover") if washed.haze_remover else tr("reclaimed")
        )
        self.haze.setText(tr("No haze remover") if washed.haze_remover else tr("Haze remover"))
        self._facts.setText(self._facts_text(washed))
        task = washed.inspection
        self._inspection.setText(
            tr("Inspect it: {reason}", reason=self.bench.formatter.sentence(task.reason))
            if task
            else ""
        )
        if task:
            self._mark.setPixmap(mark_pixmap(task.urgency, _MARK_PX, self.bench.theme.palette))
        self.setAccessibleName(tr("Last scan"))
        self.setAccessibleDescription(self.words)

    def _facts_text(self, washed: Washed) -> str:
        frame = washed.frame
        assert frame is not None
        parts = [tr("slot {slot}", slot=frame.slot)] if frame.slot else []
        if frame.state.life is not None:
            count = frame.state.life.reclaims
            parts.append(tr_count("{n} reclaim of this mesh", "{n} reclaims of this mesh", count))
        if washed.findings:
            parts.append(washed.findings)
        return "   ·   ".join(parts)
