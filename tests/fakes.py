"""Stand-ins that keep time, answer questions and run work at once, so that tests stay exact."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

from framekeeper.ui.tasks import Tasks, _Order


@dataclass
class FakeClock:
    """A clock that stands still until it is moved."""

    moment: dt.datetime = dt.datetime(2025, 3, 3, 7, 10, tzinfo=dt.UTC)
    where: dt.tzinfo = dt.UTC

    def now(self) -> dt.datetime:
        return self.moment

    def zone(self) -> dt.tzinfo:
        return self.where

    def go_on(self, **amount: float) -> dt.datetime:
        """Move by a `timedelta`, given in its own words: days=1, minutes=15."""
        self.moment += dt.timedelta(**amount)
        return self.moment


@dataclass
class FakePrompter:
    """Answers questions from a list, and keeps what was asked and told.

    An unexpected question fails the test instead of getting a made-up answer.
    """

    answers: list[object] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def ask(self, question: str, then: Callable[[object], None]) -> None:
        self.asked.append(question)
        if not self.answers:
            raise AssertionError(f"nobody expected the question: {question}")
        then(self.answers.pop(0))

    def tell(self, sentence: str) -> None:
        self.told.append(sentence)


class InlineTasks(Tasks):
    """Runs work at once on the caller's thread; everything else is the real thing."""

    def _start(self, pool: str, order: _Order) -> None:
        self._deliver(self._answer(order))
