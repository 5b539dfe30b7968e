"""Press, washout and tension round on an ordinary day."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.events import (
    Damaged,
    DamageKind,
    Freed,
    Imaged,
    Inspected,
    Printed,
    Pulled,
    Reclaimed,
    Reserved,
    Surveyed,
    ToReclaim,
    Withdrawn,
)

from .benches import retension
from .room import MINUTE, Room, Screen
from .scenario import JOBS, KEEPER, PRESS, WASHOUT

RECLAIMS_PER_DAY = 11
ROUND_PER_DAY = 14
ROLLER_LOSS_SHARE = 0.86
BAD_LUCK_DAYS = 45
MONDAY, FRIDAY = 0, 4

_BREAKS: tuple[tuple[DamageKind, str], ...] = (
    ("corner_tear", "bottom left corner"),
    ("hole", "inside the image"),
    ("burst", "from the left bar"),
    ("glue_lift", "along the long bar"),
    ("ghost", "old image shows in every print"),
)


def first_readings(room: Room, day: dt.date) -> None:
    """Enter what was left lying yesterday, and read what was stretched or came back since."""
    at = room.time(day, 8, 16)
    for screen, happened_at, survey in room.late:
        room.enter("survey", KEEPER, happened_at, subject=screen.frame.name, entered_at=at)
        room.work.record(
            screen.frame.id, survey, happened_at=happened_at, note="entered the next morning"
        )
        at += MINUTE
    room.late.clear()
    for screen in room.in_state("ready"):
        state = room.state(screen, at)
        is_fresh = state.life is not None and state.life.survey is None
        if (is_fresh or state.awaits_inbound_survey) and at < room.time(day, 8, 52):
            room.survey(screen, KEEPER, at)
            at += 2 * MINUTE


def set_aside(room: Room, day: dt.date, job: str) -> None:
    """On Monday, set screens aside for Friday's job."""
    screens = room.some(room.free_to_use(), 4)
    friday = day + dt.timedelta(days=FRIDAY - MONDAY)
    room.record("reserve", PRESS, room.time(day, 12, 2), screens, Reserved(job, friday))


def press(room: Room, day: dt.date) -> None:
    """Take yesterday's screens off the press, and image today's."""
    used = room.in_state("in_use")
    if used:
        printed = Printed(int(room.rng.integers(4, 90)) * 10, room.one_of(JOBS))
        room.record("print", PRESS, room.time(day, 12, 8), used, printed)
        room.record("queue", PRESS, room.time(day, 12, 10), used, ToReclaim())
    at = room.time(day, 12, 14)
    kept = [s for s in room.in_state("ready") if room.state(s).reserved_for == day]
    job = (room.state(kept[0]).reserved_job if kept else None) or room.one_of(JOBS)
    room.record("free", PRESS, at, kept, Freed())
    kept = [s for s in kept if room.state(s).hold_reason is None]
    others = [s for s in room.free_to_use() if s not in kept]
    wanted = max(int(room.rng.integers(4, 9)) - len(kept), 0)
    room.record("image", PRESS, at + MINUTE, kept + room.some(others, wanted), Imaged(job))


def washout(room: Room, day: dt.date, *, inspects: bool = True) -> None:
    """Reclaim the queue, oldest first, and look at the mesh where it is due."""
    queue = sorted(
        room.in_state("to_reclaim"),
        key=lambda s: (room.state(s).since or room.clock, s.frame.number),
    )
    clean = queue[:RECLAIMS_PER_DAY]
    broken = [s for s in clean if room.chance(0.008)]
    whole = [s for s in clean if s not in broken]
    hazy = [s for s in whole if room.chance(0.12)]
    at = room.time(day, 13, 5)
    reclaim(room, [s for s in whole if s not in hazy], at)
    reclaim(room, hazy, at + 20 * MINUTE, haze_remover=True)
    for screen in broken:
        at += 2 * MINUTE
        break_mesh(room, screen, WASHOUT, at + 20 * MINUTE)
    if room.chance(0.06) and whole:
        taped = Damaged("hole", mesh_is_done=False, where="pinhole outside the image, taped")
        room.record("damage", WASHOUT, at + 30 * MINUTE, whole[-1:], taped)
    if inspects:
        inspect_due(room, whole, at + 35 * MINUTE)


def reclaim(
    room: Room, screens: list[Screen], at: dt.datetime, *, haze_remover: bool = False
) -> None:
    """Wash some screens out."""
    findings = "light ghost left" if haze_remover and room.chance(0.4) else ""
    room.record("reclaim", WASHOUT, at, screens, Reclaimed(haze_remover, findings))
    for screen in screens:
        if screen.cloth is not None:
            screen.cloth.cycles += 1


def inspect_due(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Hold screens against the light that have seen enough reclaims."""
    due = []
    for screen in screens:
        life = room.state(screen).life
        after = screen.mesh.rules.inspect_after_reclaims
        if life is not None and after is not None and life.reclaims_since_inspection >= after:
            due.append(screen)
    room.record("inspect mesh", WASHOUT, at, due, Inspected("even against the light"))


def break_mesh(room: Room, screen: Screen, by: str, at: dt.datetime) -> None:
    """Let the mesh fail in one of the usual ways."""
    kind, where = _BREAKS[int(room.rng.integers(len(_BREAKS)))]
    room.record("damage", by, at, [screen], Damaged(kind, mesh_is_done=True, where=where))


def tension_round(room: Room, day: dt.date, *, walks: bool = True) -> None:
    """Read the screens in the rack that are due, the longest unread first, and act on it."""
    due = []
    for screen in room.in_state("ready"):
        life = room.state(screen).life
        every = screen.mesh.rules.days_between_readings
        if life is None or life.survey is None or every is None:
            continue
        if screen.frame.id in room.overlooked:
            continue
        unread = (room.time(day, 14, 0) - life.survey.at).days
        if unread >= every:
            due.append((-(unread - every), screen.frame.number, screen))
    at = room.time(day, 14, 0)
    seen = [screen for _, _, screen in sorted(due)[: ROUND_PER_DAY if walks else 0]]
    for screen in seen:
        if room.chance(0.02) and walks:
            room.late.append((screen, at, room.measure(screen, at, "in_service")))
        else:
            room.survey(screen, KEEPER, at, pattern="1" if room.chance(0.07) else "")
        at += 3 * MINUTE
    act_on_readings(room, seen, at)


def act_on_readings(room: Room, screens: list[Screen], at: dt.datetime) -> None:
    """Retension or pull what the round found slack or uneven."""
    for screen in screens:
        at += MINUTE
        life = room.state(screen).life
        if life is None or life.survey is None:
            continue
        rules, survey = screen.mesh.rules, life.survey
        assert rules.limit is not None
        if screen.frame.kind == "roller":
            if survey.mean < ROLLER_LOSS_SHARE * (life.target_n_per_cm or 0.0):
                retension(room, screen, at)
        elif survey.lowest < rules.limit:
            room.record("pull", KEEPER, at, [screen], Pulled("below the limit"))
        elif rules.spread_limit is not None and survey.spread > rules.spread_limit:
            room.record("pull", KEEPER, at, [screen], Pulled("uneven, one corner low"))


def correct_reading(room: Room, screen: Screen, at: dt.datetime) -> None:
    """Type one number wrongly, notice it, and set it right."""
    right = room.measure(screen, at, "in_service")
    first = right.readings[0]
    typed = type(first)(first.point, first.direction, round(first.raw_n_per_cm / 10, 2))
    wrong = Surveyed(
        right.moment,
        (typed, *right.readings[1:]),
        right.meter_id,
        right.correction_n_per_cm,
    )
    room.record("survey", KEEPER, at, [screen], wrong)
    room.work.write_out()
    taken_back = room.work.journal(screen.frame.id)[-1]
    room.enter("correct", KEEPER, at + 2 * MINUTE, subject=screen.frame.name)
    room.work.rewrite(
        screen.frame.id,
        [(Withdrawn(taken_back.event_id), room.clock, ""), (right, at, "decimal point was missed")],
    )


def end_bad_luck(room: Room, day: dt.date) -> None:
    """Let the mesh of the unlucky frames fail after six weeks."""
    for screen in room.in_state("ready"):
        life = room.state(screen).life
        if not screen.has_bad_luck or life is None or life.day0_at is None:
            continue
        if (room.time(day, 15, 50) - life.day0_at).days >= BAD_LUCK_DAYS:
            break_mesh(room, screen, PRESS, room.time(day, 15, 50))
