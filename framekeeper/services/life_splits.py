"""Puts lives into groups: by mesh, lot, adhesive, who stretched, how, and how long it rested."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.natural_order import natural
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import Sentence, say

By = Literal["all", "mesh", "lot", "adhesive", "activator", "who", "method", "rest", "pull"]
BYS: tuple[By, ...] = get_args(By)

# Minutes from which a rest counts as longer: our choice, so that groups stay large enough.
REST_STEPS = (0, 5, 10, 15, 20, 30, 60)

METHOD_WORDS: Mapping[str, Sentence] = {
    "glued": say("glued here"),
    "rollers": say("with rollers"),
    "outside": say("stretched outside"),
}
NOT_TOLD = say("not told")


@dataclass(frozen=True, slots=True)
class Label:
    """The name of a group, and where it stands among the others."""

    key: str
    name: Sentence
    order: tuple[object, ...]
    is_told: bool = True


@dataclass(frozen=True, slots=True)
class Shelf:
    """What the ids in lives are called."""

    meshes: Mapping[int, MeshTypeRecord]
    rolls: Mapping[int, RollRecord]

    def mesh_name(self, life: LivedMesh) -> str:
        """Name the mesh of a life."""
        mesh = self.meshes.get(life.mesh_type_id)
        return mesh.name if mesh else "—"


def label_of(by: By, life: LivedMesh, shelf: Shelf) -> Label:
    """Name the group of a life; where nobody told, that is its group."""
    label = _LABELS[by](life, shelf)
    return label or Label("", NOT_TOLD, (), is_told=False)


def _all(_life: LivedMesh, _shelf: Shelf) -> Label | None:
    return Label("all", say("all mesh"), (0,))


def _mesh(life: LivedMesh, shelf: Shelf) -> Label | None:
    mesh = shelf.meshes.get(life.mesh_type_id)
    if mesh is None:
        return None
    return Label(str(mesh.id), _text(mesh.name), (mesh.threads_per_cm or 0.0, mesh.name))


def _lot(life: LivedMesh, shelf: Shelf) -> Label | None:
    roll = shelf.rolls.get(life.roll_id or 0)
    if roll is None:
        return None
    mesh = shelf.mesh_name(life)
    order = (natural(mesh), natural(roll.lot), natural(roll.code))
    if roll.lot:
        name = say("{mesh}, lot {lot}", mesh=mesh, lot=roll.lot)
        return Label(f"{life.mesh_type_id} {roll.lot}", name, order)
    return Label(f"roll {roll.code}", say("{mesh}, roll {code}", mesh=mesh, code=roll.code), order)


def _named(text: str) -> Label | None:
    return Label(text, _text(text), (natural(text),)) if text else None


def _adhesive(life: LivedMesh, _shelf: Shelf) -> Label | None:
    return _named(life.adhesive_lot)


def _activator(life: LivedMesh, _shelf: Shelf) -> Label | None:
    return _named(life.activator_lot)


def _who(life: LivedMesh, _shelf: Shelf) -> Label | None:
    return _named(life.by)


def _method(life: LivedMesh, _shelf: Shelf) -> Label | None:
    words = METHOD_WORDS.get(life.method)
    return Label(life.method, words, (life.method,)) if words else None


def _rest(life: LivedMesh, _shelf: Shelf) -> Label | None:
    minutes = life.rest_minutes
    if minutes is None:
        return None
    place = max(i for i, least in enumerate(REST_STEPS) if minutes >= least)
    least = REST_STEPS[place]
    if place == len(REST_STEPS) - 1:
        name = say("{least} min and more", least=least)
    else:
        name = say("{least} to {most} min", least=least, most=REST_STEPS[place + 1] - 1)
    return Label(str(least), name, (least,))


def _pull(life: LivedMesh, _shelf: Shelf) -> Label | None:
    frames = life.frames_in_pull
    if frames is None:
        return None
    name = say("1 frame") if frames == 1 else say("{n} frames", n=frames)
    return Label(str(frames), name, (frames,))


def _text(name: str) -> Sentence:
    return say("{name}", name=name)


_LABELS: dict[By, Callable[[LivedMesh, Shelf], Label | None]] = {
    "all": _all,
    "mesh": _mesh,
    "lot": _lot,
    "adhesive": _adhesive,
    "activator": _activator,
    "who": _who,
    "method": _method,
    "rest": _rest,
    "pull": _pull,
}
