"""Opens the demo shop's register: settings, cloths, meters, rolls, and the frames as they come."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.due import FrameRules, MeshRules
from framekeeper.domain.events import FoundWithMesh, Payload, Registered
from framekeeper.domain.mesh import Mesh
from framekeeper.domain.records import Buying
from framekeeper.services.meshes import facts_from_text, put_mesh_type
from framekeeper.services.record import When
from framekeeper.services.register import NewFrame, add_frame

from .cloth import new_cloth
from .room import MINUTE, MeshInShop, Room, Screen, ShelfRoll
from .scenario import (
    ADHESIVE_LOTS,
    BEST_BEFORE_DAYS,
    COSTS,
    CURRENCY,
    FRAMES,
    KEEPER,
    LARGE,
    LEAD_DAYS,
    LEAD_SD_DAYS,
    LIMIT_SHARE,
    MESHES,
    METERS,
    MM_PER_INCH,
    SHOP_NAME,
    SMALL,
    SPREAD_LIMIT,
    STRESS_MPA,
    FrameGroup,
    MeshPlan,
)

FIRST_ROLL_MM = 27_432  # a bolt of 30 yards
LATER_ROLL_MM = 22_860  # 25 yards
REGRIND_AFTER_STRETCHES = 4
SLOTS_PER_ROW = 20
BAD_LUCK_FRAMES = 3
PROFILE = "aluminium tube 1.5 in"
ROLLER_PROFILE = "roller frame"


def open_shop(room: Room, day: dt.date) -> None:
    """Enter what the shop has on its first day, before the frames."""
    _settings(room, room.time(day, 7, 31))
    for place, plan in enumerate(METERS):
        room.enter("add meter", KEEPER, room.time(day, 7, 33 + place), subject=plan.name)
        room.meter_ids[plan.name] = room.work.add_row(
            "meter",
            {
                "name": plan.name,
                "serial": plan.serial,
                "resolution": plan.resolution,
                "correction": plan.correction,
                "certificate_until": room.today + dt.timedelta(plan.certificate_in_days),
            },
        )
    for place, mesh in enumerate(MESHES):
        at = room.time(day, 7, 37 + 2 * place)
        room.meshes.append(_add_mesh(room, mesh, at))
        receive_roll(room, room.meshes[-1], at + MINUTE, FIRST_ROLL_MM)
    receive_glue(room, room.time(day, 7, 55), 0)


def _settings(room: Room, at: dt.datetime) -> None:
    chosen = {
        "shop_name": SHOP_NAME,
        "length_unit": "inch",
        "count_unit": "inch",
        "paper": "a4",
        "regrind_after_stretches": REGRIND_AFTER_STRETCHES,
        "currency": CURRENCY,
        **{f"cost_{name}": amount for name, amount in COSTS.items()},
    }
    room.enter("settings", KEEPER, at, subject=", ".join(sorted(chosen)))
    for name, value in chosen.items():
        room.work.set_setting(name, value)
    room.frame_rules = FrameRules(regrind_after_stretches=REGRIND_AFTER_STRETCHES)


def receive_glue(room: Room, at: dt.datetime, place: int) -> None:
    """Put a batch of adhesive with its activator on the shelf."""
    best_before = room.today + dt.timedelta(days=BEST_BEFORE_DAYS[place])
    for kind, batch in zip(("adhesive", "activator"), ADHESIVE_LOTS[place], strict=True):
        room.enter("add batch", KEEPER, at, subject=batch)
        room.work.add_row(
            "supply",
            {
                "kind": kind,
                "name": f"two-part frame {kind}",
                "batch": batch,
                "best_before": best_before,
                "opened_on": at.date(),
            },
        )


def _add_mesh(room: Room, plan: MeshPlan, at: dt.datetime) -> MeshInShop:
    facts = facts_from_text(plan.name, count_unit="inch")
    assert facts.threads_per_cm is not None
    by_rule = Mesh(facts.threads_per_cm, plan.thread_um).tension_at_stress(STRESS_MPA)
    target = float(round(by_rule))
    rules = MeshRules(
        target=target,
        limit=float(round(LIMIT_SHARE * target)),
        spread_limit=SPREAD_LIMIT,
        days_between_readings=plan.days_between_readings,
        inspect_after_reclaims=plan.inspect_after_reclaims,
        risk=MeshRules().risk if plan.is_foretold else None,
    )
    room.enter("add mesh", KEEPER, at, subject=plan.name)
    complete = type(facts)(
        facts.name,
        facts.count_as_bought,
        facts.count_unit,
        facts.threads_per_cm,
        plan.thread_um,
        facts.colour,
        rules,
        buying=Buying(
            plan.supplier,
            LEAD_DAYS[plan.supplier],
            LEAD_SD_DAYS,
            plan.roll_width_mm,
            LATER_ROLL_MM,
            plan.price_per_m,
        ),
    )
    return MeshInShop(plan, put_mesh_type(room.work, complete), rules)


def receive_roll(room: Room, mesh: MeshInShop, at: dt.datetime, length_mm: int) -> None:
    """Put a new roll on the shelf."""
    number = sum(len(m.rolls) for m in room.meshes) + 1
    code = f"R{number:04d}"
    room.enter("receive roll", KEEPER, at, subject=code)
    roll_id = room.work.add_row(
        "roll",
        {
            "code": code,
            "mesh_type_id": mesh.mesh_type_id,
            "lot": f"{at.year % 100:02d}{int(room.rng.integers(1, 53)):02d}-{number:03d}",
            "supplier": mesh.plan.supplier,
            "width_mm": mesh.plan.roll_width_mm,
            "price_per_m": mesh.plan.price_per_m,
        },
    )
    room.work.move(
        mesh_type_id=mesh.mesh_type_id,
        roll_id=roll_id,
        kind="received",
        length_mm=length_mm,
        happened_at=at,
    )
    mesh.rolls.append(ShelfRoll(roll_id, length_mm))


def register_due_groups(room: Room, start: dt.date, since: dt.date, day: dt.date) -> None:
    """Register the frames that came after `since`, up to this day."""
    at = room.time(day, 8, 0) if day == start else room.time(day, 7, 2)
    for group in FRAMES:
        if since < start + dt.timedelta(days=group.day) <= day:
            register_group(room, group, at)
            at += 4 * MINUTE


def register_group(room: Room, group: FrameGroup, at: dt.datetime) -> list[Screen]:
    """Register one group of frames."""
    room.enter("register", KEEPER, at, subject=f"{group.count} frames")
    added = [_add_screen(room, group, place, at) for place in range(group.count)]
    room.screens += added
    return added


def _add_screen(room: Room, group: FrameGroup, place: int, at: dt.datetime) -> Screen:
    width, height = (side * MM_PER_INCH for side in group.size_in)
    number = len(room.screens) + place
    new = NewFrame(
        width_mm=round(width, 1),
        height_mm=round(height, 1),
        kind=group.kind,
        own_label=f"{group.painted}{place + 1:02d}" if group.painted else "",
        profile=ROLLER_PROFILE if group.kind == "roller" else PROFILE,
        slot=f"{chr(ord('A') + number // SLOTS_PER_ROW)}{number % SLOTS_PER_ROW + 1:02d}",
    )
    mesh = _usual_mesh(room, group)
    payload: Payload = Registered()
    cloth = None
    if group.has_mesh:
        age = dt.timedelta(days=int(room.rng.integers(12, 330)))
        cycles = int(age.days / 21 + room.rng.integers(0, 4))
        cloth = new_cloth(room.rng, mesh.target, at - age, cycles=cycles)
        payload = FoundWithMesh(
            mesh.mesh_type_id,
            cycles if room.chance(0.6) else None,
            at - age if room.chance(0.4) else None,
            mesh.target,
        )
    frame = add_frame(room.work, new, payload, when=When(at))
    bad_luck = group.size_in == SMALL and place < BAD_LUCK_FRAMES and group.day < 90
    return Screen(frame, mesh, cloth, has_bad_luck=bad_luck)


def _usual_mesh(room: Room, group: FrameGroup) -> MeshInShop:
    """Pick the cloth that a frame usually carries; the large ones print no fine work."""
    meshes = room.meshes[:6] if group.size_in == LARGE else room.meshes
    weights = [m.plan.weight for m in meshes]
    picked = room.rng.choice(len(meshes), p=[w / sum(weights) for w in weights])
    return meshes[int(picked)]
