"""The morning on which the demo opens: every entry lies only some minutes back."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.events import Prepped, Reserved, Staged

from . import benches
from .ending import quiet
from .incidents import receive, share_left, take_bare
from .opening import register_group
from .room import MINUTE, Room, Screen
from .scenario import (
    ADHESIVE_LOTS,
    BENCH,
    FRIDAY_JOB,
    KEEPER,
    LAST_GROUP,
    MM_PER_INCH,
    PRESS,
    STANDARD,
    STRETCHER,
)

BACK_IN_TIME = 2
BARE_FRAMES = 16
SET_ASIDE = 6
WEAK = 2
WEAK_BY_N_PER_CM = 2.5  # below the target: outside the tolerance, above the limit
FRIDAY = 4
MINUTES_OF_MORNING = 130


def morning(room: Room) -> None:
    """Leave the shop as somebody finds it who walks in now."""
    _arrivals(room)
    _prep(room)  # before the readings: it strips the slackest, and they find slack ones to show
    _readings(room)
    room.record("reserve", PRESS, ago(room, 62), quiet(room, SET_ASIDE), _for_friday(room))
    _table(room)


def ago(room: Room, minutes: float) -> dt.datetime:
    """Return the moment so many minutes before now."""
    return room.now - dt.timedelta(minutes=minutes)


def _arrivals(room: Room) -> None:
    """Some of the late frames come back, and two frames are found with mesh on them."""
    late = []
    for screen in room.in_state("out"):
        due = room.state(screen).due_back_on
        if due is not None and due < room.today:
            late.append(screen)
    receive(room, late[:BACK_IN_TIME], ago(room, MINUTES_OF_MORNING))
    register_group(room, LAST_GROUP, ago(room, 126))


def _readings(room: Room) -> None:
    """Read fresh stretches, of which two came out weak, and screens that went wrong since."""
    fresh = []
    for screen in room.in_state("ready"):
        life = room.state(screen).life
        if life is not None and life.survey is None and life.released_at is not None:
            fresh.append(screen)
    by_tension = sorted(quiet(room, 40), key=lambda s: (-share_left(room, s), s.frame.number))
    twisted, uneven, slack = by_tension[:2], by_tension[2:4], by_tension[-3:]
    fresh.sort(key=lambda s: (-s.mesh.target, s.frame.number))
    for screen in fresh[:WEAK]:
        _come_out_weak(room, screen)
    for screen in twisted:
        if screen.cloth is not None:
            screen.cloth.imbalance = 2.7
    for screen in uneven:
        _sink(screen, corners=1)
    for screen in slack:
        _lose(screen, 0.16)
    _sink(slack[0], corners=2)
    at = ago(room, 92)
    for screen in [*fresh[: WEAK + 1], *slack, *uneven, *twisted]:
        room.survey(screen, KEEPER, at)
        at += 2 * MINUTE


def _come_out_weak(room: Room, screen: Screen) -> None:
    cloth = screen.cloth
    if cloth is not None:
        cloth.corners = (0.0, -0.2, -0.1, -0.3)
        cloth.imbalance = 0.3
        cloth.slip += cloth.tension(room.now) - (screen.mesh.target - WEAK_BY_N_PER_CM)


def _lose(screen: Screen, share: float) -> None:
    if screen.cloth is not None:
        screen.cloth.slip += share * screen.mesh.target


def _sink(screen: Screen, *, corners: int) -> None:
    """Let glue give way at one corner, or a bar bow and take two corners along."""
    cloth = screen.cloth
    if cloth is not None:
        one, two, three, four = cloth.corners
        cloth.corners = (one, two, three if corners == 1 else -3.6, -3.5 if four > -3.5 else four)


def _prep(room: Room) -> None:
    """Leave frames bare, half prepped, failed on the glass, and prepped."""
    height_mm = STANDARD[1] * MM_PER_INCH
    bare = take_bare(room, BARE_FRAMES, ago(room, 122), height_mm=height_mm)
    half, failed, whole = bare[:2], bare[2:3], bare[5:]
    at = ago(room, 118)
    for screen in half:
        benches.prep_some_steps(room, screen, at, "inspect", "old_glue")
        at += MINUTE
    rocking = Prepped("inspect", "failed", "rocks on the glass", 2.1)
    room.record("prep", BENCH, at, failed, rocking)
    for screen in whole:
        at += MINUTE
        benches.prep(room, screen, at)


def _for_friday(room: Room) -> Reserved:
    today = room.today
    days = (FRIDAY - today.weekday()) % 7 or 7
    return Reserved(FRIDAY_JOB, today + dt.timedelta(days=days))


def _table(room: Room) -> None:
    """One frame whose cure has just ended, two that cure, two in the clamps, one just begun."""
    height_mm = STANDARD[1] * MM_PER_INCH
    waiting = [
        s
        for s in room.in_state("prepped")
        if s.frame.kind == "glued"
        and abs(s.frame.height_mm - height_mm) < 1
        and room.state(s).hold_reason is None
    ]
    cured, curing, pulled, begun = waiting[:1], waiting[1:3], waiting[3:5], waiting[5:6]
    for together in (curing, pulled):
        for screen in together:
            screen.mesh = together[0].mesh  # one pull, one cloth
    target = benches.clamp_mesh(room, cured, ago(room, 57))
    _stage(room, cured, 53, 0.7 * target, 3)
    _stage(room, cured, 49, 1.08 * target, 8)
    target = benches.clamp_mesh(room, curing, ago(room, 42))
    _stage(room, curing, 38, 0.7 * target, 3)
    _stage(room, curing, 34, 1.08 * target, 8)
    benches.read_in_clamps(room, cured, ago(room, 24))
    benches.glue(room, cured, ago(room, 22), ADHESIVE_LOTS[1])
    target = benches.clamp_mesh(room, pulled, ago(room, 19))
    _stage(room, pulled, 16, 0.7 * target, 3)
    _stage(room, pulled, 13, 1.08 * target, 8)
    benches.read_in_clamps(room, curing, ago(room, 11))
    benches.glue(room, curing, ago(room, 9), ADHESIVE_LOTS[1])
    target = benches.clamp_mesh(room, begun, ago(room, 6))
    _stage(room, begun, 3, 0.7 * target, 3)


def _stage(
    room: Room, screens: list[Screen], minutes_ago: float, tension: float, rest: int
) -> None:
    stage = Staged(round(tension, 1), rest)
    room.record("stage", STRETCHER, ago(room, minutes_ago), screens, stage)
