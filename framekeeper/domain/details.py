"""Refuses details of an event that cannot be right, from a bench, an import or a correction.

Old journals are not checked again: what was once stored stays readable.
"""

from __future__ import annotations

import datetime as dt
import math
import unicodedata
from dataclasses import fields
from typing import Final

from framekeeper.domain.errors import NotValid
from framekeeper.domain.events import (
    DAMAGE_KINDS,
    MOMENTS,
    PREP_STEPS,
    FoundWithMesh,
    Payload,
    Surveyed,
)
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import valid_tension

LONGEST_TEXT: Final = 2000
MOST_READINGS: Final = 200

# Lowest and highest of what people enter as a number; far beyond is a slip of the finger.
_RANGES: Final[dict[str, tuple[float, float]]] = {
    "reclaims_so_far": (0, 10_000),
    "frames_in_pull": (1, 1000),
    "cut_length_mm": (1, 1_000_000),
    "cut_width_mm": (1, 10_000),
    "rest_minutes": (0, 7 * 24 * 60),
    "impressions": (0, 10_000_000),
    "gap_mm": (0, 100),
    "correction_n_per_cm": (-20, 20),
    "was_n_per_cm": (-20, 20),
}
_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "step": PREP_STEPS,
    "result": ("done", "skipped", "failed"),
    "moment": MOMENTS,
    "damage": DAMAGE_KINDS,
    "warp_along": ("long", "short"),
}


def check_details(payload: Payload, happened_at: dt.datetime) -> None:
    """Refuse a payload with a detail that cannot be.

    Parameters
    ----------
    payload
        What happened.
    happened_at
        When, with its zone.

    Raises
    ------
    NotValid
        With the name of the detail as its argument.
    """
    for field in fields(payload):
        _check(field.name, getattr(payload, field.name))
    if isinstance(payload, Surveyed):
        _check_readings(payload)
    if isinstance(payload, FoundWithMesh) and payload.mesh_since is not None:
        _check_mesh_since(payload.mesh_since, happened_at)


def valid_text(text: str, *, argument: str, most: int = LONGEST_TEXT) -> str:
    """Return the text if it can be stored and printed.

    Raises
    ------
    NotValid
        For a text that is too long, or with characters that are none, such as NUL.
    """
    if len(text) > most:
        raise NotValid(
            say("This text is longer than {most} characters.", most=most),
            hint=say("Say it in fewer words."),
            argument=argument,
        )
    if any(unicodedata.category(c) in ("Cc", "Cs") and c not in "\t\n\r" for c in text):
        raise NotValid(
            say("This text has characters in it that cannot be read."),
            hint=say("Type it again by hand."),
            argument=argument,
        )
    return text


def _check(name: str, value: object) -> None:
    if value is None:
        return
    if name in _WORDS and value not in _WORDS[name]:
        raise NotValid(
            say("“{value}” is none of: {words}.", value=value, words=", ".join(_WORDS[name])),
            argument=name,
        )
    if isinstance(value, str):
        valid_text(value, argument=name)
    elif isinstance(value, dt.datetime):
        if value.tzinfo is None:
            raise NotValid(say("A time needs its zone."), argument=name)
    elif name in _RANGES and isinstance(value, int | float):
        _check_range(name, value)
    elif name.endswith("_n_per_cm") and isinstance(value, int | float):
        valid_tension(value, argument=name)


def _check_range(name: str, value: float) -> None:
    low, high = _RANGES[name]
    if not math.isfinite(value) or not low <= value <= high:
        raise NotValid(
            say("{value} cannot be; from {low} to {high} can.", value=value, low=low, high=high),
            hint=say("Check the number."),
            argument=name,
        )


def _check_readings(survey: Surveyed) -> None:
    if not 1 <= len(survey.readings) <= MOST_READINGS:
        raise NotValid(
            say("A survey has from 1 to {most} readings.", most=MOST_READINGS),
            argument="readings",
        )
    for reading in survey.readings:
        valid_tension(reading.raw_n_per_cm, argument="readings")
        if reading.point < 1 or reading.direction not in ("warp", "weft", "not_told"):
            raise NotValid(
                say("Points are counted from 1, each along warp or weft."), argument="readings"
            )


def _check_mesh_since(mesh_since: dt.datetime, happened_at: dt.datetime) -> None:
    if mesh_since > happened_at:
        raise NotValid(
            say("The mesh cannot be younger than the day on which it was found on the frame."),
            hint=say("Check the date, or leave it empty where nobody knows."),
            argument="mesh_since",
        )
