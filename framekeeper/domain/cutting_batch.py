"""Plans the cutting of one batch: checks what is asked, and solves each mesh by itself."""

from __future__ import annotations

import math
import numbers
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from framekeeper.domain.cutting_plan import CutPlan, Piece, Roll, RollPlan, Unplaced, Why
from framekeeper.domain.cutting_problem import (
    STEPS_PER_MM,
    Kind,
    Problem,
    Stock,
    left_out,
    roll_plans,
    steps_down,
    steps_up,
)
from framekeeper.domain.cutting_search import Clock, Found, begin, improve, never
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

Size = tuple[float, float] | tuple[float, float, int]
SECONDS = 30.0


def plan_cuts(
    pieces: Sequence[Piece | Size],
    rolls: Sequence[Roll | tuple[float, float]],
    *,
    may_turn: bool,
    seconds: float | None = SECONDS,
    progress: Callable[[CutPlan], None] | None = None,
    should_stop: Callable[[], bool] = never,
) -> CutPlan:
    """Plan which piece is cut off which roll, so that little mesh or money is used.

    The cuts are those of a person with a knife and a straight edge: first a cut across the whole
    roll, which frees a strip (a row) that fits on the table, then cuts along the warp, which free
    the pieces that lie side by side in it, and a last one that trims a piece that is shorter than
    its row. The row is as long as its longest piece; what is left beyond a shorter one is waste,
    because a second row of small pieces there would need cuts that stop half-way. This is two-stage
    guillotine cutting with trimming [1]_; a plan with more stages may take less mesh.

    Of all such plans the one is sought that places the most pieces; among those the cheapest; among
    those the shortest. Where a roll of a mesh has no price, the plans of that mesh are compared by
    length alone.

    Parameters
    ----------
    pieces
        (n,) what is wanted: `Piece`, or (width mm, length mm), or (width mm, length mm, how many).
        n may be 0. Sizes are rounded up to 0.1 mm.
    rolls
        (m,) what there is: `Roll`, or (width mm, length mm). Sizes are rounded down to 0.1 mm.
    may_turn
        Whether pieces that do not say so themselves may be turned, so that their warp runs across.
    seconds
        How long a better plan is sought, on the whole; None for until the best is proven. One step
        of the solver may take a little longer.
    progress
        Called with every better plan, the first one at once.
    should_stop
        Asked between the solver's steps, which take seconds; to stop at once, run the search in a
        process of its own (`cutting_process`).

    Returns
    -------
    CutPlan
        The best plan found, with what is proven about it. The same pieces and rolls give a plan of
        the same worth in any order; a search that `seconds` cuts short depends on the machine.

    Raises
    ------
    NotValid
        For a size that is not above 0, a length of a roll that is not 0 or more, a price below 0 or
        in binary fractions, and numbers of pieces that are not whole.

    References
    ----------
    .. [1] A. Lodi, S. Martello and D. Vigo (2004), Models and bounds for two-dimensional level
       packing problems, J. Comb. Optim. 8, 363-379.

    Examples
    --------
    Two pieces of 685.8 x 889 mm side by side on a roll of 1574.8 mm:

    >>> plan_cuts([(685.8, 889, 2)], [(1574.8, 30_000)], may_turn=False).used_mm
    889.0
    """
    batch = _Batch.of(pieces, rolls, may_turn)
    clock = Clock(seconds, should_stop)

    def tell() -> None:
        if progress is not None:
            progress(batch.plan())

    tell()
    for part in batch.parts:
        if clock.is_over():
            break
        improve(part.problem, part.found, clock, tell)
    return batch.plan()


def first_plan(
    pieces: Sequence[Piece | Size],
    rolls: Sequence[Roll | tuple[float, float]],
    *,
    may_turn: bool,
) -> CutPlan:
    """Return a plan within milliseconds: good, seldom the best; else as `plan_cuts`."""
    return _Batch.of(pieces, rolls, may_turn).plan()


@dataclass
class _Part:
    """One mesh: its problem, the unit of its prices, and what is found so far."""

    problem: Problem
    found: Found
    price_unit: Fraction


@dataclass
class _Batch:
    rolls: list[Roll]
    parts: list[_Part]
    hopeless: list[Unplaced]

    @classmethod
    def of(
        cls,
        pieces: Sequence[Piece | Size],
        rolls: Sequence[Roll | tuple[float, float]],
        may_turn: bool,
    ) -> _Batch:
        wanted = [piece for given in pieces for piece in as_pieces(given)]
        stock = [as_roll(given) for given in rolls]
        by_mesh: dict[str, list[Piece]] = defaultdict(list)
        for piece in wanted:
            by_mesh[piece.mesh].append(piece)
        parts, hopeless = [], []
        for mesh in sorted(by_mesh):
            places = [n for n, roll in enumerate(stock) if roll.mesh == mesh]
            part, without_hope = _part(by_mesh[mesh], stock, places, may_turn)
            parts.append(part)
            hopeless += without_hope
        return cls(stock, parts, hopeless)

    def plan(self) -> CutPlan:
        """Put the parts together."""
        made: list[RollPlan] = []
        unplaced = list(self.hopeless)
        bound_steps, bound_cost, is_proven, is_priced = 0, Fraction(0), True, True
        for part in self.parts:
            problem, found = part.problem, part.found
            made += roll_plans(problem, found.cuts, self.rolls)
            unplaced += left_out(problem, found.cuts)
            bound_steps += found.length_bound
            bound_cost += found.price_bound * part.price_unit / (1000 * STEPS_PER_MM)
            is_proven = is_proven and found.is_proven
            is_priced = is_priced and (problem.is_priced or not problem.kinds)
        order = {id(roll): n for n, roll in enumerate(self.rolls)}
        cost = Decimal(bound_cost.numerator) / Decimal(bound_cost.denominator)
        return CutPlan(
            rolls=tuple(sorted(made, key=lambda cut: order[id(cut.roll)])),
            unplaced=tuple(unplaced),
            lower_bound_mm=bound_steps / STEPS_PER_MM,
            lower_bound_cost=cost if is_priced else None,
            is_proven=is_proven,
        )


def kinds_of(
    pieces: Sequence[Piece], sizes: Sequence[tuple[int, float]], may_turn: bool
) -> tuple[tuple[Kind, ...], list[Unplaced]]:
    """Group pieces that are alike, without those that no roll can give.

    `sizes` are the rolls' widths in steps and lengths in mm.
    """
    alike: dict[tuple[tuple[int, int], ...], list[Piece]] = defaultdict(list)
    hopeless = []
    for piece in pieces:
        shapes = _shapes(piece, may_turn)
        why = _why_not(shapes, sizes)
        if why is None:
            alike[shapes].append(piece)
        else:
            hopeless.append(Unplaced(piece, why))
    kinds = tuple(
        Kind(shapes, len(alike[shapes]), tuple(alike[shapes]))
        for shapes in sorted(alike, reverse=True)
    )
    return kinds, hopeless


def _part(
    pieces: list[Piece], rolls: list[Roll], places: list[int], may_turn: bool
) -> tuple[_Part, list[Unplaced]]:
    """Build the problem of one mesh and find its first plan."""
    sizes = [(steps_down(rolls[n].width_mm), rolls[n].length_mm) for n in places]
    kinds, hopeless = kinds_of(pieces, sizes, may_turn)
    # No plan takes more length than one row for each piece.
    most = sum(kind.count * max(along for _, along in kind.shapes) for kind in kinds)
    is_priced = all(rolls[n].price_per_m is not None for n in places)
    prices = [Fraction(rolls[n].price_per_m or 0) if is_priced else Fraction(1) for n in places]
    unit = _common_unit(prices)
    stock = [
        Stock(
            width, most if math.isinf(length) else min(most, steps_down(length)), int(p / unit), n
        )
        for (width, length), p, n in zip(sizes, prices, places, strict=True)
    ]
    stock.sort(key=lambda s: (s.width, s.length, s.price, s.place))
    problem = Problem(kinds, tuple(stock), is_priced)
    return _Part(problem, begin(problem), unit), hopeless


def _shapes(piece: Piece, may_turn: bool) -> tuple[tuple[int, int], ...]:
    width, length = steps_up(piece.width_mm), steps_up(piece.length_mm)
    is_free = may_turn if piece.may_turn is None else piece.may_turn
    return tuple(sorted({(width, length), (length, width)} if is_free else {(width, length)}))


def _why_not(shapes: tuple[tuple[int, int], ...], sizes: Sequence[tuple[int, float]]) -> Why | None:
    if not sizes:
        return Why.NO_ROLL
    wide = [(along, length) for w, along in shapes for width, length in sizes if w <= width]
    if not wide:
        return Why.TOO_WIDE
    fits = any(math.isinf(length) or along <= steps_down(length) for along, length in wide)
    return None if fits else Why.TOO_LONG


def _common_unit(prices: list[Fraction]) -> Fraction:
    """Return the greatest unit in which all prices are whole numbers."""
    shared = math.lcm(*(p.denominator for p in prices))
    return Fraction(math.gcd(*(int(p * shared) for p in prices)) or 1, shared)


def as_pieces(given: Piece | Size) -> list[Piece]:
    """Return the pieces that are asked for, or refuse them.

    Raises
    ------
    NotValid
        For sizes or numbers that cannot be.
    """
    if isinstance(given, Piece):
        piece, count = given, 1
    elif isinstance(given, tuple | list) and len(given) in (2, 3):
        piece, count = Piece(given[0], given[1]), given[2] if len(given) == 3 else 1
    else:
        raise NotValid(
            say(
                "A piece is a width, a length and, if you like, a number, not {given}.", given=given
            ),
            argument="pieces",
        )
    if not (_is_size(piece.width_mm) and _is_size(piece.length_mm)):
        raise NotValid(
            say(
                "A piece must be wider and longer than 0 mm, not {width} x {length}.",
                width=piece.width_mm,
                length=piece.length_mm,
            ),
            argument="pieces",
        )
    if not is_number_of(count):
        raise NotValid(
            say("A number of pieces must be whole and from 0, not {count}.", count=count),
            argument="pieces",
        )
    return [piece] * int(count)


def as_roll(given: Roll | tuple[float, float], argument: str = "rolls") -> Roll:
    """Return the roll that is meant, or refuse it by the argument's name.

    Raises
    ------
    NotValid
        For sizes or a price that cannot be.
    """
    if isinstance(given, Roll):
        roll = Roll(given.width_mm, given.length_mm, given.key, given.mesh, given.price_per_m)
    elif isinstance(given, tuple | list) and len(given) == 2:
        roll = Roll(given[0], given[1])
    else:
        raise NotValid(
            say("A roll is a width and a length, not {given}.", given=given), argument=argument
        )
    if not _is_size(roll.width_mm):
        raise NotValid(
            say("A roll must be wider than 0 mm, not {width}.", width=roll.width_mm),
            argument=argument,
        )
    length = roll.length_mm
    if length != 0 and length != math.inf and not _is_size(length):
        raise NotValid(
            say("The length left on a roll must be 0 mm or more, not {length}.", length=length),
            argument=argument,
        )
    check_price(roll.price_per_m, argument)
    return roll


def check_price(price: Decimal | None, argument: str) -> None:
    """Refuse a price that is not a decimal number from 0.

    Raises
    ------
    NotValid
        For anything but None, a `Decimal` or a whole number, and for numbers below 0.
    """
    is_number = isinstance(price, Decimal | int) and not isinstance(price, bool)
    if price is None or (is_number and Decimal(price).is_finite() and price >= 0):
        return
    raise NotValid(
        say("A price must be a decimal number from 0, not {price}.", price=price),
        argument=argument,
    )


def is_number_of(count: object) -> bool:
    """Whether this says how many: a whole number from 0."""
    if isinstance(count, bool) or not isinstance(count, numbers.Real):
        return False
    number = float(count)
    return number >= 0 and number.is_integer()


def _is_size(mm: object) -> bool:
    """Whether this is a length above 0 that is not lost in the rounding to 0.1 mm."""
    try:
        number = float(mm)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return False
    return math.isfinite(number) and number >= 1 / STEPS_PER_MM
