"""What the forecast of a screen says in words: one sentence each, the same at every place."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from framekeeper.domain.due import next_reading as next_reading_task
from framekeeper.domain.due_outlook import below_as_read, below_by_forecast
from framekeeper.domain.outlook import AHEAD_DAYS, EVEN_CHANCE, Outlook
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import TASK_WORDS

if TYPE_CHECKING:
    from framekeeper.domain.due import MeshRules
    from framekeeper.domain.frame_state import FrameState, LastSurvey
    from framekeeper.domain.records import MeshTypeRecord
    from framekeeper.services.forecasts import Fitted

EARLY, LATE = 0.1, 0.9
MOSTLY, PARTLY = 0.5, 0.9  # shares of what is known that rest on the shop's own readings
IN_SERVICE = frozenset({"ready", "in_use", "to_reclaim"})
DECISIONS: Mapping[str, Sentence] = {
    "keep": say("keep"),
    "read again": say("read again"),
    "pull": say("pull or restretch"),
}
NO_MESH = say("There is no mesh on this frame whose tension could be foretold.")


def chance_words(chance: float) -> Sentence:
    """Write a chance in whole percent; nothing is impossible, nothing certain."""
    if chance < 0.01:
        return say("less than 1 %")
    if chance > 0.99:
        return say("more than 99 %")
    return say("{chance:.0f} %", chance=100 * chance)


def decision_words(outlook: Outlook, survey: LastSurvey | None) -> Sentence:
    """Name what is to be done; a point below the limit is not kept, whatever its mean holds."""
    if outlook.decision == "keep" and survey is not None and below_as_read(survey, outlook.limit):
        return TASK_WORDS["below_limit"]
    return DECISIONS[outlook.decision]


def missing(mesh: MeshTypeRecord, is_read: bool, is_fitted: bool) -> Sentence:
    """Say what has to be set or read before anything can be foretold."""
    if mesh.rules.limit is None:
        return say(
            "No limit is set for {mesh}: nothing says when it is too slack. Set one in its mesh "
            "type (Rack, The shop, Change a mesh type).",
            mesh=mesh.name,
        )
    if mesh.rules.risk is None:
        return say(
            "No risk is set for {mesh}, so no date is foretold. Set one in its mesh type (Rack, "
            "The shop, Change a mesh type).",
            mesh=mesh.name,
        )
    if not is_read:
        return say("Not enough readings yet: the first one since its tension was set is missing.")
    if not is_fitted:
        return say("The forecast has not been worked out yet.")
    return say("Not enough readings yet.")


def crossing(outlook: Outlook, now: dt.datetime, zone: dt.tzinfo) -> Sentence:
    """Say when the screen is likely below its limit."""
    early, even, late = (outlook.reached_at(c) for c in (EARLY, EVEN_CHANCE, LATE))
    limit = outlook.limit
    if even is None:
        ends_at = outlook.read_at + dt.timedelta(days=AHEAD_DAYS[-1])
        if ends_at <= now:
            return say(
                "Last read on {read}, a year ago or more: nothing says any more how long it holds "
                "{limit:.1f} N/cm. Read it first.",
                read=_day(outlook.read_at, zone),
                limit=limit,
            )
        return say(
            "Likely to hold {limit:.1f} N/cm for the year: the chance of being below it by {day} "
            "is {chance}.",
            limit=limit,
            day=_day(ends_at, zone),
            chance=chance_words(outlook.chances[-1]),
        )
    if even <= outlook.read_at:
        return say(
            "Below {limit:.1f} N/cm already, with a chance of {chance}.",
            limit=limit,
            chance=chance_words(outlook.chance_at(now)),
        )
    words: dict[str, object] = {"limit": limit, "day": _day(even, zone)}
    if even <= now:
        return say(
            "Likely below {limit:.1f} N/cm since around {day}, with a chance of {chance} by now.",
            **words,
            chance=chance_words(outlook.chance_at(now)),
        )
    if early is not None and early > now:
        words["early"] = _day(early, zone)
        if late is not None:
            return say(
                "Likely below {limit:.1f} N/cm around {day} (between {early} and {late}).",
                **words,
                late=_day(late, zone),
            )
        return say(
            "Likely below {limit:.1f} N/cm around {day} (from {early} to more than a year ahead).",
            **words,
        )
    if late is not None:
        return say(
            "Likely below {limit:.1f} N/cm around {day} (between now and {late}).",
            **words,
            late=_day(late, zone),
        )
    return say(
        "Likely below {limit:.1f} N/cm around {day} (from now to more than a year ahead).", **words
    )


def next_reading(
    state: FrameState,
    rules: MeshRules,
    outlook: Outlook | None,
    now: dt.datetime,
    zone: dt.tzinfo,
) -> tuple[dt.date | None, Sentence | None]:
    """Say on which day a screen in service is to be read next, and why on that day."""
    life = state.life
    if life is None or life.survey is None or state.state not in IN_SERVICE:
        return None, None
    survey = life.survey
    task = next_reading_task(survey, rules, zone, outlook)
    if task is not None:
        on = _day(task.due_at, zone)
        why = task.reason if outlook is None else _why_then(survey, outlook, rules)
        if task.due_at <= now:
            return on, say("A reading is due since {day}: {why}.", day=on, why=why)
        if outlook is None:
            return on, say("Next reading on {day}: {why}.", day=on, why=why)
        return on, say(
            "Next reading on {day}, about {tension:.1f} N/cm by then: {why}.",
            day=on,
            tension=outlook.tension_then,
            why=why,
        )
    found = None
    if outlook is not None:
        found = below_by_forecast(survey, outlook) or below_as_read(survey, outlook.limit)
    if found is None:
        return None, None
    due = say("Due now: {task} ({why}).", task=TASK_WORDS[found.rule], why=found.reason)
    return (_day(found.due_at, zone) if found.rule == "read_again" else None), due


def _why_then(survey: LastSurvey, outlook: Outlook, rules: MeshRules) -> Sentence:
    from framekeeper.domain.forecast_model import DAYS_PER_RISK

    if outlook.fell_by is not None:
        return say("the last one lies below its forecast, so it is looked at again at once")
    waits = (outlook.check_at - survey.at) / dt.timedelta(days=1)
    if rules.longest_wait_days is not None and waits > rules.longest_wait_days - 0.5:
        return say(
            "it holds, and no screen waits longer than {days} days", days=rules.longest_wait_days
        )
    return say(
        "any later, it risks more than the {days:.1f} days below its limit that are allowed",
        days=(rules.risk or 0.0) * DAYS_PER_RISK,
    )


def rests_on(
    mesh: MeshTypeRecord, stretches: int, share: float, *, start_is_known: bool
) -> Sentence:
    """Say whose experience the forecast is."""
    if not start_is_known:
        return say(
            "Nobody knows when this mesh was stretched; it is taken for fresh at its first "
            "reading, so it may hold longer than shown.",
        )
    words = {"mesh": mesh.name, "stretches": stretches}
    if share < MOSTLY:
        return say(
            "Rests mostly on the trade’s figures; stretches of {mesh} that were read so far: "
            "{stretches}. Own readings take over as they come.",
            **words,
        )
    if share < PARTLY:
        return say(
            "Rests partly on the trade’s figures, partly on the readings of {stretches} stretches "
            "of {mesh}.",
            **words,
        )
    return say("Rests on the readings of {stretches} stretches of {mesh} in this shop.", **words)


def behind(fitted: Fitted | None, zone: dt.tzinfo) -> Sentence | None:
    """Say that the shop has read on since its decay was worked out; None where it has not."""
    if fitted is None or not fitted.is_stale:
        return None
    return say(
        "Surveys since the whole shop was last worked out on {day}: {count}; they count for their "
        "own screens only so far.",
        day=_day(fitted.fitted_at, zone),
        count=fitted.new_surveys,
    )


def _day(moment: dt.datetime, zone: dt.tzinfo) -> dt.date:
    return moment.astimezone(zone).date()
