"""A price is read with either decimal sign, exactly, and nothing else is one."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.money import per_metre, per_yard, price_text, read_price, valid_price


@pytest.mark.parametrize(
    ("text", "price"),
    [("12,50", "12.50"), (" 12.5 ", "12.5"), ("0", "0"), ("0,000001", "0.000001")],
)
def test_a_price_is_read(text: str, price: str) -> None:
    assert read_price(text, argument="p") == Decimal(price)


@pytest.mark.parametrize(
    "text", ["-1", "1,234.50", "12 €", "1e3", "NaN", "١٢", "1000000.5", "9" * 400, "1.", ".5"]
)
def test_what_is_no_price(text: str) -> None:
    with pytest.raises(NotValid) as refused:
        read_price(text, argument="price_per_m")
    assert refused.value.argument == "price_per_m"


@pytest.mark.parametrize("price", ["NaN", "Infinity", "-0.01", "1000001"])
def test_a_number_that_is_no_price(price: str) -> None:
    with pytest.raises(NotValid):
        valid_price(Decimal(price), argument="p")


@given(st.decimals(0, 100_000, places=4))
def test_a_price_per_yard_comes_back_as_it_was_typed(price: Decimal) -> None:
    """To a hundredth of a cent, whatever the shop's unit is in between."""
    assert per_yard(per_metre(price)) == price
    assert read_price(price_text(price), argument="p") == price
