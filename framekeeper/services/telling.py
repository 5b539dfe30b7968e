"""Tells in one sentence what an event of the journal was, for lists, papers and the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from framekeeper.domain.events import (
    Damaged,
    Event,
    FoundWithMesh,
    Glued,
    Held,
    Imaged,
    Inspected,
    Prepped,
    Printed,
    Pulled,
    Received,
    Reclaimed,
    Recorrected,
    Reserved,
    Retensioned,
    Retired,
    SentOut,
    Staged,
    Stretched,
    Surveyed,
)
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.survey import summarise
from framekeeper.domain.trade_words import DAMAGE_WORDS, EVENT_WORDS, MOMENT_WORDS, PREP_WORDS

if TYPE_CHECKING:
    from framekeeper.services.frame_page import FramePage

P = TypeVar("P")


@dataclass(frozen=True)
class Names:
    """What the ids in events are called."""

    meshes: dict[int, str] = field(default_factory=dict)
    meters: dict[int, str] = field(default_factory=dict)
    overdue: frozenset[int] = frozenset()  # surveys made with a meter without a valid certificate

    def mesh(self, mesh_type_id: int | None) -> str:
        """Return the name of a mesh type."""
        return self.meshes.get(mesh_type_id or 0, "—")

    def meter(self, meter_id: int | None) -> str:
        """Return the name of a meter; nothing where none was told."""
        return self.meters.get(meter_id or 0, "")


def names_on(page: FramePage) -> Names:
    """Return the names for the events of a frame's page."""
    return Names(
        {m.id: m.name for m in page.mesh_types},
        {m.id: m.name for m in page.meters},
        page.overdue,
    )


def tell(event: Event, names: Names) -> Sentence:
    """Say what happened, with the values that matter."""
    teller = _TELLERS.get(event.kind)
    return EVENT_WORDS[event.kind] if teller is None else teller(event, names)


def _found_with_mesh(event: Event, names: Names) -> Sentence:
    found = _payload(event, FoundWithMesh)
    mesh = names.mesh(found.mesh_type_id)
    if found.reclaims_so_far is None:
        return say("registered as found, with {mesh}", mesh=mesh)
    return say(
        "registered as found, with {mesh} after {count} reclaims",
        mesh=mesh,
        count=found.reclaims_so_far,
    )


def _prepped(event: Event, names: Names) -> Sentence:
    prep = _payload(event, Prepped)
    step = PREP_WORDS[prep.step]
    if prep.result == "skipped":
        return say("prep: {step}, skipped: {reason}", step=step, reason=prep.reason)
    if prep.result == "failed":
        return say("prep: {step}, failed: {reason}", step=step, reason=prep.reason)
    return say("prep: {step}", step=step)


def _stretched(event: Event, names: Names) -> Sentence:
    stretch = _payload(event, Stretched)
    return say(
        "stretched: {mesh}, target {target:.1f} N/cm",
        mesh=names.mesh(stretch.mesh_type_id),
        target=stretch.target_n_per_cm,
    )


def _staged(event: Event, names: Names) -> Sentence:
    stage = _payload(event, Staged)
    return say(
        "pulled to {tension:.1f} N/cm, rest {minutes} min",
        tension=stage.tension_n_per_cm,
        minutes=stage.rest_minutes,
    )


def _glued(event: Event, names: Names) -> Sentence:
    glue = _payload(event, Glued)
    if glue.adhesive_lot:
        return say("glued, lot {lot}, cure ends {at}", lot=glue.adhesive_lot, at=glue.cure_ends_at)
    return say("glued, cure ends {at}", at=glue.cure_ends_at)


def _retensioned(event: Event, names: Names) -> Sentence:
    target = _payload(event, Retensioned).target_n_per_cm
    return say("retensioned, target {target:.1f} N/cm", target=target)


def _surveyed(event: Event, names: Names) -> Sentence:
    survey = _payload(event, Surveyed)
    figures = summarise(survey.readings, correction_n_per_cm=survey.correction_n_per_cm)
    template = (
        "surveyed {moment}, meter overdue: {mean:.1f} N/cm, lowest {lowest:.1f}, "
        "spread {spread:.1f}"
        if event.event_id in names.overdue
        else "surveyed {moment}: {mean:.1f} N/cm, lowest {lowest:.1f}, spread {spread:.1f}"
    )
    return say(
        template,
        moment=MOMENT_WORDS[survey.moment],
        mean=figures.mean,
        lowest=figures.lowest,
        spread=figures.spread,
    )


def _recorrected(event: Event, names: Names) -> Sentence:
    finding = _payload(event, Recorrected)
    return say(
        "its meter was found out: correction {was:+.1f} becomes {now:+.1f} N/cm",
        was=finding.was_n_per_cm,
        now=finding.correction_n_per_cm,
    )


def _sent_out(event: Event, names: Names) -> Sentence:
    trip = _payload(event, SentOut)
    if trip.due_back_on is None:
        return say("sent out to {who}", who=trip.to)
    return say("sent out to {who}, due back on {due}", who=trip.to, due=trip.due_back_on)


def _received(event: Event, names: Names) -> Sentence:
    back = _payload(event, Received)
    if back.mesh_type_id is None:
        return say("received")
    return say("received with new mesh, {mesh}", mesh=names.mesh(back.mesh_type_id))


def _imaged(event: Event, names: Names) -> Sentence:
    job = _payload(event, Imaged).job
    return say("imaged for {job}", job=job) if job else say("imaged")


def _printed(event: Event, names: Names) -> Sentence:
    run = _payload(event, Printed)
    if run.job:
        return say("printed {count} impressions of {job}", count=run.impressions, job=run.job)
    return say("printed {count} impressions", count=run.impressions)


def _reclaimed(event: Event, names: Names) -> Sentence:
    reclaim = _payload(event, Reclaimed)
    word = say("reclaimed with haze remover") if reclaim.haze_remover else say("reclaimed")
    return _with_findings(word, reclaim.findings)


def _inspected(event: Event, names: Names) -> Sentence:
    return _with_findings(say("inspected"), _payload(event, Inspected).findings)


def _with_findings(word: Sentence, findings: str) -> Sentence:
    return say("{what}: {findings}", what=word, findings=findings) if findings else word


def _damaged(event: Event, names: Names) -> Sentence:
    damage = _payload(event, Damaged)
    word = DAMAGE_WORDS[damage.damage]
    if damage.mesh_is_done:
        return say("damaged: {damage}, the mesh is done", damage=word)
    return say("damaged: {damage}", damage=word)


def _pulled(event: Event, names: Names) -> Sentence:
    return say("pulled from service: {reason}", reason=_payload(event, Pulled).reason)


def _held(event: Event, names: Names) -> Sentence:
    return say("put on hold: {reason}", reason=_payload(event, Held).reason)


def _reserved(event: Event, names: Names) -> Sentence:
    return say("reserved for {job}", job=_payload(event, Reserved).job)


def _retired(event: Event, names: Names) -> Sentence:
    return say("retired: {reason}", reason=_payload(event, Retired).reason)


def _payload(event: Event, cls: type[P]) -> P:
    if not isinstance(event.payload, cls):
        raise TypeError(f"event {event.event_id} is no {cls.__name__}")
    return event.payload


_TELLERS: dict[str, Callable[[Event, Names], Sentence]] = {
    "found_with_mesh": _found_with_mesh,
    "prepped": _prepped,
    "stretched": _stretched,
    "staged": _staged,
    "glued": _glued,
    "retensioned": _retensioned,
    "surveyed": _surveyed,
    "recorrected": _recorrected,
    "sent_out": _sent_out,
    "received": _received,
    "imaged": _imaged,
    "printed": _printed,
    "reclaimed": _reclaimed,
    "inspected": _inspected,
    "damaged": _damaged,
    "pulled": _pulled,
    "held": _held,
    "reserved": _reserved,
    "retired": _retired,
}
