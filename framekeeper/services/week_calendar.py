"""Turns the plan of the coming days into a calendar file for a phone."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from framekeeper.domain.sentence import say
from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
from framekeeper.domain.work_plan import PlannedJob
from framekeeper.services.desk import Desk
from framekeeper.services.settings import read_settings
from framekeeper.services.week import USUAL_DAYS, WeekPlan, Work, late_words, week_plan
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.calendar_file import CalendarEntry

_IDS = uuid.UUID("8f6f5c1e-6f0b-4a53-9b5e-3f2f0f7a9d51")  # made once, for these ids alone


def calendar_file(desk: Desk, wording: Wording, *, days: int = USUAL_DAYS) -> bytes:
    """Write the planned tasks as an iCalendar file.

    What may or may not come has no day of its own, so an expected restretch is not in it.
    """
    from framekeeper.formats.calendar_file import calendar_ics

    shop = read_settings(desk).shop_name
    name = say("{shop}: work plan", shop=shop) if shop else say("Work plan")
    entries = calendar_entries(desk, week_plan(desk, days=days), wording)
    return calendar_ics(entries, name=wording.sentence(name), written_at=desk.clock.now())


def calendar_entries(desk: Desk, week: WeekPlan, wording: Wording) -> tuple[CalendarEntry, ...]:
    """Gather what the file says.

    The id of an entry comes from the frame's code, the moment at which it was first recorded, and
    the kind of work: the same in every file, and another one in another shop.
    """
    certain = [planned for planned in week.plan.jobs if planned.job.chance == 1]
    works = {planned.job.key: week.work(planned.job) for planned in certain}
    with desk.read() as reader:
        journals = reader.journals(list({work.frame.id for work in works.values()}))
    entries = []
    for planned in certain:
        work = works[planned.job.key]
        first = journals[work.frame.id][0].recorded_at
        name = f"{first.isoformat()} {' '.join(planned.job.key)}"
        entries.append(_entry(planned, work, str(uuid.uuid5(_IDS, name)), wording))
    return tuple(entries)


def _entry(planned: PlannedJob, work: Work, uid: str, wording: Wording) -> CalendarEntry:
    from framekeeper.formats.calendar_file import CalendarEntry

    task, frame = work.task, work.frame
    summary = say("{frame}: {task}", frame=frame.name, task=TASK_WORDS[task.rule])
    told = [wording.sentence(t.reason) for t in work.tasks]
    if work.mesh_name:
        told.append(wording.sentence(say("Mesh {mesh}", mesh=work.mesh_name)))
    if frame.slot:
        told.append(wording.sentence(say("Slot {slot}", slot=frame.slot)))
    if planned.is_late:
        told.append(wording.sentence(late_words(planned)).capitalize())
    bench = wording.sentence(PLACE_WORDS[task.place])
    return CalendarEntry(uid, planned.day, wording.sentence(summary), "\n".join(told), bench)
