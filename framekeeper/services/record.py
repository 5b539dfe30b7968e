"""Appends the same event to one frame or many: the shape of most things that happen."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from framekeeper.domain.events import Payload
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frames, subject_of


@dataclass(frozen=True, slots=True)
class When:
    """When something happened (None: now) and what to note about it."""

    happened_at: dt.datetime | None = None
    note: str = ""


NOW = When()


def record(
    desk: Desk,
    action: str,
    codes: Sequence[str],
    payloads: Callable[[FrameRecord], Sequence[Payload]],
    *,
    when: When = NOW,
    said: Sentence | None = None,
) -> Done:
    """Append events to each named frame, all of them or none.

    Raises
    ------
    NotPossible
        If one frame's history does not allow it.
    NotFound, NotValid
        If a frame is not known.
    """
    with desk.work(action) as work:
        frames = find_frames(work, codes)
        subject = subject_of(frames)
        work.name_subject(subject)
        for frame in frames:
            for payload in payloads(frame):
                work.record(frame.id, payload, happened_at=when.happened_at, note=when.note)
        changes = work.commit()
    told = said or say("{subject}: recorded.", subject=subject)
    return Done(
        Sentence(told.template, {"subject": subject, **told.values}),
        changes,
        tuple(frame.code for frame in frames),
    )
