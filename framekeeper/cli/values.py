"""Reads what a person types behind a command into values, and refuses it in whole sentences."""

from __future__ import annotations

import datetime as dt
import functools
import re
from collections.abc import Callable
from decimal import Decimal
from typing import TypeVar

from framekeeper.domain.errors import FramekeeperError, NotValid
from framekeeper.domain.money import read_price
from framekeeper.domain.sentence import say
from framekeeper.domain.sizes import Size, read_decimal, read_size
from framekeeper.services.work_times import holidays_in

T = TypeVar("T")

NOON = dt.time(12)
_LARGEST_WHOLE = 1_000_000_000  # beyond it no count of this trade lies
_FIRST_YEAR, _LAST_YEAR = 1900, 2199
_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "ft": 304.8, "yd": 914.4}
_LENGTH = re.compile(r"\s*(?P<number>[^a-z]+?)\s*(?P<unit>[a-z]*)\s*", re.IGNORECASE)


def _plainly(read: Callable[[str], T]) -> Callable[[str], T]:
    """Let a refusal reach the person as it is: argparse would turn a `ValueError` into jargon."""

    @functools.wraps(read)
    def reader(text: str) -> T:
        try:
            return read(text)
        except NotValid as refused:
            raise FramekeeperError(
                refused.said, kept=refused.kept, hint=refused.hint, argument=refused.argument
            ) from refused

    return reader


@_plainly
def number(text: str) -> float:
    """Read a number with a decimal point or comma."""
    return read_decimal(text)


@_plainly
def whole(text: str) -> int:
    """Read a whole number."""
    value = read_decimal(text)
    if abs(value) > _LARGEST_WHOLE or value != int(value):
        raise NotValid(say("“{text}” is not a whole number of this trade.", text=text[:40]))
    return int(value)


@_plainly
def price(text: str) -> Decimal:
    """Read a price per metre, exactly."""
    value = read_price(text, argument="price_per_m")
    if value is None:
        raise NotValid(say("“{text}” is not a price.", text=text[:40]))
    return value


@_plainly
def share(text: str) -> float:
    """Read percents into a share, such as 4 into 0.04."""
    return read_decimal(text.strip().removesuffix("%")) / 100


class _None:
    """What `or_none` gives for "none"; argparse keeps None itself for what was not told."""


NONE = _None()


def or_none(read: Callable[[str], T]) -> Callable[[str], T | _None]:
    """Let the word "none" stand for no value."""

    def reader(text: str) -> T | _None:
        return NONE if text.strip().lower() == "none" else read(text)

    return reader


@_plainly
def closed_days(text: str) -> tuple[dt.date, ...]:
    """Read closed days: dates, and whole closures such as 2026-08-03..2026-08-14."""
    return holidays_in(text)


@_plainly
def size(text: str) -> Size:
    """Read the outer size of a frame, such as 23x31in or 584x787mm."""
    return read_size(text)


def _length(text: str, usual: str) -> int:
    found = _LENGTH.fullmatch(text)
    unit = (found["unit"].lower() or usual) if found else ""
    if found is None or unit not in _MM:
        raise NotValid(
            say("“{text}” is not a length.", text=text[:40]),
            hint=say("Write a number and its unit, such as 30m or 1580mm."),
        )
    return round(read_decimal(found["number"]) * _MM[unit])


@_plainly
def metres(text: str) -> int:
    """Read a length into mm; a bare number means metres, as rolls are sold."""
    return _length(text, "m")


@_plainly
def millimetres(text: str) -> int:
    """Read a length into mm; a bare number means mm."""
    return _length(text, "mm")


@_plainly
def day(text: str) -> dt.date:
    """Read a date as year-month-day."""
    try:
        date = dt.date.fromisoformat(text.strip())
    except ValueError as bad:
        raise NotValid(
            say("“{text}” is not a date.", text=text[:40]),
            hint=say("Write year, month and day, such as 2025-03-03."),
        ) from bad
    if not _FIRST_YEAR <= date.year <= _LAST_YEAR:
        raise NotValid(
            say("The year of {text} lies outside what a shop records.", text=text.strip()),
            hint=say("Write the year with four digits, and check them."),
        )
    return date


@_plainly
def day_and_time(text: str) -> tuple[dt.date, dt.time | None]:
    """Read a date with or without a time of day."""
    date, _, told = text.strip().replace("T", " ").partition(" ")
    try:
        time = dt.time.fromisoformat(told.strip()) if told.strip() else None
        if time is not None and time.tzinfo is not None:
            raise ValueError(text)  # the zone is always the shop's
        return day(date), time
    except ValueError as bad:
        raise NotValid(
            say("“{text}” is not a date and time.", text=text[:40]),
            hint=say("Write it such as 2025-03-03 or “2025-03-03 07:10”."),
        ) from bad


@_plainly
def named(text: str) -> tuple[str, str]:
    """Read NAME=VALUE."""
    name, equals, value = text.partition("=")
    if not equals or not name.strip():
        raise NotValid(
            say("“{text}” is not a name and its value.", text=text[:40]),
            hint=say("Write both with = between them, such as paper=letter."),
        )
    return name.strip().replace("-", "_"), value.strip()
