"""One thing that a person does, written wholly or not at all."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from typing import Any

from sqlalchemy import func, insert, select, update
from sqlalchemy.orm import Session

from framekeeper.domain import lifecycle
from framekeeper.domain.changes import Changes
from framekeeper.domain.details import check_details, valid_text
from framekeeper.domain.errors import Conflict, NotFound, NotPossible
from framekeeper.domain.events import Event, Payload, Recorrected, Surveyed, Withdrawn
from framekeeper.domain.frame_state import FrameState
from framekeeper.domain.records import FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.storage import journal
from framekeeper.storage.errors import told_plainly
from framekeeper.storage.frame_columns import to_columns
from framekeeper.storage.row_edits import RowEdits
from framekeeper.storage.tables import Frame, Roll, StockMove


class Work(RowEdits):
    """An open change. Leave the block without `commit()` and nothing of it remains.

    New events are checked against the frame's history at once, and written together when the work
    is committed; then the frame's columns are set to the fold of its whole journal.
    """

    def __init__(self, session: Session, *, action: str, by: str, now: dt.datetime) -> None:
        super().__init__(session, action=action, by=by, now=now)
        self._frames: dict[int, FrameRecord] = {}
        self._added: list[FrameRecord] = []  # of no state until the commit folds their journals
        self._journals: dict[int, list[Event]] = {}
        self._states: dict[int, FrameState] = {}
        self._new: dict[int, list[Event]] = defaultdict(list)
        self._moves_for: list[tuple[int, int, dict[str, Any]]] = []
        self._conclusions: list[tuple[int, int, float]] = []
        self._rolls: set[int] = set()  # locked, because mesh comes to them or goes

    # frames and their journals

    def add_frame(
        self,
        *,
        number: int,
        code: str,
        kind: str,
        width_mm: float,
        height_mm: float,
        own_label: str = "",
        profile: str = "",
        slot: str = "",
    ) -> FrameRecord:
        """Add a frame without history; record its registration next."""
        row = Frame(
            number=number,
            code=code,
            own_label=own_label,
            kind=kind,
            width_mm=width_mm,
            height_mm=height_mm,
            profile=profile,
            slot=slot,
        )
        self._session.add(row)
        with told_plainly():
            self._session.flush()
        record = self.frame(row.id)
        assert record is not None
        self._frames[row.id] = record
        self._journals[row.id] = []
        self._added.append(record)
        return record

    def frames_by_own_label(self, label: str) -> list[FrameRecord]:
        """Return the frames that carry this label, those that this work adds among them."""
        added = [f for f in self._added if f.own_label.lower() == label.lower()]
        return [*super().frames_by_own_label(label), *added]

    def known(self, frame_id: int) -> FrameRecord:
        """Return a frame as it was when this work first looked, locked against other benches."""
        if frame_id not in self._frames:
            self._session.execute(select(Frame.id).where(Frame.id == frame_id).with_for_update())
            record = self.frame(frame_id)
            if record is None:
                raise NotFound(say("This frame is not in the shop's register."))
            self._frames[frame_id] = record
        return self._frames[frame_id]

    def _frame_was_edited(self, frame_id: int) -> None:
        self._frames.pop(frame_id, None)
        self._states.pop(frame_id, None)
        self._new[frame_id] += []  # the fold may depend on what was edited

    def state(self, frame_id: int) -> FrameState:
        """Return the state including what this work has recorded so far."""
        if frame_id not in self._states:
            frame = self.known(frame_id)
            self._states[frame_id] = lifecycle.refold(
                frame.kind, self._journal(frame_id), self._new[frame_id], called=frame.name
            )
        return self._states[frame_id]

    def record(
        self,
        frame_id: int,
        payload: Payload,
        *,
        happened_at: dt.datetime | None = None,
        note: str = "",
    ) -> None:
        """Append an event to a frame's journal.

        Raises
        ------
        NotPossible
            If the history does not allow it; nothing of this work should be committed then.
        """
        event = self._event(frame_id, payload, happened_at or self.now, note)
        frame = self.known(frame_id)
        state = self.state(frame_id)
        is_newest = state.last_event_at is None or event.happened_at >= state.last_event_at
        if isinstance(payload, Withdrawn | Recorrected) or not is_newest:
            self._states[frame_id] = lifecycle.refold(
                frame.kind,
                self._journal(frame_id),
                [*self._new[frame_id], event],
                called=frame.name,
            )
        else:
            self._states[frame_id] = lifecycle.apply(state, event, called=frame.name)
        self._new[frame_id].append(event)

    def rewrite(self, frame_id: int, replay: list[tuple[Payload, dt.datetime, str]]) -> None:
        """Append several events that are only possible together, such as withdrawals.

        Raises
        ------
        NotPossible
            If the history with all of them is impossible.
        """
        events = [self._event(frame_id, payload, at, note) for payload, at, note in replay]
        frame = self.known(frame_id)
        self._states[frame_id] = lifecycle.refold(
            frame.kind,
            self._journal(frame_id),
            [*self._new[frame_id], *events],
            called=frame.name,
        )
        self._new[frame_id] += events

    def _event(self, frame_id: int, payload: Payload, at: dt.datetime, note: str) -> Event:
        lifecycle.check_time(at, self.now)
        check_details(payload, at)
        valid_text(note, argument="note")
        return Event(
            frame_id=frame_id,
            happened_at=at,
            payload=payload,
            recorded_at=self.now,
            by=self._by,
            note=note,
        )

    def _journal(self, frame_id: int) -> list[Event]:
        if frame_id not in self._journals:
            self._journals[frame_id] = self.journal(frame_id)
        return self._journals[frame_id]

    # the mesh ledger

    def move(
        self,
        *,
        mesh_type_id: int,
        kind: str,
        length_mm: int,
        roll_id: int | None = None,
        width_mm: int | None = None,
        happened_at: dt.datetime | None = None,
        reason: str = "",
        reverses_id: int | None = None,
        event_id: int | None = None,
        tied_to: tuple[int, int] | None = None,
    ) -> None:
        """Append a movement, tied to a stored event or to a new one named by `newest`.

        Raises
        ------
        NotValid
            For a time in the future.
        """
        lifecycle.check_time(happened_at or self.now, self.now)
        valid_text(reason, argument="reason")
        if roll_id is not None:
            self.hold_roll(roll_id)
        row = {
            "mesh_type_id": mesh_type_id,
            "roll_id": roll_id,
            "kind": kind,
            "length_mm": length_mm,
            "width_mm": width_mm,
            "happened_at": happened_at or self.now,
            "reason": reason,
            "reverses_id": reverses_id,
        }
        self._kinds.add("rolls")
        if tied_to is None:
            self._session.execute(
                insert(StockMove),
                {**row, "event_id": event_id, "operation_id": self.operation_id},
            )
        else:
            self._moves_for.append((*tied_to, row))

    def hold_roll(self, roll_id: int) -> None:
        """Keep other benches from moving mesh on or off a roll until this work is committed.

        What is on hand must be read after this, where the new movement depends on it.
        """
        if roll_id not in self._rolls:
            self._session.execute(select(Roll.id).where(Roll.id == roll_id).with_for_update())
            self._rolls.add(roll_id)

    def newest(self, frame_id: int) -> tuple[int, int]:
        """Name the event recorded last for this frame, which has no id before the commit."""
        return frame_id, len(self._new[frame_id]) - 1

    def conclude_newest(self, frame_id: int, shift_n_per_cm: float) -> None:
        """Conclude the survey recorded last for this frame anew, once it has its id."""
        self._conclusions.append((*self.newest(frame_id), shift_n_per_cm))

    # the end

    def commit(self) -> Changes:
        """Write everything, fold every touched frame, and make it lasting.

        Raises
        ------
        NotPossible
            If a roll would hold less than nothing.
        Conflict
            If someone else changed one of the frames in the meantime.
        """
        with told_plainly():
            self._settle()
            self._check_rolls()
            self._session.commit()
        touched = frozenset(self._new)
        kinds = frozenset(self._kinds | ({"frames"} if touched else set()))
        return Changes(kinds, touched, self._operation_id or 0)

    def _check_rolls(self) -> None:
        if not self._rolls:
            return
        query = (
            select(Roll.code)
            .join(StockMove, StockMove.roll_id == Roll.id)
            .where(Roll.id.in_(self._rolls))
            .group_by(Roll.code)
            .having(func.sum(StockMove.length_mm) < 0)
        )
        for code in self._session.scalars(query):
            raise NotPossible(
                say("Roll {code} does not hold that much mesh.", code=code),
                hint=say("Take another roll, or count this one if the shelf says otherwise."),
            )

    def _settle(self) -> None:
        touched = sorted(self._new)
        pending = [e for frame_id in touched for e in self._new[frame_id]]
        if not touched:
            return
        if pending:
            operation_id = self.operation_id
            stored = journal.append(
                self._session, [_in_operation(e, operation_id) for e in pending]
            )
            by_frame: dict[int, list[Event]] = defaultdict(list)
            for event in stored:
                by_frame[event.frame_id].append(event)
            self._write_moves(by_frame)
            self._write_conclusions(by_frame)
        else:
            by_frame = defaultdict(list)
        for frame_id in touched:
            self._write_fold(frame_id, [*self._journal(frame_id), *by_frame[frame_id]])

    def _write_moves(self, stored: dict[int, list[Event]]) -> None:
        rows = [
            {**row, "event_id": stored[frame_id][place].event_id, "operation_id": self.operation_id}
            for frame_id, place, row in self._moves_for
        ]
        self._insert_moves(rows)

    def _write_conclusions(self, stored: dict[int, list[Event]]) -> None:
        findings = []
        for frame_id, place, shift in self._conclusions:
            survey = stored[frame_id][place]
            assert isinstance(survey.payload, Surveyed)
            was = survey.payload.correction_n_per_cm
            finding = Recorrected(survey.event_id, was + shift, was)
            event = self._event(frame_id, finding, self.now, "")
            findings.append(_in_operation(event, self.operation_id))
        for event in journal.append(self._session, findings) if findings else ():
            stored[event.frame_id].append(event)

    def _insert_moves(self, rows: list[dict[str, Any]]) -> None:
        if rows:
            self._session.execute(insert(StockMove), rows)

    def _write_fold(self, frame_id: int, events: list[Event]) -> None:
        frame = self.known(frame_id)
        state = lifecycle.fold(frame.kind, events, called=frame.name)
        written = self._session.execute(
            update(Frame)
            .where(Frame.id == frame_id, Frame.version == frame.version)
            .values(**to_columns(state), version=frame.version + 1)
            .execution_options(synchronize_session=False)
        )
        if written.rowcount != 1:  # type: ignore[attr-defined]
            raise Conflict(
                say("Someone else changed {frame} in the meantime.", frame=frame.name),
                hint=say("Look at it again, then repeat what you wanted to do."),
            )


def _in_operation(event: Event, operation_id: int) -> Event:
    return Event(
        event.frame_id,
        event.happened_at,
        event.payload,
        event.recorded_at,
        event.event_id,
        operation_id,
        event.by,
        event.note,
    )
