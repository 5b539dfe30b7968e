"""Frame codes: right against an independent ISO/IEC 7064, and no slip of the hand gets through."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from framekeeper.domain.codes import LAST_NUMBER, check, looks_like_code, new_code, read_code
from framekeeper.domain.errors import NotValid

NUMBERS = st.integers(1, LAST_NUMBER)
ALPHABET = string.digits + string.ascii_uppercase + "*"


def slow_codes(count: int) -> list[str]:
    """The sequence by plain counting, with the check character of python-stdnum."""
    codes: list[str] = []
    number = 0
    while len(codes) < count:
        number += 1
        body = f"FK{number:04d}"
        character = mod_37_2.calc_check_digit(body)
        if character != "*":
            codes.append(body + character)
    return codes


def test_ten_thousand_codes_equal_an_independent_implementation():
    """Source: python-stdnum, stdnum.iso7064.mod_37_2, an implementation of ISO/IEC 7064."""
    expected = slow_codes(10_300)  # past the step from four to five digits
    assert [new_code(n) for n in range(1, 10_301)] == expected
    assert len(expected[-1]) == len(expected[0]) + 1


def test_counting_holds_at_every_change_of_length():
    """The first code with one more digit follows the last one with one digit less."""
    codes = slow_codes(LAST_NUMBER)
    changes = [i for i in range(1, len(codes)) if len(codes[i]) > len(codes[i - 1])]
    assert len(changes) == 3
    for i in [0, *changes, *(c - 1 for c in changes), 777_777, LAST_NUMBER - 1]:
        assert new_code(i + 1) == codes[i]


@pytest.mark.parametrize(
    "number", [1, 2, 35, 36, 37, 120, 9_729, 9_730, 99_999, 999_999, 1_000_000]
)
def test_every_single_wrong_character_is_caught(number):
    """All positions, all characters."""
    code = new_code(number)
    for place in range(len(code)):
        for character in ALPHABET:
            if character != code[place]:
                wrong = code[:place] + character + code[place + 1 :]
                assert not check(wrong)
                assert not mod_37_2.is_valid(wrong)


def test_every_swap_of_different_neighbours_is_caught():
    """All neighbouring pairs of the first 5 000 codes."""
    for number in range(1, 5_001):
        code = new_code(number)
        for i in range(len(code) - 1):
            if code[i] != code[i + 1]:
                swapped = code[:i] + code[i + 1] + code[i] + code[i + 2 :]
                assert not check(swapped)
                assert not mod_37_2.is_valid(swapped)


@given(NUMBERS, st.data())
def test_a_wrong_character_anywhere_is_caught(number, data):
    code = new_code(number)
    place = data.draw(st.integers(0, len(code) - 1))
    character = data.draw(st.sampled_from([c for c in ALPHABET if c != code[place]]))
    assert not check(code[:place] + character + code[place + 1 :])


@given(st.lists(NUMBERS, min_size=2, max_size=40, unique=True))
def test_codes_are_unique_ordered_and_never_end_in_a_star(numbers):
    codes = [new_code(n) for n in sorted(numbers)]
    assert all(check(code) and "*" not in code for code in codes)
    digits = [int(code[2:-1]) for code in codes]
    assert digits == sorted(set(digits))


@pytest.mark.parametrize("number", [0, -1, 1_000_001, True, 1.0, "7", None])
def test_no_code_outside_the_range(number):
    with pytest.raises(NotValid) as caught:
        new_code(number)
    assert caught.value.argument == "number"


@given(NUMBERS, st.sampled_from(["", " ", "\r", "\r\n", "\t", "\x1d", "\x00", "\ufeff", "\u00a0"]))
def test_reading_forgives_case_blanks_and_scanner_characters(number, noise):
    code = new_code(number)
    typed = noise + code[:2].lower() + noise + code[2:4] + "-" + code[4:].lower() + noise
    assert read_code(typed) == code
    assert looks_like_code(typed)


def test_reading_drops_the_symbology_prefix_of_a_scanner():
    assert read_code("]Q1FK0001R\r") == "FK0001R"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("FK0123X", "does not match the rest"),
        ("FK01327", "does not match the rest"),
        ("fk0123", "only part of a frame code"),
        ("FK12", "only part of a frame code"),
        ("01237", "is not a frame code"),
        ("FK001237", "is not a frame code"),
        ("FK0123*", "is not a frame code"),
        ("", "is not a frame code"),
        ("https://example.org/FK01237", "is not a frame code"),
        ("FK01237 FK01237", "is not a frame code"),
    ],
)
def test_a_refusal_says_what_is_wrong_and_what_to_do(text, words):
    with pytest.raises(NotValid) as caught:
        read_code(text)
    assert words in str(caught.value.said)
    assert str(caught.value.hint)


def test_number_zero_is_never_given_out():
    body = "FK0000"
    assert not check(body + mod_37_2.calc_check_digit(body))


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_and_nothing_else(text):
    try:
        code = read_code(text)
    except NotValid:
        code = ""
    assert code == "" or check(code)


def test_looking_at_the_shape_does_not_check_the_character():
    assert looks_like_code("fk0123x\r")
    assert not looks_like_code("230 yellow")
