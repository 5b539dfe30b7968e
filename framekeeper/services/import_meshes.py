"""Brings the mesh names of a register together with the mesh types of the shop."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from framekeeper.domain.due import MeshRules
from framekeeper.domain.records import MeshTypeRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.import_plan import PlannedFrame
from framekeeper.services.meshes import MeshTypeFacts, facts_of, same_name

if TYPE_CHECKING:
    from framekeeper.domain.mesh_names import MeshName

_GRADE = re.compile(r"\d\s*(hd|[smt])(?![a-z])", re.IGNORECASE)

_Cloth = tuple[float, float | None, str, str]  # count per cm, thread, colour, grade


class MeshNames:
    """Gives every cloth in the file one name, that of the shop where the shop knows it.

    "230 yellow" and "230Y" are one cloth; "90T" and "90HD" are two.
    """

    def __init__(self, known: Iterable[MeshTypeRecord]) -> None:
        self._known = tuple(known)
        self._names: dict[_Cloth, str] = {}
        self._new: dict[str, MeshTypeFacts] = {}
        for mesh in self._known:
            if mesh.threads_per_cm is not None:
                cloth = _cloth(mesh.threads_per_cm, mesh.thread_um, mesh.colour, mesh.name)
                self._names.setdefault(cloth, mesh.name)

    def name_for(self, read: MeshName) -> str:
        """Return the name of the mesh type that this is, new or known."""
        facts = facts_of(read)
        for mesh in self._known:
            if same_name(mesh.name, read.name):
                return mesh.name
        cloth = _cloth(read.threads_per_cm, read.thread_um, facts.colour, read.name)
        if cloth not in self._names:
            name = read.name
            if any(same_name(name, other) for other in self._new):
                name = f"{name} ({read.count_as_bought:g}/{read.count_unit})"
            self._new[name] = replace(facts, name=name)
            self._names[cloth] = name
        return self._names[cloth]

    def new_types(
        self, frames: Iterable[PlannedFrame]
    ) -> tuple[tuple[MeshTypeFacts, ...], list[Sentence]]:
        """List the mesh types to be made, with target and limit where all their frames agree."""
        targets: dict[str, set[float]] = defaultdict(set)
        limits: dict[str, set[float]] = defaultdict(set)
        used = set()
        for frame in frames:
            used.add(frame.mesh)
            if frame.target_n_per_cm is not None:
                targets[frame.mesh].add(frame.target_n_per_cm)
            if frame.limit_n_per_cm is not None:
                limits[frame.mesh].add(frame.limit_n_per_cm)
        listed, notes = [], []
        for name, facts in self._new.items():
            if name not in used:
                continue
            target, limit = _only(targets[name]), _only(limits[name])
            if len(limits[name]) > 1 or (target and limit and limit >= target):
                limit = None
                notes.append(say("The file gives no single limit for mesh {name}.", name=name))
            listed.append(replace(facts, rules=MeshRules(target=target, limit=limit)))
        return tuple(listed), notes


def _only(values: set[float]) -> float | None:
    return next(iter(values)) if len(values) == 1 else None


def _cloth(per_cm: float, thread_um: float | None, colour: str, name: str) -> _Cloth:
    grade = _GRADE.search(name)
    return round(per_cm, 1), thread_um, colour, grade.group(1).lower() if grade else ""
