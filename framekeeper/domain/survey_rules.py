"""The rules that a tension survey is held against: each decides and says why in a full sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Literal

from framekeeper.domain.conformity import Decision, conformity, guard_band
from framekeeper.domain.low_spot import Finding, Point, low_spot
from framekeeper.domain.sentence import Sentence, say

EVEN_WITHIN_N_PER_CM = 2.0  # a good fresh stretch: common practice, no source
BALANCED_WITHIN_N_PER_CM = 2.0  # warp against weft: common practice, no source
FAILED_SPREAD_N_PER_CM = 5.0  # "failed stretch or bent frame": published trade advice (Inkologist)


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What the mean is held against, and how even the screen must be, in N/cm."""

    lower: float
    upper: float | None  # None in service, where `lower` is the limit
    spread_limit: float | None
    balance_limit: float | None
    risk: float

    @property
    def in_service(self) -> bool:
        """Whether the screen is judged against its limit instead of its target."""
        return self.upper is None


@dataclass(frozen=True, slots=True)
class Errors:
    """Standard uncertainties in N/cm: the meter's bias, one reading's scatter, the scale's step."""

    bias: float
    scatter: float
    step: float  # resolution / sqrt(12); averaging does not shrink it

    def of_mean(self, n: int) -> float:
        """Of the mean of n readings."""
        return math.sqrt(self.bias**2 + self.scatter**2 / n + self.step**2)

    def of_difference(self, n: int) -> float:
        """Of the difference of two means of n readings each: the meter's bias falls out."""
        return math.sqrt(2 * (self.scatter**2 / n + self.step**2))


@dataclass(frozen=True, slots=True)
class Check:
    """One rule, what it decides, and why."""

    rule: Literal["mean", "lowest", "spread", "balance"]
    decision: Decision
    reason: Sentence


def mean_check(mean: float, n: int, held: Thresholds, errors: Errors) -> Check:
    """Hold the mean of n readings against target and tolerance, or against the limit."""
    u = errors.of_mean(n)
    decision = conformity(mean, u, held.lower, held.upper, risk=held.risk)
    guard = guard_band(u, held.risk)
    if held.upper is None:
        reason = _against_limit("mean", decision, mean, held.lower, guard)
        return Check("mean", decision, reason)
    values = {"mean": mean, "low": held.lower, "high": held.upper, "guard": guard}
    if decision == "accept":
        reason = say(
            "The mean of {mean:.1f} N/cm keeps {low:.1f} to {high:.1f}, its error of up to "
            "{guard:.1f} included.",
            **values,
        )
    elif decision == "reject" and mean < held.lower:
        reason = say(
            "The mean of {mean:.1f} N/cm is below {low:.1f} by more than its error of up to "
            "{guard:.1f}.",
            **values,
        )
    elif decision == "reject":
        reason = say(
            "The mean of {mean:.1f} N/cm is above {high:.1f} by more than its error of up to "
            "{guard:.1f}.",
            **values,
        )
    else:
        reason = say(
            "The mean of {mean:.1f} N/cm may lie on either side of the band from {low:.1f} to "
            "{high:.1f}: its error is up to {guard:.1f}.",
            **values,
        )
    return Check("mean", decision, reason)


def lowest_check(lowest: float, held: Thresholds, errors: Errors) -> Check:
    """Hold the lowest single reading against the limit."""
    u = errors.of_mean(1)
    decision = conformity(lowest, u, held.lower, None, risk=held.risk)
    guard = guard_band(u, held.risk)
    return Check("lowest", decision, _against_limit("lowest", decision, lowest, held.lower, guard))


_AGAINST_LIMIT = {
    ("mean", "accept"): say(
        "The mean of {value:.1f} N/cm keeps the limit of {limit:.1f}, its error "
        "of up to {guard:.1f} included."
    ),
    ("mean", "reject"): say(
        "The mean of {value:.1f} N/cm is below the limit of {limit:.1f} by more "
        "than its error of up to {guard:.1f}."
    ),
    ("mean", "undecided"): say(
        "The mean of {value:.1f} N/cm may lie on either side of the limit of "
        "{limit:.1f}: its error is up to {guard:.1f}."
    ),
    ("lowest", "accept"): say(
        "The lowest reading of {value:.1f} N/cm keeps the limit of "
        "{limit:.1f}, its error of up to {guard:.1f} included."
    ),
    ("lowest", "reject"): say(
        "The lowest reading of {value:.1f} N/cm is below the limit of "
        "{limit:.1f} by more than its error of up to {guard:.1f}."
    ),
    ("lowest", "undecided"): say(
        "The lowest reading of {value:.1f} N/cm may lie on either side of "
        "the limit of {limit:.1f}: its error is up to {guard:.1f}."
    ),
}


def _against_limit(
    what: str, decision: Decision, value: float, limit: float, guard: float
) -> Sentence:
    return say(_AGAINST_LIMIT[what, decision].template, value=value, limit=limit, guard=guard)


_EVENNESS = {
    ("spread", "accept"): say(
        "Highest and lowest reading are {value:.1f} N/cm apart, within {limit:.1f}."
    ),
    ("spread", "reject"): say(
        "Highest and lowest reading are {value:.1f} N/cm apart, more than "
        "{limit:.1f} even with an error of {guard:.1f}."
    ),
    ("spread", "undecided"): say(
        "Highest and lowest reading are {value:.1f} N/cm apart, too near to "
        "{limit:.1f} for an error of up to {guard:.1f}."
    ),
    ("balance", "accept"): say("Warp and weft differ by {value:.1f} N/cm, within {limit:.1f}."),
    ("balance", "reject"): say(
        "Warp and weft differ by {value:.1f} N/cm, more than {limit:.1f} even "
        "with an error of {guard:.1f}."
    ),
    ("balance", "undecided"): say(
        "Warp and weft differ by {value:.1f} N/cm, too near to {limit:.1f} "
        "for an error of up to {guard:.1f}."
    ),
}


def evenness_check(
    rule: Literal["spread", "balance"], value: float, n: int, held: Thresholds, errors: Errors
) -> Check | None:
    """Hold a difference of two means of n readings each against its limit, where it has one."""
    limit = held.spread_limit if rule == "spread" else held.balance_limit
    if limit is None:
        return None
    u = errors.of_difference(n)
    decision = conformity(value, u, None, limit, risk=held.risk)
    guard = guard_band(u, held.risk)
    reason = say(_EVENNESS[rule, decision].template, value=value, limit=limit, guard=guard)
    return Check(rule, decision, reason)


def find(
    warp: Sequence[float],
    weft: Sequence[float],
    points: Sequence[Point] | None,
    held: Thresholds,
    errors: Errors,
) -> tuple[Finding, ...]:
    """Say what is wrong with the screen, where, and what likely did it.

    A direction is named where the two differ by more than the balance limit for certain; a side or
    corner where it is lower than the rest by more than half the spread limit. A screen is low
    throughout where its mean is not within its band and nothing else was found.
    """
    found = [_unbalanced(warp, weft, held, errors)]
    means = [(a + b) / 2 for a, b in zip(warp, weft, strict=True)]
    if points is not None:
        half = (held.spread_limit or EVEN_WITHIN_N_PER_CM) / 2
        found.append(low_spot(points, means, by=half, repeatability=errors.scatter))
    if not any(found):
        found.append(_uneven(warp, weft, points, held, errors))
    if not any(found):
        found.append(_low_throughout([*warp, *weft], held, errors))
    return tuple(f for f in found if f is not None)


def _unbalanced(
    warp: Sequence[float], weft: Sequence[float], held: Thresholds, errors: Errors
) -> Finding | None:
    lower_by = fmean(weft) - fmean(warp)
    check = evenness_check("balance", abs(lower_by), len(warp), held, errors)
    if check is None or check.decision != "reject":
        return None
    # Common practice, no source.
    cause = say("Likely cause: both directions were not pulled alike, or clamps of one slipped.")
    if lower_by > 0:
        said = say("Warp is {by:.1f} N/cm lower than weft.", by=lower_by)
        return Finding("unbalanced", "warp", lower_by, said, cause)
    said = say("Weft is {by:.1f} N/cm lower than warp.", by=-lower_by)
    return Finding("unbalanced", "weft", -lower_by, said, cause)


def _uneven(
    warp: Sequence[float],
    weft: Sequence[float],
    points: Sequence[Point] | None,
    held: Thresholds,
    errors: Errors,
) -> Finding | None:
    spread = max(*warp, *weft) - min(*warp, *weft)
    check = evenness_check("spread", spread, 1, held, errors)
    if check is None or check.decision != "reject":
        return None
    if points is None:
        said = say("The readings differ; where the points lie is not known.")
    else:
        said = say("The readings differ, and neither one side nor one corner explains it.")
    cause = None
    if spread >= FAILED_SPREAD_N_PER_CM:
        cause = say("Likely cause: a stretch that failed, or a bent frame.")
    return Finding("uneven", "", spread, said, cause)


def _low_throughout(readings: Sequence[float], held: Thresholds, errors: Errors) -> Finding | None:
    mean = fmean(readings)
    if mean >= held.lower or mean_check(mean, len(readings), held, errors).decision == "accept":
        return None
    by = held.lower - mean
    # Causes: common practice, no source.
    if held.in_service:
        said = say("The screen is even, and {by:.1f} N/cm below its limit throughout.", by=by)
        cause = say("Likely cause: mesh that relaxed with time, prints and reclaims.")
    else:
        said = say("The screen is even, and {by:.1f} N/cm too low throughout.", by=by)
        cause = say("Likely cause: too little pull, or too short a rest before the glue.")
    return Finding("low throughout", "", by, said, cause)
