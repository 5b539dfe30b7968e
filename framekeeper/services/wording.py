"""How values are written for a person where there is no window: plain English, the shop's units.

The window's own formatter offers the same methods in the person's language.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Protocol

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.sentence import Millimetres, Running, Sentence

MM_PER_INCH = 25.4  # exact by definition


class Wording(Protocol):
    """Writes values in the units and the language of a person."""

    def tension(self, value_n_per_cm: float) -> str:
        """Write a tension with its unit."""

    def size(self, width_mm: float, height_mm: float) -> str:
        """Write the size of a frame with its unit."""

    def date(self, day: dt.date) -> str:
        """Write a date."""

    def moment(self, when: dt.datetime) -> str:
        """Write a date and time in the shop's zone."""

    def sentence(self, said: Sentence | str) -> str:
        """Write a sentence with its values."""


class PlainWording:
    """English without a window: ISO dates, decimal points, mm or inch."""

    def __init__(self, *, length_unit: str = "mm", zone: dt.tzinfo = dt.UTC) -> None:
        self._inches = length_unit == "inch"
        self._zone = zone

    def tension(self, value_n_per_cm: float) -> str:
        """Write a tension such as "18.6 N/cm"."""
        return f"{value_n_per_cm:.1f} N/cm"

    def size(self, width_mm: float, height_mm: float) -> str:
        """Write a size such as "584 x 787 mm" or "23 x 31 in"."""
        if self._inches:
            return f"{_inches(width_mm)} x {_inches(height_mm)} in"
        return f"{width_mm:.0f} x {height_mm:.0f} mm"

    def date(self, day: dt.date) -> str:
        """Write an ISO date."""
        return day.isoformat()

    def moment(self, when: dt.datetime) -> str:
        """Write an ISO date and the time to the minute."""
        return when.astimezone(self._zone).strftime("%Y-%m-%d %H:%M")

    def sentence(self, said: Sentence | str) -> str:
        """Write a sentence in English, its moments in the shop's zone."""
        if isinstance(said, str):
            return said
        return str(Sentence(said.template, self._values(said.values)))

    def error(self, error: FramekeeperError) -> str:
        """Write what happened, what was kept and what to do, on one line."""
        return " ".join(self.sentence(part) for part in error.parts())

    def _values(self, values: Mapping[str, object]) -> dict[str, object]:
        return {name: self._value(value) for name, value in values.items()}

    def _value(self, value: object) -> object:
        if isinstance(value, dt.datetime):
            return value.astimezone(self._zone)
        if isinstance(value, Millimetres) and self._inches:
            return f"{_inches(value.value)} in"
        if isinstance(value, Running) and self._inches:
            return Running(value.value, "yd")
        if isinstance(value, Sentence):
            return self.sentence(value)
        return value


def _inches(value_mm: float) -> str:
    """Write three digits, and above 100 a tenth more: half an inch is too much for a cut."""
    inches = value_mm / MM_PER_INCH
    return f"{inches:.3g}" if inches < 100 else f"{inches:.1f}".removesuffix(".0")
