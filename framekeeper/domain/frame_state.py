"""What is known of a frame at one moment: the result of folding its journal."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import Literal

from framekeeper.domain.events import DamageKind, FrameKind, Moment, PrepStep

State = Literal[
    "bare",
    "prepped",
    "in_clamps",
    "curing",
    "ready",
    "in_use",
    "to_reclaim",
    "pulled",
    "out",
    "missing",
    "retired",
    "void",
]
STATES: tuple[State, ...] = (
    "bare",
    "prepped",
    "in_clamps",
    "curing",
    "ready",
    "in_use",
    "to_reclaim",
    "pulled",
    "out",
    "missing",
    "retired",
    "void",
)

WITH_MESH: frozenset[State] = frozenset({"in_clamps", "curing", "ready", "in_use", "to_reclaim"})
"""States in which there is mesh for certain; a pulled frame has some unless it was stripped."""

PREP_ORDER: tuple[PrepStep, ...] = ("inspect", "old_glue", "abrade", "degrease")


@dataclass(frozen=True, slots=True)
class LastSurvey:
    """The figures of the newest survey on the mesh that is on the frame, in N/cm."""

    event_id: int
    at: dt.datetime
    moment: Moment
    mean: float
    lowest: float
    spread: float
    imbalance: float | None
    meter_id: int | None
    shift: float = 0.0  # what a finding about the meter has added to these figures since


@dataclass(frozen=True, slots=True)
class MeshLife:
    """One piece of mesh on one frame, from the stretch until it is stripped."""

    mesh_type_id: int
    start_event_id: int
    started_at: dt.datetime | None  # None: found with mesh whose start nobody knows
    target_n_per_cm: float | None
    roll_id: int | None = None
    day0_at: dt.datetime | None = None  # the release, or the last retension
    released_at: dt.datetime | None = None
    glued_at: dt.datetime | None = None
    cure_ends_at: dt.datetime | None = None
    reclaims: int = 0
    reclaims_known: bool = True  # False: found with mesh, so `reclaims` counts from then on
    reclaims_since_inspection: int = 0
    impressions: int = 0
    has_stencil: bool = False
    is_done: bool = False  # damaged beyond use
    open_damage: DamageKind | None = None  # it can go on, and nobody has inspected it yet
    inspected_at: dt.datetime | None = None
    from_outside: bool = False
    survey: LastSurvey | None = None  # after release or in service
    clamp_survey: LastSurvey | None = None  # in the clamps or before glue

    @property
    def is_freshly_set(self) -> bool:
        """Whether day 0 is when the tension was set: a release, a retension, or a stretch outside.

        Mesh that was found on a frame has at most the day on which its life began.
        """
        if self.day0_at is None:
            return False
        return self.released_at is not None or self.from_outside or self.day0_at != self.started_at


@dataclass(frozen=True, slots=True)
class FrameState:
    """The state of a frame. Built only by `framekeeper.domain.lifecycle`."""

    kind: FrameKind
    state: State = "void"
    since: dt.datetime | None = None
    last_event_at: dt.datetime | None = None
    prep_done: tuple[PrepStep, ...] = ()
    corners_settled: bool = False  # rounded, or left as they are for a reason that was given
    stretches: int = 0
    stretches_since_regrind: int = 0
    hold_reason: str | None = None
    reserved_job: str | None = None
    reserved_for: dt.date | None = None
    taken_out_reason: str | None = None  # why it was pulled or retired
    out_to: str | None = None
    due_back_on: dt.date | None = None
    state_before: State | None = None  # what a missing or sent-out frame returns to
    awaits_inbound_survey: bool = False
    life: MeshLife | None = None

    @property
    def prep_missing(self) -> tuple[PrepStep, ...]:
        """The prep steps that stand between this frame and the stretching table."""
        if self.kind == "roller":  # no glue, so no grinding and nothing to degrease
            wanted: tuple[PrepStep, ...] = ("inspect",)
        else:
            wanted = PREP_ORDER
        missing = [step for step in wanted if step not in self.prep_done]
        if self.kind == "glued" and not self.corners_settled:
            # rounding makes dust, so it comes before degreasing
            last = len(missing) - 1 if "degrease" in missing else len(missing)
            missing.insert(last, "corners")
        return tuple(missing)

    def at(self, now: dt.datetime) -> FrameState:
        """The state as of `now`: a released screen whose cure is over is ready."""
        life = self.life
        if (
            self.state == "curing"
            and life is not None
            and life.released_at is not None
            and life.cure_ends_at is not None
            and now >= life.cure_ends_at
        ):
            return replace(self, state="ready", since=max(life.cure_ends_at, life.released_at))
        return self
