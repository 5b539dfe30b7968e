"""Forecasts written down by hand, so that what is shown of them is known beforehand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from framekeeper.domain.outlook import AHEAD_DAYS, Outlook
from framekeeper.domain.sentence import say
from framekeeper.services.days_left import days_left
from framekeeper.services.foresight import Band, FrameForecast

READ_AT = dt.datetime(2025, 6, 1, 9, tzinfo=dt.UTC)


def after(days: float) -> dt.datetime:
    """So many days after the latest reading."""
    return READ_AT + dt.timedelta(days=days)


def made_outlook(even_day: float | None = 28.0, **changes: Any) -> Outlook:
    """An outlook whose chance grows straight from 0 to an even one on a day, and on from there.

    The day must be one of those for which chances are kept; None holds for the whole year.
    """
    if even_day == 0:
        chances = (0.97,) * len(AHEAD_DAYS)
    elif even_day is None:
        chances = tuple(0.0001 * day for day in AHEAD_DAYS)
    else:
        chances = tuple(min(0.5 * day / even_day, 1.0) for day in AHEAD_DAYS)
    made = Outlook(
        read_at=READ_AT,
        tension=21.0,
        sd=0.2,
        decision="keep",
        fell_by=None,
        check_at=after(20),
        tension_then=20.1,
        limit=18.0,
        chances=chances,
        start_is_known=True,
        cycles_per_day=0.1,
    )
    return replace(made, **changes)


def made_forecast(even_day: float | None = 28.0, *, now: dt.datetime = READ_AT) -> FrameForecast:
    """A screen that falls from 21 N/cm by 3 N/cm until the even day, its band twice 1 N/cm wide."""
    outlook = made_outlook(even_day)
    fall = 3.0 / (even_day or 365.0)
    days = [float(day) for day in range(0, 61, 4)]
    mean = tuple(21.0 - fall * day for day in days)
    return FrameForecast(
        band=Band(
            tuple(after(day) for day in days),
            mean,
            tuple(value - 1.0 for value in mean),
            tuple(value + 1.0 for value in mean),
        ),
        limit=18.0,
        outlook=outlook,
        early_at=outlook.reached_at(0.1),
        even_at=outlook.reached_at(0.5),
        late_at=outlook.reached_at(0.9),
        said=say("Likely below."),
        rests_on=say("Rests on three stretches."),
        left=days_left(outlook, now),
    )
