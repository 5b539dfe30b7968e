"""What the coming days ask for: restretches, mesh, and minutes at each bench, and "what if".

Beside the tasks that are due this reckons with what follows from them: a screen that falls below
its limit is stripped and prepped and gets new mesh, and so does every frame that waits bare.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from framekeeper.domain import lifecycle
from framekeeper.domain.due import Place
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.sizes import USUAL_FRAME_MM
from framekeeper.domain.work_calendar import WorkCalendar
from framekeeper.domain.work_plan import BenchDay, Job, WorkPlan, due_day, least_minutes, plan_work
from framekeeper.services.bench_queues import mesh_last_worn
from framekeeper.services.desk import Desk
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.stretch import cut_size_mm
from framekeeper.services.week import USUAL_DAYS, Work, gather, jobs_of, last_day
from framekeeper.services.work_times import bench_minutes, task_minutes, work_calendar

FULL_SHARE = 0.9  # our proposal: the rest of a day goes on what nobody planned
MOST_WANTED = 1000


@dataclass(frozen=True, slots=True)
class Wanted:
    """More screens than the shop has now; without a size, on the usual frame."""

    mesh_name: str
    count: int
    size_mm: tuple[float, float] = USUAL_FRAME_MM


@dataclass(frozen=True, slots=True)
class MeshNeed:
    """Mesh of one type, in mm along the roll. What is expected is a mean with its sd."""

    mesh_name: str
    expected_mm: float  # for screens that are, or may fall, below their limit
    expected_sd_mm: float
    waiting_mm: int  # for frames that wait for mesh
    wanted_mm: int
    on_hand_mm: int

    @property
    def needed_mm(self) -> float:
        """All of it, on average."""
        return self.expected_mm + self.waiting_mm + self.wanted_mm

    @property
    def short_mm(self) -> float:
        """What the rolls lack on average."""
        return max(0.0, self.needed_mm - self.on_hand_mm)


@dataclass(frozen=True, slots=True)
class BenchLoad:
    """One bench over the horizon; late and unplaced count jobs that are certain."""

    bench: Place
    minutes_used: float
    minutes_there: float
    full_on: dt.date | None  # the first day by which what is due takes nine tenths of the time
    late: int
    unplaced: int

    @property
    def share(self) -> float | None:
        """The share of the minutes that is used; None where nobody works."""
        return self.minutes_used / self.minutes_there if self.minutes_there else None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the horizon asks for."""

    today: dt.date
    until: dt.date
    restretches: float  # expected number, those that are due already included
    restretches_sd: float
    restretches_due: int  # those that are due already
    waiting: int  # frames that wait for mesh
    waiting_unknown: int  # of these, those that never bore mesh: which they get is not known
    meshes: tuple[MeshNeed, ...]
    benches: tuple[BenchLoad, ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece of mesh that is needed with a chance."""

    mesh_name: str
    length_mm: int
    source: str  # "expected", "waiting" or "wanted"
    chance: float = 1.0


@dataclass(frozen=True, slots=True)
class _Shop:
    settings: ShopSettings
    waiting: tuple[tuple[FrameRecord, str], ...]  # with the mesh that was on them last, or ""
    has_piece: frozenset[tuple[int, str]]  # frames and the mesh of which a piece is cut already
    on_hand_mm: Mapping[str, int]


def what_if(
    desk: Desk,
    *,
    days: int = USUAL_DAYS,
    minutes: Mapping[Place, float] | None = None,
    closed: Sequence[dt.date] = (),
    also: Sequence[Wanted] = (),
) -> Outcome:
    """Reckon what so many days ask for.

    Parameters
    ----------
    desk
        The shop.
    days
        Calendar days from today on.
    minutes
        Minutes per day of some benches, instead of the shop's own.
    closed
        Days that are closed beside the shop's holidays.
    also
        More screens that are wanted by the last day.

    Raises
    ------
    NotValid
        For a number that cannot be.
    NotFound
        For a mesh that the shop does not know.
    """
    today = desk.today()
    until = last_day(today, days)
    shop = _look(desk)
    _check(also, shop)
    works = gather(desk, until)
    calendar = work_calendar(shop.settings, closed)
    jobs = [
        *jobs_of(works, shop.settings, calendar, desk.clock.zone()),
        *_jobs_that_follow(works, shop, until),
        *_wanted_jobs(also, shop.settings, until),
    ]
    there = bench_minutes(shop.settings, minutes)
    made = plan_work(jobs, calendar=calendar, minutes=there, start=today, days=days)
    chances = [work.chance for work in works if _is_restretch(work)]
    return Outcome(
        today,
        until,
        math.fsum(chances),
        math.sqrt(math.fsum(p * (1 - p) for p in chances)),
        sum(map(_is_below, works)),
        len(shop.waiting),
        sum(not mesh for _, mesh in shop.waiting),
        _mesh_needs(_pieces(works, shop, also), shop.on_hand_mm),
        tuple(_load(made, b, jobs, calendar, there.per_set_up) for b in made.benches),
    )


def _is_restretch(work: Work) -> bool:
    return _is_below(work) or work.task.rule == "restretch_expected"


def _is_below(work: Work) -> bool:
    return any(task.rule == "below_limit" for task in work.tasks)


# the shop


def _look(desk: Desk) -> _Shop:
    with desk.read() as reader:
        settings = shop_settings(reader)
        waiting = [
            frame
            for frame in reader.frames(FrameFilter(states=("bare", "prepped", "pulled")))
            if not frame.state.hold_reason
        ]
        journals = reader.journals([frame.id for frame in waiting])
        names = {mesh.id: mesh.name for mesh in reader.mesh_types(with_hidden=True)}
        on_hand: dict[str, int] = dict.fromkeys((m.name for m in reader.mesh_types()), 0)
        for roll in reader.rolls():
            name = names[roll.mesh_type_id]
            on_hand[name] = on_hand.get(name, 0) + roll.on_hand_mm
        has_piece = frozenset((p.frame_id, names[p.mesh_type_id]) for p in reader.cut_pieces())
    with_mesh = []
    for frame in waiting:
        worn = mesh_last_worn(lifecycle.standing(journals[frame.id]))
        with_mesh.append((frame, names[worn] if worn is not None else ""))
    return _Shop(settings, tuple(with_mesh), has_piece, on_hand)


def _check(also: Sequence[Wanted], shop: _Shop) -> None:
    for wanted in also:
        if wanted.mesh_name not in shop.on_hand_mm:
            raise NotFound(
                say("There is no mesh {mesh} in this shop.", mesh=wanted.mesh_name),
                kept="",
                hint=say("Look at the mesh shelf."),
                argument="also",
            )
        if not 0 <= wanted.count <= MOST_WANTED:
            raise NotValid(
                say("From 0 to {most} more screens can be reckoned with.", most=MOST_WANTED),
                kept="",
                argument="also",
            )


# jobs


def _jobs_that_follow(works: Iterable[Work], shop: _Shop, until: dt.date) -> Iterator[Job]:
    """The work that nobody raised as a task yet: prep and stretch of what has to be stretched."""

    def job(frame: FrameRecord, rule: str, bench: Place, set_up: str, chance: float = 1.0) -> Job:
        minutes = task_minutes(shop.settings, rule)
        return Job((frame.code, rule), rule, bench, until, minutes, set_up, chance)

    for work in works:
        if _is_restretch(work):
            yield job(work.frame, "prep_expected", "prep", "strip", work.chance)
        if _is_below(work):
            yield job(work.frame, "stretch_waiting", "stretching", work.mesh_name)
    for frame, mesh in shop.waiting:
        if frame.state.state == "bare":  # what is pulled has its own task at the prep bench
            yield job(frame, "prep_waiting", "prep", "strip")
        yield job(frame, "stretch_waiting", "stretching", mesh)


def _wanted_jobs(also: Sequence[Wanted], settings: ShopSettings, until: dt.date) -> Iterator[Job]:
    minutes = task_minutes(settings, "stretch_wanted")
    for place, wanted in enumerate(also):
        for number in range(wanted.count):
            key = ("wanted", f"{place:04}", f"{number:04}")
            yield Job(key, "stretch_wanted", "stretching", until, minutes, wanted.mesh_name)


def _load(
    made: WorkPlan, bench: Place, jobs: Iterable[Job], calendar: WorkCalendar, per_set_up: float
) -> BenchLoad:
    days = [there for there in made.bench_days if there.bench == bench]
    at_bench = [job for job in jobs if job.bench == bench]
    return BenchLoad(
        bench,
        math.fsum(there.minutes_used for there in days),
        math.fsum(there.minutes_there for there in days),
        _full_on(days, at_bench, calendar, per_set_up),
        sum(j.is_late and j.job.chance == 1 for there in days for j in there.jobs),
        sum(job.bench == bench and job.chance == 1 for job in made.unplaced),
    )


def _full_on(
    days: Sequence[BenchDay], jobs: Sequence[Job], calendar: WorkCalendar, per_set_up: float
) -> dt.date | None:
    """Compare what is due by each day with the minutes until then: early work makes no day full."""
    if not days:
        return None
    dated = [(due_day(job.due_on, calendar, days[0].day), job) for job in jobs]
    there = 0.0
    for day in days:
        there += day.minutes_there
        due = least_minutes((job for due_on, job in dated if due_on <= day.day), per_set_up)
        if due and due >= FULL_SHARE * there:
            return day.day
    return None


# mesh


def _pieces(works: Iterable[Work], shop: _Shop, also: Sequence[Wanted]) -> Iterator[_Piece]:
    allowance = shop.settings.cut_allowance_mm
    for work in works:
        if _is_restretch(work):
            length, _ = cut_size_mm(work.frame, allowance)
            yield _Piece(work.mesh_name, length, "expected", work.chance)
    for frame, mesh in shop.waiting:
        if mesh and (frame.id, mesh) not in shop.has_piece:
            yield _Piece(mesh, cut_size_mm(frame, allowance)[0], "waiting")
    for wanted in also:
        length = round(max(wanted.size_mm)) + allowance
        for _ in range(wanted.count):
            yield _Piece(wanted.mesh_name, length, "wanted")


def _mesh_needs(pieces: Iterable[_Piece], on_hand_mm: Mapping[str, int]) -> tuple[MeshNeed, ...]:
    by_mesh: dict[str, list[_Piece]] = defaultdict(list)
    for piece in pieces:
        by_mesh[piece.mesh_name].append(piece)
    needs = [_need(name, of_it, on_hand_mm.get(name, 0)) for name, of_it in by_mesh.items()]
    return tuple(sorted(needs, key=lambda n: (-n.short_mm, -n.needed_mm, n.mesh_name)))


def _need(name: str, pieces: Sequence[_Piece], on_hand_mm: int) -> MeshNeed:
    def sure(source: str) -> int:
        return sum(p.length_mm for p in pieces if p.source == source)

    expected = [p for p in pieces if p.source == "expected"]
    return MeshNeed(
        name,
        math.fsum(p.chance * p.length_mm for p in expected),
        math.sqrt(math.fsum(p.chance * (1 - p.chance) * p.length_mm**2 for p in expected)),
        sure("waiting"),
        sure("wanted"),
        on_hand_mm,
    )
