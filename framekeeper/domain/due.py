"""Says what is due for a frame: one task for each rule that its numbers break.

Every task carries the rule and the number that raised it. The thresholds are the shop's own, per
mesh type and for the frames; the defaults below name where they come from.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace

from framekeeper.domain.due_outlook import (
    ROUNDING,
    below_as_read,
    below_by_forecast,
    reading_by_forecast,
    start_of_day,
)
from framekeeper.domain.frame_state import FrameState, LastSurvey, MeshLife
from framekeeper.domain.outlook import Outlook
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.tasks import FrameRules, MeshRules, Place, Rule, Task, Urgency
from framekeeper.domain.trade_words import DAMAGE_WORDS

__all__ = [
    "FrameRules",
    "MeshRules",
    "Place",
    "Rule",
    "Task",
    "Urgency",
    "due_tasks",
    "next_reading",
]


def due_tasks(
    state: FrameState,
    rules: MeshRules,
    frame_rules: FrameRules,
    *,
    now: dt.datetime,
    zone: dt.tzinfo,
    verdict_changed: bool = False,
    outlook: Outlook | None = None,
) -> tuple[Task, ...]:
    """List what is due for a frame.

    Parameters
    ----------
    state
        The fold of the frame's journal.
    rules, frame_rules
        The thresholds for the mesh that is on it, and for the frame.
    now, zone
        The moment in UTC and the shop's own zone, in which days are counted.
    verdict_changed
        A finding about its meter has changed the verdict on the newest survey.
    outlook
        The forecast of the mesh that is on it; then it says when to read, not the fixed interval.
    """
    settled = state.at(now)
    today = now.astimezone(zone).date()
    tasks = (
        *_outside(settled, today, zone),
        *_at_the_table(state, now),
        *_on_the_bench(settled, frame_rules, now),
        *_found_out(settled, rules, verdict_changed),
        *_in_service(settled, rules, now, zone, outlook),
    )
    return tuple(sorted(tasks, key=lambda t: (t.due_at, t.rule)))


def _outside(state: FrameState, today: dt.date, zone: dt.tzinfo) -> Iterator[Task]:
    if state.state == "out" and state.due_back_on is not None and today > state.due_back_on:
        yield Task(
            "overdue_outside",
            "rack",
            start_of_day(state.due_back_on, zone),
            "soon",
            say(
                "with {who} since {since}, was due back on {due}",
                who=state.out_to,
                since=state.since.date() if state.since else None,
                due=state.due_back_on,
            ),
        )


def _at_the_table(state: FrameState, now: dt.datetime) -> Iterator[Task]:
    """Cure rules look at the state as recorded: the screen is ready only because time passed."""
    life = state.life
    if state.state != "curing" or life is None or life.cure_ends_at is None:
        return
    if now >= life.cure_ends_at and life.released_at is None:
        yield Task(
            "release",
            "stretching",
            life.cure_ends_at,
            "soon",
            say("cure ended {at}, still in the clamps", at=life.cure_ends_at),
        )


def _on_the_bench(state: FrameState, rules: FrameRules, now: dt.datetime) -> Iterator[Task]:
    if state.state not in ("bare", "prepped", "pulled"):
        return
    since = state.since or now
    if state.state == "pulled":
        yield Task("strip", "prep", since, "soon", _why_pulled(state))
    after = rules.regrind_after_stretches
    if state.kind == "glued" and after is not None and state.stretches_since_regrind >= after:
        yield Task(
            "regrind",
            "prep",
            since,
            "soon",
            say(
                "{count} stretches since the last regrind, due after {limit}",
                count=state.stretches_since_regrind,
                limit=after,
            ),
        )


def _why_pulled(state: FrameState) -> Sentence:
    reason = state.taken_out_reason or ""
    return say("pulled: {reason}", reason=DAMAGE_WORDS.get(reason, reason))


def _in_service(
    state: FrameState,
    rules: MeshRules,
    now: dt.datetime,
    zone: dt.tzinfo,
    outlook: Outlook | None,
) -> Iterator[Task]:
    life = state.life
    if life is None or state.state not in ("ready", "in_use", "to_reclaim"):
        return
    if state.awaits_inbound_survey:
        yield Task(
            "inbound_survey",
            "round",
            state.since or now,
            "soon",
            say("back from outside, not yet surveyed"),
        )
    yield from _tension(life, rules, outlook)
    yield from _evenness(life, rules)
    if life.survey is None:
        if not state.awaits_inbound_survey:
            yield _never_read(state, life, now)
    else:
        reading = next_reading(life.survey, rules, zone, outlook)
        if reading is not None and reading.due_at <= now:
            yield reading
    if life.open_damage is not None:
        yield Task(
            "damaged",
            "washout",
            state.since or now,
            "soon",
            say("{damage}, and the mesh stays on", damage=DAMAGE_WORDS[life.open_damage]),
        )
    after = rules.inspect_after_reclaims
    if after is not None and life.reclaims_since_inspection >= after:
        yield Task(
            "inspect_mesh",
            "washout",
            state.since or now,
            "soon",
            say(
                "{count} reclaims since the last inspection, due after {limit}",
                count=life.reclaims_since_inspection,
                limit=after,
            ),
        )


def _tension(life: MeshLife, rules: MeshRules, outlook: Outlook | None) -> Iterator[Task]:
    survey = life.survey
    if survey is None:
        return
    limit = rules.limit
    by_forecast = None if outlook is None else below_by_forecast(survey, outlook)
    if by_forecast is not None:
        yield by_forecast
        return
    below = None if limit is None else below_as_read(survey, limit)
    if below is not None:
        yield below
        return
    target = life.target_n_per_cm or rules.target
    if target is None or survey.moment != "after_release" or _is_accepted(life, survey):
        return
    floor = target - rules.tolerance
    if survey.mean < floor - ROUNDING:
        yield Task(
            "below_target",
            "round",
            survey.at,
            "soon",
            say(
                "fresh stretch at {mean:.1f} N/cm, target {target:.1f} less {tolerance:.1f}",
                mean=survey.mean,
                target=target,
                tolerance=rules.tolerance,
            ),
        )


def _found_out(state: FrameState, rules: MeshRules, verdict_changed: bool) -> Iterator[Task]:
    """A finding about the meter that changes what the newest survey means asks for another one."""
    life = state.life
    if life is None or state.state not in ("ready", "in_use", "to_reclaim"):
        return
    survey = life.survey
    if survey is None or abs(survey.shift) <= ROUNDING:
        return
    before = replace(survey, mean=survey.mean - survey.shift, lowest=survey.lowest - survey.shift)
    told = {t.rule for t in _tension(replace(life, survey=before), rules, None)}
    if verdict_changed or told != {t.rule for t in _tension(life, rules, None)}:
        yield Task(
            "meter_found_out",
            "round",
            survey.at,
            "soon",
            say(
                "its meter was found out: {before:.1f} N/cm then means {mean:.1f} now",
                before=before.mean,
                mean=survey.mean,
            ),
        )


def _evenness(life: MeshLife, rules: MeshRules) -> Iterator[Task]:
    survey = life.survey
    if survey is None or _is_accepted(life, survey):
        return
    if rules.spread_limit is not None and survey.spread > rules.spread_limit + ROUNDING:
        yield Task(
            "uneven",
            "rack",
            survey.at,
            "soon",
            say(
                "spread {spread:.1f} N/cm over the points, limit {limit:.1f}",
                spread=survey.spread,
                limit=rules.spread_limit,
            ),
        )
    if (
        rules.balance_limit is not None
        and survey.imbalance is not None
        and survey.imbalance > rules.balance_limit + ROUNDING
    ):
        yield Task(
            "unbalanced",
            "rack",
            survey.at,
            "soon",
            say(
                "warp and weft differ by {imbalance:.1f} N/cm, limit {limit:.1f}",
                imbalance=survey.imbalance,
                limit=rules.balance_limit,
            ),
        )


def _is_accepted(life: MeshLife, survey: LastSurvey) -> bool:
    """Whether somebody inspected the mesh since the survey; what they found is in the journal."""
    return life.inspected_at is not None and life.inspected_at >= survey.at


def next_reading(
    survey: LastSurvey, rules: MeshRules, zone: dt.tzinfo, outlook: Outlook | None
) -> Task | None:
    """Say when a screen in service is to be read next, and why.

    None where no rule asks for it, or another task does already.

    Days count as a calendar does: what was read last Monday noon is due this Monday early.
    """
    if outlook is not None:
        said_already = below_by_forecast(survey, outlook) or below_as_read(survey, outlook.limit)
        return None if said_already else reading_by_forecast(survey, outlook, zone)
    every = rules.days_between_readings
    if every is None:
        return None
    read_on = survey.at.astimezone(zone).date()
    return Task(
        "reading_due",
        "round",
        start_of_day(read_on + dt.timedelta(days=every), zone),
        "soon",
        say("last reading {read_on}, days between readings: {every}", read_on=read_on, every=every),
    )


def _never_read(state: FrameState, life: MeshLife, now: dt.datetime) -> Task:
    if life.cure_ends_at is not None and life.released_at is not None:
        since = max(life.cure_ends_at, life.released_at)
        reason = say("cure ended {at}, no reading since the release", at=life.cure_ends_at)
        return Task("first_reading", "round", since, "soon", reason)
    if life.day0_at is not None and life.is_freshly_set:
        reason = say("no reading since the release {at}", at=life.day0_at)
        return Task("first_reading", "round", life.day0_at, "soon", reason)
    return Task(
        "no_reading", "round", state.since or now, "soon", say("no reading on this mesh yet")
    )
