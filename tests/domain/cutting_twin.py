"""What cut plans are held against: rules that all must keep, and a search through all plans."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from itertools import pairwise, product

import pytest

from framekeeper.domain.cutting import CutPlan, Piece, Roll, RollPlan

DUST = 1e-6  # mm


def keeps_the_rules(
    plan: CutPlan, pieces: Sequence[Piece], rolls: Sequence[Roll], *, may_turn: bool
) -> None:
    """Fail unless the plan can be cut as it stands and its figures add up."""
    placed = [p for row in plan.rows for p in row.pieces]
    out = [left.piece for left in plan.unplaced]
    assert Counter([p.piece for p in placed] + out) == Counter(pieces)
    order = [rolls.index(cut.roll) for cut in plan.rolls]
    assert order == sorted(order)
    assert not Counter(cut.roll for cut in plan.rolls) - Counter(rolls)
    for cut in plan.rolls:
        _can_be_cut(cut, may_turn)
    assert plan.used_mm == pytest.approx(sum(row.length_mm for row in plan.rows))
    area = sum(cut.roll.width_mm * row.length_mm for cut in plan.rolls for row in cut.rows)
    inside = sum(p.piece.width_mm * p.piece.length_mm for p in placed)
    assert plan.waste == pytest.approx(1 - inside / area if area else 0)
    assert 0 <= plan.waste < 1
    assert 0 <= plan.lower_bound_mm <= plan.used_mm
    if plan.lower_bound_cost is not None:
        assert 0 <= plan.lower_bound_cost <= plan.cost
        prices = [Decimal(str(c.used_mm)) * c.roll.price_per_m / 1000 for c in plan.rolls]
        assert plan.cost == sum(prices)
    if plan.is_proven:
        assert plan.gap == 0


def _can_be_cut(cut: RollPlan, may_turn: bool) -> None:
    assert cut.rows[0].y_mm == 0
    for row, after in pairwise(cut.rows):
        assert after.y_mm == pytest.approx(row.y_mm + row.length_mm, abs=DUST)
    assert cut.rows[-1].y_mm + cut.rows[-1].length_mm <= cut.roll.length_mm + DUST
    for row in cut.rows:
        assert row.pieces[0].x_mm == 0
        for left, right in pairwise(row.pieces):
            assert left.x_mm + left.width_mm <= right.x_mm + DUST
        assert row.pieces[-1].x_mm + row.pieces[-1].width_mm <= cut.roll.width_mm + DUST
        longest = max(p.length_mm for p in row.pieces)
        assert longest <= row.length_mm + DUST
        assert row.length_mm < longest + 0.1 - DUST
        for p in row.pieces:
            size = (p.piece.width_mm, p.piece.length_mm)
            assert (p.width_mm, p.length_mm) == (size[::-1] if p.is_turned else size)
            is_free = may_turn if p.piece.may_turn is None else p.piece.may_turn
            assert is_free or not p.is_turned
            assert p.piece.mesh == cut.roll.mesh


def worth(plan: CutPlan) -> tuple[int, Decimal, float]:
    """What plans are compared by: pieces left out, cost, length."""
    return len(plan.unplaced), plan.cost or Decimal(0), plan.used_mm


def best_worth(
    pieces: Sequence[Piece], rolls: Sequence[Roll], *, may_turn: bool
) -> tuple[int, Decimal, float]:
    """Go through every way to split the pieces into rows and the rows over rolls of one mesh.

    Sets of pieces are bits of a number. Only for a handful of pieces: the work grows with 3^n.
    """
    n = len(pieces)
    is_priced = all(roll.price_per_m is not None for roll in rolls)

    def ways(piece: Piece) -> list[tuple[float, float]]:
        is_free = may_turn if piece.may_turn is None else piece.may_turn
        size = (piece.width_mm, piece.length_mm)
        return [size, size[::-1]] if is_free else [size]

    @cache
    def row_length(some: int, width: float) -> float:
        """The shortest row of one roll width that holds these pieces side by side."""
        inside = [ways(piece) for i, piece in enumerate(pieces) if some >> i & 1]
        lengths = [
            max(length for _, length in laid)
            for laid in product(*inside)
            if sum(across for across, _ in laid) <= width
        ]
        return min(lengths, default=math.inf)

    @cache
    def rows_length(some: int, width: float) -> float:
        """The least length in which these pieces come off a roll, split into rows in any way."""
        if not some:
            return 0.0
        first = some & -some
        return min(
            row_length(part, width) + rows_length(some ^ part, width)
            for part in _parts(some)
            if part & first
        )

    best: dict[int, tuple[Decimal, float]] = {0: (Decimal(0), 0.0)}
    for roll in rolls:
        price = roll.price_per_m if is_priced else Decimal(0)
        after = dict(best)
        for done, (cost, length) in best.items():
            for more in _parts((1 << n) - 1 - done):
                taken = rows_length(more, roll.width_mm)
                if taken > roll.length_mm:
                    continue
                now = (cost + Decimal(str(taken)) * price / 1000, length + taken)
                if done | more not in after or now < after[done | more]:
                    after[done | more] = now
        best = after
    return min((n - some.bit_count(), *value) for some, value in best.items())


def _parts(some: int) -> list[int]:
    """All parts of a set that are not empty."""
    found, part = [], some
    while part:
        found.append(part)
        part = (part - 1) & some
    return found
