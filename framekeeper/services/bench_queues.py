"""What waits at the prep bench and at the stretching table, with what each frame needs next."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain import lifecycle
from framekeeper.domain.events import Event, FoundWithMesh, Prepped, Received, Staged, Stretched
from framekeeper.domain.frame_state import State
from framekeeper.domain.records import (
    CutPieceRecord,
    FrameFilter,
    FrameRecord,
    MeshTypeRecord,
    MeterRecord,
    RollRecord,
)
from framekeeper.services.desk import Desk
from framekeeper.services.prep import BENCH_ORDER, BenchStep, bench, next_step
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.supplies import SupplyNow, supplies_now

StepMark = Literal["done", "skipped", "next", "open", "none"]


@dataclass(frozen=True, slots=True)
class StepShown:
    """One step of one frame: where it stands, and the reason if it was skipped."""

    step: BenchStep
    mark: StepMark  # "none": this frame does not need the step
    reason: str = ""


@dataclass(frozen=True, slots=True)
class PrepRow:
    """A frame at the prep bench."""

    frame: FrameRecord
    steps: tuple[StepShown, ...]
    next_step: BenchStep | None
    is_regrind_due: bool

    def shown(self, step: BenchStep) -> StepShown:
        """Return how one step stands."""
        return next(s for s in self.steps if s.step == step)


@dataclass(frozen=True, slots=True)
class PrepQueue:
    """The prep bench: what waits there, and how many frames are through it."""

    rows: tuple[PrepRow, ...]
    prepped: int
    regrind_after: int


def prep_queue(desk: Desk) -> PrepQueue:
    """List the frames that need the prep bench, longest waiting first.

    A frame whose prep is complete has left for the stretching table, unless it is on hold.
    """
    frames = bench(desk)
    at_bench = [f for f in frames if f.state.state != "prepped" or f.state.hold_reason]
    with desk.read() as reader:
        settings = shop_settings(reader)
        journals = reader.journals([f.id for f in at_bench])
    limit = settings.regrind_after_stretches
    rows = tuple(prep_row(f, journals[f.id], regrind_after=limit) for f in at_bench)
    return PrepQueue(rows, len(frames) - len(at_bench), limit)


def prep_row(frame: FrameRecord, events: Iterable[Event], *, regrind_after: int) -> PrepRow:
    """Say where each step of a frame stands."""
    results = _step_results(lifecycle.standing(events))
    coming = next_step(frame)
    is_due = frame.kind == "glued" and frame.state.stretches_since_regrind >= regrind_after
    steps = tuple(_shown(frame, step, results, coming) for step in BENCH_ORDER)
    return PrepRow(frame, steps, coming, is_due)


_ENDS_A_PREP = frozenset({"glued", "released", "received"})


def _step_results(standing: Sequence[Event]) -> dict[str, tuple[str, str]]:
    """Give the newest result and reason of each step since the face was last glued or bore mesh."""
    results: dict[str, tuple[str, str]] = {}
    for event in standing:
        if event.kind in _ENDS_A_PREP:
            results = {step: told for step, told in results.items() if step == "corners"}
        elif event.kind == "stripped":
            results["strip"] = ("done", "")
        elif isinstance(event.payload, Prepped):
            step = event.payload
            results[step.step] = (step.result, step.reason)
            if step.step == "regrind" and step.result == "done":
                results["old_glue"] = results["abrade"] = ("done", "")
    return results


def _shown(
    frame: FrameRecord,
    step: BenchStep,
    results: dict[str, tuple[str, str]],
    coming: BenchStep | None,
) -> StepShown:
    if step == coming:
        return StepShown(step, "next")
    result, reason = results.get(step, ("", ""))
    mark: StepMark = "skipped" if result == "skipped" else "done"
    if step == "strip":
        if frame.state.life is not None:
            return StepShown(step, "open")
        return StepShown(step, "done" if result else "none")
    if step in frame.state.prep_missing:
        return StepShown(step, "open")
    if step in frame.state.prep_done or (step == "corners" and result):
        return StepShown(step, mark, reason if mark == "skipped" else "")
    return StepShown(step, "none")


@dataclass(frozen=True, slots=True)
class TableRow:
    """A frame at the stretching table; `mesh` is on it, or was before it came to the bench."""

    frame: FrameRecord
    mesh: MeshTypeRecord | None
    stages: int = 0
    tension_n_per_cm: float | None = None  # what the newest stage reached
    timer_ends_at: dt.datetime | None = None  # the rest of the newest stage, or the cure


@dataclass(frozen=True, slots=True)
class TableNow:
    """The stretching table at one moment."""

    now: dt.datetime
    waiting: tuple[TableRow, ...]  # grouped by the mesh that was on them last
    in_clamps: tuple[TableRow, ...]
    curing: tuple[TableRow, ...]
    rollers: tuple[TableRow, ...]  # roller frames with mesh, the slackest first
    mesh_types: tuple[MeshTypeRecord, ...]
    rolls: tuple[RollRecord, ...]
    meters: tuple[MeterRecord, ...]
    settings: ShopSettings
    supplies: tuple[SupplyNow, ...] = ()
    pieces: tuple[CutPieceRecord, ...] = ()  # cut ahead, waiting for their stretch


def stretching_table(desk: Desk) -> TableNow:
    """Read what waits for mesh, what is in the clamps, what cures, and what to stretch with."""
    now = desk.clock.now()
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=_AT_THE_TABLE))
        groups = {name: [f for f in frames if _group(f, now) == name] for name in _GROUPS}
        journals = reader.journals([f.id for rows in groups.values() for f in rows])
        every_mesh = {m.id: m for m in reader.mesh_types(with_hidden=True)}
        mesh_types, rolls = tuple(reader.mesh_types()), tuple(reader.rolls())
        meters, settings = tuple(reader.meters()), shop_settings(reader)
        supplies, pieces = supplies_now(reader, desk.today()), tuple(reader.cut_pieces())
    rows = {
        name: [_table_row(f, journals[f.id], every_mesh, name) for f in group]
        for name, group in groups.items()
    }
    return TableNow(
        now=now,
        waiting=tuple(sorted(rows["waiting"], key=_by_mesh)),
        in_clamps=tuple(sorted(rows["in_clamps"], key=_by_timer)),
        curing=tuple(sorted(rows["curing"], key=_by_timer)),
        rollers=tuple(sorted(rows["rollers"], key=_by_tension)),
        mesh_types=mesh_types,
        rolls=rolls,
        meters=meters,
        settings=settings,
        supplies=supplies,
        pieces=pieces,
    )


_AT_THE_TABLE: tuple[State, ...] = (
    "prepped", "in_clamps", "curing", "ready", "in_use", "to_reclaim", "pulled",
)  # fmt: skip
_WITH_MESH: tuple[State, ...] = ("in_clamps", "curing", "ready", "in_use", "to_reclaim")
_GROUPS = ("waiting", "in_clamps", "curing", "rollers")


def _group(frame: FrameRecord, now: dt.datetime) -> str:
    state = frame.state.at(now)
    if state.state == "prepped":
        return "waiting"
    if state.state in ("in_clamps", "curing"):
        return state.state
    has_mesh = state.life is not None and not state.life.is_done
    return "rollers" if frame.kind == "roller" and has_mesh else ""


def _table_row(
    frame: FrameRecord, events: Iterable[Event], meshes: dict[int, MeshTypeRecord], group: str
) -> TableRow:
    standing = lifecycle.standing(events)
    worn = mesh_last_worn(standing)
    mesh = None if worn is None else meshes.get(worn)
    life = frame.state.life
    if group == "curing" and life is not None:
        return TableRow(frame, mesh, timer_ends_at=life.cure_ends_at)
    if group == "rollers" and life is not None:
        return TableRow(frame, mesh, tension_n_per_cm=life.survey.mean if life.survey else None)
    if group == "in_clamps" and life is not None:
        stages = _stages(standing)
        if stages:
            at, stage = stages[-1]
            ends = at + dt.timedelta(minutes=stage.rest_minutes) if stage.rest_minutes else None
            return TableRow(frame, mesh, len(stages), stage.tension_n_per_cm, ends)
    return TableRow(frame, mesh)


def mesh_last_worn(standing: Sequence[Event]) -> int | None:
    """Return the id of the mesh type that is on a frame, or was last; None where none is known."""
    worn = [
        e.payload.mesh_type_id
        for e in standing
        if isinstance(e.payload, Stretched | FoundWithMesh | Received)
    ]
    known = [mesh_id for mesh_id in worn if mesh_id is not None]
    return known[-1] if known else None


def _stages(standing: Sequence[Event]) -> list[tuple[dt.datetime, Staged]]:
    """List the stages of the pull that is under way."""
    stages: list[tuple[dt.datetime, Staged]] = []
    for event in standing:
        if isinstance(event.payload, Stretched):
            stages = []
        elif isinstance(event.payload, Staged):
            stages.append((event.happened_at, event.payload))
    return stages


def _by_mesh(row: TableRow) -> tuple[object, ...]:
    count = row.mesh.threads_per_cm if row.mesh and row.mesh.threads_per_cm else 0.0
    name = row.mesh.name if row.mesh else ""
    frame = row.frame
    return (row.mesh is None, count, name, frame.width_mm, frame.height_mm, frame.number)


def _by_timer(row: TableRow) -> tuple[object, ...]:
    ends = row.timer_ends_at or dt.datetime.max.replace(tzinfo=dt.UTC)
    return (ends, row.frame.number)


def _by_tension(row: TableRow) -> tuple[object, ...]:
    tension = row.tension_n_per_cm
    return (tension is None, tension or 0.0, row.frame.number)


def stretched_today(desk: Desk) -> tuple[str, ...]:
    """List the codes of the frames whose mesh was stretched today and is still on them."""
    zone, today = desk.clock.zone(), desk.today()
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=_WITH_MESH))
    return tuple(
        f.code
        for f in frames
        if f.state.life is not None
        and not f.state.life.from_outside
        and f.state.life.started_at is not None
        and f.state.life.started_at.astimezone(zone).date() == today
    )
