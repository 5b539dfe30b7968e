"""When the shop works and how long things take: its settings as a plan needs them, and as text."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence

from framekeeper.domain.due import Place
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.domain.work_calendar import WorkCalendar
from framekeeper.domain.work_plan import BenchMinutes
from framekeeper.services.settings import BENCHES, ShopSettings

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_CLOSURE_DAYS = 366
_ONE_DAY = dt.timedelta(days=1)
_BETWEEN = re.compile(r"[,;\s]+")

# Which of the shop's own times a task takes; what is not named here is a look at the frame.
_SETTING_OF = {
    "reading_due": "read_minutes",
    "check_tension": "read_minutes",
    "read_again": "read_minutes",
    "first_reading": "read_minutes",
    "no_reading": "read_minutes",
    "inbound_survey": "read_minutes",
    "meter_found_out": "read_minutes",
    "inspect_mesh": "inspect_minutes",
    "damaged": "inspect_minutes",
    "strip": "strip_minutes",
    "regrind": "regrind_minutes",
    "release": "release_minutes",
    "restretch_expected": "restretch_minutes",
    "stretch_waiting": "restretch_minutes",
    "stretch_wanted": "restretch_minutes",
    "prep_waiting": "strip_minutes",
    "prep_expected": "strip_minutes",
}

_A_LOOK = "look_minutes"


def work_calendar(settings: ShopSettings, also_closed: Sequence[dt.date] = ()) -> WorkCalendar:
    """Give the days on which the shop works."""
    closed = frozenset(settings.holidays) | frozenset(also_closed)
    return WorkCalendar(frozenset(settings.working_weekdays), closed)


def bench_minutes(
    settings: ShopSettings, changed: Mapping[Place, float] | None = None
) -> BenchMinutes:
    """Give the minutes of a day at each bench; `changed` stands in for the shop's own."""
    own = {bench: float(getattr(settings, f"{bench}_minutes_a_day")) for bench in BENCHES}
    return BenchMinutes({**own, **(changed or {})}, float(settings.set_up_minutes))


def task_minutes(settings: ShopSettings, rule: str) -> float:
    """Say how long a task takes in this shop."""
    return float(getattr(settings, _SETTING_OF.get(rule, _A_LOOK)))


def task_kind(rule: str) -> str:
    """Say what kind of work a task is: tasks of one kind on one frame are done in one go."""
    return _SETTING_OF.get(rule, _A_LOOK).removesuffix("_minutes")


# as text


def weekdays_in(text: str) -> tuple[int, ...]:
    """Read weekdays such as "mon tue wed"; the first three letters are enough.

    Raises
    ------
    NotValid
        For anything else; that a shop never opens is refused where it is stored.
    """
    words = [word for word in _BETWEEN.split(text.strip().lower()) if word]
    for word in words:
        if word[:3] not in WEEKDAYS:
            raise NotValid(
                say("“{text}” is not a day of the week.", text=word[:40]),
                hint=say("Write the days such as mon tue wed thu fri."),
                argument="working_weekdays",
            )
    return tuple(sorted({WEEKDAYS.index(word[:3]) for word in words}))


def weekdays_text(weekdays: Sequence[int]) -> str:
    """Write weekdays the way they are read back."""
    return " ".join(WEEKDAYS[day] for day in weekdays)


def holidays_in(text: str) -> tuple[dt.date, ...]:
    """Read closed days: dates, and whole closures such as 2026-08-03..2026-08-14.

    Raises
    ------
    NotValid
        For what is no date, or a closure that runs backwards or lasts for over a year.
    """
    days: set[dt.date] = set()
    for part in _BETWEEN.split(text.strip()):
        first, dots, last = part.partition("..")
        if part:
            days |= set(_closure(_date(first), _date(last if dots else first), part))
    return tuple(sorted(days))


def holidays_text(days: Sequence[dt.date]) -> str:
    """Write closed days the way they are read back, days in a row as one closure."""
    runs: list[list[dt.date]] = []
    for day in days:
        if runs and day - runs[-1][-1] == _ONE_DAY:
            runs[-1].append(day)
        else:
            runs.append([day])
    return ", ".join(
        run[0].isoformat() if len(run) == 1 else f"{run[0].isoformat()}..{run[-1].isoformat()}"
        for run in runs
    )


def _closure(first: dt.date, last: dt.date, text: str) -> list[dt.date]:
    length = (last - first).days + 1
    if not 1 <= length <= LONGEST_CLOSURE_DAYS:
        raise NotValid(
            say("“{text}” is no closure: it ends before it begins, or is over a year.", text=text),
            hint=say("Write the first and the last closed day, such as 2026-08-03..2026-08-14."),
            argument="holidays",
        )
    return [first + n * _ONE_DAY for n in range(length)]


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as bad:
        raise NotValid(
            say("“{text}” is not a date.", text=text[:40]),
            hint=say("Write year, month and day, such as 2026-12-24; a closure with two dots."),
            argument="holidays",
        ) from bad
