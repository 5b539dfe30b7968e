"""The last days before now, so that every state and every rule of the due list can be seen."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict

from framekeeper.domain.due import Rule
from framekeeper.domain.events import (
    Damaged,
    Inspected,
    Missing,
    Printed,
    Pulled,
    ToReclaim,
)

from . import benches
from .benches import retension
from .daily import reclaim
from .incidents import hold_for_ghost, send_out, take_bare
from .room import MINUTE, Room, Screen
from .scenario import JOBS, KEEPER, PRESS, WASHOUT

QUEUE = 12
LEFT_OVER: dict[Rule, int] = {
    "reading_due": 10,
    "below_limit": 1,
    "uneven": 0,
    "unbalanced": 0,
    "below_target": 0,
    "first_reading": 5,
    "inbound_survey": 0,
    "inspect_mesh": 3,
    "strip": 3,
    "regrind": 9,
}
LATE_DAYS = 3
OVERLOOKED_SLACK, OVERLOOKED_LONG = 6, 3
RESTRETCH_BATCH = 12


def send_last_trip(room: Room, days_left: int, *, is_second: bool) -> None:
    """Send frames outside that are not all back now; one batch is late by now."""
    screens = take_bare(room, 2 if is_second else 3, room.clock + MINUTE)
    days = days_left + 6 if is_second else days_left - LATE_DAYS
    send_out(room, screens, room.clock + MINUTE, days=days)
    room.kept_outside += screens


def overlook(room: Room) -> None:
    """Choose screens that the last rounds walk past, so that a reading is due now.

    The slack ones where the forecast calls, and the longest unread where the fixed interval does.
    """
    glued = [s for s in room.free_to_use() if s.frame.kind == "glued" and not s.has_bad_luck]
    slack = sorted(
        (s for s in glued if s.mesh.plan.is_foretold),
        key=lambda s: (_room_to_fall(room, s), s.frame.number),
    )
    unread = sorted(
        (s for s in glued if not s.mesh.plan.is_foretold),
        key=lambda s: (_last_read(room, s), s.frame.number),
    )
    room.overlooked = {s.frame.id for s in (*slack[:OVERLOOKED_SLACK], *unread[:OVERLOOKED_LONG])}


def _last_read(room: Room, screen: Screen) -> dt.datetime:
    life = room.state(screen).life
    return room.now if life is None or life.survey is None else life.survey.at


def _room_to_fall(room: Room, screen: Screen) -> float:
    """How far a screen is above its limit, as a share of it."""
    life, limit = room.state(screen).life, screen.mesh.rules.limit
    if life is None or life.survey is None or limit is None:
        return 1.0
    return life.survey.mean / limit - 1


def restretch_batch(room: Room) -> None:
    """Take the slackest screens out, so that the bench and the table have work."""
    take_bare(room, RESTRETCH_BATCH, room.clock + MINUTE)


def last_working_day(room: Room, day: dt.date) -> None:
    """Leave on the last full day what a morning finds, and no more than that."""
    room.clock = max(room.clock, room.time(day, 16, 20))
    _wash_queue(room)
    _settle_leftovers(room)
    _settle_leftovers(room)  # what was read just now may want something done too
    _loose_ends(room)


def _wash_queue(room: Room) -> None:
    queue = sorted(room.in_state("to_reclaim"), key=lambda s: (room.state(s).since, s.frame.number))
    reclaim(room, queue[: max(len(queue) - QUEUE, 0)], room.clock + MINUTE)
    more = QUEUE - len(queue)
    if more > 0:
        screens = room.some([s for s in room.free_to_use() if not s.has_bad_luck], more)
        run = Printed(int(room.rng.integers(10, 60)) * 10, room.one_of(JOBS))
        room.record("print", PRESS, room.clock + MINUTE, screens, run)
        room.record("queue", PRESS, room.clock + MINUTE, screens, ToReclaim())


def _settle_leftovers(room: Room) -> None:
    """Do what would be due now beyond what the demo wants to show."""
    kept: dict[Rule, int] = defaultdict(int)
    tasks = sorted(
        ((t.due_at, s.frame.number, t.rule, s) for s in room.screens for t in room.due(s)),
        key=lambda task: task[:3],
    )
    done: set[int] = set()
    for _, number, rule, screen in tasks:
        if rule == "reading_due" and screen.frame.id in room.overlooked:
            continue
        if kept[rule] < LEFT_OVER.get(rule, 0):
            kept[rule] += 1
        elif number not in done:
            done.add(number)
            _settle(room, rule, screen, room.clock + MINUTE)


def _settle(room: Room, rule: Rule, screen: Screen, at: dt.datetime) -> None:
    if rule in ("reading_due", "first_reading", "inbound_survey", "no_reading"):
        room.survey(screen, KEEPER, at)
    elif rule in ("inspect_mesh", "damaged"):
        room.record("inspect mesh", WASHOUT, at, [screen], Inspected("even against the light"))
    elif rule == "strip":
        benches.strip(room, [screen], at)
    elif rule in ("below_limit", "below_target", "uneven", "unbalanced"):
        if screen.frame.kind == "roller":
            retension(room, screen, at)
            room.survey(screen, KEEPER, at + 3 * MINUTE)
        else:
            room.record("pull", KEEPER, at, [screen], Pulled("below the limit or uneven"))
            benches.strip(room, [screen], at + MINUTE)


def _loose_ends(room: Room) -> None:
    room.record("missing", KEEPER, room.clock + MINUTE, quiet(room, 1), Missing())
    hold_for_ghost(room, room.clock + MINUTE)
    at = room.clock + MINUTE
    torn, slack = quiet(room, 2)
    room.record(
        "damage", PRESS, at, [torn], Damaged("corner_tear", mesh_is_done=True, where="top right")
    )
    room.record("pull", KEEPER, at + MINUTE, [slack], Pulled("below the limit"))
    (pierced,) = quiet(room, 1)
    hole = Damaged("hole", mesh_is_done=False, where="beside the left bar, taped")
    room.record("damage", PRESS, at + 2 * MINUTE, [pierced], hole)
    _unlucky_ends(room)


def _unlucky_ends(room: Room) -> None:
    """The frames whose mesh never lasted: one torn with its mesh on, the others bare."""
    unlucky = [s for s in room.screens if s.has_bad_luck]
    for screen in unlucky:
        if room.state(screen).state in ("ready", "in_use", "to_reclaim"):
            burst = Damaged("burst", mesh_is_done=True, where="from the left bar")
            room.record("damage", PRESS, room.clock + MINUTE, [screen], burst)
    for screen in unlucky[1:]:
        if room.state(screen).state == "pulled":
            benches.strip(room, [screen], room.clock + MINUTE)


def quiet(room: Room, most: int) -> list[Screen]:
    """Pick free screens for which nothing is due."""
    quiet = [
        s
        for s in room.free_to_use()
        if s.frame.kind == "glued" and not s.has_bad_luck and not room.due(s)
    ]
    return room.some(quiet, most)
