"""What is due, why and where."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from framekeeper.domain.due import MeshRules, Task, due_tasks
from framekeeper.domain.records import FrameFilter, FrameRecord
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
                ),
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
