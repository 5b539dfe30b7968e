"""What the screens need against counting every case and against simulation."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.reorder import mesh_need, reorder_point, run_out


def every_case(chance: list[float], cut: list[float]) -> list[tuple[float, float]]:
    """(chance, length) of each way in which the screens may fall due."""
    told = []
    for due in itertools.product((0, 1), repeat=len(cut)):
        weight = math.prod(p if d else 1 - p for p, d in zip(chance, due, strict=True))
        told.append((weight, sum(c for c, d in zip(cut, due, strict=True) if d)))
    return told


screens = st.lists(
    st.tuples(
        st.one_of(st.sampled_from((0.0, 1.0)), st.floats(0, 1)), st.integers(1, 40).map(float)
    ),
    max_size=8,
)


@given(screens, st.integers(0, 330))
def test_needs_agree_with_counting_every_case(
    listed: list[tuple[float, float]], on_hand: int
) -> None:
    chance, cut = [p for p, _ in listed], [c for _, c in listed]
    told = every_case(chance, cut)
    mean = sum(w * x for w, x in told)
    variance = sum(w * (x - mean) ** 2 for w, x in told)
    need = mesh_need(chance, cut)
    assert need.mean_mm == pytest.approx(mean, abs=1e-9)
    assert need.sd_mm == pytest.approx(math.sqrt(variance), abs=1e-6)
    assert need.screens == pytest.approx(sum(chance))
    above = sum(w for w, x in told if x > on_hand)
    assert need.chance_above(on_hand) == pytest.approx(above, abs=1e-12)


def test_needs_with_damage_and_scrap_agree_with_simulation() -> None:
    """200 000 horizons; three standard errors of a chance are 0.34 %."""
    rng = np.random.default_rng(3)
    n = 200_000
    chance, cut = [0.8, 0.3, 0.3, 0.05], [700, 850, 850, 1000]
    need = mesh_need(chance, cut, damages=[0.6, 0.2], damage_cut_mm=[850, 1200], scrap_share=0.1)
    useful = (rng.random((n, 4)) < chance) @ np.array(cut)
    useful = useful + rng.poisson([0.6, 0.2], (n, 2)) @ np.array([850, 1200])
    taken = useful / 0.9
    assert need.mean_mm == pytest.approx(taken.mean(), rel=0.006)
    assert need.sd_mm == pytest.approx(taken.std(), rel=0.01)
    assert need.screens == pytest.approx(1.45 + 0.8)
    for on_hand in (0, 800, 1700, 2500, 4000):
        above = np.mean(taken > on_hand)
        assert need.chance_above(on_hand) == pytest.approx(above, abs=0.0034)


@given(screens, st.floats(0.01, 0.99), st.floats(0, 0.9), st.floats(0, 3))
def test_the_stock_for_a_service_is_the_smallest_that_gives_it(
    listed: list[tuple[float, float]], service: float, scrap: float, damages: float
) -> None:
    need = mesh_need(
        [p for p, _ in listed],
        [c for _, c in listed],
        damages=[damages],
        damage_cut_mm=[7],
        scrap_share=scrap,
    )
    stock = need.stock_for(service)
    assert need.chance_above(stock) <= 1 - service + 1e-11
    if stock > 1e-9:
        assert need.chance_above(stock * (1 - 1e-6)) >= 1 - service - 1e-11


@given(screens, st.integers(0, 330))
def test_needs_know_neither_order_nor_unit(listed: list[tuple[float, float]], on_hand: int) -> None:
    chance, cut = [p for p, _ in listed], [c for _, c in listed]
    need, turned = mesh_need(chance, cut), mesh_need(chance[::-1], cut[::-1])
    long = mesh_need(chance, np.array(cut) * 50)
    assert turned.mean_mm == pytest.approx(need.mean_mm)
    assert long.mean_mm == pytest.approx(50 * need.mean_mm)
    assert long.sd_mm == pytest.approx(50 * need.sd_mm)
    expected = pytest.approx(need.chance_above(on_hand), abs=1e-12)
    assert turned.chance_above(on_hand) == expected
    assert long.chance_above(50 * on_hand) == expected


@pytest.mark.parametrize(
    ("screens", "worst"), [(5, 0.40), (10, 0.19), (20, 0.13), (50, 0.08), (200, 0.04)]
)
def test_how_far_the_normal_tail_is_off(screens: int, worst: float) -> None:
    """300 needs of one size of cut at chances up to one half, as `run_out` says."""
    rng = np.random.default_rng(0)
    off = []
    for _ in range(300):
        need = mesh_need(rng.random(screens) / 2, np.full(screens, 800))
        for part in (0.2, 0.5, 0.8, 1.0, 1.2, 1.5):
            on_hand = need.mean_mm * part
            normal = run_out(on_hand, need.mean_mm, need.sd_mm).chance
            off.append(abs(normal - need.chance_above(on_hand)))
    assert max(off) == pytest.approx(worst, abs=0.005)


def test_nothing_on_the_frames_needs_nothing() -> None:
    need = mesh_need([], [])
    assert (need.mean_mm, need.sd_mm, need.screens) == (0, 0, 0)
    assert need.chance_above(0) == 0
    assert need.stock_for(0.99) == 0
    assert mesh_need([0, 0], [800, 900], damages=[0], damage_cut_mm=[800]).stock_for(0.99) == 0


def test_what_is_sure_is_needed_to_the_millimetre() -> None:
    need = mesh_need([1, 1, 1], [800, 800, 900])
    assert need.sd_mm == 0
    assert need.stock_for(0.5) == need.stock_for(0.99) == 2500
    assert (need.chance_above(2499), need.chance_above(2500)) == (1, 0)


def test_the_stock_for_very_much_service_is_searched_for_as_far_as_it_takes() -> None:
    """Two of three screens fall due with a chance of 3 in a million, three of 1 in 10^9."""
    need = mesh_need([0.001] * 3, [800] * 3)
    assert need.stock_for(1 - 1e-8) == 1600
    assert need.stock_for(1 - 1e-10) == 2400


@pytest.mark.parametrize(("screens", "cuts", "service"), [(2, 1, 0.91), (4, 3, 0.9919)])
def test_a_service_that_a_stock_gives_exactly_takes_no_cut_more(
    screens: int, cuts: int, service: float
) -> None:
    """Chances of 0.3 sum up to a little less than that in binary fractions."""
    assert mesh_need([0.3] * screens, [800] * screens).stock_for(service) == cuts * 800


def test_a_cut_of_a_broken_length_takes_the_next_whole_millimetre() -> None:
    need = mesh_need([1], [698.5])
    assert need.mean_mm == 698.5
    assert (need.chance_above(698.5), need.chance_above(699)) == (1, 0)


def test_scrap_in_binary_fractions_does_not_take_one_cut_more() -> None:
    for scrap in (0.05, 0.07, 0.1, 0.3):
        need = mesh_need([1] * 7, [810] * 7, scrap_share=scrap)
        assert need.chance_above(need.stock_for(0.9)) == 0
        assert need.stock_for(0.9) == pytest.approx(7 * 810 / (1 - scrap))


def test_very_many_damages_and_very_much_stock() -> None:
    """A thousand damages have a normal count; a mile of mesh is not counted millimetre by mm."""
    need = mesh_need([], [], damages=[1000], damage_cut_mm=[801])
    normal = reorder_point(1000 * 801, math.sqrt(1000) * 801, 1, 0, 0.95).level
    assert need.stock_for(0.95) == pytest.approx(normal, rel=0.002)
    assert need.chance_above(1e12) == pytest.approx(0, abs=1e-9)
    assert need.stock_for(1 - 1e-13) < 1e7


def test_a_need_of_a_whole_shop_is_near_normal() -> None:
    """Millimetres without a common measure, which is the most that has to be counted."""
    rng = np.random.default_rng(0)
    cut = rng.integers(600, 1200, 200)
    need = mesh_need(rng.random(200), cut, damages=[3], damage_cut_mm=[801])
    for part in (0.9, 1.0, 1.1):
        on_hand = need.mean_mm * part
        near = run_out(on_hand, need.mean_mm, need.sd_mm).chance
        assert need.chance_above(on_hand) == pytest.approx(near, abs=0.01)
