"""A sentence for a person, kept apart from its values so that it can be translated and reformatted.

The domain knows which sentence to say and with which numbers; it does not know the language, the
decimal sign or the unit of length that the shop prefers. So it returns a `Sentence`; `str()` gives
plain English, and the window's formatter gives the shop's own.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class Millimetres(NamedTuple):
    """A length that is shown in mm or inch, as the shop chooses."""

    value: float

    def __format__(self, spec: str) -> str:
        return f"{self.value:{spec or '.0f'}} mm"


class Running(NamedTuple):
    """A length of mesh along the roll, in mm; it is shown in m or yd, as the shop chooses."""

    value: float
    unit: str = "m"

    def __format__(self, spec: str) -> str:
        per_unit = _MM_PER_ROLL_UNIT[self.unit]
        return f"{self.value / per_unit:{spec or '.2f'}} {self.unit}"


_MM_PER_ROLL_UNIT = {"m": 1000.0, "yd": 914.4}  # both exact by definition


class Sentence(NamedTuple):
    """A template in English with `str.format` fields, and the values that go into it."""

    template: str
    values: Mapping[str, object] = MappingProxyType({})

    def __str__(self) -> str:
        return self.template.format(**{k: _plain(v) for k, v in self.values.items()})


class _Moment:
    """Formats a date or a date with time the same way in every plain sentence."""

    def __init__(self, text: str) -> None:
        self._text = text

    def __format__(self, spec: str) -> str:
        return self._text


def _plain(value: object) -> object:
    if isinstance(value, dt.datetime):
        return _Moment(value.strftime("%Y-%m-%d %H:%M"))
    if isinstance(value, dt.date):
        return _Moment(value.isoformat())
    return value


def say(template: str, /, **values: object) -> Sentence:
    """Build a `Sentence`; the literal template is what translators see.

    >>> str(say("tension {mean:.1f} N/cm, limit {limit:.1f}", mean=18.62, limit=18))
    'tension 18.6 N/cm, limit 18.0'
    """
    return Sentence(template, MappingProxyType(values))
