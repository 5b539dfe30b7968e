"""Everything that a frame's own page shows."""

from __future__ import annotations

from dataclasses import dataclass

from framekeeper.domain import lifecycle
from framekeeper.domain.due import MeshRules, Task, due_tasks
from framekeeper.domain.events import Event, Surveyed, Withdrawn
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, MeterRecord
from framekeeper.domain.survey import SurveySummary, summarise
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.services.settings import frame_rules


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One event of the journal; `is_withdrawn` lines stay visible, struck out."""

    event: Event
    is_withdrawn: bool


@dataclass(frozen=True, slots=True)
class SurveyPoint:
    """One survey in service or after release, for the chart."""

    event: Event
    survey: Surveyed
    figures: SurveySummary


@dataclass(frozen=True, slots=True)
class FramePage:
    """A frame with its journal, surveys, tasks and the mesh that is on it."""

    frame: FrameRecord
    mesh: MeshTypeRecord | None
    mesh_types: tuple[MeshTypeRecord, ...]
    meters: tuple[MeterRecord, ...]
    tasks: tuple[Task, ...]
    journal: tuple[JournalLine, ...]  # newest first
    surveys: tuple[SurveyPoint, ...]  # all mesh lives, oldest first
    standing: tuple[Event, ...]  # what counts, oldest first


def frame_page(desk: Desk, code: str) -> FramePage:
    """Read one frame's page."""
    with desk.read() as reader:
        frame = find_frame(reader, code)
        events = reader.journal(frame.id)
        mesh_types = reader.mesh_types(with_hidden=True)
        meters = reader.meters(with_hidden=True)
        rules_for_frames = frame_rules(reader)
    mesh = next(
        (m for m in mesh_types if frame.state.life and m.id == frame.state.life.mesh_type_id), None
    )
    standing = lifecycle.standing(events)
    counts = {e.event_id for e in standing}
    return FramePage(
        frame=frame,
        mesh=mesh,
        mesh_types=tuple(mesh_types),
        meters=tuple(meters),
        tasks=due_tasks(
            frame.state,
            mesh.rules if mesh else MeshRules(),
            rules_for_frames,
            now=desk.clock.now(),
            today=desk.today(),
        ),
        journal=tuple(
            JournalLine(e, e.event_id not in counts)
            for e in sorted(events, key=lambda e: e.order, reverse=True)
            if not isinstance(e.payload, Withdrawn)
        ),
        surveys=tuple(
            SurveyPoint(
                e,
                e.payload,
                summarise(e.payload.readings, correction_n_per_cm=e.payload.correction_n_per_cm),
            )
            for e in standing
            if isinstance(e.payload, Surveyed)
        ),
        standing=tuple(standing),
    )
