"""Writes a whole history, thousands of operations, as fast as one: a shop that is made at once.

One transaction for each operation would fold every frame again and again. Here operations and
events are gathered in the order of recording, written in bulk, and each frame is folded once.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import replace
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from framekeeper.domain.events import Event, Payload
from framekeeper.storage import journal
from framekeeper.storage.tables import Operation
from framekeeper.storage.unit_of_work import Work


class Chronicle(Work):
    """An open change of many operations; it is committed wholly or not at all.

    Every event is checked against its frame's history as soon as it is recorded, as in `Work`.
    """

    def __init__(self, session: Session, *, now: dt.datetime) -> None:
        super().__init__(session, action="", by="", now=now)
        self._operations: list[dict[str, Any]] = []  # not written yet
        self._queue: list[tuple[int, Event]] = []  # place of the operation, event
        self._is_listed = False  # the operation that is open stands last in `_operations`

    def begin(self, action: str, *, by: str, now: dt.datetime, subject: str = "") -> None:
        """Go on with the next operation; one in which nothing happens leaves no trace."""
        self._action, self._by, self._subject = action, by, subject
        self.now = now
        self._operation_id = None
        self._is_listed = False

    @property
    def operation_id(self) -> int:
        """The id of the open operation; earlier ones are written first, to keep their order."""
        if self._operation_id is None:
            self._list_operation()
            self.write_out()
        assert self._operation_id is not None
        return self._operation_id

    def record(
        self,
        frame_id: int,
        payload: Payload,
        *,
        happened_at: dt.datetime | None = None,
        note: str = "",
    ) -> None:
        """Append an event to a frame's journal, as part of the open operation."""
        super().record(frame_id, payload, happened_at=happened_at, note=note)
        self._enqueue(self._new[frame_id][-1:])

    def rewrite(self, frame_id: int, replay: list[tuple[Payload, dt.datetime, str]]) -> None:
        """Append several events that are only possible together, such as withdrawals."""
        super().rewrite(frame_id, replay)
        self._enqueue(self._new[frame_id][-len(replay) :])

    def _enqueue(self, events: list[Event]) -> None:
        if self._operation_id is not None:
            at_hand = self._operation_id
            self._queue += [(-1, replace(e, operation_id=at_hand)) for e in events]
            return
        self._list_operation()
        self._queue += [(len(self._operations) - 1, e) for e in events]

    def _list_operation(self) -> None:
        if self._is_listed:
            return
        self._operations.append(
            {
                "action": self._action,
                "subject": self._subject,
                "by": self._by,
                "recorded_at": self.now,
                "undoes_id": None,
                "is_undo": False,
            }
        )
        self._is_listed = True

    def write_out(self) -> None:
        """Write what was gathered, so that its events have ids and can be pointed at."""
        ids = self._write_operations()
        events = [
            e if place < 0 else replace(e, operation_id=ids[place]) for place, e in self._queue
        ]
        stored: dict[int, list[Event]] = defaultdict(list)
        for event in journal.append(self._session, events) if events else ():
            stored[event.frame_id].append(event)
        self._write_moves(stored)
        for frame_id, written in stored.items():
            self._journals[frame_id] = [*self._journal(frame_id), *written]
            self._new[frame_id] = []
        self._queue, self._operations, self._moves_for = [], [], []

    def _write_operations(self) -> list[int]:
        if not self._operations:
            return []
        ids = self._session.scalars(
            insert(Operation).returning(Operation.id, sort_by_parameter_order=True),
            self._operations,
        ).all()
        if self._is_listed:
            self._operation_id = ids[-1]
            self._is_listed = False
        return list(ids)

    def _write_moves(self, stored: dict[int, list[Event]]) -> None:
        """Tie the movements to their events, whose operations they share."""
        rows = []
        for frame_id, place, row in self._moves_for:
            event = stored[frame_id][place]
            rows.append({**row, "event_id": event.event_id, "operation_id": event.operation_id})
        self._insert_moves(rows)

    def _settle(self) -> None:
        self.write_out()
        for frame_id in sorted(self._new):
            self._write_fold(frame_id, self._journal(frame_id))
