"""What a tension meter can show: the gate for every number that a person types."""

from __future__ import annotations

import math

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

HIGHEST_TENSION_N_PER_CM = 60.0  # meters of this class end at 50; above 60 is a typing mistake


def valid_tension(value: float, *, argument: str = "tension") -> float:
    """Return the value if a meter could have shown it.

    Raises
    ------
    NotValid
        For NaN, zero, a negative number, or anything above 60 N/cm.
    """
    if not math.isfinite(value) or value <= 0:
        raise NotValid(
            say("A tension of {value} N/cm cannot be.", value=value),
            hint=say("Enter what the meter shows, for example 22.5."),
            argument=argument,
        )
    if value > HIGHEST_TENSION_N_PER_CM:
        raise NotValid(
            say(
                "{value:.1f} N/cm is more than a tension meter can show ({most:.0f} N/cm).",
                value=value,
                most=HIGHEST_TENSION_N_PER_CM,
            ),
            hint=say("Check for a missing decimal point or a second number in the field."),
            argument=argument,
        )
    return value
