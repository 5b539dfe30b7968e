"""A survey taken or corrected on a frame's own page."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import FramePage, SurveyPoint
from framekeeper.services.tension_round import Judged, correct_survey, survey_and_judge
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.places.frame_look import pattern_of, survey_numbers
from framekeeper.ui.places.round_entry import ONE_NUMBER, Numbers, SurveyPanel
from framekeeper.ui.places.round_memory import Draft
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP


class FrameSurvey(QWidget):
    """The drawing as a form; numbers that are set aside are offered when the frame is read again.

    Signals
    -------
    recorded(judged)
        The survey is in the journal.
    """

    recorded = Signal(object)

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self._drafts: dict[str, Draft] = {}
        self._correcting: int | None = None
        self._meter = ""
        self.panel = SurveyPanel(bench, is_narrow=True)
        self.panel.completed.connect(self._completed)
        self.panel.choice_changed.connect(self._chosen)
        self.trouble = Trouble(bench.theme)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self.trouble)
        column.addWidget(self.panel, 1)

    @property
    def is_typing(self) -> bool:
        """Whether numbers are asked for."""
        return self.panel.page is not None

    def focus_number(self) -> None:
        """Put the focus where the next number goes."""
        self.panel.focus_number()

    def begin(self, page: FramePage) -> None:
        """Ask for the numbers of a frame."""
        self._offer(page, self._meter, page.settings.point_pattern)
        self._correcting = None
        draft = self._drafts.get(page.frame.code)
        if draft is None:
            self.panel.begin(page)
        else:
            self.panel.begin(page, draft.readings, draft.pattern)

    def correct(self, page: FramePage, point: SurveyPoint) -> bool:
        """Open the numbers of a survey; False where no pattern shows where they were read."""
        survey = point.survey
        is_one = len(survey.readings) == 1 and survey.readings[0].direction == "not_told"
        pattern = ONE_NUMBER if is_one else pattern_of(page, survey)
        if pattern is None:
            self.bench.refused.emit(
                tr(
                    "This survey has points that no pattern shows, so it cannot be typed anew "
                    "here. Nothing was changed. Take it back and read the screen again."
                )
            )
            return False
        meter = next((m.name for m in page.meters if m.id == survey.meter_id), "")
        self._offer(page, meter, pattern)
        self._correcting = point.event.event_id
        numbers = survey_numbers(survey, corrected=False)
        self.panel.begin(page, numbers, pattern, from_last=True, moment=survey.moment)
        if not is_one:
            self.panel.entry.go_to(0)
        return True

    def set_aside(self) -> None:
        """Leave; what was typed is kept for this frame until it is recorded."""
        page, readings = self.panel.page, self.panel.readings()
        if page is not None and self._correcting is None:
            draft = Draft(self.panel.typing_pattern, readings)
            if draft.typed:
                self._drafts[page.frame.code] = draft
                self.bench.told.emit(
                    tr(
                        "{frame} is kept half typed, {n} of {all} numbers.",
                        frame=page.frame.name,
                        n=draft.typed,
                        all=len(readings),
                    )
                )
        self._correcting = None
        self.panel.put_away()

    def _offer(self, page: FramePage, meter: str, pattern: str) -> None:
        self.trouble.say("")
        known = [m for m in page.meters if not m.is_hidden or m.name == meter]
        self.panel.set_choices(known, meter, pattern, page.settings.patterns)

    def _chosen(self) -> None:
        self._meter = self.panel.meter

    def _completed(self, numbers: Numbers) -> None:
        page, wrong = self.panel.page, self._correcting
        assert page is not None
        code = page.frame.code
        self.panel.put_away()

        def work(desk: Desk) -> Judged:
            if wrong is not None:
                return correct_survey(desk, code, wrong, numbers.request())
            return survey_and_judge(desk, code, numbers.request())

        def done(judged: Judged) -> None:
            self._drafts.pop(code, None)
            self._correcting = None
            self.recorded.emit(judged)

        def refuse(error: FramekeeperError) -> None:
            self.panel.begin(
                page, numbers.values, numbers.pattern, from_last=True, moment=numbers.moment
            )
            self._correcting = wrong
            self.trouble.say(self.bench.formatter.error(error))

        self.bench.change(work, done, owner=self, fail=refuse)
