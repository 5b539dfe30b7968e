"""Says how long a screen will hold, in days and in one of the three answers, alike everywhere."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.outlook import AHEAD_DAYS, EVEN_CHANCE, Outlook
from framekeeper.domain.sentence import Sentence, say

DaysAnswer = Literal["holds", "soon", "below"]

SOON_DAYS = 14
"""From here on a screen is soon below: two weeks to cut cloth and find a morning at the stretching
table. Our proposal, no source. The number that is shown decides, so that mark and number never
contradict each other; when a screen is to be read is a question of its own, and its mark is too."""

_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class DaysLeft:
    """How long until a screen is as likely as not to be below its limit.

    `days` is None where that lies past what the forecast reaches; `at_least` is then how far it
    reaches from now.
    """

    days: float | None
    at_least: float
    likely_at: dt.datetime | None
    chance_now: float
    answer: DaysAnswer

    @property
    def words(self) -> Sentence:
        """Write it as short as a cell needs."""
        if self.days is None:
            return say("> {days:.0f} d", days=float(int(self.at_least)))
        return say("{days:.0f} d", days=float(int(self.days)))

    @property
    def rank(self) -> tuple[bool, float]:
        """Give the order: fewest first; what holds for as long as the forecast reaches, last."""
        return (self.days is None, self.at_least if self.days is None else self.days)


def days_left(outlook: Outlook | None, now: dt.datetime) -> DaysLeft | None:
    """Say how long a screen will hold; None where nothing foretells it any more.

    A screen that is to be pulled is at least soon below: it has run a small chance for long enough.
    """
    if outlook is None:
        return None
    days = outlook.days_left(now)
    at_least = (outlook.read_at - now) / _DAY + AHEAD_DAYS[-1]
    if days is None and at_least < 1:
        return None
    answer: DaysAnswer = "holds"
    if days == 0:
        answer = "below"
    elif (days is not None and days <= SOON_DAYS) or outlook.decision == "pull":
        answer = "soon"
    return DaysLeft(days, at_least, outlook.reached_at(EVEN_CHANCE), outlook.chance_at(now), answer)
