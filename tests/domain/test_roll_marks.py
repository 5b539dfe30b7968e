"""A scanner reads a roll's mark or says that it misread it; a frame's code is never one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain import codes
from framekeeper.domain.errors import NotValid
from framekeeper.domain.roll_marks import (
    check_digits,
    looks_like_roll_mark,
    read_roll_mark,
    roll_mark,
)

IDS = st.integers(1, 10**12)


def test_the_check_digits_of_the_norm() -> None:
    """794 has the check digits 44 (the example of ISO/IEC 7064:2003 MOD 97-10, from memory)."""
    assert check_digits("794") == "44"


@given(IDS)
def test_every_mark_is_read_back(roll_id: int) -> None:
    mark = roll_mark(roll_id)
    assert read_roll_mark(f" ]Q1{mark.lower()}\r") == roll_id
    assert int(mark[2:]) % 97 == 1  # the norm's own way to check
    assert not codes.looks_like_code(mark)


@given(IDS, st.data())
def test_a_wrong_digit_and_a_swap_are_found(roll_id: int, data: st.DataObject) -> None:
    mark = roll_mark(roll_id)
    place = data.draw(st.integers(2, len(mark) - 1))
    wrong = data.draw(st.sampled_from([d for d in "0123456789" if d != mark[place]]))
    with pytest.raises(NotValid):
        read_roll_mark(mark[:place] + wrong + mark[place + 1 :])
    if place > 2 and mark[place] != mark[place - 1]:
        swapped = mark[: place - 1] + mark[place] + mark[place - 1] + mark[place + 1 :]
        with pytest.raises(NotValid):
            read_roll_mark(swapped)


@pytest.mark.parametrize("text", ["", "R0001", "FK0001R", "FR1", "FR00019", "FR0001X5", "x" * 500])
def test_what_is_no_mark(text: str) -> None:
    assert not looks_like_roll_mark(text)
    with pytest.raises(NotValid):
        read_roll_mark(text)
