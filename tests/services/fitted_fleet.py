"""An invented fleet as the services see it: histories of screens, a kept fit, and a mesh type."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

import numpy as np

from framekeeper.domain.frame_state import FrameState, MeshLife
from framekeeper.domain.records import FrameRecord, KeptFit, MeshTypeRecord
from framekeeper.domain.stretch_history import StretchHistory, StretchReading
from framekeeper.domain.tasks import MeshRules
from framekeeper.services.findings import Known
from framekeeper.services.forecasts import Fitted, Gathered, fit

BEGAN = dt.datetime(2025, 1, 6, 8, tzinfo=dt.UTC)
READ_ON = (0.0, 1.0, 7.0, 20.0, 45.0)
LIMIT = 20.0


def mesh_type(mesh_id: int = 1, rules: MeshRules | None = None) -> MeshTypeRecord:
    """A mesh with a target of 25 and a limit of 20 N/cm."""
    rules = rules or MeshRules(target=25, limit=LIMIT)
    return MeshTypeRecord(
        mesh_id, f"mesh {mesh_id}", 90, "cm", 90.0, 48.0, "1:1", None, None, "dyed", rules,
        False, False, 1,
    )  # fmt: skip


def history(
    number: int,
    *,
    start: float = 25.0,
    loss: float = 0.05,
    days: Iterable[float] = READ_ON,
    mesh_id: int = 1,
    fall: float = 0.0,
    fell_after: float = 1e9,
    seed: int = 0,
) -> StretchHistory:
    """A screen that loses a share of its tension with every decade of days, and may fall once."""
    rng = np.random.default_rng((seed, number))
    readings = tuple(
        StretchReading(
            1000 * number + place,
            BEGAN + dt.timedelta(days=day),
            day,
            int(day / 10),
            round(
                start * (1 - loss * np.log10(1 + day)) - fall * (day > fell_after)
                + rng.normal(0, 0.1), 2,
            ),
        )
        for place, day in enumerate(days, start=1)
    )  # fmt: skip
    last = readings[-1]
    return StretchHistory(
        1000 * number, number, mesh_id, BEGAN, True, readings, last.cycles, last.at
    )


def ordinary(count: int = 24, *, mesh_id: int = 1, first: int = 1) -> list[StretchHistory]:
    """Screens that differ a little in start and loss."""
    rng = np.random.default_rng(mesh_id)
    return [
        history(n, start=25 + rng.normal(0, 0.5), loss=0.05 + rng.normal(0, 0.005), mesh_id=mesh_id)
        for n in range(first, first + count)
    ]


def kept_fit(histories: Iterable[StretchHistory]) -> KeptFit:
    """Fit them the way the shop does."""
    known = tuple(histories)
    newest = max(r.event_id for h in known for r in h.readings)
    worked = fit(Gathered(known, newest, BEGAN + dt.timedelta(days=46), None, {}, frozenset()))
    assert worked.fit is not None
    return worked.fit


def frame_of(history: StretchHistory, *, is_on: bool = True) -> FrameRecord:
    """The frame on which that mesh is, or was."""
    life = MeshLife(history.mesh_type_id, history.key, history.day0_at, 25.0)
    state = FrameState("glued", "ready" if is_on else "bare", life=life if is_on else None)
    code = f"FK{history.frame_id:04}"
    return FrameRecord(
        history.frame_id, history.frame_id, code, f"S{history.frame_id}", "glued", 584, 787, "",
        "", 1, state,
    )  # fmt: skip


def known(
    histories: Iterable[StretchHistory],
    *,
    rests_on: KeptFit | None = None,
    off: Iterable[int] = (),
    meshes: tuple[int, ...] = (1,),
) -> Known:
    """What the findings would read of a shop with these screens."""
    all_of_them, gone = tuple(histories), set(off)
    fitted = rests_on or kept_fit(all_of_them)
    return Known(
        Fitted(fitted.fitted_at, fitted.stretches, fitted.readings, 0),
        fitted,
        all_of_them,
        {h.frame_id: frame_of(h, is_on=h.frame_id not in gone) for h in all_of_them},
        [mesh_type(mesh_id) for mesh_id in meshes],
    )
