"""What happens only now and then: trips outside, lost frames, holds, retirements, mistakes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from framekeeper.domain.events import (
    Found,
    HoldEnded,
    Missing,
    Pulled,
    Received,
    Retired,
    SentOut,
)

from .benches import hold, strip
from .cloth import new_cloth
from .daily import correct_reading
from .room import MINUTE, Room, Screen
from .scenario import BENCH, KEEPER, OUTSIDE

TRIPS = {62: 4, 184: 4, 301: 3}  # day: frames
DAYS_OUTSIDE = 11
LOST = (120, 265)
MISTAKES = (33, 78, 141, 202, 259, 333)
RETIREMENTS = {
    88: "cracked weld at a corner",
    157: "twisted, cannot be straightened",
    249: "bars bow under load",
    318: "cracked weld at a corner",
}
SCRAPS = {47: 600, 133: 450, 222: 1100, 291: 380, 352: 700}  # day: mm along the roll
COUNTS = (182, 364)  # stock-taking
PATIENCE_DAYS = 35  # a frame on hold is decided upon after this time
LOST_DAYS = 10


def incidents(room: Room, since: int, number: int) -> None:
    """Let happen what falls on the days after `since` up to `number`, counted from the opening."""

    def falling(days: Iterable[int]) -> list[int]:
        return [day for day in days if since < day <= number]

    for day in falling(TRIPS):
        screens = take_bare(room, TRIPS[day], room.clock + MINUTE)
        send_out(room, screens, room.clock + MINUTE, days=DAYS_OUTSIDE + 3)
    receive(room, _back_from_outside(room), room.clock + MINUTE)
    for _ in falling(LOST):
        lost = room.some(room.free_to_use(), 1)
        room.record("missing", KEEPER, room.clock + MINUTE, lost, Missing())
    _find(room)
    for _ in falling(MISTAKES):
        correct_reading(room, room.some(room.free_to_use(), 1)[0], room.clock + MINUTE)
    for day in falling(RETIREMENTS):
        worn = take_bare(room, 1, room.clock + MINUTE)
        room.record("retire", KEEPER, room.clock + MINUTE, worn, Retired(RETIREMENTS[day]))
    for day in falling(SCRAPS):
        _scrap(room, SCRAPS[day])
    if falling(COUNTS):
        _count(room)
    _decide_holds(room)


def take_bare(
    room: Room, most: int, at: dt.datetime, *, height_mm: float | None = None
) -> list[Screen]:
    """Return bare glued frames; where too few stand there, the slackest screens are stripped."""

    def is_meant(screen: Screen) -> bool:
        frame = screen.frame
        is_size = height_mm is None or abs(frame.height_mm - height_mm) < 1
        return is_size and frame.kind == "glued" and not screen.has_bad_luck

    found = [s for s in room.in_state("bare") if is_meant(s) and not room.state(s).hold_reason]
    found = found[:most]
    slack = sorted(
        (s for s in room.free_to_use() if is_meant(s) and not _is_shown(room, s)),
        key=lambda s: (share_left(room, s), s.frame.number),
    )[: most - len(found)]
    room.record("pull", KEEPER, at, slack, Pulled("old mesh, planned for the next stretch"))
    strip(room, slack, at + MINUTE)
    return found + slack


def _is_shown(room: Room, screen: Screen) -> bool:
    """Whether the demo leaves this screen as it is, for what is due on it."""
    life = room.state(screen).life
    return screen.frame.id in room.overlooked or (life is not None and life.open_damage is not None)


def share_left(room: Room, screen: Screen) -> float:
    """Return the tension at the last reading, as a share of the target."""
    life = room.state(screen).life
    if life is None or life.survey is None:
        return 2.0
    return life.survey.mean / screen.mesh.target


def send_out(room: Room, screens: list[Screen], at: dt.datetime, *, days: int) -> None:
    """Send frames to be stretched outside, promised back after some days."""
    promised = (at.astimezone(room.zone) + dt.timedelta(days=days)).date()
    room.record("send out", KEEPER, at, screens, SentOut(OUTSIDE, promised))


def _back_from_outside(room: Room) -> list[Screen]:
    back = []
    for screen in room.in_state("out"):
        since = room.state(screen).since
        is_long = since is not None and (room.clock - since).days >= DAYS_OUTSIDE
        if is_long and screen not in room.kept_outside:
            back.append(screen)
    return back


def receive(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Take frames back that were stretched outside, each with its usual cloth."""
    for screen in screens:
        mesh = screen.mesh
        back = Received(mesh.mesh_type_id, mesh.target)
        room.record("receive", KEEPER, at, [screen], back)
        screen.cloth = new_cloth(room.rng, mesh.target, at - dt.timedelta(days=2))
        at += MINUTE


def _find(room: Room) -> None:
    for screen in room.in_state("missing"):
        since = room.state(screen).since
        if since is not None and (room.clock - since).days >= LOST_DAYS:
            room.record("found", KEEPER, room.clock + MINUTE, [screen], Found())


def _scrap(room: Room, length_mm: int) -> None:
    mesh = room.meshes[int(room.rng.integers(len(room.meshes)))]
    roll = max(mesh.rolls, key=lambda r: r.left_mm)
    length_mm = min(length_mm, roll.left_mm)
    at = room.clock + MINUTE
    room.enter("scrap mesh", KEEPER, at, subject=f"R{roll.roll_id:04d}")
    room.work.move(
        mesh_type_id=mesh.mesh_type_id,
        roll_id=roll.roll_id,
        kind="scrapped",
        length_mm=-length_mm,
        reason="pulled thread",
        happened_at=at,
    )
    roll.left_mm -= length_mm


def _count(room: Room) -> None:
    for mesh in room.meshes:
        roll = mesh.rolls[-1]
        difference = -min(int(room.rng.integers(20, 240)), roll.left_mm)
        at = room.clock + MINUTE
        room.enter("count roll", KEEPER, at, subject=f"R{roll.roll_id:04d}")
        room.work.move(
            mesh_type_id=mesh.mesh_type_id,
            roll_id=roll.roll_id,
            kind="counted",
            length_mm=difference,
            reason="stock-taking",
            happened_at=at,
        )
        roll.left_mm += difference


def _decide_holds(room: Room) -> None:
    """Straighten or retire what has been on hold at the bench for weeks."""
    for screen in room.in_state("bare"):
        state = room.state(screen)
        last = state.last_event_at
        if state.hold_reason is None or last is None:
            continue
        if (room.clock - last).days < PATIENCE_DAYS:
            continue
        at = room.clock + MINUTE
        if room.chance(0.5):
            room.record("end hold", BENCH, at, [screen], HoldEnded(), note="straightened")
        else:
            room.record("retire", KEEPER, at, [screen], Retired("twisted beyond repair"))


def hold_for_ghost(room: Room, at: dt.datetime) -> None:
    """Keep one screen out of fine work."""
    screens = room.some(room.free_to_use(), 1)
    for screen in screens:
        hold(room, screen, KEEPER, at, "ghost shows in halftones, decide at the weekly check")
