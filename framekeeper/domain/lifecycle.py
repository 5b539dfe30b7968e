"""Folds the journal of one frame into its state; says which events may follow and why one may not.

Pure functions: no clock, no database. The same journal gives the same state, in whatever order its
events were recorded, because `Event.order` sorts them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TypeVar

from framekeeper.domain.admission import admit
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import (
    Damaged,
    Event,
    FoundWithMesh,
    FrameKind,
    Glued,
    Held,
    Prepped,
    PrepStep,
    Printed,
    Pulled,
    Received,
    Recorrected,
    Reserved,
    Retensioned,
    Retired,
    SentOut,
    Stretched,
    Surveyed,
    Withdrawn,
)
from framekeeper.domain.frame_state import PREP_ORDER, FrameState, LastSurvey, MeshLife, State
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import summarise
from framekeeper.domain.trade_words import EVENT_WORDS

P = TypeVar("P")

CLOCK_TOLERANCE = dt.timedelta(minutes=2)  # two benches' clocks may differ a little
EARLIEST = dt.datetime(1900, 1, 1, tzinfo=dt.UTC)  # a year before is a slip: 25 instead of 2025


def standing(events: Iterable[Event]) -> list[Event]:
    """Return the events that count, in the order in which they happened.

    An event that was withdrawn and the withdrawal itself drop out. A withdrawal that was withdrawn
    in its turn never was: its target counts again, in its old place.
    """
    everything = list(events)
    withdrawn = _withdrawn(everything)
    return sorted(
        (
            e
            for e in everything
            if not isinstance(e.payload, Withdrawn) and e.event_id not in withdrawn
        ),
        key=lambda e: e.order,
    )


def withdrawn(withdrawals: Iterable[tuple[float, int]]) -> set[int]:
    """Return the ids of what is taken back, given the id of each withdrawal and of its target.

    A withdrawal that was withdrawn in its turn takes nothing back. Newest first, because it is
    younger than its target.
    """
    gone: set[int] = set()
    for event_id, target_id in sorted(withdrawals, reverse=True):
        if event_id not in gone:
            gone.add(target_id)
    return gone


def _withdrawn(events: Iterable[Event]) -> set[int]:
    """An unstored event has no id yet, so nothing can point at it."""
    return withdrawn(
        (e.event_id or float("inf"), e.payload.target_id)
        for e in events
        if isinstance(e.payload, Withdrawn)
    )


def last_word(events: Iterable[Event], event_id: int) -> tuple[int, bool]:
    """Find what has to be withdrawn to change whether an event counts, and whether it counts now.

    That is the event itself, or the last link of the withdrawals that were withdrawn.
    """
    taken_by = {e.payload.target_id: e.event_id for e in events if isinstance(e.payload, Withdrawn)}
    links = 0
    while event_id in taken_by:
        event_id = taken_by[event_id]
        links += 1
    return event_id, links % 2 == 0


def concluded(events: Iterable[Event]) -> list[Event]:
    """Return the events that count, each survey with the correction that is known by now.

    A meter that is found out changes what its surveys mean; the newest finding decides. Each
    finding then says what was added on the day itself, whatever earlier findings said.
    """
    counting = standing(events)
    known = {
        e.payload.survey_id: e.payload.correction_n_per_cm
        for e in counting
        if isinstance(e.payload, Recorrected)
    }
    if not known:
        return counting
    told = {
        e.event_id: e.payload.correction_n_per_cm
        for e in counting
        if isinstance(e.payload, Surveyed) and e.event_id in known
    }
    return [_with_correction(e, known, told) for e in counting]


def _with_correction(event: Event, known: dict[int, float], told: dict[int, float]) -> Event:
    payload = event.payload
    if isinstance(payload, Surveyed) and event.event_id in known:
        right = replace(payload, correction_n_per_cm=known[event.event_id])
        return replace(event, payload=right)
    if isinstance(payload, Recorrected) and payload.survey_id in told:
        now, was = known[payload.survey_id], told[payload.survey_id]
        return replace(event, payload=replace(payload, correction_n_per_cm=now, was_n_per_cm=was))
    return event


def shift_of(events: Iterable[Event], survey_id: int) -> float:
    """Return what the findings that stand have added to the correction of a survey, in N/cm."""
    for event in concluded(events):
        payload = event.payload
        if isinstance(payload, Recorrected) and payload.survey_id == survey_id:
            return payload.correction_n_per_cm - payload.was_n_per_cm
    return 0.0


def fold(kind: FrameKind, events: Iterable[Event], *, called: str = "The frame") -> FrameState:
    """Fold the journal of one frame.

    Parameters
    ----------
    kind
        Glued, or with rollers.
    events
        All events of this frame, in any order.
    called
        How a refusal names the frame.

    Raises
    ------
    NotPossible
        If an event cannot follow those before it.
    """
    state = FrameState(kind=kind)
    for event in concluded(events):
        state = apply(state, event, called=called)
    return state


def refold(
    kind: FrameKind,
    stored: Iterable[Event],
    new: Iterable[Event],
    *,
    called: str = "The frame",
) -> FrameState:
    """Fold stored and new events together, and blame the right one if that is impossible.

    Raises
    ------
    NotPossible
        If a new event cannot follow what was before it, or if a stored event that comes later
        would become impossible.
    """
    added, stored_events = list(new), list(stored)
    state = FrameState(kind=kind)
    for event in concluded([*stored_events, *added]):
        try:
            state = apply(state, event, called=called)
        except NotPossible as refusal:
            if event in added:
                if _is_newest(event, stored_events):
                    raise
                raise NotPossible(
                    say("On {at}: {reason}", at=event.happened_at, reason=refusal.said),
                    hint=say("Check the date. {hint}", hint=refusal.hint),
                ) from refusal
            raise NotPossible(
                say(
                    "{frame} was {action} on {at}, and with this entry that would be impossible.",
                    frame=called,
                    action=EVENT_WORDS[event.kind],
                    at=event.happened_at,
                ),
                hint=say("Check the date, or take that later entry back first."),
            ) from refusal
    return state


def _is_newest(event: Event, stored: list[Event]) -> bool:
    return all(event.happened_at >= e.happened_at for e in standing(stored))


def apply(state: FrameState, event: Event, *, called: str = "The frame") -> FrameState:
    """Return the state after one more event.

    Raises
    ------
    NotPossible
        If the event may not follow this state.
    """
    settled = state.at(event.happened_at)
    admit(called, settled, event)
    changed = _APPLY[event.kind](settled, event)
    if changed.state != settled.state:
        changed = replace(changed, since=event.happened_at)
    return replace(changed, last_event_at=event.happened_at)


def check_time(happened_at: dt.datetime, now: dt.datetime) -> None:
    """Refuse a time without zone or in the future.

    Raises
    ------
    NotValid
        With `argument` "happened_at".
    """
    if happened_at.tzinfo is None:
        raise NotValid(say("A time needs its zone."), argument="happened_at")
    if happened_at.replace(tzinfo=dt.UTC) < EARLIEST:
        raise NotValid(
            say("The year {year} is too long ago.", year=happened_at.year),
            hint=say("Write the year with four digits."),
            argument="happened_at",
        )
    if happened_at > now + CLOCK_TOLERANCE:
        raise NotValid(
            say("{at} is in the future.", at=happened_at),
            hint=say("Record it when it has happened, or check the computer's clock."),
            argument="happened_at",
        )


def _mesh(state: FrameState) -> MeshLife:
    if state.life is None:
        raise NotPossible(say("There is no mesh on this frame."), hint=say("Stretch it first."))
    return state.life


def _to(state_name: State) -> Callable[[FrameState, Event], FrameState]:
    def change(state: FrameState, event: Event) -> FrameState:
        return replace(state, state=state_name)

    return change


def _found_with_mesh(state: FrameState, event: Event) -> FrameState:
    found = _payload(event, FoundWithMesh)
    life = MeshLife(
        mesh_type_id=found.mesh_type_id,
        start_event_id=event.event_id,
        started_at=found.mesh_since,
        target_n_per_cm=found.target_n_per_cm,
        day0_at=found.mesh_since,
        reclaims=found.reclaims_so_far or 0,
        reclaims_known=found.reclaims_so_far is not None,
        reclaims_since_inspection=found.reclaims_so_far or 0,
    )
    # the corners bear mesh already, so nobody is asked about them until damage
    return replace(state, state="ready", life=life, stretches=1, corners_settled=True)


def _prepped(state: FrameState, event: Event) -> FrameState:
    step = _payload(event, Prepped)
    if step.result == "failed":
        reason = state.hold_reason or step.reason
        prep = tuple(s for s in state.prep_done if s != "inspect")
        return _bench_state(replace(state, prep_done=prep, hold_reason=reason))
    if step.step == "corners":
        return _bench_state(replace(state, corners_settled=True))
    if step.step == "regrind":
        kept: tuple[PrepStep, ...] = tuple(s for s in state.prep_done if s == "inspect")
        return _bench_state(
            replace(state, prep_done=(*kept, "old_glue", "abrade"), stretches_since_regrind=0)
            if step.result == "done"
            else state
        )
    return _bench_state(replace(state, prep_done=_with_step(state.prep_done, step.step)))


def _with_step(done: tuple[PrepStep, ...], step: PrepStep) -> tuple[PrepStep, ...]:
    """Add a step in the order of the trade; later steps must be done again after work on the face.

    Inspecting again changes nothing on the face, so it leaves the later steps standing.
    """
    place = PREP_ORDER.index(step)
    kept = done if step == "inspect" else tuple(s for s in done if PREP_ORDER.index(s) < place)
    return tuple(s for s in PREP_ORDER if s in kept or s == step)


def _bench_state(state: FrameState) -> FrameState:
    if state.life is not None:
        return state  # still with its old mesh on: pulled
    return replace(state, state="bare" if state.prep_missing else "prepped")


def _stretched(state: FrameState, event: Event) -> FrameState:
    stretch = _payload(event, Stretched)
    life = MeshLife(
        mesh_type_id=stretch.mesh_type_id,
        start_event_id=event.event_id,
        started_at=event.happened_at,
        target_n_per_cm=stretch.target_n_per_cm,
        roll_id=stretch.roll_id,
    )
    return replace(
        state,
        state="in_clamps",
        life=life,
        stretches=state.stretches + 1,
        awaits_inbound_survey=False,
    )


def _glued(state: FrameState, event: Event) -> FrameState:
    glue = _payload(event, Glued)
    if glue.cure_ends_at < event.happened_at:
        raise NotPossible(
            say("The cure cannot end before the glue is on."),
            hint=say("Check the two times."),
        )
    life = replace(_mesh(state), glued_at=event.happened_at, cure_ends_at=glue.cure_ends_at)
    return replace(
        state,
        state="curing",
        life=life,
        prep_done=(),
        # glue is what wears the face; mesh that bursts in the clamps leaves it as it was
        stretches_since_regrind=state.stretches_since_regrind + 1,
    )


def _released(state: FrameState, event: Event) -> FrameState:
    life = replace(_mesh(state), released_at=event.happened_at, day0_at=event.happened_at)
    released = replace(state, life=life, prep_done=())
    if state.kind == "roller":
        return replace(released, state="ready")
    return released.at(event.happened_at)


def _retensioned(state: FrameState, event: Event) -> FrameState:
    target = _payload(event, Retensioned).target_n_per_cm
    life = replace(_mesh(state), day0_at=event.happened_at, target_n_per_cm=target, survey=None)
    back = state.state
    if back == "pulled":
        back = "to_reclaim" if life.has_stencil else "ready"
    return replace(state, state=back, life=life, taken_out_reason=None)


def _surveyed(state: FrameState, event: Event) -> FrameState:
    survey = _payload(event, Surveyed)
    figures = summarise(survey.readings, correction_n_per_cm=survey.correction_n_per_cm)
    last = LastSurvey(
        event_id=event.event_id,
        at=event.happened_at,
        moment=survey.moment,
        mean=figures.mean,
        lowest=figures.lowest,
        spread=figures.spread,
        imbalance=figures.imbalance,
        meter_id=survey.meter_id,
    )
    if survey.moment in ("in_clamps", "before_glue"):
        return replace(state, life=replace(_mesh(state), clamp_survey=last))
    life = replace(_mesh(state), survey=last)
    return replace(state, life=life, awaits_inbound_survey=False)


def _recorrected(state: FrameState, event: Event) -> FrameState:
    finding = _payload(event, Recorrected)
    life = state.life
    if life is None:
        return state
    shift = finding.correction_n_per_cm - finding.was_n_per_cm
    if life.survey is not None and life.survey.event_id == finding.survey_id:
        return replace(state, life=replace(life, survey=replace(life.survey, shift=shift)))
    return state


def _sent_out(state: FrameState, event: Event) -> FrameState:
    trip = _payload(event, SentOut)
    return replace(
        _unreserved(state),
        state="out",
        state_before=state.state,
        out_to=trip.to,
        due_back_on=trip.due_back_on,
    )


def _received(state: FrameState, event: Event) -> FrameState:
    back = _payload(event, Received)
    home = replace(state, out_to=None, due_back_on=None, state_before=None)
    if back.mesh_type_id is None:
        return replace(home, state=state.state_before or "bare")
    life = MeshLife(
        mesh_type_id=back.mesh_type_id,
        start_event_id=event.event_id,
        started_at=event.happened_at,
        target_n_per_cm=back.target_n_per_cm,
        day0_at=event.happened_at,
        from_outside=True,
    )
    return replace(
        home,
        state="ready",
        life=life,
        prep_done=(),
        taken_out_reason=None,
        stretches=state.stretches + 1,
        stretches_since_regrind=state.stretches_since_regrind + (state.kind == "glued"),
        corners_settled=True,
        awaits_inbound_survey=True,
    )


def _imaged(state: FrameState, event: Event) -> FrameState:
    return replace(state, state="in_use", life=replace(_mesh(state), has_stencil=True))


def _printed(state: FrameState, event: Event) -> FrameState:
    life = _mesh(state)
    count = life.impressions + _payload(event, Printed).impressions
    return replace(state, state="in_use", life=replace(life, impressions=count, has_stencil=True))


def _reclaimed(state: FrameState, event: Event) -> FrameState:
    life = _mesh(state)
    life = replace(
        life,
        reclaims=life.reclaims + 1,
        reclaims_since_inspection=life.reclaims_since_inspection + 1,
        has_stencil=False,
    )
    return replace(state, state="ready", life=life)


def _inspected(state: FrameState, event: Event) -> FrameState:
    life = replace(
        _mesh(state),
        reclaims_since_inspection=0,
        open_damage=None,
        inspected_at=event.happened_at,
    )
    return replace(state, life=life)


def _damaged(state: FrameState, event: Event) -> FrameState:
    damage = _payload(event, Damaged)
    if damage.damage in ("corner_tear", "bent_bar"):
        state = replace(state, corners_settled=False)
    if damage.mesh_is_done or (damage.damage == "burst" and state.life is not None):
        life = replace(_mesh(state), is_done=True)
        return replace(
            _unreserved(state), state="pulled", life=life, taken_out_reason=damage.damage
        )
    if state.life is not None:
        return replace(state, life=replace(state.life, open_damage=damage.damage))
    # whatever happened to a bare frame, it goes onto the glass again
    prep = tuple(step for step in state.prep_done if step != "inspect")
    return _bench_state(replace(state, prep_done=prep))


def _pulled(state: FrameState, event: Event) -> FrameState:
    reason = _payload(event, Pulled).reason
    return replace(_unreserved(state), state="pulled", taken_out_reason=reason)


def _stripped(state: FrameState, event: Event) -> FrameState:
    return _bench_state(replace(_unreserved(state), life=None, taken_out_reason=None))


def _held(state: FrameState, event: Event) -> FrameState:
    return replace(state, hold_reason=_payload(event, Held).reason)


def _hold_ended(state: FrameState, event: Event) -> FrameState:
    return replace(state, hold_reason=None)


def _reserved(state: FrameState, event: Event) -> FrameState:
    reservation = _payload(event, Reserved)
    return replace(state, reserved_job=reservation.job, reserved_for=reservation.needed_on)


def _unreserved(state: FrameState) -> FrameState:
    return replace(state, reserved_job=None, reserved_for=None)


def _freed(state: FrameState, event: Event) -> FrameState:
    return _unreserved(state)


def _retired(state: FrameState, event: Event) -> FrameState:
    reason = _payload(event, Retired).reason
    return replace(
        _unreserved(state),
        state="retired",
        taken_out_reason=reason,
        hold_reason=None,
        state_before=None,
    )


def _missing(state: FrameState, event: Event) -> FrameState:
    return replace(state, state="missing", state_before=state.state)


def _found(state: FrameState, event: Event) -> FrameState:
    return replace(state, state=state.state_before or "bare", state_before=None)


def _payload(event: Event, cls: type[P]) -> P:
    if not isinstance(event.payload, cls):
        raise TypeError(f"event {event.event_id} is no {cls.__name__}")
    return event.payload


_APPLY: dict[str, Callable[[FrameState, Event], FrameState]] = {
    "registered": _to("bare"),
    "found_with_mesh": _found_with_mesh,
    "prepped": _prepped,
    "stretched": _stretched,
    "staged": lambda state, event: state,
    "glued": _glued,
    "released": _released,
    "retensioned": _retensioned,
    "surveyed": _surveyed,
    "recorrected": _recorrected,
    "sent_out": _sent_out,
    "received": _received,
    "imaged": _imaged,
    "printed": _printed,
    "to_reclaim": _to("to_reclaim"),
    "reclaimed": _reclaimed,
    "inspected": _inspected,
    "damaged": _damaged,
    "pulled": _pulled,
    "stripped": _stripped,
    "held": _held,
    "hold_ended": _hold_ended,
    "reserved": _reserved,
    "freed": _freed,
    "retired": _retired,
    "missing": _missing,
    "found": _found,
}
