"""Finds a good cut plan at once, so that there is one to show while a better one is sought.

First fit by decreasing length [1]_: the longest pieces open rows, later ones go into the row that
they fill best. It is tried with several ways of laying the pieces and several orders of the rolls,
and the best is kept.

References
----------
.. [1] E. G. Coffman, M. R. Garey, D. S. Johnson and R. E. Tarjan (1980), Performance bounds for
   level-oriented two-dimensional packing algorithms, SIAM J. Comput. 9(4), 808-826.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

from framekeeper.domain.cutting_problem import Cut, Kind, Problem, Stock

Shape = tuple[int, int]

# How a piece is laid that opens a row: the short side along, the long side along.
_LAYINGS: tuple[Callable[[Shape], Shape], ...] = (
    lambda shape: (shape[1], shape[0]),
    lambda shape: (-shape[1], shape[0]),
)
_ORDERS: tuple[Callable[[Stock], tuple[float, ...]], ...] = (
    lambda stock: (stock.price / stock.width, -stock.width),
    lambda stock: (stock.price, -stock.width),
    lambda stock: (-stock.width, stock.price),
    lambda stock: (stock.length, stock.price),
)


@dataclass
class _OpenRow:
    stock: int
    height: int
    room: int
    counts: list[int]


def first_cuts(problem: Problem) -> list[Cut]:
    """Return the best of a few first-fit plans; pieces without a place are left out."""
    numbers = range(len(problem.stock))
    orders = {tuple(sorted(numbers, key=lambda k: o(problem.stock[k]))) for o in _ORDERS}
    layings = {tuple(tuple(sorted(k.shapes, key=lay)) for k in problem.kinds) for lay in _LAYINGS}
    best: list[Cut] = []
    for ways, order in product(sorted(layings), sorted(orders)):
        best = min(best, problem.tidy(_fill(problem, ways, order)), key=problem.worth)
    return best


def _fill(
    problem: Problem, ways: tuple[tuple[Shape, ...], ...], order: tuple[int, ...]
) -> list[Cut]:
    """Fill rows; `ways` are the shapes of each kind, the preferred one first."""
    left = [s.length for s in problem.stock]
    rows: list[_OpenRow] = []
    by_length = sorted(range(len(ways)), key=lambda i: (ways[i][0][1], ways[i][0][0]), reverse=True)
    for i in by_length:
        kind = problem.kinds[i]
        for _ in range(kind.count):
            row = _fullest(rows, kind)
            if row is None:
                row = _opened(problem, ways[i], order, left)
                if row is None:
                    break
                rows.append(row)
            row.counts[i] += 1
            row.room -= kind.across(row.height) or 0
    return [Cut(row.stock, row.height, tuple(row.counts)) for row in rows]


def _fullest(rows: list[_OpenRow], kind: Kind) -> _OpenRow | None:
    """Find the row that has the least room left once the piece is in it."""
    best, least = None, -1
    for row in rows:
        across = kind.across(row.height)
        if (
            across is not None
            and across <= row.room
            and (best is None or row.room - across < least)
        ):
            best, least = row, row.room - across
    return best


def _opened(
    problem: Problem, shapes: tuple[Shape, ...], order: tuple[int, ...], left: list[int]
) -> _OpenRow | None:
    for across, along in shapes:
        for k in order:
            if along <= left[k] and across <= problem.stock[k].width:
                left[k] -= along
                return _OpenRow(k, along, problem.stock[k].width, [0] * len(problem.kinds))
    return None
