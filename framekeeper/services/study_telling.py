"""Says what a gauge study or a comparison found in whole sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.sentence import Sentence, say

if TYPE_CHECKING:
    from framekeeper.domain.gauge import GaugeStudy
    from framekeeper.domain.meters import Agreement
    from framekeeper.services.meter_studies import MeterStudy

# Below the first of these shares of the variation a gauge serves, above the second it does not:
# AIAG (2010), Measurement Systems Analysis, 4th ed., chapter III, section B.
SERVES_BELOW_PERCENT, FAILS_ABOVE_PERCENT = 10.0, 30.0


@dataclass(frozen=True, slots=True)
class ShareOfVariation:
    """One line of the result of a gauge study."""

    what: Sentence
    sd_n_per_cm: float
    percent: float


def shares(gauge: GaugeStudy) -> tuple[ShareOfVariation, ...]:
    """List what the readings vary by; shares are of deviations and do not add up to 100."""
    named = (
        (say("Repeatability: one person reads again"), gauge.repeatability_sd),
        (say("Reproducibility: another person reads"), gauge.reproducibility_sd),
        (say("Meter and people together"), gauge.gauge_sd),
        (say("Part to part: the screens differ"), gauge.part_sd),
        (say("All together"), gauge.total_sd),
    )
    return tuple(ShareOfVariation(what, sd, gauge.percent(sd)) for what, sd in named)


def study_words(study: MeterStudy) -> tuple[Sentence, ...]:
    """Say what a study found, the conclusion first."""
    if study.gauge is not None:
        return _gauge_words(study.gauge)
    assert study.agreement is not None
    assert study.other is not None
    return _agreement_words(study.agreement, study.meter.name, study.other.name)


def _gauge_words(gauge: GaugeStudy) -> tuple[Sentence, ...]:
    percent = gauge.percent_of_variation
    if percent < SERVES_BELOW_PERCENT:
        conclusion = say(
            "Meter and people make {percent:.1f} % of the variation: screens are told apart well.",
            percent=percent,
        )
    elif percent <= FAILS_ABOVE_PERCENT:
        conclusion = say(
            "Meter and people make {percent:.1f} % of the variation: good enough to sort screens, "
            "not for small differences.",
            percent=percent,
        )
    else:
        conclusion = say(
            "Meter and people make {percent:.1f} % of the variation: "
            "too much for one reading alone. Read each point more often, or find the cause.",
            percent=percent,
        )
    cause = (
        say("Most of it is one person reading again: the meter, its feet, or how it is set down.")
        if gauge.repeatability_sd >= gauge.reproducibility_sd
        else say("Most of it is the people: agree on the points, the direction and the wait.")
    )
    groups = say(
        "{groups} groups of these screens can be told apart.", groups=int(gauge.distinct_groups)
    )
    return conclusion, cause, groups


def _agreement_words(found: Agreement, first: str, second: str) -> tuple[Sentence, ...]:
    template = (
        "{first} reads {bias:.2f} N/cm higher than {second} on average."
        if found.bias >= 0
        else "{first} reads {bias:.2f} N/cm lower than {second} on average."
    )
    apart = say(template, first=first, second=second, bias=abs(found.bias))
    limits = say(
        "95 % of the differences lie between {lower:.2f} and {upper:.2f} N/cm: limits of agreement "
        "from {n} pairs.",
        lower=found.lower,
        upper=found.upper,
        n=found.n,
    )
    certain = (
        say(
            "The difference is certain ({lower:.2f} to {upper:.2f}): read a reference screen with "
            "both before you compare their readings.",
            lower=found.bias_lower,
            upper=found.bias_upper,
        )
        if found.differs
        else say(
            "It may be chance: the true difference lies between {lower:.2f} and {upper:.2f}.",
            lower=found.bias_lower,
            upper=found.bias_upper,
        )
    )
    return apart, limits, certain
