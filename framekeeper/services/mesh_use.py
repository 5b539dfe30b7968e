"""What the ledger and the journal tell of how a shop uses mesh: for which frames, why, and spoiled.

Everything here is counted, nothing foretold: `services.order` builds its expectations on it.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.frame_state import STATES
from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.mesh_lives import mesh_lives
from framekeeper.domain.records import (
    FrameFilter,
    FrameRecord,
    MeshTypeRecord,
    MoveRecord,
    RollRecord,
)
from framekeeper.services.cut_pieces import code_of_cut
from framekeeper.services.desk import Desk
from framekeeper.services.settings import shop_settings
from framekeeper.services.stock_use import shares, standing
from framekeeper.services.stretch import cut_size_mm

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

Reason = Literal["first", "below_limit", "damage", "other", "ahead", "scrap", "offcut"]
YEAR_DAYS = 365
FEWEST_DAYS = 30  # a pace over fewer days would be luck; our choice, as are the two below
FEWEST_CUTS = 10  # before the shop's own way of cutting counts instead of the plain piece
OWN_SCRAP_MM = 20_000  # cut of a mesh, or in the shop, before its scrap tells anything

_KINDS = frozenset(
    {
        "found_with_mesh", "stretched", "released", "retensioned", "sent_out", "received",
        "damaged", "inspected", "pulled", "stripped", "retired", "missing", "found", "withdrawn",
    }
)  # fmt: skip
_ENDED_BY: dict[str, Reason] = {"damaged": "damage", "below_limit": "below_limit"}
_OTHER_CAUSES = frozenset({"uneven", "pulled", "stripped"})


@dataclass(frozen=True, slots=True)
class Used:
    """Mesh that went in one month for one size of frame and one reason.

    Lengths are along the roll that was bought; an offcut counts at its share of the width, and one
    that is kept gives its share back.
    """

    month: dt.date  # its first day, in the shop's zone
    mesh: MeshTypeRecord
    size_mm: tuple[float, float] | None  # None where it was for no frame, or for one not told
    reason: Reason
    pieces: int
    length_mm: int


@dataclass(frozen=True, slots=True)
class EndRate:
    """How often screens end by one kind of cause, over all that the shop has watched."""

    ends: int
    screen_days: float

    @property
    def per_day(self) -> float:
        """Ends for one screen and day; 0 where nothing was watched."""
        return self.ends / self.screen_days if self.screen_days else 0.0


@dataclass(frozen=True, slots=True)
class Pace:
    """What the ledger says of the last year, or of the time since the mesh came."""

    pieces: int
    cut_mm: float  # along the roll that was bought, less what was kept of it
    days: float

    @property
    def per_day(self) -> float:
        """Pieces a day; the first weeks count as a month, so that one busy day is no pace."""
        return self.pieces / max(self.days, FEWEST_DAYS)

    @property
    def piece_mm(self) -> float:
        """Mean length of a piece."""
        return self.cut_mm / self.pieces


@dataclass(frozen=True, slots=True)
class Spoiled:
    """The share of mesh that serves no screen: scrap, losses at counts, bursts in the clamps."""

    share: float
    spoiled_mm: int
    is_whole_shop: bool  # of all meshes together, since this one has been cut too little


@dataclass(frozen=True)
class MeshUse:
    """The shop's frames, lives and movements at one moment."""

    now: dt.datetime
    frames: Mapping[int, FrameRecord]
    lives: Sequence[LivedMesh]
    moves: Sequence[MoveRecord]  # those that stand
    rolls: Mapping[int, RollRecord]
    allowance_mm: int

    @cached_property
    def _by_key(self) -> dict[int, tuple[LivedMesh, LivedMesh | None]]:
        """Each life by the event that began it, with the one before it on the same frame."""
        before: dict[int, LivedMesh] = {}
        found = {}
        for life in self.lives:
            found[life.key] = (life, before.get(life.frame_id))
            before[life.frame_id] = life
        return found

    @cached_property
    def last_mesh(self) -> dict[int, int]:
        """The mesh that each frame bears, or bore last."""
        return {life.frame_id: life.mesh_type_id for life in self.lives}

    def damage(self) -> EndRate:
        """How often screens in service are damaged beyond use."""
        return self._ends(frozenset({"damaged"}))

    def other_ends(self) -> EndRate:
        """How often whole screens lose their mesh for anything but too little tension."""
        return self._ends(_OTHER_CAUSES)

    def _ends(self, causes: frozenset[str]) -> EndRate:
        watched = [life for life in self.lives if life.seen_from is not None]
        days = sum(
            (life.last_at - life.seen_from).total_seconds() / 86_400
            for life in watched
            if life.seen_from is not None
        )
        ends = sum(life.cause is not None and life.cause.kind in causes for life in watched)
        return EndRate(ends, days)

    def _recent(self, mesh_id: int | None) -> list[MoveRecord]:
        since = self.now - dt.timedelta(days=YEAR_DAYS)
        return [
            m for m in self.moves if mesh_id in (None, m.mesh_type_id) and m.happened_at >= since
        ]

    @cached_property
    def _shares(self) -> dict[int, Fraction]:
        return shares(self.rolls.values())

    def _gone_mm(self, moves: Iterable[MoveRecord]) -> float:
        """What movements took, along the roll that was bought: a narrow offcut is a share of it."""
        whole = Fraction(1)
        return -float(sum(m.length_mm * self._shares.get(m.roll_id or 0, whole) for m in moves))

    def _cut_mm(self, moves: Iterable[MoveRecord]) -> float:
        """What was cut, less the offcuts that were kept of it."""
        return self._gone_mm(m for m in moves if m.kind == "cut" or self._is_offcut_kept(m))

    def pace(self, mesh_id: int) -> Pace | None:
        """How fast the shop has used a mesh; None where none of it went."""
        recent = self._recent(mesh_id)
        pieces = sum(m.kind == "cut" for m in recent)
        cut_mm = self._cut_mm(recent)
        if not pieces or cut_mm <= 0:
            return None
        began = min(m.happened_at for m in recent)
        days = (self.now - began).total_seconds() / 86_400
        return Pace(pieces, cut_mm, days)

    def as_cut(self, mesh_id: int) -> float:
        """Length of roll that a screen takes, as a share of its plain piece; 1 with few cuts.

        Below 1 where pieces lie side by side or offcuts are used, above 1 where the shop adds some.
        """
        recent = self._recent(mesh_id)
        since = self.now - dt.timedelta(days=YEAR_DAYS)
        plain = [
            cut_size_mm(self.frames[life.frame_id], self.allowance_mm)[0]
            for life in self.lives
            if life.mesh_type_id == mesh_id
            and life.roll_id is not None
            and life.events[0].at >= since
        ]
        cut_mm = self._cut_mm(m for m in recent if m.roll_id is not None)
        if len(plain) < FEWEST_CUTS or cut_mm <= 0:
            return 1.0
        return cut_mm / sum(plain)

    def _is_offcut_kept(self, move: MoveRecord) -> bool:
        roll = self.rolls.get(move.roll_id or 0)
        return move.kind == "received" and roll is not None and roll.is_offcut

    def spoiled(self, mesh_id: int) -> Spoiled | None:
        """The share of what left the rolls in a year and served no screen; None of too little.

        Where little of this mesh was cut, it is that of the whole shop.
        """
        return self._spoiled(mesh_id) or self._spoiled(None)

    def _spoiled(self, mesh_id: int | None) -> Spoiled | None:
        recent = self._recent(mesh_id)
        cut = self._cut_mm(recent)
        if cut < OWN_SCRAP_MM:
            return None
        missing = max(0.0, self._gone_mm(m for m in recent if m.kind == "counted"))
        scrap = self._gone_mm(m for m in recent if m.kind == "scrapped")
        burst = self._gone_mm(m for m in recent if m.kind == "cut" and self._burst(m))
        spoiled = scrap + missing + burst
        return Spoiled(spoiled / (cut + scrap + missing), round(spoiled), mesh_id is None)

    def _burst(self, move: MoveRecord) -> bool:
        """Whether the mesh broke before its release, so that a second piece was needed."""
        life = self._life_of(move)
        return life is not None and life.cause is not None and life.cause.before_release

    @cached_property
    def _by_code(self) -> dict[str, FrameRecord]:
        return {frame.code: frame for frame in self.frames.values()}

    @cached_property
    def _cut_at_the_table(self) -> frozenset[int]:
        """The stretches that took mesh off the shelf themselves, so no piece that lay ready."""
        return frozenset(m.event_id for m in self.moves if m.event_id is not None)

    def _life_of(self, move: MoveRecord) -> LivedMesh | None:
        """The mesh life that a cut was for; of a piece cut ahead, the next one from that roll."""
        if move.event_id is not None:
            return self._by_key.get(move.event_id, (None, None))[0]
        frame = self._by_code.get(code_of_cut(move))
        return next(
            (
                life
                for life in self.lives
                if frame is not None
                and life.frame_id == frame.id
                and life.roll_id == move.roll_id
                and life.key not in self._cut_at_the_table
                and life.events[0].at >= move.happened_at
            ),
            None,
        )

    def used(self, meshes: Mapping[int, MeshTypeRecord], zone: dt.tzinfo) -> tuple[Used, ...]:
        """Tally what left the rolls by month, mesh, size and reason, the newest month first."""
        pieces: dict[tuple[dt.date, int, tuple[float, float] | None, Reason], int] = defaultdict(
            int
        )
        length: dict[tuple[dt.date, int, tuple[float, float] | None, Reason], Fraction] = (
            defaultdict(Fraction)
        )
        for move in self.moves:
            told = self._told(move)
            if told is None:
                continue
            size, reason = told
            month = move.happened_at.astimezone(zone).date().replace(day=1)
            key = (month, move.mesh_type_id, size, reason)
            pieces[key] += move.kind == "cut"
            length[key] -= move.length_mm * self._shares.get(move.roll_id or 0, Fraction(1))
        rows = [
            Used(month, meshes[mesh], size, reason, pieces[month, mesh, size, reason], round(mm))
            for (month, mesh, size, reason), mm in length.items()
        ]
        return tuple(
            sorted(rows, key=lambda u: (-u.month.toordinal(), u.mesh.id, -u.length_mm, u.reason))
        )

    def _told(self, move: MoveRecord) -> tuple[tuple[float, float] | None, Reason] | None:
        """For which size and why; None for what is no use of mesh."""
        if move.kind == "scrapped":
            return None, "scrap"
        if self._is_offcut_kept(move):
            return None, "offcut"
        if move.kind != "cut":
            return None
        life = self._life_of(move)
        frame = self.frames[life.frame_id] if life else self._by_code.get(code_of_cut(move))
        size = (frame.width_mm, frame.height_mm) if frame else None
        if life is None:
            return size, "ahead"
        _, before = self._by_key[life.key]
        if before is None:
            return size, "first"
        return size, _ENDED_BY.get(before.cause.kind, "other") if before.cause else "other"


def read_use(reader: Reader, now: dt.datetime) -> MeshUse:
    """Read what the shop has done with its mesh."""
    frames = reader.frames(FrameFilter(states=tuple(s for s in STATES if s != "void")))
    journals = reader.journals([f.id for f in frames], _KINDS)
    return MeshUse(
        now,
        {f.id: f for f in frames},
        [life for f in frames for life in mesh_lives(f.kind, journals[f.id], now=now)],
        standing(reader.moves()),
        {r.id: r for r in reader.rolls(with_hidden=True)},
        shop_settings(reader).cut_allowance_mm,
    )


def use_of_mesh(desk: Desk) -> tuple[Used, ...]:
    """Tally the use of mesh by month, mesh, size of frame and reason."""
    with desk.read() as reader:
        use = read_use(reader, desk.clock.now())
        meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    return use.used(meshes, desk.clock.zone())
