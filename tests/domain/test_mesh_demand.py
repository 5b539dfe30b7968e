"""The need for mesh as days go by: forecasts, other ends, the ledger, and late deliveries."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.mesh_demand import Lead, MayNeed, MeshDemand
from framekeeper.domain.outlook import AHEAD_DAYS
from tests.made_forecast import READ_AT, made_outlook

SIZE = (584.2, 787.4)
CUT = 900.0


def screen(even_day: float | None = 28.0) -> MayNeed:
    return MayNeed(SIZE, CUT, made_outlook(even_day))


def test_the_chances_are_those_of_the_forecast_on_that_day() -> None:
    """Even after 28 days means a quarter after 14; who is not known is like the others."""
    demand = MeshDemand(READ_AT, may=[screen(28.0), screen(14.0), MayNeed(SIZE, CUT)])
    assert demand.chances(14) == pytest.approx([0.25, 0.5, 0.375])


def test_the_need_adds_up_by_hand() -> None:
    """Two wait, one falls with a quarter, damage 0.01 a day on what stands, a tenth is scrap."""
    demand = MeshDemand(
        READ_AT, sure=[screen(), screen()], may=[screen(28.0)], ends_per_day=0.01, scrap_share=0.1
    )
    pieces = 2 + 0.25 + 0.01 * 14 * 0.75
    assert demand.need(14).mean_mm == pytest.approx(pieces * CUT / 0.9)
    spread = math.sqrt(0.25 * 0.75 + 0.01 * 14 * 0.75)
    assert demand.need(14).sd_mm == pytest.approx(spread * CUT / 0.9)
    assert demand.sizes(14) == {SIZE: pytest.approx(2.25)}


def test_the_ledger_alone_is_a_pace() -> None:
    """A piece every fifth day, by chance: 2 in 10 days, and none with a chance of e to the -2."""
    demand = MeshDemand(READ_AT, pieces_per_day=0.2, piece_mm=800)
    assert demand.need(10).mean_mm == pytest.approx(1600)
    assert demand.chance_above(0, Lead(10)) == pytest.approx(1 - math.exp(-2))
    assert demand.chance_above(800, Lead(10)) == pytest.approx(1 - 3 * math.exp(-2))


def test_a_late_delivery_is_weighed() -> None:
    """Three days stand for the law of the delivery: the middle one counts four times as much."""
    demand = MeshDemand(READ_AT, pieces_per_day=0.2, piece_mm=800)
    away = math.sqrt(3) * 2
    days = (10 - away, 10, 10 + away)
    chances = [1 - math.exp(-0.2 * day) for day in days]
    by_hand = (chances[0] + 4 * chances[1] + chances[2]) / 6
    assert demand.chance_above(0, Lead(10, 2)) == pytest.approx(by_hand)


def test_no_delivery_comes_before_it_is_ordered() -> None:
    """A spread as wide as the wait must not reach into the days before the next look."""
    assert min(day for day, _ in Lead(3, 10).nodes(7)) == 7
    assert sum(weight for _, weight in Lead(3, 10).nodes(7)) == pytest.approx(1)


@given(
    st.lists(st.sampled_from([d for d in AHEAD_DAYS if d > 3]), max_size=6),
    st.floats(0, 5),
    st.floats(0.6, 0.99),
)
def test_the_reorder_point_keeps_its_promise(
    even_days: list[float], sd_days: float, level: float
) -> None:
    """With it the chance to run out is no larger than asked for; with a cut less it is."""
    demand = MeshDemand(
        READ_AT, sure=[screen()], may=[screen(d) for d in even_days], ends_per_day=0.002
    )
    lead = Lead(10, sd_days)
    stock = demand.stock_for(level, lead, more_days=7)
    assert demand.chance_above(stock, lead, more_days=7) <= 1 - level + 1e-9
    assert demand.chance_above(max(0.0, stock - CUT - 11), lead, more_days=7) > 1 - level


def test_many_screens_are_reckoned_in_whole_cm_on_the_safe_side() -> None:
    """The expected need stays exact; the stock for a service level grows by a cm a cut at most."""
    few = MeshDemand(READ_AT, may=[MayNeed(SIZE, 891, made_outlook(28.0))] * 100)
    many = MeshDemand(READ_AT, may=[MayNeed(SIZE, 891, made_outlook(28.0))] * 101)
    assert few.stock_for(0.95, Lead(14)) % 891 == 0
    assert many.need(14).mean_mm == pytest.approx(101 * 0.25 * 891)
    cuts = many.stock_for(0.95, Lead(14)) / 900
    assert cuts == round(cuts) == many.need(14).stock_for(0.95) / 891


def test_a_stock_lasts_until_the_expected_need_passes_it() -> None:
    """A piece of 700 mm every seventh day: 2 m last twenty days, all the year is too long."""
    demand = MeshDemand(READ_AT, pieces_per_day=1 / 7, piece_mm=700)
    assert demand.lasts_days(2000, 182) == pytest.approx(20)
    assert demand.lasts_days(100_000, 182) is None
    waiting = MeshDemand(READ_AT, sure=[screen()])
    assert waiting.lasts_days(CUT - 1, 182) == 0
    assert waiting.lasts_days(CUT, 182) is None


def test_where_nothing_is_known_nothing_is_needed() -> None:
    nothing = MeshDemand(READ_AT + dt.timedelta(days=1))
    assert not nothing.is_known
    assert nothing.need(21).mean_mm == 0
    assert nothing.chance_above(0, Lead(14)) == 0
    assert nothing.stock_for(0.95, Lead(14, 3)) == 0
