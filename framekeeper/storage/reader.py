"""Reads a shop: rows come out as plain frozen records, never as ORM objects."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Select, func, or_, select
from sqlalchemy.orm import aliased

from framekeeper.domain.due import MeshRules
from framekeeper.domain.events import Event
from framekeeper.domain.records import (
    Buying,
    CutPieceRecord,
    FrameFilter,
    FrameRecord,
    MeshTypeRecord,
    MoveRecord,
    OperationRecord,
    RollRecord,
    SupplyRecord,
)
from framekeeper.storage import journal
from framekeeper.storage.decay_reader import DecayReader
from framekeeper.storage.frame_columns import STATE_COLUMNS, from_columns
from framekeeper.storage.journal_tables import EventRow, ReadingRow
from framekeeper.storage.tables import (
    CutPiece,
    Frame,
    MeshType,
    Operation,
    Roll,
    Setting,
    StockMove,
    Supply,
)

_FRAME_FACTS = (
    "id", "number", "code", "own_label", "kind", "width_mm", "height_mm", "profile", "slot",
    "version",
)  # fmt: skip
_FRAME_COLUMNS = [getattr(Frame, name) for name in (*_FRAME_FACTS, *STATE_COLUMNS)]


def escape_like(text: str) -> str:
    """Quote the wildcards of LIKE, to be used with `escape="/"`."""
    return text.replace("/", "//").replace("%", "/%").replace("_", "/_")


class Reader(DecayReader):
    """Questions to a shop, within one transaction."""

    # frames

    def frames(self, wanted: FrameFilter | None = None) -> list[FrameRecord]:
        """List frames by code."""
        query = self._frame_query(wanted or FrameFilter())
        return [_frame(row) for row in self._session.execute(query).mappings()]

    def _frame_query(self, wanted: FrameFilter) -> Select[Any]:
        query = select(*_FRAME_COLUMNS).order_by(Frame.number)
        hidden: list[str] = ["void"] if wanted.with_retired else ["void", "retired"]
        if wanted.states:
            query = query.where(Frame.state.in_(wanted.states))
        else:
            query = query.where(Frame.state.not_in(hidden))
        if wanted.mesh_type_id is not None:
            query = query.where(Frame.mesh_type_id == wanted.mesh_type_id)
        if wanted.ids is not None:
            query = query.where(Frame.id.in_(wanted.ids))
        if wanted.on_hold is not None:
            mark = Frame.hold_reason.is_not(None)
            query = query.where(mark if wanted.on_hold else ~mark)
        if wanted.text.strip():
            query = query.where(_matches(wanted.text))
        return query if wanted.limit is None else query.limit(wanted.limit)

    def frame(self, frame_id: int) -> FrameRecord | None:
        """Return one frame by its id."""
        return self._one(Frame.id == frame_id)

    def frame_by_code(self, code: str) -> FrameRecord | None:
        """Return one frame by its code."""
        return self._one(Frame.code == code)

    def frames_by_own_label(self, label: str) -> list[FrameRecord]:
        """Return the frames that carry this label of the shop's own, whatever its case."""
        same = or_(func.lower(Frame.own_label) == label.lower(), Frame.own_label == label)
        query = select(*_FRAME_COLUMNS).where(same, Frame.state != "void")
        return [_frame(row) for row in self._session.execute(query).mappings()]

    def _one(self, condition: ColumnElement[bool]) -> FrameRecord | None:
        row = self._session.execute(select(*_FRAME_COLUMNS).where(condition)).mappings().first()
        return None if row is None else _frame(row)

    def last_number(self) -> int:
        """Return the highest number that a frame code was made from; 0 in an empty shop."""
        return self._session.scalar(select(func.max(Frame.number))) or 0

    # journal

    def journal(self, frame_id: int) -> list[Event]:
        """Read the whole journal of a frame in the order of recording, withdrawn events too."""
        return journal.of_frames(self._session, [frame_id])[frame_id]

    def journals(
        self, frame_ids: Sequence[int], kinds: Collection[str] | None = None
    ) -> dict[int, list[Event]]:
        """Read the journals of several frames at once: all of them, or only some kinds of event."""
        return journal.of_frames(self._session, frame_ids, kinds)

    def events_of(self, operation_id: int) -> list[Event]:
        """Read the events of one operation."""
        return journal.of_operation(self._session, operation_id)

    # mesh, rolls, meters

    def mesh_types(self, *, with_hidden: bool = False) -> list[MeshTypeRecord]:
        """List the mesh types by name."""
        query = select(MeshType).order_by(MeshType.threads_per_cm, MeshType.name)
        if not with_hidden:
            query = query.where(~MeshType.is_hidden)
        return [mesh_type_record(row) for row in self._session.scalars(query)]

    def rolls(self, *, with_hidden: bool = False) -> list[RollRecord]:
        """List the rolls with what is on hand."""
        on_hand = (
            select(StockMove.roll_id, func.sum(StockMove.length_mm).label("left"))
            .group_by(StockMove.roll_id)
            .subquery()
        )
        query = (
            select(Roll, func.coalesce(on_hand.c.left, 0))
            .outerjoin(on_hand, on_hand.c.roll_id == Roll.id)
            .order_by(Roll.code)
        )
        if not with_hidden:
            query = query.where(~Roll.is_hidden)
        return [
            RollRecord(
                r.id, r.code, r.mesh_type_id, r.lot, r.supplier, r.width_mm, int(left),
                r.is_hidden, r.version, r.price_per_m, r.from_roll_id,
            )
            for r, left in self._session.execute(query)
        ]  # fmt: skip

    def cut_pieces(self, *, used: bool = False) -> list[CutPieceRecord]:
        """List the pieces that were cut and are not stretched yet, oldest first; or those used."""
        state = CutPiece.is_used if used else ~CutPiece.is_used
        query = select(CutPiece).where(~CutPiece.is_hidden, state).order_by(CutPiece.id)
        return [
            CutPieceRecord(
                p.id, p.mesh_type_id, p.roll_id, p.frame_id, p.length_mm, p.width_mm, p.cut_at
            )
            for p in self._session.scalars(query)
        ]

    def supplies(self) -> list[SupplyRecord]:
        """List the batches of adhesive and activator, what goes off first at the top."""
        query = (
            select(Supply)
            .where(~Supply.is_hidden)
            .order_by(Supply.kind, Supply.best_before.is_(None), Supply.best_before, Supply.id)
        )
        return [
            SupplyRecord(
                s.id, s.kind, s.name, s.batch, s.best_before, s.opened_on, s.note,  # type: ignore[arg-type]
                s.is_hidden, s.version,
            )
            for s in self._session.scalars(query)
        ]  # fmt: skip

    def roll_by_code(self, code: str) -> RollRecord | None:
        """Return one roll by its code."""
        return next((r for r in self.rolls(with_hidden=True) if r.code == code), None)

    def roll(self, roll_id: int) -> RollRecord | None:
        """Return one roll by its id."""
        return next((r for r in self.rolls(with_hidden=True) if r.id == roll_id), None)

    def moves(
        self,
        *,
        operation_id: int | None = None,
        mesh_type_id: int | None = None,
        roll_ids: Sequence[int] | None = None,
    ) -> list[MoveRecord]:
        """List stock movements in the order of recording."""
        query = select(StockMove).order_by(StockMove.id)
        if operation_id is not None:
            query = query.where(StockMove.operation_id == operation_id)
        if mesh_type_id is not None:
            query = query.where(StockMove.mesh_type_id == mesh_type_id)
        if roll_ids is not None:
            query = query.where(StockMove.roll_id.in_(roll_ids))
        return [
            MoveRecord(
                m.id, m.operation_id, m.mesh_type_id, m.roll_id, m.event_id, m.kind,  # type: ignore[arg-type]
                m.length_mm, m.width_mm, m.happened_at, m.reason, m.reverses_id,
            )
            for m in self._session.scalars(query)
        ]  # fmt: skip

    # settings, operations, counts

    def settings(self) -> dict[str, Any]:
        """Read all settings of the shop."""
        rows = self._session.execute(select(Setting.key, Setting.value)).all()
        return {key: json.loads(value) for key, value in rows}

    def last_operation_id(self) -> int:
        """Return the id of the newest operation; it grows with every change by any bench."""
        return self._session.scalar(select(func.max(Operation.id))) or 0

    def operation(self, operation_id: int) -> OperationRecord | None:
        """Return one operation."""
        row = self._session.get(Operation, operation_id)
        return None if row is None else _operation(row)

    def operations_of_moves(self, roll_ids: Sequence[int] | None) -> dict[int, OperationRecord]:
        """Return the operations that moved mesh on or off these rolls, or any, by their ids."""
        moved = select(StockMove.operation_id)
        if roll_ids is not None:
            moved = moved.where(StockMove.roll_id.in_(roll_ids))
        query = select(Operation).where(Operation.id.in_(moved))
        return {row.id: _operation(row) for row in self._session.scalars(query)}

    def frames_of_moves(self, roll_ids: Sequence[int]) -> dict[int, int]:
        """Return the frame of each event that moved mesh on or off these rolls."""
        query = (
            select(EventRow.id, EventRow.frame_id)
            .join(StockMove, StockMove.event_id == EventRow.id)
            .where(StockMove.roll_id.in_(roll_ids))
        )
        return {event_id: frame_id for event_id, frame_id in self._session.execute(query)}

    def next_undo(self) -> OperationRecord | None:
        """Return the newest operation that can be taken back."""
        taker = aliased(Operation)
        query = (
            select(Operation)
            .outerjoin(taker, taker.undoes_id == Operation.id)
            .where(~Operation.is_undo, taker.id.is_(None))
            .order_by(Operation.id.desc())
            .limit(1)
        )
        row = self._session.scalar(query)
        return None if row is None else _operation(row)

    def next_redo(self) -> OperationRecord | None:
        """Return the newest undo that can be taken back: none after anything new was done."""
        taker = aliased(Operation)
        newest = (
            select(func.coalesce(func.max(Operation.id), 0))
            .where(Operation.undoes_id.is_(None))
            .scalar_subquery()
        )
        query = (
            select(Operation)
            .outerjoin(taker, taker.undoes_id == Operation.id)
            .where(Operation.is_undo, taker.id.is_(None), Operation.id > newest)
            .order_by(Operation.id.desc())
            .limit(1)
        )
        row = self._session.scalar(query)
        return None if row is None else _operation(row)

    def people(self) -> list[str]:
        """List everybody who recorded something, by name."""
        return list(
            self._session.scalars(
                select(Operation.by).where(Operation.by != "").distinct().order_by(Operation.by)
            )
        )

    def counts(self) -> dict[str, int]:
        """Count frames, events and readings."""
        return {
            "frames": self._count(
                select(func.count()).select_from(Frame).where(Frame.state != "void")
            ),
            "events": self._count(select(func.count()).select_from(EventRow)),
            "readings": self._count(select(func.count()).select_from(ReadingRow)),
        }

    def _count(self, query: Select[int]) -> int:
        return self._session.scalar(query) or 0


def _matches(text: str) -> ColumnElement[bool]:
    pattern = f"%{escape_like(text.strip().lower())}%"
    return or_(
        func.lower(Frame.code).like(pattern, escape="/"),
        func.lower(Frame.own_label).like(pattern, escape="/"),
        func.lower(Frame.slot).like(pattern, escape="/"),
    )


def _frame(row: Any) -> FrameRecord:
    facts = {name: row[name] for name in _FRAME_FACTS}
    return FrameRecord(**facts, state=from_columns(row["kind"], row))


def _operation(row: Operation) -> OperationRecord:
    return OperationRecord(
        row.id, row.action, row.subject, row.by, row.recorded_at, row.undoes_id, row.is_undo
    )


RULE_COLUMNS: Iterable[str] = (
    "target", "tolerance", "limit", "spread_limit", "balance_limit", "days_between_readings",
    "inspect_after_reclaims", "risk", "longest_wait_days",
)  # fmt: skip


def mesh_type_record(row: MeshType) -> MeshTypeRecord:
    """Turn a stored mesh type into a plain record."""
    return MeshTypeRecord(
        id=row.id,
        name=row.name,
        count_as_bought=row.count_as_bought,
        count_unit=row.count_unit,  # type: ignore[arg-type]
        threads_per_cm=row.threads_per_cm,
        thread_um=row.thread_um,
        weave=row.weave,
        opening_um=row.opening_um,
        thickness_um=row.thickness_um,
        colour=row.colour,  # type: ignore[arg-type]
        rules=MeshRules(**{name: getattr(row, name) for name in RULE_COLUMNS}),
        to_be_completed=row.to_be_completed,
        is_hidden=row.is_hidden,
        version=row.version,
        buying=Buying(
            row.buy_from or "",
            row.lead_time_days,
            row.lead_time_sd_days,
            row.buy_width_mm,
            row.buy_length_mm,
            row.price_per_m,
        ),
    )
