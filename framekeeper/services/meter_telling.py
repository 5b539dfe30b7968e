"""Says what was learnt about a meter in whole sentences, the same in the window and outside."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Mapping

from framekeeper.domain.errors import NotEnoughData
from framekeeper.domain.records import MeterCheckRecord, MeterRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.verdict import Verdict
from framekeeper.services.check import find_meter
from framekeeper.services.desk import Desk
from framekeeper.services.meter_checks import ChangedFrame, FoundOut, bias_of, meter_pages
from framekeeper.services.meter_drift import Drift
from framekeeper.services.verdicts import NO_VERDICT, VERDICT_WORDS

_RULE_WORDS: Mapping[str, Sentence] = {
    "below_limit": say("below the limit"),
    "below_target": say("below the target"),
}
_WATCHED: Mapping[str, Sentence] = {
    "zero": say("Zero on glass"),
    "reference": say("Reference screen"),
}


def certificate_end(meter: MeterRecord, begins: dt.date) -> dt.date:
    """Return until when a certificate holds that begins on a day.

    Examples
    --------
    A certificate of one month from 31 January ends with February.
    """
    months = begins.month - 1 + meter.certificate_months
    year, month = begins.year + months // 12, months % 12 + 1
    return dt.date(year, month, min(begins.day, calendar.monthrange(year, month)[1]))


def failed_bias(desk: Desk, meter_name: str) -> float:
    """Return how much too high a meter read by its newest failed reference, in N/cm.

    Raises
    ------
    NotEnoughData
        If no reference has failed since its last good check.
    NotFound
        If the meter is not known.
    """
    with desk.read() as reader:
        meter = find_meter(reader, meter_name)
    page = next(p for p in meter_pages(desk) if p.trust.meter.id == meter.id)
    bias = bias_of(page)
    if bias is None:
        raise NotEnoughData(
            say("{meter} has no failed reference since its last good check.", meter=meter.name),
            hint=say("Read the reference screen first, or say how much too high it reads."),
            argument="bias",
        )
    return bias


def what_is_doubted(found: FoundOut) -> Sentence:
    """Say how many readings are in doubt, since when, and how many frames change."""
    if found.since is None:
        return say(
            "{surveys} surveys with {meter}, which never had a good check. Frames that change: "
            "{changed} of {frames}.",
            surveys=len(found.survey_ids),
            meter=found.meter.name,
            changed=len(found.changed),
            frames=len(found.frames),
        )
    return say(
        "{surveys} surveys with {meter} since its last good check, {since}. Frames that change: "
        "{changed} of {frames}.",
        surveys=len(found.survey_ids),
        meter=found.meter.name,
        since=found.since,
        changed=len(found.changed),
        frames=len(found.frames),
    )


def how_it_changes(changed: ChangedFrame) -> Sentence:
    """Say from what to what a frame changes: its lowest point, or its mean against the target."""
    before, after = answers_of(changed)
    if "below_target" in (*changed.before, *changed.after):
        return say(
            "{frame}: mean {was:.1f} becomes {now:.1f} N/cm, {before} becomes {after}.",
            frame=changed.frame.name,
            was=changed.was.mean,
            now=changed.becomes.mean,
            before=before,
            after=after,
        )
    return say(
        "{frame}: lowest {was:.1f} becomes {now:.1f} N/cm, {before} becomes {after}.",
        frame=changed.frame.name,
        was=changed.was.lowest,
        now=changed.becomes.lowest,
        before=before,
        after=after,
    )


def answers_of(changed: ChangedFrame) -> tuple[Sentence, Sentence]:
    """Say what a frame was and what it becomes: by the rule it breaks, else by its verdict."""
    if changed.before != changed.after:
        return _answer(changed.before), _answer(changed.after)
    return _verdict(changed.verdict_before), _verdict(changed.verdict_after)


def _answer(rules: tuple[str, ...]) -> Sentence:
    """One rule at most, the limit before the target."""
    return _RULE_WORDS[rules[0]] if rules else say("holds")


def _verdict(verdict: Verdict | None) -> Sentence:
    return NO_VERDICT if verdict is None else VERDICT_WORDS[verdict]


def check_words(check: MeterCheckRecord) -> Sentence:
    """Say what one entry about a meter records."""
    if check.kind == "zero":
        return say("zero on glass: {shown:.1f}", shown=check.shown)
    if check.kind == "reference":
        template = (
            "reference: {shown:.1f} for {expected:.1f}"
            if check.is_good
            else "reference failed: {shown:.1f} for {expected:.1f}"
        )
        return say(template, shown=check.shown, expected=check.expected)
    if check.kind == "certificate":
        return say("certificate until {date}", date=check.valid_until)
    if check.kind == "found_out":
        return say("found out: {bias:.1f} N/cm too high", bias=check.shown)
    return say("dropped") if check.kind == "drop" else say("repaired")


def drift_words(drift: Drift) -> Sentence:
    """Say what the checks of one kind show together."""
    what = _WATCHED[drift.kind]
    if not drift.points:
        return say("{what}: no check since the last repair.", what=what)
    last = drift.points[-1]
    values = {
        "what": what,
        "n": len(drift.points),
        "average": last.average,
        "limit": last.upper,
        "since": drift.since,
    }
    if not drift.drifts:
        return say(
            "{what}: steady. The average of {n} checks is {average:.2f} N/cm off; a drift would "
            "show beyond ±{limit:.2f}.",
            **values,
        )
    if last.is_outside:
        return say(
            "{what}: drifts since {since}. The average is {average:.2f} N/cm off, more than "
            "±{limit:.2f}. Clean its feet, zero it, and read the reference screen again.",
            **values,
        )
    return say(
        "{what}: drifts slowly since {since}; small errors in one direction add up. Clean its "
        "feet, zero it, and read the reference screen again.",
        **values,
    )
