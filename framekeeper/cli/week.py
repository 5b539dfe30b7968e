"""The work of the coming days on the command line: the plan, its calendar file, and "what if"."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import closed_days, named, number, whole
from framekeeper.domain.due import Place
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
from framekeeper.domain.work_plan import BenchDay, Job, PlannedJob
from framekeeper.services.forecasts import refresh_if_possible
from framekeeper.services.settings import BENCHES
from framekeeper.services.week import USUAL_DAYS, WeekPlan, batch_words, late_words, week_plan
from framekeeper.services.what_if import Outcome, Wanted, what_if

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands about the coming days."""
    _days(command(commands, "plan", _plan, "plan the work of the coming days, bench by bench"))
    parser = command(commands, "calendar", _calendar, "write the plan as an iCalendar file")
    parser.add_argument("file", type=Path, metavar="FILE.ics")
    _days(parser)
    parser = command(commands, "what-if", _what_if, "say what the coming days ask for, and what if")
    _days(parser)
    parser.add_argument(
        "--minutes", action="append", default=[], type=named, metavar="BENCH=MINUTES",
        help="minutes a day at one bench instead of the shop's own",
    )  # fmt: skip
    parser.add_argument(
        "--closed", type=closed_days, default=(), metavar="DATES", help="days that are closed too"
    )
    parser.add_argument(
        "--also", action="append", default=[], nargs=2, metavar=("NUMBER", "MESH"),
        help="more screens that are wanted by the last day",
    )  # fmt: skip


def _days(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--days", type=whole, default=USUAL_DAYS, metavar="N", help="calendar days from today on"
    )


def _plan(call: Call) -> None:
    refresh_if_possible(call.desk)
    week = week_plan(call.desk, days=call.words.days)
    if call.as_json:
        call.give(_plan_rows(week))
        return
    for line in _plan_lines(week):
        call.tell(line)


def _plan_lines(week: WeekPlan) -> Iterator[Sentence]:
    if not week.works:
        yield say("Nothing is due until {day}.", day=week.until)
        return
    told = None
    for there in week.plan.bench_days:
        if not there.jobs:
            continue
        if there.day != told:
            told = there.day
            yield say("{day}", day=there.day)
        yield say(
            "  {bench}: {used:.0f} of {there:.0f} minutes",
            bench=PLACE_WORDS[there.bench],
            used=there.minutes_used,
            there=there.minutes_there,
        )
        for batch in there.batches:
            yield say("    {what}", what=batch_words(batch))
            yield from (_job_line(week, planned) for planned in batch.jobs)
    if week.plan.unplaced:
        yield say("On no day until {day}", day=week.until)
        yield from (_unplaced_line(week, job) for job in week.plan.unplaced)


def _job_line(week: WeekPlan, planned: PlannedJob) -> Sentence:
    values = {**_job_words(week, planned.job), "late": late_words(planned)}
    if planned.is_late:
        return Sentence("      {frame}: {task}, {late}: {reason}", values)
    return Sentence("      {frame}: {task}: {reason}", values)


def _unplaced_line(week: WeekPlan, job: Job) -> Sentence:
    return Sentence("    {frame}: {task}: {reason}", _job_words(week, job))


def _job_words(week: WeekPlan, job: Job) -> dict[str, object]:
    work = week.work(job)
    return {"frame": work.frame.name, "task": TASK_WORDS[job.rule], "reason": work.reasons}


def _plan_rows(week: WeekPlan) -> dict[str, object]:
    days = [
        {"day": day, "benches": [_bench(week, b) for b in week.plan.bench_days if b.day == day]}
        for day in week.plan.days
    ]
    unplaced = [_job(week, job) for job in week.plan.unplaced]
    return {"today": week.today, "until": week.until, "days": days, "unplaced": unplaced}


def _bench(week: WeekPlan, there: BenchDay) -> dict[str, object]:
    return {
        "place": there.bench,
        "minutes_used": there.minutes_used,
        "minutes_there": there.minutes_there,
        "batches": [
            {
                "what": batch_words(batch),
                "minutes": batch.minutes,
                "tasks": [
                    {
                        **_job(week, planned.job),
                        "days_late": planned.days_late,
                        "longer_than_a_day": planned.is_too_long,
                    }
                    for planned in batch.jobs
                ],
            }
            for batch in there.batches
        ],
    }


def _job(week: WeekPlan, job: Job) -> dict[str, object]:
    work = week.work(job)
    return {
        "code": work.frame.code,
        "own_label": work.frame.own_label,
        "task": job.rule,
        "place": job.bench,
        "due": job.due_on,
        "chance": job.chance,
        "mesh": work.mesh_name,
        "reason": work.task.reason,
        "also": [{"task": task.rule, "reason": task.reason} for task in work.tasks[1:]],
    }


def _calendar(call: Call) -> None:
    from framekeeper.services.week_calendar import calendar_file

    refresh_if_possible(call.desk)
    call.write(call.words.file, calendar_file(call.desk, call.wording, days=call.words.days))


def _what_if(call: Call) -> None:
    words = call.words
    minutes = {_bench_named(name): number(text) for name, text in words.minutes}
    also = [Wanted(mesh, whole(count)) for count, mesh in words.also]
    refresh_if_possible(call.desk)
    found = what_if(call.desk, days=words.days, minutes=minutes, closed=words.closed, also=also)
    if call.as_json:
        call.give(_outcome(found))
        return
    call.tell(
        say(
            "Until {day} {mean:.1f} restretches are expected, give or take {sd:.1f}. Due now: "
            "{due}. Frames that wait for mesh: {waiting}.",
            day=found.until,
            mean=found.restretches,
            sd=found.restretches_sd,
            due=found.restretches_due,
            waiting=found.waiting,
        )
    )
    for need in found.meshes:
        call.tell(
            say(
                "  {mesh}: {needed:.1f} m needed, {on_hand:.1f} m on hand",
                mesh=need.mesh_name,
                needed=need.needed_mm / 1000,
                on_hand=need.on_hand_mm / 1000,
            )
        )
    for line in _bench_lines(found):
        call.tell(line)


def _bench_named(name: str) -> Place:
    for bench in BENCHES:
        if bench == name:
            return bench
    raise NotValid(
        say("There is no bench {name}.", name=name),
        kept="",
        hint=say("Name one of {benches}.", benches=", ".join(BENCHES)),
    )


def _bench_lines(found: Outcome) -> Iterator[Sentence]:
    for load in found.benches:
        values = {
            "bench": PLACE_WORDS[load.bench],
            "used": load.minutes_used,
            "there": load.minutes_there,
            "day": load.full_on,
        }
        if load.full_on is not None:
            yield Sentence("  {bench}: {used:.0f} of {there:.0f} minutes, full on {day}", values)
        else:
            yield Sentence("  {bench}: {used:.0f} of {there:.0f} minutes", values)
        if load.unplaced:
            yield say(
                "    Jobs that fit on no day until {day}: {count}",
                day=found.until,
                count=load.unplaced,
            )


def _outcome(found: Outcome) -> dict[str, object]:
    return {
        "today": found.today,
        "until": found.until,
        "restretches": found.restretches,
        "restretches_sd": found.restretches_sd,
        "restretches_due": found.restretches_due,
        "waiting": found.waiting,
        "waiting_unknown": found.waiting_unknown,
        "meshes": [
            {
                "mesh": need.mesh_name,
                "expected_m": need.expected_mm / 1000,
                "expected_sd_m": need.expected_sd_mm / 1000,
                "waiting_m": need.waiting_mm / 1000,
                "wanted_m": need.wanted_mm / 1000,
                "needed_m": need.needed_mm / 1000,
                "on_hand_m": need.on_hand_mm / 1000,
                "short_m": need.short_mm / 1000,
            }
            for need in found.meshes
        ],
        "benches": [
            {
                "place": load.bench,
                "minutes_used": load.minutes_used,
                "minutes_there": load.minutes_there,
                "full_on": load.full_on,
                "late": load.late,
                "unplaced": load.unplaced,
            }
            for load in found.benches
        ],
    }
