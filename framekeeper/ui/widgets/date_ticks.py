"""Where dates stand below a plot: few enough that none runs into the next, in this language."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from framekeeper.ui.text import Formatter

Tick = tuple[float, str]

FEWEST_DAYS = 4  # below this the hours matter, and the plot's own ticks tell them
_DAY_STEPS = (1, 2, 7, 14)
_MONTH_STEPS = (1, 2, 3, 6, 12)
_MONTH_DAYS = 30.4


def date_ticks(
    first: dt.datetime, last: dt.datetime, most: int, formatter: Formatter
) -> list[Tick] | None:
    """Give the ticks of an axis of time, at most `most`; None where hours matter.

    Short spans are told in days and months, longer ones in months and years.
    """
    days = (last - first) / dt.timedelta(days=1)
    if days < FEWEST_DAYS:
        return None
    begin, end = formatter.day_of(first), formatter.day_of(last)
    for step in _DAY_STEPS:
        if days / step < most:
            return [
                _tick(d, formatter.day_and_month(d), formatter) for d in _days(begin, end, step)
            ]
    step = next(
        (s for s in _MONTH_STEPS if days / (s * _MONTH_DAYS) < most),
        12 * (1 + int(days / (12 * _MONTH_DAYS * most))),
    )
    return [_tick(d, formatter.month_or_year(d), formatter) for d in _months(begin, end, step)]


def _tick(day: dt.date, words: str, formatter: Formatter) -> Tick:
    return formatter.start_of(day).timestamp(), words


def _days(begin: dt.date, end: dt.date, step: int) -> Iterator[dt.date]:
    """Days from the first that begins within the span; weeks begin on Mondays."""
    day = begin + dt.timedelta(days=1)
    if step >= 7:
        day += dt.timedelta(days=-day.weekday() % 7)
    while day <= end:
        yield day
        day += dt.timedelta(days=step)


def _months(begin: dt.date, end: dt.date, step: int) -> Iterator[dt.date]:
    """First days of months; counted from a January, so that years are among them."""
    number = begin.year * 12 + begin.month  # of the month after the first
    number += -number % step
    while (day := dt.date(number // 12, number % 12 + 1, 1)) <= end:
        yield day
        number += step
