"""The tension round: scan, read, next; a whole rack in one go without touching the mouse."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.domain.errors import FramekeeperError, StorageTrouble
from framekeeper.domain.events import Moment, Surveyed
from framekeeper.services import marks
from framekeeper.services.check import suggested_moment
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import FramePage, frame_page
from framekeeper.services.tension_round import Judged, correct_survey, survey_and_judge
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import Trouble
from framekeeper.ui.places.frame_look import page_picture, survey_numbers
from framekeeper.ui.places.held_keys import HeldKeys
from framekeeper.ui.places.place import Place
from framekeeper.ui.places.round_entry import ONE_NUMBER, Numbers, SurveyPanel
from framekeeper.ui.places.round_look import RoundLook, look_at_round
from framekeeper.ui.places.round_memory import Draft, RoundMemory, ShopMemory
from framekeeper.ui.places.round_progress import RoundProgress
from framekeeper.ui.places.round_verdict import VerdictPanel
from framekeeper.ui.places.round_words import counts, short_name, what_to_do
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP
from framekeeper.ui.widgets.notices import KeyHintButton, PlaceHeader


class TensionRound(Place):
    """Takes one survey after another; what is half typed is kept, what is whole is recorded."""

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, *, memory_path: Path | None = None
    ) -> None:
        super().__init__(bench, parent)
        self._memory_path = memory_path
        self._memory: RoundMemory | None = None
        self._kept = ShopMemory()
        self._shop = ""
        self._looked: RoundLook | None = None
        self._last_numbers: Numbers | None = None
        self._correcting: int | None = None  # the survey whose numbers are typed anew
        self._missing: set[str] = set()
        theme = bench.theme
        self._print = KeyHintButton(theme, tr("Print the round’s sheet"), "Ctrl+P")
        self._print.clicked.connect(self._print_sheet)
        self._header = PlaceHeader(
            theme, tr("Tension round"), tr("Looking at the shop …"), (self._print,)
        )
        self.panel = SurveyPanel(bench)
        self.panel.typed.connect(self._typed)
        self.panel.completed.connect(self._completed)
        self.panel.choice_changed.connect(self._chosen)
        self._asked = QLabel()
        self._asked.setFont(theme.font("large"))
        self._asked.setWordWrap(True)
        self.trouble = Trouble(bench.theme)
        self.code = QLineEdit()
        self.code.setPlaceholderText(tr("Code or label; Enter alone takes the next"))
        self.code.setAccessibleName(tr("Scan or type a code"))
        self.code.returnPressed.connect(self._entered)
        self.code.installEventFilter(self)
        self._keys = HeldKeys(self.code)
        self.verdict = VerdictPanel(bench)
        self.verdict.again.clicked.connect(self._read_again)
        self.verdict.pull.clicked.connect(self._pull)
        self.progress = RoundProgress(bench)
        self.progress.selectionModel().currentChanged.connect(self._name_buttons)
        self._gone = KeyHintButton(theme, tr("Missing"), "F6")
        self._gone.clicked.connect(self._is_missing)
        self._go_on = KeyHintButton(theme, tr("Go on"), "F3")
        self._go_on.clicked.connect(self._go_on_with_draft)
        self._lay_out()
        self._say_what_to_do()

    # layout

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(2 * STEP)
        left.addWidget(self._asked)
        left.addWidget(self.trouble)
        left.addWidget(self.panel, 1)
        label = QLabel(tr("&Scan or type a code"))
        label.setBuddy(self.code)
        keys = QHBoxLayout()
        keys.setSpacing(2 * STEP)
        keys.addWidget(self._gone)
        keys.addWidget(self._go_on)
        side = QWidget()
        side.setFixedWidth(27 * self.bench.theme.px("body"))
        right = QVBoxLayout(side)
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(2 * STEP)
        right.addWidget(label)
        right.addWidget(self.code)
        right.addWidget(self.verdict)
        right.addSpacing(2 * STEP)
        right.addWidget(self.progress, 1)
        right.addLayout(keys)
        body = QHBoxLayout()
        body.setSpacing(6 * STEP)
        body.addLayout(left, 1)
        body.addWidget(side)
        self.column.addWidget(self._header)
        self.column.addLayout(body, 1)

    def take_focus(self) -> None:
        if self.panel.page is not None:
            self.panel.focus_number()
        else:
            self.code.setFocus()

    # what is due

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds & {"frames", "mesh_types", "meters", "settings"})

    def refresh(self) -> None:
        self.bench.read(look_at_round, self._show, owner=self)

    def _show(self, looked: RoundLook) -> None:
        before, self._looked = self._looked, looked
        if self._memory is None:
            self._memory = RoundMemory(self._memory_path)
            self._shop = looked.shop
            self._kept = self._memory.recall(looked.shop)
        if before is None or (before.meters, before.settings) != (looked.meters, looked.settings):
            patterns = looked.settings.patterns
            kept = self._kept.pattern
            known = kept if kept in (ONE_NUMBER, *patterns) else looked.settings.point_pattern
            meter = self.panel.lent_meter or self._kept.meter
            self.panel.set_choices(looked.meters, meter, known, patterns)
        self._show_progress()

    def _show_progress(self) -> None:
        stops = self._looked.stops if self._looked else []
        self.progress.show_stops(stops, self._kept.drafts, self.verdict.code)
        self._header.set_purpose(counts(stops, len(self._missing)))
        self._print.setEnabled(bool(stops))
        self._name_buttons()
        self._say_what_to_do()

    def _name_buttons(self) -> None:
        expected, draft = self.progress.expected, self._open_draft()
        self._gone.setEnabled(expected is not None)
        missing = tr("Missing: {frame}", frame=short_name(expected)) if expected else ""
        self._gone.setText(missing or tr("Missing"))
        self._go_on.setVisible(draft is not None)
        if draft is not None:
            self._go_on.setText(tr("Go on: {code}", code=draft))
        self._say_what_to_do()

    def _open_draft(self) -> str | None:
        """A half-typed survey that is not the one on the screen."""
        typing = self.panel.page.frame.code if self.panel.page else ""
        return next((code for code in self._kept.drafts if code != typing), None)

    def _say_what_to_do(self) -> None:
        stops = self._looked.stops if self._looked else []
        self._asked.setText(what_to_do(self.panel.page, self.progress.expected, stops))

    # a scan

    def take_scan(self, code: str) -> bool:
        self._load(code)
        return True

    def _entered(self) -> None:
        text = self.code.text().strip()
        if text:
            self._load(text, is_typed=True)
        elif (expected := self.progress.expected) is not None:
            self._load(expected.frame.code)

    def _load(self, code: str, *, is_typed: bool = False) -> None:
        """Go on with a screen; the code field is emptied only of what was typed there."""

        def loaded(page: FramePage) -> None:
            self._loaded(page, is_typed=is_typed)
            self._keys.release()

        def refused(error: FramekeeperError) -> None:
            self._refused(error, is_typed=is_typed)
            self._keys.release()

        self._keys.hold()
        self.bench.read(lambda desk: frame_page(desk, code), loaded, owner=self, fail=refused)

    def _refused(self, error: FramekeeperError, *, is_typed: bool) -> None:
        self.trouble.say(self.bench.formatter.error(error))
        if is_typed:
            self.code.selectAll()

    def _loaded(self, page: FramePage, *, is_typed: bool, moment: Moment | None = None) -> None:
        typing = self.panel.page
        if typing is not None and typing.frame.id == page.frame.id and self._correcting is None:
            self.panel.focus_number()
            return
        refusal = page.refusal(Surveyed(suggested_moment(page.frame), ()))
        if refusal is not None and page.settled.state != "missing":
            self._refused(refusal, is_typed=is_typed)
            return
        self._set_aside()
        self.trouble.say("")
        if is_typed:
            self.code.clear()
        draft = self._kept.drafts.get(page.frame.code)
        if draft is None:
            self.panel.begin(page, moment=moment)
        else:
            self._begin_draft(page, draft, moment or draft.moment)
        self._show_progress()

    def _begin_draft(self, page: FramePage, draft: Draft, moment: Moment | None) -> None:
        """Go on where somebody left; a screen that was read again keeps its meter for that."""
        if draft.meter and draft.meter != self.panel.meter:
            self.panel.lend_meter(draft.meter)
        is_whole = draft.typed == len(draft.readings)
        self.panel.begin(page, draft.readings, draft.pattern, from_last=is_whole, moment=moment)

    def _set_aside(self) -> None:
        """Leave the survey that is half typed; its numbers are kept already."""
        page = self.panel.page
        self._correcting = None
        if page is None:
            return
        draft = self._kept.drafts.get(page.frame.code)
        self.panel.put_away()
        self.panel.take_meter_back()
        if draft is not None:
            self.bench.told.emit(
                tr(
                    "{frame} is kept half typed, {n} of {all} numbers. Scan it to go on.",
                    frame=page.frame.name,
                    n=draft.typed,
                    all=len(draft.readings),
                )
            )

    # the numbers

    def _typed(self, readings: tuple[float | None, ...]) -> None:
        page = self.panel.page
        if page is not None and self._correcting is None:
            panel = self.panel
            draft = Draft(panel.typing_pattern, readings, panel.moment, panel.lent_meter)
            self._kept.drafts[page.frame.code] = draft
            self._remember()

    def _chosen(self) -> None:
        self._kept.meter, self._kept.pattern = self.panel.own_meter, self.panel.pattern
        self._remember()
        self.take_focus()

    def _remember(self) -> None:
        if self._memory is None:
            return
        try:
            self._memory.keep(self._shop, self._kept)
        except StorageTrouble as trouble:
            self.bench.show_trouble(trouble)

    def _completed(self, numbers: Numbers) -> None:
        page = self.panel.page
        assert page is not None
        code, wrong = page.frame.code, self._correcting
        self._last_numbers = numbers
        self.panel.put_away()
        self.code.setFocus()

        def work(desk: Desk) -> Judged:
            if wrong is not None:
                return correct_survey(desk, code, wrong, numbers.request())
            return survey_and_judge(desk, code, numbers.request())

        def refuse(error: FramekeeperError) -> None:
            self.panel.begin(
                page, numbers.values, numbers.pattern, from_last=True, moment=numbers.moment
            )
            self._correcting = wrong
            self.trouble.say(self.bench.formatter.error(error))

        self.bench.change(work, self._judged, owner=self, fail=refuse)

    def _judged(self, judged: Judged) -> None:
        self._correcting = None
        self._kept.drafts.pop(judged.codes[0], None)
        self._missing.discard(judged.codes[0])
        self._remember()
        self.trouble.say("")
        self.panel.take_meter_back()
        self.verdict.show_judged(judged, other_meter=self.panel.other_meter())
        if self.panel.page is None and judged.page is not None:
            self.panel.show_still(page_picture(judged.page))
        self.progress.expect_after(judged.codes[0])
        self._show_progress()

    def _reopen_last(self) -> None:
        """One key back after the last number: the survey is open again at that number."""
        judged, numbers = self.verdict.judged, self._last_numbers
        if judged is None or judged.page is None or numbers is None:
            return
        last = judged.page.last_survey
        if last is None:
            return
        self._correcting = last.event.event_id
        values = survey_numbers(last.survey, corrected=False)
        self.panel.begin(
            judged.page, values, numbers.pattern, from_last=True, moment=last.survey.moment
        )
        self._name_buttons()

    # what else can be done

    def _read_again(self) -> None:
        """Read the same screen at the same moment; where it was too close, with the other meter."""
        judged = self.verdict.judged
        if judged is None or judged.page is None:
            return
        last = judged.page.last_survey
        moment = last.survey.moment if last else None
        # The page of the verdict is at hand: the field opens before the next key can be pressed.
        self._loaded(judged.page, is_typed=False, moment=moment)
        typing = self.panel.page
        if self.verdict.other_meter and typing is not None and typing.frame == judged.page.frame:
            self.panel.lend_meter(self.verdict.other_meter)

    def _pull(self) -> None:
        code, reason = self.verdict.code, self.verdict.reason()
        if code:
            self.bench.change(
                lambda desk: marks.pull(desk, [code], reason), self._pulled, owner=self
            )

    def _pulled(self, done: Done) -> None:
        if done.codes == (self.verdict.code,):
            self.verdict.show_pulled()

    def _is_missing(self) -> None:
        expected = self.progress.expected
        if expected is None:
            return
        code = expected.frame.code
        self._missing.add(code)
        self.progress.expect_after(code)
        self.bench.change(lambda desk: marks.missing(desk, [code]), owner=self)

    def _go_on_with_draft(self) -> None:
        draft = self._open_draft()
        if draft is not None:
            self._load(draft)

    def _print_sheet(self) -> None:
        from framekeeper.ui.printing import save_round_sheet

        codes = [stop.frame.code for stop in self.progress.stops]
        save_round_sheet(self.bench, self, codes, meter=self.panel.meter)

    # keys

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            watched is self.code
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Backspace
            and not self.code.text()
        ):
            self._reopen_last()
            return True
        return super().eventFilter(watched, event)

    def event(self, event: QEvent) -> bool:
        """While a survey is half typed, Esc leaves it; otherwise it belongs to the window."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self.panel.page is not None
        ):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.panel.page is not None:
            self._set_aside()
            self.code.setFocus()
            self._show_progress()
        else:
            super().keyPressEvent(event)
