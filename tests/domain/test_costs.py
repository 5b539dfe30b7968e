"""Costs of stretches, reclaims and prints, and when stretching in house pays.

The worked examples are our own, worked by hand on paper; no published example of these sums was
found. The rule price x length (+ glue + labour) is common practice of the trade.
"""

from __future__ import annotations

import doctest
from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain import cost_choice, costs
from framekeeper.domain.cost_choice import (
    BreakEven,
    break_even,
    difference,
    frames_away,
    in_house_month,
    missing_for_choice,
    sensitivity,
    sent_out_month,
)
from framekeeper.domain.costs import (
    INPUTS,
    CostInputs,
    reclaim_cost,
    stretch_cost,
    thousand_prints_cost,
)
from framekeeper.domain.errors import NotEnoughData, NotValid

D = Decimal
MONEY = (
    "price_per_m", "adhesive", "activator", "labour_per_hour", "chemistry", "water",
    "stretcher_price", "freight", "equipment_per_month", "spare_frame_per_month",
)  # fmt: skip
SHOP = CostInputs(
    mesh_m=D("0.95"),
    price_per_m=D("18.00"),
    waste_share=D("0.05"),
    adhesive=D("0.60"),
    activator=D("0.15"),
    stretch_minutes=D(50),
    labour_per_hour=D("24.00"),
    burst_share=D("0.10"),
    chemistry=D("0.70"),
    water=D("0.10"),
    reclaim_minutes=D("4.8"),
    prints_per_life=D(20_000),
    reclaims_per_life=D(40),
    stretcher_price=D("42.00"),
    freight=D("60.00"),
    screens_per_trip=D(12),
    days_away=D(7),
    equipment_per_month=D("150.00"),
    spare_frame_per_month=D("0.80"),
)


def amounts(cost: costs.Cost) -> dict[str, D | None]:
    return {part.name: part.amount for part in cost.parts}


# worked by hand


def test_a_stretch_by_hand() -> None:
    """0.95 m at 18 is 17.10; 5 % waste: 17.10/0.95 = 18.00; 50 min at 24 are 20.00.

    A pull is 38.00, and at 10 % bursts a good one takes 1/0.9 pulls: 38/9 = 4.2222 more.
    """
    found = amounts(stretch_cost(SHOP))
    assert found.pop("bursts") == pytest.approx(D(38) / 9, rel=D("1e-25"))
    assert found == {
        "mesh": D("17.10"),
        "waste": D("0.90"),
        "adhesive": D("0.60"),
        "activator": D("0.15"),
        "labour": D("20.00"),
    }
    assert round(stretch_cost(SHOP).total or D(0), 2) == D("42.97")


def test_a_reclaim_by_hand() -> None:
    """0.70 + 0.10 + 4.8 min at 24.00 an hour, 1.92."""
    assert amounts(reclaim_cost(SHOP)) == {
        "chemistry": D("0.70"),
        "water": D("0.10"),
        "labour": D("1.92"),
    }
    assert reclaim_cost(SHOP).total == D("2.72")


def test_a_thousand_prints_by_hand() -> None:
    """42.9722 / 20 = 2.1486 of the stretch, and 40 reclaims in 20 thousand: 2 x 2.72 = 5.44."""
    found = amounts(thousand_prints_cost(SHOP))
    assert found["reclaims"] == D("5.44")
    assert round(found["stretches"] or D(0), 4) == D("2.1486")


def test_a_month_of_both_ways_by_hand() -> None:
    """60 screens: 150 + 60 x 42.97222 = 2728.33 in house; 60 x 42 + 5 trips of 60 = 2820 outside.

    7 days of 60 screens a month keep 60 x 7 / 30.4375 = 13.80 frames away, at 0.80 each 11.04.
    """
    inside, outside = in_house_month(SHOP, D(60)), sent_out_month(SHOP, D(60))
    assert amounts(inside)["equipment"] == D(150)
    assert round(inside.total or D(0), 2) == D("2728.33")
    assert {name: round(a or D(0), 2) for name, a in amounts(outside).items()} == {
        "stretcher": D("2520.00"),
        "freight": D("300.00"),
        "spare_frames": D("11.04"),
    }
    assert round(frames_away(D(7), D(60)), 2) == D("13.80")
    assert round(difference(SHOP, D(60)), 2) == D("-102.71")


def test_break_even_by_hand() -> None:
    """Outside 42 + 5 + 7/30.4375 x 0.80 = 47.18398 each, in house 42.97222: 150/4.21176 = 35.61."""
    found = break_even(SHOP)
    assert found.kind == "from"
    assert round(found.screens or D(0), 2) == D("35.61")


@pytest.mark.parametrize(
    ("price", "equipment", "said"),
    [
        ("30", "500", BreakEven("from", D(25))),  # each 20 cheaper, 500 to earn
        ("30", "0", BreakEven("always")),
        ("5", "0", BreakEven("never")),  # each 5 dearer
        ("5", "100", BreakEven("never")),
        ("10", "0", BreakEven("equal")),
        ("10", "1", BreakEven("never")),
    ],
)
def test_where_both_lines_cross_or_do_not(price: str, equipment: str, said: BreakEven) -> None:
    plain = cheap(stretcher_price=D(price), equipment_per_month=D(equipment))
    assert break_even(plain) == said


def cheap(**changes: D) -> CostInputs:
    """A stretch costs 10 in house, and nothing else costs anything."""
    nothing = {name: D(0) for name in INPUTS}
    given_values = {
        **nothing,
        "mesh_m": D(1),
        "price_per_m": D(10),
        "prints_per_life": D(1),
        "screens_per_trip": D(1),
        "spare_frame_per_month": None,
        **changes,
    }
    return CostInputs(**given_values)  # type: ignore[arg-type]


def test_a_tornado_by_hand() -> None:
    """At 100 screens in house is 1000 + 100, outside 100 x 12: 20 % of 1200 move it by 480."""
    found = sensitivity(cheap(stretcher_price=D(12), equipment_per_month=D(100)), D(100))
    told = {s.name: (s.at_low, s.at_high, s.reach) for s in found}
    assert told["stretcher_price"] == (D(140), D(-340), D(480))
    assert told["price_per_m"] == (D(-300), D(100), D(400))
    assert told["equipment_per_month"] == (D(-120), D(-80), D(40))
    assert told["screens"] == (D(-60), D(-140), D(80))
    assert [s.name for s in found][:3] == ["stretcher_price", "mesh_m", "price_per_m"]
    assert "chemistry" not in told, "a reclaim costs the same both ways"


def test_an_input_may_have_a_range_of_its_own() -> None:
    wide = sensitivity(
        cheap(stretcher_price=D(12)), D(100), ranges={"stretcher_price": (D(2), D(12))}
    )
    found = {s.name: s for s in wide}["stretcher_price"]
    assert (found.low, found.high, found.at_low, found.at_high) == (D(2), D(12), D(800), D(-200))


def test_the_examples_in_the_docstrings() -> None:
    for module in (costs, cost_choice):
        tried = doctest.testmod(module)
        assert tried.attempted > 2
        assert tried.failed == 0


# what is missing


def test_what_is_not_known_stays_open_and_is_named() -> None:
    inputs = CostInputs(adhesive=D(1), mesh_m=D(1), price_per_m=D(20))
    cost = stretch_cost(inputs)
    assert cost.known == D(21)
    assert cost.total is None
    assert cost.missing == (
        "waste_share", "activator", "stretch_minutes", "labour_per_hour", "burst_share",
    )  # fmt: skip
    assert thousand_prints_cost(inputs).total is None
    assert thousand_prints_cost(inputs).known == 0, "a share of half a stretch is no cost"


def test_the_two_ways_are_not_compared_on_half_the_numbers() -> None:
    inputs = replace(SHOP, freight=None)
    assert missing_for_choice(inputs) == ("freight",)
    assert in_house_month(inputs, D(10)).total is not None
    for refused in (break_even, lambda i: sensitivity(i, D(1)), lambda i: difference(i, D(1))):
        with pytest.raises(NotEnoughData) as told:
            refused(inputs)
        assert told.value.argument == "freight"


def test_spare_frames_are_priced_only_where_a_price_is_known() -> None:
    unpriced = replace(SHOP, spare_frame_per_month=None, days_away=None)
    assert missing_for_choice(unpriced) == ()
    assert "spare_frames" not in amounts(sent_out_month(unpriced, D(60)))
    assert missing_for_choice(replace(SHOP, days_away=None)) == ("days_away",)


@pytest.mark.parametrize("name", INPUTS)
@pytest.mark.parametrize("value", [D("-0.01"), D("NaN"), D("Infinity"), 1.5, "2", True])
def test_nonsense_is_refused_by_name(name: str, value: object) -> None:
    with pytest.raises(NotValid) as refused:
        CostInputs(**{name: value})  # type: ignore[arg-type]
    assert refused.value.argument == name


@pytest.mark.parametrize(
    ("name", "value"),
    [("waste_share", 1), ("burst_share", D("1.2")), ("prints_per_life", 0),
     ("screens_per_trip", D("0.5"))],
)  # fmt: skip
def test_limits_of_single_inputs(name: str, value: D) -> None:
    with pytest.raises(NotValid) as refused:
        CostInputs(**{name: value})  # type: ignore[arg-type]
    assert refused.value.argument == name


def test_ranges_and_spreads_that_cannot_be() -> None:
    with pytest.raises(NotValid, match="no input of this comparison"):
        sensitivity(SHOP, D(1), ranges={"chemistry": (D(0), D(1))})
    with pytest.raises(NotValid, match="runs backwards"):
        sensitivity(SHOP, D(1), ranges={"freight": (D(2), D(1))})
    for spread in (D(0), D(1)):
        with pytest.raises(NotValid) as refused:
            sensitivity(SHOP, D(1), spread=spread)
        assert refused.value.argument == "spread"
    with pytest.raises(NotValid) as refused:
        in_house_month(SHOP, D(-1))
    assert refused.value.argument == "screens"


# properties

money = st.decimals(0, 10_000, places=2)
shares = st.decimals(0, D("0.9"), places=3)
counts = st.decimals(1, 100_000, places=1)


@st.composite
def shops(draw: st.DrawFn) -> CostInputs:
    values = {}
    for name in INPUTS:
        kind = shares if name in costs.SHARES else money if name in MONEY else counts
        values[name] = draw(kind)
    return CostInputs(**values)  # type: ignore[arg-type]


def nearly(a: D, b: D) -> bool:
    """Equal but for the last of 28 digits, in sums of up to some 10^15."""
    return abs(a - b) <= D("1e-20") * max(abs(a), abs(b), D(1)) + D("1e-9")


@given(shops(), st.sampled_from(MONEY), st.decimals(D("0.01"), 100, places=2), counts)
def test_a_higher_price_never_makes_anything_cheaper(
    shop: CostInputs, name: str, more: D, screens: D
) -> None:
    dearer = replace(shop, **{name: getattr(shop, name) + more})
    for cost in (stretch_cost, reclaim_cost, thousand_prints_cost):
        assert (cost(dearer).total or 0) >= (cost(shop).total or 0)
    for month in (in_house_month, sent_out_month):
        assert (month(dearer, screens).total or 0) >= (month(shop, screens).total or 0)


@given(shops(), st.sampled_from(sorted(costs.SHARES)), shares)
def test_more_waste_and_more_bursts_never_make_a_stretch_cheaper(
    shop: CostInputs, name: str, more: D
) -> None:
    worse = replace(shop, **{name: max(getattr(shop, name), more)})
    assert (stretch_cost(worse).total or 0) >= (stretch_cost(shop).total or 0)


@given(shops(), st.integers(2, 1000))
def test_another_currency_changes_every_cost_alike_and_the_break_even_not(
    shop: CostInputs, rate: int
) -> None:
    other = replace(shop, **{name: getattr(shop, name) * rate for name in MONEY})
    for cost in (stretch_cost, reclaim_cost, thousand_prints_cost):
        assert nearly(cost(other).known, cost(shop).known * rate)
    here, there = break_even(shop), break_even(other)
    if here.screens is not None and there.screens is not None and here.screens < D(10) ** 9:
        assert here.kind == there.kind
        assert abs(here.screens - there.screens) <= D("1e-12") * here.screens + D("1e-9")


@given(shops())
def test_mesh_costs_the_same_by_the_centimetre(shop: CostInputs) -> None:
    by_cm = replace(shop, mesh_m=shop.mesh_m * 100, price_per_m=shop.price_per_m / 100)  # type: ignore[operator]
    assert nearly(stretch_cost(by_cm).known, stretch_cost(shop).known)


@given(shops())
def test_both_ways_cost_the_same_at_the_break_even(shop: CostInputs) -> None:
    """And in house is the cheaper way on the side that is told."""
    found = break_even(shop)
    if found.screens is None:
        signs = {difference(shop, n) > 0 for n in (D(1), D(1000), D(10) ** 6)}
        assert len(signs) == 1
        assert found.kind in (("never",) if signs == {True} else ("always", "equal"))
        return
    scale = max(in_house_month(shop, found.screens).known, D(1))
    assert abs(difference(shop, found.screens)) <= scale * D("1e-15")
    beyond = difference(shop, found.screens * 2 + 1)
    assert found.kind == "from"
    assert beyond < 0


@given(shops(), counts)
def test_a_tornado_is_sorted_and_knows_both_ends(shop: CostInputs, screens: D) -> None:
    found = sensitivity(shop, screens)
    reaches = [s.reach for s in found]
    assert reaches == sorted(reaches, reverse=True)
    assert len({s.name for s in found}) == len(found)
    for swing in found:
        if swing.name != "screens":
            at = difference(replace(shop, **{swing.name: swing.high}), screens)
            assert at == swing.at_high


def test_every_input_has_a_name_and_a_field() -> None:
    assert tuple(f.name for f in fields(CostInputs)) == INPUTS
