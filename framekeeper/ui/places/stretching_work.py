"""The work on frames with mesh: stages, survey, glue, release, retension, burst."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.services import stretch
from framekeeper.services.bench_queues import TableNow, TableRow
from framekeeper.services.desk import Done
from framekeeper.ui.bench import Bench
from framekeeper.ui.cautions import caution
from framekeeper.ui.places.stretching_forms import (
    BurstForm,
    GlueForm,
    RetensionForm,
    StageForm,
    WorkForm,
)
from framekeeper.ui.places.stretching_lists import Chosen
from framekeeper.ui.places.stretching_survey import SurveyPanel
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import CautionStrip, KeyHintButton

_STEPS = {
    "in_clamps": ("stage", "survey", "glue", "release", "burst"),
    "curing": ("release", "burst"),
    "rollers": ("retension", "burst"),
    "waiting": (),
}
_CAUTION = {"in_clamps": "clamps", "curing": "release", "rollers": "retension", "waiting": "pull"}


class WorkPanel(QStackedWidget):
    """Buttons for the steps, and the form of the one that was asked for.

    Signals
    -------
    finished()
        A step was recorded or left; the lists want the focus back.
    """

    finished = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._table: TableNow | None = None
        self._chosen = Chosen("in_clamps", ())
        self._heading, self._facts = QLabel(), QLabel()
        self._heading.setFont(bench.theme.font("large"))
        for label in (self._heading, self._facts):
            label.setWordWrap(True)
        self._facts.setProperty("quiet", True)
        self._forms: dict[str, WorkForm] = {
            "stage": StageForm(bench),
            "glue": GlueForm(bench),
            "retension": RetensionForm(bench),
            "burst": BurstForm(bench),
        }
        self.survey = SurveyPanel(bench)
        self._nothing = QWidget()
        self._pages = QStackedWidget()
        self._buttons = self._step_buttons()
        self._caution = CautionStrip(bench.theme, "")
        self._lay_out()

    def _step_buttons(self) -> dict[str, QPushButton]:
        made: dict[str, QPushButton] = {}
        listed: tuple[tuple[str, str, str, Callable[[], None]], ...] = (
            ("stage", tr("Stage …"), "F3", self._open_stage),
            ("survey", tr("Survey …"), "F4", self._open_survey),
            ("glue", tr("Glue …"), "F5", self._open_glue),
            ("release", tr("Release"), "F6", self.release),
            ("retension", tr("Retension …"), "F7", self._open_retension),
            ("burst", tr("It burst …"), "F8", self._open_burst),
        )
        for step, words, key, slot in listed:
            made[step] = KeyHintButton(self._bench.theme, words, key)
            made[step].clicked.connect(slot)
        return made

    def _lay_out(self) -> None:
        self._grid = QGridLayout()
        self._grid.setSpacing(2 * STEP)
        for place in range(3):
            self._grid.setColumnStretch(place, 1)
        for page in (self._nothing, *self._forms.values()):
            self._pages.addWidget(page)
        for form in self._forms.values():
            form.confirmed.connect(self._confirm)
            form.left.connect(self._leave)
        self.survey.left.connect(self._leave)
        self.survey.recorded.connect(self._leave)
        self._pages.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self._steps = QWidget()
        self.addWidget(self._steps)
        self.addWidget(self.survey)
        column = QVBoxLayout(self._steps)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self._heading)
        column.addWidget(self._facts)
        column.addLayout(self._grid)
        column.addSpacing(STEP)
        column.addWidget(self._pages, 1)
        column.addWidget(self._caution)

    # what is shown

    def show_chosen(self, table: TableNow, chosen: Chosen) -> None:
        """Offer the steps of these frames; an open form stays while no frame leaves the choice.

        A survey is about one frame, so another one that joins sets it aside.
        """
        goes_on = self._chosen.is_joined_by(chosen)
        if self.currentWidget() is self.survey and chosen.codes != self._chosen.codes:
            self.survey.set_aside()
            goes_on = False
        self._table, self._chosen = table, chosen
        self._heading.setText(_title(chosen))
        self._facts.setText(self._facts_words(chosen))
        self._place_buttons(chosen)
        if not goes_on:
            self._show_page(self._nothing)

    def _place_buttons(self, chosen: Chosen) -> None:
        offered = [step for step in _STEPS[chosen.group] if self._is_offered(step, chosen)]
        for button in self._buttons.values():
            self._grid.removeWidget(button)
            button.hide()
        for number, step in enumerate(offered):
            self._grid.addWidget(self._buttons[step], number // 3, number % 3)
            self._buttons[step].show()
            self._buttons[step].setEnabled(bool(chosen.rows))
        if "survey" in offered:
            self._buttons["survey"].setEnabled(len(chosen.rows) == 1)

    def _is_offered(self, step: str, chosen: Chosen) -> bool:
        kinds = {row.frame.kind for row in chosen.rows}
        if step == "glue":
            return "roller" not in kinds
        if step == "release" and chosen.group == "in_clamps":
            return kinds == {"roller"}
        return True

    def _facts_words(self, chosen: Chosen) -> str:
        if len(chosen.rows) != 1:
            return ""
        return " · ".join(self._facts_of(chosen.rows[0]))

    def _facts_of(self, row: TableRow) -> list[str]:
        formatter, life = self._bench.formatter, row.frame.state.life
        said = [row.mesh.name] if row.mesh else []
        if life is None:
            return said
        if life.target_n_per_cm is not None:
            said.append(tr("target {tension}", tension=formatter.tension(life.target_n_per_cm)))
        if row.stages:
            said.append(tr_count("{n} stage", "{n} stages", row.stages))
        survey = life.clamp_survey if life.survey is None else life.survey
        if survey is not None:
            said.append(
                tr(
                    "surveyed at {mean}, spread {spread}",
                    mean=formatter.number(survey.mean),
                    spread=formatter.number(survey.spread),
                )
            )
        if row.timer_ends_at is not None:
            said.append(tr("until {when}", when=formatter.moment(row.timer_ends_at)))
        return said

    def _show_page(self, page: QWidget) -> None:
        self._pages.setCurrentWidget(page)
        self.setCurrentWidget(self._steps)
        step = page.step if isinstance(page, WorkForm) else _CAUTION[self._chosen.group]
        self._caution.show_caution(caution(step))

    # the steps

    def begin(self) -> None:
        """Go on with the step that usually comes next."""
        nxt = {"in_clamps": self._open_stage, "curing": self.release}
        nxt.get(self._chosen.group, self._open_retension)()

    def release(self) -> None:
        """Record that the clamps were opened."""
        if codes := self._chosen.codes:
            self._bench.change(lambda desk: stretch.release(desk, codes), owner=self)

    def _open_stage(self) -> None:
        self._open("stage")

    def _open_glue(self) -> None:
        self._open("glue")

    def _open_retension(self) -> None:
        self._open("retension")

    def _open_burst(self) -> None:
        self._open("burst")

    def _open_survey(self) -> None:
        if self._table is not None and len(self._chosen.rows) == 1:
            self.setCurrentWidget(self.survey)
            self.survey.begin(self._table, self._chosen.rows[0])

    def _open(self, step: str) -> None:
        if self._table is None or not self._chosen.rows:
            return
        self._show_page(self._forms[step])
        self._forms[step].open_for(self._table, self._chosen)

    def _confirm(self) -> None:
        form = self._pages.currentWidget()
        assert isinstance(form, WorkForm)
        try:
            order = form.order(self._chosen.codes)
        except NotValid as error:
            self._refused(error)
            return
        form.wait()
        self._bench.change(order, self._recorded, owner=self, fail=self._refused)

    def _refused(self, error: FramekeeperError) -> None:
        form = self._pages.currentWidget()
        if isinstance(form, WorkForm):
            form.refuse(error, self._bench.formatter)
        else:
            self._bench.show_trouble(error)

    def _recorded(self, _done: Done) -> None:
        self._leave()

    def _leave(self) -> None:
        self._show_page(self._nothing)
        self.finished.emit()


def _title(chosen: Chosen) -> str:
    if len(chosen.rows) == 1:
        return chosen.rows[0].frame.name
    return tr_count("{n} frame chosen", "{n} frames chosen", len(chosen.rows))
