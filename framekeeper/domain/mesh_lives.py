"""Cuts the journal of a frame into the lives of its mesh: how each began, was used, and ended.

A life counts from the release: from then on mesh bears its tension alone and can be printed with.
Mesh that was stretched outside counts from the day it came back, since nobody here saw its release.
What breaks before the release ends a stretch but no life; it has a cause and no age.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from framekeeper.domain.events import (
    Damaged,
    DamageKind,
    Event,
    FoundWithMesh,
    FrameKind,
    Glued,
    Printed,
    Pulled,
    Received,
    SentOut,
    Staged,
    Stretched,
    Surveyed,
)
from framekeeper.domain.lifecycle import concluded
from framekeeper.domain.lived_mesh import Cause, Fate, FirstNight, LifeEvent, LivedMesh, Method
from framekeeper.domain.survey import summarise

KINDS = frozenset(
    {
        "found_with_mesh", "stretched", "staged", "glued", "released", "retensioned", "surveyed",
        "recorrected", "sent_out", "received", "printed", "reclaimed", "inspected", "damaged",
        "pulled", "stripped", "retired", "missing", "found", "withdrawn",
    }
)  # fmt: skip
"""The kinds of event that a life can be told from."""

# Our choice: a reading within these hours of the release tells where the first night began, one
# within those tells the morning after it.
EVENING = dt.timedelta(hours=4)
MORNING = (dt.timedelta(hours=8), dt.timedelta(hours=36))


def mesh_lives(kind: FrameKind, journal: Iterable[Event], *, now: dt.datetime) -> list[LivedMesh]:
    """Tell the lives of the mesh on one frame, oldest first.

    A pull ends a life unless the frame is tightened again; tightening itself is no end. Mesh that
    was stripped with damage nobody had looked at yet ended of that damage. A frame that was
    retired, is missing or went out with whole mesh on takes it out of sight: what became of the
    mesh is not known from then on.

    Parameters
    ----------
    kind
        Glued, or with rollers.
    journal
        All events of this frame, or at least those of `KINDS`, in any order.
    now
        The moment of asking: lives that go on are as old as they are then.
    """
    walk = _Walk(kind)
    for event in concluded(journal):
        walk.take(event)
    return walk.told(now)


def cause_of(pulled: Pulled) -> Cause:
    """Tell why a screen was pulled, from the words of whoever did it.

    The two reasons that every shop has are known by their words; any other stands as it was typed.
    """
    words = " ".join(pulled.reason.split()).rstrip(".").casefold()
    if "limit" in words and ("below" in words or "under" in words):
        return Cause("below_limit")
    return Cause("uneven") if "uneven" in words else Cause("pulled", words)


def rest_before_glue(stages: Iterable[Staged]) -> int | None:
    """Sum the rests since tension was last raised, in minutes; None where no stage was told."""
    told = list(stages)
    if not told:
        return None
    raised = [
        place
        for place in range(1, len(told))
        if told[place].tension_n_per_cm > told[place - 1].tension_n_per_cm
    ]
    return sum(stage.rest_minutes for stage in told[max(raised, default=0) :])


@dataclass(slots=True)
class _Open:
    """A life that is being told."""

    begun_by: Event
    mesh_type_id: int
    method: Method
    by: str
    started_at: dt.datetime | None = None
    seen_from: dt.datetime | None = None
    reclaims_before: int | None = 0
    roll_id: int | None = None
    frames_in_pull: int | None = None
    adhesive_lot: str = ""
    activator_lot: str = ""
    reclaims: int = 0
    impressions: int = 0
    damage: DamageKind | None = None  # that nobody has looked at yet
    was_retensioned: bool = False
    stages: list[Staged] = field(default_factory=list)
    surveys: list[Event] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    ended: tuple[Event, Cause] | None = None
    unseen: Event | None = None

    def end(self, event: Event, cause: Cause) -> None:
        """Only the first end counts: what happens to mesh that is done does not matter."""
        if self.ended is None:
            before = self.seen_from is None
            self.ended = (event, cause._replace(before_release=before))

    def first_night(self) -> FirstNight | None:
        """Both readings, where the release was here and the mesh was not tightened since."""
        if self.began_elsewhere or self.started_at is None:
            return None
        ages = [(survey.happened_at - self.started_at, survey) for survey in self.surveys]
        morning = [e for age, e in ages if MORNING[0] <= age <= MORNING[1] and not _in_clamps(e)]
        evening = [e for age, e in ages if age <= EVENING and not _in_clamps(e)]
        clamps = [e for _, e in ages if _in_clamps(e)]
        if not morning or not (evening or clamps):
            return None
        before, after = evening[0] if evening else clamps[-1], morning[0]
        return FirstNight(_mean(before), _mean(after), before.event_id, after.event_id, not evening)

    @property
    def began_elsewhere(self) -> bool:
        return self.begun_by.kind != "stretched"

    def told(self, now: dt.datetime) -> LivedMesh:
        fate: Fate = "on"
        closing: Event | None = None
        if self.ended is not None:
            fate, closing = "ended", self.ended[0]
        elif self.unseen is not None:
            fate, closing = "out_of_sight", self.unseen
        return LivedMesh(
            frame_id=self.begun_by.frame_id,
            key=self.begun_by.event_id,
            mesh_type_id=self.mesh_type_id,
            method=self.method,
            started_at=self.started_at,
            seen_from=self.seen_from,
            reclaims_before=self.reclaims_before,
            reclaims=self.reclaims,
            impressions=self.impressions,
            by=self.by,
            roll_id=self.roll_id,
            adhesive_lot=self.adhesive_lot,
            activator_lot=self.activator_lot,
            rest_minutes=rest_before_glue(self.stages),
            frames_in_pull=self.frames_in_pull,
            fate=fate,
            cause=self.ended[1] if self.ended else None,
            # another bench's clock may be a little ahead of the one that asks
            last_at=closing.happened_at if closing else max(now, self.events[-1].happened_at),
            closed_by=closing.event_id if closing else None,
            first_night=self.first_night(),
            events=tuple(LifeEvent(e.event_id, e.happened_at, e.kind) for e in self.events),
        )


class _Walk:
    """Goes through the events of one frame that count, oldest first."""

    def __init__(self, kind: FrameKind) -> None:
        self._kind = kind
        self._now: _Open | None = None
        self._all: list[_Open] = []
        self._trip: Event | None = None

    def take(self, event: Event) -> None:
        begin = _BEGIN.get(event.kind)
        if begin is not None:
            begin(self, event)
        elif self._now is not None and event.kind in _WITHIN:
            _WITHIN[event.kind](self._now, event)
            self._now.events.append(event)
            if event.kind == "stripped":
                self._now = None
        if event.kind == "sent_out":
            self._trip = event

    def told(self, now: dt.datetime) -> list[LivedMesh]:
        return [life.told(now) for life in self._all]

    def _open(self, life: _Open) -> None:
        life.events.append(life.begun_by)
        self._now = life
        self._all.append(life)

    def stretched(self, event: Event) -> None:
        stretch: Stretched = _of(event, Stretched)
        self._open(
            _Open(
                event,
                stretch.mesh_type_id,
                "rollers" if self._kind == "roller" else "glued",
                event.by,
                roll_id=stretch.roll_id,
                frames_in_pull=stretch.frames_in_pull,
            )
        )

    def found(self, event: Event) -> None:
        found: FoundWithMesh = _of(event, FoundWithMesh)
        self._open(
            _Open(
                event,
                found.mesh_type_id,
                "not_told",
                "",
                started_at=found.mesh_since,
                seen_from=event.happened_at,
                reclaims_before=found.reclaims_so_far,
            )
        )

    def received(self, event: Event) -> None:
        back: Received = _of(event, Received)
        old, trip = self._now, self._trip
        if back.mesh_type_id is None:
            if old is not None:
                old.unseen = None
                old.events.append(event)
            return
        if old is not None:  # somebody took it off outside
            old.end(trip or event, Cause("sent_out"))
        to = _of(trip, SentOut).to if trip is not None else ""
        self._open(
            _Open(
                event,
                back.mesh_type_id,
                "outside",
                to,
                started_at=event.happened_at,
                seen_from=event.happened_at,
            )
        )


def _released(life: _Open, event: Event) -> None:
    life.started_at = life.seen_from = event.happened_at


def _glued(life: _Open, event: Event) -> None:
    glue: Glued = _of(event, Glued)
    life.adhesive_lot, life.activator_lot = glue.adhesive_lot, glue.activator_lot


def _retensioned(life: _Open, event: Event) -> None:
    life.was_retensioned = True
    life.ended = None  # it was pulled, and goes on; done mesh cannot be tightened


def _surveyed(life: _Open, event: Event) -> None:
    if not life.was_retensioned:
        life.surveys.append(event)


def _reclaimed(life: _Open, _event: Event) -> None:
    life.reclaims += 1


def _printed(life: _Open, event: Event) -> None:
    life.impressions += _of(event, Printed).impressions


def _inspected(life: _Open, _event: Event) -> None:
    life.damage = None


def _damaged(life: _Open, event: Event) -> None:
    damage: Damaged = _of(event, Damaged)
    if damage.mesh_is_done or damage.damage == "burst":
        life.end(event, Cause("damaged", damage.damage))
    else:
        life.damage = damage.damage


def _pulled(life: _Open, event: Event) -> None:
    life.end(event, cause_of(_of(event, Pulled)))


def _stripped(life: _Open, event: Event) -> None:
    life.end(event, Cause("damaged", life.damage) if life.damage else Cause("stripped"))


def _staged(life: _Open, event: Event) -> None:
    life.stages.append(_of(event, Staged))


def _unseen(life: _Open, event: Event) -> None:
    life.unseen = life.unseen or event


def _seen_again(life: _Open, _event: Event) -> None:
    life.unseen = None


def _in_clamps(event: Event) -> bool:
    survey: Surveyed = _of(event, Surveyed)
    return survey.moment in ("in_clamps", "before_glue")


def _mean(event: Event) -> float:
    survey: Surveyed = _of(event, Surveyed)
    return summarise(survey.readings, correction_n_per_cm=survey.correction_n_per_cm).mean


def _of(event: Event, cls: type[Any]) -> Any:
    if not isinstance(event.payload, cls):
        raise TypeError(f"event {event.event_id} is no {cls.__name__}")
    return event.payload


_BEGIN: dict[str, Callable[[_Walk, Event], None]] = {
    "stretched": _Walk.stretched,
    "found_with_mesh": _Walk.found,
    "received": _Walk.received,
}
_WITHIN: dict[str, Callable[[_Open, Event], None]] = {
    "staged": _staged,
    "glued": _glued,
    "released": _released,
    "retensioned": _retensioned,
    "surveyed": _surveyed,
    "printed": _printed,
    "reclaimed": _reclaimed,
    "inspected": _inspected,
    "damaged": _damaged,
    "pulled": _pulled,
    "stripped": _stripped,
    "sent_out": _unseen,
    "retired": _unseen,
    "missing": _unseen,
    "found": _seen_again,
}
