"""The movements of a roll, down to who did what and why, and the stock-take made of them."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from framekeeper.domain.records import (
    FrameFilter,
    FrameRecord,
    MeshTypeRecord,
    MoveRecord,
    OperationRecord,
    RollRecord,
)
from framekeeper.services.cut_pieces import code_of_cut
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_roll
from framekeeper.services.offcuts import Serving, servings
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.stock_use import standing


@dataclass(frozen=True, slots=True)
class MoveLine:
    """One movement of a roll, and the operation that it belongs to."""

    move: MoveRecord
    operation: OperationRecord
    left_mm: int  # on the roll, after it, in the order of recording
    frame: FrameRecord | None = None  # of a cut
    is_taken_back: bool = False
    takes_back: OperationRecord | None = None


@dataclass(frozen=True, slots=True)
class RollPage:
    """Everything that the page of a roll shows."""

    roll: RollRecord
    mesh: MeshTypeRecord
    mother: RollRecord | None  # of an offcut
    offcuts: tuple[RollRecord, ...]
    lines: tuple[MoveLine, ...]  # newest first
    serving: Serving | None  # of an offcut with mesh on it
    settings: ShopSettings


@dataclass(frozen=True, slots=True)
class TakeLine:
    """A roll in a stock-take."""

    roll: RollRecord
    mesh: MeshTypeRecord | None
    expected_mm: int  # what the ledger said before the first count
    counted_mm: int | None = None  # None: not seen yet
    difference_mm: int = 0
    at: dt.datetime | None = None
    by: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class StockTake:
    """What was counted since a moment, newest first, and the rolls that nobody has seen."""

    since: dt.datetime
    counted: tuple[TakeLine, ...]
    not_seen: tuple[TakeLine, ...]
    empty: tuple[TakeLine, ...] = ()  # nothing is left by the ledger, so nobody has to look

    def line_of(self, roll_id: int) -> TakeLine | None:
        """Return the line of a roll."""
        every = (*self.counted, *self.not_seen, *self.empty)
        return next((line for line in every if line.roll.id == roll_id), None)

    @property
    def difference_mm(self) -> int:
        """All differences together; what is missing is negative."""
        return sum(line.difference_mm for line in self.counted)


def roll_page(desk: Desk, code: str) -> RollPage:
    """Read a roll with every movement, down to the operation and the frame.

    Raises
    ------
    NotFound
        If no roll on the shelf answers to the code.
    """
    with desk.read() as reader:
        roll = find_roll(reader, code)
        every_roll = reader.rolls()
        moves = reader.moves(roll_ids=[roll.id])
        operations = reader.operations_of_moves([roll.id])
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
        settings = shop_settings(reader)
        every_frame = reader.frames(FrameFilter(with_retired=True))
        frames_of = reader.frames_of_moves([roll.id])
    frames = {f.id: f for f in every_frame}
    serving = servings([roll], every_frame, allowance_mm=settings.cut_allowance_mm).get(roll.id)
    return RollPage(
        roll,
        meshes[roll.mesh_type_id],
        next((r for r in every_roll if r.id == roll.from_roll_id), None),
        tuple(r for r in every_roll if r.from_roll_id == roll.id),
        tuple(reversed(_lines(moves, operations, frames, frames_of))),
        serving,
        settings,
    )


def _lines(
    moves: list[MoveRecord],
    operations: dict[int, OperationRecord],
    frames: dict[int, FrameRecord],
    frames_of: dict[int, int],
) -> list[MoveLine]:
    by_id = {move.id: move for move in moves}
    reversed_ids = {move.reverses_id for move in moves}
    by_code = {frame.code: frame for frame in frames.values()}
    left, lines = 0, []
    for move in moves:
        left += move.length_mm
        taken = by_id.get(move.reverses_id or 0)
        lines.append(
            MoveLine(
                move,
                operations[move.operation_id],
                left,
                frames.get(frames_of.get(move.event_id or 0, 0)) or by_code.get(code_of_cut(move)),
                move.id in reversed_ids,
                operations[taken.operation_id] if taken else None,
            )
        )
    return lines


def stock_take(desk: Desk, *, since: dt.date | None = None) -> StockTake:
    """Tell what was counted since the morning of a day, and what was not; default is today.

    Every count is recorded at once, so a stock-take is nothing but the counts of these days: it
    can be left and gone on with, by several people, and undo takes back the last count.
    """
    zone = desk.clock.zone()
    began = dt.datetime.combine(since or desk.today(), dt.time(), zone).astimezone(dt.UTC)
    with desk.read() as reader:
        rolls = reader.rolls()
        moves = reader.moves()
        operations = reader.operations_of_moves(None)
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    of_roll: dict[int, list[MoveRecord]] = defaultdict(list)
    for move in moves:
        of_roll[move.roll_id or 0].append(move)
    lines = {
        r.id: _take_line(r, meshes.get(r.mesh_type_id), of_roll[r.id], operations, began)
        for r in rolls
    }
    counted = [line for line in lines.values() if line.counted_mm is not None]
    unseen = [line for line in lines.values() if line.counted_mm is None]
    newest = sorted(counted, key=lambda line: (line.at or began, line.roll.id), reverse=True)
    return StockTake(
        began,
        tuple(newest),
        tuple(line for line in unseen if line.expected_mm),
        tuple(line for line in unseen if not line.expected_mm),
    )


def _take_line(
    roll: RollRecord,
    mesh: MeshTypeRecord | None,
    moves: list[MoveRecord],
    operations: dict[int, OperationRecord],
    began: dt.datetime,
) -> TakeLine:
    counts = [m for m in standing(moves) if m.kind == "counted" and m.happened_at >= began]
    if not counts:
        return TakeLine(roll, mesh, roll.on_hand_mm)
    last = counts[-1]
    found = sum(m.length_mm for m in moves if m.id <= last.id)
    difference = sum(m.length_mm for m in counts)
    reasons = dict.fromkeys(m.reason for m in counts if m.reason)
    return TakeLine(
        roll,
        mesh,
        found - difference,
        found,
        difference,
        last.happened_at,
        operations[last.operation_id].by,
        ", ".join(reasons),
    )
