"""The life of a frame: what may follow what, in whatever order it was recorded."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import (
    Damaged,
    Event,
    Found,
    FoundWithMesh,
    FrameKind,
    Freed,
    Glued,
    Held,
    HoldEnded,
    Imaged,
    Inspected,
    Missing,
    Payload,
    Prepped,
    Printed,
    Pulled,
    Reading,
    Received,
    Reclaimed,
    Recorrected,
    Registered,
    Released,
    Reserved,
    Retensioned,
    Retired,
    SentOut,
    Stretched,
    Stripped,
    Surveyed,
    ToReclaim,
    Withdrawn,
)
from framekeeper.domain.frame_state import FrameState

START = dt.datetime(2025, 3, 3, 8, 0, tzinfo=dt.UTC)
PREPPED: tuple[Payload, ...] = (
    Registered(),
    Prepped("inspect"),
    Prepped("old_glue", "skipped", "new frame"),
    Prepped("abrade"),
    Prepped("degrease"),
    Prepped("corners"),
)
FOUND = FoundWithMesh(mesh_type_id=1, reclaims_so_far=4, target_n_per_cm=22.0)
STRETCHED = Stretched(mesh_type_id=1, target_n_per_cm=24.0)


def at(hours: float) -> dt.datetime:
    return START + dt.timedelta(hours=hours)


def journal(*payloads: Payload, first_id: int = 1) -> list[Event]:
    """One event each hour, recorded when it happened."""
    return [
        Event(7, at(hour), payload, at(hour), event_id=first_id + hour)
        for hour, payload in enumerate(payloads)
    ]


def fold(*payloads: Payload, kind: FrameKind = "glued") -> FrameState:
    return lifecycle.fold(kind, journal(*payloads), called="FK0001R")


def survey(*values: float, moment: str = "in_service") -> Surveyed:
    readings = tuple(Reading(1 + i // 2, ("warp", "weft")[i % 2], v) for i, v in enumerate(values))
    return Surveyed(moment, readings)  # type: ignore[arg-type]


# The life of a glued frame


def test_a_whole_life_from_bare_to_retired() -> None:
    """Every state of the trade is passed in its order."""
    steps: list[tuple[Payload, str]] = [
        (Registered(), "bare"),
        *[(step, "bare") for step in PREPPED[1:-1]],
        (PREPPED[-1], "prepped"),
        (STRETCHED, "in_clamps"),
        (Glued(at(9)), "curing"),
        (Released(), "curing"),
        (survey(23.0, 22.0, moment="after_release"), "ready"),
        (Imaged("gig poster"), "in_use"),
        (Printed(400), "in_use"),
        (ToReclaim(), "to_reclaim"),
        (Reclaimed(), "ready"),
        (Pulled("slack"), "pulled"),
        (Stripped(), "bare"),
        (Retired("bent"), "retired"),
    ]
    payloads = [payload for payload, _ in steps]
    got = [fold(*payloads[: n + 1]).state for n in range(len(payloads))]
    assert got == [state for _, state in steps]
    end = fold(*payloads)
    assert (end.stretches, end.stretches_since_regrind) == (1, 1)
    assert end.taken_out_reason == "bent"


def test_a_mesh_life_counts_reclaims_and_impressions() -> None:
    state = fold(FOUND, Imaged(), Printed(120), Printed(80), Reclaimed(), Reclaimed(), Inspected())
    assert state.life is not None
    assert (state.life.reclaims, state.life.reclaims_known) == (6, True)
    assert state.life.reclaims_since_inspection == 0
    assert state.life.impressions == 200


def test_reclaims_nobody_knows_count_from_now_on() -> None:
    state = fold(FoundWithMesh(mesh_type_id=1), Reclaimed())
    assert state.life is not None
    assert (state.life.reclaims, state.life.reclaims_known) == (1, False)
    assert state.life.started_at is None


def test_the_release_is_day_0_and_the_clamp_survey_stays_apart() -> None:
    state = fold(
        *PREPPED,
        STRETCHED,
        survey(30.0, moment="in_clamps"),
        Glued(at(9)),
        Released(),
        survey(24.0, 22.0, moment="after_release"),
    )
    life = state.life
    assert life is not None
    assert life.clamp_survey is not None
    assert life.survey is not None
    assert (life.clamp_survey.mean, life.survey.mean) == (30.0, 23.0)
    assert life.survey.imbalance == 2.0
    assert life.day0_at == life.released_at == at(9)
    assert life.start_event_id == 7


@pytest.mark.parametrize(
    ("cure_hours", "look", "state", "since"),
    [
        (4.0, 3.99, "curing", at(8)),
        (4.0, 4.0, "ready", at(12)),
        (4.0, 400.0, "ready", at(12)),
        (0.5, 1.0, "ready", at(9)),  # released after the cure: ready at the release
    ],
)
def test_a_released_screen_turns_ready_when_its_cure_ends(
    cure_hours: float, look: float, state: str, since: dt.datetime
) -> None:
    """Glued at hour 7 or 8 and released: time alone makes it ready."""
    glued = at(8) if cure_hours >= 1 else at(7)
    events = [
        *journal(*PREPPED, STRETCHED),
        Event(7, glued, Glued(glued + dt.timedelta(hours=cure_hours)), glued, event_id=20),
    ]
    released = at(8.5) if cure_hours >= 1 else at(9)
    events.append(Event(7, released, Released(), released, event_id=21))
    state_then = lifecycle.fold("glued", events).at(at(8 + look))
    assert (state_then.state, state_then.since) == (state, since)


def test_a_screen_still_in_the_clamps_is_not_ready_after_its_cure() -> None:
    state = fold(*PREPPED, STRETCHED, Glued(at(8)))
    assert state.at(at(1000)).state == "curing"


def test_a_cure_cannot_end_before_the_glue_is_on() -> None:
    with pytest.raises(NotPossible, match="cure cannot end"):
        fold(*PREPPED, STRETCHED, Glued(at(6.9)))


# The prep bench


def test_prep_goes_in_the_order_of_the_trade() -> None:
    with pytest.raises(NotPossible, match="cannot have “degrease” before “old glue off”"):
        fold(Registered(), Prepped("inspect"), Prepped("degrease"))


@pytest.mark.parametrize("again", ["old_glue", "abrade"])
def test_a_step_can_be_done_again_and_the_later_ones_are_open_again(again: str) -> None:
    """Abrading once more before the degreaser is no mistake."""
    state = fold(*PREPPED[:4], Prepped(again))  # type: ignore[arg-type]
    assert again in state.prep_done
    assert "degrease" in state.prep_missing
    state = fold(*PREPPED, Prepped(again))  # type: ignore[arg-type]
    assert state.state == "bare"


def test_inspecting_again_leaves_the_other_steps_standing() -> None:
    assert fold(*PREPPED, Prepped("inspect")).state == "prepped"


def test_a_skipped_step_needs_its_reason() -> None:
    with pytest.raises(NotPossible) as refusal:
        fold(Registered(), Prepped("inspect"), Prepped("old_glue", "skipped", " "))
    assert "reason" in refusal.value.text()


def test_a_failed_inspection_puts_the_frame_on_hold() -> None:
    state = fold(*PREPPED, Prepped("inspect", "failed", "rocks on the glass", 2.5))
    assert (state.state, state.hold_reason) == ("bare", "rocks on the glass")
    with pytest.raises(NotPossible, match="Only the inspection"):
        fold(Registered(), Prepped("inspect"), Prepped("old_glue", "failed", "will not come off"))


def test_corners_are_asked_once_and_after_damage() -> None:
    life = (STRETCHED, Glued(at(8)), Released(), Pulled("slack"), Stripped())
    assert "corners" not in fold(*PREPPED, *life).prep_missing
    torn = (*life[:-2], Damaged("corner_tear", mesh_is_done=True), Stripped())
    assert "corners" in fold(*PREPPED, *torn).prep_missing
    assert "corners" not in fold(FOUND, Pulled("slack"), Stripped()).prep_missing


def test_a_bent_bar_sends_a_prepped_frame_back_to_the_glass_and_its_corners() -> None:
    state = fold(*PREPPED, Damaged("bent_bar", mesh_is_done=False))
    assert (state.state, state.prep_missing) == ("bare", ("inspect", "corners"))


def test_a_burst_is_the_end_of_the_mesh_whatever_was_ticked() -> None:
    state = fold(FOUND, Damaged("burst", mesh_is_done=False))
    assert (state.state, state.taken_out_reason) == ("pulled", "burst")


def test_damage_that_lets_the_mesh_go_on_stays_open_until_somebody_inspects_it() -> None:
    open_ = fold(FOUND, Damaged("hole", mesh_is_done=False), Imaged(), Reclaimed())
    assert open_.life is not None
    assert (open_.state, open_.life.open_damage) == ("ready", "hole")
    seen = fold(FOUND, Damaged("hole", mesh_is_done=False), Inspected("taped"))
    assert seen.life is not None
    assert seen.life.open_damage is None


def test_mesh_that_bursts_in_the_clamps_does_not_count_towards_the_regrind() -> None:
    state = fold(*PREPPED, STRETCHED, Damaged("burst", mesh_is_done=True), Stripped())
    assert (state.stretches, state.stretches_since_regrind) == (1, 0)


def test_a_retension_does_not_forget_the_stencil() -> None:
    """Pulled from the press and tightened, a roller frame still waits for the washout."""
    used = fold(FOUND, Imaged(), Pulled("slack"), Retensioned(25.0), kind="roller")
    assert used.state == "to_reclaim"
    clean = fold(FOUND, Pulled("slack"), Retensioned(25.0), kind="roller")
    assert clean.state == "ready"


def test_a_regrind_does_the_glue_and_the_face_and_starts_the_count_anew() -> None:
    life = (STRETCHED, Glued(at(8)), Released(), Pulled("slack"), Stripped())
    before = fold(*PREPPED, *life)
    assert before.stretches_since_regrind == 1
    after = fold(*PREPPED, *life, Prepped("inspect"), Prepped("regrind"))
    assert after.stretches_since_regrind == 0
    assert (after.stretches, after.prep_missing) == (1, ("degrease",))
    skipped = fold(*PREPPED, *life, Prepped("regrind", "skipped", "no time"))
    assert skipped.stretches_since_regrind == 1


def test_the_old_mesh_comes_off_before_the_glue() -> None:
    assert fold(FOUND, Pulled("slack"), Prepped("inspect")).state == "pulled"
    with pytest.raises(NotPossible, match="still has its old mesh on"):
        fold(FOUND, Pulled("slack"), Prepped("inspect"), Prepped("old_glue"))


def test_prep_is_done_anew_for_the_next_mesh() -> None:
    state = fold(*PREPPED, STRETCHED, Glued(at(8)), Released(), Pulled("slack"), Stripped())
    assert state.prep_missing == ("inspect", "old_glue", "abrade", "degrease")


def test_mesh_stripped_from_the_clamps_before_the_glue_leaves_the_prep() -> None:
    assert fold(*PREPPED, STRETCHED, Stripped()).state == "prepped"


# Roller frames


def test_a_roller_frame_needs_only_its_inspection_and_takes_no_glue() -> None:
    assert fold(Registered(), Prepped("inspect"), kind="roller").state == "prepped"
    for step in ("old_glue", "abrade", "degrease", "regrind"):
        with pytest.raises(NotPossible, match="is for glued frames"):
            fold(Registered(), Prepped("inspect"), Prepped(step), kind="roller")  # type: ignore[arg-type]
    with pytest.raises(NotPossible, match="takes no glue"):
        fold(Registered(), Prepped("inspect"), STRETCHED, Glued(at(9)), kind="roller")
    state = fold(Registered(), Prepped("inspect"), STRETCHED, Released(), kind="roller")
    assert state.state == "ready"


def test_a_glued_frame_is_not_released_before_it_is_glued() -> None:
    with pytest.raises(NotPossible, match="not glued yet"):
        fold(*PREPPED, STRETCHED, Released())


@pytest.mark.parametrize("pulled", [False, True])
def test_a_retension_keeps_the_mesh_and_starts_the_decay_anew(pulled: bool) -> None:
    life = (Registered(), Prepped("inspect"), STRETCHED, Released(), Reclaimed(), survey(18.0))
    state = fold(*life, *([Pulled("slack")] if pulled else []), Retensioned(26.0), kind="roller")
    assert state.state == "ready"
    assert state.life is not None
    assert state.life.start_event_id == 3
    assert state.life.day0_at == at(7 if pulled else 6)
    assert (state.life.target_n_per_cm, state.life.reclaims) == (26.0, 1)
    assert state.life.survey is None
    assert state.stretches == 1


def test_a_glued_or_broken_mesh_is_not_tightened() -> None:
    with pytest.raises(NotPossible, match="is a glued frame"):
        fold(FOUND, Retensioned(25.0))
    with pytest.raises(NotPossible, match="no whole mesh"):
        fold(FOUND, Damaged("burst", mesh_is_done=True), Retensioned(25.0), kind="roller")


# Trips, marks and ends


def test_back_from_outside_with_new_mesh_waits_for_its_survey() -> None:
    out = (Registered(), SentOut("Nordwind Screens", dt.date(2025, 3, 9)))
    away = fold(*out)
    assert (away.state, away.out_to, away.due_back_on) == (
        "out",
        "Nordwind Screens",
        dt.date(2025, 3, 9),
    )
    back = fold(*out, Received(mesh_type_id=2, target_n_per_cm=25.0))
    assert (back.state, back.awaits_inbound_survey, back.out_to) == ("ready", True, None)
    assert back.life is not None
    assert back.life.from_outside
    assert back.stretches == 1
    assert not fold(*out, Received(2, 25.0), survey(24.0)).awaits_inbound_survey


def test_back_from_outside_as_it_left() -> None:
    assert fold(*PREPPED, SentOut("Nordwind"), Received()).state == "prepped"
    state = fold(FOUND, SentOut("Nordwind"), Received())
    assert (state.state, state.awaits_inbound_survey) == ("ready", False)


@pytest.mark.parametrize(
    ("before", "expected"),
    [((Registered(),), "bare"), ((FOUND, Imaged()), "in_use"), ((FOUND, Pulled("x")), "pulled")],
)
def test_a_frame_that_is_found_again_is_what_it_was(
    before: tuple[Payload, ...], expected: str
) -> None:
    assert fold(*before, Missing(), Found()).state == expected


def test_a_frame_lost_while_curing_is_ready_when_found_after_the_cure() -> None:
    state = fold(*PREPPED, STRETCHED, Glued(at(10)), Released(), Missing(), Found())
    assert state.at(at(11)).state == "ready"


def test_hold_and_reservation_are_marks_not_states() -> None:
    state = fold(FOUND, Reserved("tour shirts", dt.date(2025, 4, 1)), Held("smells of solvent"))
    assert state.state == "ready"
    assert (state.reserved_job, state.hold_reason) == ("tour shirts", "smells of solvent")
    state = fold(FOUND, Reserved("tour shirts"), Held("smells"), HoldEnded(), Freed())
    assert (state.reserved_job, state.hold_reason) == (None, None)


@pytest.mark.parametrize(
    ("history", "refused"),
    [
        ((FOUND, Held("x")), Imaged()),
        ((FOUND, Held("x")), Reserved("job")),
        ((*PREPPED, Held("x")), STRETCHED),
        ((FOUND, Held("x")), Held("y")),
        ((FOUND,), HoldEnded()),
        ((FOUND, Reserved("a")), Reserved("b")),
        ((FOUND,), Freed()),
    ],
)
def test_marks_refuse_what_they_are_there_for(
    history: tuple[Payload, ...], refused: Payload
) -> None:
    fold(*history)
    with pytest.raises(NotPossible) as refusal:
        fold(*history, refused)
    assert str(refusal.value.said).startswith("FK0001R is ")
    assert str(refusal.value.hint)


def test_what_leaves_service_is_not_reserved_any_more() -> None:
    for end in (Pulled("slack"), Damaged("burst", mesh_is_done=True), Retired("old"), Stripped()):
        assert fold(FOUND, Reserved("tour"), end).reserved_job is None


def test_a_taped_pinhole_does_not_end_the_mesh_life() -> None:
    state = fold(FOUND, Damaged("hole", mesh_is_done=False, where="lower left"))
    assert state.state == "ready"
    with pytest.raises(NotPossible, match="has no mesh"):
        fold(Registered(), Damaged("hole", mesh_is_done=True))


# Time and order


def test_a_frame_that_is_entered_late_keeps_its_order() -> None:
    """A reclaim of yesterday, recorded today, stands where it happened."""
    events = journal(FOUND, Imaged(), ToReclaim())
    late = Event(7, at(0.5), Reclaimed(), at(50))
    state = lifecycle.refold("glued", events, [late])
    assert state.state == "to_reclaim"
    assert state.life is not None
    assert state.life.reclaims == 5
    assert state.last_event_at == at(2)


def test_a_late_entry_that_breaks_what_came_after_blames_the_later_entry() -> None:
    events = journal(FOUND, Imaged(), ToReclaim())
    late = Event(7, at(0.5), Pulled("slack"), at(50))
    with pytest.raises(NotPossible) as refusal:
        lifecycle.refold("glued", events, [late], called="FK0001R")
    assert "FK0001R was imaged on 2025-03-03 09:00" in str(refusal.value)
    assert "Check the date" in str(refusal.value.hint)


def test_a_late_entry_that_is_impossible_itself_is_blamed_itself() -> None:
    events = journal(FOUND, Imaged(), ToReclaim())
    with pytest.raises(NotPossible, match="FK0001R is ready and cannot be stretched"):
        lifecycle.refold("glued", events, [Event(7, at(0.5), STRETCHED, at(50))], called="FK0001R")


def test_ties_go_by_the_time_of_recording_and_then_by_the_order_of_recording() -> None:
    first = Event(7, START, FOUND, at(5), event_id=9)
    second = Event(7, START, Imaged(), at(6), event_id=3)
    third = Event(7, START, ToReclaim(), at(6), event_id=4)
    fourth = Event(7, START, Reclaimed(), at(6))  # not stored yet
    state = lifecycle.fold("glued", [fourth, third, second, first])
    assert state.state == "ready"
    assert [e.kind for e in lifecycle.standing([fourth, third, second, first])] == [
        "found_with_mesh",
        "imaged",
        "to_reclaim",
        "reclaimed",
    ]


def test_a_withdrawn_event_never_was() -> None:
    events = journal(FOUND, Imaged(), ToReclaim(), Withdrawn(3))
    assert lifecycle.fold("glued", events).state == "in_use"
    assert [e.event_id for e in lifecycle.standing(events)] == [1, 2]


def test_a_withdrawal_that_is_withdrawn_brings_the_event_back_in_its_old_place() -> None:
    events = journal(FOUND, Imaged(), ToReclaim(), Withdrawn(3), Withdrawn(4))
    assert lifecycle.fold("glued", events) == lifecycle.fold("glued", events[:3])
    again = [*events, Event(7, at(9), Withdrawn(5), at(9), event_id=6)]
    assert lifecycle.fold("glued", again).state == "in_use"


def test_a_withdrawal_that_breaks_a_later_event_is_refused() -> None:
    events = journal(FOUND, Imaged(), ToReclaim())
    with pytest.raises(NotPossible, match="would be impossible"):
        lifecycle.refold("glued", events, [Event(7, at(9), Withdrawn(1), at(9))])


@pytest.mark.parametrize(
    ("happened", "now", "is_fine"),
    [
        (at(0), at(0), True),
        (at(0) + dt.timedelta(minutes=2), at(0), True),
        (at(0) + dt.timedelta(minutes=2, seconds=1), at(0), False),
        (at(0).replace(tzinfo=None), at(1), False),
        # the hour that a clock in Europe shows twice: the same reading, an hour apart
        (
            dt.datetime(2025, 10, 26, 2, 30, tzinfo=dt.timezone(dt.timedelta(hours=1))),
            dt.datetime(2025, 10, 26, 2, 30, tzinfo=dt.timezone(dt.timedelta(hours=2))),
            False,
        ),
        (dt.datetime(1, 1, 1, tzinfo=dt.timezone(dt.timedelta(hours=14))), at(0), False),
    ],
)
def test_a_time_is_refused_without_zone_and_in_the_future(
    happened: dt.datetime, now: dt.datetime, is_fine: bool
) -> None:
    if is_fine:
        lifecycle.check_time(happened, now)
        return
    with pytest.raises(NotValid) as refusal:
        lifecycle.check_time(happened, now)
    assert refusal.value.argument == "happened_at"


HISTORY = journal(
    *PREPPED, STRETCHED, survey(29.0, moment="in_clamps"), Glued(at(9)), Released(),
    survey(24.0, 23.0, moment="after_release"), Held("x"), HoldEnded(), Imaged(), Printed(30),
    ToReclaim(), Reclaimed(), Withdrawn(16), Inspected(), Reserved("y"), Missing(), Found(),
    Pulled("z"), Stripped(), Prepped("inspect"), Damaged("bent_bar", mesh_is_done=False),
)  # fmt: skip


@given(data=st.data(), length=st.integers(1, len(HISTORY)), hours=st.integers(0, 5))
@settings(max_examples=60, deadline=None)
def test_the_order_of_recording_does_not_matter(
    data: st.DataObject, length: int, hours: int
) -> None:
    """With distinct times, any order of recording folds to the same state."""
    wanted = HISTORY[:length]
    facts = [e for e in wanted if not isinstance(e.payload, Withdrawn)]
    order = data.draw(st.permutations(facts))
    order += [e for e in wanted if isinstance(e.payload, Withdrawn)]  # never before its target
    ids = {e.event_id: 100 + n for n, e in enumerate(order)}

    def recorded(event: Event) -> Event:
        payload = event.payload
        if isinstance(payload, Withdrawn):
            payload = Withdrawn(ids[payload.target_id])
        moment = at(100 + hours * ids[event.event_id])
        return replace(event, event_id=ids[event.event_id], recorded_at=moment, payload=payload)

    shuffled = lifecycle.fold("glued", data.draw(st.permutations([recorded(e) for e in order])))
    names = {new: old for old, new in ids.items()}
    assert _renamed(shuffled, names) == lifecycle.fold("glued", wanted)


def _renamed(state: FrameState, names: dict[int, int]) -> FrameState:
    life = state.life
    if life is None:
        return state
    survey_then, clamp = life.survey, life.clamp_survey
    return replace(
        state,
        life=replace(
            life,
            start_event_id=names[life.start_event_id],
            survey=survey_then and replace(survey_then, event_id=names[survey_then.event_id]),
            clamp_survey=clamp and replace(clamp, event_id=names[clamp.event_id]),
        ),
    )


# A meter that is found out


@given(data=st.data(), n=st.integers(1, 3))
def test_findings_about_meters_add_up_to_the_newest_that_stands(
    data: st.DataObject, n: int
) -> None:
    """Surveys and findings come and go in any order; a slow twin looks each figure up anew."""
    read = (replace(survey(20.0 + i, 21.0), correction_n_per_cm=0.5) for i in range(n))
    events = journal(FOUND, *read)
    surveys = [e.event_id for e in events if e.kind == "surveyed"]
    for hour in range(len(events), len(events) + data.draw(st.integers(0, 6))):
        word: Payload
        if data.draw(st.booleans()):
            word = Recorrected(data.draw(st.sampled_from(surveys)), -float(hour), 0.5)
        else:
            counting = [e.event_id for e in events if e.kind in ("surveyed", "recorrected")]
            target, counts = lifecycle.last_word(events, data.draw(st.sampled_from(counting)))
            if not counts:
                continue
            word = Withdrawn(target)
        events.append(Event(7, at(hour), word, at(hour), event_id=hour + 1))
    gone = {e.payload.target_id for e in events if isinstance(e.payload, Withdrawn)}
    left = [i for i in surveys if i not in gone]
    life = lifecycle.fold("glued", events, called="FK0001R").life
    assert life is not None
    if not left:
        assert life.survey is None
        return
    newest = left[-1]
    shift = 0.0
    for e in events:
        if (
            isinstance(e.payload, Recorrected)
            and e.payload.survey_id == newest
            and e.event_id not in gone
        ):
            shift = e.payload.correction_n_per_cm - 0.5
    assert life.survey is not None
    assert life.survey.event_id == newest
    assert life.survey.shift == pytest.approx(shift)
    assert life.survey.mean == pytest.approx(
        (20.0 + surveys.index(newest) + 21.0) / 2 + 0.5 + shift
    )
    assert lifecycle.shift_of(events, newest) == pytest.approx(shift)
