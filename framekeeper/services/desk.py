"""Where a person works: an open shop, a clock, and who they are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from framekeeper.domain.changes import Changes
from framekeeper.domain.details import valid_text
from framekeeper.domain.sentence import Sentence

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.shop import Shop
    from framekeeper.storage.unit_of_work import Work


class Clock(Protocol):
    """Tells the time, so that tests can stop it."""

    def now(self) -> dt.datetime:
        """Return the moment in UTC."""

    def zone(self) -> dt.tzinfo:
        """Return the shop's own zone."""


class SystemClock:
    """The computer's clock and zone."""

    def now(self) -> dt.datetime:
        """Return the moment in UTC."""
        return dt.datetime.now(dt.UTC)

    def zone(self) -> dt.tzinfo:
        """Return the zone that the computer is set to, with its summer time."""
        return _LocalZone()


class _LocalZone(dt.tzinfo):
    """Asks the computer for each moment: `astimezone()` alone keeps the offset of today."""

    def utcoffset(self, when: dt.datetime | None) -> dt.timedelta | None:
        return None if when is None else _local(when).utcoffset()

    def dst(self, when: dt.datetime | None) -> dt.timedelta | None:
        return None  # the computer does not tell the parts of its offset

    def tzname(self, when: dt.datetime | None) -> str | None:
        return None if when is None else _local(when).tzname()

    def fromutc(self, when: dt.datetime) -> dt.datetime:
        there = when.replace(tzinfo=dt.UTC).astimezone()
        wall = there.replace(tzinfo=self)
        is_second = wall.utcoffset() != there.utcoffset()  # of the hour that autumn shows twice
        return wall.replace(fold=int(is_second))


def _local(wall: dt.datetime) -> dt.datetime:
    return wall.replace(tzinfo=None).astimezone()


@dataclass(frozen=True)
class Desk:
    """An open shop, a clock, and the name of the person who works at it."""

    shop: Shop
    clock: Clock = field(default_factory=SystemClock)
    by: str = ""

    def read(self) -> AbstractContextManager[Reader]:
        """Ask questions within one transaction."""
        return self.shop.read()

    @contextmanager
    def work(self, action: str) -> Iterator[Work]:
        """Open a change; the action is the trade's word that its undo will carry."""
        valid_text(self.by, argument="by", most=200)
        with self.shop.work(action, by=self.by, now=self.clock.now()) as work:
            yield work

    def today(self) -> dt.date:
        """Return the date in the shop's own zone."""
        return self.clock.now().astimezone(self.clock.zone()).date()


@dataclass(frozen=True)
class Done:
    """A finished change: what to tell, what to refresh, and the frames it was about."""

    said: Sentence
    changes: Changes
    codes: tuple[str, ...] = ()
