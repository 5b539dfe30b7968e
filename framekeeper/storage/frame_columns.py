"""Maps the fold of a frame's journal to the columns of its row, and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from framekeeper.domain.events import FrameKind, PrepStep
from framekeeper.domain.frame_state import FrameState, LastSurvey, MeshLife

_PLAIN = (
    "state",
    "since",
    "last_event_at",
    "corners_settled",
    "stretches",
    "stretches_since_regrind",
    "hold_reason",
    "reserved_job",
    "reserved_for",
    "taken_out_reason",
    "out_to",
    "due_back_on",
    "state_before",
    "awaits_inbound_survey",
)
_LIFE = {
    "mesh_type_id": "mesh_type_id",
    "start_event_id": "start_event_id",
    "started_at": "started_at",
    "target_n_per_cm": "target",
    "roll_id": "roll_id",
    "day0_at": "day0_at",
    "released_at": "released_at",
    "glued_at": "glued_at",
    "cure_ends_at": "cure_ends_at",
    "reclaims": "reclaims",
    "reclaims_known": "reclaims_known",
    "reclaims_since_inspection": "reclaims_since_inspection",
    "impressions": "impressions",
    "has_stencil": "has_stencil",
    "is_done": "mesh_is_done",
    "open_damage": "open_damage",
    "inspected_at": "inspected_at",
    "from_outside": "from_outside",
}
_SURVEY = ("event_id", "at", "moment", "mean", "lowest", "spread", "imbalance", "meter_id", "shift")
_WITHOUT_MESH: dict[str, Any] = {
    "reclaims": 0,
    "reclaims_known": True,
    "reclaims_since_inspection": 0,
    "impressions": 0,
    "has_stencil": False,
    "mesh_is_done": False,
    "from_outside": False,
}

STATE_COLUMNS: tuple[str, ...] = (
    *_PLAIN,
    "prep_done",
    *_LIFE.values(),
    *(f"survey_{name}" for name in _SURVEY),
    *(f"clamp_{name}" for name in _SURVEY),
)


def to_columns(state: FrameState) -> dict[str, Any]:
    """Flatten a state into the columns of a frame row."""
    columns: dict[str, Any] = {name: getattr(state, name) for name in _PLAIN}
    columns["prep_done"] = ",".join(state.prep_done)
    life = state.life
    for name, column in _LIFE.items():
        columns[column] = _WITHOUT_MESH.get(column) if life is None else getattr(life, name)
    for prefix, survey in (
        ("survey", life.survey if life else None),
        ("clamp", life.clamp_survey if life else None),
    ):
        for name in _SURVEY:
            columns[f"{prefix}_{name}"] = None if survey is None else getattr(survey, name)
    return columns


def from_columns(kind: str, row: Mapping[str, Any]) -> FrameState:
    """Build the state from the columns of a frame row."""
    plain = {name: row[name] for name in _PLAIN}
    steps = tuple(step for step in row["prep_done"].split(",") if step)
    life = None
    if row["mesh_type_id"] is not None:
        life = MeshLife(
            **{name: row[column] for name, column in _LIFE.items()},
            survey=_survey(row, "survey"),
            clamp_survey=_survey(row, "clamp"),
        )
    return FrameState(
        kind=cast(FrameKind, kind),
        prep_done=cast("tuple[PrepStep, ...]", steps),
        life=life,
        **plain,
    )


def _survey(row: Mapping[str, Any], prefix: str) -> LastSurvey | None:
    if row[f"{prefix}_event_id"] is None:
        return None
    return LastSurvey(**{name: row[f"{prefix}_{name}"] for name in _SURVEY})
