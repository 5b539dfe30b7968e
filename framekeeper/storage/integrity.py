"""Checks a shop: the file itself, then the rules that its rows must keep among each other."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import cast

from sqlalchemy import Connection, Select, Table, func, inspect, select, text
from sqlalchemy.orm import Session, aliased

from framekeeper.domain import codes, lifecycle
from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.records import FrameFilter
from framekeeper.domain.sentence import Sentence, say
from framekeeper.storage.journal_tables import (
    APPEND_ONLY,
    DETAILS,
    EventRow,
    ReadingRow,
    SurveyedDetail,
    WithdrawnDetail,
)
from framekeeper.storage.reader import Reader
from framekeeper.storage.tables import Frame, Roll, StockMove

_CHUNK = 200  # frames whose journals are held at once


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule that is broken, in words, and the frame that it is about."""

    rule: str
    said: Sentence
    frame_code: str = ""


def check_shop(session: Session, *, now: dt.datetime) -> list[Finding]:
    """Run every check; stop after the first where the file itself is damaged."""
    damaged = list(_file_is_whole(session.connection()))
    if damaged:
        return damaged
    findings: list[Finding] = []
    for check in _CHECKS:
        findings += check(session, now)
    return findings


def _file_is_whole(connection: Connection) -> Iterator[Finding]:
    if connection.dialect.name != "sqlite":
        return
    answer = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
    if answer != "ok":
        yield Finding("file", say("The file is damaged: {answer}.", answer=answer))
        return
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
        yield Finding(
            "links",
            say("Row {row} of {table} points at a {parent} that is not there.", row=row,
                table=table, parent=parent),
        )  # fmt: skip


def _guards(session: Session, now: dt.datetime) -> Iterator[Finding]:
    connection = session.connection()
    if connection.dialect.name == "sqlite":
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    present = set(connection.execute(text(query)).scalars())
    for table in APPEND_ONLY:
        for verb in ("update", "delete"):
            if f"keep_{table}_{verb}" not in present:
                yield Finding("guards", say("Table {table} has lost its guard.", table=table))


def _folds(session: Session, now: dt.datetime) -> Iterator[Finding]:
    reader = Reader(session)
    frames = reader.frames(FrameFilter(with_retired=True))
    void = reader.frames(FrameFilter(states=("void",)))
    everything = [*frames, *void]
    for start in range(0, len(everything), _CHUNK):
        some = everything[start : start + _CHUNK]
        journals = reader.journals([f.id for f in some])
        for frame in some:
            try:
                state = lifecycle.fold(frame.kind, journals[frame.id], called=frame.name)
            except FramekeeperError as error:
                yield Finding("history", say("{reason}", reason=error.said), frame.code)
                continue
            if state != frame.state:
                yield Finding(
                    "columns",
                    say("{frame}: the list does not say what the journal says.", frame=frame.name),
                    frame.code,
                )


def _codes(session: Session, now: dt.datetime) -> Iterator[Finding]:
    for number, code in session.execute(select(Frame.number, Frame.code)):
        if not codes.check(code) or codes.new_code(number) != code:
            yield Finding("codes", say("Frame {code} has a wrong code.", code=code), code)


def _stock(session: Session, now: dt.datetime) -> Iterator[Finding]:
    query = (
        select(Roll.code, func.sum(StockMove.length_mm))
        .join(StockMove, StockMove.roll_id == Roll.id)
        .group_by(Roll.code)
        .having(func.sum(StockMove.length_mm) < 0)
    )
    for code, left in session.execute(query):
        yield Finding("stock", say("Roll {code} holds {left:.2f} m.", code=code, left=left / 1000))


def _future(session: Session, now: dt.datetime) -> Iterator[Finding]:
    limit = now + lifecycle.CLOCK_TOLERANCE
    query = (
        select(Frame.code, EventRow.happened_at)
        .join(Frame, Frame.id == EventRow.frame_id)
        .where(EventRow.happened_at > limit)
    )
    for code, at in session.execute(query):
        yield Finding("future", say("{code} has an entry in the future, {at}.", code=code, at=at),
                      code)  # fmt: skip


def _withdrawals(session: Session, now: dt.datetime) -> Iterator[Finding]:
    target = aliased(EventRow)
    query = (
        select(EventRow.id, Frame.code)
        .join(WithdrawnDetail, WithdrawnDetail.event_id == EventRow.id)
        .join(target, target.id == WithdrawnDetail.target_id)
        .join(Frame, Frame.id == EventRow.frame_id)
        .where((target.frame_id != EventRow.frame_id) | (target.id >= EventRow.id))
    )
    for event_id, code in session.execute(query):
        yield Finding(
            "withdrawals",
            say("Entry {number} takes back what it may not.", number=event_id),
            code,
        )


def _details(session: Session, now: dt.datetime) -> Iterator[Finding]:
    for kind, detail in DETAILS.items():
        for code, event_id in session.execute(_without_detail(kind, cast(Table, detail.__table__))):
            yield Finding(
                "details",
                say("Entry {number} ({kind}) has lost its details.", number=event_id, kind=kind),
                code,
            )
    empty = (
        select(Frame.code, SurveyedDetail.event_id)
        .join(EventRow, EventRow.id == SurveyedDetail.event_id)
        .join(Frame, Frame.id == EventRow.frame_id)
        .outerjoin(ReadingRow, ReadingRow.event_id == SurveyedDetail.event_id)
        .where(ReadingRow.event_id.is_(None))
    )
    for code, event_id in session.execute(empty):
        yield Finding("details", say("Survey {number} has no readings.", number=event_id), code)


def _without_detail(kind: str, detail: Table) -> Select[str, int]:
    return (
        select(Frame.code, EventRow.id)
        .join(Frame, Frame.id == EventRow.frame_id)
        .outerjoin(detail, detail.c.event_id == EventRow.id)
        .where(EventRow.kind == kind, detail.c.event_id.is_(None))
    )


def _cuts(session: Session, now: dt.datetime) -> Iterator[Finding]:
    query = (
        select(StockMove.id)
        .join(EventRow, EventRow.id == StockMove.event_id)
        .where(EventRow.kind != "stretched")
    )
    for move_id in session.scalars(query):
        yield Finding("cuts", say("Cut {number} belongs to no stretch.", number=move_id))


def _tables(session: Session, now: dt.datetime) -> Iterator[Finding]:
    present = set(inspect(session.connection()).get_table_names())
    for table in Frame.metadata.sorted_tables:
        if table.name not in present:
            yield Finding("tables", say("Table {table} is missing.", table=table.name))


_CHECKS: tuple[Callable[[Session, dt.datetime], Iterator[Finding]], ...] = (
    _tables,
    _guards,
    _codes,
    _details,
    _withdrawals,
    _folds,
    _stock,
    _cuts,
    _future,
)
