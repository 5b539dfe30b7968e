"""The mesh order on paper and as a workbook: what the view shows, but only what to order."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from framekeeper.domain.money import per_yard, price_text
from framekeeper.domain.sentence import Millimetres, Running, Sentence, say
from framekeeper.domain.sizes import MM_PER_UNIT
from framekeeper.services.order import MeshOrder, OrderList
from framekeeper.services.order_words import need_words, percent
from framekeeper.services.papers import paper_size
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.order_sheet import OrderLine, OrderSheet
    from framekeeper.formats.order_workbook import Value

_MM_PER_ROLL_UNIT = {"m": 1000.0, "yd": 914.4}  # both exact by definition


def order_sheet(orders: OrderList, wording: Wording) -> OrderSheet:
    """Put the order into words."""
    from framekeeper.formats.order_sheet import OrderSheet

    total = orders.total
    return OrderSheet(
        shop=orders.settings.shop_name,
        printed_on=wording.date(orders.today),
        lines=tuple(_line(order, orders, wording) for order in orders.to_order),
        total="" if total is None else _amount(total, wording),
        roll_unit=wording.sentence(_unit_word(orders)),
        currency=orders.settings.currency,
        paper=paper_size(orders.settings),
    )


def order_sheet_pdf(orders: OrderList, wording: Wording) -> bytes:
    """Print the order."""
    from framekeeper.formats import order_sheet as paper

    return paper.order_sheet_pdf(order_sheet(orders, wording), speak=wording.sentence)


def order_workbook(orders: OrderList, wording: Wording) -> bytes:
    """Write the order as XLSX, lengths and money as numbers in the shop's units."""
    from framekeeper.formats.order_workbook import workbook

    speak, unit = wording.sentence, wording.sentence(_unit_word(orders))
    size = say("in") if orders.settings.length_unit == "inch" else say("mm")
    heads = [
        speak(say("Mesh")),
        speak(say("From")),
        speak(say("Rolls")),
        speak(say("Width, {unit}", unit=speak(size))),
        speak(say("Each, {unit}", unit=unit)),
        speak(say("In all, {unit}", unit=unit)),
        speak(say("Price per {unit}", unit=unit)),
        speak(say("Sum")),
        speak(say("Currency")),
        speak(say("Why")),
    ]
    rows = [_row(order, orders, wording) for order in orders.to_order]
    total: list[Value] = ["", "", "", "", "", "", speak(say("Total")), orders.total,
                          orders.settings.currency, ""]  # fmt: skip
    known = orders.total is not None and rows
    return workbook(speak(say("Mesh order")), heads, rows, total if known else ())


def why(order: MeshOrder) -> Sentence:
    """Say in one line why a mesh is ordered: the need, what is there, and the risk of waiting."""
    return say(
        "{need} {there} can be used. If it is ordered {days} days later, the chance that it runs "
        "out before the delivery is {chance}.",
        need=need_words(order),
        there=Running(order.there_mm),
        days=order.settings.review_days,
        chance=percent(order.chance_later),
    )


def _line(order: MeshOrder, orders: OrderList, wording: Wording) -> OrderLine:
    from framekeeper.formats.order_sheet import OrderLine

    buy = order.purchase
    assert buy is not None
    speak = wording.sentence
    price = _price(buy.price_per_m, orders)
    return OrderLine(
        mesh=order.mesh.name,
        buy_from=buy.buy_from,
        rolls="" if buy.roll_mm is None else str(buy.rolls),
        width="" if buy.width_mm is None else speak(say("{w}", w=Millimetres(buy.width_mm))),
        roll_length="" if buy.roll_mm is None else _length(buy.roll_mm, orders, wording),
        length=_length(buy.length_mm, orders, wording),
        price="" if price is None else _amount(price, wording),
        total="" if buy.total is None else _amount(buy.total, wording),
        reason=speak(why(order)),
    )


def _row(order: MeshOrder, orders: OrderList, wording: Wording) -> list[Value]:
    buy = order.purchase
    assert buy is not None
    unit = _MM_PER_ROLL_UNIT[_unit(orders)]
    size = MM_PER_UNIT["inch" if orders.settings.length_unit == "inch" else "mm"]
    return [
        order.mesh.name,
        buy.buy_from,
        buy.rolls if buy.roll_mm is not None else None,
        None if buy.width_mm is None else round(buy.width_mm / size, 1),
        None if buy.roll_mm is None else round(buy.roll_mm / unit, 2),
        round(buy.length_mm / unit, 2),
        _price(buy.price_per_m, orders),
        buy.total,
        orders.settings.currency,
        wording.sentence(why(order)),
    ]


def _unit(orders: OrderList) -> str:
    return "yd" if orders.settings.length_unit == "inch" else "m"


def _unit_word(orders: OrderList) -> Sentence:
    return say("yd") if _unit(orders) == "yd" else say("m")


def _price(per_m: Decimal | None, orders: OrderList) -> Decimal | None:
    if per_m is None or _unit(orders) == "m":
        return per_m
    return per_yard(per_m)


def _length(length_mm: int, orders: OrderList, wording: Wording) -> str:
    value = length_mm / _MM_PER_ROLL_UNIT[_unit(orders)]
    return wording.sentence(say("{value:.2f}", value=value))


def _amount(amount: Decimal, wording: Wording) -> str:
    """Write money with the person's decimal sign: two digits after it, or as many as count."""
    whole, _, cents = price_text(amount).partition(".")
    sign = wording.sentence(say("{half:.1f}", half=0.5))[1]
    return f"{whole}{sign}{cents}"
