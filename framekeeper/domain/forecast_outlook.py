"""Asks the fitted fleet what lists and plans need of many screens at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import groupby
from typing import cast

import numpy as np

from framekeeper.domain.forecast import FleetModel, Observations
from framekeeper.domain.forecast_readings import SITTING_DAYS
from framekeeper.domain.outlook import AHEAD_DAYS, Decision, Outlook, Watch
from framekeeper.domain.stretch_history import (
    DAY_S,
    StretchHistory,
    StretchReading,
    own_pace,
)


def observations(all_histories: Iterable[StretchHistory]) -> Observations:
    """Readings of these histories, each under its key, in groups of one mesh type."""
    rows = [
        (h.key, r.day, r.cycles, r.tension, h.mesh_type_id)
        for h in all_histories
        for r in h.readings
    ]
    return Observations(*(np.array(column) for column in zip(*rows, strict=True)))


def outlooks(
    model: FleetModel,
    watched: Sequence[tuple[StretchHistory, Watch]],
    *,
    usual_pace: float,
) -> list[Outlook]:
    """Look ahead for each history, in the order given.

    Parameters
    ----------
    model
        The fitted fleet; the readings of the histories need not be in it yet.
    watched
        Each history with its thresholds.
    usual_pace
        Cycles per day of the shop's screens.
    """
    if not watched:
        return []
    model = model.with_readings(observations(h for h, _ in watched))
    order = sorted(range(len(watched)), key=lambda i: _terms(watched[i][1]))
    found: dict[int, Outlook] = {}
    for terms, group in groupby(order, key=lambda i: _terms(watched[i][1])):
        places = list(group)
        some = _alike(model, [watched[i] for i in places], *terms, usual_pace)
        found.update(zip(places, some, strict=True))
    return [found[i] for i in range(len(watched))]


def _terms(watch: Watch) -> tuple[float, int]:
    return watch.risk, watch.longest_wait_days


def _alike(
    model: FleetModel,
    watched: Sequence[tuple[StretchHistory, Watch]],
    risk: float,
    longest_wait_days: int,
    usual_pace: float,
) -> list[Outlook]:
    """Look ahead for histories that run the same risk."""
    keys = np.array([h.key for h, _ in watched])
    limit = np.array([w.limit for _, w in watched])
    pace = np.array([own_pace(h, usual_pace) for h, _ in watched])
    last = np.array([h.readings[-1].day for h, _ in watched])
    cycles = np.array([h.readings[-1].cycles for h, _ in watched], dtype=np.float64)
    mean, sd = model.predict(keys, last, cycles)
    check = model.next_check(
        keys,
        today=last,
        limit=limit,
        cycles_per_day=pace,
        risk=risk,
        max_days=longest_wait_days,
    )
    then, _ = model.predict(keys, check, cycles + (check - last) * pace)
    chances = model.chances(keys, ahead=AHEAD_DAYS, limit=limit, cycles_per_day=pace)
    decisions = model.decide(keys, today=last, limit=limit).tolist()
    fell = model.fell(keys)
    answers = []
    for i, (history, watch) in enumerate(watched):
        answers.append(
            Outlook(
                read_at=history.readings[-1].at,
                tension=float(mean[i]),
                sd=float(sd[i]),
                decision=cast(Decision, decisions[i]),
                fell_by=_fell_by(model, history) if fell[i] else None,
                check_at=history.day0_at + dt.timedelta(days=float(check[i])),
                tension_then=float(then[i]),
                limit=watch.limit,
                chances=tuple(float(c) for c in chances[i]),
                start_is_known=history.day0_is_known,
                cycles_per_day=float(pace[i]),
            )
        )
    return answers


def sudden_fall(
    model: FleetModel, history: StretchHistory, tension: float, at: dt.datetime
) -> float | None:
    """How far one more reading would lie below the forecast, N/cm; None where that is decay."""
    day = (at - history.day0_at).total_seconds() / DAY_S
    if day < history.readings[-1].day:
        return None
    reading = StretchReading(0, at, day, history.cycles, tension)
    longer = replace(history, readings=(*history.readings, reading))
    if not model.with_readings(observations([longer])).fell(history.key):
        return None
    return _fell_by(model, longer)


def _fell_by(model: FleetModel, history: StretchHistory) -> float:
    """How far the latest reading lies below what the earlier sittings had let expect, N/cm."""
    latest = history.readings[-1]
    earlier = tuple(r for r in history.readings if r.day < latest.day - SITTING_DAYS)
    known = model.with_readings(observations([replace(history, readings=earlier)]))
    expected, _ = known.predict(history.key, latest.day, latest.cycles)
    return float(expected) - latest.tension
