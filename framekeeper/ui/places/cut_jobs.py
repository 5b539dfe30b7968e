"""The list of frames that mesh is cut for: who, which mesh, which piece, turned or not."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from framekeeper.services.cut_queue import CutJob, CutShelf
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.text import tr


class JobList:
    """The jobs in the order in which they were added, with what a person chose for each."""

    def __init__(self) -> None:
        self._jobs: dict[str, CutJob] = {}
        self._meshes: dict[str, str] = {}

    @property
    def jobs(self) -> tuple[CutJob, ...]:
        """All of them."""
        return tuple(self._jobs.values())

    @property
    def codes(self) -> tuple[str, ...]:
        """Their frames."""
        return tuple(self._jobs)

    def add(self, jobs: Iterable[CutJob]) -> None:
        """Add frames; one that is here already keeps what was chosen for it."""
        for job in jobs:
            self._jobs.setdefault(job.frame.code, job)

    def leave_out(self, codes: Iterable[str]) -> None:
        """Take frames off the list."""
        for code in codes:
            self._jobs.pop(code, None)
            self._meshes.pop(code, None)

    def choose_mesh(self, codes: Iterable[str], name: str, shelf: CutShelf) -> None:
        """Give frames another mesh."""
        for code in codes:
            self._meshes[code] = name
        self.refresh(shelf, self.jobs)

    def choose_turning(self, codes: Iterable[str], may_turn: bool | None) -> None:
        """Say of frames whether their piece may be turned; None leaves it to the plan."""
        for code in codes:
            self._jobs[code] = replace(self._jobs[code], may_turn=may_turn)

    def refresh(self, shelf: CutShelf, fresh: Sequence[CutJob]) -> None:
        """Take over what the shop says now; frames that are gone leave the list."""
        known = {mesh.name: mesh for mesh in shelf.mesh_types}
        now = {job.frame.code: job for job in fresh}
        for code, job in list(self._jobs.items()):
            if code not in now:
                self.leave_out([code])
                continue
            newer = replace(now[code], may_turn=job.may_turn)
            mesh = known.get(self._meshes.get(code, ""))
            self._jobs[code] = shelf.with_mesh(newer, mesh) if mesh else newer


def job_id(job: CutJob) -> object:
    """Name a row for good."""
    return job.frame.code


def job_columns(bench: Bench) -> tuple[Column[CutJob], ...]:
    """The columns of the list."""
    formatter = bench.formatter

    def piece(job: CutJob) -> str:
        if job.ready is not None:
            return formatter.size(job.ready.width_mm, job.ready.length_mm)
        return formatter.size(job.width_mm, job.length_mm)

    def note(job: CutJob) -> str:
        if job.ready is not None:
            return tr("cut {day}", day=formatter.day_and_month(formatter.day_of(job.ready.cut_at)))
        if job.mesh is None:
            return tr("which mesh?")
        if job.may_turn is None:
            return ""
        return tr("may turn") if job.may_turn else tr("warp kept")

    return (
        Column("code", tr("Frame"), lambda j: j.frame.name, lambda j: j.frame.number, width=126),
        Column(
            "piece", tr("Piece"), piece, lambda j: (j.width_mm, j.length_mm), width=140,
            header_tooltip=tr("Across the roll by along it: the outside of the frame, and what "
                              "the clamps need."),
        ),
        Column(
            "mesh", tr("Mesh"), lambda j: j.mesh.name if j.mesh else "",
            lambda j: j.mesh.name if j.mesh else None, width=102,
        ),
        Column("note", tr("Note"), note, note, width=66),
    )  # fmt: skip
