"""The part of a mesh type's form that says when its screens are read, and what that would do.

The effect is worked out while the thresholds are typed, before anything is saved: the shop is read
once on the database thread, each change of mind is pure maths on the other.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.tasks import MeshRules
from framekeeper.services import meshes, rule_effect
from framekeeper.services.rule_effect import Effect, Ground
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import number_field, optional_number_in, optional_whole_in
from framekeeper.ui.tasks import Job
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import STEP

WAIT_MS = 250  # after the last key: half a number is nothing to work out
PERCENT = 100


class ReadingFields:
    """The three thresholds that decide when a screen is read again."""

    def __init__(self, rules: MeshRules, formatter: Formatter) -> None:
        self._formatter = formatter
        percent = None if rules.risk is None else PERCENT * rules.risk
        self.risk = number_field(percent, formatter, decimals=2)
        self.longest = number_field(rules.longest_wait_days, formatter)
        self.days = number_field(rules.days_between_readings, formatter)
        self.risk.setPlaceholderText(tr("empty: by the fixed interval"))
        self.longest.setPlaceholderText(tr("empty: a year"))
        self.days.setPlaceholderText(tr("empty: no such rule"))

    def rows(self) -> tuple[tuple[str, str, QLineEdit], ...]:
        """List argument, label and field."""
        return (
            ("risk", tr("Risk of b&eing below the limit, %"), self.risk),
            ("longest_wait_days", tr("Lon&gest wait between readings, days"), self.longest),
            ("days_between_readings", tr("Fixed interval, &days"), self.days),
        )

    def risk_typed(self) -> float | None:
        """The risk as a share.

        Raises
        ------
        NotValid
            For what is no number.
        """
        percent = optional_number_in(self.risk, "risk", self._formatter)
        return None if percent is None else percent / PERCENT

    def longest_typed(self) -> int | None:
        """The longest wait in days."""
        return optional_whole_in(self.longest, "longest_wait_days", self._formatter)

    def days_typed(self) -> int | None:
        """The fixed interval in days."""
        return optional_whole_in(self.days, "days_between_readings", self._formatter)


class EffectLines(QWidget):
    """Tells what the thresholds do now, and what those that are typed would do.

    Signals
    -------
    told()
        Other words, which may need other room.
    """

    told = Signal()

    def __init__(
        self,
        bench: Bench,
        mesh_name: str,
        typed: Callable[[], MeshRules],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._bench = bench
        self._typed = typed
        self._ground: Ground | None = None
        self._present: Effect | None = None
        self._job: Job | None = None
        self.now, self.then, self.note = QLabel(), QLabel(), QLabel()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(STEP)
        for label in (self.now, self.then, self.note):
            label.setWordWrap(True)
            label.setAlignment(Qt.AlignmentFlag.AlignTop)
            label.setMinimumHeight(
                bench.theme.px("body")
            )  # else Qt asks for what a narrow one needs
            column.addWidget(label)
        column.addStretch(1)
        self.then.setFont(bench.theme.font("body", bold=True))
        self.note.setProperty("quiet", True)
        self.now.setText(tr("Working out what the thresholds do …"))
        self.setAccessibleName(tr("What the thresholds do"))
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(WAIT_MS)
        self._timer.timeout.connect(self._work_out)
        bench.read(
            lambda desk: rule_effect.gather(desk, mesh_name),
            self._gathered,
            owner=self,
            fail=self._could_not,
        )

    def look_again(self) -> None:
        """Something else was typed."""
        if self._ground is not None:
            self._timer.start()

    def _gathered(self, ground: Ground) -> None:
        self._ground = ground
        if not ground.screens:
            self._tell(tr("No screen in service carries this mesh and was read yet."), "", "")
            return
        self._work_out()

    def _work_out(self) -> None:
        ground, present = self._ground, self._present
        if ground is None or not ground.screens:
            return
        if self._job is not None:
            self._job.cancel()  # what was typed before is of no interest any more
        job = self._job = Job()
        try:
            rules = self._typed()
            meshes.check_rules(rules)
        except FramekeeperError as refused:
            words = self._bench.formatter.sentence(refused.said)
            self._tell(self.now.text(), tr("With this: {what}", what=words), "")
            return

        def both() -> tuple[Effect, Effect]:
            known = present or rule_effect.effect_on(ground, ground.mesh.rules)
            return known, rule_effect.effect_on(ground, rules)

        def show(effects: tuple[Effect, Effect]) -> None:
            if job is self._job:
                self._show(*effects, is_same=rules == ground.mesh.rules)

        self._bench.tasks.compute(both, show, self._could_not, owner=self, job=job)

    def _show(self, present: Effect, then: Effect, *, is_same: bool) -> None:
        self._present = present
        sentence = self._bench.formatter.sentence
        words = tr("With this: {what}.", what=sentence(then.said))
        if is_same:
            words = tr("Change a threshold to see what it would do.")
        self._tell(
            tr("Now: {what}.", what=sentence(present.said)),
            words,
            " ".join(sentence(note) for note in then.notes),
        )

    def _tell(self, now: str, then: str, note: str) -> None:
        for label, words in ((self.now, now), (self.then, then), (self.note, note)):
            label.setText(words)
        self.setAccessibleDescription(" ".join((now, then, note)).strip())
        self.told.emit()

    def _could_not(self, error: FramekeeperError) -> None:
        self._tell(self._bench.formatter.error(error), "", "")
