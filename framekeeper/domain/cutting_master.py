"""The integer programme over rows: which rows are cut how often, and off which roll.

A row is known by the width of its roll, its length and how many pieces of each kind it holds [1]_.
Rows are chosen per width, and then spread over the rolls of that width, which keeps rolls of one
width from multiplying the columns. With z = (x, y, u):

    x   how often a filling of a row is cut          (width, length, counts)
    y   how many rows of a length come off a roll    (length, roll)
    u   pieces of a kind that are left out

    (1)  sum a_ip x_p + u_i >= d_i                   every piece is in a row
    (2)  sum x of (width, length) <= sum y of it     every row is on a roll
    (3)  sum h y of a roll <= its length

References
----------
.. [1] P. C. Gilmore and R. E. Gomory (1965), Multistage cutting stock problems of two and more
   dimensions, Operations Research 13(1), 94-120.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from framekeeper.domain.cutting_problem import Cut, Problem
from framekeeper.domain.cutting_rows import Budget, Counts, Item, TooMany, full_rows, richest_row

_PRICING_DUST = 1e-7
_STEPS_PER_ROW = 20  # of a listing, before it counts as too long


@dataclass(frozen=True, slots=True)
class Goal:
    """What is made small: `rate` per step of length on each stock, `left_out` per missing piece.

    `grid` divides every value that a plan can have, so bounds are rounded up to it. `scale` turns
    values into numbers of a size that the solver likes.
    """

    rate: tuple[int, ...]
    left_out: int
    grid: int
    scale: float

    def value(self, problem: Problem, cuts: Sequence[Cut]) -> int:
        """Return the value of a plan."""
        rows = sum(cut.height * self.rate[cut.stock] for cut in cuts)
        return rows + self.left_out * sum(problem.missing(cuts))

    def bound(self, solved: float) -> int:
        """Round a bound from the solver up to the next value that a plan can have."""
        units = solved / self.scale / self.grid
        return max(0, math.ceil(units - 1e-4 - 1e-9 * abs(units))) * self.grid


@dataclass(frozen=True, slots=True)
class Limit:
    """A goal that must stay at most at a value, because it was reached before."""

    goal: Goal
    value: int


@dataclass(frozen=True, slots=True)
class Column:
    """A filling of a row: indices of its width and length, and its counts."""

    width: int
    height: int
    counts: Counts


@dataclass(frozen=True, slots=True)
class Prices:
    """Dual prices: of one more piece of a kind, and of one more row of a width and length."""

    piece: list[float]
    row: dict[tuple[int, int], float]


@dataclass
class Master:
    """The columns so far, and the programmes over them."""

    problem: Problem
    may_leave_out: bool
    columns: dict[Column, None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        heights, stock = self.problem.heights, self.problem.stock
        self._slots = [
            (h, k)
            for h in range(len(heights))
            for k in range(len(stock))
            if heights[h] <= stock[k].length
        ]

    def items(self, width: int, height: int) -> list[Item]:
        """Say which kinds may lie in a row of this width and length (both as indices)."""
        found, room = [], self.problem.widths[width]
        for i, kind in enumerate(self.problem.kinds):
            across = kind.across(self.problem.heights[height])
            if across is not None and across <= room:
                found.append(Item(i, across, min(kind.count, room // across)))
        return found

    def places(self) -> list[tuple[int, int]]:
        """List the pairs of width and length that have a roll."""
        found = {(self._width_of(k), h) for h, k in self._slots}
        return sorted(found)

    def add_cuts(self, cuts: Sequence[Cut]) -> None:
        """Take over the rows of a plan."""
        for cut in cuts:
            height = self.problem.heights.index(cut.height)
            self.columns[Column(self._width_of(cut.stock), height, cut.counts)] = None

    def add_each_alone(self) -> None:
        """Add rows that hold pieces of one kind only, so that every piece has a row."""
        for w, h in self.places():
            for item in self.items(w, h):
                counts = [0] * len(self.problem.kinds)
                counts[item.kind] = item.most
                self.columns[Column(w, h, tuple(counts))] = None

    def add_all(self, most: int) -> bool:
        """Add every row worth cutting; say False, and add nothing, where there are too many."""
        return self._add_rows(most, None, 0.0)

    def add_within(self, most: int, prices: Prices, gap: float) -> bool:
        """Add every row that a plan better than the best known one can hold; False as `add_all`.

        A column whose reduced cost is above the gap between bound and best plan is in no better
        plan.
        """
        return self._add_rows(most, prices, gap)

    def _add_rows(self, most: int, prices: Prices | None, gap: float) -> bool:
        budget, found = Budget(most * _STEPS_PER_ROW), list[Column]()
        worth, least = None, -math.inf
        for w, h in self.places():
            if prices is not None:
                worth, least = prices.piece, prices.row[w, h] - gap - _PRICING_DUST
            room, kinds = self.problem.widths[w], len(self.problem.kinds)
            try:
                listed = full_rows(
                    self.items(w, h), room, kinds, budget=budget, worth=worth, least=least
                )
            except TooMany:
                return False
            found += [Column(w, h, counts) for counts in listed if self._reaches(h, counts)]
            if len(found) > most:
                return False
        self.columns.update(dict.fromkeys(found))
        return True

    def add_richest(self, prices: Prices) -> bool:
        """Add for each width and length the row that the prices ask for most; say if there was any.

        Without one, the linear programme over the columns so far is as good as over all.
        """
        was_added = False
        for (w, h), row_price in prices.row.items():
            room, kinds = self.problem.widths[w], len(self.problem.kinds)
            value, counts = richest_row(self.items(w, h), room, kinds, prices.piece)
            if value > row_price + _PRICING_DUST:
                column = Column(w, h, counts)
                was_added = was_added or column not in self.columns
                self.columns[column] = None
        return was_added

    def relaxed(self, goal: Goal, limits: Sequence[Limit]) -> tuple[float, Prices]:
        """Solve the linear programme: its value in the solver's scale, and its dual prices."""
        cost, matrix, upper, bounds = self._programme(goal, limits)
        solved = _linear(cost, matrix, upper, bounds)
        if solved.status != 0:
            raise RuntimeError(f"the linear programme of a cut plan ended with {solved.message}")
        return float(solved.fun), self._prices(cost, matrix, solved.ineqlin.marginals)

    def rounded(
        self,
        goal: Goal,
        limits: Sequence[Limit],
        share: float,
        is_over: Callable[[], bool],
    ) -> Any:
        """Fix rows one after the other where the linear programme wants them most (diving).

        The dive ends when no more than a share of all pieces is left, 0 to 1, or when time is over.
        It returns how often each column is cut at least, shape (columns,).
        """
        import numpy as np

        cost, matrix, upper, bounds = self._programme(goal, limits)
        counts = np.array([column.counts for column in self.columns])
        wanted = np.array([kind.count for kind in self.problem.kinds])
        n_x = len(counts)
        least = np.zeros(n_x)
        while True:
            open_pieces = np.maximum(wanted - least @ counts, 0).sum()
            if open_pieces <= share * wanted.sum() or is_over():
                return least
            bounds[:n_x, 0] = least
            solved = _linear(cost, matrix, upper, bounds)
            if solved.status != 0:
                return least
            whole = np.floor(solved.x[:n_x] + 1e-6)
            part = solved.x[:n_x] - whole
            if part.max() > 1e-6:
                whole[np.argmax(part)] += 1
            elif (whole == least).all():
                return least
            least = np.minimum(np.maximum(least, whole), bounds[:n_x, 1])

    def whole(
        self,
        goal: Goal,
        limits: Sequence[Limit],
        seconds: float | None,
        least: Any = None,
    ) -> tuple[list[Cut] | None, float | None, bool]:
        """Solve the integer programme for at most so many seconds.

        `least` says how often each column is cut at least, shape (columns,).

        Returns
        -------
        cuts
            The best plan found, None where there is none.
        bound
            In the solver's scale; None where there is none yet, infinite where no plan exists.
        is_done
            Whether the programme was solved to its end.
        """
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        cost, matrix, upper, bounds = self._programme(goal, limits)
        if least is not None:
            bounds[: len(least), 0] = least
        options: dict[str, float] = {"mip_rel_gap": 0.0}
        if seconds is not None:
            options["time_limit"] = max(seconds, 0.01)
        solved = milp(
            cost,
            integrality=np.ones(len(cost)),
            bounds=Bounds(bounds[:, 0], bounds[:, 1]),
            constraints=LinearConstraint(matrix, -np.inf, upper),
            options=options,
        )
        if solved.status == 2:
            return None, math.inf, True
        if solved.status not in (0, 1):
            raise RuntimeError(f"the integer programme of a cut plan ended with {solved.message}")
        cuts = None if solved.x is None else self._read(np.rint(solved.x).astype(int))
        bound = solved.mip_dual_bound
        if bound is not None and not math.isfinite(bound):
            bound = None
        return cuts, bound, solved.status == 0

    def _width_of(self, stock: int) -> int:
        return self.problem.widths.index(self.problem.stock[stock].width)

    def _reaches(self, height: int, counts: Counts) -> bool:
        """Whether a piece is as long as the row; else a shorter row does as well."""
        length = self.problem.heights[height]
        return any(
            n and kind.shape(length)[1] == length
            for kind, n in zip(self.problem.kinds, counts, strict=True)
        )

    def _programme(self, goal: Goal, limits: Sequence[Limit]) -> tuple[Any, Any, Any, Any]:
        """Build cost, matrix, right sides and bounds of equations (1) to (3)."""
        import numpy as np
        from scipy.sparse import coo_array

        problem = self.problem
        kinds, n_x, n_y = len(problem.kinds), len(self.columns), len(self._slots)
        n_u = kinds if self.may_leave_out else 0
        link = {place: kinds + n for n, place in enumerate(self.places())}
        roll, unit = kinds + len(link), math.gcd(*problem.heights)
        cells: list[tuple[int, int, float]] = []
        top = np.empty(n_x + n_y + n_u)
        for p, column in enumerate(self.columns):
            cells += [(i, p, -n) for i, n in enumerate(column.counts) if n]  # (1)
            cells.append((link[column.width, column.height], p, 1))  # (2)
            top[p] = max(
                -(-kind.count // n)
                for kind, n in zip(problem.kinds, column.counts, strict=True)
                if n
            )
        for q, (h, k) in enumerate(self._slots, start=n_x):
            cells.append((link[self._width_of(k), h], q, -1))
            cells.append((roll + k, q, problem.heights[h] // unit))  # (3)
            top[q] = problem.stock[k].length // problem.heights[h]
        for i in range(n_u):
            cells.append((i, n_x + n_y + i, -1))
            top[n_x + n_y + i] = problem.kinds[i].count
        upper: list[float] = []
        upper += [-kind.count for kind in problem.kinds] + [0] * len(link)
        upper += [s.length // unit for s in problem.stock]
        for n, limit in enumerate(limits):
            coefficients = self._costs(limit.goal, n_x, n_u)
            cells += [
                (roll + len(problem.stock) + n, int(j), float(coefficients[j]))
                for j in np.flatnonzero(coefficients)
            ]
            upper.append((limit.value + limit.goal.grid / 4) * limit.goal.scale)
        rows, cols, entries = zip(*cells, strict=True)
        matrix = coo_array((entries, (rows, cols)), shape=(len(upper), len(top))).tocsr()
        bounds = np.column_stack([np.zeros(len(top)), top])
        return self._costs(goal, n_x, n_u), matrix, np.array(upper, float), bounds

    def _costs(self, goal: Goal, n_x: int, n_u: int) -> Any:
        import numpy as np

        heights = self.problem.heights
        rows = [heights[h] * goal.rate[k] * goal.scale for h, k in self._slots]
        return np.array([0.0] * n_x + rows + [goal.left_out * goal.scale] * n_u)

    def _prices(self, cost: Any, matrix: Any, marginals: Any) -> Prices:
        """Read the dual prices; a row's price is the highest that its rolls allow.

        The solver may leave the price of a row for which it has no column anywhere between; the
        highest keeps the dual feasible, its value the same, and asks for the fewest new rows.
        """
        kinds, n_x = len(self.problem.kinds), len(self.columns)
        without_link = marginals.copy()
        without_link[kinds : kinds + len(self.places())] = 0
        reduced = cost - matrix.T @ without_link
        row: dict[tuple[int, int], float] = {}
        for q, (h, k) in enumerate(self._slots):
            place = self._width_of(k), h
            row[place] = min(row.get(place, math.inf), float(reduced[n_x + q]))
        return Prices([float(-m) for m in marginals[:kinds]], row)

    def _read(self, whole: Any) -> list[Cut]:
        """Spread the chosen rows over the rolls of their width."""
        fillings: dict[tuple[int, int], list[Counts]] = {}
        for p, column in enumerate(self.columns):
            place = column.width, column.height
            fillings.setdefault(place, []).extend([column.counts] * int(whole[p]))
        cuts = []
        for q, (h, k) in enumerate(self._slots, start=len(self.columns)):
            ready = fillings.get((self._width_of(k), h), [])
            for _ in range(min(int(whole[q]), len(ready))):
                cuts.append(Cut(k, self.problem.heights[h], ready.pop()))
        return cuts


def _linear(cost: Any, matrix: Any, upper: Any, bounds: Any) -> Any:
    from scipy.optimize import linprog

    return linprog(cost, matrix, upper, bounds=bounds, method="highs")
