"""Improves a first cut plan until none can be better, or until there is no time left.

Goals are reached one after the other: as many pieces as the mesh allows, then the least cost, then
the least length. For each, the linear programme over rows gives a bound (rows are added as its
prices ask for them [1]_), then every row that a better plan could hold is listed, and an integer
programme over these finds a better plan or proves that there is none. It runs in slices of growing
length, so that what it has found is kept.

References
----------
.. [1] P. C. Gilmore and R. E. Gomory (1961), A linear programming approach to the cutting-stock
   problem, Operations Research 9(6), 849-859.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from framekeeper.domain.cutting_first import first_cuts
from framekeeper.domain.cutting_master import Goal, Limit, Master
from framekeeper.domain.cutting_problem import Cut, Problem

FEW_ROWS, MOST_ROWS = 4_000, 20_000  # to list at once, and when a bound is known
FIRST_SLICE_S, SLICE_GROWTH = 2.0, 3.0
TIE_BREAK_S = 2.0  # for the shorter of two plans at one price
_DIVES = (0.3, 0.5, 1)  # shares of the pieces that are left to the integer programme
_LARGEST_COST = 1e4  # of one row, as the solver sees it


@dataclass
class Found:
    """The best rows so far and what is proven about them; bounds are for plans as full as these.

    `price_bound` and `length_bound` are in the problem's units.
    """

    cuts: list[Cut]
    price_bound: int
    length_bound: int
    is_proven: bool = False
    relaxation: float = math.nan  # value of the linear programme for the length, in steps


def never() -> bool:
    """Ask for no stop."""
    return False


@dataclass
class Clock:
    """How long a search may still go on."""

    seconds: float | None = None
    should_stop: Callable[[], bool] = never
    _began: float = field(default_factory=time.monotonic)

    @property
    def left_s(self) -> float | None:
        """The seconds that are left; None for no end."""
        if self.seconds is None:
            return None
        return self.seconds - (time.monotonic() - self._began)

    def is_over(self) -> bool:
        """Whether to stop now."""
        left = self.left_s
        return (left is not None and left <= 0) or self.should_stop()


def begin(problem: Problem) -> Found:
    """Return the first plan, with bounds from the areas alone."""
    cuts = first_cuts(problem)
    is_empty = not problem.kinds
    relaxation = 0.0 if is_empty else math.nan
    return Found(cuts, *_area_bounds(problem, cuts), is_proven=is_empty, relaxation=relaxation)


def improve(problem: Problem, found: Found, clock: Clock, tell: Callable[[], None]) -> None:
    """Make `found` better in place and call `tell` whenever it has become better."""
    if not problem.kinds:
        return
    _Search(problem, found, clock, tell).run()


def _area_bounds(problem: Problem, cuts: list[Cut]) -> tuple[int, int]:
    """Bound price and length by the smallest pieces' area, as many as are placed."""
    areas = sorted(math.prod(kind.shapes[0]) for kind in problem.kinds for _ in range(kind.count))
    area = sum(areas[: sum(sum(cut.counts) for cut in cuts)])
    if not area:
        return 0, 0
    grid = math.gcd(*problem.heights)  # of the lengths that rows can have together
    length = -(-area // (problem.widths[0] * grid)) * grid
    return min(-(-area * s.price // s.width) for s in problem.stock), length


class _Search:
    def __init__(
        self, problem: Problem, found: Found, clock: Clock, tell: Callable[[], None]
    ) -> None:
        self._problem, self._found, self._clock, self._tell = problem, found, clock, tell
        self._master = Master(problem, may_leave_out=any(problem.missing(found.cuts)))
        self._master.add_cuts(found.cuts)
        self._has_all_rows = self._master.add_all(FEW_ROWS)

    def run(self) -> None:
        limits: list[Limit] = []
        is_full = True
        if self._master.may_leave_out:
            is_full, limits = self._place_most()
        shortest = goal_of(self._problem, [1] * len(self._problem.stock))
        self._bound_length(shortest, limits)
        if not self._problem.is_priced:
            is_shortest = self._reach(shortest, limits, self._found.length_bound, self._note_length)
            self._found.is_proven = is_full and is_shortest
            self._tell()
            return
        cheapest = goal_of(self._problem, [s.price for s in self._problem.stock])
        is_cheapest = self._reach(cheapest, limits, self._found.price_bound, self._note_price)
        self._found.is_proven = is_full and is_cheapest
        self._tell()
        if is_cheapest:
            reached = Limit(cheapest, cheapest.value(self._problem, self._found.cuts))
            self._clock = Clock(self._slice(TIE_BREAK_S), self._clock.should_stop)
            self._reach(shortest, [*limits, reached], self._found.length_bound, lambda _: None)
            self._tell()

    def _place_most(self) -> tuple[bool, list[Limit]]:
        """Place as many pieces as possible; say whether that is proven, and hold it from now on."""
        fullest = goal_of(self._problem, [0] * len(self._problem.stock), left_out=1)
        is_full = self._reach(fullest, [], 0, lambda _: None)
        value = fullest.value(self._problem, self._found.cuts)
        self._master.may_leave_out = value > 0
        # More pieces need more mesh: the bounds for fewer pieces may be raised.
        self._found.price_bound, self._found.length_bound = _area_bounds(
            self._problem, self._found.cuts
        )
        return is_full, [Limit(fullest, value)] if value else []

    def _note_length(self, bound: int) -> None:
        self._found.length_bound = max(self._found.length_bound, bound)

    def _note_price(self, bound: int) -> None:
        self._found.price_bound = max(self._found.price_bound, bound)

    def _bound_length(self, shortest: Goal, limits: list[Limit]) -> None:
        relaxed = self._relax(shortest, limits)
        if relaxed is not None:
            self._found.relaxation = relaxed / shortest.scale
            self._found.length_bound = max(self._found.length_bound, shortest.bound(relaxed))

    def _relax(self, goal: Goal, limits: list[Limit]) -> float | None:
        """Solve the linear programme over all rows; None where time ran out before."""
        while True:
            value, self._prices = self._master.relaxed(goal, limits)
            if self._has_all_rows or not self._master.add_richest(self._prices):
                return value
            if self._clock.is_over():
                return None

    def _reach(
        self,
        goal: Goal,
        limits: list[Limit],
        bound: int,
        note: Callable[[int], None],
    ) -> bool:
        """Bring a goal down as far as it goes; say whether it is proven that it goes no further.

        `note` takes each bound that is proven.
        """
        best = goal.value(self._problem, self._found.cuts)
        if bound >= best:
            note(best)
            return True
        relaxed = self._relax(goal, limits)
        if relaxed is None:
            return False
        note(goal.bound(relaxed))
        if goal.bound(relaxed) >= best:
            return True
        if not self._has_all_rows:
            self._dive(goal, limits)
        return self._solve(goal, limits, relaxed, note)

    def _knows_enough(self, goal: Goal, relaxed: float) -> bool:
        """Whether every row that a better plan could hold is known; they are listed if need be."""
        best = goal.value(self._problem, self._found.cuts)
        gap = max((best - goal.grid) * goal.scale - relaxed, 0.0)
        return self._has_all_rows or self._master.add_within(MOST_ROWS, self._prices, gap)

    def _dive(self, goal: Goal, limits: list[Limit]) -> None:
        """Look for better plans among the few rows that the linear programme asked for.

        Such plans come fast, and each makes the list shorter of what a still better one could hold.
        """
        for share in _DIVES:
            if self._clock.is_over():
                return
            least = (
                None
                if share == 1
                else self._master.rounded(goal, limits, share, self._clock.is_over)
            )
            cuts, _, _ = self._master.whole(goal, limits, self._slice(FIRST_SLICE_S), least)
            if cuts is not None and self._take(goal, limits, cuts):
                self._tell()

    def _slice(self, seconds: float) -> float:
        left = self._clock.left_s
        return seconds if left is None else min(seconds, left)

    def _solve(
        self, goal: Goal, limits: list[Limit], relaxed: float, note: Callable[[int], None]
    ) -> bool:
        """Look for better plans slice by slice."""
        slice_s = FIRST_SLICE_S
        knows_all, known_at = False, -1
        while not self._clock.is_over():
            best = goal.value(self._problem, self._found.cuts)
            if not knows_all and best != known_at:
                knows_all, known_at = self._knows_enough(goal, relaxed), best
            beyond = [*limits, Limit(goal, best - goal.grid)]
            cuts, bound, is_done = self._master.whole(goal, beyond, self._slice(slice_s))
            is_better = cuts is not None and self._take(goal, limits, cuts)
            if cuts is not None and not is_better:
                return False  # what the solver takes for better is not, in whole numbers
            now = goal.value(self._problem, self._found.cuts)
            if is_better:
                self._tell()
            if knows_all and (is_done or bound is not None):
                proven = now if bound is None or is_done else min(goal.bound(bound), now)
                note(proven)
                if proven >= now:
                    return True
            elif is_done and not is_better:
                return False  # these rows give nothing better, but they are not all
            slice_s *= SLICE_GROWTH
        return False

    def _take(self, goal: Goal, limits: list[Limit], cuts: list[Cut]) -> bool:
        """Keep a plan if it is better and holds in whole numbers, not only for the solver."""
        tidy = self._problem.tidy(cuts)
        left = [s.length for s in self._problem.stock]
        for cut in tidy:
            left[cut.stock] -= cut.height
        is_better = goal.value(self._problem, tidy) < goal.value(self._problem, self._found.cuts)
        holds = all(limit.goal.value(self._problem, tidy) <= limit.value for limit in limits)
        if min(left) < 0 or not is_better or not holds:
            return False
        self._found.cuts = tidy
        return True


def goal_of(problem: Problem, rate: list[int], *, left_out: int = 0) -> Goal:
    """Build a goal from what a step of length costs on each stock, and a missing piece."""
    heights = math.gcd(*problem.heights)
    grid = math.gcd(*(r * heights for r in rate), left_out) or 1
    largest = max(max(rate) * problem.heights[0], left_out) or 1
    return Goal(tuple(rate), left_out, grid, min(1 / grid, _LARGEST_COST / largest))
