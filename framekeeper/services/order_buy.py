"""How a mesh is bought: whole rolls of the usual width, the cheapest quantity, the best width."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from framekeeper.domain.mesh_demand import MeshDemand
from framekeeper.domain.offcuts import piece_mm
from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.domain.reorder import EconomicOrder, economic_order
from framekeeper.services.mesh_use import MeshUse, Pace
from framekeeper.services.settings import ShopSettings

if TYPE_CHECKING:
    from framekeeper.domain.cutting import WidthCost

CENT = Decimal("0.01")
_PACE_DAYS = 91  # over which the yearly use is told
_YEAR = 365
_MIX = 8  # pieces that stand for the sizes of a shop


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy of one mesh. Lengths in mm, money in the shop's own."""

    gap_mm: float  # to the reorder point
    economic_mm: float | None  # None where prices or the cost of an order are not known
    width_mm: int | None
    roll_mm: int | None  # None where no length of roll is known: then by the metre
    rolls: int
    as_last_time: bool  # width or length are those of the newest roll
    buy_from: str
    price_per_m: Decimal | None
    price_is_of_roll: bool  # of the newest roll with a price, since the mesh has none
    widths: tuple[WidthCost, ...]  # the cheapest per screen first; empty where prices are lacking

    @property
    def length_mm(self) -> int:
        """All of it."""
        if self.roll_mm is None:
            return math.ceil(max(self.gap_mm, self.economic_mm or 0.0) / 1000) * 1000
        return self.rolls * self.roll_mm

    @property
    def total(self) -> Decimal | None:
        """What it costs; None where no price is known."""
        if self.price_per_m is None:
            return None
        return (self.price_per_m * self.length_mm / 1000).quantize(CENT)


@dataclass(frozen=True, slots=True)
class _Bought:
    """A roll that came, and the length that it had then."""

    roll: RollRecord
    length_mm: int


def purchase(
    mesh: MeshTypeRecord,
    use: MeshUse,
    demand: MeshDemand,
    gap_mm: float,
    settings: ShopSettings,
    *,
    serves: Callable[[int], bool],
) -> Purchase:
    """Say how to buy a mesh of which `gap_mm` (above 0) are lacking.

    What came in a width that `serves` refuses is no example for the next order.
    """
    buying, bought = mesh.buying, [b for b in _bought(mesh, use) if serves(b.roll.width_mm)]
    newest = bought[0] if bought else None
    priced = next((b.roll for b in bought if b.roll.price_per_m is not None), None)
    price = buying.price_per_m
    if price is None and priced is not None:
        price = priced.price_per_m
    width = buying.buy_width_mm or (newest.roll.width_mm if newest else None)
    roll_mm = buying.buy_length_mm or (newest.length_mm if newest else None)
    pace = use.pace(mesh.id)
    economic = _economic(_per_year_m(demand, pace), price, settings)
    return Purchase(
        gap_mm=gap_mm,
        economic_mm=None if economic is None else 1000 * economic.quantity,
        width_mm=width,
        roll_mm=roll_mm,
        rolls=_rolls(gap_mm, roll_mm, economic) if roll_mm else 1,
        as_last_time=newest is not None and not (buying.buy_width_mm and buying.buy_length_mm),
        buy_from=buying.buy_from or (newest.roll.supplier if newest else ""),
        price_per_m=price,
        price_is_of_roll=buying.price_per_m is None and price is not None,
        widths=_widths(_prices(mesh, bought), demand, settings.cut_allowance_mm),
    )


def _bought(mesh: MeshTypeRecord, use: MeshUse) -> list[_Bought]:
    """The rolls of a mesh as they came, newest first; offcuts were not bought."""
    came = [
        (move, roll)
        for move in use.moves
        if move.kind == "received"
        and move.mesh_type_id == mesh.id
        and (roll := use.rolls.get(move.roll_id or 0)) is not None
        and not roll.is_offcut
    ]
    came.sort(key=lambda pair: (pair[0].happened_at, pair[0].id), reverse=True)
    return [_Bought(roll, move.length_mm) for move, roll in came]


def _per_year_m(demand: MeshDemand, pace: Pace | None) -> float:
    """The use of a year: by the ledger where it is long enough, else what is expected."""
    if pace is not None and pace.days >= _PACE_DAYS:
        return pace.per_day * pace.piece_mm * _YEAR / 1000
    return demand.need(_PACE_DAYS).mean_mm / _PACE_DAYS * _YEAR / 1000


def _economic(
    per_year_m: float, price: Decimal | None, settings: ShopSettings
) -> EconomicOrder | None:
    if not settings.order_cost or not price or not per_year_m:
        return None
    holding = float(price) * settings.holding_percent / 100
    return economic_order(per_year_m, settings.order_cost, holding)


def _rolls(gap_mm: float, roll_mm: int, economic: EconomicOrder | None) -> int:
    """The whole number of rolls that is enough and, beyond that, the cheapest."""
    enough = max(1, math.ceil(gap_mm / roll_mm))
    if economic is None:
        return enough
    whole = math.floor(1000 * economic.quantity / roll_mm)
    return min(
        {max(enough, whole), max(enough, whole + 1)},
        key=lambda rolls: economic.cost_of(rolls * roll_mm / 1000),
    )


def _prices(mesh: MeshTypeRecord, bought: list[_Bought]) -> dict[int, Decimal]:
    """The newest known price per metre of each width."""
    prices: dict[int, Decimal] = {}
    for one in bought:
        if one.roll.price_per_m is not None:
            prices.setdefault(one.roll.width_mm, one.roll.price_per_m)
    buying = mesh.buying
    if buying.buy_width_mm is not None and buying.price_per_m is not None:
        prices[buying.buy_width_mm] = buying.price_per_m
    return prices


def _widths(
    prices: Mapping[int, Decimal], demand: MeshDemand, allowance_mm: int
) -> tuple[WidthCost, ...]:
    """Compare widths, where there are two to compare, with the long side along the roll."""
    pieces = _mix([piece.size_mm for piece in (*demand.sure, *demand.may)], allowance_mm)
    if len(prices) < 2 or not pieces:
        return ()
    from framekeeper.domain.cutting import widths_to_buy

    return widths_to_buy(pieces, [(float(w), p) for w, p in prices.items()], may_turn=False)


def _mix(sizes: list[tuple[float, float]], allowance_mm: int) -> list[tuple[float, float]]:
    """A few pieces, (across, along), that stand for the sizes in their shares, each at least once.

    Rare sizes beyond the number of pieces are left out.
    """
    counts = Counter(sizes).most_common(_MIX)
    whole = sum(count for _, count in counts)
    mix: list[tuple[float, float]] = []
    for (width, height), count in counts:
        along, across = piece_mm(width, height, allowance_mm)
        mix += [(float(across), float(along))] * max(1, round(_MIX * count / whole))
    return mix
