"""Lays the work of the coming days on benches: in time, batched by set-up, within the minutes.

Jobs are taken by due date, the earliest first, and each goes to the latest day on which it is still
in time and fits, or, in time too, to a day on which its set-up is on the bench anyway. What fits on
no such day goes to the first day with room and is late. Packing jobs of unequal length is a hard
problem, so this promises no smallest number of late jobs; it does promise that jobs of one length,
without set-ups and free to be done early, are all in time wherever that is possible.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from framekeeper.domain.due import Place
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.domain.work_calendar import WorkCalendar

ROUNDING = 1e-9  # minutes: sums of binary fractions
_NO_SET_UP = ""

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do at a bench.

    Parameters
    ----------
    key
        Names the job for good; no two jobs of a plan share one.
    rule
        What raised it.
    due_on
        The day by which it should be done.
    minutes
        How long it takes, without its set-up.
    set_up
        Jobs with the same words share one set-up per day and bench; empty needs none.
    chance
        How likely it comes at all, above 0 up to 1; it takes that share of its minutes.
    not_before
        The first day on which it makes sense; None where it may be done any time.
    """

    key: Key
    rule: str
    bench: Place
    due_on: dt.date
    minutes: float
    set_up: str = _NO_SET_UP
    chance: float = 1.0
    not_before: dt.date | None = None

    @property
    def expected_minutes(self) -> float:
        """The minutes to reckon with."""
        return self.chance * self.minutes


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """A job on its day; `days_late` counts open days after the day on which it was due."""

    job: Job
    day: dt.date
    days_late: int
    is_too_long: bool  # alone on its day, and still longer than the bench has minutes

    @property
    def is_late(self) -> bool:
        """Whether it is done after the day on which it was due."""
        return self.days_late > 0


@dataclass(frozen=True, slots=True)
class Batch:
    """Jobs that share a set-up; `minutes` with the set-up."""

    set_up: str
    jobs: tuple[PlannedJob, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class BenchDay:
    """One bench on one open day."""

    day: dt.date
    bench: Place
    batches: tuple[Batch, ...]
    minutes_there: float

    @property
    def minutes_used(self) -> float:
        """The minutes that the batches take."""
        return math.fsum(batch.minutes for batch in self.batches)

    @property
    def minutes_free(self) -> float:
        """The minutes that are left; none where a job is too long for the day."""
        return max(0.0, self.minutes_there - self.minutes_used)

    @property
    def jobs(self) -> tuple[PlannedJob, ...]:
        """The jobs in the order of work."""
        return tuple(job for batch in self.batches for job in batch.jobs)


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """Every open day with every bench, and what fits on none of them."""

    days: tuple[dt.date, ...]
    benches: tuple[Place, ...]
    bench_days: tuple[BenchDay, ...]  # by day, then in the order of the benches
    unplaced: tuple[Job, ...]

    @property
    def jobs(self) -> tuple[PlannedJob, ...]:
        """Every job that has a day, in the order of work."""
        return tuple(job for there in self.bench_days for job in there.jobs)


@dataclass(frozen=True, slots=True)
class BenchMinutes:
    """What a day at the benches holds: minutes per bench, and what a set-up takes."""

    per_day: Mapping[Place, float]
    per_set_up: float = 0.0


def plan_work(
    jobs: Iterable[Job],
    *,
    calendar: WorkCalendar,
    minutes: BenchMinutes,
    start: dt.date,
    days: int,
) -> WorkPlan:
    """Plan jobs over the open days of a horizon.

    A job that is due on a closed day is due on the last open day before it, or, where that is
    behind the start, on the next open day. A job that is longer than a whole day is alone on its
    day. The order of the jobs does not matter.

    Parameters
    ----------
    jobs
        What is to be done; jobs that are due after the horizon may be planned in it too.
    calendar
        The days on which the shop works.
    minutes
        What a day at each bench holds. A bench that is not among them, or has 0, takes no job.
    start, days
        The horizon: so many calendar days from the start on.

    Raises
    ------
    NotValid
        If two jobs share a key, a number is no number of minutes, or the horizon is empty.
    """
    ordered = _in_order(jobs, calendar, start)
    _check(ordered, minutes, days)
    open_days = calendar.open_days(start, start + dt.timedelta(days=days - 1))
    benches = tuple(minutes.per_day)
    loads = {b: [_Load(day, minutes, b) for day in open_days] for b in benches}
    unplaced = []
    for due, job in ordered:
        load = _best_day(loads.get(job.bench, []), job, due)
        if load is None:
            unplaced.append(job)
        else:
            load.take(job)
    due_days = {job.key: due for due, job in ordered}
    by_day = (loads[bench][n] for n in range(len(open_days)) for bench in benches)
    told = tuple(load.told(due_days, calendar) for load in by_day)
    return WorkPlan(open_days, benches, told, tuple(unplaced))


def due_day(due_on: dt.date, calendar: WorkCalendar, start: dt.date) -> dt.date:
    """Give the open day by which a job should be done; see `plan_work`."""
    before = calendar.last_open(due_on)
    return before if before >= start else calendar.next_open(due_on)


def least_minutes(jobs: Iterable[Job], per_set_up: float) -> float:
    """Sum the minutes to reckon with, at one bench, if every set-up is made only once."""
    shared: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        shared[job.set_up].append(job)
    return math.fsum(
        math.fsum(job.expected_minutes for job in batch) + _set_up_minutes(batch, per_set_up)
        for batch in shared.values()
    )


def _set_up_minutes(batch: Sequence[Job], per_set_up: float) -> float:
    """A set-up is made if any of its jobs comes; they come independently of each other."""
    if not batch or batch[0].set_up == _NO_SET_UP:
        return 0.0
    return per_set_up * (1 - math.prod(1 - job.chance for job in batch))


def _in_order(
    jobs: Iterable[Job], calendar: WorkCalendar, start: dt.date
) -> list[tuple[dt.date, Job]]:
    dated = [(due_day(job.due_on, calendar, start), job) for job in jobs]
    return sorted(dated, key=lambda d: (d[0], d[1].due_on, d[1].set_up, d[1].key))


def _check(ordered: Sequence[tuple[dt.date, Job]], minutes: BenchMinutes, days: int) -> None:
    if days < 1:
        raise NotValid(say("A plan covers at least one day."), argument="days")
    keys = [job.key for _, job in ordered]
    if len(set(keys)) != len(keys):
        raise NotValid(say("Two jobs share a name."), argument="jobs")
    lengths = [*minutes.per_day.values(), minutes.per_set_up, *(j.minutes for _, j in ordered)]
    if not all(math.isfinite(length) and length >= 0 for length in lengths):
        raise NotValid(say("Minutes are numbers, none below 0."), argument="minutes")
    if not all(0 < job.chance <= 1 for _, job in ordered):
        raise NotValid(say("A chance is above 0 and at most 1."), argument="chance")


@dataclass(slots=True)
class _Load:
    """One bench on one day while the plan is made."""

    day: dt.date
    minutes: BenchMinutes
    bench: Place
    jobs: dict[str, list[Job]] = field(default_factory=lambda: defaultdict(list))
    used: float = 0.0

    @property
    def there(self) -> float:
        return self.minutes.per_day[self.bench]

    def has_set_up(self, job: Job) -> bool:
        return job.set_up != _NO_SET_UP and job.set_up in self.jobs

    def fits(self, job: Job) -> bool:
        if self.used + self._added(job) <= self.there + ROUNDING:
            return True
        return self.there > 0 and not self.jobs  # too long for any day: alone on this one

    def take(self, job: Job) -> None:
        self.used += self._added(job)
        self.jobs[job.set_up].append(job)

    def _added(self, job: Job) -> float:
        others = self.jobs.get(job.set_up, [])
        set_up = self._set_up_minutes([*others, job]) - self._set_up_minutes(others)
        return job.expected_minutes + set_up

    def _set_up_minutes(self, jobs: Sequence[Job]) -> float:
        return _set_up_minutes(jobs, self.minutes.per_set_up)

    def told(self, due_days: Mapping[Key, dt.date], calendar: WorkCalendar) -> BenchDay:
        batches = []
        is_too_long = self.used > self.there + ROUNDING
        for set_up, jobs in self.jobs.items():
            planned = tuple(
                PlannedJob(
                    j, self.day, _days_late(due_days[j.key], self.day, calendar), is_too_long
                )
                for j in jobs
            )
            minutes = math.fsum(j.expected_minutes for j in jobs) + self._set_up_minutes(jobs)
            batches.append(Batch(set_up, planned, minutes))
        first = sorted(batches, key=lambda b: (due_days[b.jobs[0].job.key], b.set_up))
        return BenchDay(self.day, self.bench, tuple(first), self.there)


def _best_day(loads: Sequence[_Load], job: Job, due: dt.date) -> _Load | None:
    fitting = [
        load
        for load in loads
        if (job.not_before is None or load.day >= job.not_before) and load.fits(job)
    ]
    in_time = [load for load in fitting if load.day <= due]
    shared = [load for load in in_time if load.has_set_up(job)]
    if shared or in_time:
        return (shared or in_time)[-1]
    return fitting[0] if fitting else None


def _days_late(due: dt.date, day: dt.date, calendar: WorkCalendar) -> int:
    return calendar.count(due + dt.timedelta(days=1), day)
