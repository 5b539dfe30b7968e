"""The washout: the queue, reclaims by scanning, inspections against the light."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from framekeeper.domain.due import Task
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import Event, Imaged, Inspected, Printed, Reclaimed, ToReclaim
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.frame_page import FramePage, frame_page
from framekeeper.services.history import correct, withdraw
from framekeeper.services.plan import list_frames
from framekeeper.services.record import NOW, When, record

SAME_RECLAIM = dt.timedelta(hours=1)  # our proposal: nobody reclaims one screen twice an hour


@dataclass(frozen=True)
class Washed(Done):
    """One reclaim of a scan, with what has to be known to correct it and what it makes due."""

    frame: FrameRecord | None = None
    event_id: int = 0
    haze_remover: bool = False
    findings: str = ""
    inspection: Task | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """A screen that waits for the washout, and for how many whole days."""

    frame: FrameRecord
    mesh_name: str
    days: int | None
    inspection: Task | None


def image(desk: Desk, codes: Sequence[str], *, job: str = "", when: When = NOW) -> Done:
    """Record that a stencil is on the mesh: the screen is in use."""
    return record(desk, "image", codes, lambda frame: (Imaged(job.strip()),), when=when)


def printed(
    desk: Desk, codes: Sequence[str], *, impressions: int, job: str = "", when: When = NOW
) -> Done:
    """Record a run on the press."""
    if not 0 <= impressions <= 10_000_000:
        raise NotValid(
            say("{count} impressions cannot be.", count=impressions), argument="impressions"
        )
    event = Printed(impressions, job.strip())
    return record(desk, "print", codes, lambda frame: (event,), when=when)


def queue(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Put screens whose job is done into the washout's queue."""
    return record(desk, "queue", codes, lambda frame: (ToReclaim(),), when=when)


def reclaim(
    desk: Desk,
    codes: Sequence[str],
    *,
    haze_remover: bool = False,
    findings: str = "",
    when: When = NOW,
) -> Done:
    """Record that screens were reclaimed."""
    event = Reclaimed(haze_remover, findings.strip())
    return record(desk, "reclaim", codes, lambda frame: (event,), when=when)


def inspect(desk: Desk, codes: Sequence[str], *, findings: str = "", when: When = NOW) -> Done:
    """Record that the mesh was looked at against the light."""
    event = Inspected(findings.strip())
    return record(desk, "inspect mesh", codes, lambda frame: (event,), when=when)


def waiting(desk: Desk) -> list[FrameRecord]:
    """List the screens that wait for the washout, oldest first."""
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=("to_reclaim",)))
    return sorted(frames, key=lambda f: (f.state.since is None, f.state.since, f.number))


def washout_queue(desk: Desk) -> list[Waiting]:
    """List the screens that wait for the washout with their days of waiting, oldest first."""
    now = desk.clock.now()
    listed = [i for i in list_frames(desk) if i.frame.state.state == "to_reclaim"]
    listed.sort(key=lambda i: (i.frame.state.since or now, i.frame.number))
    return [
        Waiting(
            item.frame,
            item.mesh_name,
            (now - item.frame.state.since).days if item.frame.state.since else None,
            _inspection(item.tasks),
        )
        for item in listed
    ]


def wash(desk: Desk, code: str, *, haze_remover: bool = False, findings: str = "") -> Washed:
    """Record the reclaim of one scanned screen, and say whether an inspection is due now.

    Raises
    ------
    NotPossible
        If it was reclaimed within the hour and not used since: a scanner that reads twice is not
        a second reclaim.
    """
    page = frame_page(desk, code)
    before = _fresh_reclaim(page)
    if before is not None and page.read_at - before.happened_at < SAME_RECLAIM:
        raise NotPossible(
            say("{frame} was reclaimed {at}.", frame=page.frame.name, at=before.happened_at),
            kept=say("It was not counted a second time."),
            hint=say("Scan the next screen."),
        )
    done = reclaim(desk, [code], haze_remover=haze_remover, findings=findings)
    return _washed(desk, done, haze_remover, findings)


def wash_otherwise(desk: Desk, washed: Washed, *, haze_remover: bool, findings: str) -> Washed:
    """Correct the reclaim that was just recorded: its haze remover or its findings."""
    event = Reclaimed(haze_remover, findings.strip())
    done = correct(desk, washed.codes[0], washed.event_id, event)
    return _washed(desk, done, haze_remover, findings)


def unwash(desk: Desk, washed: Washed) -> Done:
    """Take back the reclaim that was just recorded."""
    return withdraw(desk, washed.codes[0], washed.event_id)


def _washed(desk: Desk, done: Done, haze_remover: bool, findings: str) -> Washed:
    page = frame_page(desk, done.codes[0])
    event = max((e for e in page.standing if e.kind == "reclaimed"), key=lambda e: e.event_id)
    return Washed(
        done.said,
        done.changes,
        done.codes,
        page.frame,
        event.event_id,
        haze_remover,
        findings.strip(),
        _inspection(page.tasks),
    )


def _fresh_reclaim(page: FramePage) -> Event | None:
    """The newest reclaim, unless the screen was used or queued after it."""
    for event in reversed(page.standing):
        if event.kind == "reclaimed":
            return event
        if event.kind in ("imaged", "printed", "to_reclaim"):
            return None
    return None


def _inspection(tasks: Sequence[Task]) -> Task | None:
    return next((task for task in tasks if task.rule == "inspect_mesh"), None)
