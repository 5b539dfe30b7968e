"""The plan of the coming days in words: cells of the board, and lines of the list."""

from __future__ import annotations

from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
from framekeeper.domain.work_plan import Batch, BenchDay, Job, PlannedJob
from framekeeper.services.week import WeekPlan, Work, batch_words, late_words
from framekeeper.ui.text import Formatter, tr, tr_count
from framekeeper.ui.widgets.due_list import DueLine
from framekeeper.ui.widgets.marks import Mark
from framekeeper.ui.widgets.week_board import BoardCell


def board(
    week: WeekPlan, formatter: Formatter
) -> tuple[list[str], list[str], list[list[BoardCell]]]:
    """Give the benches, the days and the cells; a last column for what has no day, if any."""
    plan = week.plan
    benches = [formatter.sentence(PLACE_WORDS[bench]) for bench in plan.benches]
    days = [formatter.short_day(day) for day in plan.days]
    cells = [
        [_cell(week, there, formatter) for there in plan.bench_days if there.bench == bench]
        for bench in plan.benches
    ]
    if plan.unplaced:
        days.append(tr("On no day"))
        for bench, row in zip(plan.benches, cells, strict=True):
            left = sum(job.bench == bench for job in plan.unplaced)
            row.append(_unplaced_cell(left, formatter.sentence(PLACE_WORDS[bench])))
    return benches, days, cells


def _cell(week: WeekPlan, there: BenchDay, formatter: Formatter) -> BoardCell:
    used = formatter.number(there.minutes_used, 0)
    minutes = tr("{used} of {there}", used=used, there=formatter.number(there.minutes_there, 0))
    late = sum(planned.is_late and planned.job.chance == 1 for planned in there.jobs)
    is_below = any(week.work(j.job).task.urgency == "below" for j in there.jobs)
    mark: Mark | None = "below" if is_below and late else "soon" if late else None
    words = tr_count("{n} late", "{n} late", late) if late else ""
    spoken = tr(
        "{bench}, {day}: {minutes} minutes used, {jobs}",
        bench=formatter.sentence(PLACE_WORDS[there.bench]),
        day=formatter.short_day(there.day),
        minutes=minutes,
        jobs=tr_count("{n} job", "{n} jobs", len(there.jobs)),
    )
    if late:
        spoken = tr("{cell}, {late}", cell=spoken, late=words)
    share = there.minutes_used / there.minutes_there if there.minutes_there else None
    return BoardCell(minutes if there.minutes_there else tr("nobody"), share, mark, words, spoken)


def _unplaced_cell(count: int, bench: str) -> BoardCell:
    if not count:
        return BoardCell("", None, None, "", tr("{bench}: all has a day", bench=bench))
    words = tr_count("{n} job", "{n} jobs", count)
    spoken = tr("{bench}: {jobs} that fit on no day", bench=bench, jobs=words)
    return BoardCell("", None, "soon", words, spoken)


def lines_of(week: WeekPlan, bench: int, day: int, formatter: Formatter) -> list[DueLine]:
    """List the jobs of a cell of the board, batch by batch."""
    place = week.plan.benches[bench]
    if day >= len(week.plan.days):
        left = [job for job in week.plan.unplaced if job.bench == place]
        return [_unplaced_line(week, job, formatter) for job in left]
    there = week.plan.bench_days[day * len(week.plan.benches) + bench]
    return [
        _line(week, batch, planned, formatter) for batch in there.batches for planned in batch.jobs
    ]


def _line(week: WeekPlan, batch: Batch, planned: PlannedJob, formatter: Formatter) -> DueLine:
    heading = tr(
        "{what}, {minutes} min",
        what=_capital(formatter.sentence(batch_words(batch))),
        minutes=formatter.number(batch.minutes, 0),
    )
    work = week.work(planned.job)
    if planned.is_late:
        since = formatter.sentence(late_words(planned))
    elif planned.job.chance < 1:
        chance = formatter.number(100 * planned.job.chance, 0)
        since = tr("{chance} % likely", chance=chance)
    else:
        since = _due(week, planned.job, formatter)
    return _told(work, heading, _mark(week, work, planned), since, formatter)


def _mark(week: WeekPlan, work: Work, planned: PlannedJob) -> Mark:
    if planned.is_late or planned.job.due_on <= week.today:
        return work.task.urgency
    return "holds"


def _unplaced_line(week: WeekPlan, job: Job, formatter: Formatter) -> DueLine:
    work = week.work(job)
    since = _due(week, job, formatter)
    return _told(work, tr("No day has room for these"), work.task.urgency, since, formatter)


def _due(week: WeekPlan, job: Job, formatter: Formatter) -> str:
    days = (job.due_on - week.today).days
    return formatter.due(days) if days < 0 else tr("due {day}", day=formatter.due(days))


def _told(work: Work, heading: str, mark: Mark, since: str, formatter: Formatter) -> DueLine:
    frame = work.frame
    return DueLine(
        row_id=(frame.code, work.task.rule),
        place=heading,
        mark=mark,
        name=frame.code,
        where="  ·  ".join(part for part in (frame.own_label, frame.slot) if part),
        task=_capital(formatter.sentence(TASK_WORDS[work.task.rule])),
        reason=formatter.sentence(work.reasons),
        mesh=work.mesh_name,
        since=since,
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def summary(week: WeekPlan, formatter: Formatter) -> str:
    """Say in one line what the coming days hold."""
    until = formatter.date(week.until)
    jobs = len(week.works)
    if not jobs:
        return tr("Nothing is due until {day}.", day=until)
    told = tr_count("{n} job until {day}.", "{n} jobs until {day}.", jobs, day=until)
    if week.late:
        late = tr_count("{n} is late.", "{n} are late.", len(week.late))
        told = tr("{summary} {more}", summary=told, more=late)
    if week.plan.unplaced:
        left = tr_count("{n} fits on no day.", "{n} fit on no day.", len(week.plan.unplaced))
        told = tr("{summary} {more}", summary=told, more=left)
    return told
