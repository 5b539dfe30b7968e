"""A frame size and a number are read as people write them, or refused with a sentence."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sizes import LengthUnit, Size, read_decimal, read_size, size_of


@pytest.mark.parametrize(
    ("text", "unit", "width_mm", "height_mm", "guessed"),
    [
        ("23x31", None, 584.2, 787.4, True),
        ("23x31", "inch", 584.2, 787.4, False),
        ("23 x 31 in", None, 584.2, 787.4, False),
        ('23"x31"', None, 584.2, 787.4, False),
        ("23”x31”", None, 584.2, 787.4, False),
        ("23''x31''", None, 584.2, 787.4, False),
        ("23 x 31 in.", None, 584.2, 787.4, False),
        ("23 IN X 31 IN", None, 584.2, 787.4, False),
        ("23 by 31 inches", None, 584.2, 787.4, False),
        ("58 x 84 cm", None, 580.0, 840.0, False),
        ("58cm x 84cm", "mm", 580.0, 840.0, False),
        ("58 x 84", "cm", 580.0, 840.0, False),
        ("584x787", None, 584.0, 787.0, True),
        ("584 x 787 mm", None, 584.0, 787.0, False),
        ("23,5 x 31,5", None, 596.9, 800.1, True),
        ("20×24", None, 508.0, 609.6, True),
        ("23*31 inch", None, 584.2, 787.4, False),
        ("23 x 31 Zoll", None, 584.2, 787.4, False),
        ("23 x 31 pulgadas", None, 584.2, 787.4, False),
        ("23 x 31 pouces", None, 584.2, 787.4, False),
        ("1.200,0 x 1 500 mm", None, 1200.0, 1500.0, False),
        ("80x80", None, 2032.0, 2032.0, True),
        ("100 x 100 mm", None, 100.0, 100.0, False),
        ("5000 x 5000", None, 5000.0, 5000.0, True),
    ],
)
def test_size_as_written(
    text: str, unit: LengthUnit | None, width_mm: float, height_mm: float, guessed: bool
) -> None:
    """Each of the shop's spellings gives these millimetres, and a guess is called a guess."""
    assert read_size(text, unit=unit) == Size(width_mm, height_mm, unit_is_a_guess=guessed)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "23",
        "23x",
        "x31",
        "0x31",
        "-23x31",
        "23x31x4",
        "big",
        "23 in x 787 mm",
        "99 x 500 mm",
        "5001 x 500 mm",
        "58x84",  # cm is never guessed, and 58 mm is no frame
        "1,200 x 900 mm",  # not to be told from 1.2 mm
        "23x31 ft",
        "9" * 400 + "x31",
        "²3x31",
    ],
)
def test_no_size(text: str) -> None:
    """What is no size is refused as NotValid, never misread."""
    with pytest.raises(NotValid) as caught:
        read_size(text)
    assert caught.value.text()


@pytest.mark.parametrize("side", [float("nan"), float("inf"), 0.0, -600.0])
def test_no_side(side: float) -> None:
    """A side that is no length is refused whichever side it is."""
    with pytest.raises(NotValid):
        size_of(side, 600.0, unit="mm")
    with pytest.raises(NotValid):
        size_of(600.0, side, unit="mm")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("25", 25.0),
        (" 25.5 ", 25.5),
        ("25,5", 25.5),
        ("-3,25", -3.25),
        ("+4", 4.0),
        ("1,234", 1.234),
        ("1.234", 1.234),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1 234,5", 1234.5),
        ("1'234.5", 1234.5),
        ("1\u00a0234", 1234.0),
        ("1,234,567", 1234567.0),
        ("1.234.567", 1234567.0),
        ("1.234.567,25", 1234567.25),
    ],
)
def test_decimal(text: str, number: float) -> None:
    """A comma or a point is the decimal sign; thousands are read where they are unmistakable."""
    assert read_decimal(text) == number


@pytest.mark.parametrize(
    "text", ["", "-", ".", ",5", "5,", "1,23,4", "12,34.5", "1e5", "0x10", "nan", "inf", "٣", "1_0"]
)
def test_no_decimal(text: str) -> None:
    """A number that could mean two things, or none, is refused."""
    with pytest.raises(NotValid):
        read_decimal(text)


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text whatever raises anything but NotValid."""
    for read in (read_size, read_decimal):
        with contextlib.suppress(NotValid):
            read(text)


@given(
    width=st.integers(min_value=1000, max_value=49_999),
    height=st.integers(min_value=1000, max_value=49_999),
    sign=st.sampled_from([".", ","]),
    cross=st.sampled_from(["x", " x ", "×", "*", " X "]),
)
def test_written_size_comes_back(width: int, height: int, sign: str, cross: str) -> None:
    """Any size in tenths of a millimetre, with either decimal sign, comes back unchanged."""
    text = f"{width / 10}{cross}{height / 10} mm".replace(".", sign)
    assert read_size(text) == Size(width / 10, height / 10)
