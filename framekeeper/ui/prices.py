"""Reads and writes prices of mesh in the shop's unit: per metre, or per yard where it buys so."""

from __future__ import annotations

from decimal import Decimal

from framekeeper.domain.money import per_metre, per_yard, price_text, read_price
from framekeeper.ui.text import Formatter, tr


def price_unit_word(formatter: Formatter) -> str:
    """Return what stands beside a field for a price, such as "€/m", or "per m"."""
    unit = tr("m") if formatter.length_unit == "mm" else tr("yd")
    if not formatter.currency:
        return tr("per {unit}", unit=unit)
    return tr("{currency}/{unit}", currency=formatter.currency, unit=unit)


def bare_price(formatter: Formatter, price_per_m: Decimal | None) -> str:
    """Write a price for a field; empty where none is known."""
    if price_per_m is None:
        return ""
    shown = price_per_m if formatter.length_unit == "mm" else per_yard(price_per_m)
    return formatter.decimal_sign(price_text(shown))


def price_words(formatter: Formatter, price_per_m: Decimal | None) -> str:
    """Write a price to the cent with the currency; empty where none is known."""
    if price_per_m is None:
        return ""
    shown = price_per_m if formatter.length_unit == "mm" else per_yard(price_per_m)
    amount = formatter.decimal_sign(f"{shown:.2f}")
    return tr("{amount} {unit}", amount=amount, unit=price_unit_word(formatter))


def read_price_per_m(formatter: Formatter, text: str, *, argument: str) -> Decimal | None:
    """Read a price as it stands in a field; None where the field is empty.

    Raises
    ------
    NotValid
        If the text is no price.
    """
    price = read_price(text, argument=argument)
    if price is None or formatter.length_unit == "mm":
        return price
    return per_metre(price)
