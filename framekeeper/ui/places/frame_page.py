"""A frame's own page: the drawing with its last survey, its tension, its journal, its next step."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.errors import FramekeeperError
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import FramePage, frame_page
from framekeeper.services.tension_round import Judged
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_actions import Action, actions, next_action
from framekeeper.ui.places.frame_ahead import FrameAhead
from framekeeper.ui.places.frame_correct import JournalPanel
from framekeeper.ui.places.frame_damage import OneKeyDamageForm
from framekeeper.ui.places.frame_facts import DueList, FrameFacts
from framekeeper.ui.places.frame_form import StepForm
from framekeeper.ui.places.frame_head import FrameHead
from framekeeper.ui.places.frame_look import chart_data, page_picture
from framekeeper.ui.places.frame_survey import FrameSurvey
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.round_entry import SMALLEST_DRAWING
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.notices import KeyHintButton
from framekeeper.ui.widgets.status_mark import StatusMark
from framekeeper.ui.widgets.tall_column import TallColumn
from framekeeper.ui.widgets.tension_chart import TensionChart
from framekeeper.ui.widgets.verdict_line import VerdictLine

if TYPE_CHECKING:
    from framekeeper.services.foresight import FrameForecast

_BUTTONS_IN_A_ROW = 4


class FramePagePlace(Place):
    """Shows one frame and offers what its state allows."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self._wanted = ""
        self._page: FramePage | None = None
        self._forecast: FrameForecast | None = None
        self._shown: tuple[Action, ...] = ()
        self._buttons: dict[str, KeyHintButton] = {}
        theme = bench.theme
        self.head = FrameHead(bench)
        self.head.next.clicked.connect(self._do_next)
        self.head.edit.clicked.connect(self._edit)
        self.head.label.clicked.connect(self._print_label)
        self.head.sheet.clicked.connect(self._print_sheet)
        self._drawing = FrameDrawing(theme, bench.formatter)
        self.survey = FrameSurvey(bench)
        self.survey.recorded.connect(self._surveyed)
        self._drawing.setMinimumSize(*SMALLEST_DRAWING)
        self.verdict = VerdictLine(theme, bench.formatter)
        self.overdue = StatusMark(theme)
        self.overdue.show_mark("soon", tr("meter overdue"))
        self._left = QStackedWidget()
        self._left.addWidget(self._still_side())
        self._left.addWidget(self.survey)
        self.facts = FrameFacts(bench)
        self.due = DueList(bench)
        self.chart = TensionChart(theme, bench.formatter)
        self.ahead = FrameAhead(bench)
        self._all_lives = KeyHintButton(theme, tr("All lives"), "A")
        self._all_lives.clicked.connect(self._turn_lives)
        self._shows_all = False
        self._chart_title = QLabel()
        self._chart_title.setFont(theme.font("body", bold=True))
        self.journal = JournalPanel(bench)
        self.journal.survey_is_wrong.connect(self._correct_survey)
        for part in (self._left, self.journal, self.chart):  # they take what room there is
            part.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        self.journal.setMinimumHeight(9 * theme.px("body"))  # its head and two lines: then scroll
        self.nothing = QLabel()
        self.nothing.setWordWrap(True)
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._pages = QStackedWidget()
        self._pages.addWidget(self.nothing)
        self._pages.addWidget(self._body())
        self.column.addWidget(self._pages, 1)

    @property
    def page(self) -> FramePage | None:
        """What is shown."""
        return self._page

    # layout

    def _body(self) -> QWidget:
        body = QWidget()
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(3 * STEP)
        column.addWidget(self.head)
        sides = QHBoxLayout()
        sides.setSpacing(6 * STEP)
        sides.addLayout(self._left_side(), 1)
        sides.addLayout(self._right_side(), 1)
        inner = TallColumn()
        inner.setLayout(sides)
        sides.setContentsMargins(0, 0, 0, 0)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setWidget(inner)
        scroll.viewport().setAutoFillBackground(False)
        inner.setAutoFillBackground(False)
        column.addWidget(scroll, 1)
        return body

    def _still_side(self) -> QWidget:
        """The last survey: where it was read, and what it means."""
        self._still = QWidget()
        column = QVBoxLayout(self._still)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * STEP)
        column.addWidget(self._drawing, 1)
        column.addWidget(self.verdict)
        column.addWidget(self.overdue)
        return self._still

    def _left_side(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(2 * STEP)
        column.addWidget(self._left, 1)
        self._offers = QWidget()
        self._grid = QGridLayout(self._offers)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(STEP)
        for place in range(_BUTTONS_IN_A_ROW):
            self._grid.setColumnStretch(place, 1)
        column.addWidget(self._offers)
        return column

    def _right_side(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(2 * STEP)
        column.addWidget(self.facts)
        column.addWidget(self.due)
        chart_head = QHBoxLayout()
        chart_head.addWidget(self._chart_title)
        chart_head.addStretch(1)
        chart_head.addWidget(self._all_lives)
        column.addLayout(chart_head)
        column.addWidget(self.ahead)
        column.addWidget(self.chart, 3)
        column.addWidget(self.journal, 2)
        return column

    # showing

    def show_frame(self, code_or_label: str, event_id: int = 0) -> None:
        """Open a frame, at an event of its journal if one is told.

        Where no frame answers to it, say so and leave what is shown.
        """
        self._is_stale = False
        self.bench.read(
            partial(_look, code=code_or_label),
            partial(self._open, event_id=event_id),
            owner=self,
            fail=self._unknown,
        )

    def refresh(self) -> None:
        if self._wanted:
            self.bench.read(
                partial(_look, code=self._wanted), self._show, owner=self, fail=self._unknown
            )

    def take_focus(self) -> None:
        if self.survey.is_typing:
            self.survey.focus_number()
        else:
            self.journal.table.setFocus()

    def _unknown(self, error: FramekeeperError) -> None:
        self.bench.show_trouble(error)
        if self._page is None:
            self.nothing.setText(self.bench.formatter.error(error))

    def _open(self, page: FramePage, event_id: int = 0) -> None:
        """Another frame: what is half typed is kept for when it is shown again."""
        if self._page is None or page.frame.id != self._page.frame.id:
            self.survey.set_aside()
            self._show_left(self._still)
        self._show(page)
        if event_id:
            self.journal.table.choose(event_id)
        self.take_focus()

    def _show(self, page: FramePage) -> None:
        if self._page is None or not _is_of_the_same_mesh(page, self._page):
            self._forecast = None
            self.ahead.show_forecast(None)
            if page.settled.life is not None:
                self.ahead.wait()
        self._page, self._wanted = page, page.frame.code
        self.head.show_page(page, next_action(page))
        self._drawing.show_picture(page_picture(page))
        self.verdict.show_judged(page.judgement)
        last = page.last_survey
        self.overdue.setVisible(last is not None and last.event.event_id in page.overdue)
        self.facts.show_page(page)
        self.due.show_page(page)
        self.journal.show_page(page)
        self._show_chart()
        self._show_actions(page)
        self._pages.setCurrentIndex(1)
        # The page is there at once; the maths that the band needs is imported behind it.
        self.bench.read(
            partial(_look_ahead, code=page.frame.code),
            partial(self._show_forecast, page),
            owner=self,
        )

    def _show_forecast(self, page: FramePage, forecast: FrameForecast | None) -> None:
        if page is not self._page:
            return  # another page was opened meanwhile, and has asked for its own
        self._forecast = forecast
        self.ahead.show_forecast(forecast)
        self.chart.show_forecast(forecast)

    def _show_chart(self) -> None:
        all_lives = self._shows_all
        title = tr("Tension of every mesh so far") if all_lives else tr("Tension of this mesh")
        self._chart_title.setText(title)
        self._all_lives.setText(tr("This mesh") if all_lives else tr("All lives"))
        if self._page is not None:
            self.chart.show_data(chart_data(self._page, all_lives=all_lives), self._forecast)

    def _turn_lives(self) -> None:
        self._shows_all = not self._shows_all
        self._show_chart()

    def _show_actions(self, page: FramePage) -> None:
        self._shown = actions(page)
        for button in self._buttons.values():
            self._grid.removeWidget(button)
            button.hide()
        for place, action in enumerate(self._shown):
            button = self._button(action)
            self._grid.addWidget(button, place // _BUTTONS_IN_A_ROW, place % _BUTTONS_IN_A_ROW)
            button.show()

    def _show_left(self, side: QWidget) -> None:
        """The drawing, or the numbers of a survey: those take the room of the other actions."""
        self._left.setCurrentWidget(side)
        self._offers.setVisible(side is self._still)

    def _button(self, action: Action) -> KeyHintButton:
        if action.kind not in self._buttons:
            button = KeyHintButton(self.bench.theme, action.title, action.key, parent=self)
            button.clicked.connect(partial(self.do, action.kind))
            self._buttons[action.kind] = button
        return self._buttons[action.kind]

    # doing

    def do(self, kind: str, _checked: bool = False) -> None:
        """Do one of the actions that are offered, by the kind of event that it records."""
        action = next((a for a in self._shown if a.kind == kind), None)
        if action is not None:
            self._do(action)

    def _do_next(self) -> None:
        following = next_action(self._page) if self._page is not None else None
        if following is not None:
            self._do(following)

    def _do(self, action: Action) -> None:
        assert self._page is not None
        code, name, record = self._page.frame.code, self._page.frame.name, action.record
        if action.place:
            self.bench.place_wanted.emit(action.place)
        elif action.kind == "surveyed":
            self._show_left(self.survey)
            self.survey.begin(self._page)
        elif action.kind == "damaged":
            has_mesh = self._page.settled.life is not None
            OneKeyDamageForm(self.bench, code, name, self, has_mesh=has_mesh).open()
        elif record is not None and action.asks:

            def fill_in(desk: Desk, values: dict[str, Any]) -> Done:
                return record(desk, code, values)

            StepForm(self.bench, action.title, name, action.asks, fill_in, self).open()
        elif record is not None:
            self.bench.change(lambda desk: record(desk, code, {}), owner=self)

    # surveys here

    def _correct_survey(self, event_id: int) -> None:
        assert self._page is not None
        point = next(s for s in self._page.surveys if s.event.event_id == event_id)
        if self.survey.correct(self._page, point):
            self._show_left(self.survey)

    def _surveyed(self, _judged: Judged) -> None:
        self._show_left(self._still)
        self.journal.table.setFocus()

    def event(self, event: QEvent) -> bool:
        """While numbers are typed, Esc leaves them; otherwise it belongs to the window."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self.survey.is_typing
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.survey.is_typing:
            self.survey.set_aside()
            self._show_left(self._still)
            self.journal.table.setFocus()
        else:
            super().keyPressEvent(event)

    # papers and facts

    def _print_sheet(self) -> None:
        from framekeeper.ui.printing import save_tension_sheet

        if self._page is not None:
            save_tension_sheet(self.bench, self, self._page.frame.code)

    def _print_label(self) -> None:
        from framekeeper.ui.dialogs.labels import open_labels

        if self._page is not None:
            open_labels(self.bench, self, (self._page.frame.code,))

    def _edit(self) -> None:
        from framekeeper.ui.dialogs.edit_frame import EditFrameForm

        if self._page is not None:
            EditFrameForm(self.bench, self._page.frame, self).open()


def _look(desk: Desk, code: str) -> FramePage:
    return frame_page(desk, code)


def _look_ahead(desk: Desk, code: str) -> FrameForecast | None:
    from framekeeper.services.foresight import frame_forecast

    return frame_forecast(desk, code)


def _is_of_the_same_mesh(page: FramePage, other: FramePage) -> bool:
    """Whether what was foretold for one page is still near enough while the other's is awaited."""
    mine, theirs = page.settled.life, other.settled.life
    if page.frame.id != other.frame.id or mine is None or theirs is None:
        return False
    return mine.start_event_id == theirs.start_event_id
