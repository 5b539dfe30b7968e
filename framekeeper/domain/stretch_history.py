"""Turns what happened to frames into tension histories, each from its day 0 to the next one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby

DAY_S = 86_400.0
KINDS = (
    "found_with_mesh",
    "stretched",
    "released",
    "retensioned",
    "received",
    "surveyed",
    "reclaimed",
    "stripped",
)
"""The kinds of event that begin, shape or end a tension history."""

# How often a screen is reclaimed is learned from all screens first, from its own use later.
OWN_PACE_AFTER_DAYS = 30.0
USUAL_CYCLES_PER_DAY = 0.1  # our proposal, no source: until the shop has reclaimed a screen


@dataclass(frozen=True, slots=True)
class LifeMark:
    """One event that counts, with only what a tension history needs of it."""

    frame_id: int
    event_id: int
    at: dt.datetime
    kind: str
    mesh_type_id: int | None = None
    since: dt.datetime | None = None  # when mesh that was found had been stretched
    reclaims: int = 0  # before mesh was found
    tension: float | None = None  # mean of a survey after release or in service, N/cm


@dataclass(frozen=True, slots=True)
class StretchReading:
    """The mean of one survey."""

    event_id: int
    at: dt.datetime
    day: float
    cycles: int
    tension: float


@dataclass(frozen=True, slots=True)
class StretchHistory:
    """The readings of one mesh since its tension was set.

    `key` is the event that set it: a release, a retension, a receipt, or the finding of the mesh.
    """

    key: int
    frame_id: int
    mesh_type_id: int
    day0_at: dt.datetime
    day0_is_known: bool
    readings: tuple[StretchReading, ...]
    cycles: int  # print and reclaim cycles since day 0, those after the last reading too
    last_at: dt.datetime  # of the last event that belongs to it


@dataclass(slots=True)
class _Open:
    key: int
    frame_id: int
    mesh_type_id: int
    day0_at: dt.datetime | None
    day0_is_known: bool
    cycles: int
    last_at: dt.datetime
    readings: list[StretchReading] = field(default_factory=list)

    def read(self, mark: LifeMark) -> None:
        if self.day0_at is None:
            self.day0_at = mark.at
        if mark.tension is None or mark.at < self.day0_at:
            return
        day = (mark.at - self.day0_at).total_seconds() / DAY_S
        self.readings.append(StretchReading(mark.event_id, mark.at, day, self.cycles, mark.tension))

    def closed(self) -> StretchHistory | None:
        if self.day0_at is None or not self.readings:
            return None
        return StretchHistory(
            self.key,
            self.frame_id,
            self.mesh_type_id,
            self.day0_at,
            self.day0_is_known,
            tuple(self.readings),
            self.cycles,
            self.last_at,
        )


def histories(marks: Iterable[LifeMark]) -> list[StretchHistory]:
    """Build the tension histories that hold a reading.

    Mesh of which nobody knows when it was stretched counts as fresh at its first reading: it then
    loses less than the forecast expects, and is checked too early rather than too late.

    Parameters
    ----------
    marks
        What counts, frame by frame, oldest first within each frame.
    """
    found: list[StretchHistory] = []
    for _, own in groupby(marks, key=lambda m: m.frame_id):
        found += (h for h in (o.closed() for o in _of_frame(own)) if h is not None)
    return found


def _of_frame(marks: Iterable[LifeMark]) -> Iterator[_Open]:
    mesh: int | None = None
    now: _Open | None = None
    for mark in marks:
        if mark.kind == "surveyed":
            if now is not None:
                now.read(mark)
        elif mark.kind == "reclaimed":
            if now is not None:
                now.cycles += 1
        elif mark.kind != "received" or mark.mesh_type_id is not None:
            if now is not None:
                yield now
            mesh = None if mark.kind == "stripped" else mark.mesh_type_id or mesh
            now = _begun(mark, mesh)
        if now is not None:
            now.last_at = mark.at
    if now is not None:
        yield now


def _begun(mark: LifeMark, mesh_type_id: int | None) -> _Open | None:
    """The history that this event begins: in the clamps and on a bare frame there is none."""
    if mesh_type_id is None or mark.kind in ("stretched", "stripped"):
        return None
    found = mark.kind == "found_with_mesh"
    is_known = not found or mark.since is not None
    day0_at = mark.since if found else mark.at
    cycles = mark.reclaims if found and is_known else 0
    return _Open(mark.event_id, mark.frame_id, mesh_type_id, day0_at, is_known, cycles, mark.at)


def usual_pace(all_histories: Iterable[StretchHistory]) -> float:
    """Print and reclaim cycles per day over all stretches."""
    cycles, days = USUAL_CYCLES_PER_DAY * OWN_PACE_AFTER_DAYS, OWN_PACE_AFTER_DAYS
    for history in all_histories:
        cycles += history.cycles
        days += (history.last_at - history.day0_at).total_seconds() / DAY_S
    return cycles / days


def own_pace(history: StretchHistory, usual: float) -> float:
    """Cycles per day of one screen: the shop's usual pace, and more and more its own."""
    days = (history.last_at - history.day0_at).total_seconds() / DAY_S
    return (history.cycles + usual * OWN_PACE_AFTER_DAYS) / (days + OWN_PACE_AFTER_DAYS)
