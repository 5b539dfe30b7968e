"""Prep bench and stretching table on an ordinary day."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict

from framekeeper.domain.events import (
    Glued,
    Held,
    Payload,
    Prepped,
    PrepStep,
    Released,
    Retensioned,
    Staged,
    Stretched,
    Stripped,
)
from framekeeper.services.stretch import cut_size_mm

from .cloth import new_cloth
from .opening import LATER_ROLL_MM, receive_roll
from .room import MINUTE, MeshInShop, Room, Screen, ShelfRoll
from .scenario import ADHESIVE_LOTS, BENCH, SECOND_LOT_FROM_DAY, STRETCHER

ALLOWANCE_MM = 102
CURE = dt.timedelta(minutes=20)
PREP_PER_DAY = 7
STRETCH_PER_DAY = 8
MOST_IN_PULL = 4
ROLLER_EXTRA_N_PER_CM = 2.0
OLD_GLUE_STAYS = "old glue is sound and level"


def prep_bench(room: Room, day: dt.date) -> None:
    """Strip what was pulled some days ago and prep what is bare."""
    pulled = [
        s for s in room.in_state("pulled") if _rested(room, s, room.time(day, 7, 30)) and s.cloth
    ]
    strip(room, pulled[:PREP_PER_DAY], room.time(day, 7, 36))
    waiting = [s for s in room.in_state("bare") if room.state(s).hold_reason is None]
    at = room.time(day, 7, 40)
    for screen in waiting[:PREP_PER_DAY]:
        prep(room, screen, at)
        at += 4 * MINUTE


def _rested(room: Room, screen: Screen, at: dt.datetime) -> bool:
    since = room.state(screen).since
    return since is not None and (at - since).days >= 1


def strip(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Take the mesh off."""
    room.record("strip", BENCH, at, screens, Stripped())
    for screen in screens:
        screen.cloth = None


def prep(room: Room, screen: Screen, at: dt.datetime) -> None:
    """Walk one bare frame through its prep; now and then one fails on the glass."""
    state = room.state(screen)
    if room.chance(0.012) and not screen.has_bad_luck:
        gap = round(float(room.rng.uniform(1.6, 2.6)), 1)
        failed = Prepped("inspect", "failed", "rocks on the glass", gap)
        room.record("prep", BENCH, at, [screen], failed)
        return
    gap = round(float(room.rng.gamma(2.0, 0.15)), 1)
    steps: list[Payload] = [Prepped("inspect", gap_mm=min(gap, 1.0))]
    limit = room.frame_rules.regrind_after_stretches
    if screen.frame.kind == "glued":
        worn = limit is not None and state.stretches_since_regrind >= limit
        if (worn or room.chance(0.05)) and not screen.has_bad_luck:
            steps.append(Prepped("regrind"))
        else:
            steps += [_old_glue(room, state.stretches), Prepped("abrade")]
        steps.append(Prepped("degrease"))
        if not state.corners_settled:
            steps.append(Prepped("corners"))
    room.record("prep", BENCH, at, [screen], *steps)


def _old_glue(room: Room, stretches: int) -> Prepped:
    if stretches == 0:
        return Prepped("old_glue", "skipped", "new frame, no glue on it")
    if room.chance(0.25):
        return Prepped("old_glue", "skipped", OLD_GLUE_STAYS)
    return Prepped("old_glue")


def prep_some_steps(room: Room, screen: Screen, at: dt.datetime, *steps: PrepStep) -> None:
    """Leave a frame half prepped."""
    room.record("prep", BENCH, at, [screen], *(Prepped(step) for step in steps))


def stretching_table(room: Room, day: dt.date, start: dt.date) -> None:
    """Stretch the prepped frames, those of one size and cloth in one pull."""
    waiting = [s for s in room.in_state("prepped") if room.state(s).hold_reason is None]
    pulls: dict[tuple[int, float, str], list[Screen]] = defaultdict(list)
    for screen in waiting[:STRETCH_PER_DAY]:
        key = (screen.mesh.mesh_type_id, screen.frame.height_mm, screen.frame.kind)
        pulls[key].append(screen)
    at = room.time(day, 9, 0)
    glued: list[Screen] = []
    for screens in pulls.values():
        for first in range(0, len(screens), MOST_IN_PULL):
            together = screens[first : first + MOST_IN_PULL]
            at = into_clamps(room, together, at)
            if together[0].frame.kind == "roller":
                release(room, together, at)
            else:
                glue(room, together, at, lot_of(day, start))
                glued += together
            at += 2 * MINUTE
    release(room, glued, at + CURE)


def into_clamps(room: Room, screens: list[Screen], at: dt.datetime) -> dt.datetime:
    """Pull one piece of mesh over some frames in two stages, read it, and return the time."""
    target = clamp_mesh(room, screens, at)
    room.record("stage", STRETCHER, at + 3 * MINUTE, screens, Staged(round(0.7 * target, 1), 3))
    room.record("stage", STRETCHER, at + 7 * MINUTE, screens, Staged(round(1.08 * target, 1), 8))
    read_in_clamps(room, screens, at + 15 * MINUTE)
    return at + 17 * MINUTE


def clamp_mesh(room: Room, screens: list[Screen], at: dt.datetime) -> float:
    """Put mesh into the clamps, take it off the roll, and return the target."""
    mesh = screens[0].mesh
    extra = ROLLER_EXTRA_N_PER_CM if screens[0].frame.kind == "roller" else 0.0
    target = mesh.target + extra
    length, width = cut_size_mm(screens[0].frame, ALLOWANCE_MM)
    roll = _roll(room, mesh, length * len(screens), at - 2 * MINUTE)
    stretched = Stretched(
        mesh_type_id=mesh.mesh_type_id,
        target_n_per_cm=target,
        roll_id=roll.roll_id,
        frames_in_pull=len(screens),
        cut_length_mm=length,
        cut_width_mm=width,
        warp_along="long",
    )
    room.record("stretch", STRETCHER, at, screens, stretched)
    for screen in screens:
        screen.cloth = new_cloth(room.rng, target, at + 40 * MINUTE)
        room.work.move(
            mesh_type_id=mesh.mesh_type_id,
            kind="cut",
            length_mm=-length,
            width_mm=width,
            roll_id=roll.roll_id,
            happened_at=at,
            tied_to=room.work.newest(screen.frame.id),
        )
        roll.left_mm -= length
    return target


def _roll(room: Room, mesh: MeshInShop, needed_mm: int, at: dt.datetime) -> ShelfRoll:
    """Take the oldest roll that holds enough; without one, the new roll that just came."""
    for roll in mesh.rolls:
        if roll.left_mm >= needed_mm:
            return roll
    receive_roll(room, mesh, max(at, room.clock), LATER_ROLL_MM)
    return mesh.rolls[-1]


def read_in_clamps(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Read the first frame of a pull before it is glued."""
    survey = room.measure(screens[0], at, "in_clamps", pattern="5")
    room.record("survey", STRETCHER, at, screens[:1], survey)


def glue(room: Room, screens: list[Screen], at: dt.datetime, lots: tuple[str, str]) -> None:
    """Glue the mesh to the frames."""
    room.record("glue", STRETCHER, at, screens, Glued(at + CURE, lots[0], lots[1]))


def lot_of(day: dt.date, start: dt.date) -> tuple[str, str]:
    """Return the glue and hardener that were open on a day."""
    return ADHESIVE_LOTS[int((day - start).days >= SECOND_LOT_FROM_DAY)]


def release(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Open the clamps."""
    room.record("release", STRETCHER, at, screens, Released())
    for screen in screens:
        if screen.cloth is not None:
            screen.cloth.day0_at = at


def retension(room: Room, screen: Screen, at: dt.datetime) -> None:
    """Tighten a roller frame again: the mesh stays and settles anew."""
    target = screen.mesh.target + ROLLER_EXTRA_N_PER_CM
    room.record("retension", STRETCHER, at, [screen], Retensioned(target))
    if screen.cloth is not None:
        cycles = screen.cloth.cycles
        screen.cloth = new_cloth(room.rng, target * 1.02, at)
        screen.cloth.cycles = cycles // 3  # cloth that was worked before settles sooner


def hold(room: Room, screen: Screen, by: str, at: dt.datetime, reason: str) -> None:
    """Put one frame on hold."""
    room.record("hold", by, at, [screen], Held(reason))
