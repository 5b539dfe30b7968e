"""The work of the coming days: what is due and what will be, on the benches and days that exist."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from framekeeper.domain.due import Task
from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import TASK_WORDS
from framekeeper.domain.work_calendar import WorkCalendar
from framekeeper.domain.work_plan import Batch, Job, Key, PlannedJob, WorkPlan, plan_work
from framekeeper.services import plan
from framekeeper.services.desk import Desk
from framekeeper.services.settings import ShopSettings, read_settings
from framekeeper.services.work_times import bench_minutes, task_kind, task_minutes, work_calendar

USUAL_DAYS = 14
MOST_DAYS = 366
READ_EARLY_DAYS = 2  # our proposal: an earlier reading would be one more than is needed
_READINGS = frozenset({"reading_due", "check_tension"})


@dataclass(frozen=True, slots=True)
class Work:
    """What one visit to a frame settles: what a planned job is about.

    Two tasks that ask for the same reading of one screen are one job, with both reasons.
    """

    frame: FrameRecord
    mesh_name: str
    kind: str  # which of the shop's own times it takes: "read", "look", ...
    tasks: tuple[Task, ...]  # the most pressing first
    chance: float = 1.0

    @property
    def key(self) -> Key:
        """The name of the job; a frame has one of a kind at a time."""
        return self.frame.code, self.task.place, self.kind

    @property
    def task(self) -> Task:
        """The most pressing task."""
        return self.tasks[0]

    @property
    def reasons(self) -> Sentence:
        """All reasons in one line."""
        told = self.tasks[0].reason
        for task in self.tasks[1:]:
            told = say("{first}; {second}", first=told, second=task.reason)
        return told


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The plan of the coming days. Each screen stands in it with its next reading only."""

    today: dt.date
    until: dt.date
    plan: WorkPlan
    works: Mapping[Key, Work]

    def work(self, job: Job) -> Work:
        """Return what a job is about."""
        return self.works[job.key]

    @property
    def late(self) -> tuple[PlannedJob, ...]:
        """The certain jobs that are done after the day on which they were due."""
        return tuple(j for j in self.plan.jobs if j.is_late and j.job.chance == 1)

    @property
    def next_open(self) -> dt.date | None:
        """The first day on which the shop works; None where the whole horizon is closed."""
        return self.plan.days[0] if self.plan.days else None


def week_plan(desk: Desk, *, days: int = USUAL_DAYS) -> WeekPlan:
    """Plan what is due and what will be due over so many calendar days from today on.

    Today counts as a whole day, whatever the hour.

    Raises
    ------
    NotValid
        For a horizon of no days or of more than a year.
    """
    today = desk.today()
    until = last_day(today, days)
    settings = read_settings(desk)
    works = gather(desk, until)
    calendar = work_calendar(settings)
    made = plan_work(
        jobs_of(works, settings, calendar, desk.clock.zone()),
        calendar=calendar,
        minutes=bench_minutes(settings),
        start=today,
        days=days,
    )
    return WeekPlan(today, until, made, {work.key: work for work in works})


def last_day(today: dt.date, days: int) -> dt.date:
    """Give the last day of a horizon."""
    if not 1 <= days <= MOST_DAYS:
        raise NotValid(
            say("A plan covers 1 to {most} days.", most=MOST_DAYS), kept="", argument="days"
        )
    return today + dt.timedelta(days=days - 1)


def gather(desk: Desk, until: dt.date) -> tuple[Work, ...]:
    """Gather what is due now and what will be by a day, one visit to a frame at a time."""
    found: dict[Key, Work] = {}
    items = [(item.frame, item.mesh_name, item.task, 1.0) for item in plan.due(desk)]
    items += [(a.frame, a.mesh_name, a.task, a.chance) for a in plan.ahead(desk, until)]
    for frame, mesh_name, task, chance in items:
        work = Work(frame, mesh_name, task_kind(task.rule), (task,), chance)
        known = found.get(work.key)
        if known is not None:
            tasks = sorted((*known.tasks, task), key=lambda t: (t.urgency != "below", t.due_at))
            work = replace(known, tasks=tuple(tasks), chance=max(chance, known.chance))
        found[work.key] = work
    return tuple(found.values())


def jobs_of(
    works: Iterable[Work], settings: ShopSettings, calendar: WorkCalendar, zone: dt.tzinfo
) -> list[Job]:
    """Turn visits into jobs: with the shop's minutes, and with what shares a set-up."""
    return [_job(work, settings, calendar, zone) for work in works]


def _job(work: Work, settings: ShopSettings, calendar: WorkCalendar, zone: dt.tzinfo) -> Job:
    due_on = min(task.due_at for task in work.tasks).astimezone(zone).date()
    can_wait = all(task.rule in _READINGS for task in work.tasks)
    return Job(
        key=work.key,
        rule=work.task.rule,
        bench=work.task.place,
        due_on=due_on,
        minutes=task_minutes(settings, work.task.rule),
        set_up=_set_up(work),
        chance=work.chance,
        not_before=calendar.add(due_on, -READ_EARLY_DAYS) if can_wait else None,
    )


def _set_up(work: Work) -> str:
    """The table is set up for a mesh, the prep bench for a step; nothing else needs a set-up."""
    if work.task.rule == "restretch_expected":
        return work.mesh_name
    return work.task.rule if work.task.place == "prep" else ""


def batch_words(batch: Batch) -> Sentence:
    """Say what the jobs of a batch share; without a set-up, what they are."""
    rules = dict.fromkeys(planned.job.rule for planned in batch.jobs)
    first = next(iter(rules))
    if batch.set_up and first == "restretch_expected":
        return say("mesh {mesh}", mesh=batch.set_up)
    if len({str(TASK_WORDS[rule]) for rule in rules}) == 1:
        return TASK_WORDS[first]
    return say("{first} and other tasks", first=TASK_WORDS[first])


def late_words(planned: PlannedJob) -> Sentence:
    """Say how late a job is."""
    if planned.days_late == 1:
        return say("late by 1 working day")
    return say("late by {days} working days", days=planned.days_late)
