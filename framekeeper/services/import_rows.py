"""Holds the rows of a register file against the shop: what can come in, and what cannot and why."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import (
    Direction,
    Event,
    FoundWithMesh,
    Imaged,
    Missing,
    Moment,
    Payload,
    Reading,
    Registered,
    Retired,
    SentOut,
    Surveyed,
    ToReclaim,
)
from framekeeper.domain.frame_state import FrameState
from framekeeper.domain.records import FrameFilter, FrameRecord, MeshTypeRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.check import MOST_POINTS
from framekeeper.services.import_meshes import MeshNames
from framekeeper.services.import_plan import (
    ImportPlan,
    PlannedEvent,
    PlannedFrame,
    PlannedReadings,
)
from framekeeper.services.register import NewFrame, check_frame

if TYPE_CHECKING:
    from framekeeper.formats.register_record import FrameRow, Problem, ReadingRow, RegisterFile
    from framekeeper.storage.reader import Reader

_NOON = dt.time(12)
_DIRECTIONS: tuple[Direction, ...] = ("warp", "weft", "not_told")
_LIFE_BEGINS = frozenset(
    {"registered", "found_with_mesh", "released", "retensioned", "received", "found"}
)
_STATE_EVENTS: dict[str, Payload] = {
    "in_use": Imaged(),
    "to_reclaim": ToReclaim(),
    "out": SentOut(to="not told"),
    "missing": Missing(),
    "retired": Retired(reason="retired in the register that was taken over"),
}
_NEEDS_MESH = frozenset({"ready", "in_use", "to_reclaim"})


@dataclass(frozen=True, slots=True)
class ShopView:
    """What of the shop an import is held against."""

    frames: dict[str, FrameRecord]  # by code and by label, both in lower case
    journals: dict[int, list[Event]]  # of the frames that the file has readings for
    mesh_types: tuple[MeshTypeRecord, ...]
    meters: tuple[str, ...]


def look_at_shop(reader: Reader, register: RegisterFile) -> ShopView:
    """Read all that is needed in a few questions, however long the file is."""
    frames: dict[str, FrameRecord] = {}
    for frame in reader.frames(FrameFilter(with_retired=True)):
        frames[frame.code.lower()] = frame
        if frame.own_label:
            frames.setdefault(frame.own_label.lower(), frame)
    keys = {_key(row) for row in register.readings}
    wanted = sorted({frames[key].id for key in keys if key in frames})
    return ShopView(
        frames,
        reader.journals(wanted),
        tuple(reader.mesh_types()),
        tuple(m.name for m in reader.meters()),
    )


def make_plan(
    name: str, register: RegisterFile, shop: ShopView, *, now: dt.datetime, zone: dt.tzinfo
) -> ImportPlan:
    """Decide for every row of a register what becomes of it."""
    planner = _Planner(shop, now, zone)
    frames, readings = planner.plan(register)
    problems = sorted([*register.problems, *planner.problems], key=lambda p: (p.sheet, p.row))
    meshes, notes = planner.meshes.new_types(frames)
    return ImportPlan(
        name=name,
        frames=frames,
        readings=readings,
        mesh_types=meshes,
        meters=tuple(planner.meters.values()),
        problems=tuple(problems),
        notes=(*register.notes, *notes),
    )


def _key(row: FrameRow | ReadingRow) -> str:
    return (row.code or row.own_label).lower()


class _Planner:
    """Goes through the rows once and keeps what stays out."""

    def __init__(self, shop: ShopView, now: dt.datetime, zone: dt.tzinfo) -> None:
        self._shop = shop
        self._now = now
        self._zone = zone
        self._known_meters = {name.lower() for name in shop.meters}
        self.meshes = MeshNames(shop.mesh_types)
        self.meters: dict[str, str] = {}
        self.problems: list[Problem] = []

    def plan(
        self, register: RegisterFile
    ) -> tuple[tuple[PlannedFrame, ...], tuple[PlannedReadings, ...]]:
        by_frame: dict[str, list[ReadingRow]] = defaultdict(list)
        for reading in register.readings:
            by_frame[_key(reading)].append(reading)
        frames: list[PlannedFrame] = []
        for row in register.frames:
            if (planned := self._frame(row, by_frame)) is not None:
                frames.append(planned)
        readings: list[PlannedReadings] = []
        for key, rows in by_frame.items():
            if (added := self._readings(key, rows)) is not None:
                readings.append(added)
        return tuple(frames), tuple(readings)

    # frames

    def _frame(self, row: FrameRow, by_frame: dict[str, list[ReadingRow]]) -> PlannedFrame | None:
        """Plan a frame that the shop does not have; its readings are taken from `by_frame`."""
        key = _key(row)
        if key in self._shop.frames:
            self._report(row, say("The shop has this frame already."))
            return None
        rows = by_frame.pop(key, [])
        try:
            frame = _new_frame(row)
        except NotValid as refused:
            self._report(row, refused.said)
            for reading in rows:
                self._report(
                    reading, say("Row {row} of this frame stays out, so this does.", row=row.row)
                )
            return None
        rows = self._after_the_stretch(row, rows)
        events = self._walk(frame, [*self._first_events(row, rows)], rows)
        if row.state in _STATE_EVENTS:
            events.append(PlannedEvent(_STATE_EVENTS[row.state], self._now))
        return PlannedFrame(row.row, frame, tuple(events), row.target_n_per_cm, row.limit_n_per_cm)

    def _after_the_stretch(self, row: FrameRow, rows: list[ReadingRow]) -> list[ReadingRow]:
        stretched = row.stretched_on
        if stretched is None:
            return rows
        for reading in rows:
            if reading.on < stretched:
                self._report(
                    reading,
                    say("This reading of {on} is older than the mesh, stretched on {stretched}.",
                        on=reading.on, stretched=stretched),
                )  # fmt: skip
        return [reading for reading in rows if reading.on >= stretched]

    def _first_events(self, row: FrameRow, rows: Sequence[ReadingRow]) -> list[PlannedEvent]:
        """Register the frame, not after its first reading."""
        days = [reading.on for reading in rows]
        first = row.stretched_on or min(days, default=None)
        at = self._now if first is None else self._noon(first)
        if row.mesh is None:
            return [PlannedEvent(Registered(), at, row.note)]
        since = None if row.stretched_on is None else self._noon(row.stretched_on)
        found = FoundWithMesh(0, row.reclaims, since)
        return [PlannedEvent(found, at, row.note, mesh=self.meshes.name_for(row.mesh))]

    # readings

    def _readings(self, key: str, rows: list[ReadingRow]) -> PlannedReadings | None:
        """Plan the readings of a frame that is in the shop."""
        frame = self._shop.frames.get(key)
        if frame is None:
            for row in rows:
                self._report(row, say("Neither the file nor the shop tells what this frame is."))
            return None
        standing = lifecycle.standing(self._shop.journals[frame.id])
        fresh = self._not_yet_known(rows, standing)
        new_frame = NewFrame(frame.width_mm, frame.height_mm, frame.kind, frame.name)
        events = self._walk(new_frame, standing, fresh)
        return PlannedReadings(frame.id, frame.code, tuple(events)) if events else None

    def _not_yet_known(self, rows: list[ReadingRow], standing: Iterable[Event]) -> list[ReadingRow]:
        known = {
            (self._day(e.happened_at), frozenset(e.payload.readings))
            for e in standing
            if isinstance(e.payload, Surveyed)
        }
        fresh = []
        for row in rows:
            if (row.on, frozenset(_listed(row))) in known:
                self._report(row, say("The shop has this reading already."))
            else:
                fresh.append(row)
        return fresh

    def _walk(
        self,
        frame: NewFrame,
        before: Sequence[Event] | Sequence[PlannedEvent],
        rows: Iterable[ReadingRow],
    ) -> list[PlannedEvent]:
        """Fold what is known and the readings together, once, and keep what the history admits.

        A survey changes nothing that a later event depends on, so one pass is enough.
        """
        known = [e if isinstance(e, Event) else self._event(e.payload, e.happened_at)
                 for e in before]  # fmt: skip
        planned = [e for e in before if isinstance(e, PlannedEvent)]
        begins: dict[dt.date, dt.datetime] = {
            self._day(e.happened_at): e.happened_at for e in known if e.kind in _LIFE_BEGINS
        }
        dated = [(max(self._noon(row.on), begins.get(row.on, self._noon(row.on))), row)
                 for row in rows]  # fmt: skip
        walk: list[tuple[dt.datetime, int, Event | ReadingRow]] = [
            *((e.happened_at, 0, e) for e in known),
            *((at, 1, row) for at, row in dated),
        ]
        state = FrameState(kind=frame.kind)
        for at, _, step in sorted(walk, key=lambda s: s[:2]):
            if isinstance(step, Event):
                state = lifecycle.apply(state, step)
                continue
            moment = self._moment(state.at(at), step.on)
            try:
                survey = Surveyed(moment, _listed(step))
                state = lifecycle.apply(
                    state, self._event(survey, at), called=frame.own_label or "The frame"
                )
            except (NotPossible, NotValid) as refused:
                self._report(step, refused.said)
                continue
            planned.append(PlannedEvent(survey, at, meter=self._meter(step.meter)))
        return planned

    def _event(self, payload: Payload, at: dt.datetime) -> Event:
        return Event(0, at, payload, self._now)

    def _moment(self, state: FrameState, on: dt.date) -> Moment:
        day0 = None if state.life is None else state.life.day0_at
        return "after_release" if day0 is not None and self._day(day0) == on else "in_service"

    def _meter(self, name: str) -> str:
        key = name.lower()
        if key and key not in self._known_meters:
            self.meters.setdefault(key, name)
        return self.meters.get(key, name)

    def _noon(self, day: dt.date) -> dt.datetime:
        """Noon in the shop, where only a date is known; today, not later than now."""
        noon = dt.datetime.combine(day, _NOON, self._zone).astimezone(dt.UTC)
        return min(noon, self._now)

    def _day(self, at: dt.datetime) -> dt.date:
        return at.astimezone(self._zone).date()

    def _report(self, row: FrameRow | ReadingRow, reason: Sentence | str) -> None:
        from framekeeper.formats.register_record import Problem

        said = reason if isinstance(reason, Sentence) else say("{reason}", reason=reason)
        self.problems.append(Problem(row.sheet, row.row, "", row.own_label or row.code, said))


def _new_frame(row: FrameRow) -> NewFrame:
    """Turn a row into a frame that can be registered.

    Raises
    ------
    NotValid
        If the row does not tell enough, or contradicts itself.
    """
    if row.code:
        raise NotValid(
            say("No frame of this shop has the code {code}; a new frame gets a new one.",
                code=row.code)
        )  # fmt: skip
    if row.width_mm is None or row.height_mm is None:
        raise NotValid(say("The size of this frame is not told."))
    if row.state == "bare" and row.mesh is not None:
        raise NotValid(say("The row says that the frame is bare, and names a mesh."))
    if row.state in _NEEDS_MESH and row.mesh is None:
        raise NotValid(say("The row says that the screen is in service, but names no mesh."))
    frame = NewFrame(
        row.width_mm, row.height_mm, row.frame_kind, own_label=row.own_label, slot=row.slot
    )
    check_frame(frame)
    return frame


def _listed(row: ReadingRow) -> tuple[Reading, ...]:
    """List the readings point by point: warp, weft, then what tells no direction."""
    columns = (row.warp, row.weft, row.not_told)
    points = max((len(values) for values in columns), default=0)
    if points > 2 * MOST_POINTS:
        raise NotValid(say("A survey has at most {most} points.", most=MOST_POINTS))
    return tuple(
        Reading(point + 1, direction, cast(float, values[point]))
        for point in range(points)
        for direction, values in zip(_DIRECTIONS, columns, strict=True)
        if point < len(values) and values[point] is not None
    )
