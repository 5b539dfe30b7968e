"""What can happen to a frame: one frozen dataclass for each kind of journal event.

The journal is the truth of a shop. An event is never edited and never deleted; a mistake is taken
back by a `Withdrawn` event that points at it. Everything else about a frame is a fold of its
events (`framekeeper.domain.lifecycle`).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar, Literal

FrameKind = Literal["glued", "roller"]
FRAME_KINDS: tuple[FrameKind, ...] = ("glued", "roller")

PrepStep = Literal["inspect", "old_glue", "abrade", "degrease", "regrind", "corners"]
PREP_STEPS: tuple[PrepStep, ...] = (
    "inspect",  # twist, bow, cracks, flatness on glass
    # here the old mesh comes off, an event of its own (`Stripped`) because a mesh life ends
    "old_glue",  # the old adhesive comes off, or stays by choice where sound and level
    "abrade",  # the glue face is roughened
    "degrease",
    "regrind",  # the face is levelled to bare metal
    "corners",  # the corners are rounded; asked once and after damage
)

StepResult = Literal["done", "skipped", "failed"]

Moment = Literal["in_clamps", "before_glue", "after_release", "in_service"]
MOMENTS: tuple[Moment, ...] = ("in_clamps", "before_glue", "after_release", "in_service")

Direction = Literal["warp", "weft", "not_told"]

DamageKind = Literal["corner_tear", "hole", "burst", "glue_lift", "ghost", "bent_bar", "other"]
DAMAGE_KINDS: tuple[DamageKind, ...] = (
    "corner_tear",
    "hole",
    "burst",
    "glue_lift",
    "ghost",
    "bent_bar",
    "other",
)


@dataclass(frozen=True, slots=True)
class Registered:
    """The frame enters the register, bare."""

    kind: ClassVar[str] = "registered"


@dataclass(frozen=True, slots=True)
class FoundWithMesh:
    """The frame enters the register with mesh already on it."""

    kind: ClassVar[str] = "found_with_mesh"
    mesh_type_id: int
    reclaims_so_far: int | None = None  # None: nobody knows
    mesh_since: dt.datetime | None = None  # None: the start of this mesh life is not known
    target_n_per_cm: float | None = None


@dataclass(frozen=True, slots=True)
class Prepped:
    """One step at the prep bench."""

    kind: ClassVar[str] = "prepped"
    step: PrepStep
    result: StepResult = "done"
    reason: str = ""  # required for a skipped or failed step
    gap_mm: float | None = None  # how far the frame rocks on the glass (inspect)


@dataclass(frozen=True, slots=True)
class Stretched:
    """Mesh goes into the clamps with this frame; a mesh life begins."""

    kind: ClassVar[str] = "stretched"
    mesh_type_id: int
    target_n_per_cm: float
    roll_id: int | None = None
    frames_in_pull: int = 1
    cut_length_mm: int | None = None  # along the roll
    cut_width_mm: int | None = None  # across the roll
    warp_along: Literal["long", "short"] | None = None  # which side of the frame the warp follows


@dataclass(frozen=True, slots=True)
class Staged:
    """One stage of the pull: the tension that was reached, then a rest."""

    kind: ClassVar[str] = "staged"
    tension_n_per_cm: float
    rest_minutes: int = 0


@dataclass(frozen=True, slots=True)
class Glued:
    """The mesh is glued to the face; the cure runs."""

    kind: ClassVar[str] = "glued"
    cure_ends_at: dt.datetime
    adhesive_lot: str = ""
    activator_lot: str = ""


@dataclass(frozen=True, slots=True)
class Released:
    """The clamps are opened, or the rollers locked: day 0 of the tension history."""

    kind: ClassVar[str] = "released"


@dataclass(frozen=True, slots=True)
class Retensioned:
    """A roller frame is tightened again: the mesh stays, the decay starts anew."""

    kind: ClassVar[str] = "retensioned"
    target_n_per_cm: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One number from a meter: point (from 1), direction, and the raw value in N/cm."""

    point: int
    direction: Direction
    raw_n_per_cm: float


@dataclass(frozen=True, slots=True)
class Surveyed:
    """Tension was read at one or more points."""

    kind: ClassVar[str] = "surveyed"
    moment: Moment
    readings: tuple[Reading, ...]
    meter_id: int | None = None
    correction_n_per_cm: float = 0.0  # added to every raw value; what was in force that day


@dataclass(frozen=True, slots=True)
class Recorrected:
    """The meter of an earlier survey was found out: the survey is concluded anew.

    Its raw values and the correction that was in force that day stay as they are.
    """

    kind: ClassVar[str] = "recorrected"
    survey_id: int  # the event of the survey
    correction_n_per_cm: float  # what should have been added to every raw value
    was_n_per_cm: float  # what was added until now


@dataclass(frozen=True, slots=True)
class SentOut:
    """The frame leaves for an outside stretcher."""

    kind: ClassVar[str] = "sent_out"
    to: str
    due_back_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Received:
    """The frame is back from outside, with new mesh or without."""

    kind: ClassVar[str] = "received"
    mesh_type_id: int | None = None
    target_n_per_cm: float | None = None


@dataclass(frozen=True, slots=True)
class Imaged:
    """A stencil is on the mesh; the screen is in use."""

    kind: ClassVar[str] = "imaged"
    job: str = ""


@dataclass(frozen=True, slots=True)
class Printed:
    """The screen came off the press."""

    kind: ClassVar[str] = "printed"
    impressions: int
    job: str = ""


@dataclass(frozen=True, slots=True)
class ToReclaim:
    """The job is done; the screen waits for the washout."""

    kind: ClassVar[str] = "to_reclaim"


@dataclass(frozen=True, slots=True)
class Reclaimed:
    """The stencil is off and the mesh is clean again."""

    kind: ClassVar[str] = "reclaimed"
    haze_remover: bool = False
    findings: str = ""


@dataclass(frozen=True, slots=True)
class Inspected:
    """The mesh was looked at against the light."""

    kind: ClassVar[str] = "inspected"
    findings: str = ""


@dataclass(frozen=True, slots=True)
class Damaged:
    """Something broke. `mesh_is_done` ends the mesh life; a pinhole does not, a burst does."""

    kind: ClassVar[str] = "damaged"
    damage: DamageKind
    mesh_is_done: bool
    where: str = ""


@dataclass(frozen=True, slots=True)
class Pulled:
    """The screen is taken out of service although the mesh is whole: too slack, too uneven."""

    kind: ClassVar[str] = "pulled"
    reason: str


@dataclass(frozen=True, slots=True)
class Stripped:
    """The mesh comes off the frame."""

    kind: ClassVar[str] = "stripped"


@dataclass(frozen=True, slots=True)
class Held:
    """The frame may not be used until somebody ends the hold."""

    kind: ClassVar[str] = "held"
    reason: str


@dataclass(frozen=True, slots=True)
class HoldEnded:
    """The hold is over."""

    kind: ClassVar[str] = "hold_ended"


@dataclass(frozen=True, slots=True)
class Reserved:
    """The screen is set aside for a job."""

    kind: ClassVar[str] = "reserved"
    job: str
    needed_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Freed:
    """The reservation is over."""

    kind: ClassVar[str] = "freed"


@dataclass(frozen=True, slots=True)
class Retired:
    """The frame leaves the shop's service for good."""

    kind: ClassVar[str] = "retired"
    reason: str


@dataclass(frozen=True, slots=True)
class Missing:
    """Nobody can find the frame."""

    kind: ClassVar[str] = "missing"


@dataclass(frozen=True, slots=True)
class Found:
    """The missing frame is back."""

    kind: ClassVar[str] = "found"


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """An event of the same frame that was recorded earlier is taken back.

    A withdrawal may be withdrawn too; then its target counts again.
    """

    kind: ClassVar[str] = "withdrawn"
    target_id: int


Payload = (
    Registered
    | FoundWithMesh
    | Prepped
    | Stretched
    | Staged
    | Glued
    | Released
    | Retensioned
    | Surveyed
    | Recorrected
    | SentOut
    | Received
    | Imaged
    | Printed
    | ToReclaim
    | Reclaimed
    | Inspected
    | Damaged
    | Pulled
    | Stripped
    | Held
    | HoldEnded
    | Reserved
    | Freed
    | Retired
    | Missing
    | Found
    | Withdrawn
)

PAYLOADS: dict[str, type[Payload]] = {
    cls.kind: cls
    for cls in (
        Registered, FoundWithMesh, Prepped, Stretched, Staged, Glued, Released, Retensioned,
        Surveyed, Recorrected, SentOut, Received, Imaged, Printed, ToReclaim, Reclaimed,
        Inspected, Damaged, Pulled, Stripped, Held, HoldEnded,
        Reserved, Freed, Retired, Missing, Found, Withdrawn,
    )
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Event:
    """A dated event of one frame.

    `happened_at` is what a person said and orders the history; `recorded_at` and then `event_id`
    (given by the database in the order of recording) break ties. `event_id` is 0 until stored.
    """

    frame_id: int
    happened_at: dt.datetime
    payload: Payload
    recorded_at: dt.datetime
    event_id: int = 0
    operation_id: int = 0
    by: str = ""
    note: str = ""

    @property
    def kind(self) -> str:
        """The name of the kind, as stored."""
        return self.payload.kind

    @property
    def order(self) -> tuple[dt.datetime, dt.datetime, float]:
        """The place of this event in its frame's history; an unstored one comes after its ties."""
        return (self.happened_at, self.recorded_at, self.event_id or float("inf"))
