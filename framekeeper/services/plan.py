"""What is due, why and where."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from framekeeper.domain.due import MeshRules, Task, due_tasks, next_reading
from framekeeper.domain.due_outlook import start_of_day
from framekeeper.domain.outlook import EVEN_CHANCE, Outlook
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.services.settings import frame_rules
from framekeeper.services.verdicts import rulebook, verdict_changed

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader


@dataclass(frozen=True, slots=True)
class DueItem:
    """One task for one frame."""

    frame: FrameRecord
    mesh_name: str
    task: Task


@dataclass(frozen=True, slots=True)
class Listed:
    """A frame as lists show it: with the name of its mesh and what is due for it."""

    frame: FrameRecord
    mesh_name: str
    mesh_colour: str
    rules: MeshRules
    tasks: tuple[Task, ...]
    outlook: Outlook | None = None  # where the mesh has a limit and was read

    @property
    def mark(self) -> str:
        """One of the three answers: "holds", "soon", "below"."""
        if any(t.urgency == "below" for t in self.tasks):
            return "below"
        return "soon" if self.tasks else "holds"


def list_frames(desk: Desk, *, with_retired: bool = False) -> list[Listed]:
    """List every frame with its mesh and its tasks, by number."""
    now = desk.clock.now()
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(with_retired=with_retired))
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
        rules_for_frames = frame_rules(reader)
        changed = _verdict_changed(reader, frames)
        foretold = forecasts.outlooks(reader, frames, {m.id: m.rules for m in meshes.values()})
    listed = []
    for frame in frames:
        mesh = meshes.get(frame.state.life.mesh_type_id) if frame.state.life else None
        rules = mesh.rules if mesh else MeshRules()
        listed.append(
            Listed(
                replace(frame, state=frame.state.at(now)),
                mesh.name if mesh else "",
                mesh.colour if mesh else "not_told",
                rules,
                due_tasks(
                    frame.state,
                    rules,
                    rules_for_frames,
                    now=now,
                    zone=desk.clock.zone(),
                    verdict_changed=frame.id in changed,
                    outlook=foretold.get(frame.id),
                ),
                foretold.get(frame.id),
            )
        )
    return listed


def _verdict_changed(reader: Reader, frames: list[FrameRecord]) -> frozenset[int]:
    """Find the frames whose newest verdict a finding about its meter has changed: ever few."""
    doubted = [
        f for f in frames if f.state.life and f.state.life.survey and f.state.life.survey.shift
    ]
    if not doubted:
        return frozenset()
    journals = reader.journals([f.id for f in doubted])
    book = rulebook(reader)
    return frozenset(f.id for f in doubted if verdict_changed(f, journals[f.id], book))


def due(desk: Desk) -> list[DueItem]:
    """List everything that is due now, what is below a limit first, then by date.

    A frame on hold is not due for use, but what is wrong with it is still told.
    """
    items = [
        DueItem(listed.frame, listed.mesh_name, task)
        for listed in list_frames(desk)
        for task in listed.tasks
    ]
    return sorted(items, key=lambda i: (i.task.urgency != "below", i.task.due_at, i.frame.number))


@dataclass(frozen=True, slots=True)
class Ahead:
    """Work that is to come for one frame, and how likely it is to come by then."""

    frame: FrameRecord
    mesh_name: str
    task: Task
    chance: float


LEAST_CHANCE = 0.005  # of a restretch: what is rarer is not worth a line
MOST_CHANCE = 0.99  # what is foretold is no certain job before a reading confirms it


def ahead(desk: Desk, until: dt.date) -> list[Ahead]:
    """List what is not due yet and will be by the end of a day: readings, and restretches.

    A screen that is in order is restretched with the chance that it falls below its limit by then.
    """
    now, zone = desk.clock.now(), desk.clock.zone()
    end = start_of_day(until + dt.timedelta(days=1), zone)
    items = [
        item
        for listed in list_frames(desk)
        for item in (
            *_reading_ahead(listed, now, end, zone),
            *_restretch_ahead(listed, now, end, until),
        )
    ]
    return sorted(items, key=lambda i: (i.task.due_at, i.frame.number))


def _reading_ahead(
    listed: Listed, now: dt.datetime, end: dt.datetime, zone: dt.tzinfo
) -> Iterator[Ahead]:
    life = listed.frame.state.life
    if life is None or life.survey is None or not _is_in_service(listed):
        return
    task = next_reading(life.survey, listed.rules, zone, listed.outlook)
    if task is not None and now < task.due_at < end:
        yield Ahead(listed.frame, listed.mesh_name, task, 1.0)


def _restretch_ahead(
    listed: Listed, now: dt.datetime, end: dt.datetime, until: dt.date
) -> Iterator[Ahead]:
    outlook = listed.outlook
    if outlook is None or not _is_in_service(listed):
        return
    if any(task.rule == "below_limit" for task in listed.tasks):
        return  # it is due already
    chance = min(outlook.chance_at(end), MOST_CHANCE)
    if chance < LEAST_CHANCE:
        return
    likely_at = outlook.reached_at(EVEN_CHANCE) or end
    task = Task(
        "restretch_expected",
        "stretching",
        min(max(likely_at, now), end - dt.timedelta(seconds=1)),
        "soon",
        say(
            "below its limit of {limit:.1f} N/cm by {day} with a chance of {chance:.0f} %",
            limit=outlook.limit,
            day=until,
            chance=100 * chance,
        ),
    )
    yield Ahead(listed.frame, listed.mesh_name, task, chance)


def _is_in_service(listed: Listed) -> bool:
    return listed.frame.state.state in ("ready", "in_use", "to_reclaim")
