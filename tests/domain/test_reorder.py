"""Orders of mesh against published examples, searches and simulation; and refusals."""

from __future__ import annotations

import doctest
import math
import subprocess
import sys
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar
from scipy.stats import norm

from framekeeper.domain import reorder, reorder_need
from framekeeper.domain.errors import NotValid
from framekeeper.domain.reorder import (
    days_of_cover,
    economic_order,
    mesh_need,
    reorder_point,
    run_out,
)

from .published import agrees, cases, checks

OWED = (
    "mesh that is not on the shelf cannot be owed to a frame: it waits, and no price is put on it"
)
PRICES = "prices by quantity are not kept; whole rolls are compared by what each costs"
TABLE = "1.88 is a quantile rounded in a table; the exact one is used"
COST = "no shop knows what a missing metre costs; it says how often the stock shall last"
POLICY = "an optimal policy takes that cost too; order quantity and reorder point are found apart"
SERIES = "demand comes from the screens' own forecasts, not from a series of past months"

# Published quantities that nothing of the program shows to its users, each with why.
NOT_COMPUTED = {
    "A7-O1": {
        **dict.fromkeys(
            ("Q with backorders", "backordered fraction", "cost with backorders"), OWED
        ),
        **dict.fromkeys(("discounted order quantity", "discounted cost"), PRICES),
    },
    "A7-O2": {
        "(a) safety stock with z = 1.88": TABLE,
        "(a) reorder point": TABLE,
        "(b) safety stock": "from a stock that is given; here the stock follows from the service",
    },
    "A7-O3": {},
    "A7-O4": dict.fromkeys(("critical ratio", "cost", "base-stock cost", "Poisson cost"), COST),
    "A7-O5": dict.fromkeys(checks()["A7-O5"]["expected"], POLICY),
    "A7-O6": dict.fromkeys(checks()["A7-O6"]["expected"], SERIES),
}


def published(check: str) -> list:
    return cases(check, without=NOT_COMPUTED[check])


def test_every_published_check_of_this_area_is_driven_or_explained() -> None:
    assert {c for c in checks() if c.startswith("A7-")} == set(NOT_COMPUTED)


@pytest.mark.parametrize(("check", "quantity"), published("A7-O1"))
def test_published_order_quantity(check: str, quantity: str) -> None:
    order = economic_order(demand_rate=1300, order_cost=8, holding_cost=0.225)
    agrees(check, quantity, {"Q": order.quantity, "cost": order.cost}[quantity])


@pytest.mark.parametrize(("check", "quantity"), published("A7-O2"))
def test_published_reorder_point(check: str, quantity: str) -> None:
    a = reorder_point(50, 5, lead_time=1, lead_time_sd=0, service_level=0.97)
    b = reorder_point(2500, 500, lead_time=2, lead_time_sd=0, service_level=0.9)
    out = run_out(6000, b.mean, b.sd)
    ours = {
        "(a) reorder point with exact z": a.level,
        "(b) sd of lead-time demand": b.sd,
        "(b) cycle service level": 1 - out.chance,
        "(b) expected shortage per cycle": out.expected_short,
        "(b) fill rate": out.fill_rate(10_000),
    }
    agrees(check, quantity, ours[quantity])


@pytest.mark.parametrize(("check", "quantity"), published("A7-O3"))
def test_published_safety_stock(check: str, quantity: str) -> None:
    time_sd = float(quantity.rpartition(" ")[2])
    point = reorder_point(2500, 500, lead_time=7, lead_time_sd=time_sd, service_level=0.9)
    agrees(check, quantity, point.sd if quantity.startswith("sd") else point.safety_stock)


@pytest.mark.parametrize(("check", "quantity"), published("A7-O4"))
def test_published_base_stock(check: str, quantity: str) -> None:
    """Stock that lasts with a given chance over one period, over five, and for a count."""
    ratio = 0.7 / 0.88  # of the costs, which the check names
    if quantity == "Poisson S":
        agrees(check, quantity, mesh_need([], [], damages=[50], damage_cut_mm=[1]).stock_for(ratio))
        return
    periods = 5 if quantity.startswith("base") else 1
    agrees(check, quantity, reorder_point(50, 8, periods, 0, ratio).level)


# --- order quantity

amounts = st.floats(0.01, 1e6)


@given(amounts, amounts, amounts)
def test_no_other_quantity_costs_less(rate: float, fixed: float, holding: float) -> None:
    order = economic_order(rate, fixed, holding)
    found = minimize_scalar(
        lambda log_q: math.log(order.cost_of(math.exp(log_q))),
        bracket=(math.log(order.quantity) - 1, math.log(order.quantity) + 2),
    )
    assert math.exp(found.x) == pytest.approx(order.quantity, rel=1e-5)
    assert order.cost_of(order.quantity) == pytest.approx(order.cost)
    assert order.cost_of(2 * order.quantity) == pytest.approx(1.25 * order.cost)
    assert order.cost_of(order.quantity / 2) == pytest.approx(1.25 * order.cost)


@given(amounts, amounts, amounts, st.sampled_from((1e-6, 1 / 365, 1000.0)))
def test_an_order_knows_no_unit(rate: float, fixed: float, holding: float, unit: float) -> None:
    """In another unit of length, then of time."""
    order = economic_order(rate, fixed, holding)
    length = economic_order(rate * unit, fixed, holding / unit)
    assert length.quantity == pytest.approx(order.quantity * unit)
    assert length.cost == pytest.approx(order.cost)
    time = economic_order(rate * unit, fixed, holding * unit)
    assert time.quantity == pytest.approx(order.quantity)
    assert time.cost == pytest.approx(order.cost * unit)


def test_of_what_nobody_uses_nothing_is_ordered() -> None:
    order = economic_order(0, 25, 2)
    assert (order.quantity, order.cost) == (0, 0)
    assert order.cost_of(30) == 30  # what lies there still costs


def test_money_may_come_as_decimals() -> None:
    assert economic_order(400, Decimal(25), Decimal(2)).quantity == 100


# --- reorder point, running out, cover


@given(st.floats(0, 1e5), st.floats(0, 1e4), st.floats(0, 100), st.floats(0, 30))
def test_more_service_takes_more_stock(
    mean: float, sd: float, lead_time: float, lead_time_sd: float
) -> None:
    def ask(service: float) -> reorder.ReorderPoint:
        return reorder_point(mean, sd, lead_time, lead_time_sd, service)

    half, much, more = ask(0.5), ask(0.9), ask(0.99)
    assert half.level == pytest.approx(mean * lead_time)
    assert half.level <= much.level <= more.level
    assert ask(0.1).safety_stock == pytest.approx(-much.safety_stock)
    assert much.level == much.mean + much.safety_stock
    assume(much.sd > 1e-6 * (1 + much.mean))
    assert run_out(much.level, much.mean, much.sd).chance == pytest.approx(0.1)


def test_a_sure_demand_and_a_sure_delivery_need_no_safety() -> None:
    point = reorder_point(2, 0, 9, 0, 0.99)
    assert (point.level, point.safety_stock) == (18, 0)
    assert reorder_point(2, 1, 0, 0, 0.99).level == 0


def test_reorder_point_agrees_with_simulated_deliveries() -> None:
    """40 000 deliveries, the days to each drawn too; three standard errors of a share are 0.3 %."""
    rng = np.random.default_rng(7)
    days = rng.integers(20, 41, 40_000)  # 30 on average, sd 6.06
    used = rng.normal(5 * days, 2 * np.sqrt(days))
    point = reorder_point(5, 2, 30, math.sqrt((21**2 - 1) / 12), 0.95)
    assert point.mean == pytest.approx(used.mean(), rel=0.005)
    assert point.sd == pytest.approx(used.std(), rel=0.02)
    # The days are drawn evenly, so their sum is flatter than normal: two hundredths are allowed.
    assert np.mean(used <= point.level) == pytest.approx(0.95, abs=0.02)


@pytest.mark.parametrize("on_hand", [0.0, 80.0, 100.0, 115.0, 160.0, 250.0])
def test_running_out_is_the_tail_of_the_demand(on_hand: float) -> None:
    out = run_out(on_hand, 100, 20)
    assert out.chance == pytest.approx(norm.sf(on_hand, 100, 20))
    missing, _ = quad(
        lambda x: (x - on_hand) * norm.pdf(x, 100, 20), on_hand, on_hand + 400, points=[100.0]
    )
    assert out.expected_short == pytest.approx(missing, rel=1e-6, abs=1e-12)
    assert 0 <= out.fill_rate(50) <= 1


def test_a_sure_demand_runs_out_or_not() -> None:
    assert run_out(10, 10, 0) == reorder.RunOut(0, 0)
    assert run_out(9, 10, 0) == reorder.RunOut(1, 1)
    assert run_out(0, 0, 0).chance == 0
    assert run_out(9, 100, 0).fill_rate(50) == 0  # no share is below nothing


def test_cover() -> None:
    assert days_of_cover(18, 1.5) == 12
    assert days_of_cover(0, 1.5) == 0
    assert days_of_cover(18, 0) == days_of_cover(0, 0) == math.inf


# --- refusals

NAN, INF = math.nan, math.inf


@pytest.mark.parametrize(
    ("ask", "argument"),
    [
        (lambda: economic_order(-1, 1, 1), "demand_rate"),
        (lambda: economic_order(NAN, 1, 1), "demand_rate"),
        (lambda: economic_order("many", 1, 1), "demand_rate"),
        (lambda: economic_order(1, 0, 1), "order_cost"),
        (lambda: economic_order(1, 1, 0), "holding_cost"),
        (lambda: economic_order(1, 1, INF), "holding_cost"),
        (lambda: economic_order(1, 1, 1).cost_of(0), "quantity"),
        (lambda: reorder_point(-1, 1, 1, 1, 0.9), "mean"),
        (lambda: reorder_point(1, -1, 1, 1, 0.9), "sd"),
        (lambda: reorder_point(1, 1, -1, 1, 0.9), "lead_time"),
        (lambda: reorder_point(1, 1, 1, None, 0.9), "lead_time_sd"),
        (lambda: reorder_point(1, 1, 1, 1, 0), "service_level"),
        (lambda: reorder_point(1, 1, 1, 1, 1), "service_level"),
        (lambda: reorder_point(1, 1, 1, 1, 95), "service_level"),
        (lambda: run_out(-1, 1, 1), "on_hand"),
        (lambda: run_out(1, NAN, 1), "mean"),
        (lambda: run_out(1, 1, -1), "sd"),
        (lambda: run_out(1, 1, 1).fill_rate(0), "quantity"),
        (lambda: days_of_cover(-1, 1), "on_hand"),
        (lambda: days_of_cover(1, -1), "rate_per_day"),
        (lambda: mesh_need([1.1], [800]), "chance"),
        (lambda: mesh_need([-0.1], [800]), "chance"),
        (lambda: mesh_need([NAN], [800]), "chance"),
        (lambda: mesh_need([0.5], [0]), "cut_mm"),
        (lambda: mesh_need([0.5], [800, 800]), "cut_mm"),
        (lambda: mesh_need([], [], damages=[-1], damage_cut_mm=[800]), "damages"),
        (lambda: mesh_need([], [], damages=[1]), "damage_cut_mm"),
        (lambda: mesh_need([], [], damages=[1], damage_cut_mm=[-5]), "damage_cut_mm"),
        (lambda: mesh_need([0.5], [800], scrap_share=1), "scrap_share"),
        (lambda: mesh_need([0.5], [800], scrap_share=-0.1), "scrap_share"),
        (lambda: mesh_need([0.5], [800]).chance_above(-1), "on_hand_mm"),
        (lambda: mesh_need([0.5], [800]).stock_for(1), "service_level"),
    ],
)
def test_what_cannot_be_is_refused_by_name(ask: object, argument: str) -> None:
    with pytest.raises(NotValid) as trouble:
        ask()
    assert trouble.value.argument == argument


@pytest.mark.parametrize("module", [reorder, reorder_need])
def test_examples_in_the_docstrings(module: object) -> None:
    assert doctest.testmod(module).failed == 0
    assert doctest.testmod(module).attempted > 0


def test_scipy_stays_away() -> None:
    code = "import sys, framekeeper.domain.reorder; sys.exit('scipy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
