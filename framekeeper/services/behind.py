"""What a number of the findings rests on: frames, and one step further down their events."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from framekeeper.domain.sentence import Sentence


@dataclass(frozen=True, slots=True)
class BehindEvent:
    """One event of a frame's journal that a number rests on."""

    event_id: int
    at: dt.datetime
    said: Sentence


@dataclass(frozen=True, slots=True)
class BehindRow:
    """One piece of mesh on one frame that a number rests on, and what it adds to it.

    `event_id` is the event that matters most: the frame's page is opened at it.
    """

    key: int
    code: str
    frame_name: str
    mesh_name: str
    since: dt.datetime | None
    until: dt.datetime
    said: Sentence
    event_id: int
    events: tuple[BehindEvent, ...]
    sort: float | None = None  # what the words say, as a number
    more: Sentence | None = None  # what else is known of it


@dataclass(frozen=True, slots=True)
class Behind:
    """A number in words, and all that it rests on."""

    said: Sentence
    rows: tuple[BehindRow, ...]
