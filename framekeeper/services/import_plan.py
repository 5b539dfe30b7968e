"""What an import would bring: plain values between looking at a file and writing it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.events import Payload, Surveyed
from framekeeper.domain.sentence import Sentence
from framekeeper.services.meshes import MeshTypeFacts
from framekeeper.services.register import NewFrame

if TYPE_CHECKING:
    from framekeeper.domain.mesh_names import CountUnit
    from framekeeper.domain.sizes import LengthUnit
    from framekeeper.formats.register_record import Problem


@dataclass(frozen=True, slots=True)
class ImportChoices:
    """What the person says of a file where the file itself does not."""

    size_unit: LengthUnit | None = None
    count_unit: CountUnit | None = None
    month_first: bool = False
    undated_readings_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class PlannedEvent:
    """One event that the file tells. `mesh` and `meter` are names, since they may be new too."""

    payload: Payload
    happened_at: dt.datetime
    note: str = ""
    mesh: str = ""
    meter: str = ""


@dataclass(frozen=True, slots=True)
class PlannedFrame:
    """A frame to add with everything that the file tells about it, in order."""

    row: int
    frame: NewFrame
    events: tuple[PlannedEvent, ...]
    target_n_per_cm: float | None = None
    limit_n_per_cm: float | None = None

    @property
    def mesh(self) -> str:
        """The name of the mesh that is on it; nothing for a bare frame."""
        return self.events[0].mesh


@dataclass(frozen=True, slots=True)
class PlannedReadings:
    """Surveys for a frame that the shop has already."""

    frame_id: int
    code: str
    events: tuple[PlannedEvent, ...]


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What an import would write, and which rows stay out and why. Nothing is written yet."""

    name: str
    frames: tuple[PlannedFrame, ...] = ()
    readings: tuple[PlannedReadings, ...] = ()
    mesh_types: tuple[MeshTypeFacts, ...] = ()  # new to the shop, to be completed
    meters: tuple[str, ...] = ()  # new to the shop
    problems: tuple[Problem, ...] = ()
    notes: tuple[Sentence, ...] = ()

    @property
    def survey_count(self) -> int:
        """How many surveys it would record."""
        told = [part.events for part in self.frames] + [part.events for part in self.readings]
        return sum(isinstance(e.payload, Surveyed) for events in told for e in events)

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to write."""
        return not self.frames and not self.readings
