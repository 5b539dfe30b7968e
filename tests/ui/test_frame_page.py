"""Proves a frame's page: it shows the journal's truth and offers what the state allows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.domain.admission import ALLOWED
from framekeeper.services import history, marks, prep, stretch, washout
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.frame_actions import actions
from framekeeper.ui.places.frame_form import StepForm
from framekeeper.ui.places.frame_look import chart_data, page_picture
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.widgets.notices import KeyHintButton
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, press, put_away, stocked_desk

Stocked = tuple[Desk, list[str]]
ENTER = Qt.Key.Key_Return
EVEN = ("24", "24", "23", "24", "24", "23", "24", "24", "23", "24")


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> Stocked:
    return stocked_desk(sqlite_place, clock)


@pytest.fixture
def bench(qapp: QApplication, stocked: Stocked, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def place(bench: Bench, stocked: Stocked, qtbot: QtBot) -> FramePagePlace:
    made = FramePagePlace(bench)
    qtbot.addWidget(made)
    made.resize(1072, 740)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.show_frame(stocked[1][0])
    made.enter()
    return made


def form_of(qtbot: QtBot) -> QDialog:
    """Wait for the form that was opened."""
    qtbot.waitUntil(lambda: QApplication.activeModalWidget() is not None)
    form = QApplication.activeModalWidget()
    assert isinstance(form, QDialog)
    qtbot.waitUntil(form.isActiveWindow)
    return form


def test_a_frame_opens_by_its_code_or_by_the_shops_own_label(
    place: FramePagePlace, stocked: Stocked
) -> None:
    """S2 is as good as its code."""
    place.show_frame("S2")
    assert place.page is not None
    assert place.page.frame.code == stocked[1][1]


def test_an_unknown_code_says_so_and_leaves_the_page(
    place: FramePagePlace, bench: Bench, stocked: Stocked, qtbot: QtBot
) -> None:
    """What was shown stays; an empty page carries the sentence itself."""
    with qtbot.waitSignal(bench.refused) as told:
        place.show_frame("nowhere")
    assert "No frame in this shop answers to nowhere" in told.args[0]
    assert place.page is not None
    assert place.page.frame.code == stocked[1][0]
    empty = FramePagePlace(bench)
    qtbot.addWidget(empty)
    empty.show_frame("nowhere")
    assert empty.page is None
    assert "No frame in this shop answers to nowhere" in empty.nothing.text()


def offered(place: FramePagePlace) -> set[str]:
    """The words of the buttons that can be pressed."""
    return {b.text() for b in place._buttons.values() if b.isVisible() and b.isEnabled()}


def test_only_what_the_journal_would_take_is_offered(
    place: FramePagePlace, stocked: Stocked, clock: FakeClock
) -> None:
    """Each offer is possible by the rules; each event that a person records here is offered."""
    desk, codes = stocked
    by_hand = {
        "surveyed", "imaged", "printed", "to_reclaim", "reclaimed", "inspected", "damaged",
        "pulled", "stripped", "held", "reserved", "sent_out", "retired", "missing",
    }  # fmt: skip
    page = frame_page(desk, codes[0])
    allowed = {kind for kind in by_hand if page.settled.state in ALLOWED[kind]}
    assert {a.kind for a in actions(page)} == allowed
    marks.hold(desk, [codes[0]], "thin glue")
    kinds = {a.kind for a in actions(frame_page(desk, codes[0]))}
    assert "hold_ended" in kinds
    assert not kinds & {"held", "imaged", "reserved"}


def test_the_offers_follow_the_state(place: FramePagePlace, bench: Bench, stocked: Stocked) -> None:
    """A missing frame can be found, surveyed or retired; nothing else can be done to it."""
    code = stocked[1][0]
    assert {"Survey", "Image", "Pull"} <= offered(place)
    bench.change(lambda desk: marks.missing(desk, [code]))
    assert offered(place) == {"Survey", "Found", "Retire"}
    assert place.head.next.text() == "Next: Found"


def test_a_key_records_at_once_and_the_page_follows(
    place: FramePagePlace, stocked: Stocked, qtbot: QtBot
) -> None:
    """M reports the frame missing, M again finds it."""
    desk, codes = stocked
    press(place, Qt.Key.Key_M)
    qtbot.waitUntil(lambda: frame_page(desk, codes[0]).settled.state == "missing")
    assert place.head.state.startswith("missing")
    press(place, Qt.Key.Key_M)
    qtbot.waitUntil(lambda: frame_page(desk, codes[0]).settled.state == "ready")


def test_a_form_keeps_what_was_typed_when_it_is_refused(
    place: FramePagePlace, stocked: Stocked, qtbot: QtBot
) -> None:
    """A hold without a reason is refused at the form; with one, Enter records it."""
    desk, codes = stocked
    press(place, Qt.Key.Key_H)
    form = form_of(qtbot)
    assert isinstance(form, StepForm)
    press(form, ENTER)
    assert "needs a reason" in form.trouble.text
    press(form, "thin", ENTER)
    assert frame_page(desk, codes[0]).settled.hold_reason == "thin"
    assert "on hold: thin" in place.head.state


def test_the_next_step_is_one_key(place: FramePagePlace, stocked: Stocked, qtbot: QtBot) -> None:
    """G opens the first reading; ten numbers later the survey stands in the drawing."""
    desk, codes = stocked
    press(place, Qt.Key.Key_G)
    qtbot.waitUntil(lambda: place.survey.is_typing)
    for number in EVEN:
        press(place, number, ENTER)
    assert not place.survey.is_typing
    page = frame_page(desk, codes[0])
    assert page.last_survey is not None
    picture = place._drawing.picture
    assert picture is not None
    assert [p.warp for p in picture.points] == [24, 23, 24, 24, 23]
    assert place.head.next.text() == "Next: Image"


def test_a_half_typed_survey_is_kept_when_another_frame_is_shown(
    place: FramePagePlace, stocked: Stocked, qtbot: QtBot
) -> None:
    """Its numbers are there when the frame is read again."""
    codes = stocked[1]
    place.do("surveyed")
    press(place, "24", ENTER, "23", ENTER)
    place.show_frame(codes[1])
    assert not place.survey.is_typing
    place.show_frame(codes[0])
    place.do("surveyed")
    assert place.survey.panel.readings()[:3] == (24, 23, None)
    press(place, Qt.Key.Key_Escape)
    assert not place.survey.is_typing


def test_a_line_is_taken_back_and_stays_struck_out(
    place: FramePagePlace, bench: Bench, stocked: Stocked, qtbot: QtBot
) -> None:
    """The journal forgets nothing; the state goes back."""
    desk, codes = stocked
    bench.change(lambda d: washout.image(d, [codes[0]], job="Harbour run"))
    assert place.journal.table.lines[0].event.kind == "imaged"
    place.journal.table.choose(place.journal.table.lines[0].event.event_id)
    press(place, Qt.Key.Key_Delete)
    qtbot.waitUntil(lambda: frame_page(desk, codes[0]).settled.state == "ready")
    line = next(x for x in place.journal.table.lines if x.event.kind == "imaged")
    assert line.is_withdrawn
    assert "taken back" in place.journal.table.words(line)
    place.journal.table.choose(line.event.event_id)
    assert place.journal.table.chosen is None, "nothing can be taken back twice"


def test_correcting_a_survey_opens_its_numbers(
    place: FramePagePlace, bench: Bench, stocked: Stocked, qtbot: QtBot
) -> None:
    """Only the wrong number is typed anew; one survey counts."""
    desk, codes = stocked
    wrong = SurveyRequest((42, 24, 24, 24, 24), (24,) * 5, meter="Blue case")
    bench.change(lambda d: survey(d, codes[0], wrong))
    press(place, Qt.Key.Key_C)
    qtbot.waitUntil(lambda: place.survey.is_typing)
    press(place, "24", ENTER)
    for _ in range(9):
        press(place, ENTER)
    page = frame_page(desk, codes[0])
    assert [s.figures.highest for s in page.surveys] == [23.5], "less the correction of the meter"
    assert page.surveys[0].survey.meter_id is not None


def test_correcting_another_line_changes_its_detail_and_keeps_its_place(
    place: FramePagePlace, bench: Bench, stocked: Stocked, clock: FakeClock, qtbot: QtBot
) -> None:
    """A wrong job name is corrected; the time, which nobody touched, keeps its seconds."""
    desk, codes = stocked
    clock.go_on(seconds=42)
    bench.change(lambda d: washout.image(d, [codes[0]], job="Harbor"))
    before = place.journal.table.lines[0].event
    place.journal.table.choose(before.event_id)
    press(place, Qt.Key.Key_C)
    form = form_of(qtbot)
    assert isinstance(form, StepForm)
    job = form.input("job")
    assert isinstance(job, QLineEdit)
    job.selectAll()
    press(form, "Harbour", ENTER)
    newest = frame_page(desk, codes[0]).standing[-1]
    assert newest.payload.job == "Harbour"  # type: ignore[union-attr]
    assert newest.happened_at == before.happened_at


def test_a_wrong_time_is_refused_in_the_form(
    place: FramePagePlace, bench: Bench, stocked: Stocked, qtbot: QtBot
) -> None:
    """A time before the release would make no sense: the form says so and stays."""
    desk, codes = stocked
    bench.change(lambda d: washout.image(d, [codes[0]]))
    place.journal.table.choose(place.journal.table.lines[0].event.event_id)
    place.journal.correct()
    form = form_of(qtbot)
    assert isinstance(form, StepForm)
    when = form.input("happened_at")
    assert isinstance(when, QLineEdit)
    when.setText("yesterday")
    form.confirm()
    assert "is not a date and time" in form.trouble.text
    when.setText("2020-01-01 10:00")
    form.confirm()
    assert form.trouble.text
    assert form.isVisible()
    assert frame_page(desk, codes[0]).settled.state == "in_use"
    when.setText((frame_page(desk, codes[0]).read_at).astimezone().strftime("%Y-%m-%d %H:%M"))
    form.confirm()
    assert not form.isVisible()


def test_the_chart_shows_this_mesh_life_and_all_lives_on_demand(
    place: FramePagePlace, stocked: Stocked, clock: FakeClock
) -> None:
    """A new stretch begins a new line; the old one is not judged by the new limit."""
    desk, codes = stocked
    survey(desk, codes[0], SurveyRequest((24,), (24,)))
    prep.prep_all(desk, [codes[0]])
    stretch.stretch(desk, [codes[0]], stretch.StretchRequest("230 yellow"))
    stretch.glue(desk, [codes[0]], cure=dt.timedelta())
    stretch.release(desk, [codes[0]])
    clock.go_on(hours=1)
    survey(desk, codes[0], SurveyRequest((17, 17), (17, 17)))
    page = frame_page(desk, codes[0])
    own = chart_data(page, all_lives=False)
    assert [r.tension_n_per_cm for r in own.readings] == [17.0]
    assert (own.readings[0].mark, str(own.readings[0].said)) == ("below", "outside")
    assert own.readings[0].u_n_per_cm > 0
    everything = chart_data(page, all_lives=True)
    assert [r.mark for r in everything.readings] == [None, "below"]
    assert [m.kind for m in everything.marks] == ["stretch", "stretch"]


def test_a_survey_whose_points_nobody_knows_is_not_drawn_somewhere(
    place: FramePagePlace, stocked: Stocked
) -> None:
    """Three points fit no pattern: better no drawing than a wrong one."""
    desk, codes = stocked
    survey(desk, codes[0], SurveyRequest((24, 24, 24), (24, 24, 24)))
    assert page_picture(frame_page(desk, codes[0])).points == ()


def test_every_button_shows_a_key_of_its_own(place: FramePagePlace) -> None:
    """No two visible buttons answer to one key, and none answers to the first letter of a scan."""
    buttons = [b for b in place.findChildren(KeyHintButton) if b.isVisible()]
    keys = [b.key_text for b in buttons]
    assert len(set(keys)) == len(keys)
    assert all(keys)
    assert "F" not in keys


def test_every_control_has_a_name_and_a_size_that_a_finger_hits(place: FramePagePlace) -> None:
    """Screen readers and wet hands."""
    for button in place.findChildren(QPushButton):
        if button.isVisible():
            assert button.text() or button.accessibleName()
            assert button.height() >= 24
    for field in place.findChildren(QWidget):
        if isinstance(field, QLineEdit) and field.isVisible():
            assert field.accessibleName()


def test_an_undo_elsewhere_is_shown(place: FramePagePlace, bench: Bench, stocked: Stocked) -> None:
    """The page follows what others do to its frame."""
    desk, codes = stocked
    bench.change(lambda d: marks.pull(d, [codes[0]], "slack"))
    assert "slack" in place.head.state
    bench.change(history.undo)
    assert place.head.state.startswith("ready")
    assert frame_page(desk, codes[0]).settled.state == "ready"
