"""Judges a survey: inside, outside or too close to call, with reasons and likely causes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median
from typing import Literal

from framekeeper.domain.conformity import DEFAULT_RISK
from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.low_spot import Finding, Point, centre_of
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.survey_rules import (
    BALANCED_WITHIN_N_PER_CM,
    EVEN_WITHIN_N_PER_CM,
    Check,
    Errors,
    Thresholds,
    evenness_check,
    find,
    lowest_check,
    mean_check,
)
from framekeeper.domain.tension import valid_tension

Verdict = Literal["inside", "outside", "too close to call"]
Comparison = Literal["centre", "median"]


@dataclass(frozen=True, slots=True)
class SurveyResult:
    """What a survey says, in N/cm.

    Attributes
    ----------
    n : int
        Number of readings.
    mean, mean_warp, mean_weft, lowest, highest : float
        Over all readings, over those of one direction, and the extreme readings.
    spread, imbalance : float
        Highest less lowest reading; distance between the means of warp and weft.
    deviations : tuple of float
        Mean of warp and weft at each point, less that of the centre, or less the median of the
        points where no point is known to be the centre (`compared_with` says which).
    u_mean : float
        Standard uncertainty of the mean.
    verdict : str
        "inside", "outside" or "too close to call".
    reasons : tuple of Sentence
        Why, one sentence for each rule that decided.
    findings : tuple of Finding
        A low side, a low corner, warp against weft, even but low, or uneven without a pattern.
    """

    n: int
    mean: float
    mean_warp: float
    mean_weft: float
    lowest: float
    highest: float
    deviations: tuple[float, ...]
    compared_with: Comparison
    u_mean: float
    verdict: Verdict
    reasons: tuple[Sentence, ...]
    findings: tuple[Finding, ...]

    @property
    def spread(self) -> float:
        """Highest less lowest reading."""
        return self.highest - self.lowest

    @property
    def imbalance(self) -> float:
        """Distance between the means of warp and weft."""
        return abs(self.mean_warp - self.mean_weft)

    @property
    def causes(self) -> tuple[Sentence, ...]:
        """The likely causes of what was found."""
        return tuple(f.likely_cause for f in self.findings if f.likely_cause is not None)


def evaluate(
    warp: Iterable[float],
    weft: Iterable[float],
    *,
    target: float | None,
    tolerance: float | None,
    limit: float | None = None,
    points: Iterable[Iterable[float]] | None = None,
    spread_limit: float | None = EVEN_WITHIN_N_PER_CM,
    balance_limit: float | None = BALANCED_WITHIN_N_PER_CM,
    u_meter: float,
    repeatability: float,
    resolution: float = 0.0,
    risk: float = DEFAULT_RISK,
) -> SurveyResult:
    """Judge one survey.

    A fresh stretch is judged by its mean against target and tolerance, by its spread and by the
    balance of warp and weft; a screen in service (`limit` given) by its mean and its lowest
    reading against the limit.

    Parameters
    ----------
    warp, weft : array_like (n,)
        Readings at the same n >= 2 points in the same order, N/cm, corrected for the meter.
    target, tolerance : float
        N/cm, above 0; None allowed in service, where they decide nothing.
    limit : float, optional
        N/cm, above 0: the screen is in service and pulled below it.
    points : array_like (n, 2), optional
        Where the points lie, mm, x to the right and y down.
    spread_limit, balance_limit : float or None
        N/cm, above 0; None switches the rule off.
    u_meter : float
        Standard uncertainty of the meter's bias, N/cm, from 0 upwards: averaging keeps it.
    repeatability : float
        Standard deviation of one reading repeated, N/cm, from 0 upwards: averaging shrinks it.
    resolution : float
        One step of the meter's scale, N/cm; 0 if `u_meter` already covers it.
    risk : float
        Largest probability of a wrong "inside" or "outside" for each rule.

    Returns
    -------
    SurveyResult
        u_mean^2 = u_meter^2 + repeatability^2 / N + resolution^2 / 12 with N = 2 n readings [1]_;
        the meter's bias falls out of spread and balance, which compare readings of one meter.
        "outside" if one rule is broken for certain, else "too close to call" if one lies in its
        guard band [2]_, else "inside".

    Raises
    ------
    NotEnoughData
        Without readings, or for a single point, which cannot show whether a screen is even.
    NotValid
        For NaN, readings no meter can show, warp without weft or the reverse, unequal numbers of
        readings, points that do not match them, and thresholds that are not above 0.

    References
    ----------
    .. [1] JCGM 100:2008, clauses 4.3.7, 5.1.2 and F.2.2.1.
    .. [2] JCGM 106:2012, clause 8.3; ISO 14253-1:2017.

    Examples
    --------
    >>> result = evaluate([22.5, 22, 21.5], [22, 21.5, 21], target=22, tolerance=2,
    ...                   spread_limit=2, balance_limit=2, u_meter=0.3, repeatability=0.2)
    >>> result.verdict, round(result.mean, 2), round(result.u_mean, 2)
    ('inside', 21.75, 0.31)
    """
    along, across = _readings(warp, weft)
    held = Thresholds(
        *_band(target, tolerance, limit),
        None if spread_limit is None else _number("spread_limit", spread_limit),
        None if balance_limit is None else _number("balance_limit", balance_limit),
        risk,
    )
    errors = Errors(
        _number("u_meter", u_meter, from_zero=True),
        _number("repeatability", repeatability, from_zero=True),
        _number("resolution", resolution, from_zero=True) / math.sqrt(12),
    )
    places = None if points is None else _places(points, len(along))
    deviations, compared_with = _deviations(along, across, places)
    verdict, reasons = _fold(_checks(along, across, held, errors))
    everything = [*along, *across]
    return SurveyResult(
        n=len(everything),
        mean=fmean(everything),
        mean_warp=fmean(along),
        mean_weft=fmean(across),
        lowest=min(everything),
        highest=max(everything),
        deviations=deviations,
        compared_with=compared_with,
        u_mean=errors.of_mean(len(everything)),
        verdict=verdict,
        reasons=reasons,
        findings=find(along, across, places, held, errors),
    )


def _checks(
    warp: Sequence[float], weft: Sequence[float], held: Thresholds, errors: Errors
) -> list[Check]:
    everything = [*warp, *weft]
    mean = mean_check(fmean(everything), len(everything), held, errors)
    if held.in_service:
        return [mean, lowest_check(min(everything), held, errors)]
    spread = max(everything) - min(everything)
    balance = abs(fmean(warp) - fmean(weft))
    evenness = (
        evenness_check("spread", spread, 1, held, errors),
        evenness_check("balance", balance, len(warp), held, errors),
    )
    return [mean, *(check for check in evenness if check is not None)]


def _fold(checks: Sequence[Check]) -> tuple[Verdict, tuple[Sentence, ...]]:
    """Give the worst decision, and the reasons for it; what is undecided is told in any case."""
    decisions = {check.decision for check in checks}
    verdict: Verdict = "inside"
    if "reject" in decisions:
        verdict = "outside"
    elif "undecided" in decisions:
        verdict = "too close to call"
    told = {"accept"} if verdict == "inside" else {"reject", "undecided"}
    return verdict, tuple(check.reason for check in checks if check.decision in told)


def _deviations(
    warp: Sequence[float], weft: Sequence[float], points: Sequence[Point] | None
) -> tuple[tuple[float, ...], Comparison]:
    means = [(a + b) / 2 for a, b in zip(warp, weft, strict=True)]
    centre = None if points is None else centre_of(points)
    if centre is None:
        base = median(means)
        return tuple(m - base for m in means), "median"
    return tuple(m - means[centre] for m in means), "centre"


def _readings(warp: Iterable[float], weft: Iterable[float]) -> tuple[list[float], list[float]]:
    along, across = _column("warp", warp), _column("weft", weft)
    if not along and not across:
        raise NotEnoughData(say("A survey needs readings along warp and weft."))
    if len(along) != len(across):
        raise NotValid(
            say(
                "There are {warp} readings along warp and {weft} along weft.",
                warp=len(along),
                weft=len(across),
            ),
            hint=say("Read both directions at every point."),
            argument="warp" if len(along) < len(across) else "weft",
        )
    if len(along) < 2:
        raise NotEnoughData(
            say("One point cannot show whether a screen is even."),
            hint=say("Read the centre and the corners at least."),
        )
    return along, across


def _column(name: str, values: Iterable[float]) -> list[float]:
    try:
        numbers = [float(value) for value in values]
    except (TypeError, ValueError):
        raise NotValid(
            say("{name} must be one number for each point.", name=name), argument=name
        ) from None
    return [valid_tension(number, argument=name) for number in numbers]


def _places(points: Iterable[Iterable[float]], n: int) -> list[Point]:
    try:
        rows = [tuple(float(value) for value in point) for point in points]
    except (TypeError, ValueError):
        rows = []
    if len(rows) != n or any(len(row) != 2 for row in rows):
        raise NotValid(
            say("There must be one place (x and y) for each of the {n} points.", n=n),
            argument="points",
        )
    if not all(math.isfinite(value) for row in rows for value in row):
        raise NotValid(say("A place is not a number."), argument="points")
    if len(set(rows)) < n:
        raise NotValid(say("Two points lie in the same place."), argument="points")
    return [(row[0], row[1]) for row in rows]


def _band(
    target: float | None, tolerance: float | None, limit: float | None
) -> tuple[float, float | None]:
    """Return what the mean must keep: the limit in service, else target and tolerance."""
    middle = None if target is None else _number("target", target)
    around = None if tolerance is None else _number("tolerance", tolerance)
    if limit is not None:
        return _number("limit", limit), None
    if middle is None or around is None:
        missing = "target" if middle is None else "tolerance"
        raise NotValid(
            say("A fresh stretch is judged against a target and its tolerance."),
            hint=say("Give the mesh a target first."),
            argument=missing,
        )
    return middle - around, middle + around


def _number(name: str, value: float, *, from_zero: bool = False) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if math.isfinite(number) and (number > 0 or (from_zero and number == 0)):
        return number
    if from_zero:
        said = say("{name} must be a number from 0 upwards.", name=name)
    else:
        said = say("{name} must be a number above 0.", name=name)
    raise NotValid(said, argument=name)
