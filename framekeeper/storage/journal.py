"""Writes events with their details, and reads the journal of a frame back as domain events."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields
from typing import Any, cast

from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from framekeeper.domain.events import PAYLOADS, Direction, Event, Payload, Reading, Surveyed
from framekeeper.storage.journal_tables import (
    DETAILS,
    EVENT_SCHEMA,
    EventRow,
    ReadingRow,
    SurveyedDetail,
)

# Columns, not entities: 12 000 events take 0.31 s of the processor instead of 0.40 s.
_EVENT = tuple(
    getattr(EventRow, name)
    for name in (
        "id",
        "operation_id",
        "frame_id",
        "kind",
        "happened_at",
        "recorded_at",
        "by",
        "note",
    )
)
_CHUNK = 500  # parameters of one IN list; SQLite's old limit is 999


def _detail_fields(kind: str) -> list[str]:
    return [f.name for f in fields(PAYLOADS[kind]) if f.name != "readings"]


def append(session: Session, events: Sequence[Event]) -> list[Event]:
    """Store new events in the order given and return them with their ids."""
    ids = session.scalars(
        insert(EventRow).returning(EventRow.id, sort_by_parameter_order=True),
        [
            {
                "operation_id": e.operation_id,
                "frame_id": e.frame_id,
                "kind": e.kind,
                "schema": EVENT_SCHEMA,
                "happened_at": e.happened_at,
                "recorded_at": e.recorded_at,
                "by": e.by,
                "note": e.note,
            }
            for e in events
        ],
    ).all()
    stored = [
        Event(
            e.frame_id,
            e.happened_at,
            e.payload,
            e.recorded_at,
            event_id,
            e.operation_id,
            e.by,
            e.note,
        )
        for e, event_id in zip(events, ids, strict=True)
    ]
    _append_details(session, stored)
    return stored


def _append_details(session: Session, events: Iterable[Event]) -> None:
    details: dict[str, list[dict[str, Any]]] = defaultdict(list)
    readings: list[dict[str, Any]] = []
    for event in events:
        if event.kind not in DETAILS:
            continue
        row = {name: getattr(event.payload, name) for name in _detail_fields(event.kind)}
        details[event.kind].append({"event_id": event.event_id, **row})
        if isinstance(event.payload, Surveyed):
            readings += [
                {
                    "event_id": event.event_id,
                    "place": place,
                    "point": r.point,
                    "direction": r.direction,
                    "raw_n_per_cm": r.raw_n_per_cm,
                }
                for place, r in enumerate(event.payload.readings, start=1)
            ]
    for kind, rows in details.items():
        session.execute(insert(DETAILS[kind]), rows)
    if readings:
        session.execute(insert(ReadingRow), readings)


def of_frames(
    session: Session, frame_ids: Sequence[int], kinds: Collection[str] | None = None
) -> dict[int, list[Event]]:
    """Read the journal of each frame, in the order of recording: all of it, or only some kinds."""
    by_frame: dict[int, list[Event]] = {frame_id: [] for frame_id in frame_ids}
    for start in range(0, len(frame_ids), _CHUNK):
        some = frame_ids[start : start + _CHUNK]
        query = select(*_EVENT).where(EventRow.frame_id.in_(some)).order_by(EventRow.id)
        if kinds is not None:
            query = query.where(EventRow.kind.in_(kinds))
        for event in from_rows(session, session.execute(query).all()):
            by_frame[event.frame_id].append(event)
    return by_frame


def of_operation(session: Session, operation_id: int) -> list[Event]:
    """Read the events of one operation, in the order of recording."""
    query = select(*_EVENT).where(EventRow.operation_id == operation_id).order_by(EventRow.id)
    return from_rows(session, session.execute(query).all())


def from_rows(session: Session, rows: Sequence[Any]) -> list[Event]:
    """Join rows with the columns of an event with their details."""
    payloads = _payloads(session, rows)
    return [
        Event(
            frame_id=row.frame_id,
            happened_at=row.happened_at,
            payload=payloads[row.id],
            recorded_at=row.recorded_at,
            event_id=row.id,
            operation_id=row.operation_id,
            by=row.by,
            note=row.note,
        )
        for row in rows
    ]


def _payloads(session: Session, rows: Sequence[Any]) -> dict[int, Payload]:
    ids_by_kind: dict[str, list[int]] = defaultdict(list)
    for row in rows:
        ids_by_kind[row.kind].append(row.id)
    payloads: dict[int, Payload] = {}
    for kind, ids in ids_by_kind.items():
        cls: Any = PAYLOADS[kind]
        if kind not in DETAILS:
            payloads.update((event_id, cls()) for event_id in ids)
            continue
        for start in range(0, len(ids), _CHUNK):
            payloads.update(_read_details(session, kind, ids[start : start + _CHUNK]))
    return payloads


def _read_details(session: Session, kind: str, ids: list[int]) -> dict[int, Payload]:
    table = DETAILS[kind].__table__
    names = _detail_fields(kind)
    cls: Any = PAYLOADS[kind]  # its fields are the columns of its detail table
    columns = [table.c.event_id, *(table.c[name] for name in names)]
    found = session.execute(select(*columns).where(table.c.event_id.in_(ids))).all()
    if kind != SurveyedDetail.__tablename__.removeprefix("detail_"):
        return {row[0]: cls(**dict(zip(names, row[1:], strict=True))) for row in found}
    readings = _readings(session, ids)
    return {
        row[0]: cls(readings=readings[row[0]], **dict(zip(names, row[1:], strict=True)))
        for row in found
    }


def _readings(session: Session, ids: list[int]) -> dict[int, tuple[Reading, ...]]:
    grouped: dict[int, list[Reading]] = {event_id: [] for event_id in ids}
    rows = session.execute(
        select(ReadingRow.event_id, ReadingRow.point, ReadingRow.direction, ReadingRow.raw_n_per_cm)
        .where(ReadingRow.event_id.in_(ids))
        .order_by(ReadingRow.event_id, ReadingRow.place)
    )
    for event_id, point, direction, raw in rows:
        grouped[event_id].append(Reading(point, cast(Direction, direction), raw))
    return {event_id: tuple(values) for event_id, values in grouped.items()}
