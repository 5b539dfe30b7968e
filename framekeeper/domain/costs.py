"""What a stretch, a reclaim and a thousand prints cost, part by part; what is not known stays open.

Money is decimal and in the shop's own currency. A part of which a number is missing has no amount
and names what is missing, so that nobody takes the sum of the rest for the whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Literal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

InputName = Literal[
    "mesh_m", "price_per_m", "waste_share", "adhesive", "activator", "stretch_minutes",
    "labour_per_hour", "burst_share", "chemistry", "water", "reclaim_minutes", "prints_per_life",
    "reclaims_per_life", "stretcher_price", "freight", "screens_per_trip", "days_away",
    "equipment_per_month", "spare_frame_per_month",
]  # fmt: skip
PartName = Literal[
    "mesh", "waste", "adhesive", "activator", "labour", "bursts", "chemistry", "water",
    "stretches", "reclaims", "equipment", "stretcher", "freight", "spare_frames",
]  # fmt: skip

ZERO, ONE = Decimal(0), Decimal(1)
MINUTES_PER_HOUR = Decimal(60)
THOUSAND = Decimal(1000)
SHARES: frozenset[InputName] = frozenset({"waste_share", "burst_share"})
_ABOVE_ZERO: frozenset[InputName] = frozenset({"prints_per_life", "screens_per_trip"})
_FROM_ONE: frozenset[InputName] = frozenset({"screens_per_trip"})


def valid_amount(name: str, value: object) -> Decimal:
    """Return a decimal number that an input of this name can have.

    Parameters
    ----------
    name : str
        Names of shares lie from 0 to below 1, `prints_per_life` above 0, `screens_per_trip` from 1
        upwards, all others from 0 upwards.
    value : Decimal or int
        A float is refused: what stands on an invoice is exact.

    Raises
    ------
    NotValid
        With the name as `argument`.

    Examples
    --------
    >>> valid_amount("mesh_m", 1)
    Decimal('1')
    """
    if isinstance(value, bool) or not isinstance(value, Decimal | int):
        raise NotValid(say("{name} must be a decimal number.", name=name), argument=name)
    amount = Decimal(value)
    if not amount.is_finite() or amount < 0:
        raise NotValid(say("{name} must be a number from 0 upwards.", name=name), argument=name)
    if name in SHARES and amount >= 1:
        raise NotValid(
            say("{name} must be a share from 0 to below 1.", name=name),
            hint=say("A tenth is 0.1."),
            argument=name,
        )
    if name in _ABOVE_ZERO and amount == 0:
        raise NotValid(say("{name} must be a number above 0.", name=name), argument=name)
    if name in _FROM_ONE and amount < 1:
        raise NotValid(say("{name} must be a number from 1 upwards.", name=name), argument=name)
    return amount


@dataclass(frozen=True, slots=True)
class CostInputs:
    """What costs are reckoned from; None is not known.

    Attributes
    ----------
    mesh_m : Decimal, optional
        Length of mesh that one stretch takes along the roll, m.
    price_per_m : Decimal, optional
        Of a metre of the roll in its full width.
    waste_share : Decimal, optional
        Of the length that leaves the rolls, what is spoiled or scrapped; 0 to below 1.
    adhesive, activator : Decimal, optional
        Money for one stretch.
    stretch_minutes : Decimal, optional
        Work on one frame: strip and prep, stretch, release.
    labour_per_hour : Decimal, optional
        Money.
    burst_share : Decimal, optional
        Of all pulls, those of which the mesh breaks before the release; 0 to below 1.
    chemistry, water : Decimal, optional
        Money for one reclaim.
    reclaim_minutes : Decimal, optional
        Work on one reclaim.
    prints_per_life, reclaims_per_life : Decimal, optional
        Of one piece of mesh; prints above 0.
    stretcher_price : Decimal, optional
        What an outside stretcher takes for one screen, mesh and glue included.
    freight : Decimal, optional
        Of one trip, there and back.
    screens_per_trip : Decimal, optional
        From 1 upwards.
    days_away : Decimal, optional
        From the trip out until the screens are back.
    equipment_per_month : Decimal, optional
        Of stretching in house: the stretcher and its upkeep.
    spare_frame_per_month : Decimal, optional
        What it costs to own one more frame for a month. None: spare frames are counted, not priced.

    Raises
    ------
    NotValid
        See `valid_amount`.
    """

    mesh_m: Decimal | None = None
    price_per_m: Decimal | None = None
    waste_share: Decimal | None = None
    adhesive: Decimal | None = None
    activator: Decimal | None = None
    stretch_minutes: Decimal | None = None
    labour_per_hour: Decimal | None = None
    burst_share: Decimal | None = None
    chemistry: Decimal | None = None
    water: Decimal | None = None
    reclaim_minutes: Decimal | None = None
    prints_per_life: Decimal | None = None
    reclaims_per_life: Decimal | None = None
    stretcher_price: Decimal | None = None
    freight: Decimal | None = None
    screens_per_trip: Decimal | None = None
    days_away: Decimal | None = None
    equipment_per_month: Decimal | None = None
    spare_frame_per_month: Decimal | None = None

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if value is not None:
                object.__setattr__(self, field.name, valid_amount(field.name, value))


INPUTS: tuple[InputName, ...] = InputName.__args__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a cost: its amount, the inputs that it rests on, and those that are missing."""

    name: PartName
    amount: Decimal | None
    rests_on: tuple[InputName, ...]
    missing: tuple[InputName, ...] = ()


@dataclass(frozen=True, slots=True)
class Cost:
    """A cost with its parts."""

    parts: tuple[Part, ...]

    @property
    def missing(self) -> tuple[InputName, ...]:
        """The inputs that are not known, each once."""
        return _each_once(name for part in self.parts for name in part.missing)

    @property
    def rests_on(self) -> tuple[InputName, ...]:
        """All inputs, each once."""
        return _each_once(name for part in self.parts for name in part.rests_on)

    @property
    def known(self) -> Decimal:
        """The sum of the parts that are known."""
        return sum((p.amount for p in self.parts if p.amount is not None), ZERO)

    @property
    def total(self) -> Decimal | None:
        """The whole; None where a part is not known."""
        return None if self.missing else self.known


def _each_once(names: Iterable[InputName]) -> tuple[InputName, ...]:
    return tuple(dict.fromkeys(names))


def part(
    name: PartName,
    inputs: CostInputs,
    rests_on: tuple[InputName, ...],
    reckon: Callable[..., Decimal],
) -> Part:
    """Reckon a part from the inputs of these names, or say which of them are missing."""
    values = [getattr(inputs, input_name) for input_name in rests_on]
    missing = tuple(n for n, value in zip(rests_on, values, strict=True) if value is None)
    return Part(name, None if missing else reckon(*values), rests_on, missing)


_LENGTH: tuple[InputName, ...] = ("mesh_m", "price_per_m")
_WORK: tuple[InputName, ...] = ("stretch_minutes", "labour_per_hour")


def stretch_cost(inputs: CostInputs) -> Cost:
    """Cost of one good stretch.

    What bursts is done again: of the share b of all pulls that burst, a good stretch takes
    1 / (1 - b) pulls. A burst costs mesh and work, but no glue, since mesh breaks before it is
    glued. In the same way each metre that is stretched takes 1 / (1 - w) metres off the roll.

    Parameters
    ----------
    inputs : CostInputs
        What the shop knows.

    Returns
    -------
    Cost
        With the parts mesh, waste, adhesive, activator, labour and bursts.

    Examples
    --------
    >>> inputs = CostInputs(mesh_m=Decimal("1.2"), price_per_m=Decimal(20),
    ...     waste_share=Decimal("0.2"), adhesive=Decimal(1), activator=Decimal(0),
    ...     stretch_minutes=Decimal(45), labour_per_hour=Decimal(24), burst_share=Decimal("0.04"))
    >>> [str(part.amount) for part in stretch_cost(inputs).parts]
    ['24.0', '6.0', '1', '0', '18', '2.0']
    """
    return Cost(
        (
            part("mesh", inputs, _LENGTH, lambda m, price: m * price),
            part("waste", inputs, (*_LENGTH, "waste_share"), _waste),
            part("adhesive", inputs, ("adhesive",), lambda money: money),
            part("activator", inputs, ("activator",), lambda money: money),
            part("labour", inputs, _WORK, _labour),
            part("bursts", inputs, (*_LENGTH, "waste_share", *_WORK, "burst_share"), _bursts),
        )
    )


def _waste(mesh_m: Decimal, price: Decimal, share: Decimal) -> Decimal:
    return mesh_m * price * share / (ONE - share)


def _labour(minutes: Decimal, per_hour: Decimal) -> Decimal:
    return minutes * per_hour / MINUTES_PER_HOUR


def _bursts(
    mesh_m: Decimal,
    price: Decimal,
    waste_share: Decimal,
    minutes: Decimal,
    per_hour: Decimal,
    burst_share: Decimal,
) -> Decimal:
    pull = mesh_m * price + _waste(mesh_m, price, waste_share) + _labour(minutes, per_hour)
    return pull * burst_share / (ONE - burst_share)


def reclaim_cost(inputs: CostInputs) -> Cost:
    """Cost of one reclaim: chemistry, water and labour.

    Examples
    --------
    >>> inputs = CostInputs(chemistry=Decimal("0.8"), water=Decimal("0.2"),
    ...     reclaim_minutes=Decimal(5), labour_per_hour=Decimal(24))
    >>> reclaim_cost(inputs).total
    Decimal('3.0')
    """
    return Cost(
        (
            part("chemistry", inputs, ("chemistry",), lambda money: money),
            part("water", inputs, ("water",), lambda money: money),
            part("labour", inputs, ("reclaim_minutes", "labour_per_hour"), _labour),
        )
    )


def thousand_prints_cost(inputs: CostInputs) -> Cost:
    """Cost of a thousand prints with one screen: its share of the stretch, and its reclaims.

    Parameters
    ----------
    inputs : CostInputs
        What the shop knows.

    Returns
    -------
    Cost
        With the parts stretches and reclaims.

    Examples
    --------
    A stretch of 40.00 that lasts for 8000 prints, and 20 reclaims of 3.00 in that time:

    >>> inputs = CostInputs(mesh_m=Decimal(1), price_per_m=Decimal(40), waste_share=ZERO,
    ...     adhesive=ZERO, activator=ZERO, stretch_minutes=ZERO, labour_per_hour=ZERO,
    ...     burst_share=ZERO, chemistry=Decimal(3), water=ZERO, reclaim_minutes=ZERO,
    ...     prints_per_life=Decimal(8000), reclaims_per_life=Decimal(20))
    >>> [str(part.amount) for part in thousand_prints_cost(inputs).parts]
    ['5', '7.5']
    """
    stretch, reclaim = stretch_cost(inputs), reclaim_cost(inputs)

    def share_of(cost: Cost, prints: Decimal, times: Decimal = ONE) -> Decimal:
        return cost.known * times * THOUSAND / prints

    return Cost(
        (
            _on_top(
                part(
                    "stretches", inputs, ("prints_per_life",),
                    lambda prints: share_of(stretch, prints),
                ),
                stretch,
            ),
            _on_top(
                part(
                    "reclaims", inputs, ("prints_per_life", "reclaims_per_life"),
                    lambda prints, times: share_of(reclaim, prints, times),
                ),
                reclaim,
            ),
        )
    )  # fmt: skip


def _on_top(share: Part, cost: Cost) -> Part:
    """A part that rests on a whole cost too: not known where that is not."""
    missing = _each_once((*share.missing, *cost.missing))
    rests_on = _each_once((*share.rests_on, *cost.rests_on))
    return Part(share.name, None if missing else share.amount, rests_on, missing)
