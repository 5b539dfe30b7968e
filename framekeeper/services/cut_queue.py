"""Which frames mesh is to be cut for, and which mesh each will get."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.records import (
    CutPieceRecord,
    FrameRecord,
    MeshTypeRecord,
    RollRecord,
)
from framekeeper.domain.sentence import say
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.services.bench_queues import mesh_last_worn
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frames
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.plan import due
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.stretch import cut_size_mm

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

Queue = Literal["table", "restretch"]
_GONE = ("retired", "missing", "void")


@dataclass(frozen=True, slots=True)
class CutJob:
    """A frame that gets mesh: the piece it takes, and what lies ready for it already."""

    frame: FrameRecord
    mesh: MeshTypeRecord | None  # None: it never wore any, so somebody has to say
    length_mm: int  # along the roll, unless it is turned
    width_mm: int
    may_turn: bool | None = None  # None: as the plan says
    ready: CutPieceRecord | None = None  # a piece of this mesh that was cut before

    @property
    def is_to_cut(self) -> bool:
        """Whether a piece has to be cut for it."""
        return self.mesh is not None and self.ready is None


@dataclass(frozen=True, slots=True)
class CutShelf:
    """What there is to cut, and to cut from."""

    table: tuple[CutJob, ...]  # prepped, waiting for mesh
    restretch: tuple[CutJob, ...]  # bare, pulled, or below the limit by their last reading
    chosen: tuple[CutJob, ...]  # the frames that were asked for and are still in the shop
    mesh_types: tuple[MeshTypeRecord, ...]
    rolls: tuple[RollRecord, ...]
    pieces: tuple[CutPieceRecord, ...]
    frame_sizes: tuple[tuple[float, float], ...]  # of the shop, each once
    settings: ShopSettings

    def queue(self, name: Queue) -> tuple[CutJob, ...]:
        """Return one of the queues."""
        return self.table if name == "table" else self.restretch

    def with_mesh(self, job: CutJob, mesh: MeshTypeRecord) -> CutJob:
        """Give the frame of a job another mesh."""
        return replace(job, mesh=mesh, ready=_ready(self.pieces, job.frame, mesh))


def cut_shelf(desk: Desk, codes: Collection[str] = ()) -> CutShelf:
    """Read both queues, the frames with these codes, and the shelf.

    A frame on hold is in neither queue, and a roller frame that is slack is tightened, not cut for.
    """
    below = {
        item.frame.id
        for item in due(desk)
        if item.task.rule == "below_limit" and item.frame.kind == "glued"
    }
    with desk.read() as reader:
        every_frame = reader.frames()
        at_table = [f for f in every_frame if f.state.state == "prepped"]
        to_come = [f for f in every_frame if f.state.state in ("bare", "pulled") or f.id in below]
        table = _jobs(reader, _free(at_table))
        restretch = _jobs(reader, _free(to_come))
        chosen = _jobs(reader, [f for f in every_frame if f.code in codes and not _is_gone(f)])
        mesh_types, rolls = tuple(reader.mesh_types()), tuple(reader.rolls())
        pieces, settings = tuple(reader.cut_pieces()), shop_settings(reader)
    return CutShelf(
        table=table,
        restretch=restretch,
        chosen=chosen,
        mesh_types=mesh_types,
        rolls=rolls,
        pieces=pieces,
        frame_sizes=tuple(sorted({(f.width_mm, f.height_mm) for f in every_frame})),
        settings=settings,
    )


def jobs_for(desk: Desk, codes: Sequence[str], *, mesh: str = "") -> tuple[CutJob, ...]:
    """Return the jobs of chosen frames; each gets the mesh it wore last, or the one that is named.

    Raises
    ------
    NotFound
        If a frame or the mesh is not known.
    NotPossible
        If a frame is retired or missing.
    """
    with desk.read() as reader:
        frames = find_frames(reader, codes)
        for frame in frames:
            if _is_gone(frame):
                raise NotPossible(
                    say(
                        "{frame} is {state}, so no mesh is cut for it.",
                        frame=frame.name,
                        state=STATE_WORDS[frame.state.state],
                    ),
                    hint=say("Leave it out."),
                )
        jobs = _jobs(reader, frames)
        if not mesh:
            return jobs
        named, pieces = find_mesh_type(reader, mesh), reader.cut_pieces()
    return tuple(replace(j, mesh=named, ready=_ready(pieces, j.frame, named)) for j in jobs)


def _is_gone(frame: FrameRecord) -> bool:
    return frame.state.state in _GONE


def _free(frames: Sequence[FrameRecord]) -> list[FrameRecord]:
    return [f for f in frames if not f.state.hold_reason]


def _jobs(reader: Reader, frames: Sequence[FrameRecord]) -> tuple[CutJob, ...]:
    journals = reader.journals([f.id for f in frames])
    meshes = {m.id: m for m in reader.mesh_types()}
    pieces, allowance = reader.cut_pieces(), shop_settings(reader).cut_allowance_mm
    jobs = []
    for frame in frames:
        worn = mesh_last_worn(lifecycle.standing(journals[frame.id]))
        mesh = None if worn is None else meshes.get(worn)
        length, width = cut_size_mm(frame, allowance)
        jobs.append(CutJob(frame, mesh, length, width, ready=_ready(pieces, frame, mesh)))
    return tuple(sorted(jobs, key=_by_mesh))


def _ready(
    pieces: Sequence[CutPieceRecord], frame: FrameRecord, mesh: MeshTypeRecord | None
) -> CutPieceRecord | None:
    own = (p for p in pieces if mesh and (p.frame_id, p.mesh_type_id) == (frame.id, mesh.id))
    return next(own, None)


def _by_mesh(job: CutJob) -> tuple[object, ...]:
    count = job.mesh.threads_per_cm if job.mesh and job.mesh.threads_per_cm else 0.0
    name = job.mesh.name if job.mesh else ""
    return (job.mesh is None, count, name, -job.length_mm, -job.width_mm, job.frame.number)
