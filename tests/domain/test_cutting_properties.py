"""What must hold for every cut plan: order and unit do not matter, more mesh is never worse."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain.cutting import Piece, Roll, plan_cuts, stock_lengths
from tests.domain.cutting_twin import keeps_the_rules, worth

sides = st.integers(1, 9).map(lambda n: n * 100)
pieces = st.lists(
    st.builds(Piece, sides, sides, may_turn=st.sampled_from([None, True, False])),
    min_size=1,
    max_size=8,
)
prices = st.integers(0, 20).map(Decimal)
widths = st.integers(4, 14).map(lambda n: n * 100)
lengths = st.integers(0, 40).map(lambda n: n * 100)
priced = st.lists(st.builds(Roll, widths, lengths, price_per_m=prices), min_size=1, max_size=3)
unpriced = st.lists(st.builds(Roll, widths, lengths), min_size=1, max_size=3)
rolls = (priced | unpriced).map(lambda rs: [replace(r, key=n) for n, r in enumerate(rs)])
few = settings(max_examples=60, deadline=None)


def proven(wanted: list[Piece], stock: list[Roll], may_turn: bool) -> tuple:
    plan = plan_cuts(wanted, stock, may_turn=may_turn)
    assert plan.is_proven
    keeps_the_rules(plan, wanted, stock, may_turn=may_turn)
    return worth(plan)


@few
@given(pieces, rolls, st.booleans(), st.randoms(use_true_random=False))
def test_order_does_not_matter(wanted, stock, may_turn, rng):
    shuffled, moved = list(wanted), list(stock)
    rng.shuffle(shuffled)
    rng.shuffle(moved)
    assert proven(shuffled, moved, may_turn) == proven(wanted, stock, may_turn)


@few
@given(pieces, rolls, st.booleans(), st.sampled_from([0.1, 0.5, 2.54, 7]))
def test_larger_pieces_on_larger_rolls_give_a_larger_plan(wanted, stock, may_turn, factor):
    larger = [
        replace(p, width_mm=p.width_mm * factor, length_mm=p.length_mm * factor) for p in wanted
    ]
    rolls = [
        replace(r, width_mm=r.width_mm * factor, length_mm=r.length_mm * factor) for r in stock
    ]
    left_out, cost, used = proven(wanted, stock, may_turn)
    got = proven(larger, rolls, may_turn)
    assert got[0] == left_out
    assert float(got[1]) == pytest.approx(float(cost) * factor)
    assert got[2] == pytest.approx(used * factor)


@few
@given(pieces, rolls, st.booleans(), st.integers(1, 600), st.data())
def test_a_wider_roll_is_never_worse(wanted, stock, may_turn, more, data):
    n = data.draw(st.integers(0, len(stock) - 1))
    wider = [*stock[:n], replace(stock[n], width_mm=stock[n].width_mm + more), *stock[n + 1 :]]
    assert proven(wanted, wider, may_turn) <= proven(wanted, stock, may_turn)


@few
@given(pieces, rolls, st.booleans(), widths, lengths, prices)
def test_one_more_offcut_is_never_worse(wanted, stock, may_turn, width, length, price):
    is_priced = stock[0].price_per_m is not None
    offcut = Roll(width, length, "offcut", price_per_m=price if is_priced else None)
    assert proven(wanted, [*stock, offcut], may_turn) <= proven(wanted, stock, may_turn)


@few
@given(pieces, rolls)
def test_freedom_to_turn_is_never_worse(wanted, stock):
    assert proven(wanted, stock, may_turn=True) <= proven(wanted, stock, may_turn=False)


@few
@given(pieces, rolls, st.booleans())
def test_each_price_as_high_makes_the_plan_as_dear(wanted, stock, may_turn):
    dearer = [
        r if r.price_per_m is None else replace(r, price_per_m=r.price_per_m * 3) for r in stock
    ]
    left_out, cost, used = proven(wanted, stock, may_turn)
    assert proven(wanted, dearer, may_turn) == (left_out, 3 * cost, used)


@few
@given(
    st.lists(st.tuples(st.integers(1, 20), st.integers(0, 12)), max_size=5),
    st.integers(20, 40),
    st.randoms(use_true_random=False),
)
def test_stock_lengths_do_not_depend_on_order_or_unit(wanted, stock, rng):
    shuffled = list(wanted)
    rng.shuffle(shuffled)
    plan = stock_lengths([n for n, _ in wanted], [d for _, d in wanted], stock)
    other = stock_lengths([n / 8 for n, _ in shuffled], [d for _, d in shuffled], stock / 8)
    assert plan.is_proven
    assert (plan.count, plan.lower_bound) == (other.count, other.lower_bound)
    assert plan.count * stock >= sum(n * d for n, d in wanted)
