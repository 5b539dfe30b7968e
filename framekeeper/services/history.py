"""Undo, redo and correction: nothing is erased, what was wrong is taken back by what is new."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import Conflict, NotFound, NotPossible
from framekeeper.domain.events import Event, Payload, Stretched, Surveyed, Withdrawn
from framekeeper.domain.records import MoveRecord, OperationRecord
from framekeeper.domain.sentence import say
from framekeeper.services.cut_pieces import keeps_its_piece
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frame
from framekeeper.services.offcuts import refuse_counting_twice, refuse_kept_since
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.storage.unit_of_work import Work


@dataclass(frozen=True, slots=True)
class UndoNames:
    """What the next undo and redo would take back; None where there is nothing."""

    undo: OperationRecord | None
    redo: OperationRecord | None


def names(desk: Desk) -> UndoNames:
    """Name the next undo and redo."""
    with desk.read() as reader:
        return UndoNames(reader.next_undo(), reader.next_redo())


def undo(desk: Desk) -> Done:
    """Take back the newest operation.

    Raises
    ------
    NotPossible
        If there is nothing to take back, or what came later depends on it.
    """
    return _take_back(desk, is_undo=True)


def redo(desk: Desk) -> Done:
    """Do again what the newest undo took back."""
    return _take_back(desk, is_undo=False)


def _take_back(desk: Desk, *, is_undo: bool) -> Done:
    with desk.read() as reader:
        operation = reader.next_undo() if is_undo else reader.next_redo()
    if operation is None:
        nothing = say("There is nothing to undo.") if is_undo else say("There is nothing to redo.")
        raise NotPossible(nothing)
    with desk.work(operation.action) as work:
        work.name_subject(operation.subject)
        work.undoes(operation.id, is_undo=is_undo)
        _reverse_events(work, operation.id)
        _reverse_moves(work, operation.id)
        _reverse_edits(work, operation.id)
        assert work.operation_id
        changes = work.commit()
    words = {"action": operation.action, "subject": operation.subject}
    told = (
        say("Undone: {action} {subject}.", **words)
        if is_undo
        else say("Done again: {action} {subject}.", **words)
    )
    return Done(told, changes)


def _reverse_events(work: Work, operation_id: int) -> None:
    """Withdraw every event; withdrawing a withdrawal brings its target back where it stood.

    Recording the target anew would put it behind others of the same moment. An event that was
    taken back and brought back before is withdrawn through the last link of that chain.
    """
    by_frame: dict[int, list[Event]] = defaultdict(list)
    for event in work.events_of(operation_id):
        by_frame[event.frame_id].append(event)
    for frame_id, own in by_frame.items():
        journal = work.journal(frame_id)
        targets = [lifecycle.last_word(journal, event.event_id)[0] for event in own]
        work.rewrite(frame_id, [(Withdrawn(target), work.now, "") for target in targets])


def _reverse_moves(work: Work, operation_id: int) -> None:
    """Reverse each movement through the last link of its chain, as events are.

    One that was taken back and brought back before can be reversed only there.
    """
    moves = work.moves(operation_id=operation_id)
    links: dict[int, MoveRecord] = {}
    for mesh_type_id in {move.mesh_type_id for move in moves}:
        every = work.moves(mesh_type_id=mesh_type_id)
        links |= {m.reverses_id: m for m in every if m.reverses_id is not None}
    for move in moves:
        last = move
        while last.id in links:
            last = links[last.id]
        _reverse_move(work, last)
    # Another bench may have kept an offcut of it since this operation was the newest.
    returned = {m.roll_id for m in moves if m.length_mm < 0 and m.roll_id is not None}
    refuse_kept_since(work, returned, operation_id)


def _reverse_move(work: Work, move: MoveRecord) -> None:
    work.move(
        mesh_type_id=move.mesh_type_id,
        kind=move.kind,
        length_mm=-move.length_mm,
        width_mm=move.width_mm,
        roll_id=move.roll_id,
        happened_at=move.happened_at,
        reason=move.reason,
        reverses_id=move.id,
        event_id=move.event_id,
    )


def _reverse_edits(work: Work, operation_id: int) -> None:
    for edit in reversed(work.edits_of(operation_id)):
        if edit.after is not None:
            current = work.current_values(edit.table, edit.row_key, list(edit.after))
            if current != edit.after:
                raise Conflict(
                    say("This was changed again since, so it cannot be undone."),
                    hint=say("Change it by hand to what it should be."),
                )
        if edit.table == "setting":
            work.restore_setting(edit.row_key, edit.before)
        elif edit.before is not None:
            work.restore_row(edit.table, edit.row_key, edit.before)


def withdraw(desk: Desk, code: str, event_id: int) -> Done:
    """Take one event of a frame back, wherever it stands in the history.

    Raises
    ------
    NotPossible
        If a later event would become impossible.
    """
    return correct(desk, code, event_id, None)


def correct(
    desk: Desk, code: str, event_id: int, payload: Payload | None, *, when: When = NOW
) -> Done:
    """Take one event back and record what really happened in its place, as one operation.

    Parameters
    ----------
    desk, code, event_id
        The frame, and which entry of its journal is wrong.
    payload
        What happened instead; None only takes the event back. What was found out about the meter
        of a survey counts for the right numbers too.
    when
        When it happened; by default the time of the event that is corrected.
    """
    with desk.work("correct") as work:
        frame = find_frame(work, code)
        work.name_subject(frame.name)
        journal = work.journal(frame.id)
        wrong = next((e for e in journal if e.event_id == event_id), None)
        if wrong is None or isinstance(wrong.payload, Withdrawn):
            raise NotFound(
                say("{frame} has no such entry in its journal.", frame=frame.name),
                hint=say("Open its page and choose the entry there."),
            )
        target_id, counts = lifecycle.last_word(journal, event_id)
        if not counts:
            raise NotPossible(
                say("That entry was taken back already."), hint=say("Nothing has to be recorded.")
            )
        replay: list[tuple[Payload, dt.datetime, str]] = [(Withdrawn(target_id), work.now, "")]
        if payload is not None:
            replay.append((payload, when.happened_at or wrong.happened_at, when.note or wrong.note))
        work.rewrite(frame.id, replay)
        if isinstance(payload, Surveyed) and isinstance(wrong.payload, Surveyed):
            shift = lifecycle.shift_of(journal, event_id)
            if shift and payload.meter_id == wrong.payload.meter_id:
                work.conclude_newest(frame.id, shift)
        returned = _return_cut(work, event_id)
        is_cut_ahead = keeps_its_piece(work, wrong, payload)
        if isinstance(payload, Stretched) and payload.cut_length_mm and not is_cut_ahead:
            work.move(
                mesh_type_id=payload.mesh_type_id,
                kind="cut",
                length_mm=-payload.cut_length_mm,
                width_mm=payload.cut_width_mm,
                roll_id=payload.roll_id,
                happened_at=replay[-1][1],
                tied_to=work.newest(frame.id),
            )
        for roll_id in returned:
            refuse_counting_twice(work, roll_id, more_cut_mm=_cut_again(payload, roll_id))
        changes = work.commit()
    return Done(say("{subject}: corrected.", subject=frame.name), changes, (frame.code,))


def _return_cut(work: Work, event_id: int) -> set[int]:
    """A stretch that never was took no mesh off the shelf; return the rolls that get it back."""
    reversed_ids = {m.reverses_id for m in work.moves()}
    rolls: set[int] = set()
    for move in work.moves():
        if move.event_id == event_id and move.id not in reversed_ids:
            _reverse_move(work, move)
            if move.roll_id is not None:
                rolls.add(move.roll_id)
    return rolls


def _cut_again(payload: Payload | None, roll_id: int) -> int:
    """What the corrected stretch takes off the same roll, in mm."""
    if isinstance(payload, Stretched) and payload.roll_id == roll_id:
        return payload.cut_length_mm or 0
    return 0
