"""Proves that a survey's verdict is the same everywhere, and is withheld where it would be a guess.

Numbers: the guard band is 1.645 u for a risk of 5 % (ISO 14253-1:2017). With the meter below, a
mean of ten readings has u = sqrt(0.3^2 + 0.2^2/10 + 0.1^2/12) = 0.308, so a band of 0.51 N/cm; one
reading has u = sqrt(0.3^2 + 0.2^2 + 0.1^2/12) = 0.362, so 0.60.
"""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import Moment, Reading
from framekeeper.domain.points import point_pattern
from framekeeper.domain.records import MeterRecord
from framekeeper.services import marks, meter_checks, meters, prep, register, settings, stretch
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.frame_page import frame_page
from framekeeper.services.tension_paper import tension_sheet
from framekeeper.services.tension_round import round_queue, survey_and_judge
from framekeeper.services.verdicts import (
    UNTOLD_REPEATABILITY_N_PER_CM,
    UNTOLD_RESOLUTION_N_PER_CM,
    UNTOLD_U_N_PER_CM,
    Judgement,
    judge,
    judge_so_far,
)
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock
from tests.services import shoptalk

RULES = MeshRules(target=25.0, tolerance=2.0, limit=18.0, spread_limit=2.0, balance_limit=2.0)
GOOD = MeterRecord(1, "M", "", 0.1, 0.0, 0.3, 0.2, 12, None, False, 1)
FIVE = point_pattern("5", 584.2, 787.4)


def pairs(*values: tuple[float, float]) -> tuple[Reading, ...]:
    found = []
    for point, (warp, weft) in enumerate(values, 1):
        found += [Reading(point, "warp", warp), Reading(point, "weft", weft)]
    return tuple(found)


def judged(
    *values: tuple[float, float],
    moment: Moment = "in_service",
    rules: MeshRules = RULES,
    target: float | None = 25.0,
    meter: MeterRecord | None = GOOD,
    correction: float = 0.0,
) -> Judgement:
    return judge(
        pairs(*values),
        correction_n_per_cm=correction,
        moment=moment,
        rules=rules,
        target=target,
        meter=meter,
        places=FIVE,
    )


@pytest.mark.parametrize(
    ("level", "verdict"),
    [(18.7, "inside"), (18.5, "too close to call"), (17.6, "too close to call"),
     (17.4, "outside")],
)  # fmt: skip
def test_in_service_the_limit_decides_at_the_lowest_reading_too(level: float, verdict: str) -> None:
    """18 + 0.60 for the lowest reading, 18 - 0.51 for the mean."""
    assert judged(*[(level, level)] * 5).verdict == verdict


@pytest.mark.parametrize(
    ("level", "verdict"),
    [(25.0, "inside"), (23.6, "inside"), (23.4, "too close to call"), (22.4, "outside"),
     (26.6, "too close to call"), (27.6, "outside")],
)  # fmt: skip
@pytest.mark.parametrize("moment", ["before_glue", "after_release"])
def test_a_fresh_stretch_is_held_against_its_target(
    moment: Moment, level: float, verdict: str
) -> None:
    """25 +- 2 with a band of 0.51 on each side; the limit for screens in service has no say."""
    assert judged(*[(level, level)] * 5, moment=moment).verdict == verdict


def test_evenness_counts_in_a_fresh_stretch_and_is_told_in_service() -> None:
    uneven = ((25.0, 25.0), (25.0, 25.0), (22.0, 22.0), (25.0, 25.0), (25.0, 25.0))
    fresh = judged(*uneven, moment="after_release")
    assert fresh.verdict == "outside"
    assert "3.0 N/cm apart" in str(fresh.reasons[0])
    used = judged(*uneven)
    assert used.verdict == "inside"
    assert str(used.found[0]) == "The top right corner is 3.0 N/cm lower than the rest."


@pytest.mark.parametrize(
    ("values", "said", "cause"),
    [
        # centre, top left, top right, bottom right, bottom left
        (((25, 25), (22, 22), (25, 25), (25, 25), (22, 22)), "The left side is", "a bent bar"),
        (((25, 25), (25, 25), (25, 25), (21, 21), (25, 25)), "The bottom right corner is",
         "pulled away at this corner"),
        (((26, 22),) * 5, "Weft is 4.0 N/cm lower than warp", "were not pulled alike"),
        (((20, 20),) * 5, "The screen is even, and 3.0 N/cm too low", "too little pull"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_apart_with_its_likely_cause(
    values: tuple[tuple[float, float], ...], said: str, cause: str
) -> None:
    """A low side, a low corner, warp against weft, and low throughout are four things."""
    found = judged(*values, moment="after_release").found
    assert str(found[0]).startswith(said)
    assert str(found[1]).startswith("Likely cause: ")
    assert cause in str(found[1])
    assert len(found) == 2


def test_a_meter_that_was_not_told_is_taken_for_a_common_one_and_that_is_said() -> None:
    """A better meter decides what the assumed one leaves open."""
    level = [(18.9, 18.9)] * 5
    untold, told = judged(*level, meter=None), judged(*level)
    assert (untold.verdict, told.verdict) == ("too close to call", "inside")
    assert "The meter was not told" in str(untold.assumed)
    assert "from memory" in str(untold.assumed)
    assert "common practice, no source" in str(untold.assumed)
    assert told.assumed is None
    same = MeterRecord(
        1, "M", "", UNTOLD_RESOLUTION_N_PER_CM, 0.0, UNTOLD_U_N_PER_CM,
        UNTOLD_REPEATABILITY_N_PER_CM, 12, None, False, 1,
    )  # fmt: skip
    assert judged(*level, meter=same).result == untold.result


def test_the_correction_is_added_before_the_verdict() -> None:
    assert judged(*[(18.7, 18.7)] * 5, correction=-1.5).verdict == "outside"


@pytest.mark.parametrize(
    ("readings", "moment", "rules", "target", "why"),
    [
        ((Reading(1, "not_told", 22.0),), "in_service", RULES, 25.0, "One number alone"),
        ((Reading(1, "not_told", 22.0), Reading(2, "not_told", 21.0)), "in_service", RULES, 25.0,
         "Without the direction"),
        ((Reading(1, "warp", 22.0), Reading(2, "warp", 22.0)), "in_service", RULES, 25.0,
         "not both read"),
        ((*pairs((22, 22)), Reading(2, "weft", 22.0)), "in_service", RULES, 25.0, "not both read"),
        (pairs((22, 22)), "in_service", RULES, 25.0, "One point cannot show"),
        (pairs((22, 22), (22, 22)), "in_service", MeshRules(), 25.0, "has no limit"),
        (pairs((22, 22), (22, 22)), "after_release", RULES, None, "has no target"),
        (pairs((22, 22), (22, 22)), "in_clamps", RULES, 25.0, "between the stages"),
        ((), "in_service", RULES, 25.0, "no reading"),
    ],
)  # fmt: skip
def test_what_cannot_be_judged_has_a_sentence_and_no_verdict(
    readings: tuple[Reading, ...], moment: Moment, rules: MeshRules, target: float | None, why: str
) -> None:
    found = judge(
        readings, correction_n_per_cm=0, moment=moment, rules=rules, target=target, meter=GOOD
    )
    assert (found.result, found.verdict, str(found.word)) == (None, None, "no verdict")
    assert why in str(found.reasons[0])
    assert found.found == ()


@pytest.mark.parametrize("value", [float("nan"), 0.0, -3.0, 61.0])
def test_a_number_that_no_meter_shows_is_refused_by_name(value: float) -> None:
    with pytest.raises(NotValid) as refused:
        judged((22, 22), (22, value))
    assert refused.value.argument == "tension"


def test_a_correction_that_leaves_no_tension_gives_no_verdict() -> None:
    """The raw value was possible, what is concluded from it is not."""
    found = judged((2, 2), (2, 2), correction=-5)
    assert found.verdict is None
    assert "cannot be" in str(found.reasons[0])


def test_a_survey_is_judged_while_it_is_typed_by_its_whole_points() -> None:
    """Half a point waits for its other number; the places of the points are kept."""

    def so_far(*numbers: float | None) -> Judgement:
        return judge_so_far(
            numbers, correction_n_per_cm=0, moment="after_release", rules=RULES, target=25.0,
            meter=GOOD, places=FIVE,
        )  # fmt: skip

    assert "needs warp and weft at two points" in str(so_far(None, None).reasons[0])
    assert so_far(25.0, 25.0, 25.0, None).verdict is None
    assert so_far(25.0, 25.0, 25.0, 25.0, 21.0, None).verdict == "inside"
    low = so_far(25.0, 25.0, 25.0, 25.0, None, None, 21.0, 21.0, 25.0, 25.0)
    assert low.verdict == "outside"
    assert str(low.found[0]).startswith("The bottom right corner is 4.0 N/cm lower")
    whole = ((25.0, 25.0), (25.0, 25.0), (24.0, 24.0), (25.0, 25.0), (25.0, 25.0))
    typed = [number for pair in whole for number in pair]
    assert so_far(*typed).result == judged(*whole, moment="after_release").result


# in a shop, on both databases


def test_screen_paper_and_round_say_the_same_word(desk: Desk) -> None:
    shoptalk.furnish(desk)
    codes = [shoptalk.ready(desk) for _ in range(4)]
    levels = {codes[0]: 24.0, codes[1]: 18.0, codes[2]: 15.0}
    for code, level in levels.items():
        survey_and_judge(desk, code, SurveyRequest((level,) * 5, (level,) * 5))
    survey_and_judge(desk, codes[3], SurveyRequest(not_told=(24.0,)))
    words = ["inside", "too close to call", "outside", "no verdict"]
    pages = [frame_page(desk, code) for code in codes]
    assert [str(page.judgement.word) for page in pages if page.judgement] == words
    wording = PlainWording(zone=dt.UTC)
    assert [tension_sheet(desk, wording, c).surveys[0].verdict for c in codes] == words
    stops = {s.frame.code: s for s in round_queue(desk)}
    assert [str(stops[c].judgement.word) for c in codes] == words  # type: ignore[union-attr]
    assert stops[codes[1]].answer == "holds", "the due list keeps its plain threshold"


def test_each_survey_is_judged_by_the_mesh_and_target_of_its_day(
    desk: Desk, clock: FakeClock
) -> None:
    """A mesh life later other rules hold, and the old verdicts stay."""
    shoptalk.furnish(desk)
    code = shoptalk.ready(desk)
    survey(desk, code, SurveyRequest((20,) * 5, (20,) * 5))
    marks.pull(desk, [code], "slack")
    prep.strip(desk, [code])
    prep.prep_all(desk, [code], skipped={"old_glue": "new"})
    request = stretch.StretchRequest(shoptalk.MESH, target_n_per_cm=15.0)
    stretch.stretch(desk, [code], request)
    survey(desk, code, SurveyRequest((20,) * 5, (20,) * 5, moment="before_glue"))
    stretch.glue(desk, [code], cure=dt.timedelta(minutes=20))
    stretch.release(desk, [code])
    survey(desk, code, SurveyRequest((15,) * 5, (15,) * 5))
    page = frame_page(desk, code)
    verdicts = [page.judged[point.event.event_id].verdict for point in page.surveys]
    assert verdicts == ["inside", "outside", "inside"]


def test_after_a_retension_its_own_target_decides(desk: Desk) -> None:
    """A roller frame tightened to 30: 25 would have been right before, and is not now."""
    shoptalk.furnish(desk)
    mesh = register.FoundMesh(shoptalk.MESH, target_n_per_cm=25.0)
    frame = register.NewFrame(584, 787, kind="roller")
    (code,) = register.register(desk, [frame], found=mesh).codes
    for target, verdict in ((30.0, "outside"), (25.0, "inside")):
        stretch.retension(desk, [code], target_n_per_cm=target)
        request = SurveyRequest((25,) * 5, (25,) * 5, moment="after_release")
        survey(desk, code, request)
        page = frame_page(desk, code)
        assert page.judged[page.surveys[-1].event.event_id].verdict == verdict


def test_the_meter_that_read_a_survey_decides_how_sure_it_is(desk: Desk) -> None:
    """18.5 as shown, 19.0 with the meter's own correction of 0.5: not judged as 18.5."""
    shoptalk.furnish(desk)
    code = shoptalk.ready(desk)
    request = SurveyRequest((18.5,) * 5, (18.5,) * 5, meter=shoptalk.METER)
    told = survey_and_judge(desk, code, request).judgement
    assert told is not None
    assert told.result is not None
    assert told.result.mean == pytest.approx(19.0)
    assert told.assumed is None


def test_a_meter_that_was_found_out_changes_the_verdict_and_undo_restores_it(desk: Desk) -> None:
    """It read 1.2 too high: what was inside is too close to call; the raw values stay."""
    from framekeeper.services import history

    shoptalk.furnish(desk)
    meters.add_meter(desk, meters.MeterFacts("M2"))
    code = shoptalk.ready(desk)
    survey(desk, code, SurveyRequest((19.5,) * 5, (19.5,) * 5, meter="M2"))
    before = frame_page(desk, code).judgement
    meter_checks.find_out(desk, "M2", bias_n_per_cm=1.2)
    after = frame_page(desk, code).judgement
    history.undo(desk)
    again = frame_page(desk, code).judgement
    assert before is not None
    assert after is not None
    assert (before.verdict, after.verdict) == ("inside", "too close to call")
    assert again == before


def test_own_points_tell_a_low_corner_too(desk: Desk) -> None:
    """Where the shop's own points lie is known by the survey's number of points."""
    shoptalk.furnish(desk)
    code = shoptalk.ready(desk)
    request = SurveyRequest((24, 24, 24, 20), (24, 24, 24, 20))
    said = survey_and_judge(desk, code, request).judgement
    assert said is not None
    assert "where the points lie is not known" in str(said.found[0])
    own = settings.own_points_in("20 20; 80 20; 20 80; 80 80")
    settings.change_settings(desk, own_points=own, point_pattern="own")
    judgement = frame_page(desk, code).judgement
    assert judgement is not None
    assert str(judgement.found[0]).startswith("The bottom right corner is 4.0 N/cm lower")
