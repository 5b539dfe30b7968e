"""Takes a shop's own register into the shop: looked at first, then written as one operation."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from framekeeper.domain import codes
from framekeeper.domain.errors import Conflict, NotValid
from framekeeper.domain.events import FoundWithMesh, Payload, Surveyed
from framekeeper.domain.records import FrameFilter
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.import_plan import (
    ImportChoices,
    ImportPlan,
    PlannedEvent,
    PlannedFrame,
    PlannedReadings,
)
from framekeeper.services.import_rows import look_at_shop, make_plan
from framekeeper.services.meshes import put_mesh_type, same_name

if TYPE_CHECKING:
    from framekeeper.formats.register_record import Problem
    from framekeeper.storage.unit_of_work import Work

_TOLD_AT_ONCE = 5


def plan_import(desk: Desk, path: Path, choices: ImportChoices | None = None) -> ImportPlan:
    """Read a register file and say what it would bring, without writing anything.

    Raises
    ------
    NotValid
        If the file is no register at all.
    StorageTrouble
        If the disk or the network does not give the file.
    """
    from framekeeper.formats.register_file import RegisterDefaults, read_register

    chosen = choices or ImportChoices()
    register = read_register(
        path,
        defaults=RegisterDefaults(
            today=desk.today(),
            size_unit=chosen.size_unit,
            count_unit=chosen.count_unit,
            day_first=not chosen.month_first,
            undated_readings_on=chosen.undated_readings_on,
        ),
    )
    with desk.read() as reader:
        shop = look_at_shop(reader, register)
    return make_plan(path.name, register, shop, now=desk.clock.now(), zone=desk.clock.zone())


def run_import(desk: Desk, plan: ImportPlan, *, partial: bool = False) -> Done:
    """Write a plan as one operation, so that one undo takes all of it back.

    Raises
    ------
    NotValid
        If rows cannot be taken and `partial` is not set, or if there is nothing to take.
    Conflict
        If the shop has changed since the plan was made.
    """
    if plan.problems and not partial:
        raise NotValid(
            say(
                "{name} holds what cannot be taken ({count}): {which}.",
                count=len(plan.problems),
                name=plan.name,
                which=_briefly(plan.problems),
            ),
            hint=say("Mend them in the file, or take the good rows alone with --partial."),
        )
    if plan.is_empty:
        raise NotValid(
            say("{name} brings nothing that the shop does not have.", name=plan.name),
            hint=say("Look at the rows that stay out."),
        )
    with desk.work("import") as work:
        work.name_subject(plan.name)
        names = _NewNames(work, plan)
        added = _add_frames(work, plan.frames, names)
        for planned in plan.readings:
            work.rewrite(planned.frame_id, names.replay(planned.events))
        changes = work.commit()
    told = say(
        "{name} is taken over. Frames: {frames}, surveys: {surveys}, "
        "new mesh types to be completed: {meshes}, rows or cells left out: {left}.",
        name=plan.name,
        frames=len(plan.frames),
        surveys=plan.survey_count,
        meshes=len(plan.mesh_types),
        left=len(plan.problems),
    )
    return Done(told, changes, (*added, *(r.code for r in plan.readings)))


def tell_problem(problem: Problem) -> Sentence:
    """Say which row stays out, and why."""
    where = say("row {row}", row=problem.row)
    if problem.sheet:
        where = say("sheet {sheet}, row {row}", sheet=problem.sheet, row=problem.row)
    if not problem.column:
        return say(
            "{where}, frame {value}: {reason}",
            where=where,
            value=problem.value or "—",
            reason=problem.reason,
        )
    return say(
        "{where}, {column} “{value}”: {reason}",
        where=where,
        column=problem.column,
        value=problem.value,
        reason=problem.reason,
    )


def _briefly(problems: Sequence[Problem]) -> str:
    told = [str(tell_problem(p)).rstrip(".") for p in problems[:_TOLD_AT_ONCE]]
    return "; ".join(told) + ("; …" if len(problems) > _TOLD_AT_ONCE else "")


class _NewNames:
    """Makes the mesh types and meters of a plan, and turns names into ids."""

    def __init__(self, work: Work, plan: ImportPlan) -> None:
        known = work.mesh_types()
        for facts in plan.mesh_types:
            if not any(same_name(m.name, facts.name) for m in known):
                put_mesh_type(work, facts, to_be_completed=True)
        meters = {m.name.lower(): m for m in work.meters(with_hidden=True)}
        for name in plan.meters:
            meter = meters.get(name.lower())
            if meter is None:
                work.add_row("meter", {"name": name})
            elif meter.is_hidden:
                work.edit_row("meter", meter.id, {"is_hidden": False})
        self._meshes = {_key(m.name): m for m in work.mesh_types()}
        self._meters = {m.name.lower(): m for m in work.meters()}

    def replay(
        self, events: Iterable[PlannedEvent], target: float | None = None
    ) -> list[tuple[Payload, dt.datetime, str]]:
        return [(self._named(e, target), e.happened_at, e.note) for e in events]

    def _named(self, event: PlannedEvent, target: float | None) -> Payload:
        payload = event.payload
        if isinstance(payload, FoundWithMesh):
            mesh = self._meshes.get(_key(event.mesh))
            if mesh is None:
                raise _changed_meanwhile()
            return FoundWithMesh(
                mesh_type_id=mesh.id,
                reclaims_so_far=payload.reclaims_so_far,
                mesh_since=payload.mesh_since,
                target_n_per_cm=mesh.rules.target if target is None else target,
            )
        if isinstance(payload, Surveyed) and event.meter:
            meter = self._meters.get(event.meter.lower())
            if meter is None:
                raise _changed_meanwhile()
            return Surveyed(payload.moment, payload.readings, meter.id, meter.correction)
        return payload


def _key(name: str) -> str:
    return " ".join(name.lower().split())


def _changed_meanwhile() -> Conflict:
    return Conflict(
        say("The shop has changed since the file was looked at."),
        hint=say("Start the import again."),
    )


def _add_frames(work: Work, frames: Sequence[PlannedFrame], names: _NewNames) -> list[str]:
    taken = {f.own_label.lower() for f in work.frames(FrameFilter(with_retired=True))}
    number = work.last_number()
    added = []
    for planned in frames:
        if planned.frame.own_label and planned.frame.own_label.lower() in taken:
            raise _changed_meanwhile()
        number += 1
        facts: dict[str, Any] = {
            name: getattr(planned.frame, name)
            for name in ("kind", "width_mm", "height_mm", "own_label", "profile", "slot")
        }
        frame = work.add_frame(number=number, code=codes.new_code(number), **facts)
        work.rewrite(frame.id, names.replay(planned.events, planned.target_n_per_cm))
        added.append(frame.code)
    return added


__all__ = [
    "ImportChoices",
    "ImportPlan",
    "PlannedEvent",
    "PlannedFrame",
    "PlannedReadings",
    "plan_import",
    "run_import",
    "tell_problem",
]
