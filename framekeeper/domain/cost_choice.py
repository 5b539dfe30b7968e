"""Stretching in house against sending out: what a month of each costs, and from where one pays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from framekeeper.domain.costs import (
    ONE,
    SHARES,
    ZERO,
    Cost,
    CostInputs,
    InputName,
    Part,
    part,
    stretch_cost,
    valid_amount,
)
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.sentence import say

BreakEvenKind = Literal["from", "always", "never", "equal"]
SwingName = InputName | Literal["screens"]

DAYS_PER_MONTH = Decimal("365.25") / 12
USUAL_SPREAD = Decimal("0.2")
_LARGEST_SHARE = Decimal("0.99")  # a share of 1 would ask for endless mesh


@dataclass(frozen=True, slots=True)
class BreakEven:
    """For how many screens a month stretching in house is the cheaper way.

    Attributes
    ----------
    kind
        "from" this number of screens on, "always", "never", or "equal" where both cost the same for
        every number.
    screens : Decimal, optional
        The number at which both cost the same; only for "from".
    """

    kind: BreakEvenKind
    screens: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Swing:
    """How the difference of both ways moves with one input.

    Attributes
    ----------
    name
        The input, or "screens".
    low, high : Decimal
        The values that it was given.
    at_low, at_high : Decimal
        What a month in house then costs more than sending out.
    """

    name: SwingName
    low: Decimal
    high: Decimal
    at_low: Decimal
    at_high: Decimal

    @property
    def reach(self) -> Decimal:
        """How far the difference moves."""
        return abs(self.at_high - self.at_low)


def in_house_month(inputs: CostInputs, screens: Decimal) -> Cost:
    """Cost of stretching so many screens a month in house: the equipment and the stretches.

    Parameters
    ----------
    inputs : CostInputs
        What the shop knows.
    screens : Decimal
        Good screens a month, from 0 upwards.

    Raises
    ------
    NotValid
        For a number of screens that cannot be.
    """
    wanted = valid_amount("screens", screens)
    stretch = stretch_cost(inputs)
    missing = stretch.missing
    amount = None if missing else wanted * stretch.known
    return Cost(
        (
            part("equipment", inputs, ("equipment_per_month",), lambda money: money),
            Part("stretches", amount, stretch.rests_on, missing),
        )
    )


def sent_out_month(inputs: CostInputs, screens: Decimal) -> Cost:
    """Cost of having so many screens a month stretched outside.

    A trip goes when it is full, so over the months a screen takes its share of one. Spare frames
    are priced only where the shop says what one costs; `frames_away` counts them.

    Parameters
    ----------
    inputs : CostInputs
        What the shop knows.
    screens : Decimal
        A month, from 0 upwards.

    Raises
    ------
    NotValid
        For a number of screens that cannot be.

    Examples
    --------
    >>> inputs = CostInputs(stretcher_price=Decimal(30), freight=Decimal(50),
    ...     screens_per_trip=Decimal(10))
    >>> [str(part.amount) for part in sent_out_month(inputs, Decimal(60)).parts]
    ['1800', '300']
    """
    wanted = valid_amount("screens", screens)
    parts = [
        part("stretcher", inputs, ("stretcher_price",), lambda price: wanted * price),
        part(
            "freight", inputs, ("freight", "screens_per_trip"),
            lambda freight, on_trip: wanted * freight / on_trip,
        ),
    ]  # fmt: skip
    if inputs.spare_frame_per_month is not None:
        parts.append(
            part(
                "spare_frames", inputs, ("days_away", "spare_frame_per_month"),
                lambda days, money: wanted * days / DAYS_PER_MONTH * money,
            )
        )  # fmt: skip
    return Cost(tuple(parts))


def frames_away(days_away: Decimal, screens: Decimal) -> Decimal:
    """Frames that are away on average, so that the shop needs as many more.

    Parameters
    ----------
    days_away : Decimal
        From the trip out until the screens are back.
    screens : Decimal
        That are sent out a month.

    References
    ----------
    .. [1] Little, J. D. C. (1961). A proof for the queuing formula L = lambda W. Operations
       Research 9, 383-387. doi:10.1287/opre.9.3.383

    Examples
    --------
    >>> round(frames_away(Decimal(7), Decimal(60)), 2)
    Decimal('13.80')
    """
    rate = valid_amount("screens", screens) / DAYS_PER_MONTH
    return rate * valid_amount("days_away", days_away)


def missing_for_choice(inputs: CostInputs) -> tuple[InputName, ...]:
    """The inputs without which the two ways cannot be compared."""
    both = (*in_house_month(inputs, ONE).missing, *sent_out_month(inputs, ONE).missing)
    return tuple(dict.fromkeys(both))


def difference(inputs: CostInputs, screens: Decimal) -> Decimal:
    """What a month in house costs more than sending out; below 0 in house is cheaper.

    Raises
    ------
    NotEnoughData
        Where an input is missing, with its name as `argument`.
    NotValid
        For a number of screens that cannot be.
    """
    _all_known(inputs)
    return in_house_month(inputs, screens).known - sent_out_month(inputs, screens).known


def break_even(inputs: CostInputs) -> BreakEven:
    """Number of screens a month from which on stretching in house is cheaper.

    Both ways are straight lines over the number of screens. Only the equipment has to be paid for
    no screen at all, so in house never starts as the cheaper way and ends as the dearer.

    Raises
    ------
    NotEnoughData
        Where an input is missing, with its name as `argument`.

    Examples
    --------
    500 a month for the equipment, and each screen 25 cheaper than outside:

    >>> inputs = CostInputs(mesh_m=ONE, price_per_m=Decimal(10), waste_share=ZERO, adhesive=ZERO,
    ...     activator=ZERO, stretch_minutes=ZERO, labour_per_hour=ZERO, burst_share=ZERO,
    ...     stretcher_price=Decimal(30), freight=Decimal(50), screens_per_trip=Decimal(10),
    ...     equipment_per_month=Decimal(500))
    >>> break_even(inputs)
    BreakEven(kind='from', screens=Decimal('20'))
    """
    fixed = difference(inputs, ZERO)
    each = difference(inputs, ONE) - fixed
    if each == 0:
        return BreakEven("equal" if fixed == 0 else "never")
    if each > 0:
        return BreakEven("never")
    return BreakEven("from", -fixed / each) if fixed > 0 else BreakEven("always")


def sensitivity(
    inputs: CostInputs,
    screens: Decimal,
    *,
    ranges: Mapping[SwingName, tuple[Decimal, Decimal]] | None = None,
    spread: Decimal = USUAL_SPREAD,
) -> tuple[Swing, ...]:
    """How the difference of both ways moves when one input alone is lower or higher.

    Parameters
    ----------
    inputs : CostInputs
        What the shop knows.
    screens : Decimal
        A month, from 0 upwards.
    ranges : mapping of name to (low, high), optional
        For inputs that are known better or worse than the others.
    spread : Decimal, default 0.2
        Share of its value by which every other input is lowered and raised, above 0 and below 1.
        Shares stay below 1, a trip holds at least one screen.

    Returns
    -------
    tuple of Swing
        The largest reach first; inputs of equal reach in the order of their names.

    Raises
    ------
    NotEnoughData
        Where an input is missing.
    NotValid
        For a range of something that is no input of the comparison, or that runs backwards.
    """
    if not ZERO < valid_amount("spread", spread) < ONE:
        raise NotValid(say("spread must be a share above 0 and below 1."), argument="spread")
    _all_known(inputs)
    names = _compared(inputs)
    own = dict(ranges or {})
    for name in own:
        if name not in names:
            raise NotValid(
                say("{name} is no input of this comparison.", name=name), argument="ranges"
            )
    swings = [
        _swing(inputs, screens, name, own.get(name) or _around(inputs, screens, name, spread))
        for name in names
    ]
    return tuple(sorted(swings, key=lambda s: (-s.reach, s.name)))


def _compared(inputs: CostInputs) -> tuple[SwingName, ...]:
    both = (*in_house_month(inputs, ONE).rests_on, *sent_out_month(inputs, ONE).rests_on)
    return ("screens", *dict.fromkeys(both))


def _around(
    inputs: CostInputs, screens: Decimal, name: SwingName, spread: Decimal
) -> tuple[Decimal, Decimal]:
    value = screens if name == "screens" else getattr(inputs, name)
    low, high = value * (ONE - spread), value * (ONE + spread)
    if name in SHARES:
        return low, max(value, min(high, _LARGEST_SHARE))
    return (max(low, ONE), high) if name == "screens_per_trip" else (low, high)


def _swing(
    inputs: CostInputs, screens: Decimal, name: SwingName, ends: tuple[Decimal, Decimal]
) -> Swing:
    low, high = (valid_amount(name, end) for end in ends)
    if low > high:
        raise NotValid(say("The range of {name} runs backwards.", name=name), argument="ranges")
    if name == "screens":
        return Swing(name, low, high, difference(inputs, low), difference(inputs, high))
    at_low, at_high = (difference(replace(inputs, **{name: end}), screens) for end in (low, high))
    return Swing(name, low, high, at_low, at_high)


def _all_known(inputs: CostInputs) -> None:
    missing = missing_for_choice(inputs)
    if missing:
        raise NotEnoughData(
            say("{name} is not known, so both ways cannot be compared.", name=missing[0]),
            hint=say("Enter it, or record what it is told from."),
            argument=missing[0],
        )
