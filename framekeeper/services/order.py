"""What mesh to order, and why: for each mesh the need, the stock, and the chance to run out."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.mesh_demand import Lead, MayNeed, MeshDemand
from framekeeper.domain.offcuts import piece_mm
from framekeeper.domain.records import CutPieceRecord, FrameRecord, MeshTypeRecord, RollRecord
from framekeeper.services.desk import Desk
from framekeeper.services.mesh_use import EndRate, MeshUse, Pace, Spoiled, Used, read_use
from framekeeper.services.on_order import Coming, read_coming
from framekeeper.services.order_buy import Purchase, purchase
from framekeeper.services.plan import Listed, list_frames
from framekeeper.services.settings import ShopSettings, shop_settings
from framekeeper.services.stretch import cut_size_mm

if TYPE_CHECKING:
    from framekeeper.domain.outlook import Outlook

Basis = Literal["forecast", "ledger", "waiting", "nothing"]
LONGEST_COVER_DAYS = 182  # a screen that falls and is stretched anew is not foretold again
MOST_SCRAP = 0.5  # a shop that spoils more has entered something wrong
_IN_SERVICE = ("ready", "in_use", "to_reclaim")
_AWAITS_MESH = ("bare", "prepped", "pulled")
_UPPER_TENTH = 1.2815515655446004  # of the normal law: 80 % lie between
_MOST_POINTS = 40  # of the curve


@dataclass(frozen=True, slots=True)
class Expected:
    """What the need until the next delivery but one is made of, in pieces."""

    restretches: tuple[tuple[tuple[float, float], float], ...]  # by size, the most first
    below_now: int  # of these, read below their limit already
    waiting: int
    cut_already: int  # frames that wait, and whose piece is cut
    damage: float
    other: float
    ledger: float


@dataclass(frozen=True, slots=True)
class Aside:
    """A roll or an offcut that does not serve most of the screens to come."""

    roll: RollRecord
    is_narrow: bool  # else it is too short


@dataclass(frozen=True, slots=True)
class DayNeed:
    """The need from today to a day: its mean, and where about eight of ten lie."""

    day: float
    mean_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class MeshOrder:
    """One mesh: what is there, what is needed, what to order.

    Chances are those of running out before the next delivery: if it is ordered today, and if only
    at the next look.
    """

    mesh: MeshTypeRecord
    on_hand_mm: int
    usable_mm: int
    aside: tuple[Aside, ...]
    coming: Coming | None
    basis: Basis
    screens: int  # in service
    foretold: int  # of these
    damage: EndRate
    other_ends: EndRate
    pace: Pace | None
    as_cut: float
    spoiled: Spoiled | None  # None: too little was cut to know
    lead: Lead
    lead_is_assumed: bool
    settings: ShopSettings
    today: dt.date
    until: dt.date  # the delivery, if it is ordered at the next look only
    expected: Expected
    need_mm: float  # until then, on average, and its standard deviation
    need_sd_mm: float
    cover_days: float | None  # None: more than is foretold
    chance_today: float
    chance_later: float
    reorder_mm: float
    curve: tuple[DayNeed, ...]
    purchase: Purchase | None  # None: nothing to order

    @property
    def is_to_order(self) -> bool:
        """Whether to order it today."""
        return self.purchase is not None

    @property
    def service_level(self) -> float:
        """How surely it shall last until the delivery."""
        return self.settings.service_level / 100

    @property
    def there_mm(self) -> int:
        """What can be used, with what is on its way."""
        return self.usable_mm + (self.coming.length_mm if self.coming else 0)


@dataclass(frozen=True, slots=True)
class OrderList:
    """All meshes of the shop, those to be ordered first, by the chance to run out."""

    today: dt.date
    meshes: tuple[MeshOrder, ...]
    used: tuple[Used, ...]  # by month, mesh, size and reason
    unknown_waiting: int  # frames that wait and never bore mesh: which they get is not known
    settings: ShopSettings

    @property
    def to_order(self) -> tuple[MeshOrder, ...]:
        """The meshes to order today."""
        return tuple(m for m in self.meshes if m.is_to_order)

    @property
    def total(self) -> Decimal | None:
        """The sum of what to order; None where a price is not known."""
        sums = [m.purchase.total for m in self.to_order if m.purchase is not None]
        known = [s for s in sums if s is not None]
        return sum(known, Decimal(0)) if len(known) == len(sums) else None


@dataclass(frozen=True)
class OrderFacts:
    """What is read of a shop, so that the maths can be done away from the database."""

    today: dt.date
    use: MeshUse
    listed: Sequence[Listed]
    mesh_types: Sequence[MeshTypeRecord]
    pieces: Sequence[CutPieceRecord]
    coming: Mapping[int, Coming]
    settings: ShopSettings
    zone: dt.tzinfo

    def awaits(self, mesh_id: int | None) -> list[FrameRecord]:
        """Frames that wait for this mesh; None for those of which nobody knows which."""
        return [
            item.frame
            for item in self.listed
            if item.frame.state.state in _AWAITS_MESH
            and not item.frame.state.hold_reason
            and self.use.last_mesh.get(item.frame.id) == mesh_id
        ]

    def may_need(
        self, frame: FrameRecord, mesh: MeshTypeRecord, outlook: Outlook | None = None
    ) -> MayNeed:
        """What a frame takes off a roll, the way this shop cuts."""
        length, _ = cut_size_mm(frame, self.settings.cut_allowance_mm)
        as_cut = length * self.use.as_cut(mesh.id)
        return MayNeed((frame.width_mm, frame.height_mm), as_cut, outlook)

    def in_service(self, mesh_id: int) -> list[Listed]:
        """Screens of this mesh that can fall below their limit."""
        return [
            item
            for item in self.listed
            if item.frame.state.state in _IN_SERVICE
            and item.frame.state.life is not None
            and item.frame.state.life.mesh_type_id == mesh_id
        ]


def gather(desk: Desk) -> OrderFacts:
    """Read what orders rest on."""
    with desk.read() as reader:
        use = read_use(reader, desk.clock.now())
        mesh_types, pieces = reader.mesh_types(with_hidden=True), reader.cut_pieces()
        settings = shop_settings(reader)
        coming = read_coming(reader, use.moves, use.rolls)
    listed = list_frames(desk)
    return OrderFacts(
        desk.today(), use, listed, mesh_types, pieces, coming, settings, desk.clock.zone()
    )  # fmt: skip


def work_out(shop: OrderFacts) -> OrderList:
    """Reckon for each mesh what is needed until the next delivery, and what to order."""
    meshes = [_mesh_order(mesh, shop) for mesh in shop.mesh_types if not mesh.is_hidden]
    return OrderList(
        shop.today,
        tuple(sorted(meshes, key=lambda m: (not m.is_to_order, -m.chance_later))),
        shop.use.used({mesh.id: mesh for mesh in shop.mesh_types}, shop.zone),
        len(shop.awaits(None)),
        shop.settings,
    )


def order_list(desk: Desk) -> OrderList:
    """Read and reckon in one go."""
    return work_out(gather(desk))


def _mesh_order(mesh: MeshTypeRecord, shop: OrderFacts) -> MeshOrder:
    use, today, settings = shop.use, shop.today, shop.settings
    told = mesh.buying.lead_time_days
    lead = Lead(settings.lead_time_days if told is None else told,
                mesh.buying.lead_time_sd_days or 0.0)  # fmt: skip
    demand, basis, expected = _demand(mesh, shop, lead.days + settings.review_days)
    rolls = [r for r in use.rolls.values() if _is_there(r, mesh)]
    weights = _weights(demand, lead.days + settings.review_days, shop)
    aside = _set_aside(rolls, weights, settings.cut_allowance_mm)
    on_hand = sum(r.on_hand_mm for r in rolls)
    usable = on_hand - sum(a.roll.on_hand_mm for a in aside)
    coming = shop.coming.get(mesh.id)
    level, more = settings.service_level / 100, float(settings.review_days)
    reorder = demand.stock_for(level, lead, more_days=more)
    there = usable + (coming.length_mm if coming else 0)
    screens, need = shop.in_service(mesh.id), demand.need(lead.days + more)
    return MeshOrder(
        mesh=mesh,
        on_hand_mm=on_hand,
        usable_mm=usable,
        aside=aside,
        coming=coming,
        basis=basis,
        screens=len(screens),
        foretold=sum(s.outlook is not None for s in screens),
        damage=use.damage(),
        other_ends=use.other_ends(),
        pace=use.pace(mesh.id),
        as_cut=use.as_cut(mesh.id),
        spoiled=use.spoiled(mesh.id),
        lead=lead,
        lead_is_assumed=told is None,
        settings=settings,
        today=today,
        until=today + dt.timedelta(days=math.ceil(lead.days + settings.review_days)),
        expected=expected,
        need_mm=need.mean_mm,
        need_sd_mm=need.sd_mm,
        cover_days=demand.lasts_days(usable, LONGEST_COVER_DAYS),
        chance_today=_chance(demand, usable, coming, lead, 0.0, today),
        chance_later=_chance(demand, usable, coming, lead, more, today),
        reorder_mm=reorder,
        curve=_curve(demand, lead.days + more),
        purchase=purchase(
            mesh, use, demand, reorder - there, settings,
            serves=lambda width: _is_wide_enough(width, weights, settings.cut_allowance_mm),
        )
        if there < reorder
        else None,
    )  # fmt: skip


def _is_there(roll: RollRecord, mesh: MeshTypeRecord) -> bool:
    return roll.mesh_type_id == mesh.id and roll.on_hand_mm > 0 and not roll.is_hidden


# the need


def _demand(
    mesh: MeshTypeRecord, shop: OrderFacts, horizon_days: float
) -> tuple[MeshDemand, Basis, Expected]:
    use = shop.use
    has_piece = {p.frame_id for p in shop.pieces if p.mesh_type_id == mesh.id}
    awaits, screens = shop.awaits(mesh.id), shop.in_service(mesh.id)
    waiting = [shop.may_need(frame, mesh) for frame in awaits if frame.id not in has_piece]
    below = [shop.may_need(s.frame, mesh) for s in screens if _is_below(s)]
    may = [shop.may_need(s.frame, mesh, s.outlook) for s in screens if not _is_below(s)]
    pace = use.pace(mesh.id)
    basis = _basis(may, [*below, *waiting], pace)
    counts = basis == "ledger" and pace is not None
    damage, other = use.damage().per_day, use.other_ends().per_day
    spoiled = use.spoiled(mesh.id)
    demand = MeshDemand(
        at=use.now,
        sure=[*waiting, *below],
        may=may if basis == "forecast" else [],
        ends_per_day=damage + other,
        pieces_per_day=pace.per_day if counts and pace else 0.0,
        piece_mm=pace.piece_mm if counts and pace else 0.0,
        scrap_share=min(spoiled.share, MOST_SCRAP) if spoiled else 0.0,
    )
    falls = MeshDemand(use.now, sure=below, may=demand.may).sizes(horizon_days)
    ends = math.fsum(demand.other_ends(horizon_days))
    share = damage / (damage + other) if damage else 0.0
    expected = Expected(
        tuple(sorted(falls.items(), key=lambda pair: -pair[1])),
        len(below),
        len(waiting),
        len(awaits) - len(waiting),
        ends * share,
        ends * (1 - share),
        demand.by_ledger(horizon_days),
    )
    return demand, basis, expected


def _is_below(item: Listed) -> bool:
    return any(task.rule == "below_limit" for task in item.tasks)


def _basis(may: Sequence[MayNeed], sure: Sequence[MayNeed], pace: Pace | None) -> Basis:
    """A forecast counts where half of the screens have one; else the ledger, where it knows."""
    foretold = sum(screen.outlook is not None for screen in may)
    if foretold and 2 * foretold >= len(may):
        return "forecast"
    if pace is not None:
        return "ledger"
    return "waiting" if sure else "nothing"


# the stock


def _weights(
    demand: MeshDemand, horizon_days: float, shop: OrderFacts
) -> dict[tuple[float, float], float]:
    """How many frames of each size are expected; those of the shop where nothing is."""
    weights = demand.sizes(horizon_days)
    if weights:
        return weights
    every = Counter((i.frame.width_mm, i.frame.height_mm) for i in shop.listed)
    return {size: float(count) for size, count in every.items()}


def _set_aside(
    rolls: Iterable[RollRecord], weights: Mapping[tuple[float, float], float], allowance: int
) -> tuple[Aside, ...]:
    """Find the rolls that do not serve half of what is expected: too narrow, or what is left."""
    whole = sum(weights.values())
    found = []
    for roll in rolls:
        serves = sum(
            weight
            for (width, height), weight in weights.items()
            if piece_mm(width, height, allowance)[1] <= roll.width_mm
            and piece_mm(width, height, allowance)[0] <= roll.on_hand_mm
        )
        if serves < whole / 2:
            found.append(Aside(roll, not _is_wide_enough(roll.width_mm, weights, allowance)))
    return tuple(sorted(found, key=lambda a: a.roll.code))


def _is_wide_enough(
    width_mm: int, weights: Mapping[tuple[float, float], float], allowance: int
) -> bool:
    """Whether a roll of this width serves at least half of what is expected."""
    serves = sum(w for size, w in weights.items() if piece_mm(*size, allowance)[1] <= width_mm)
    return serves >= sum(weights.values()) / 2


def _chance(
    demand: MeshDemand,
    usable_mm: float,
    coming: Coming | None,
    lead: Lead,
    more_days: float,
    today: dt.date,
) -> float:
    """The chance to run out; what is on its way counts from the day on which it is expected."""
    if coming is None:
        return demand.chance_above(usable_mm, lead, more_days=more_days)
    arrives = float(coming.days_until(today))
    if arrives >= lead.days + more_days:
        return demand.chance_above(usable_mm, lead, more_days=more_days)
    before = demand.chance_above(usable_mm, Lead(arrives))
    after = demand.chance_above(usable_mm + coming.length_mm, lead, more_days=more_days)
    return max(before, after)


def _curve(demand: MeshDemand, horizon_days: float) -> tuple[DayNeed, ...]:
    points = min(_MOST_POINTS, max(1, math.ceil(horizon_days)))
    days = [horizon_days * place / points for place in range(points + 1)]
    return tuple(_day_need(demand, day) for day in days)


def _day_need(demand: MeshDemand, day: float) -> DayNeed:
    need = demand.need(day)
    away = _UPPER_TENTH * need.sd_mm
    return DayNeed(day, need.mean_mm, max(0.0, need.mean_mm - away), need.mean_mm + away)
