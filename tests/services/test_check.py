"""Tension surveys: what is stored, what is told, and what is refused."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.errors import FramekeeperError, NotFound, NotPossible, NotValid
from framekeeper.domain.events import Surveyed
from framekeeper.services import check, marks, meters, register, stretch, washout
from framekeeper.services.check import SurveyRequest, pairs_to_request
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, METER, bare, in_clamps, ready, rows, state


def last_survey(desk: Desk, code: str) -> Surveyed:
    with desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        payload = reader.journal(frame.id)[-1].payload
    assert isinstance(payload, Surveyed)
    return payload


def test_a_survey_keeps_raw_values_and_the_correction_in_force(stocked: Desk) -> None:
    code = ready(stocked)
    done = check.survey(stocked, code, SurveyRequest((20.0, 21.0), (19.0, 18.0), meter="m1"))
    assert str(done.said) == f"{code}: 20.0 N/cm, lowest 18.5, spread 3.0."
    assert done.figures is not None
    assert done.figures.imbalance == 2.0
    stored = last_survey(stocked, code)
    assert [(r.point, r.direction, r.raw_n_per_cm) for r in stored.readings] == [
        (1, "warp", 20.0),
        (1, "weft", 19.0),
        (2, "warp", 21.0),
        (2, "weft", 18.0),
    ]
    assert stored.correction_n_per_cm == 0.5
    meters.edit_meter(stocked, METER, meters.MeterFacts(METER, correction=-1.0))
    life = state(stocked, code).life
    assert life is not None
    assert life.survey is not None
    assert life.survey.mean == 20.0


def test_the_moment_follows_from_the_state(stocked: Desk) -> None:
    code = in_clamps(stocked)
    one = SurveyRequest(not_told=(22.0,))
    check.survey(stocked, code, one)
    assert last_survey(stocked, code).moment == "in_clamps"
    stretch.glue(stocked, [code], cure=dt.timedelta(hours=1))
    with pytest.raises(NotPossible, match="has not been released"):
        check.survey(stocked, code, one)
    stretch.release(stocked, [code])
    check.survey(stocked, code, one)
    assert last_survey(stocked, code).moment == "after_release"
    check.survey(stocked, code, one)
    assert last_survey(stocked, code).moment == "in_service"


def test_the_first_survey_of_found_mesh_is_no_fresh_stretch(
    stocked: Desk, clock: FakeClock
) -> None:
    """Its life began months ago; judged as a fresh stretch it would be below its target."""
    found = register.FoundMesh(MESH, 3, clock.now() - dt.timedelta(days=90))
    (code,) = register.register(stocked, [register.NewFrame(500, 600)], found=found).codes
    check.survey(stocked, code, SurveyRequest(not_told=(20.0,)))
    assert last_survey(stocked, code).moment == "in_service"


def test_mesh_from_outside_is_a_fresh_stretch(stocked: Desk) -> None:
    code = bare(stocked)
    marks.send_out(stocked, [code], "Nordwind")
    marks.receive(stocked, [code], mesh=MESH)
    assert state(stocked, code).awaits_inbound_survey
    check.survey(stocked, code, SurveyRequest(not_told=(20.0,)))
    assert last_survey(stocked, code).moment == "after_release"
    assert not state(stocked, code).awaits_inbound_survey


@pytest.mark.parametrize("was", ["ready", "in_clamps"])
def test_a_survey_finds_a_missing_frame(stocked: Desk, was: str) -> None:
    code = ready(stocked) if was == "ready" else in_clamps(stocked)
    marks.missing(stocked, [code])
    check.survey(stocked, code, SurveyRequest(not_told=(20.0,)))
    assert state(stocked, code).state == was
    moment = "in_service" if was == "ready" else "in_clamps"
    assert last_survey(stocked, code).moment == moment


def test_a_reading_from_before_it_was_missed_does_not_find_a_frame(
    stocked: Desk, clock: FakeClock
) -> None:
    code = ready(stocked)
    clock.go_on(days=2)
    marks.missing(stocked, [code])
    yesterday = When(clock.now() - dt.timedelta(days=1))
    check.survey(stocked, code, SurveyRequest(not_told=(20.0,)), when=yesterday)
    now = state(stocked, code)
    assert now.state == "missing"
    assert now.life is not None
    assert now.life.survey is not None


@pytest.mark.parametrize(
    ("wrong", "kind"),
    [
        (SurveyRequest(), NotValid),
        (SurveyRequest((-1.0,)), NotValid),
        (SurveyRequest((0.0,)), NotValid),
        (SurveyRequest((float("nan"),)), NotValid),
        (SurveyRequest((20.0,), (60.1,)), NotValid),
        (SurveyRequest(not_told=(float("inf"),)), NotValid),
        (SurveyRequest((20.0,) * 81), NotValid),
        (SurveyRequest((20.0,), meter="M9"), NotFound),
        (SurveyRequest((20.0,), moment="tomorrow"), NotValid),  # type: ignore[arg-type]
        (SurveyRequest((20.0,), moment="in_clamps"), NotPossible),
    ],
)
def test_a_survey_that_cannot_be(
    stocked: Desk, wrong: SurveyRequest, kind: type[FramekeeperError]
) -> None:
    code = ready(stocked)
    before = rows(stocked)
    with pytest.raises(kind):
        check.survey(stocked, code, wrong)
    assert rows(stocked) == before


def test_a_refused_number_names_its_field(stocked: Desk) -> None:
    code = ready(stocked)
    with pytest.raises(NotValid) as refusal:
        check.survey(stocked, code, SurveyRequest((20.0, 20.0), (20.0, 200.0)))
    assert refusal.value.argument == "weft 2"


def test_a_bare_frame_has_nothing_to_measure(stocked: Desk) -> None:
    with pytest.raises(NotPossible, match="cannot be surveyed"):
        check.survey(stocked, bare(stocked), SurveyRequest(not_told=(20.0,)))


def test_a_reading_of_tomorrow_is_refused(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    with pytest.raises(NotValid, match="future"):
        check.survey(
            stocked,
            code,
            SurveyRequest(not_told=(20.0,)),
            when=When(clock.now() + dt.timedelta(minutes=3)),
        )


def test_an_unknown_meter_names_those_that_the_shop_has(stocked: Desk, desk: Desk) -> None:
    with stocked.read() as reader, pytest.raises(NotFound) as refusal:
        check.find_meter(reader, "M9")
    assert "M1" in refusal.value.text()


def test_numbers_in_walking_order() -> None:
    assert pairs_to_request([20.0, 19.0, 21.0, 18.0]) == SurveyRequest((20.0, 21.0), (19.0, 18.0))
    assert pairs_to_request([20.0]) == SurveyRequest(not_told=(20.0,))
    with pytest.raises(NotValid, match="3 numbers are not warp and weft"):
        pairs_to_request([20.0, 19.0, 21.0])


def test_a_late_survey_does_not_hide_a_newer_one(stocked: Desk, clock: FakeClock) -> None:
    code = ready(stocked)
    clock.go_on(days=3)
    check.survey(stocked, code, SurveyRequest(not_told=(21.0,)))
    late = When(clock.now() - dt.timedelta(days=1))
    check.survey(stocked, code, SurveyRequest(not_told=(24.0,)), when=late)
    washout.reclaim(stocked, [code])
    life = state(stocked, code).life
    assert life is not None
    assert life.survey is not None
    assert life.survey.mean == 21.0
