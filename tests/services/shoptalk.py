"""Words for the tests of services: a shop with mesh, rolls and meters, and what it looks like."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import pytest
from sqlalchemy import func, select

from framekeeper.domain import lifecycle
from framekeeper.domain.due import MeshRules
from framekeeper.domain.events import Event, FoundWithMesh, Surveyed
from framekeeper.domain.frame_state import STATES, FrameState
from framekeeper.domain.records import FrameFilter
from framekeeper.domain.stretch_history import KINDS, LifeMark
from framekeeper.services import meters, prep, register, stock, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type
from framekeeper.storage.base import Base

MESH = "120-34"
ROLL = "R0001"
METER = "M1"


def furnish(desk: Desk) -> None:
    """Give an empty shop a mesh, a roll of 30 m and a meter that shows 0.5 too little."""
    rules = MeshRules(target=24.0, limit=18.0)
    add_mesh_type(desk, MeshTypeFacts(MESH, 120, "cm", 120.0, 34.0, rules=rules))
    add_mesh_type(desk, MeshTypeFacts("77-55", 77, "cm", 77.0, 55.0))
    stock.receive_roll(desk, stock.NewRoll(MESH, 1500, 30_000, lot="A7", supplier="Weberei Lund"))
    meters.add_meter(desk, meters.MeterFacts(METER, correction=0.5))


def bare(desk: Desk, *, kind: Any = "glued", label: str = "") -> str:
    return register.register(desk, [register.NewFrame(584.2, 787.4, kind, label)]).codes[0]


def prepped(desk: Desk, *, kind: Any = "glued") -> str:
    code = bare(desk, kind=kind)
    prep.prep_all(desk, [code], skipped={"old_glue": "new frame"} if kind == "glued" else {})
    return code


def in_clamps(desk: Desk, *, kind: Any = "glued", roll: str = ROLL) -> str:
    code = prepped(desk, kind=kind)
    stretch.stretch(desk, [code], stretch.StretchRequest(MESH, roll=roll))
    return code


def ready(desk: Desk, *, label: str = "", kind: Any = "glued") -> str:
    """A frame that came with mesh on it."""
    frame = register.NewFrame(584.2, 787.4, kind, label)
    found = register.FoundMesh(MESH, reclaims_so_far=4)
    return register.register(desk, [frame], found=found).codes[0]


def state(desk: Desk, code: str) -> FrameState:
    with desk.read() as reader:
        frame = reader.frame_by_code(code)
    assert frame is not None
    return frame.state


@dataclass(frozen=True)
class Picture:
    """All that a person can tell about a shop, apart from its history and version numbers."""

    frames: dict[str, tuple[object, ...]]
    rolls: dict[str, tuple[object, ...]]
    meshes: dict[str, object]
    meters: dict[str, object]
    settings: dict[str, object]
    usage: tuple[tuple[object, ...], ...]
    supplies: tuple[tuple[object, ...], ...]


def picture(desk: Desk) -> Picture:
    """Look at the whole shop."""
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=STATES))
        rolls = reader.rolls(with_hidden=True)
        meshes = reader.mesh_types(with_hidden=True)
        meters_ = reader.meters(with_hidden=True)
        settings, supplies = reader.settings(), reader.supplies()
        journals = reader.journals([f.id for f in frames])
    counting = {i: [e.event_id for e in lifecycle.standing(j)] for i, j in journals.items()}
    usage = tuple((u.month, u.mesh.name, u.pieces, u.cut_mm, u.scrapped_mm)
                  for u in stock.shelf(desk).usage)  # fmt: skip
    return Picture(
        {f.code: (f.own_label, f.kind, f.width_mm, f.height_mm, f.profile, f.slot, f.state,
                  counting[f.id])
         for f in frames if f.state.state != "void"},
        {r.code: (r.mesh_type_id, r.lot, r.supplier, r.width_mm, r.on_hand_mm, r.price_per_m,
                  r.from_roll_id)
         for r in rolls if not r.is_hidden},
        {m.name: (m.count_as_bought, m.count_unit, m.threads_per_cm, m.thread_um, m.colour,
                  m.weave, m.opening_um, m.thickness_um, m.rules, m.to_be_completed, m.buying) for m in meshes if not m.is_hidden},  # noqa: E501
        {m.name: (m.serial, m.resolution, m.correction, m.certificate_until)
         for m in meters_ if not m.is_hidden},
        settings,
        usage,
        tuple((s.kind, s.name, s.batch, s.best_before, s.opened_on, s.note) for s in supplies),
    )  # fmt: skip


def assert_columns_are_the_fold(desk: Desk) -> int:
    """Compare every frame's row with the fold of its journal, hidden frames too; count them."""
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=STATES))
        journals = reader.journals([f.id for f in frames])
        for frame in frames:
            assert frame.state == lifecycle.fold(frame.kind, journals[frame.id]), frame.code
        for roll in reader.rolls(with_hidden=True):
            assert roll.on_hand_mm >= 0, roll.code
        said = [(*asdict(m).values(),) for m in reader.life_marks()]
    folded = [
        (*asdict(mark).values(),)
        for frame_id in sorted(journals)
        for mark in marks_of(journals[frame_id])
    ]
    assert [m[:-1] for m in said] == [m[:-1] for m in folded]
    assert [m[-1] for m in said] == pytest.approx([m[-1] for m in folded])
    return len(frames)


def marks_of(journal: list[Event]) -> list[LifeMark]:
    """What a journal says of tension histories, by folding all of it."""
    return [_mark(e) for e in lifecycle.concluded(journal) if e.kind in KINDS]


def _mark(event: Event) -> LifeMark:
    payload = event.payload
    mesh = getattr(payload, "mesh_type_id", None)
    since, reclaims, tension = None, 0, None
    if isinstance(payload, FoundWithMesh):
        since, reclaims = payload.mesh_since, payload.reclaims_so_far or 0
    if isinstance(payload, Surveyed) and payload.moment in ("after_release", "in_service"):
        values = [r.raw_n_per_cm + payload.correction_n_per_cm for r in payload.readings]
        tension = sum(values) / len(values)
    return LifeMark(
        event.frame_id, event.event_id, event.happened_at, event.kind, mesh, since, reclaims,
        tension,
    )  # fmt: skip


def rows(desk: Desk) -> dict[str, int]:
    """Count the rows of every table: to see that nothing was written."""
    with desk.shop.engine.connect() as connection:
        return {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar() or 0
            for table in Base.metadata.sorted_tables
        }
