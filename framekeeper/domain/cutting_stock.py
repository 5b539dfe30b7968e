"""Cuts lengths from bars or narrow strips of one length: the cutting problem in one dimension."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from framekeeper.domain.cutting_batch import is_number_of
from framekeeper.domain.cutting_problem import Kind, Problem, Stock
from framekeeper.domain.cutting_search import Clock, begin, improve
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

FINEST = 1_000_000  # steps that a stock length is split into at most

Number = float | int | Decimal


@dataclass(frozen=True, slots=True)
class StockPlan:
    """How many stock lengths it takes.

    Attributes
    ----------
    count
        Stock lengths that the plan takes.
    patterns
        (how often, pieces of each length in the order given), the most frequent first.
    lower_bound
        No plan takes fewer.
    relaxation
        The value of the linear relaxation over all patterns; NaN where it was not needed or not
        reached in time.
    """

    count: int
    patterns: tuple[tuple[int, tuple[int, ...]], ...]
    lower_bound: int
    relaxation: float

    @property
    def is_proven(self) -> bool:
        """Whether no plan takes fewer stock lengths."""
        return self.count == self.lower_bound


def stock_lengths(
    lengths: Sequence[Number],
    demand: Sequence[int],
    stock_length: Number,
    *,
    seconds: float | None = 30.0,
) -> StockPlan:
    """Cut lengths from as few stock lengths as possible (cutting stock problem [1]_).

    Parameters
    ----------
    lengths
        (n,) what is wanted, each above 0 and at most `stock_length`, all in one unit.
    demand
        (n,) how many of each, whole numbers from 0.
    stock_length
        The length that is bought, in the same unit. Where a millionth of it is coarser than what
        the lengths need, they are rounded up to such millionths.
    seconds
        How long a better plan is sought; None for until the best is proven.

    Returns
    -------
    StockPlan

    Raises
    ------
    NotValid
        Names the argument: a number that cannot be, a length that no stock length holds, or columns
        of unequal length.

    References
    ----------
    .. [1] P. C. Gilmore and R. E. Gomory (1961), A linear programming approach to the cutting-stock
       problem, Operations Research 9(6), 849-859.

    Examples
    --------
    >>> stock_lengths([45, 36, 31, 14], [97, 610, 395, 211], 100).count
    453
    """
    stock = _exact("stock_length", stock_length)
    wanted = [_exact("lengths", length) for length in lengths]
    numbers = _numbers(demand, len(wanted))
    if any(length > stock for length in wanted):
        raise NotValid(
            say("A length is longer than the stock length {stock}.", stock=stock_length),
            argument="lengths",
        )
    room, widths = _whole(stock, wanted)
    # A stock length is a row of a roll: as wide as the stock is long, and one step long.
    total = Counter[int]()
    for width, number in zip(widths, numbers, strict=True):
        total[width] += number
    kinds = tuple(Kind(((w, 1),), total[w]) for w in sorted(total, reverse=True) if total[w])
    problem = Problem(kinds, (Stock(room, sum(total.values())),), is_priced=False)
    found = begin(problem)
    improve(problem, found, Clock(seconds), lambda: None)
    used = Counter(_handed_out(problem, [cut.counts for cut in found.cuts], widths, numbers))
    patterns = sorted(((often, counts) for counts, often in used.items()), reverse=True)
    return StockPlan(len(found.cuts), tuple(patterns), found.length_bound, found.relaxation)


def _handed_out(
    problem: Problem, rows: list[tuple[int, ...]], widths: list[int], numbers: list[int]
) -> list[tuple[int, ...]]:
    """Say the rows in the lengths as given, of which several may be equal."""
    left, said = list(numbers), []
    for row in rows:
        counts = [0] * len(widths)
        for kind, n in zip(problem.kinds, row, strict=True):
            for i, width in enumerate(widths):
                if width == kind.shapes[0][0] and n:
                    taken = min(n, left[i])
                    counts[i], left[i], n = counts[i] + taken, left[i] - taken, n - taken
        said.append(tuple(counts))
    return said


def _exact(name: str, value: Number) -> Fraction:
    """Return what was typed as an exact fraction, or refuse it by the argument's name."""
    try:
        number = Fraction(str(value))
    except (ValueError, ZeroDivisionError):
        number = Fraction(0)
    if number > 0:
        return number
    raise NotValid(
        say("{name} must be above 0, not {value}.", name=name, value=value), argument=name
    )


def _numbers(demand: Sequence[int], n: int) -> list[int]:
    if len(demand) != n:
        raise NotValid(
            say("There are {n} lengths and {m} numbers.", n=n, m=len(demand)), argument="demand"
        )
    for number in demand:
        if not is_number_of(number):
            raise NotValid(
                say("A demand must be a whole number from 0, not {number}.", number=number),
                argument="demand",
            )
    return [int(number) for number in demand]


def _whole(stock: Fraction, wanted: list[Fraction]) -> tuple[int, list[int]]:
    """Put all lengths into whole steps: exactly where that takes few enough of them."""
    shared = math.lcm(stock.denominator, *(length.denominator for length in wanted))
    whole = [int(length * shared) for length in wanted]
    unit = math.gcd(*whole) or 1
    room = int(stock * shared) // unit
    if room <= FINEST:
        return room, [length // unit for length in whole]
    return FINEST, [math.ceil(length / stock * FINEST) for length in wanted]
