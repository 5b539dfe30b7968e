"""What is to be done for a frame, by which rule, where and why; and the shop's thresholds."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.sentence import Sentence

Place = Literal["prep", "stretching", "round", "washout", "rack"]
Urgency = Literal["soon", "below"]

Rule = Literal[
    "below_limit",
    "below_target",
    "uneven",
    "unbalanced",
    "reading_due",
    "check_tension",
    "read_again",
    "restretch_expected",
    "first_reading",
    "no_reading",
    "release",
    "inbound_survey",
    "meter_found_out",
    "inspect_mesh",
    "damaged",
    "regrind",
    "overdue_outside",
    "strip",
]


@dataclass(frozen=True, slots=True)
class MeshRules:
    """The shop's thresholds for one mesh type; None switches a rule off. Tensions in N/cm."""

    target: float | None = None
    tolerance: float = 2.0  # common practice, no source
    limit: float | None = None
    spread_limit: float | None = 2.0  # a good stretch is even within 2: common practice, no source
    balance_limit: float | None = 2.0  # common practice, no source
    days_between_readings: int | None = 7  # weekly: published trade advice; where nothing foretells
    risk: float | None = 0.04  # of being below the limit between two readings: found by simulation
    longest_wait_days: int | None = 42  # between two readings, however good the forecast
    inspect_after_reclaims: int | None = 20  # our proposal


@dataclass(frozen=True, slots=True)
class FrameRules:
    """The shop's thresholds for frames."""

    regrind_after_stretches: int | None = 5  # our proposal


@dataclass(frozen=True, slots=True)
class Task:
    """Something to do for one frame, why, and since when."""

    rule: Rule
    place: Place
    due_at: dt.datetime
    urgency: Urgency
    reason: Sentence
