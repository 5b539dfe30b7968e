"""Takes frames into the register, bare or with mesh found on them, and edits what they are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain import codes
from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import FRAME_KINDS, FoundWithMesh, FrameKind, Payload, Registered
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import valid_tension
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frame
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.storage.unit_of_work import Work

SMALLEST_MM, LARGEST_MM = 100.0, 5000.0
LONGEST_TEXT = 200


@dataclass(frozen=True, slots=True)
class NewFrame:
    """A frame to register. Outer size in mm; the label is the shop's own."""

    width_mm: float
    height_mm: float
    kind: FrameKind = "glued"
    own_label: str = ""
    profile: str = ""
    slot: str = ""


@dataclass(frozen=True, slots=True)
class FoundMesh:
    """Mesh that is on the frame already."""

    mesh: str  # the name of a mesh type
    reclaims_so_far: int | None = None
    mesh_since: dt.datetime | None = None
    target_n_per_cm: float | None = None


@dataclass(frozen=True, slots=True)
class FrameEdit:
    """New values for what a frame is; None leaves a value as it is."""

    own_label: str | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    kind: FrameKind | None = None
    profile: str | None = None
    slot: str | None = None


def register(
    desk: Desk, frames: Sequence[NewFrame], *, found: FoundMesh | None = None, when: When = NOW
) -> Done:
    """Register one frame or many; with `found`, the same mesh is on all of them.

    Raises
    ------
    NotValid
        For an impossible size, an unknown kind, or a label that another frame carries.
    """
    if not frames:
        raise NotValid(say("There is no frame to register."), argument="frames")
    with desk.work("register") as work:
        payload = _first_event(work, found)
        added = [add_frame(work, frame, payload, when=when) for frame in frames]
        work.name_subject(added[0].name if len(added) == 1 else f"{len(added)} frames")
        changes = work.commit()
    listed = tuple(frame.code for frame in added)
    return Done(
        say("Registered: {codes}.", codes=_listed(listed)),
        changes,
        listed,
    )


def _listed(listed: tuple[str, ...]) -> str:
    return ", ".join(listed) if len(listed) <= 6 else f"{listed[0]} … {listed[-1]}"


def _first_event(work: Work, found: FoundMesh | None) -> Payload:
    if found is None:
        return Registered()
    if found.reclaims_so_far is not None and not 0 <= found.reclaims_so_far <= 10_000:
        raise NotValid(
            say("{count} reclaims cannot be.", count=found.reclaims_so_far),
            argument="reclaims_so_far",
        )
    mesh = find_mesh_type(work, found.mesh)
    target = found.target_n_per_cm
    return FoundWithMesh(
        mesh_type_id=mesh.id,
        reclaims_so_far=found.reclaims_so_far,
        mesh_since=found.mesh_since,
        target_n_per_cm=mesh.rules.target if target is None else valid_tension(target),
    )


def add_frame(work: Work, frame: NewFrame, payload: Payload, *, when: When = NOW) -> FrameRecord:
    """Give a frame the next code, add it and record its first event."""
    check_frame(frame)
    _refuse_taken(work, frame.own_label)
    number = work.last_number() + 1
    record = work.add_frame(
        number=number,
        code=codes.new_code(number),
        kind=frame.kind,
        width_mm=frame.width_mm,
        height_mm=frame.height_mm,
        own_label=frame.own_label.strip(),
        profile=frame.profile.strip(),
        slot=frame.slot.strip(),
    )
    work.record(record.id, payload, happened_at=when.happened_at, note=when.note)
    return record


def _refuse_taken(work: Work, label: str, *, but: int | None = None) -> None:
    wanted = label.strip()
    if wanted and any(f.id != but for f in work.frames_by_own_label(wanted)):
        raise NotValid(
            say("Another frame carries the label {label} already.", label=wanted),
            hint=say("Choose another label, or leave it empty."),
            argument="own_label",
        )


def check_frame(frame: NewFrame) -> None:
    """Refuse what no frame of this trade can be."""
    for name, value in (("width_mm", frame.width_mm), ("height_mm", frame.height_mm)):
        if not SMALLEST_MM <= value <= LARGEST_MM:
            raise NotValid(
                say("A side of {value:.0f} mm is no frame of this trade.", value=value),
                hint=say("Check the number and its unit."),
                argument=name,
            )
    if frame.kind not in FRAME_KINDS:
        raise NotValid(
            say("A frame is glued or has rollers, not “{kind}”.", kind=frame.kind),
            argument="kind",
        )
    for name in ("own_label", "profile", "slot"):
        valid_text(getattr(frame, name), argument=name, most=LONGEST_TEXT)


def edit_frame(desk: Desk, code: str, edit: FrameEdit, *, version: int | None = None) -> Done:
    """Change what a frame is; its history stays.

    Raises
    ------
    Conflict
        If someone saved a newer version than `version`.
    """
    with desk.work("edit") as work:
        frame = find_frame(work, code)
        values = {
            name: value.strip() if isinstance(value, str) else value
            for name in ("own_label", "width_mm", "height_mm", "kind", "profile", "slot")
            if (value := getattr(edit, name)) is not None
        }
        new = NewFrame(
            **{
                name: values.get(name, getattr(frame, name))
                for name in ("width_mm", "height_mm", "kind", "own_label", "profile", "slot")
            }
        )
        check_frame(new)
        _refuse_taken(work, new.own_label, but=frame.id)
        work.name_subject(frame.name)
        work.edit_row("frame", frame.id, values, version=version)
        changes = work.commit()
    return Done(say("{subject}: changed.", subject=frame.name), changes, (frame.code,))
