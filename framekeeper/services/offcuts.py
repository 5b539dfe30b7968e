"""Keeps the ledger honest about offcuts: no mesh comes back twice, and none that never left."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from framekeeper.domain.errors import Conflict, NotPossible, NotValid
from framekeeper.domain.money import FINEST
from framekeeper.domain.offcuts import Served, can_come_back, sizes_served
from framekeeper.domain.records import FrameRecord, RollRecord
from framekeeper.domain.sentence import Millimetres, say
from framekeeper.services.stock_use import standing

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader


@dataclass(frozen=True, slots=True)
class Serving:
    """What the rest of an offcut is good for; no sizes at all where the shop has no frame."""

    sizes: tuple[Served, ...]
    has_frames: bool

    @property
    def is_for_scrap(self) -> bool:
        """Whether it serves no frame of the shop."""
        return self.has_frames and not self.sizes


@dataclass(frozen=True, slots=True)
class _Account:
    """What became of a roll, in mm²."""

    gone_mm2: int
    on_frames_mm2: int
    came_back_mm2: int


def servings(
    rolls: Iterable[RollRecord], frames: Sequence[FrameRecord], *, allowance_mm: int
) -> dict[int, Serving]:
    """Say of each offcut with mesh on it which frames of the shop it serves, by the roll's id."""
    sizes = {(f.width_mm, f.height_mm) for f in frames if f.state.state != "retired"}
    return {
        r.id: Serving(
            sizes_served(r.width_mm, r.on_hand_mm, sizes, allowance_mm=allowance_mm), bool(sizes)
        )
        for r in rolls
        if r.is_offcut and r.on_hand_mm > 0
    }


def refuse_more_than_was_cut(
    reader: Reader, roll: RollRecord, *, width_mm: int, length_mm: int
) -> None:
    """Refuse an offcut that cannot be from this roll.

    Raises
    ------
    NotValid
        If it is wider than the roll, or more mesh than left it and is on no frame.
    """
    if width_mm > roll.width_mm:
        raise NotValid(
            say(
                "Roll {code} is {wide} wide, so no offcut of it is wider.",
                code=roll.code,
                wide=Millimetres(roll.width_mm),
            ),
            argument="width_mm",
        )
    account = _account(reader, roll)
    fits = can_come_back(
        width_mm * length_mm,
        gone_mm2=account.gone_mm2,
        on_frames_mm2=account.on_frames_mm2,
        came_back_mm2=account.came_back_mm2,
    )
    if not fits:
        raise NotValid(
            say(
                "Roll {code} has not lost that much mesh beside what is on frames and came back.",
                code=roll.code,
            ),
            hint=say("Check the size, or count the roll first if more of it is gone."),
            argument="length_mm",
        )


def refuse_counting_twice(reader: Reader, roll_id: int, *, more_cut_mm: int = 0) -> None:
    """Refuse to take a cut back of which an offcut lies on the shelf.

    Raises
    ------
    NotPossible
        If roll and offcuts together would be more than arrived.
    """
    roll = reader.roll(roll_id)
    if roll is None:
        return
    account = _account(reader, roll)
    gone = account.gone_mm2 + more_cut_mm * roll.width_mm
    if not account.came_back_mm2:
        return
    if can_come_back(0, gone_mm2=gone, came_back_mm2=account.came_back_mm2):
        return
    kept = [r.code for r in reader.rolls() if r.from_roll_id == roll_id]
    raise NotPossible(
        say(
            "Offcuts were kept of what was cut from roll {code}: {offcuts}. With this cut taken "
            "back, that mesh would be on the shelf twice.",
            code=roll.code,
            offcuts=", ".join(kept),
        ),
        hint=say("Take the offcut off the shelf first, on its page, then repeat this."),
    )


def refuse_kept_since(reader: Reader, roll_ids: Collection[int], operation_id: int) -> None:
    """Refuse to undo what another bench has kept an offcut of since it was the newest operation.

    Raises
    ------
    Conflict
        If such an offcut is on the shelf.
    """
    offcuts = [r.id for r in reader.rolls() if r.from_roll_id in roll_ids]
    for move in standing(reader.moves(roll_ids=offcuts)):
        if move.kind == "received" and move.operation_id > operation_id:
            raise Conflict(
                say("Someone kept an offcut of that mesh in the meantime."),
                hint=say("Look at the shelf, then undo once more if needed."),
            )


def _account(reader: Reader, roll: RollRecord) -> _Account:
    moves = reader.moves(roll_ids=[roll.id])
    # A roll that turns out longer than its label said has lost no less mesh for it.
    missing = -sum(min(0, m.length_mm) for m in standing(moves) if m.kind == "counted")
    gone = missing - sum(m.length_mm for m in moves if m.kind in ("cut", "scrapped"))
    on_frames = sum(
        -m.length_mm * min(m.width_mm or roll.width_mm, roll.width_mm)
        for m in moves
        if m.kind == "cut"
    )
    offcuts = {r.id: r.width_mm for r in reader.rolls() if r.from_roll_id == roll.id}
    came_back = sum(
        m.length_mm * offcuts[m.roll_id or 0]
        for m in reader.moves(roll_ids=list(offcuts))
        if m.kind == "received"
    )
    return _Account(gone * roll.width_mm, on_frames, came_back)


def price_of_part(price_per_m: Decimal | None, width_mm: int, of_width_mm: int) -> Decimal | None:
    """Return the price per metre of a strip: its share of the roll's price.

    >>> price_of_part(Decimal("12.00"), 400, 1200)
    Decimal('4.000000')
    """
    if price_per_m is None:
        return None
    return (price_per_m * width_mm / of_width_mm).quantize(FINEST)
