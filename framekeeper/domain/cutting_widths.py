"""Tells which width of roll is the cheapest for the screens that a shop makes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from framekeeper.domain.cutting_batch import Size, as_pieces, as_roll, check_price, kinds_of
from framekeeper.domain.cutting_master import Master
from framekeeper.domain.cutting_plan import Piece, Roll
from framekeeper.domain.cutting_problem import STEPS_PER_MM, Problem, Stock, steps_down
from framekeeper.domain.cutting_search import goal_of
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

_FEW_ROWS = 4_000


@dataclass(frozen=True, slots=True)
class WidthCost:
    """What one screen takes off a roll of some width, in the long run.

    Attributes
    ----------
    width_mm
        Of the roll.
    price_per_m
        Of the roll.
    length_per_piece_mm, cost_per_piece
        Of the pieces that fit, on average; None where none fits.
    waste
        Share of the mesh, 0 to 1, that is in no piece; None where none fits.
    too_wide
        The pieces that this roll cannot give.
    """

    width_mm: float
    price_per_m: Decimal
    length_per_piece_mm: float | None
    cost_per_piece: Decimal | None
    waste: float | None
    too_wide: tuple[Piece, ...]


def widths_to_buy(
    pieces: Sequence[Piece | Size],
    widths: Sequence[tuple[float, Decimal]],
    *,
    may_turn: bool,
) -> tuple[WidthCost, ...]:
    """Compare roll widths by what a screen costs in mesh when such pieces come again and again.

    The pieces stand for the shop's mix, cut in rows as by `plan_cuts` from a roll without end: the
    value of the linear programme over rows, which is what the plan of a large batch comes down to.
    For one size it is: length of the piece / pieces across the roll, the better way round.

    Parameters
    ----------
    pieces
        (n,) the mix, n >= 1, as for `plan_cuts`; their mesh is not looked at.
    widths
        (m,) width of the roll in mm and its price per metre.
    may_turn
        Whether pieces that do not say so themselves may be turned.

    Returns
    -------
    tuple of WidthCost
        The cheapest first; widths that cannot give every piece come last.

    Raises
    ------
    NotValid
        Names the argument: no pieces, or a size or price that cannot be.

    Examples
    --------
    >>> best = widths_to_buy([(685.8, 889)], [(1574.8, Decimal(20)), (1828.8, Decimal(22))],
    ...                      may_turn=True)
    >>> [(w.width_mm, round(w.length_per_piece_mm, 1)) for w in best]
    [(1828.8, 342.9), (1574.8, 444.5)]
    """
    wanted = [replace(p, mesh="") for given in pieces for p in as_pieces(given)]
    if not wanted:
        raise NotValid(say("Without any piece no width can be chosen."), argument="pieces")
    costs = []
    for width_mm, price in widths:
        roll = as_roll(Roll(width_mm, math.inf), "widths")
        if price is None:
            raise NotValid(say("Each width needs its price per metre."), argument="widths")
        check_price(price, "widths")
        costs.append(_cost(wanted, roll, Decimal(price), may_turn))
    return tuple(sorted(costs, key=_dearness))


def _dearness(cost: WidthCost) -> tuple[int, Decimal, float]:
    return len(cost.too_wide), cost.cost_per_piece or Decimal(0), cost.width_mm


def _cost(wanted: list[Piece], roll: Roll, price: Decimal, may_turn: bool) -> WidthCost:
    width = steps_down(roll.width_mm)
    kinds, hopeless = kinds_of(wanted, [(width, roll.length_mm)], may_turn)
    too_wide = tuple(out.piece for out in hopeless)
    if not kinds:
        return WidthCost(roll.width_mm, price, None, None, None, too_wide)
    # So many of each that a row may hold as many of one kind as there is room for.
    narrowest = min(across for kind in kinds for across, _ in kind.shapes)
    many = width // narrowest
    kinds = tuple(replace(kind, count=kind.count * many) for kind in kinds)
    longest = sum(kind.count * max(along for _, along in kind.shapes) for kind in kinds)
    problem = Problem(kinds, (Stock(width, longest),), is_priced=False)
    placed = sum(len(kind.pieces) for kind in kinds)
    length_mm = _relaxed(problem) / many / STEPS_PER_MM
    area = sum(p.width_mm * p.length_mm for kind in kinds for p in kind.pieces)
    per_piece = length_mm / placed
    return WidthCost(
        width_mm=roll.width_mm,
        price_per_m=price,
        length_per_piece_mm=per_piece,
        cost_per_piece=Decimal(repr(round(per_piece, 6))) * price / 1000,
        waste=1 - area / (length_mm * roll.width_mm),
        too_wide=too_wide,
    )


def _relaxed(problem: Problem) -> float:
    """Return the value of the linear programme over all rows, in steps."""
    goal = goal_of(problem, [1])
    master = Master(problem, may_leave_out=False)
    master.add_each_alone()
    has_all = master.add_all(_FEW_ROWS)
    while True:
        value, prices = master.relaxed(goal, [])
        if has_all or not master.add_richest(prices):
            return value / goal.scale
