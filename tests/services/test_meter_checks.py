"""A meter that is found out changes what its readings mean, never the readings."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.services import history, keeping, meter_checks, plan
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type
from framekeeper.services.meter_checks import CheckRequest, add_check, find_out, look_into
from framekeeper.services.meters import MeterFacts, add_meter, edit_meter
from framekeeper.services.record import When
from framekeeper.services.register import FoundMesh, NewFrame, register
from framekeeper.services.tension_round import correct_survey

LIMIT = 18.0


@pytest.fixture
def round_desk(desk: Desk) -> tuple[Desk, list[str]]:
    """Forty screens, read one after another by one meter, after its reference was good."""
    add_mesh_type(desk, MeshTypeFacts("230 yellow", rules=MeshRules(target=25, limit=LIMIT)))
    add_meter(desk, MeterFacts("first"))
    add_meter(desk, MeterFacts("second"))
    start = desk.clock.now() - dt.timedelta(days=10)
    codes = list(
        register(
            desk,
            [NewFrame(584, 787) for _ in range(40)],
            found=FoundMesh("230 yellow"),
            when=When(start),
        ).codes
    )
    good = start + dt.timedelta(days=1)
    request = CheckRequest("reference", shown=21.0, expected=21.0)
    add_check(desk, "first", request, when=When(good))
    for number, code in enumerate(codes):
        # 17.6, 17.8, ... 25.4: what the meter showed
        value = round(17.6 + 0.2 * number, 1)
        at = good + dt.timedelta(hours=1, minutes=number)
        survey(desk, code, SurveyRequest((value,), (value,), meter="first"), when=When(at))
    return desk, codes


def below(desk: Desk) -> set[str]:
    return {i.frame.code for i in plan.due(desk) if i.task.rule == "below_limit"}


def found_out(desk: Desk) -> set[str]:
    return {i.frame.code for i in plan.due(desk) if i.task.rule == "meter_found_out"}


def test_exactly_the_frames_change_that_the_bias_carries_over_the_limit(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """1.2 too high: what read from 18.0 to below 19.2 is below the limit now, six screens."""
    desk, codes = round_desk
    before_columns = {f.frame.code: f.frame.state for f in plan.list_frames(desk)}
    were_below = below(desk)
    assert were_below == set(codes[:2])  # 17.6 and 17.8
    expected = {c for n, c in enumerate(codes) if LIMIT <= round(17.6 + 0.2 * n, 1) < LIMIT + 1.2}
    assert len(expected) == 6

    looked = look_into(desk, "first", bias_n_per_cm=1.2)
    assert len(looked.survey_ids) == 40
    assert {c.frame.code for c in looked.changed} == expected
    assert below(desk) == were_below, "looking changes nothing"

    done = find_out(desk, "first", bias_n_per_cm=1.2, note="reference screen")
    assert set(done.codes) == expected
    assert below(desk) == were_below | expected
    assert found_out(desk) == expected
    page = frame_page(desk, codes[5])
    (told,) = page.surveys
    assert told.figures.mean == pytest.approx(18.6 - 1.2)
    assert [r.raw_n_per_cm for r in told.survey.readings] == [18.6, 18.6], "raw values stay"
    assert keeping.verify(desk) == []

    history.undo(desk)
    assert {f.frame.code: f.frame.state for f in plan.list_frames(desk)} == before_columns
    assert below(desk) == were_below
    assert meter_checks.meter_pages(desk)[0].trust.answer != "below"
    history.redo(desk)
    assert below(desk) == were_below | expected
    assert keeping.verify(desk) == []


def test_only_readings_since_the_last_good_check_are_doubted(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """A reference that was good in the middle vouches for what was read before it."""
    desk, codes = round_desk
    middle = desk.clock.now() - dt.timedelta(days=9) + dt.timedelta(hours=1, minutes=19, seconds=30)
    request = CheckRequest("reference", shown=21.2, expected=21.0)
    add_check(desk, "first", request, when=When(middle))
    looked = look_into(desk, "first", bias_n_per_cm=1.2)
    assert len(looked.survey_ids) == 20
    assert {f.code for f in looked.frames} == set(codes[20:])


def test_a_new_reading_settles_the_doubt(round_desk: tuple[Desk, list[str]]) -> None:
    """Read again with the other meter, the screen has only the new answer."""
    desk, codes = round_desk
    find_out(desk, "first", bias_n_per_cm=1.2)
    assert codes[5] in found_out(desk)
    survey(desk, codes[5], SurveyRequest((18.7,), (18.7,), meter="second"))
    assert codes[5] not in found_out(desk) | below(desk)


def test_a_later_finding_takes_the_place_of_an_earlier_one(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """The second says what the meter is off by, not what comes on top; told twice, it is no news.

    18.6 was above the limit on the day, so another reading is asked for after both findings.
    """
    desk, codes = round_desk
    find_out(desk, "first", bias_n_per_cm=1.2)
    with pytest.raises(NotPossible, match="This is known of first"):
        find_out(desk, "first", bias_n_per_cm=1.2)
    assert mean_of(desk, codes[5]) == pytest.approx(18.6 - 1.2)
    done = find_out(desk, "first", bias_n_per_cm=1.6)
    assert set(done.codes) == {codes[8], codes[9]}, "19.2 and 19.4 are below only by the second"
    assert mean_of(desk, codes[5]) == pytest.approx(18.6 - 1.6)
    assert found_out(desk) == set(codes[2:10])
    history.undo(desk)
    assert mean_of(desk, codes[5]) == pytest.approx(18.6 - 1.2)
    assert found_out(desk) == set(codes[2:8])
    history.redo(desk)
    assert found_out(desk) == set(codes[2:10])
    assert keeping.verify(desk) == []


def test_numbers_set_right_afterwards_keep_what_was_found_out(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """A slip of the finger says nothing about the meter; one undo takes the new numbers back."""
    desk, codes = round_desk
    find_out(desk, "first", bias_n_per_cm=1.2)
    survey_id = frame_page(desk, codes[5]).surveys[0].event.event_id
    right = SurveyRequest((18.8,), (18.8,), meter="first")
    judged = correct_survey(desk, codes[5], survey_id, right)
    assert judged.figures is not None
    assert judged.figures.mean == pytest.approx(18.8 - 1.2)
    assert mean_of(desk, codes[5]) == pytest.approx(18.8 - 1.2)
    assert codes[5] in below(desk) & found_out(desk)
    assert keeping.verify(desk) == []
    history.undo(desk)
    assert mean_of(desk, codes[5]) == pytest.approx(18.6 - 1.2)
    history.redo(desk)
    assert mean_of(desk, codes[5]) == pytest.approx(18.8 - 1.2)
    (told,) = frame_page(desk, codes[5]).surveys
    correct_survey(
        desk, codes[5], told.event.event_id, SurveyRequest((18.8,), (18.8,), meter="second")
    )
    assert mean_of(desk, codes[5]) == pytest.approx(18.8), "the other meter was not found out"
    assert codes[5] not in below(desk) | found_out(desk)
    assert keeping.verify(desk) == []


def test_what_another_meter_read_on_the_same_frame_is_left_alone(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """Read by both meters, and by the first before its good check too: one survey is in doubt."""
    desk, codes = round_desk
    first_day = When(desk.clock.now() - dt.timedelta(days=9, hours=12))
    survey(desk, codes[5], SurveyRequest((18.5,), (18.5,), meter="first"), when=first_day)
    later = When(desk.clock.now() - dt.timedelta(days=2))
    survey(desk, codes[5], SurveyRequest((18.4,), (18.4,), meter="second"), when=later)
    looked = look_into(desk, "first", bias_n_per_cm=1.2)
    assert codes[5] not in {c.frame.code for c in looked.changed}, "its newest reading stands"
    find_out(desk, "first", bias_n_per_cm=1.2)
    means = [s.figures.mean for s in frame_page(desk, codes[5]).surveys]
    assert means == pytest.approx([18.5, 18.6 - 1.2, 18.4])
    assert codes[5] not in below(desk) | found_out(desk)


def test_a_survey_that_was_taken_back_is_not_in_doubt(round_desk: tuple[Desk, list[str]]) -> None:
    """Taken back before or after the finding, it counts for nothing; undo brings both back."""
    desk, codes = round_desk
    history.withdraw(desk, codes[5], frame_page(desk, codes[5]).surveys[0].event.event_id)
    looked = look_into(desk, "first", bias_n_per_cm=1.2)
    assert len(looked.survey_ids) == 39
    assert codes[5] not in {f.code for f in looked.frames}
    find_out(desk, "first", bias_n_per_cm=1.2)
    history.withdraw(desk, codes[6], frame_page(desk, codes[6]).surveys[0].event.event_id)
    assert found_out(desk) == {*codes[2:5], codes[7]}
    history.undo(desk)
    assert mean_of(desk, codes[6]) == pytest.approx(18.8 - 1.2)
    assert found_out(desk) == {*codes[2:5], *codes[6:8]}
    assert keeping.verify(desk) == []


def test_numbers_set_right_keep_the_correction_of_their_day(desk: Desk) -> None:
    """The meter was given another correction since; the old numbers were not read with it."""
    add_mesh_type(desk, MeshTypeFacts("230 yellow"))
    add_meter(desk, MeterFacts("first", correction=-0.5))
    (code,) = register(desk, [NewFrame(584, 787)], found=FoundMesh("230 yellow")).codes
    survey(desk, code, SurveyRequest((20.0,), (20.0,), meter="first"))
    edit_meter(desk, "first", MeterFacts("first", correction=1.0), version=1)
    survey_id = frame_page(desk, code).surveys[0].event.event_id
    correct_survey(desk, code, survey_id, SurveyRequest((21.0,), (21.0,), meter="first"))
    assert mean_of(desk, code) == pytest.approx(20.5)


def mean_of(desk: Desk, code: str) -> float:
    page = frame_page(desk, code)
    (told,) = page.surveys
    assert page.settled.life is not None
    assert page.settled.life.survey is not None
    assert page.settled.life.survey.mean == pytest.approx(told.figures.mean), "page and register"
    return told.figures.mean


def test_the_answer_of_a_meter_follows_what_was_learnt(desk: Desk) -> None:
    """A drop is no longer trusted, a repair is; a certificate runs out."""
    add_meter(desk, MeterFacts("first", certificate_until=desk.today()))
    add_check(desk, "first", CheckRequest("zero", shown=0.0))
    answers = [_answer(desk)]
    add_check(desk, "first", CheckRequest("drop", note="off the table"))
    answers.append(_answer(desk))
    add_check(desk, "first", CheckRequest("reference", shown=23.0, expected=21.0))
    answers.append(_answer(desk))
    add_check(desk, "first", CheckRequest("repair"))
    answers.append(_answer(desk))
    assert answers == ["holds", "below", "below", "holds"]


def test_a_zero_off_by_more_than_half_a_division_is_adjusted(desk: Desk) -> None:
    """Common practice, no source: half a division is adjusted, more than 1 N/cm is sent in."""
    add_meter(desk, MeterFacts("first", resolution=0.5, certificate_until=desk.today()))
    for shown, word in ((0.2, None), (0.3, "adjust"), (1.1, "send it in")):
        add_check(desk, "first", CheckRequest("zero", shown=shown))
        told = " ".join(str(r) for r in meter_checks.meter_pages(desk)[0].trust.reasons)
        assert (word in told) if word else not told


def _answer(desk: Desk) -> str:
    return meter_checks.meter_pages(desk)[0].trust.answer


@pytest.mark.parametrize(
    "request_",
    [
        CheckRequest("zero"),
        CheckRequest("zero", shown=float("nan")),
        CheckRequest("zero", shown=99.0),
        CheckRequest("reference", shown=20.0),
        CheckRequest("certificate"),
    ],
)
def test_a_check_without_its_numbers_is_refused(desk: Desk, request_: CheckRequest) -> None:
    """Nothing is written, and the argument is named."""
    add_meter(desk, MeterFacts("first"))
    with pytest.raises(NotValid) as refused:
        add_check(desk, "first", request_)
    assert refused.value.argument
    assert meter_checks.meter_pages(desk)[0].checks == ()


def test_a_bias_that_cannot_be_and_a_meter_that_was_not_used_are_refused(desk: Desk) -> None:
    """A bias of nothing changes nothing; so does a meter without readings."""
    add_meter(desk, MeterFacts("first"))
    for bias in (0.0, float("inf"), 30.0):
        with pytest.raises(NotValid):
            find_out(desk, "first", bias_n_per_cm=bias)
    with pytest.raises(NotPossible):
        find_out(desk, "first", bias_n_per_cm=1.2)


def test_a_verdict_that_changes_names_the_frame_and_asks_for_another_reading(desk: Desk) -> None:
    """Inside by its five points, too close to call with 1.2 less: no threshold is crossed."""
    add_mesh_type(desk, MeshTypeFacts("230 yellow", rules=MeshRules(target=25, limit=LIMIT)))
    add_meter(desk, MeterFacts("first"))
    at = desk.clock.now() - dt.timedelta(days=2)
    mesh = FoundMesh("230 yellow")
    near, far = register(desk, [NewFrame(584, 787)] * 2, found=mesh, when=When(at)).codes
    for code, value in ((near, 19.6), (far, 24.0)):
        five = (value,) * 5
        survey(desk, code, SurveyRequest(five, five, meter="first"), when=When(at))
    done = find_out(desk, "first", bias_n_per_cm=1.2)
    assert done.found is not None
    (change,) = done.found.changed
    assert (change.frame.code, change.before, change.after) == (near, (), ())
    assert (change.verdict_before, change.verdict_after) == ("inside", "too close to call")
    assert below(desk) == set()
    assert found_out(desk) == {near}
    assert [t.rule for t in frame_page(desk, near).tasks] == ["meter_found_out"]
    assert frame_page(desk, far).tasks == ()
    history.undo(desk)
    assert found_out(desk) == set()


def test_a_repair_leaves_the_readings_before_it_in_doubt(
    round_desk: tuple[Desk, list[str]],
) -> None:
    """Failed on the reference, repaired, and only then found out: all forty are concluded anew."""
    desk, codes = round_desk
    before = When(desk.clock.now() - dt.timedelta(hours=1))
    add_check(desk, "first", CheckRequest("reference", shown=22.2, expected=21.0), when=before)
    add_check(desk, "first", CheckRequest("repair"), when=before)
    page = next(p for p in meter_checks.meter_pages(desk) if p.trust.meter.name == "first")
    assert page.doubted.is_unsettled
    assert any("still in doubt" in str(reason) for reason in page.trust.reasons)
    assert meter_checks.bias_of(page) == pytest.approx(1.2)
    survey(desk, codes[0], SurveyRequest((21.0,), (21.0,), meter="first"))
    done = find_out(desk, "first", bias_n_per_cm=1.2)
    assert done.found is not None
    assert len(done.found.survey_ids) == 40, "what was read after the repair is not in doubt"
    page = next(p for p in meter_checks.meter_pages(desk) if p.trust.meter.name == "first")
    assert not page.doubted.is_unsettled


def test_a_certificate_that_had_run_out_is_refused(desk: Desk) -> None:
    """One that was good when it was issued may be entered late."""
    add_meter(desk, MeterFacts("first"))
    old = CheckRequest("certificate", valid_until=desk.today() - dt.timedelta(days=1))
    with pytest.raises(NotValid) as refused:
        add_check(desk, "first", old)
    assert refused.value.argument == "valid_until"
    add_check(desk, "first", old, when=When(desk.clock.now() - dt.timedelta(days=300)))
    assert len(meter_checks.meter_pages(desk)[0].checks) == 1
