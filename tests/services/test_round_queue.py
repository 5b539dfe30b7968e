"""Proves what the tension round, the washout and a frame's page ask of the services."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.events import Held, HoldEnded, Pulled, Retensioned, Stripped
from framekeeper.services import marks, meshes, prep, register, stretch, washout
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.services.tension_round import (
    correct_survey,
    judge_points,
    round_queue,
    survey_and_judge,
)
from tests.fakes import FakeClock

EVEN = SurveyRequest((24, 24, 24, 24, 24), (24, 24, 24, 24, 24))


@pytest.fixture
def codes(desk: Desk, clock: FakeClock) -> list[str]:
    """Three released screens in slots that text sorting would put in the wrong order."""
    rules = MeshRules(target=25, limit=18, inspect_after_reclaims=2)
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts("230 yellow", 230, colour="dyed", rules=rules))
    frames = [register.NewFrame(584, 787, slot=slot) for slot in ("A10", "", "A2")]
    made = list(register.register(desk, frames).codes)
    prep.prep_all(desk, made)
    stretch.stretch(desk, made, stretch.StretchRequest("230 yellow"))
    stretch.glue(desk, made, cure=dt.timedelta(minutes=20))
    stretch.release(desk, made)
    clock.go_on(days=1)
    return made


def test_the_round_walks_the_slots_in_their_natural_order(desk: Desk, codes: list[str]) -> None:
    """A2 comes before A10, and what has no slot comes last."""
    assert [s.frame.code for s in round_queue(desk)] == [codes[2], codes[0], codes[1]]
    assert not any(s.is_read for s in round_queue(desk))


def test_a_screen_that_was_read_today_stays_on_the_round_with_its_answer(
    desk: Desk, codes: list[str], clock: FakeClock
) -> None:
    """The list can be rebuilt after a crash from the journal alone; tomorrow the screen is gone."""
    survey(desk, codes[0], EVEN)
    survey(desk, codes[1], SurveyRequest((24, 24, 17, 24, 24), (24, 24, 24, 24, 24)))
    by_code = {s.frame.code: s for s in round_queue(desk)}
    assert by_code[codes[0]].answer == "holds"
    assert by_code[codes[1]].answer == "below"
    assert by_code[codes[2]].answer is None
    clock.go_on(days=1)
    assert [s.frame.code for s in round_queue(desk)] == [codes[2]]


def test_a_screen_that_was_pulled_on_the_round_does_not_hold(desk: Desk, codes: list[str]) -> None:
    """It raises no task any more, and still the list says what became of it."""
    survey(desk, codes[0], SurveyRequest((15,), (15,)))
    marks.pull(desk, [codes[0]], "slack")
    stop = next(s for s in round_queue(desk) if s.frame.code == codes[0])
    assert (stop.is_read, stop.is_pulled, stop.answer) == (True, True, "below")
    survey(desk, codes[1], EVEN)
    marks.missing(desk, [codes[1]])
    gone = next(s for s in round_queue(desk) if s.frame.code == codes[1])
    assert gone.answer is None


def test_a_survey_comes_back_with_its_answer_and_reason(desk: Desk, codes: list[str]) -> None:
    """What is below the limit says so with both numbers; what holds has no reason."""
    low = survey_and_judge(desk, codes[0], SurveyRequest((17, 17), (17, 17)))
    assert low.answer == "below"
    assert str(low.tasks[0].reason) == "tension 17.0 N/cm, limit 18.0"
    good = survey_and_judge(desk, codes[1], EVEN)
    assert (good.answer, good.tasks) == ("holds", ())


def test_points_are_judged_against_the_limit_and_the_centre() -> None:
    """Half of the spread limit to either side is even; an open point has no answer."""
    rules = MeshRules(limit=18, spread_limit=3.0)
    readings = (22.0, 22.0, 20.5, 20.5, 20.4, 20.4, 22.0, 17.9, None, None)
    judged = judge_points(readings, rules, centre=0)
    assert [answer for answer, _ in judged] == ["holds", "holds", "soon", "below", None]
    assert judged[2][1] == pytest.approx(-1.6)
    from_median = judge_points((20, 20, 24, 24, 24, 24), rules, centre=None)
    assert [lean for _, lean in from_median] == [-4, 0, 0]


def test_the_next_step_follows_the_frame_through_the_shop(
    desk: Desk, codes: list[str], clock: FakeClock
) -> None:
    """A screen is read first, then used, washed out, and pulled when it is below its limit."""
    code = codes[0]
    assert frame_page(desk, code).next_step == "surveyed"
    survey(desk, code, EVEN)
    assert frame_page(desk, code).next_step == "imaged"
    washout.image(desk, [code])
    assert frame_page(desk, code).next_step == "to_reclaim"
    washout.queue(desk, [code])
    assert frame_page(desk, code).next_step == "reclaimed"
    washout.reclaim(desk, [code])
    survey(desk, code, SurveyRequest((15,), (15,)))
    assert frame_page(desk, code).next_step == "pulled"
    marks.pull(desk, [code], "slack")
    assert frame_page(desk, code).next_step == "stripped"
    prep.strip(desk, [code])
    assert frame_page(desk, code).next_step == "prepped"


def test_a_page_allows_what_the_journal_would_take(desk: Desk, codes: list[str]) -> None:
    """Marks and the kind of frame count, not only the state."""
    page = frame_page(desk, codes[0])
    assert page.allows(Held("wait"))
    assert page.allows(Pulled("slack"))
    assert page.allows(Stripped())
    assert not page.allows(HoldEnded())
    assert not page.allows(Retensioned(25.0)), "a glued frame cannot be tightened again"
    marks.hold(desk, [codes[0]], "glue")
    held = frame_page(desk, codes[0])
    assert held.allows(HoldEnded())
    assert not held.allows(Held("again"))


def test_the_washout_queue_is_oldest_first_with_days(
    desk: Desk, codes: list[str], clock: FakeClock
) -> None:
    """Who waits longest is first."""
    washout.queue(desk, [codes[2]])
    clock.go_on(days=3)
    washout.queue(desk, [codes[0]])
    assert [(w.frame.code, w.days) for w in washout.washout_queue(desk)] == [
        (codes[2], 3),
        (codes[0], 0),
    ]


def test_a_scan_in_the_washout_counts_once(desk: Desk, codes: list[str], clock: FakeClock) -> None:
    """Read twice within the hour is one reclaim; after a job it is another one."""
    washout.wash(desk, codes[0])
    with pytest.raises(NotPossible, match="was reclaimed"):
        washout.wash(desk, codes[0])
    washout.image(desk, [codes[0]])
    again = washout.wash(desk, codes[0])
    assert again.frame is not None
    assert again.frame.state.life is not None
    assert again.frame.state.life.reclaims == 2
    assert again.inspection is not None
    assert str(again.inspection.reason) == "2 reclaims since the last inspection, due after 2"


def test_haze_remover_can_be_told_after_the_scan_and_the_scan_taken_back(
    desk: Desk, codes: list[str]
) -> None:
    """A correction keeps one reclaim; taking it back leaves none."""
    first = washout.wash(desk, codes[0])
    corrected = washout.wash_otherwise(desk, first, haze_remover=True, findings="ghost")
    page = frame_page(desk, codes[0])
    assert [e.payload.haze_remover for e in page.standing if e.kind == "reclaimed"] == [True]  # type: ignore[union-attr]
    assert page.frame.state.life is not None
    assert page.frame.state.life.reclaims == 1
    washout.unwash(desk, corrected)
    page = frame_page(desk, codes[0])
    assert page.frame.state.life is not None
    assert page.frame.state.life.reclaims == 0


def test_a_wrong_number_is_corrected_in_its_place(desk: Desk, codes: list[str]) -> None:
    """One survey counts afterwards, at the time and the moment of the first."""
    first = survey_and_judge(desk, codes[0], SurveyRequest((42,), (24,)))
    assert first.page is not None
    wrong = first.page.last_survey
    assert wrong is not None
    right = correct_survey(desk, codes[0], wrong.event.event_id, SurveyRequest((24,), (24,)))
    assert right.page is not None
    assert [s.figures.mean for s in right.page.surveys] == [24.0]
    assert right.page.surveys[0].event.happened_at == wrong.event.happened_at
    assert right.page.surveys[0].survey.moment == "after_release"
    assert right.answer == "holds"
