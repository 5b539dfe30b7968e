"""Knows on which days the shop works, so that work is never planned for a closed door."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

MONDAY_TO_FRIDAY = frozenset(range(5))
_ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """The working weekdays (0 is Monday) and the days on which the shop is closed all the same.

    Raises
    ------
    NotValid
        Without any working weekday, or with one that no week has.
    """

    weekdays: frozenset[int] = MONDAY_TO_FRIDAY
    holidays: frozenset[dt.date] = frozenset()

    def __post_init__(self) -> None:
        if not self.weekdays:
            raise NotValid(
                say("A shop that never opens cannot plan."),
                hint=say("Choose at least one working weekday."),
                argument="weekdays",
            )
        if not self.weekdays <= frozenset(range(7)):
            raise NotValid(say("A week has seven days, 0 to 6."), argument="weekdays")

    def is_open(self, day: dt.date) -> bool:
        """Say whether the shop works on a day."""
        return day.weekday() in self.weekdays and day not in self.holidays

    def next_open(self, day: dt.date) -> dt.date:
        """Give the first open day on or after a day."""
        return self._walk(day, _ONE_DAY)

    def last_open(self, day: dt.date) -> dt.date:
        """Give the last open day on or before a day."""
        return self._walk(day, -_ONE_DAY)

    def add(self, day: dt.date, count: int) -> dt.date:
        """Give the open day that lies so many open days after a day; negative counts go back.

        The day itself is not counted. A count of 0 gives the day, or the first open day after it.

        Examples
        --------
        >>> WorkCalendar().add(dt.date(2008, 10, 1), 151)
        datetime.date(2009, 4, 30)
        """
        if count == 0:
            return self.next_open(day)
        step = _ONE_DAY if count > 0 else -_ONE_DAY
        for _ in range(abs(count)):
            day = self._walk(_stepped(day, step), step)
        return day

    def count(self, first: dt.date, last: dt.date) -> int:
        """Count the open days from one day to another, both included; 0 where none lies between.

        Examples
        --------
        >>> WorkCalendar().count(dt.date(2011, 1, 1), dt.date(2011, 1, 31))
        21
        """
        length = (last - first).days + 1
        if length <= 0:
            return 0
        weeks, rest = divmod(length, 7)
        weekdays = weeks * len(self.weekdays) + sum(
            (first.weekday() + n) % 7 in self.weekdays for n in range(rest)
        )
        closed = sum(first <= d <= last and d.weekday() in self.weekdays for d in self.holidays)
        return weekdays - closed

    def open_days(self, first: dt.date, last: dt.date) -> tuple[dt.date, ...]:
        """List the open days from one day to another, both included."""
        days = (first + n * _ONE_DAY for n in range((last - first).days + 1))
        return tuple(day for day in days if self.is_open(day))

    def _walk(self, day: dt.date, step: dt.timedelta) -> dt.date:
        while not self.is_open(day):
            day = _stepped(day, step)
        return day


def _stepped(day: dt.date, step: dt.timedelta) -> dt.date:
    try:
        return day + step
    except OverflowError as beyond:
        raise NotValid(say("No open day lies that far away."), argument="day") from beyond
