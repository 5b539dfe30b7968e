"""Says why a mesh is to be ordered, or not: every number of an order with where it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from framekeeper.domain.life_sample import FEW_ENDS
from framekeeper.domain.money import price_text
from framekeeper.domain.sentence import Millimetres, Running, Sentence, say
from framekeeper.services.mesh_use import EndRate, Reason
from framekeeper.services.order import LONGEST_COVER_DAYS, Aside, MeshOrder
from framekeeper.services.order_buy import Purchase

USED_FOR: dict[Reason, Sentence] = {
    "first": say("first stretch"),
    "below_limit": say("below limit"),
    "damage": say("damage"),
    "other": say("another end"),
    "ahead": say("cut ahead"),
    "scrap": say("scrap"),
    "offcut": say("offcut kept"),
}

_SIZES_TOLD = 3
_ASIDE_TOLD = 2  # one by one
_REMNANT_MM = 100  # of a roll: shorter than any piece for a frame, so not worth a word
_LEAST_TOLD = 0.05  # of a piece: what is rarer is not worth a word
_DAYS_PER_MONTH = 365 / 12
_ALMOST = 0.005


def percent(share: float) -> Sentence:
    """Write a chance in whole percent, without pretending to certainty."""
    if share < _ALMOST:
        return say("under 1 %")
    if share > 1 - _ALMOST:
        return say("over 99 %")
    return say("{percent:.0f} %", percent=100 * share)


def unknown_words(count: int) -> Sentence:
    """Say how many frames wait of which nobody can tell what mesh they get."""
    if count == 1:
        return say("1 frame waits that never bore mesh; which it will get is not known.")
    return say("{count} frames wait that never bore mesh; which they will get is not known.",
               count=count)  # fmt: skip


def need_words(order: MeshOrder) -> Sentence:
    """Say how much is expected until when, and what for."""
    length = Running(order.need_mm)
    parts = [*_pieces(order), *_scrap(order)]
    if not parts:
        return say("Nothing is expected to be needed until {day}.", day=order.until)
    return say(
        "{length} expected until {day}: {parts}.",
        length=length, day=order.until, parts=_joined(parts),
    )  # fmt: skip


def _pieces(order: MeshOrder) -> Iterator[Sentence]:
    expected = order.expected
    told = [(s, n) for s, n in expected.restretches if n >= _LEAST_TOLD]
    for (width, height), count in told[:_SIZES_TOLD]:
        yield say(
            "{count:.1f} restretches of {width} x {height}",
            count=count,
            width=Millimetres(min(width, height)),
            height=Millimetres(max(width, height)),
        )
    others = sum(n for _, n in told[_SIZES_TOLD:])
    if others:
        yield say("{count:.1f} of other sizes", count=others)
    if expected.ledger >= _LEAST_TOLD:
        yield say("{count:.1f} pieces by the ledger", count=expected.ledger)
    if expected.waiting == 1:
        yield say("1 frame waiting")
    elif expected.waiting:
        yield say("{count} frames waiting", count=expected.waiting)
    if expected.damage >= _LEAST_TOLD:
        yield say("{count:.1f} for damage", count=expected.damage)
    if expected.other >= _LEAST_TOLD:
        yield say("{count:.1f} for other ends", count=expected.other)


def _scrap(order: MeshOrder) -> Iterator[Sentence]:
    if order.need_mm and order.spoiled is not None and order.spoiled.share > 0:
        yield say("{share:.1f} % scrap", share=100 * order.spoiled.share)


def _joined(parts: Sequence[Sentence]) -> Sentence:
    told = parts[0]
    for part in parts[1:]:
        told = say("{first}, {second}", first=told, second=part)
    return told


def reasons(order: MeshOrder) -> tuple[Sentence, ...]:
    """Give every number of an order with its reason, one sentence each, the decision first."""
    return (
        decision(order),
        need_words(order),
        *_basis(order),
        *_stock(order),
        cover_words(order),
        _reorder(order),
        _chances(order),
        _lead(order),
        *_buying(order),
        *_other_ends(order),
        *_spoiled(order),
    )


def decision(order: MeshOrder) -> Sentence:
    """Say what to do."""
    buy = order.purchase
    if buy is not None:
        return say("Order {mesh}: {what}.", what=amount(buy), mesh=order.mesh.name)
    if order.basis == "nothing":
        return say("Nothing is known of how much is used, so nothing is proposed.")
    if order.coming is not None:
        return say("Nothing to order: {length} are on their way.",
                   length=Running(order.coming.length_mm))  # fmt: skip
    return say("Nothing to order until the next look in {days} days.",
               days=order.settings.review_days)  # fmt: skip


def amount(buy: Purchase) -> Sentence:
    """Say how many rolls of which length and width."""
    if buy.roll_mm is None:
        return say("{length}", length=Running(buy.length_mm))
    length = Running(buy.roll_mm)
    if buy.width_mm is None:
        if buy.rolls == 1:
            return say("1 roll of {length}", length=length)
        return say("{rolls} rolls of {length}", rolls=buy.rolls, length=length)
    width = Millimetres(buy.width_mm)
    if buy.rolls == 1:
        return say("1 roll of {length}, {width} wide", length=length, width=width)
    return say("{rolls} rolls of {length}, {width} wide",
               rolls=buy.rolls, length=length, width=width)  # fmt: skip


def _basis(order: MeshOrder) -> Iterator[Sentence]:
    if order.basis == "forecast":
        yield say(
            "Restretches are those of the forecast; it knows {foretold} of {screens} screens.",
            foretold=order.foretold, screens=order.screens,
        )  # fmt: skip
        if order.foretold < order.screens:
            yield say("A screen that it does not know is taken to be like the others.")
    elif order.basis == "ledger":
        yield say("The forecast knows too few of these screens, so the ledger alone counts.")
    elif order.basis == "waiting":
        yield say("Neither a forecast nor a cut tells the use, so only what is needed now counts.")
    pace = order.pace
    if pace is not None:
        yield say(
            "{pieces} pieces were cut in {days:.0f} days: {per_month:.1f} a month.",
            pieces=pace.pieces, days=pace.days, per_month=pace.per_day * _DAYS_PER_MONTH,
        )  # fmt: skip
    if abs(order.as_cut - 1) >= 0.01 and order.basis == "forecast":
        yield say(
            "As this shop cuts, a screen takes {share:.0f} % of the length of its plain piece.",
            share=100 * order.as_cut,
        )
    if order.expected.cut_already == 1:
        yield say("1 frame that waits has its piece already.")
    elif order.expected.cut_already:
        yield say("{count} frames that wait have their pieces already.",
                  count=order.expected.cut_already)  # fmt: skip


def _stock(order: MeshOrder) -> Iterator[Sentence]:
    if not order.on_hand_mm:
        yield say("None is on hand.")
    elif order.on_hand_mm - order.usable_mm < _REMNANT_MM:
        yield say("{length} on hand.", length=Running(order.on_hand_mm))
    else:
        yield say("{usable} of {length} on hand serve most of these screens.",
                  usable=Running(order.usable_mm), length=Running(order.on_hand_mm))  # fmt: skip
    yield from _set_aside([a for a in order.aside if a.roll.on_hand_mm >= _REMNANT_MM])
    coming = order.coming
    if coming is not None and coming.is_late(order.today):
        yield say(
            "{length} that were ordered on {day} should have come on {expected}.",
            length=Running(coming.length_mm), day=coming.ordered_on, expected=coming.expected_on,
        )  # fmt: skip
    elif coming is not None:
        yield say(
            "{length} that were ordered on {day} are expected on {expected}.",
            length=Running(coming.length_mm), day=coming.ordered_on, expected=coming.expected_on,
        )  # fmt: skip


def _set_aside(aside: Sequence[Aside]) -> Iterator[Sentence]:
    if len(aside) <= _ASIDE_TOLD:
        yield from map(_aside, aside)
        return
    yield say(
        "{count} rolls and offcuts with {length} in all do not count: too narrow for most of "
        "these screens, or too little is left of them.",
        count=len(aside),
        length=Running(sum(a.roll.on_hand_mm for a in aside)),
    )


def _aside(aside: Aside) -> Sentence:
    roll = aside.roll
    if aside.is_narrow:
        return say(
            "Roll {code} does not count: {width} is too narrow for most of these screens.",
            code=roll.code, width=Millimetres(roll.width_mm),
        )  # fmt: skip
    return say(
        "Roll {code} does not count: the {length} left of it are too short for most.",
        code=roll.code, length=Running(roll.on_hand_mm),
    )  # fmt: skip


def cover_words(order: MeshOrder) -> Sentence:
    """Say how long the stock lasts."""
    if order.cover_days is None:
        return say("On average it lasts more than {days} days.", days=LONGEST_COVER_DAYS)
    if order.cover_days < 1:
        return say("It does not last for what is needed now.")
    return say("On average it lasts {days:.0f} days.", days=order.cover_days)


def _reorder(order: MeshOrder) -> Sentence:
    return say(
        "The reorder point is {length}: so much lasts until {day} in {level} of 100 cases.",
        length=Running(order.reorder_mm), day=order.until, level=order.settings.service_level,
    )  # fmt: skip


def _chances(order: MeshOrder) -> Sentence:
    if order.chance_today > 1 - _ALMOST and order.coming is not None:
        return say("It runs out before what is on its way is expected.")
    if order.chance_today > 1 - _ALMOST:
        return say("It runs out before the delivery, even if it is ordered today.")
    if order.chance_later < _ALMOST:
        return say(
            "The chance that it runs out before the delivery is under 1 %, even if it is ordered "
            "in {days} days only.",
            days=order.settings.review_days,
        )
    return say(
        "The chance that it runs out before the delivery is {now} if it is ordered today, "
        "{later} if in {days} days.",
        now=percent(order.chance_today),
        later=percent(order.chance_later),
        days=order.settings.review_days,
    )


def _lead(order: MeshOrder) -> Sentence:
    days = order.lead.days
    if order.lead_is_assumed:
        return say(
            "How long a delivery takes is not told for this mesh; {days:.0f} days are assumed.",
            days=days,
        )
    if order.lead.sd_days:
        return say("A delivery takes {days:.0f} days, give or take {sd:.0f}.",
                   days=days, sd=order.lead.sd_days)  # fmt: skip
    return say("A delivery takes {days:.0f} days.", days=days)


def _other_ends(order: MeshOrder) -> Iterator[Sentence]:
    if order.basis != "forecast":
        return
    yield _rate(
        order.damage,
        say("{ends} screens of the shop were damaged in {days:.0f} screen-days.",
            ends=order.damage.ends, days=order.damage.screen_days),
    )  # fmt: skip
    yield _rate(
        order.other_ends,
        say("{ends} were pulled or stripped for other reasons than tension or damage.",
            ends=order.other_ends.ends),
    )  # fmt: skip


def _rate(rate: EndRate, told: Sentence) -> Sentence:
    if rate.ends >= FEW_ENDS:
        return told
    return say("{told} That is few, so the true rate may be quite another.", told=told)


def _spoiled(order: MeshOrder) -> Iterator[Sentence]:
    spoiled = order.spoiled
    if spoiled is None:
        yield say("Too little mesh was cut to know this shop's scrap, so none is reckoned with.")
        return
    told = say(
        "Scrap, what was missing at counts, and what burst in the clamps: {length} in a year",
        length=Running(spoiled.spoiled_mm),
    )
    if spoiled.is_whole_shop:
        yield say("{told}, of all meshes, since little of this one was cut yet.", told=told)
    else:
        yield say("{told} of this mesh.", told=told)


def _buying(order: MeshOrder) -> Iterator[Sentence]:
    buy = order.purchase
    if buy is None:
        return
    yield say("{length} lack to the reorder point.", length=Running(buy.gap_mm))
    if buy.economic_mm is not None:
        yield say(
            "The cheapest quantity is {length}, with {cost} for an order and {percent} % of the "
            "price for a year on the shelf.",
            length=Running(buy.economic_mm),
            cost=order.settings.order_cost,
            percent=order.settings.holding_percent,
        )
    else:
        yield say("Without a price and the cost of an order, no cheapest quantity is known.")
    if buy.roll_mm is None:
        yield say("No usual roll is told and none came before, so it is ordered by length.")
    elif buy.as_last_time:
        yield say("The roll is like the last one that came, since no usual one is told in full.")
    if buy.price_per_m is not None and buy.price_is_of_roll:
        yield say("The price is that of the last roll that had one.")
    yield from _width(order, buy)


def _width(order: MeshOrder, buy: Purchase) -> Iterator[Sentence]:
    fitting = [w for w in buy.widths if w.cost_per_piece is not None and not w.too_wide]
    if not fitting:
        return
    best, currency = fitting[0], order.settings.currency
    usual = next((w for w in fitting if w.width_mm == buy.width_mm), None)
    width, cost = Millimetres(best.width_mm), _money(best.cost_per_piece, currency)
    if usual is None or usual is best:
        yield say("{width} is the cheapest width per screen: {cost}.", width=width, cost=cost)
        return
    yield say(
        "{width} wide would cost {cost} a screen, {usual} wide costs {usual_cost}.",
        width=width,
        cost=cost,
        usual=Millimetres(usual.width_mm),
        usual_cost=_money(usual.cost_per_piece, currency),
    )


def _money(amount: Decimal | None, currency: str) -> str:
    text = "" if amount is None else price_text(amount.quantize(Decimal("0.01")))
    return f"{text} {currency}".strip()
