"""The washout: the queue, reclaims by scanning, inspections against the light."""

from __future__ import annotations

from collections.abc import Sequence

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import Imaged, Inspected, Printed, Reclaimed, ToReclaim
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.record import NOW, When, record


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
