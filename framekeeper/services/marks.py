"""Holds, reservations, damage, trips outside, missing frames, and the end of a frame."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import (
    DAMAGE_KINDS,
    Damaged,
    DamageKind,
    Found,
    Freed,
    Held,
    HoldEnded,
    Missing,
    Pulled,
    Received,
    Reserved,
    Retired,
    SentOut,
)
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import valid_tension
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.record import NOW, When, record


def _needed(text: str, argument: str) -> str:
    if not text.strip():
        raise NotValid(
            say("This needs a reason or a name in words."),
            hint=say("A few words are enough."),
            argument=argument,
        )
    return text.strip()


def hold(desk: Desk, codes: Sequence[str], reason: str, *, when: When = NOW) -> Done:
    """Put frames on hold with a reason."""
    event = Held(_needed(reason, "reason"))
    return record(desk, "hold", codes, lambda frame: (event,), when=when)


def end_hold(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Take frames off hold."""
    return record(desk, "end hold", codes, lambda frame: (HoldEnded(),), when=when)


def reserve(
    desk: Desk,
    codes: Sequence[str],
    job: str,
    *,
    needed_on: dt.date | None = None,
    when: When = NOW,
) -> Done:
    """Set screens aside for a job."""
    event = Reserved(_needed(job, "job"), needed_on)
    return record(desk, "reserve", codes, lambda frame: (event,), when=when)


def free(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """End reservations."""
    return record(desk, "free", codes, lambda frame: (Freed(),), when=when)


def damage(
    desk: Desk,
    codes: Sequence[str],
    kind: DamageKind,
    *,
    mesh_is_done: bool,
    where: str = "",
    when: When = NOW,
) -> Done:
    """Record damage; `mesh_is_done` ends the mesh life and pulls the screen."""
    if kind not in DAMAGE_KINDS:
        raise NotValid(
            say("Damage is one of {kinds}.", kinds=", ".join(DAMAGE_KINDS)), argument="damage"
        )
    event = Damaged(kind, mesh_is_done, where.strip())
    return record(desk, "damage", codes, lambda frame: (event,), when=when)


def pull(desk: Desk, codes: Sequence[str], reason: str, *, when: When = NOW) -> Done:
    """Take screens out of service whose mesh is whole."""
    event = Pulled(_needed(reason, "reason"))
    return record(desk, "pull", codes, lambda frame: (event,), when=when)


def send_out(
    desk: Desk,
    codes: Sequence[str],
    to: str,
    *,
    due_back_on: dt.date | None = None,
    when: When = NOW,
) -> Done:
    """Send frames to an outside stretcher."""
    event = SentOut(_needed(to, "to"), due_back_on)
    return record(desk, "send out", codes, lambda frame: (event,), when=when)


def receive(
    desk: Desk,
    codes: Sequence[str],
    *,
    mesh: str = "",
    target_n_per_cm: float | None = None,
    when: When = NOW,
) -> Done:
    """Take frames back from outside, with new mesh where `mesh` names it."""
    event = Received()
    if mesh.strip():
        with desk.read() as reader:
            found = find_mesh_type(reader, mesh)
        target = found.rules.target if target_n_per_cm is None else valid_tension(target_n_per_cm)
        event = Received(found.id, target)
    return record(desk, "receive", codes, lambda frame: (event,), when=when)


def missing(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Record that nobody can find the frames."""
    return record(desk, "missing", codes, lambda frame: (Missing(),), when=when)


def found(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Record that missing frames are back."""
    return record(desk, "found", codes, lambda frame: (Found(),), when=when)


def retire(desk: Desk, codes: Sequence[str], reason: str, *, when: When = NOW) -> Done:
    """Take frames out of the shop's service for good."""
    event = Retired(_needed(reason, "reason"))

    def payloads(frame: FrameRecord) -> Sequence[Retired]:
        return (event,)

    return record(desk, "retire", codes, payloads, when=when)
