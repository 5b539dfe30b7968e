"""Claims about where tension is read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.points import BAR_MM, PATTERN_NAMES, point_pattern

INCH = 25.4


def test_outer_points_of_a_common_frame_lie_on_12_by_20_inches() -> None:
    """23 x 31 in outside, about 20 x 28 in inside, 10 cm in: a 12 x 20 in rectangle.

    Derived from the published 10 cm rule (heicmy.com, excerpt), not itself published.
    """
    points = point_pattern("5", 23 * INCH, 31 * INCH)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    assert (max(xs) - min(xs)) / INCH == pytest.approx(12, abs=0.2)
    assert (max(ys) - min(ys)) / INCH == pytest.approx(20, abs=0.2)


def test_the_walk_starts_at_the_centre_and_goes_round() -> None:
    """Five points: centre, then the corners clockwise, so that nobody crosses the screen twice."""
    (cx, cy), *corners = point_pattern("5", 600, 800)
    assert (cx, cy) == (300, 400)
    sides = [(x > cx, y > cy) for x, y in corners]
    assert sides == [(False, False), (True, False), (True, True), (False, True)]


def test_six_points_are_two_rows_walked_there_and_back() -> None:
    """The second row starts where the first one ended."""
    points = point_pattern("6", 600, 800)
    assert len({y for _, y in points}) == 2
    assert points[2][0] == points[3][0]


@given(
    name=st.sampled_from(PATTERN_NAMES),
    width=st.floats(2 * BAR_MM + 1, 5000),
    height=st.floats(2 * BAR_MM + 1, 5000),
)
def test_every_point_lies_on_the_mesh(name: str, width: float, height: float) -> None:
    """No pattern puts a point on a bar, however small the frame; points never coincide."""
    points = point_pattern(name, width, height)
    assert len(points) == int(name) == len(set(points))
    for x, y in points:
        assert BAR_MM < x < width - BAR_MM
        assert BAR_MM < y < height - BAR_MM


@pytest.mark.parametrize(("width", "height"), [(0, 500), (500, -1), (500, 2 * BAR_MM)])
def test_a_frame_without_an_inside_is_refused(width: float, height: float) -> None:
    """Bars that meet leave nothing to measure."""
    with pytest.raises(NotValid):
        point_pattern("5", width, height)


def test_an_unknown_pattern_names_the_known_ones() -> None:
    """The refusal says what to choose from."""
    with pytest.raises(NotValid) as refused:
        point_pattern("7", 500, 500)
    assert "1, 5, 6, 9" in refused.value.text()
