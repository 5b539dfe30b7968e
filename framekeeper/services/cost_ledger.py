"""What the mesh ledger says of costs: mesh for a stretch, waste, and what a metre cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from framekeeper.domain.records import FrameRecord, MoveRecord, RollRecord
from framekeeper.domain.sentence import Running, say
from framekeeper.services.cost_seen import Seen, Told, Trace, rounded
from framekeeper.services.stock_use import bought


def _part_of_roll(seen: Seen, roll_id: int | None) -> Decimal:
    """Width of an offcut as a share of the roll that it came from; 1 for a roll."""
    roll = seen.rolls.get(roll_id or 0)
    if roll is None:
        return Decimal(1)
    return Decimal(roll.width_mm) / bought(roll, seen.rolls).width_mm


def _full_mm(seen: Seen, move: MoveRecord) -> Decimal:
    """Length of the movement in full widths of its roll; above 0 for what leaves the shelf."""
    return -move.length_mm * _part_of_roll(seen, move.roll_id)


def _of_kind(seen: Seen, *kinds: str) -> list[MoveRecord]:
    return [m for m in seen.moves if m.kind in kinds and m.happened_at >= seen.since]


def _offcuts(seen: Seen) -> list[MoveRecord]:
    """What was kept of a cut: it took its length off the roll, and this came back."""
    return [
        m
        for m in _of_kind(seen, "received")
        if m.roll_id is not None and seen.rolls[m.roll_id].from_roll_id is not None
    ]


def mesh_used(seen: Seen) -> Told:
    """Tell the metres that one piece takes off a roll."""
    cuts, kept = _of_kind(seen, "cut"), _offcuts(seen)
    if not cuts:
        return Told(None, say("No cut was recorded in the last year."))
    used = sum((_full_mm(seen, m) for m in (*cuts, *kept)), Decimal(0))
    each = used / len(cuts)
    words = say(
        "{used:.1f} for {n} pieces, offcuts that were kept taken off",
        used=Running(float(used)),
        n=len(cuts),
    )
    traces = _moves(seen, (*cuts, *kept))
    return Told(rounded(each / 1000, 4) if each > 0 else None, words, traces)


def mesh_waste(seen: Seen) -> Told:
    """Tell the share of what left the rolls that was scrapped."""
    cuts, scraps = _of_kind(seen, "cut"), _of_kind(seen, "scrapped")
    used = sum((_full_mm(seen, m) for m in (*cuts, *_offcuts(seen))), Decimal(0))
    lost = sum((_full_mm(seen, m) for m in scraps), Decimal(0))
    if used <= 0:
        return Told(None, say("No cut was recorded in the last year."))
    words = say(
        "{lost:.1f} scrapped beside {used:.1f} cut",
        lost=Running(float(lost)),
        used=Running(float(used)),
    )
    traces = _moves(seen, (*scraps, *cuts))
    return Told(rounded(lost / (lost + used), 4), words, traces)


def mesh_price(seen: Seen) -> Told:
    """Tell what a metre cost: of each roll, by the length that was cut from it."""
    cut: dict[int, list[MoveRecord]] = defaultdict(list)
    for move in _of_kind(seen, "cut"):
        if move.roll_id is not None:
            cut[move.roll_id].append(move)
    priced = {i: m for i, m in cut.items() if seen.rolls[i].price_per_m is not None}
    traces = tuple(_roll(seen, seen.rolls[i], moves) for i, moves in sorted(cut.items()))
    words = say("{n} of {cut} rolls that were cut have a price", n=len(priced), cut=len(cut))
    length = sum((_full_mm(seen, m) for ms in priced.values() for m in ms), Decimal(0))
    if length <= 0:
        return Told(None, words, traces)
    money = sum(
        (-m.length_mm * (seen.rolls[i].price_per_m or 0) for i, ms in priced.items() for m in ms),
        Decimal(0),
    )
    return Told(rounded(money / length, 6), words, traces)


def _moves(seen: Seen, moves: Iterable[MoveRecord]) -> tuple[Trace, ...]:
    stretched = {life.key: seen.frames[life.frame_id] for life in seen.lives}
    return tuple(_move(seen, move, stretched.get(move.event_id or 0)) for move in moves)


def _move(seen: Seen, move: MoveRecord, frame: FrameRecord | None) -> Trace:
    """A movement; a cut leads to the stretch that it was made for."""
    roll = seen.rolls.get(move.roll_id or 0)
    name = "" if roll is None else roll.code
    length = Running(abs(move.length_mm))
    if move.kind == "cut" and frame is not None:
        what = say("cut: {length:.2f} for {frame}", length=length, frame=frame.name)
        at = move.happened_at
        return Trace("move", move.id, at, what, name, frame.code, move.event_id or 0)
    words = {
        "cut": say("cut: {length:.2f}", length=length),
        "scrapped": say("scrapped: {length:.2f}", length=length),
        "received": say("kept as an offcut: {length:.2f}", length=length),
    }
    return Trace("move", move.id, move.happened_at, words[move.kind], name)


def _roll(seen: Seen, roll: RollRecord, moves: Sequence[MoveRecord]) -> Trace:
    length = Running(float(-sum(m.length_mm for m in moves)))
    if roll.price_per_m is None:
        what = say("{length:.2f} cut, no price", length=length)
    else:
        spent = float(-sum(m.length_mm for m in moves) * roll.price_per_m / 1000)
        what = say("{length:.2f} cut, worth {money:.2f}", length=length, money=spent)
    return Trace("roll", roll.id, max(m.happened_at for m in moves), what, roll.code)
