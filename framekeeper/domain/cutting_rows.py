"""Lists the ways to fill one row, and finds the one that is worth most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Counts = tuple[int, ...]
_DEEPEST = 500  # one call inside the other per kind of piece


@dataclass(frozen=True, slots=True)
class Item:
    """A kind of piece as a row sees it: its width there, and how many can be of use at most."""

    kind: int
    across: int
    most: int


class TooMany(Exception):
    """There are more ways than were allowed."""


@dataclass(slots=True)
class Budget:
    """How many steps the searches that share it may still take."""

    steps: int


def full_rows(
    items: Sequence[Item],
    room: int,
    kinds: int,
    *,
    budget: Budget,
    worth: Sequence[float] | None = None,
    least: float = -math.inf,
) -> list[Counts]:
    """List the fillings of a row to which nothing can be added.

    Parameters
    ----------
    items
        What may lie in the row.
    room
        The width of the row, in the unit of `Item.across`.
    kinds
        How long the returned counts are.
    budget
        How long the search may take.
    worth, least
        Where given, only fillings whose pieces are worth at least so much together; shape (kinds,).

    Raises
    ------
    TooMany
        If the search takes longer.
    """
    if len(items) > _DEEPEST:
        raise TooMany
    values = worth or [0.0] * kinds
    order = sorted(items, key=lambda item: (-values[item.kind] / item.across, -item.across))
    rate = [values[item.kind] / item.across for item in order] + [0.0]
    # What everything from here on takes at most: a row that cannot be filled is not worth a visit.
    rest_of = [0] * (len(order) + 1)
    for n in range(len(order) - 1, -1, -1):
        rest_of[n] = rest_of[n + 1] + order[n].across * order[n].most
    found: list[Counts] = []
    counts = [0] * kinds

    def visit(n: int, left: int, value: float, narrowest: int) -> None:
        """Choose how many of item n; `narrowest` is the least width that was held back."""
        budget.steps -= 1
        if budget.steps < 0:
            raise TooMany
        if left - rest_of[n] >= narrowest or value + max(rate[n], 0.0) * left < least:
            return
        if n == len(order):
            found.append(tuple(counts))
            return
        item = order[n]
        for count in range(min(item.most, left // item.across), -1, -1):
            counts[item.kind] = count
            held_back = narrowest if count == item.most else min(narrowest, item.across)
            visit(n + 1, left - count * item.across, value + count * values[item.kind], held_back)
        counts[item.kind] = 0

    visit(0, room, 0.0, room + 1)
    return found


def richest_row(
    items: Sequence[Item], room: int, kinds: int, worth: Sequence[float]
) -> tuple[float, Counts]:
    """Find the filling of a row that is worth most (bounded knapsack, by dynamic programming).

    Parameters
    ----------
    items, room, kinds
        As in `full_rows`.
    worth
        Of one piece of each kind, shape (kinds,).

    Returns
    -------
    value, counts
        The worth of all pieces in the row, and their numbers.
    """
    import numpy as np

    useful = [item for item in items if worth[item.kind] > 0 and item.across <= room]
    if not useful:
        return 0.0, (0,) * kinds
    unit = math.gcd(*(item.across for item in useful))
    bins = room // unit
    value = np.zeros(bins + 1)
    taken: list[tuple[Item, int, np.ndarray]] = []
    for item, bundle in _bundles(useful, room):
        width = item.across // unit * bundle
        better = value[: bins + 1 - width] + worth[item.kind] * bundle
        is_taken = better > value[width:]
        value[width:] = np.where(is_taken, better, value[width:])
        taken.append((item, bundle, is_taken))
    counts, left = [0] * kinds, bins
    for item, bundle, is_taken in reversed(taken):
        width = item.across // unit * bundle
        if left >= width and is_taken[left - width]:
            counts[item.kind] += bundle
            left -= width
    return float(value[bins]), tuple(counts)


def _bundles(items: Sequence[Item], room: int) -> list[tuple[Item, int]]:
    """Split numbers into bundles of 1, 2, 4, ... and a rest, so that each bundle is all or none."""
    split = []
    for item in items:
        left, bundle = min(item.most, room // item.across), 1
        while left:
            bundle = min(bundle, left)
            split.append((item, bundle))
            left, bundle = left - bundle, bundle * 2
    return split
