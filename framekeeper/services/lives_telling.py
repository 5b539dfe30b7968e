"""Puts lives into words: the page, the paper, the command line and tests say them alike.

A p value is told as what it is, a chance, and never as a verdict; small numbers are told as small.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from framekeeper.domain.lived_mesh import Cause, LeftOut, LifeUnit, LivedMesh
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import DAMAGE_WORDS
from framekeeper.services.first_night import Night, NightPoint
from framekeeper.services.life_splits import By
from framekeeper.services.lives import (
    FEW_ENDS,
    Comparison,
    CurveStep,
    Law,
    Left,
    LifeGroup,
    LifeRow,
    LivesFound,
    Middle,
)

BY_WORDS: Mapping[By, Sentence] = {
    "all": say("all together"),
    "mesh": say("mesh"),
    "lot": say("roll lot"),
    "adhesive": say("adhesive batch"),
    "activator": say("activator batch"),
    "who": say("who stretched it"),
    "method": say("how it was stretched"),
    "rest": say("minutes of rest before glue"),
    "pull": say("frames in the pull"),
}
UNIT_WORDS: Mapping[LifeUnit, Sentence] = {"days": say("days"), "reclaims": say("reclaims")}

FIRST_WHOLE = 9.95  # from here on a tenth of a day or reclaim tells nothing

LEFT_OUT_WORDS: Mapping[LeftOut, Sentence] = {
    "not_released": say("never released"),
    "start_unknown": say("left out: nobody knows when it began"),
    "never_watched": say("left out: it ended at the age at which it was first seen here"),
}

HABIT_WORDS: Mapping[str, Sentence] = {
    "wears_out": say("wears out"),
    "by_accident": say("by accident"),
    "fails_young": say("fails young"),
}

WHAT_COUNTS = say(
    "A life runs from the release, of mesh from outside from its receipt, until the screen is "
    "pulled, its mesh is done or comes off. Tightening is no end. Mesh on retired, missing or "
    "sent-out frames is out of sight from then on."
)


def age_words(age: float, unit: LifeUnit) -> Sentence:
    """Say an age, or a time that is left."""
    if unit == "days":
        return say("1 day") if round(age) == 1 else say("{n:.0f} days", n=age)
    if age == 1:
        return say("1 reclaim")
    return say("{n:.0f} reclaims", n=age) if age.is_integer() else say("{n:.1f} reclaims", n=age)


def cause_words(cause: Cause) -> Sentence:
    """Say in a few words what ended a life."""
    if cause.kind == "damaged":
        words = next((w for kind, w in DAMAGE_WORDS.items() if kind == cause.words), say("damage"))
    elif cause.kind == "pulled":
        words = say("pulled: {reason}", reason=cause.words)
    else:
        words = {
            "below_limit": say("pulled: below the limit"),
            "uneven": say("pulled: uneven"),
            "stripped": say("stripped, no reason told"),
            "sent_out": say("sent out for new mesh"),
        }[cause.kind]
    return say("{cause}, before the release", cause=words) if cause.before_release else words


# one group


def middle_words(middle: Middle | None) -> Sentence:
    """Say the age that half of them outlast, with its interval, in figures alone."""
    if middle is None:
        return say("—")
    if math.isinf(middle.age):
        if math.isinf(middle.low):
            return say("not reached")
        return say("not reached ({low:.0f} or more)", low=middle.low)
    if math.isinf(middle.high):
        return say("{age:.0f} ({low:.0f} or more)", age=middle.age, low=middle.low)
    return say(
        "{age:.0f} ({low:.0f} to {high:.0f})", age=middle.age, low=middle.low, high=middle.high
    )


def law_words(law: Law | None) -> Sentence:
    """Say how they fail, with the shape and its interval."""
    if law is None:
        return say("—")
    return say(
        "{habit}, {shape:.1f} ({low:.1f} to {high:.1f})",
        habit=HABIT_WORDS[law.habit],
        shape=law.shape,
        low=law.low,
        high=law.high,
    )


def left_words(left: Left | None) -> Sentence:
    """Say what is left on average, in figures alone."""
    if left is None:
        return say("—")
    if left.expected < FIRST_WHOLE:
        template = "at least {left:.1f}" if left.at_least else "{left:.1f}"
    else:
        template = "at least {left:.0f}" if left.at_least else "{left:.0f}"
    return Sentence(template, {"left": left.expected})


def share_words(share: float) -> Sentence:
    """Say a share in percent; one that is small is not told as nothing."""
    percent = 100 * share
    return say("{n:.0f} %", n=percent) if percent >= 1 else say("{n:.1f} %", n=percent)


def group_lines(group: LifeGroup, unit: LifeUnit) -> Iterator[Sentence]:
    """Tell one group in whole sentences."""
    yield say(
        "{name}: lives {n}, of these ended {ended}, in service {on}, out of sight {out}. "
        "Left out: {left_out}.",
        name=group.label.name,
        n=len(group.rows),
        ended=len(group.ended),
        on=len(group.running),
        out=len(group.out_of_sight),
        left_out=len(group.left_out),
    )
    yield from estimate_lines(group, unit)


def estimate_lines(group: LifeGroup, unit: LifeUnit) -> Iterator[Sentence]:
    """Tell what was estimated of a group, or why nothing was."""
    if not group.curve:
        yield say(
            "Ended: {n}. Fewer than {few} ends are dots and no curve.",
            n=len(group.ended),
            few=FEW_ENDS,
        )
        return
    if group.middle is not None:
        yield _middle_line(group.middle, unit)
    if group.law is not None:
        yield _law_line(group.law)
    elif group.no_law is not None:
        yield group.no_law
    left = group.mean_left
    if left is not None:
        template = (
            "A screen in service has on average at least {left} left."
            if left.at_least
            else "A screen in service has on average {left} left, by that law."
            if group.law is not None
            else "A screen in service has on average {left} left."
        )
        yield Sentence(template, {"left": age_words(left.expected, unit)})
    yield from group.notes


def _middle_line(middle: Middle, unit: LifeUnit) -> Sentence:
    if math.isinf(middle.age):
        return say("More than half outlast every age that was seen.")
    if math.isinf(middle.high):
        return say(
            "Half of them outlast {age}; with 95 % confidence {low} or more.",
            age=age_words(middle.age, unit),
            low=age_words(middle.low, unit),
        )
    return say(
        "Half of them outlast {age}; with 95 % confidence from {low:.0f} to {high:.0f}.",
        age=age_words(middle.age, unit),
        low=middle.low,
        high=middle.high,
    )


def _law_line(law: Law) -> Sentence:
    template = {
        "wears_out": "It wears out: the older, the likelier its end (Weibull shape {shape:.2f}, "
        "95 % from {low:.2f} to {high:.2f}; 1 would be pure accident).",
        "fails_young": "It fails young: what outlasts the beginning lasts (Weibull shape "
        "{shape:.2f}, 95 % from {low:.2f} to {high:.2f}; 1 would be pure accident).",
        "by_accident": "It may fail by accident, at any age alike (Weibull shape {shape:.2f}, 95 % "
        "from {low:.2f} to {high:.2f}; 1 is pure accident).",
    }[law.habit]
    return Sentence(template, {"shape": law.shape, "low": law.low, "high": law.high})


def step_words(step: CurveStep, unit: LifeUnit) -> Sentence:
    """Tell one step of a curve."""
    return say(
        "At {age}: {share:.0f} % outlast it ({low:.0f} to {high:.0f} %). Under watch: {watched}, "
        "ended there: {ended}.",
        age=age_words(step.age, unit),
        share=100 * step.share,
        low=100 * step.low,
        high=100 * step.high,
        watched=step.watched,
        ended=step.ended,
    )


# all groups together


def comparison_words(compared: Comparison) -> Sentence:
    """Say whether the groups differ, in numbers and in words."""
    if compared.why_not is not None:
        return compared.why_not
    values = {
        "groups": compared.groups,
        "n": len(compared.rows),
        "ends": compared.ends,
        "chi2": compared.chi2,
        "freedom": compared.freedom,
        "chance": _chance(compared.p),
    }
    template = (
        "{groups} groups compared over lives: {n}, ends: {ends} (log-rank {chi2:.1f} on {freedom} "
        "degrees of freedom). If they all lasted alike, chance alone would set them this far "
        "apart {chance}."
    )
    if compared.meshes_mixed:
        template += (
            " Several meshes are mixed here and may make the difference: choose one mesh to "
            "compare like with like."
        )
    return Sentence(template, values)


def _chance(p: float) -> Sentence:
    if p < 0.001:
        return say("in fewer than 1 of 1000 such comparisons (p below 0.001)")
    if p < 0.095:
        return say("in {n:.0f} of 1000 such comparisons (p = {p:.3f})", n=1000 * p, p=p)
    return say("in {n:.0f} of 100 such comparisons (p = {p:.2f})", n=100 * p, p=p)


def night_lines(night: Night) -> Iterator[Sentence]:
    """Tell what the first night costs, and whether resting longer pays."""
    if night.mean is not None:
        template = (
            "From the clamps to the first morning mesh loses {mean:.1f} % on average, the release "
            "in it (nights: {n})."
            if night.from_clamps
            else "In the first night mesh loses {mean:.1f} % on average (nights: {n})."
        )
        yield Sentence(template, {"mean": night.mean, "n": len(night.points)})
    if night.others:
        yield say(
            "Nights whose first reading was made at another point of the work stay apart: {n}.",
            n=len(night.others),
        )
    yield night.why_not or _slope_line(night)


def _slope_line(night: Night) -> Sentence:
    slope = night.slope
    assert slope is not None
    values = {
        "change": abs(slope.per_ten_minutes),
        "low": slope.low,
        "high": slope.high,
        "n": len(night.rested),
    }
    template = (
        "Mesh that rested ten minutes longer lost {change:.2f} percentage points less (95 % from "
        "{low:+.2f} to {high:+.2f}, nights: {n}, each mesh at its own level)."
        if slope.per_ten_minutes < 0
        else "Mesh that rested ten minutes longer lost {change:.2f} percentage points more (95 % "
        "from {low:+.2f} to {high:+.2f}, nights: {n}, each mesh at its own level)."
    )
    if slope.high < 0:
        return Sentence(template + " Resting longer pays here.", values)
    if slope.low > 0:
        return Sentence(template + " Resting longer does not pay here.", values)
    return Sentence(template + " That may be chance: it tells neither for nor against.", values)


def found_line(found: LivesFound) -> Sentence:
    """Say what was asked and what it rests on."""
    counted = sum(len(g.rows) for g in found.groups)
    values = {
        "by": BY_WORDS[found.by],
        "unit": UNIT_WORDS[found.unit],
        "mesh": found.mesh,
        "n": counted,
        "ended": sum(len(g.ended) for g in found.groups),
        "left_out": sum(len(g.left_out) for g in found.groups),
    }
    template = (
        "Lives of {mesh} in {unit}, by {by}: {n}, of these ended {ended}; left out {left_out}."
        if found.mesh
        else "Lives in {unit}, by {by}: {n}, of these ended {ended}; left out {left_out}."
    )
    return Sentence(template, values)


# one life


def row_words(row: LifeRow, unit: LifeUnit) -> Sentence:
    """Say of one life how old it became and how it stands."""
    life, span = row.life, row.span
    if span is None:
        why = LEFT_OUT_WORDS[life.left_out(unit) or "not_released"]
        if life.cause is None:
            return why
        return say("{why}; {cause}", why=why, cause=cause_words(life.cause))
    age = age_words(span.age, unit)
    words = _fate_words(row, age, unit)
    if span.entry > 0:
        return say("{what}; seen from {entry} on", what=words, entry=age_words(span.entry, unit))
    return words


def _fate_words(row: LifeRow, age: Sentence, unit: LifeUnit) -> Sentence:
    if row.life.cause is not None:
        return say("ended at {age}: {cause}", age=age, cause=cause_words(row.life.cause))
    if row.life.fate == "out_of_sight":
        return say("out of sight at {age}", age=age)
    if row.left is None:
        return say("in service at {age}", age=age)
    values = {"age": age, "left": age_words(row.left.expected, unit)}
    if row.left.at_least:
        return Sentence("in service at {age}, at least {left} left", values)
    return Sentence("in service at {age}, about {left} left", values)


def use_words(life: LivedMesh) -> Sentence:
    """Say how much a mesh was used, as far as it was recorded here."""
    values = {"reclaims": life.reclaims, "impressions": life.impressions}
    if life.reclaims_before is None:
        return Sentence(
            "Reclaims here: {reclaims}, before that not known; impressions: {impressions}.", values
        )
    values["reclaims"] += life.reclaims_before
    return Sentence("Reclaims: {reclaims}, impressions here: {impressions}.", values)


def night_words(point: NightPoint) -> Sentence:
    """Say of one night what was lost, and how long the mesh had rested."""
    night = point.life.first_night
    assert night is not None
    values = {
        "before": night.before_n_per_cm,
        "after": night.after_n_per_cm,
        "loss": point.loss,
        "rest": point.rest,
    }
    template = "{before:.1f} to {after:.1f} N/cm: {loss:.1f} % lost"
    return Sentence(
        template + ", rest not told" if point.rest is None else template + " after {rest} min rest",
        values,
    )
