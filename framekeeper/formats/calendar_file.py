"""Writes work as an iCalendar file (RFC 5545), so that it can be read in the calendar of a phone.

Each task of each frame is an all-day event of its own, because its id must stay with the task when
it moves to another day: a calendar that reads the file again then moves the event instead of
showing it twice. One event per bench and day would be fewer, but what left a day would stay there.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from icalendar import Calendar, Event, vText

PRODUCT = "-//Framekeeper//Work plan//EN"
_ONE_DAY = dt.timedelta(days=1)
_COUNTING_FROM = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
_NOT_IN_TEXT = {code: " " for code in range(32) if code not in (9, 10)} | {127: " "}


@dataclass(frozen=True, slots=True)
class CalendarEntry:
    """One task on one day, in words."""

    uid: str  # the same task of the same frame has the same one in every file
    day: dt.date
    summary: str
    description: str
    bench: str


def calendar_ics(entries: Iterable[CalendarEntry], *, name: str, written_at: dt.datetime) -> bytes:
    """Write a calendar.

    Parameters
    ----------
    entries
        What is to be done; the file has them by day.
    name
        What the calendar is called; no part of RFC 5545, but the usual readers show it.
    written_at
        The moment, with its zone. A file that is written later replaces what an earlier one said.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", vText(_plain(name)))
    stamp = written_at.astimezone(dt.UTC).replace(microsecond=0)
    for entry in sorted(entries, key=lambda e: (e.day, e.bench, e.uid)):
        calendar.add_component(_event(entry, stamp))
    data: bytes = calendar.to_ical()
    return data


def _event(entry: CalendarEntry, stamp: dt.datetime) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", max(0, int((stamp - _COUNTING_FROM).total_seconds())))
    event.add("dtstart", entry.day)
    event.add("dtend", entry.day + _ONE_DAY)  # the first day that is no more part of it
    event.add("summary", _plain(entry.summary))
    event.add("description", _plain(entry.description))
    event.add("categories", [_plain(entry.bench)])
    event.add("transp", "TRANSPARENT")  # work to do, not time that is taken
    return event


def _plain(text: str) -> str:
    """Keep line breaks; RFC 5545 allows no other control characters in a text."""
    return "\n".join(text.splitlines()).translate(_NOT_IN_TEXT)
