"""The rules of the due list that rest on the tension forecast."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.frame_state import LastSurvey
from framekeeper.domain.outlook import Outlook
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.tasks import Task, Urgency

ROUNDING = 1e-6  # N/cm: 16.6 - 13.6 is above 3 in binary fractions, and no meter shows so little


def start_of_day(day: dt.date, zone: dt.tzinfo) -> dt.datetime:
    """The first moment of a day of the shop, in UTC."""
    return dt.datetime.combine(day, dt.time(), zone).astimezone(dt.UTC)


def below_by_forecast(survey: LastSurvey, outlook: Outlook) -> Task | None:
    """What the forecast makes of a screen that is, or may be, below its limit; None where it holds.

    One reading below the limit does not condemn a screen of which everything else says that it
    holds, and one above it does not save another.
    """
    is_below = survey.mean < outlook.limit - ROUNDING
    if outlook.decision == "pull":
        reason = _plain(survey, outlook) if is_below else _chance(outlook)
        return Task("below_limit", "rack", survey.at, "below", reason)
    if outlook.fell_by is not None and outlook.decision == "read again":
        template = (
            "{mean:.1f} N/cm is {fell:.1f} below its forecast: slipped or torn?"
            if outlook.may_have_slipped
            else "{mean:.1f} N/cm is {fell:.1f} below its forecast"
        )
        reason = Sentence(template, {"mean": survey.mean, "fell": outlook.fell_by})
        urgency: Urgency = "below" if is_below else "soon"
        return Task("read_again", "round", survey.at, urgency, reason)
    if outlook.decision == "read again" or is_below:
        return Task("read_again", "round", survey.at, "soon", _chance(outlook))
    return None


def below_as_read(survey: LastSurvey, limit: float) -> Task | None:
    """What the latest survey says by itself: its lowest point decides, not its mean."""
    if survey.lowest >= limit - ROUNDING:
        return None
    template = (
        "tension {mean:.1f} N/cm, limit {limit:.1f}"
        if survey.mean < limit - ROUNDING
        else "tension {mean:.1f} N/cm but {lowest:.1f} at its lowest point, limit {limit:.1f}"
    )
    reason = Sentence(template, {"mean": survey.mean, "lowest": survey.lowest, "limit": limit})
    return Task("below_limit", "rack", survey.at, "below", reason)


def _plain(survey: LastSurvey, outlook: Outlook) -> Sentence:
    return say("tension {mean:.1f} N/cm, limit {limit:.1f}", mean=survey.mean, limit=outlook.limit)


def _chance(outlook: Outlook) -> Sentence:
    return say(
        "tension about {tension:.1f} N/cm, limit {limit:.1f}: below it with a chance of "
        "{chance:.0f} %",
        tension=outlook.tension,
        limit=outlook.limit,
        chance=100 * outlook.chances[0],
    )


def reading_by_forecast(survey: LastSurvey, outlook: Outlook, zone: dt.tzinfo) -> Task:
    """Say on which day the forecast wants the next reading, and what it expects by then."""
    on = outlook.check_at.astimezone(zone).date()
    first = survey.at.astimezone(zone).date() + dt.timedelta(days=1)
    on = max(on, first)
    at = start_of_day(on, zone)
    return Task(
        "check_tension",
        "round",
        at,
        "soon",
        say(
            "about {tension:.1f} N/cm on {day}, limit {limit:.1f}: below it with a chance of "
            "{chance:.0f} %",
            tension=outlook.tension_then,
            day=on,
            limit=outlook.limit,
            chance=100 * outlook.chance_at(outlook.check_at),
        ),
    )
