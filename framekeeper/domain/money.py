"""Reads and checks prices: exact decimal numbers, never floats, because invoices are exact."""

from __future__ import annotations

import re
from decimal import Decimal

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

HIGHEST_PRICE = Decimal(1_000_000)
FINEST = Decimal("0.000001")  # finer than any price is told; a price per yard keeps its cents
METRES_PER_YARD = Decimal("0.9144")  # exact by definition
_PRICE = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,6})?", re.ASCII)


def read_price(text: str, *, argument: str) -> Decimal | None:
    """Read a price with a decimal comma or point; None for an empty text.

    Raises
    ------
    NotValid
        For anything that is no price.

    Examples
    --------
    >>> read_price(" 12,50 ", argument="price_per_m"), read_price("", argument="price_per_m")
    (Decimal('12.50'), None)
    """
    plain = text.strip()
    if not plain:
        return None
    if _PRICE.fullmatch(plain) is None:
        raise NotValid(
            say("“{text}” is not a price.", text=plain[:40]),
            hint=say("Type a number such as 12.50 or 12,50, without the currency."),
            argument=argument,
        )
    return valid_price(Decimal(plain.replace(",", ".")), argument=argument)


def valid_price(price: Decimal | None, *, argument: str) -> Decimal | None:
    """Return a price that can be; None where none is known.

    Raises
    ------
    NotValid
        For a price that is no number, negative, or beyond any mesh.
    """
    if price is None:
        return None
    if not price.is_finite() or not 0 <= price <= HIGHEST_PRICE:
        raise NotValid(
            say("A price of {price} cannot be.", price=price),
            hint=say("Check the number; an unknown price is left empty."),
            argument=argument,
        )
    return price


def per_metre(price_per_yard: Decimal) -> Decimal:
    """Turn a price per yard into one per metre.

    >>> per_metre(Decimal("9.144"))
    Decimal('10.000000')
    """
    return (price_per_yard / METRES_PER_YARD).quantize(FINEST)


def per_yard(price_per_metre: Decimal) -> Decimal:
    """Turn a price per metre into one per yard, to a hundredth of a cent.

    >>> per_yard(per_metre(Decimal("12.50")))
    Decimal('12.5000')
    """
    return (price_per_metre * METRES_PER_YARD).quantize(Decimal("0.0001"))


def price_text(price: Decimal) -> str:
    """Write a price with a decimal point, two digits after it or up to four where they count.

    >>> [price_text(Decimal(p)) for p in ("12.5", "12.5000", "0.125", "7")]
    ['12.50', '12.50', '0.125', '7.00']
    """
    exact = f"{price.quantize(Decimal('0.0001')):f}"
    while exact.endswith("0") and len(exact) - exact.index(".") > 3:
        exact = exact[:-1]
    return exact
