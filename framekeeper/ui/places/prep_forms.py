"""The two forms of the prep bench: a step that is skipped, and a frame that fails on the glass."""

from __future__ import annotations

from PySide6.QtWidgets import QComboBox, QLineEdit, QWidget

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import PrepStep
from framekeeper.domain.sentence import say
from framekeeper.services.prep import FLATTEST_GAP_MM, StepRequest
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.prep_table import step_name
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.short_form import ShortForm, choice

SKIPPABLE: tuple[PrepStep, ...] = (
    "old_glue", "abrade", "corners", "degrease", "inspect", "regrind",
)  # fmt: skip


def quick_reasons(step: PrepStep) -> list[str]:
    """List what people usually say when they leave a step out."""
    return {
        "inspect": [tr("inspected on arrival")],
        "old_glue": [tr("new frame, no old glue"), tr("old glue is sound and level")],
        "abrade": [tr("face is rough enough"), tr("new frame, sand-blasted face")],
        "corners": [tr("corners are round already")],
        "degrease": [tr("degreased just before")],
        "regrind": [tr("face is level and sound")],
    }[step]


class SkipForm(ShortForm):
    """Which step is left out, and why."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench.theme, tr("Skip a step"), tr("Skip it"), parent=parent)
        self._step: QComboBox = self.add_field(
            "step", tr("&Step"), choice({step: step_name(step) for step in SKIPPABLE})
        )
        self._reason: QComboBox = self.add_field("reason", tr("&Why"), choice({}, may_type=True))
        self._step.currentIndexChanged.connect(self._offer)

    def open_for(self, step: PrepStep | None) -> None:
        """Offer the step that is next; the reason is what remains to be said."""
        place = self._step.findData(step) if step else 0
        self._step.setCurrentIndex(max(place, 0))
        self._offer()
        self.begin()
        self._reason.setFocus()
        line = self._reason.lineEdit()
        if line is not None:
            line.selectAll()

    def request(self) -> StepRequest:
        """Return what was entered."""
        return StepRequest(
            self._step.currentData(), result="skipped", reason=self._reason.currentText()
        )

    def _offer(self) -> None:
        self._reason.clear()
        self._reason.addItems(quick_reasons(self._step.currentData()))


class FailForm(ShortForm):
    """How far a frame rocks on the glass, or what else is wrong with it."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(
            bench.theme, tr("The frame fails inspection"), tr("Put on hold"), parent=parent
        )
        self._bench = bench
        self._gap = self.add_field(
            "gap_mm",
            tr("&Gap on the glass"),
            QLineEdit(),
            unit=tr("mm"),
        )
        self._gap.setPlaceholderText(
            tr(
                "up to {gap} mm passes: common practice, no source",
                gap=bench.formatter.number(FLATTEST_GAP_MM, 1),
            )
        )
        self._reason = self.add_field(
            "reason",
            tr("&What is wrong"),
            choice(
                {word: word for word in (tr("rocks on the glass"), tr("bar is bowed"),
                                         tr("weld is cracked"), tr("bar is dented"))},
                may_type=True,
            ),
        )  # fmt: skip

    def open_for(self) -> None:
        """Start with an empty gap."""
        self._gap.clear()
        self._reason.setCurrentIndex(0)
        self.begin()

    def request(self) -> StepRequest:
        """Return what was entered.

        Raises
        ------
        NotValid
            If the gap is no number.
        """
        gap = self._read_gap()
        reason = self._reason.currentText().strip()
        if gap is not None:
            shown = self._bench.formatter.number(gap, 1)
            reason = tr("{reason}, gap {gap} mm", reason=reason, gap=shown) if reason else reason
        return StepRequest("inspect", result="failed", reason=reason, gap_mm=gap)

    def _read_gap(self) -> float | None:
        text = self._gap.text().strip()
        if not text:
            return None
        try:
            return self._bench.formatter.parse_number(text.removesuffix("mm").strip())
        except NotValid as error:
            raise NotValid(
                say("“{text}” is not a gap in mm.", text=text),
                hint=say("Type a number such as 1.5 or 1,5, or leave it empty."),
                argument="gap_mm",
            ) from error
