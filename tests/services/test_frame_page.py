"""Everything that a frame's own page shows."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.errors import NotFound
from framekeeper.domain.events import Imaged, Stretched
from framekeeper.services import check, history, prep, stretch, washout
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from tests.fakes import FakeClock
from tests.services.shoptalk import METER, bare, in_clamps, ready


def test_the_page_of_a_bare_frame(stocked: Desk) -> None:
    page = frame_page(stocked, bare(stocked))
    assert page.mesh is None
    assert [line.event.kind for line in page.journal] == ["registered"]
    assert page.surveys == ()
    assert page.next_step == "prepped"
    assert page.allows(Stretched(1, 24.0)) is False
    refusal = page.refusal(Imaged())
    assert refusal is not None
    assert page.frame.code in refusal.text()


def test_the_journal_is_newest_first_and_keeps_what_was_taken_back(
    stocked: Desk, clock: FakeClock
) -> None:
    code = ready(stocked)
    clock.go_on(hours=1)
    check.survey(stocked, code, SurveyRequest((21.0,), (20.0,), meter=METER))
    clock.go_on(hours=1)
    washout.reclaim(stocked, [code])
    history.undo(stocked)
    page = frame_page(stocked, code)
    assert [(line.event.kind, line.is_withdrawn) for line in page.journal] == [
        ("reclaimed", True),
        ("surveyed", False),
        ("found_with_mesh", False),
    ]
    assert [e.kind for e in page.standing] == ["found_with_mesh", "surveyed"]
    assert page.last_survey is not None
    assert page.last_survey.figures.mean == 21.0
    history.redo(stocked)
    assert not any(line.is_withdrawn for line in frame_page(stocked, code).journal)


def test_surveys_of_all_mesh_lives_stay_on_the_page(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    check.survey(stocked, code, SurveyRequest(not_told=(17.0,)))
    clock.go_on(days=1)
    prep.prep_all(stocked, [code])
    page = frame_page(stocked, code)
    assert len(page.surveys) == 1
    assert page.last_survey is None
    assert page.mesh is None


def test_the_page_knows_that_a_cure_is_over(stocked: Desk, clock: FakeClock) -> None:
    code = in_clamps(stocked)
    stretch.glue(stocked, [code], cure=dt.timedelta(minutes=20))
    stretch.release(stocked, [code])
    assert frame_page(stocked, code).settled.state == "curing"
    clock.go_on(minutes=20)
    page = frame_page(stocked, code)
    assert page.settled.state == "ready"
    assert [t.rule for t in page.tasks] == ["first_reading"]
    assert page.target == 24.0
    assert page.rules.limit == 18.0


def test_an_unknown_frame_has_no_page(stocked: Desk) -> None:
    with pytest.raises(NotFound):
        frame_page(stocked, "left of the door")
