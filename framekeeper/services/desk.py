"""Where a person works: an open shop, a clock, and who they are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from framekeeper.domain.changes import Changes
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
        zone = dt.datetime.now(dt.UTC).astimezone().tzinfo
        assert zone is not None
        return zone


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
