"""Which event may follow which state, and the sentence that names the way out when it may not."""

from __future__ import annotations

from framekeeper.domain.errors import NotPossible
from framekeeper.domain.events import (
    Damaged,
    Event,
    Imaged,
    Prepped,
    Reserved,
    Retensioned,
    Stretched,
    Surveyed,
)
from framekeeper.domain.frame_state import PREP_ORDER, FrameState, State
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import EVENT_WORDS, PREP_WORDS, STATE_WORDS

_IN_SERVICE: frozenset[State] = frozenset({"ready", "in_use", "to_reclaim"})
_BENCH: frozenset[State] = frozenset({"bare", "prepped", "pulled"})
_HERE: frozenset[State] = _BENCH | _IN_SERVICE | {"in_clamps", "curing"}
_ALIVE: frozenset[State] = _HERE | {"out", "missing"}

ALLOWED: dict[str, frozenset[State]] = {
    "registered": frozenset({"void"}),
    "found_with_mesh": frozenset({"void"}),
    "prepped": _BENCH,
    "stretched": frozenset({"prepped"}),
    "staged": frozenset({"in_clamps"}),
    "glued": frozenset({"in_clamps"}),
    "released": frozenset({"in_clamps", "curing"}),
    "retensioned": _IN_SERVICE | {"pulled"},
    "surveyed": _HERE - {"bare", "prepped"},
    "recorrected": _ALIVE | {"retired"},
    "sent_out": frozenset({"bare", "prepped", "pulled", "ready"}),
    "received": frozenset({"out"}),
    "imaged": frozenset({"ready"}),
    "printed": frozenset({"ready", "in_use"}),
    "to_reclaim": frozenset({"ready", "in_use"}),
    "reclaimed": _IN_SERVICE,
    "inspected": _IN_SERVICE,
    "damaged": _HERE,
    "pulled": _IN_SERVICE | {"curing"},
    "stripped": _HERE - {"bare", "prepped"},
    "held": _HERE,
    "hold_ended": _ALIVE,
    "reserved": frozenset({"ready", "curing"}),
    "freed": _ALIVE,
    "retired": _ALIVE,
    "missing": _HERE,
    "found": frozenset({"missing"}),
}

_WAY_OUT_BY_STATE: dict[State, Sentence] = {
    "void": say("Register it first."),
    "bare": say("It has no mesh: prep and stretch it first, or register it as found with mesh."),
    "prepped": say("It has no mesh yet: stretch it first."),
    "in_clamps": say("Finish the stretch first: glue and release it, or strip the mesh."),
    "curing": say("Release it and let the cure end first."),
    "ready": say("It is ready for use; nothing has to be done before."),
    "in_use": say("Send it to the washout first."),
    "to_reclaim": say("Record its reclaim first."),
    "pulled": say("Strip the mesh and prep the frame first."),
    "out": say("Record first that it came back."),
    "missing": say("Record first that it was found."),
    "retired": say("Undo the retirement if it was a mistake."),
}

_WAY_OUT: dict[tuple[str, State], Sentence] = {
    ("prepped", "ready"): say("Strip the mesh first."),
    ("prepped", "in_use"): say("Strip the mesh first."),
    ("prepped", "to_reclaim"): say("Strip the mesh first."),
    ("stretched", "ready"): say("There is mesh on it: strip it and prep the frame first."),
    ("stretched", "in_use"): say("There is mesh on it: strip it and prep the frame first."),
    ("stretched", "to_reclaim"): say("There is mesh on it: strip it and prep the frame first."),
    ("glued", "curing"): say("It is glued already; correct that entry if its time is wrong."),
}

_WAY_OUT_BY_KIND: dict[str, Sentence] = {  # whatever the state: no other step would help
    "registered": say("It is in the register already."),
    "found_with_mesh": say("It is in the register already."),
    "received": say("Record first that it was sent out, if it was."),
    "found": say("It was not missing; nothing has to be recorded."),
}


def _refuse(called: str, state: FrameState, event: Event) -> NotPossible:
    return NotPossible(
        say(
            "{frame} is {state} and cannot be {action}.",
            frame=called,
            state=STATE_WORDS[state.state],
            action=EVENT_WORDS[event.kind],
        ),
        hint=_way_out(state, event),
    )


def _way_out(state: FrameState, event: Event) -> Sentence:
    if event.kind == "stretched" and state.state == "bare" and state.prep_missing:
        return say(
            "Finish its prep first; the next step is: {step}.",
            step=PREP_WORDS[state.prep_missing[0]],
        )
    by_kind = None if state.state == "void" else _WAY_OUT_BY_KIND.get(event.kind)
    return by_kind or _WAY_OUT.get((event.kind, state.state), _WAY_OUT_BY_STATE[state.state])


def admit(called: str, state: FrameState, event: Event) -> None:
    """Raise `NotPossible` if the event may not follow the state."""
    if state.state not in ALLOWED[event.kind]:
        raise _refuse(called, state, event)
    problem = _mark_problem(state, event) or _detail_problem(state, event)
    if problem is not None:
        said, hint = problem
        raise NotPossible(Sentence(said.template, {**said.values, "frame": called}), hint=hint)


def _mark_problem(state: FrameState, event: Event) -> tuple[Sentence, Sentence] | None:
    payload = event.payload
    if state.hold_reason is not None:
        if isinstance(payload, Stretched | Imaged | Reserved):
            return (
                say("{frame} is on hold ({reason}).", reason=state.hold_reason),
                say("End the hold first."),
            )
        if event.kind == "held":
            return (
                say("{frame} is on hold already ({reason}).", reason=state.hold_reason),
                say("End that hold first if the reason has changed."),
            )
    elif event.kind == "hold_ended":
        return say("{frame} is not on hold."), say("Nothing has to be recorded.")
    if event.kind == "reserved" and state.reserved_job is not None:
        return (
            say("{frame} is reserved already, for {job}.", job=state.reserved_job),
            say("Free it from that job first."),
        )
    if event.kind == "freed" and state.reserved_job is None:
        return say("{frame} is not reserved."), say("Nothing has to be recorded.")
    return None


def _detail_problem(state: FrameState, event: Event) -> tuple[Sentence, Sentence] | None:
    payload = event.payload
    if isinstance(payload, Prepped):
        return _prep_problem(state, payload)
    if event.kind == "glued" and state.kind == "roller":
        return (
            say("{frame} holds its mesh with rollers and takes no glue."),
            say("Release it when the tension is reached."),
        )
    if event.kind == "released":
        return _release_problem(state)
    if isinstance(payload, Retensioned):
        return _retension_problem(state)
    if isinstance(payload, Surveyed):
        return _survey_problem(state, payload)
    if isinstance(payload, Damaged) and payload.mesh_is_done and state.life is None:
        return (
            say("{frame} has no mesh, so its mesh cannot be damaged."),
            say("Record the damage to the frame alone, or put the frame on hold."),
        )
    if event.kind == "stripped" and state.life is None:
        return say("{frame} has no mesh to strip."), say("Go on with its prep.")
    return None


def _prep_problem(state: FrameState, step: Prepped) -> tuple[Sentence, Sentence] | None:
    if state.kind == "roller" and step.step in ("old_glue", "abrade", "regrind", "degrease"):
        return (
            say(
                "{frame} holds its mesh with rollers; “{step}” is for glued frames.",
                step=PREP_WORDS[step.step],
            ),
            say("Inspect it; then it can be stretched."),
        )
    if step.result in ("skipped", "failed") and not step.reason.strip():
        return (
            say("A step that is not done needs its reason; {frame} has none.", step=step.step),
            say("Say why, for example: old glue is sound and level."),
        )
    if step.result == "failed" and step.step != "inspect":
        return (
            say("Only the inspection of {frame} can fail; other steps are done or skipped."),
            say("Put the frame on hold if it cannot go on."),
        )
    if state.life is not None and step.step not in ("inspect",):
        return (
            say("{frame} still has its old mesh on."),
            say("Strip the mesh first."),
        )
    return _order_problem(state, step)


def _order_problem(state: FrameState, step: Prepped) -> tuple[Sentence, Sentence] | None:
    if step.step not in PREP_ORDER:
        return None
    before = PREP_ORDER[: PREP_ORDER.index(step.step)]
    for earlier in (missing for missing in state.prep_missing if missing in before):
        return (
            say(
                "{frame} cannot have “{step}” before “{earlier}”.",
                step=PREP_WORDS[step.step],
                earlier=PREP_WORDS[earlier],
            ),
            say("Do the earlier step first, or skip it with a reason."),
        )
    return None


def _release_problem(state: FrameState) -> tuple[Sentence, Sentence] | None:
    if state.state == "in_clamps" and state.kind == "glued":
        return (
            say("{frame} is not glued yet; the mesh would come off."),
            say("Glue it first, or strip the mesh."),
        )
    if state.life is not None and state.life.released_at is not None:
        return (
            say("{frame} was released already, {at}.", at=state.life.released_at),
            say("Correct that entry if its time is wrong."),
        )
    return None


def _retension_problem(state: FrameState) -> tuple[Sentence, Sentence] | None:
    if state.kind != "roller":
        return (
            say("{frame} is a glued frame; its mesh cannot be tightened again."),
            say("Strip it and stretch new mesh."),
        )
    if state.life is None or state.life.is_done:
        return (
            say("{frame} has no whole mesh to tighten."),
            say("Strip it and stretch new mesh."),
        )
    return None


def _survey_problem(state: FrameState, survey: Surveyed) -> tuple[Sentence, Sentence] | None:
    life = state.life
    if life is None:
        return say("{frame} has no mesh to measure."), say("Stretch it first.")
    released = state.state not in ("in_clamps", "curing") or life.released_at is not None
    if survey.moment in ("in_clamps", "before_glue") and state.state != "in_clamps":
        return (
            say("{frame} is not in the clamps any more."),
            say("Record the survey as after release or in service."),
        )
    if survey.moment in ("after_release", "in_service") and not released:
        return (
            say("{frame} has not been released from the clamps."),
            say("Record the release first, or say that the survey was made in the clamps."),
        )
    return None
