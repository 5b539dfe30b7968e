"""The tension forecast on the command line: how long each screen holds, and what that rests on."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services import forecast_words
from framekeeper.services.days_left import days_left
from framekeeper.services.forecasts import refresh_if_possible
from framekeeper.services.foresight import FrameForecast, frame_forecasts
from framekeeper.services.frame_page import READING_RULES

if TYPE_CHECKING:
    import datetime as dt

    from framekeeper.cli.call import Call
    from framekeeper.domain.records import FrameRecord
    from framekeeper.services.plan import Listed


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the command of the forecast."""
    parser = command(
        commands, "forecast", _forecast, "list how long screens will hold, and what that rests on"
    )
    parser.add_argument(
        "codes", nargs="*", metavar="CODE", help="codes or labels (default: all with a forecast)"
    )


def forecast_fields(call: Call, item: Listed) -> dict[str, object]:
    """What lists of frames say of the days to come."""
    left = days_left(item.outlook, call.clock.now())
    return {
        "days_left": left.days if left else None,
        "below_likely_on": _day(call, left.likely_at if left else None),
        "next_reading_on": _next_reading_on(call, item),
        "chance_below_now": left.chance_now if left else None,
    }


def _next_reading_on(call: Call, item: Listed) -> dt.date | None:
    """The day of a reading that is due already, else that of the next one."""
    due = [task.due_at for task in item.tasks if task.rule in READING_RULES]
    if due:
        return _day(call, min(due))
    now, zone = call.clock.now(), call.clock.zone()
    state = item.frame.state.at(now)
    return forecast_words.next_reading(state, item.rules, item.outlook, now, zone)[0]


def days_cell(call: Call, item: Listed) -> Sentence | None:
    """Write the days left for a table."""
    left = days_left(item.outlook, call.clock.now())
    return left.words if left else None


def _forecast(call: Call) -> None:
    refresh_if_possible(call.desk)
    found = frame_forecasts(call.desk, call.words.codes)
    if call.as_json:
        call.give([_row(call, frame, forecast) for frame, forecast in found])
        return
    if not found:
        call.tell(
            say(
                "Nothing is foretold yet: that takes a mesh with a limit and a risk, and a reading "
                "since its tension was set."
            )
        )
    for frame, forecast in found:
        call.tell(_head(frame, forecast))
        for line in forecast.lines:
            call.tell(say("  {line}", line=line))


def _head(frame: FrameRecord, forecast: FrameForecast) -> Sentence:
    outlook, life = forecast.outlook, frame.state.life
    if outlook is None or life is None:
        return say("{frame}", frame=frame.name)
    return say(
        "{frame}: {tension:.1f} N/cm, give or take {sd:.2f}: {decision}",
        frame=frame.name,
        tension=outlook.tension,
        sd=outlook.sd,
        decision=forecast_words.decision_words(outlook, life.survey),
    )


def _row(call: Call, frame: FrameRecord, forecast: FrameForecast) -> dict[str, object]:
    """Give one forecast for a machine; tensions in N/cm, dates in the shop's zone."""
    outlook, left = forecast.outlook, forecast.left
    return {
        "code": frame.code,
        "own_label": frame.own_label,
        "limit": forecast.limit,
        "read_at": outlook.read_at if outlook else None,
        "estimate": outlook.tension if outlook else None,
        "sd": outlook.sd if outlook else None,
        "decision": outlook.decision if outlook else None,
        "fell_by": outlook.fell_by if outlook else None,
        "next_reading_on": forecast.next_reading_on,
        "tension_then": outlook.tension_then if outlook else None,
        "chance_below_now": left.chance_now if left else None,
        "days_left": left.days if left else None,
        "answer": left.answer if left else None,
        "below_10_on": _day(call, forecast.early_at),
        "below_50_on": _day(call, forecast.even_at),
        "below_90_on": _day(call, forecast.late_at),
        "said": forecast.said,
        "rests_on": forecast.rests_on,
        "behind": forecast.behind,
    }


def _day(call: Call, moment: dt.datetime | None) -> dt.date | None:
    return None if moment is None else moment.astimezone(call.clock.zone()).date()
