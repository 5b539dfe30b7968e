"""Everything that a frame's own page shows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from framekeeper.domain import lifecycle
from framekeeper.domain.admission import admit
from framekeeper.domain.due import MeshRules, Task, due_tasks
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.events import Event, Payload, Surveyed, Withdrawn
from framekeeper.domain.frame_state import FrameState
from framekeeper.domain.meter_trust import is_overdue
from framekeeper.domain.outlook import Outlook
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, MeterCheckRecord, MeterRecord
from framekeeper.domain.survey import SurveySummary, summarise
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.services.settings import ShopSettings, frame_rules, shop_settings
from framekeeper.services.verdicts import Judgement, Rulebook, judge_frame, verdict_changed


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
    settled: FrameState  # as of the moment of reading: a cure that is over is over
    read_at: dt.datetime
    settings: ShopSettings
    overdue: frozenset[int]  # surveys whose meter's certificate had run out when they were made
    judged: Mapping[int, Judgement]  # each survey that counts, by the id of its event
    outlook: Outlook | None = None  # the forecast of the mesh that is on it

    @property
    def rules(self) -> MeshRules:
        """The shop's thresholds for the mesh that is on the frame."""
        return self.mesh.rules if self.mesh else MeshRules()

    @property
    def target(self) -> float | None:
        """The target of this stretch, else that of the mesh type, in N/cm."""
        life = self.settled.life
        return (life.target_n_per_cm if life else None) or self.rules.target

    @property
    def last_survey(self) -> SurveyPoint | None:
        """The newest survey of the mesh that is on the frame."""
        life = self.settled.life
        last = None if life is None else life.survey or life.clamp_survey
        if last is None:
            return None
        return next((s for s in self.surveys if s.event.event_id == last.event_id), None)

    @property
    def judgement(self) -> Judgement | None:
        """What the last survey means; None where this mesh was never read."""
        last = self.last_survey
        return None if last is None else self.judged[last.event.event_id]

    def refusal(self, payload: Payload) -> NotPossible | None:
        """Why this could not be recorded now, by the rules that will judge it; None if it could."""
        event = Event(self.frame.id, self.read_at, payload, self.read_at)
        try:
            admit(self.frame.name, self.settled, event)
        except NotPossible as refused:
            return refused
        return None

    def allows(self, payload: Payload) -> bool:
        """Whether this could be recorded now."""
        return self.refusal(payload) is None

    @property
    def next_step(self) -> str:
        """The kind of event that brings this frame on; empty where nothing has to be done."""
        state = self.settled
        if state.state == "ready":
            return _next_of_ready(self.tasks)
        if state.state == "curing":
            released = state.life is not None and state.life.released_at is not None
            return "" if released else "released"
        if state.state == "in_clamps":
            return "glued" if state.kind == "glued" else "released"
        return _NEXT.get(state.state, "")


READING_RULES = frozenset(
    {
        "first_reading",
        "no_reading",
        "reading_due",
        "check_tension",
        "read_again",
        "inbound_survey",
        "meter_found_out",
    }
)
"""The rules that are answered by a reading."""

_NEXT = {
    "bare": "prepped",
    "prepped": "stretched",
    "in_use": "to_reclaim",
    "to_reclaim": "reclaimed",
    "pulled": "stripped",
    "out": "received",
    "missing": "found",
}


def _next_of_ready(tasks: tuple[Task, ...]) -> str:
    """A ready screen is pulled, read or looked at where a rule says so; else it goes to a job."""
    rules = {task.rule for task in tasks}
    if "below_limit" in rules:
        return "pulled"
    if rules & READING_RULES:
        return "surveyed"
    if "inspect_mesh" in rules:
        return "inspected"
    return "imaged"


def _overdue(
    events: Sequence[Event],
    meters: Sequence[MeterRecord],
    checks: Sequence[MeterCheckRecord],
    zone: dt.tzinfo,
) -> frozenset[int]:
    """Find the surveys that were made with a meter whose certificate had run out by then."""
    known = {m.id: (m, [c for c in checks if c.meter_id == m.id]) for m in meters}
    return frozenset(
        e.event_id
        for e in events
        if isinstance(e.payload, Surveyed)
        and e.payload.meter_id in known
        and is_overdue(*known[e.payload.meter_id], at=e.happened_at, zone=zone)
    )


def frame_page(desk: Desk, code: str) -> FramePage:
    """Read one frame's page."""
    with desk.read() as reader:
        frame = find_frame(reader, code)
        events = reader.journal(frame.id)
        mesh_types = reader.mesh_types(with_hidden=True)
        meters = reader.meters(with_hidden=True)
        checks = reader.meter_checks()
        rules_for_frames = frame_rules(reader)
        settings = shop_settings(reader)
        outlook = forecasts.outlook_of(reader, frame, {m.id: m.rules for m in mesh_types})
    now = desk.clock.now()
    mesh = next(
        (m for m in mesh_types if frame.state.life and m.id == frame.state.life.mesh_type_id), None
    )
    standing = lifecycle.concluded(events)
    book = Rulebook(mesh_types, meters, settings)
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
            now=now,
            zone=desk.clock.zone(),
            verdict_changed=verdict_changed(frame, events, book),
            outlook=outlook,
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
        settled=frame.state.at(now),
        read_at=now,
        settings=settings,
        overdue=_overdue(events, meters, checks, desk.clock.zone()),
        judged=judge_frame(frame, standing, book),
        outlook=outlook,
    )
