"""The figures of one survey."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.events import Direction, Reading
from framekeeper.domain.survey import summarise, valid_tension


def readings(*pairs: tuple[Direction, float]) -> tuple[Reading, ...]:
    return tuple(Reading(n, direction, value) for n, (direction, value) in enumerate(pairs, 1))


def test_the_figures_of_a_survey_by_hand() -> None:
    """Warp 24 and 22, weft 21 and 19: means 23 and 20, spread 5, imbalance 3."""
    got = summarise(readings(("warp", 24.0), ("weft", 21.0), ("warp", 22.0), ("weft", 19.0)))
    assert (got.n, got.mean, got.lowest, got.highest) == (4, 21.5, 19.0, 24.0)
    assert (got.mean_warp, got.mean_weft) == (23.0, 20.0)
    assert (got.spread, got.imbalance) == (5.0, 3.0)


def test_the_correction_of_the_meter_moves_every_value_but_no_difference() -> None:
    plain = summarise(readings(("warp", 24.0), ("weft", 21.0)))
    moved = summarise(readings(("warp", 24.0), ("weft", 21.0)), correction_n_per_cm=-0.5)
    assert (moved.mean, moved.lowest, moved.highest) == (22.0, 20.5, 23.5)
    assert (moved.spread, moved.imbalance) == (plain.spread, plain.imbalance)


@pytest.mark.parametrize("direction", ["warp", "weft", "not_told"])
def test_one_direction_alone_has_no_imbalance(direction: Direction) -> None:
    got = summarise(readings((direction, 20.0), (direction, 22.0)))
    assert got.imbalance is None
    assert got.mean == 21.0


def test_a_survey_without_a_reading_says_nothing() -> None:
    with pytest.raises(NotEnoughData):
        summarise(())


@pytest.mark.parametrize("value", [0.1, 22.5, 60.0])
def test_what_a_meter_can_show(value: float) -> None:
    assert valid_tension(value) == value


@pytest.mark.parametrize("value", [0.0, -0.1, -22.0, 60.1, 225.0, math.nan, math.inf, -math.inf])
def test_what_no_meter_can_show(value: float) -> None:
    with pytest.raises(NotValid) as refusal:
        valid_tension(value, argument="warp 1")
    assert refusal.value.argument == "warp 1"
    assert str(refusal.value.hint)
    with pytest.raises(NotValid):
        summarise((Reading(1, "warp", value),))


@given(
    values=st.lists(st.floats(0.5, 60.0), min_size=2, max_size=18),
    order=st.randoms(use_true_random=False),
)
def test_the_order_of_the_readings_does_not_matter(values: list[float], order: object) -> None:
    pairs: list[tuple[Direction, float]] = [
        ("warp" if n % 2 else "weft", v) for n, v in enumerate(values)
    ]
    shuffled = list(pairs)
    order.shuffle(shuffled)  # type: ignore[attr-defined]
    first, second = summarise(readings(*pairs)), summarise(readings(*shuffled))
    assert first.mean == pytest.approx(second.mean)
    assert (first.lowest, first.highest, first.spread) == (
        second.lowest,
        second.highest,
        second.spread,
    )
    assert first.lowest <= first.mean <= first.highest or first.spread < 1e-9
