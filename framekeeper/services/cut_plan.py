"""The cut plan: which piece comes off which roll, planned, searched for, and booked when cut.

A booking writes one movement for each piece: its share of the row that it was cut in, by width. So
the tally of pieces stays right, and the movements of a roll sum up to the length that came off it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from framekeeper.domain.cutting import (
    CutPlan,
    Piece,
    PlacedPiece,
    Roll,
    RollPlan,
    Row,
    WidthCost,
    first_plan,
    plan_cuts,
    widths_to_buy,
)
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.offcuts import Served, sizes_served
from framekeeper.domain.records import FrameRecord, MeshTypeRecord, RollRecord
from framekeeper.domain.sentence import Running, Sentence, say
from framekeeper.services.cut_queue import CutJob, CutShelf
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import subject_of
from framekeeper.services.new_rolls import free_code, put_offcut
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.domain.cutting_process import CutSearch
    from framekeeper.storage.unit_of_work import Work

NARROWEST_OFFCUT_MM = 150  # our choice: what is narrower is a rag
SECONDS = 30.0
_MM_PER_M = 1000


@dataclass(frozen=True, slots=True)
class CutRequest:
    """What is to be cut, and from what; made by `request_for`."""

    jobs: tuple[CutJob, ...]  # those that a piece has to be cut for
    rolls: tuple[RollRecord, ...]  # with mesh of theirs on them
    may_turn: bool
    frame_sizes: tuple[tuple[float, float], ...]
    allowance_mm: int

    @property
    def is_in_money(self) -> bool:
        """Whether plans are compared by price; else by the area that comes off whole rolls."""
        whole = [roll for roll in self.rolls if not roll.is_offcut]
        return bool(whole) and all(roll.price_per_m is not None for roll in whole)

    def pieces(self) -> list[Piece]:
        """Say the jobs in the words of the domain."""
        return [
            Piece(j.width_mm, j.length_mm, j.frame.code, j.mesh.name if j.mesh else "", j.may_turn)
            for j in self.jobs
        ]

    def stock(self) -> list[Roll]:
        """Say the rolls in the words of the domain; an offcut costs nothing, so it goes first."""
        names = {j.mesh.id: j.mesh.name for j in self.jobs if j.mesh}
        return [
            Roll(r.width_mm, r.on_hand_mm, r.code, names[r.mesh_type_id], self._price(r))
            for r in self.rolls
        ]

    def _price(self, roll: RollRecord) -> Decimal:
        if roll.is_offcut:
            return Decimal(0)
        if self.is_in_money and roll.price_per_m is not None:
            return roll.price_per_m
        return Decimal(roll.width_mm) / _MM_PER_M

    def job_of(self, code: object) -> CutJob:
        """Return the job of a frame, by its code."""
        return next(job for job in self.jobs if job.frame.code == code)

    def roll_of(self, code: object) -> RollRecord:
        """Return a roll as it was when the plan was made."""
        return next(roll for roll in self.rolls if roll.code == code)


def request_for(
    shelf: CutShelf, jobs: Iterable[CutJob], *, may_turn: bool, mesh_only: str = ""
) -> CutRequest:
    """Put together what is planned: frames without a mesh, or with a piece already, stay out.

    Raises
    ------
    NotPossible
        If nothing is left to be cut.
    """
    meant = [job for job in jobs if job.mesh and mesh_only in ("", job.mesh.name)]
    to_cut = tuple(job for job in meant if job.is_to_cut)
    if not to_cut:
        hint = say("Add frames, and say which mesh each of them gets.")
        if meant:
            hint = say("The pieces for these frames are cut already; stretch them.")
        raise NotPossible(say("There is nothing to cut."), hint=hint)
    wanted = {job.mesh.id for job in to_cut if job.mesh}
    rolls = tuple(r for r in shelf.rolls if r.mesh_type_id in wanted and r.on_hand_mm > 0)
    return CutRequest(to_cut, rolls, may_turn, shelf.frame_sizes, shelf.settings.cut_allowance_mm)


def plan_at_once(request: CutRequest) -> CutPlan:
    """Return a plan within milliseconds; good, seldom the best."""
    return first_plan(request.pieces(), request.stock(), may_turn=request.may_turn)


def plan_here(
    request: CutRequest,
    *,
    seconds: float = SECONDS,
    progress: Callable[[CutPlan], None] | None = None,
) -> CutPlan:
    """Search for the best plan and wait for it."""
    return plan_cuts(
        request.pieces(),
        request.stock(),
        may_turn=request.may_turn,
        seconds=seconds,
        progress=progress,
    )


def search(request: CutRequest, *, seconds: float = SECONDS) -> CutSearch:
    """Find a first plan at once, and search for the best one in a process of its own."""
    from framekeeper.domain.cutting_process import start

    return start(request.pieces(), request.stock(), may_turn=request.may_turn, seconds=seconds)


# what a plan leaves


@dataclass(frozen=True, slots=True)
class Offcut:
    """The strip beside the last piece of a row, and the frames of the shop that it would serve."""

    roll: str
    row: int  # of its roll, from 0
    width_mm: int
    length_mm: int
    serves: tuple[Served, ...]


def offcuts(request: CutRequest, plan: CutPlan) -> tuple[Offcut, ...]:
    """List the strips that are wide enough to be kept, in the order of cutting."""
    found = []
    for cut in plan.rolls:
        for number, row in enumerate(cut.rows):
            width, length = round(free_width_mm(cut, row)), round(row.length_mm)
            if width >= NARROWEST_OFFCUT_MM:
                serves = sizes_served(
                    width, length, request.frame_sizes, allowance_mm=request.allowance_mm
                )
                found.append(Offcut(str(cut.roll.key), number, width, length, serves))
    return tuple(found)


def free_width_mm(cut: RollPlan, row: Row) -> float:
    """What is left between the last piece of a row and the right selvage."""
    return cut.roll.width_mm - used_width_mm(row.pieces)


def used_width_mm(pieces: Iterable[PlacedPiece]) -> float:
    """How far the pieces of a row reach from the left selvage."""
    return max((piece.x_mm + piece.width_mm for piece in pieces), default=0.0)


# which width to buy


@dataclass(frozen=True, slots=True)
class WidthAdvice:
    """The widths of a mesh that the shop knows a price of, the cheapest per screen first."""

    mesh: MeshTypeRecord
    widths: tuple[WidthCost, ...]  # empty where no price is known


def advise_widths(shelf: CutShelf, request: CutRequest) -> tuple[WidthAdvice, ...]:
    """Say for each mesh which width of roll is the cheapest for such frames."""
    by_mesh: dict[int, list[CutJob]] = {}
    for job in request.jobs:
        if job.mesh is not None:
            by_mesh.setdefault(job.mesh.id, []).append(job)
    advice = []
    for jobs in by_mesh.values():
        mesh = jobs[0].mesh
        assert mesh is not None
        prices = _prices_by_width(mesh, shelf.rolls)
        pieces = [Piece(j.width_mm, j.length_mm, may_turn=j.may_turn) for j in jobs]
        costs = widths_to_buy(pieces, sorted(prices.items()), may_turn=request.may_turn)
        advice.append(WidthAdvice(mesh, costs))
    return tuple(advice)


def _prices_by_width(mesh: MeshTypeRecord, rolls: Iterable[RollRecord]) -> dict[float, Decimal]:
    """Return what a metre of each width costs: what the next purchase costs, else the newest roll.

    Offcuts tell nothing: their price is a share of what another width costs.
    """
    prices: dict[float, Decimal] = {}
    for roll in sorted(rolls, key=lambda r: r.id):
        if roll.mesh_type_id == mesh.id and not roll.is_offcut and roll.price_per_m is not None:
            prices[float(roll.width_mm)] = roll.price_per_m
    buying = mesh.buying
    if buying.buy_width_mm is not None and buying.price_per_m is not None:
        prices[float(buying.buy_width_mm)] = buying.price_per_m
    return prices


# the booking


def book(
    desk: Desk,
    request: CutRequest,
    plan: CutPlan,
    *,
    keep: Sequence[Offcut] = (),
    when: When = NOW,
) -> Done:
    """Record that the plan was cut: the mesh leaves the rolls, and each frame has its piece.

    Parameters
    ----------
    desk, request, plan
        The plan, and what it was made for.
    keep
        The offcuts that go back to the shelf, each as a roll of its own.
    when
        When it was cut.

    Raises
    ------
    NotPossible
        If the plan cuts nothing, or the shop changed meanwhile: a roll holds less than is cut from
        it or is another one, or a frame has its piece already.
    """
    if not plan.rolls:
        raise NotPossible(
            say("This plan cuts nothing."), hint=say("Put mesh on the shelf, then plan again.")
        )
    placed = [p for row in plan.rows for p in row.pieces]
    jobs = [request.job_of(p.piece.key) for p in placed]
    with desk.work("cut mesh") as work:
        work.name_subject(subject_of([job.frame for job in jobs]))
        _hold_frames(work, jobs)
        rolls = _hold_rolls(work, request, plan)
        for cut in plan.rolls:
            for row in cut.rows:
                _cut_row(work, request, rolls[str(cut.roll.key)], row, when.happened_at)
        kept = [_keep(work, rolls[offcut.roll], offcut, when.happened_at) for offcut in keep]
        changes = work.commit()
    words = {"subject": subject_of([job.frame for job in jobs]), "length": Running(plan.used_mm)}
    told = say("{subject}: cut, {length} off the rolls.", **words)
    if kept:
        told = say(
            "{subject}: cut, {length} off the rolls. Offcuts on the shelf: {kept}.",
            kept=", ".join(kept),
            **words,
        )
    return Done(told, changes, tuple(job.frame.code for job in jobs))


def _hold_frames(work: Work, jobs: Sequence[CutJob]) -> None:
    """Keep others from cutting for the same frames, and refuse those that have a piece already."""
    for frame_id in sorted(job.frame.id for job in jobs):
        work.known(frame_id)
    ready = {(p.frame_id, p.mesh_type_id) for p in work.cut_pieces()}
    for job in jobs:
        frame: FrameRecord = work.known(job.frame.id)
        if job.mesh is not None and (frame.id, job.mesh.id) in ready:
            raise _changed(say("A piece for {frame} was cut meanwhile.", frame=frame.name))
        if frame.state.state in ("retired", "void"):
            raise _changed(say("{frame} left the shop meanwhile.", frame=frame.name))


def _hold_rolls(work: Work, request: CutRequest, plan: CutPlan) -> dict[str, RollRecord]:
    """Keep others from the rolls, and refuse those that do not hold any more what is planned."""
    planned = {str(cut.roll.key): cut for cut in plan.rolls}
    for roll_id in sorted(request.roll_of(code).id for code in planned):
        work.hold_roll(roll_id)
    now = {roll.id: roll for roll in work.rolls()}
    held = {}
    for code, cut in planned.items():
        before = request.roll_of(code)
        roll = now.get(before.id)
        facts = (before.mesh_type_id, before.width_mm)
        if roll is None or (roll.mesh_type_id, roll.width_mm) != facts:
            raise _changed(say("Roll {code} is not the one of the plan any more.", code=code))
        if roll.on_hand_mm < cut.used_mm:
            raise _changed(
                say(
                    "Roll {code} holds only {left} by now, and the plan takes {wanted}.",
                    code=code,
                    left=Running(roll.on_hand_mm),
                    wanted=Running(cut.used_mm),
                )
            )
        held[code] = roll
    return held


def _changed(said: Sentence) -> NotPossible:
    return NotPossible(
        said, kept=say("Nothing was booked."), hint=say("Plan again with the shelf as it is.")
    )


def _cut_row(
    work: Work, request: CutRequest, roll: RollRecord, row: Row, happened_at: dt.datetime | None
) -> None:
    widths = [round(piece.width_mm) for piece in row.pieces]
    for placed, share in zip(row.pieces, shares(round(row.length_mm), widths), strict=True):
        job = request.job_of(placed.piece.key)
        work.move(
            mesh_type_id=roll.mesh_type_id,
            roll_id=roll.id,
            kind="cut",
            length_mm=-share,
            width_mm=sum(widths),
            happened_at=happened_at,
            reason=job.frame.name,
        )
        work.add_row(
            "cut_piece",
            {
                "mesh_type_id": roll.mesh_type_id,
                "roll_id": roll.id,
                "frame_id": job.frame.id,
                "length_mm": round(placed.length_mm),
                "width_mm": round(placed.width_mm),
                "cut_at": happened_at or work.now,
            },
        )


def shares(length_mm: int, widths_mm: Sequence[int]) -> list[int]:
    """Split the length of a row among its pieces by their widths, in whole mm that sum up to it.

    >>> shares(889, [686, 686]), shares(1000, [500, 500, 1])
    ([444, 445], [500, 499, 1])
    """
    whole = sum(widths_mm)
    marks = [round(length_mm * reached / whole) for reached in accumulate(widths_mm, initial=0)]
    return [after - before for before, after in pairwise(marks)]


def _keep(work: Work, roll: RollRecord, offcut: Offcut, happened_at: dt.datetime | None) -> str:
    code = free_code(work, "")
    put_offcut(
        work,
        roll,
        code,
        width_mm=offcut.width_mm,
        length_mm=offcut.length_mm,
        happened_at=happened_at,
    )
    return code
