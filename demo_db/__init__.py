"""Builds the demo shop: an invented scenario, seeded, reproducible."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from .benches import prep_bench, stretching_table
from .daily import end_bad_luck, first_readings, press, set_aside, tension_round, washout
from .ending import last_working_day, overlook, restretch_batch, send_last_trip
from .incidents import incidents
from .meter_log import keep_meter_log
from .morning import morning
from .opening import open_shop, receive_glue, register_due_groups
from .room import Room
from .scenario import JOBS, SECOND_LOT_FROM_DAY

if TYPE_CHECKING:
    from framekeeper.storage.shop import Shop

SEED = 4711
MONTHS = 14
STRETCHING_WEEKDAYS = (1, 3)  # Tuesday and Thursday
SATURDAY = 5
NO_INSPECTIONS_FOR = 25  # the last working days
TRIPS_BEFORE = (13, 4)  # working days before the last one
RESTRETCH_BEFORE = 3
OVERLOOK_BEFORE = 28


def build(
    shop: Shop,
    *,
    now: dt.datetime,
    seed: int = SEED,
    progress: Callable[[float], object] | None = None,
) -> None:
    """Fill an empty shop with 14 months of history that ends now.

    Parameters
    ----------
    shop
        An empty shop.
    now
        The moment at which the history ends, in the zone by whose clock the shop works. The same
        moment and seed give the same journals.
    seed
        Chooses one of many possible histories.
    progress
        Called after each day with the share of the history that is made.
    """
    with shop.chronicle(now=now) as work:
        room = Room(work, np.random.default_rng(seed), now)
        days = working_days(room.today)
        room.clock = room.time(days[0], 7, 0)
        open_shop(room, days[0])
        for place, day in enumerate(days):
            _ordinary_day(room, days, place)
            _late_days(room, day, len(days) - 1 - place)
            if progress is not None:
                progress((place + 1) / len(days))
        last_working_day(room, days[-1])
        morning(room)
        work.commit()
    keep_meter_log(shop, np.random.default_rng(seed + 1), now)


def working_days(today: dt.date) -> list[dt.date]:
    """List the working days of the 14 months before today."""
    months = today.year * 12 + today.month - 1 - MONTHS
    start = dt.date(months // 12, months % 12 + 1, min(today.day, 28))
    span = (today - start).days
    every = (start + dt.timedelta(days=n) for n in range(span))
    return [day for day in every if day.weekday() < SATURDAY]


def _ordinary_day(room: Room, days: list[dt.date], place: int) -> None:
    start, day, left = days[0], days[place], len(days) - 1 - place
    before = days[place - 1] if place else start - dt.timedelta(days=1)
    register_due_groups(room, start, before, day)
    if place == 0:
        return
    if (before - start).days < SECOND_LOT_FROM_DAY <= (day - start).days:
        receive_glue(room, room.time(day, 7, 20), 1)
    prep_bench(room, day)
    first_readings(room, day)
    if left == 0 or (day.weekday() in STRETCHING_WEEKDAYS and left > RESTRETCH_BEFORE):
        stretching_table(room, day, start)
    if day.weekday() == 0 and left > SATURDAY:
        set_aside(room, day, room.one_of(JOBS))
    press(room, day)
    washout(room, day, inspects=left > NO_INSPECTIONS_FOR)
    tension_round(room, day, walks=left > 0)
    end_bad_luck(room, day)
    room.clock = max(room.clock, room.time(day, 16, 0))
    incidents(room, (before - start).days, (day - start).days)


def _late_days(room: Room, day: dt.date, left: int) -> None:
    """Prepare, on the last working days, what the demo is to show now."""
    days_left = (room.today - day).days
    if left in TRIPS_BEFORE:
        send_last_trip(room, days_left, is_second=left == TRIPS_BEFORE[-1])
    if left == OVERLOOK_BEFORE:
        overlook(room)
    if left == RESTRETCH_BEFORE:
        restretch_batch(room)
