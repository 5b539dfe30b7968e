"""Puts a cutting job into whole numbers: kinds of pieces, stock, rows, and what a plan is worth.

All lengths are whole steps of a tenth of a millimetre: pieces are rounded up and rolls down, so a
plan never relies on mesh that is not there, and sums are exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from framekeeper.domain.cutting_plan import (
    Piece,
    PlacedPiece,
    Roll,
    RollPlan,
    Row,
    Unplaced,
    Why,
)

STEPS_PER_MM = 10
_DUST = 1e-6  # of a step: binary fractions of what was typed as tenths


def steps_up(mm: float) -> int:
    """Return the least whole number of steps that holds a piece."""
    return math.ceil(mm * STEPS_PER_MM - _DUST)


def steps_down(mm: float) -> int:
    """Return the whole steps that a roll holds."""
    return math.floor(mm * STEPS_PER_MM + _DUST)


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces that are alike: their shapes (across, along) in steps, one or two, and their number.

    `pieces` is empty where only the number matters.
    """

    shapes: tuple[tuple[int, int], ...]
    count: int
    pieces: tuple[Piece, ...] = ()

    def across(self, height: int) -> int | None:
        """Return the width that such a piece takes in a row of a given length.

        Nothing in the row depends on how long the piece is, so the narrowest way to lay it that the
        row is long enough for is never worse than the other.
        """
        return min((w for w, along in self.shapes if along <= height), default=None)

    def shape(self, height: int) -> tuple[int, int]:
        """Return the shape that goes with `across`."""
        return min(shape for shape in self.shapes if shape[1] <= height)


@dataclass(frozen=True, slots=True)
class Stock:
    """A roll in steps; `price` is a whole number, in the same unit for all rolls of a problem."""

    width: int
    length: int
    price: int = 1
    place: int = 0


@dataclass(frozen=True, slots=True)
class Cut:
    """A row: on which stock, how long, and how many pieces of each kind."""

    stock: int
    height: int
    counts: tuple[int, ...]


@dataclass(frozen=True)
class Problem:
    """Pieces and stock of one mesh; every kind fits on some stock by itself."""

    kinds: tuple[Kind, ...]
    stock: tuple[Stock, ...]
    is_priced: bool

    @cached_property
    def heights(self) -> tuple[int, ...]:
        """The lengths that a row can have, the longest first."""
        widest = max((s.width for s in self.stock), default=0)
        found = {along for kind in self.kinds for w, along in kind.shapes if w <= widest}
        return tuple(sorted(found, reverse=True))

    @cached_property
    def widths(self) -> tuple[int, ...]:
        """The widths of the stock, the widest first."""
        return tuple(sorted({s.width for s in self.stock}, reverse=True))

    def missing(self, cuts: Sequence[Cut]) -> tuple[int, ...]:
        """Say how many pieces of each kind have no place."""
        placed = [sum(cut.counts[i] for cut in cuts) for i in range(len(self.kinds))]
        return tuple(kind.count - n for kind, n in zip(self.kinds, placed, strict=True))

    def length(self, cuts: Sequence[Cut]) -> int:
        """Add up the length that the rows take, in steps."""
        return sum(cut.height for cut in cuts)

    def price(self, cuts: Sequence[Cut]) -> int:
        """Add up what the rows cost."""
        return sum(cut.height * self.stock[cut.stock].price for cut in cuts)

    def worth(self, cuts: Sequence[Cut]) -> tuple[int, int, int]:
        """Return what is compared, the least first: pieces left out, price, length."""
        price = self.price(cuts) if self.is_priced else 0
        return sum(self.missing(cuts)), price, self.length(cuts)

    def tidy(self, cuts: Sequence[Cut]) -> list[Cut]:
        """Drop pieces beyond the number that is wanted, and shorten the rows that held them."""
        left = [kind.count for kind in self.kinds]
        kept = []
        for cut in sorted(cuts, key=lambda c: (-c.height, c.stock, c.counts)):
            counts = tuple(min(n, rest) for n, rest in zip(cut.counts, left, strict=True))
            if not any(counts):
                continue
            left = [rest - n for rest, n in zip(left, counts, strict=True)]
            inside = [kind for kind, n in zip(self.kinds, counts, strict=True) if n]
            height = max(kind.shape(cut.height)[1] for kind in inside)
            kept.append(Cut(cut.stock, height, counts))
        return sorted(kept, key=lambda c: (c.stock, -c.height, c.counts))


def roll_plans(problem: Problem, cuts: Sequence[Cut], rolls: Sequence[Roll]) -> list[RollPlan]:
    """Lay the pieces of a solution into their rows, roll by roll."""
    waiting = [list(reversed(kind.pieces)) for kind in problem.kinds]
    plans = []
    for number, stock in enumerate(problem.stock):
        y, rows = 0, []
        for cut in (c for c in cuts if c.stock == number):
            rows.append(_row(problem, cut, y, waiting))
            y += cut.height
        if rows:
            plans.append(RollPlan(rolls[stock.place], tuple(rows)))
    return plans


def _row(problem: Problem, cut: Cut, y: int, waiting: list[list[Piece]]) -> Row:
    """Lay a row from the left selvage, its longest pieces first; y is where it begins."""
    inside = [
        (*kind.shape(cut.height), waiting[i])
        for i, kind in enumerate(problem.kinds)
        for _ in range(cut.counts[i])
    ]
    x, placed = 0, []
    for across, _, alike in sorted(inside, key=lambda p: (p[1], p[0]), reverse=True):
        piece = alike.pop()
        is_turned = across != steps_up(piece.width_mm)
        width, length = piece.width_mm, piece.length_mm
        if is_turned:
            width, length = length, width
        placed.append(PlacedPiece(piece, is_turned, x / STEPS_PER_MM, width, length))
        x += across
    return Row(y / STEPS_PER_MM, cut.height / STEPS_PER_MM, tuple(placed))


def left_out(problem: Problem, cuts: Sequence[Cut]) -> list[Unplaced]:
    """List the pieces for which the mesh did not suffice."""
    return [
        Unplaced(piece, Why.NOT_ENOUGH)
        for kind, n in zip(problem.kinds, problem.missing(cuts), strict=True)
        for piece in kind.pieces[len(kind.pieces) - n :]
    ]
