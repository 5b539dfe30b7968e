"""Which frames an offcut serves, against a slow twin; and that nothing comes back twice."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.offcuts import can_come_back, piece_mm, sizes_served

MM = st.integers(1, 2000)
SIZES = st.lists(st.tuples(st.floats(100, 2000), st.floats(100, 2000)), max_size=6)


@given(MM, MM, SIZES, st.integers(0, 300))
def test_the_frames_served_are_those_whose_piece_fits(
    width: int, length: int, sizes: list[tuple[float, float]], allowance: int
) -> None:
    served = {(s.width_mm, s.height_mm): s for s in
              sizes_served(width, length, sizes, allowance_mm=allowance)}  # fmt: skip
    for size in sizes:
        along, across = piece_mm(*size, allowance)
        straight = along <= length and across <= width
        turned = across <= length and along <= width
        assert (size in served) == (straight or turned)
        if size in served:
            assert served[size].is_turned == (not straight)


@given(MM, MM, SIZES)
def test_the_smallest_frame_comes_first(
    width: int, length: int, sizes: list[tuple[float, float]]
) -> None:
    areas = [s.width_mm * s.height_mm for s in sizes_served(width, length, sizes, allowance_mm=0)]
    assert areas == sorted(areas)


@given(st.integers(1, 10**6), st.lists(st.integers(1, 10**6), max_size=30))
def test_offcuts_never_sum_to_much_more_than_what_left(gone: int, wanted: list[int]) -> None:
    """Kept one after the other as long as they are let, they stay within what tapes may miss."""
    came_back = 0
    for area in wanted:
        if can_come_back(area, gone_mm2=gone, came_back_mm2=came_back):
            came_back += area
    assert came_back <= 1.05 * gone
