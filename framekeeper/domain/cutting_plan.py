"""What a cut plan is made of: pieces and rolls that go in, rows of placed pieces that come out."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum

from framekeeper.domain.sentence import Millimetres, Sentence, say

_MM_PER_M = 1000


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of mesh that is wanted.

    Parameters
    ----------
    width_mm
        Across the roll, along the weft, mm, above 0.
    length_mm
        Along the roll, along the warp, mm, above 0.
    key
        Tells the caller's pieces apart; the plan hands it back and reads nothing into it.
    mesh
        Which mesh; only rolls of the same mesh serve.
    may_turn
        Whether width and length may change places, so that the warp runs across; None leaves it to
        the plan as a whole.
    """

    width_mm: float
    length_mm: float
    key: Hashable = ""
    mesh: str = ""
    may_turn: bool | None = None


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll or an offcut to cut from.

    Parameters
    ----------
    width_mm
        Mesh from selvage to selvage that can be used, mm, above 0.
    length_mm
        What is left on it, mm, from 0; `math.inf` for a roll that is bought as long as needed.
    key
        Tells the caller's rolls apart.
    mesh
        Which mesh is on it.
    price_per_m
        Price of one metre off this roll, from 0; None where it is not known. An offcut that is
        worth nothing any more has the price 0, and is then used up first.
    """

    width_mm: float
    length_mm: float
    key: Hashable = ""
    mesh: str = ""
    price_per_m: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece in its row: `x_mm` from the left selvage, `width_mm` across, `length_mm` along."""

    piece: Piece
    is_turned: bool
    x_mm: float
    width_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Row:
    """A strip across the whole roll, `y_mm` from the roll's loose end, and the pieces in it."""

    y_mm: float
    length_mm: float
    pieces: tuple[PlacedPiece, ...]


@dataclass(frozen=True, slots=True)
class RollPlan:
    """The rows that come off one roll, in the order of cutting."""

    roll: Roll
    rows: tuple[Row, ...]

    @property
    def used_mm(self) -> float:
        """The length that comes off the roll."""
        return _sum_mm(row.length_mm for row in self.rows)

    @property
    def cost(self) -> Decimal | None:
        """The price of that length, unrounded; None where the roll has no price."""
        if self.roll.price_per_m is None:
            return None
        return Decimal(repr(self.used_mm)) * self.roll.price_per_m / _MM_PER_M


class Why(Enum):
    """Why a piece found no place."""

    NO_ROLL = "no roll"
    TOO_WIDE = "too wide"
    TOO_LONG = "too long"
    NOT_ENOUGH = "not enough mesh"


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A piece that the plan leaves out, and why."""

    piece: Piece
    why: Why

    @property
    def reason(self) -> Sentence:
        """The reason as a sentence."""
        width, length = Millimetres(self.piece.width_mm), Millimetres(self.piece.length_mm)
        if self.why is Why.NO_ROLL:
            return say("There is no roll of this mesh.")
        if self.why is Why.TOO_WIDE:
            return say(
                "A piece of {width} x {length} is wider than every roll of its mesh.",
                width=width,
                length=length,
            )
        if self.why is Why.TOO_LONG:
            return say(
                "A piece of {width} x {length} is longer than what is left on every roll that is"
                " wide enough.",
                width=width,
                length=length,
            )
        return say("Not enough mesh is left for all pieces.")


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Which piece is cut where, and how much better it could be at most.

    Attributes
    ----------
    rolls
        The rolls that are cut, in the order in which they were given.
    unplaced
        The pieces that are left out.
    lower_bound_mm
        No plan in rows that places as many pieces takes less length off the rolls, mm.
    lower_bound_cost
        No such plan costs less; None where a price is missing.
    is_proven
        Whether no plan places more pieces, nor as many at a lower cost (where a price is missing:
        in a shorter length).
    """

    rolls: tuple[RollPlan, ...]
    unplaced: tuple[Unplaced, ...]
    lower_bound_mm: float
    lower_bound_cost: Decimal | None
    is_proven: bool

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows, roll by roll."""
        return tuple(row for cut in self.rolls for row in cut.rows)

    @property
    def used_mm(self) -> float:
        """The length that comes off all rolls together."""
        return _sum_mm(row.length_mm for row in self.rows)

    @property
    def cost(self) -> Decimal | None:
        """The price of what is cut, unrounded; None where a price is missing."""
        if self.lower_bound_cost is None:
            return None
        return sum((cut.cost or Decimal(0) for cut in self.rolls), Decimal(0))

    @property
    def waste(self) -> float:
        """The share of the cut area, 0 to 1, that is in no piece."""
        cut = sum(part.roll.width_mm * part.used_mm for part in self.rolls)
        kept = sum(p.width_mm * p.length_mm for row in self.rows for p in row.pieces)
        return 1 - kept / cut if cut else 0.0

    @property
    def gap(self) -> float:
        """How much could be saved at most, as a share of the cost, else of the length."""
        cost = self.cost
        if cost is not None and self.lower_bound_cost is not None:
            return float((cost - self.lower_bound_cost) / cost) if cost else 0.0
        return (self.used_mm - self.lower_bound_mm) / self.used_mm if self.used_mm else 0.0


def _sum_mm(lengths: Iterable[float]) -> float:
    """Add lengths that are whole tenths of a millimetre, without the dust of binary fractions."""
    return round(sum(lengths), 1)
