"""Reads once what costs can be told from, and shapes what is told: a number and its traces."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.events import Event
from framekeeper.domain.lifecycle import standing, withdrawn
from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.mesh_lives import KINDS, mesh_lives
from framekeeper.domain.records import FrameFilter, FrameRecord, MoveRecord, RollRecord
from framekeeper.domain.sentence import Sentence

if TYPE_CHECKING:
    from framekeeper.services.desk import Desk
    from framekeeper.storage.reader import Reader

YEAR = dt.timedelta(days=365)  # rates are of the last year: what was before may be another shop
_READ = KINDS - {"surveyed", "recorrected", "staged"}  # tension costs nothing

TraceKind = Literal["event", "move", "roll"]


@dataclass(frozen=True, slots=True)
class Trace:
    """One event, movement or roll that a number rests on; `id` is that of its kind.

    A cut was made for a stretch: its `code` and `event_id` lead there, as those of an event do to
    itself.
    """

    kind: TraceKind
    id: int
    at: dt.datetime | None
    what: Sentence
    name: str  # of the frame or the roll
    code: str = ""  # of the frame, where there is one
    event_id: int = 0


@dataclass(frozen=True, slots=True)
class Told:
    """What the journal says of one number: the value, None where it cannot tell, and why."""

    value: Decimal | None
    words: Sentence
    traces: tuple[Trace, ...] = ()


@dataclass(frozen=True)
class Seen:
    """What was read, of one mesh or of all; events and movements that were taken back are gone."""

    now: dt.datetime
    zone: dt.tzinfo
    since: dt.datetime  # rates count from here
    frames: Mapping[int, FrameRecord]
    lives: Sequence[LivedMesh]
    journals: Mapping[int, Sequence[Event]]
    moves: Sequence[MoveRecord]
    rolls: Mapping[int, RollRecord]

    def trace(self, frame_id: int, event_id: int, at: dt.datetime, what: Sentence) -> Trace:
        """Point at an event of a frame."""
        frame = self.frames[frame_id]
        return Trace("event", event_id, at, what, frame.name, frame.code, event_id)


def see(desk: Desk, reader: Reader, mesh_type_id: int | None) -> Seen:
    """Read journals and ledger, of one mesh or of all."""
    now = desk.clock.now()
    frames = {f.id: f for f in reader.frames(FrameFilter(with_retired=True))}
    journals = reader.journals(list(frames), _READ)
    lives = [
        life
        for frame_id, frame in frames.items()
        for life in mesh_lives(frame.kind, journals[frame_id], now=now)
        if mesh_type_id in (None, life.mesh_type_id)
    ]
    moves = reader.moves(mesh_type_id=mesh_type_id)
    gone = withdrawn((m.id, m.reverses_id) for m in moves if m.reverses_id is not None)
    return Seen(
        now,
        desk.clock.zone(),
        now - YEAR,
        frames,
        lives,
        {i: standing(journal) for i, journal in journals.items()},
        [m for m in moves if m.reverses_id is None and m.id not in gone],
        {r.id: r for r in reader.rolls(with_hidden=True)},
    )


def rounded(value: Decimal, decimals: int) -> Decimal:
    """Round to what such a number is told with."""
    return value.quantize(Decimal(1).scaleb(-decimals))
