"""What a shop owns, as plain values: frames, mesh types, rolls, meters and what was done."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from framekeeper.domain.due import MeshRules
from framekeeper.domain.events import FrameKind
from framekeeper.domain.frame_state import FrameState, State
from framekeeper.domain.natural_order import natural

Colour = Literal["white", "dyed", "not_told"]
CountUnit = Literal["cm", "inch"]
SupplyKind = Literal["adhesive", "activator"]
MoveKind = Literal["received", "cut", "scrapped", "counted"]
MeterCheckKind = Literal["zero", "reference", "certificate", "drop", "repair", "found_out"]


@dataclass(frozen=True, slots=True)
class FrameRecord:
    """A frame and the fold of its journal. Outer size in mm."""

    id: int
    number: int
    code: str
    own_label: str
    kind: FrameKind
    width_mm: float
    height_mm: float
    profile: str
    slot: str
    version: int
    state: FrameState

    @property
    def name(self) -> str:
        """The code, with the shop's own label where it has one."""
        return f"{self.code} ({self.own_label})" if self.own_label else self.code

    @property
    def walking_order(self) -> tuple[bool, tuple[tuple[int, int, str], ...], int]:
        """The order of the slots as a person walks: A2 before A10, frames without a slot last."""
        return not self.slot, natural(self.slot), self.number


@dataclass(frozen=True, slots=True)
class Buying:
    """How a mesh is bought; None where the shop has not said."""

    buy_from: str = ""  # the shop's own text
    lead_time_days: float | None = None
    lead_time_sd_days: float | None = None
    buy_width_mm: int | None = None  # of the roll that is usually ordered
    buy_length_mm: int | None = None
    price_per_m: Decimal | None = None


@dataclass(frozen=True, slots=True)
class MeshTypeRecord:
    """A cloth and the shop's thresholds for it. Tensions in N/cm."""

    id: int
    name: str
    count_as_bought: float | None
    count_unit: CountUnit
    threads_per_cm: float | None
    thread_um: float | None
    weave: str
    opening_um: float | None
    thickness_um: float | None
    colour: Colour
    rules: MeshRules
    to_be_completed: bool
    is_hidden: bool
    version: int
    buying: Buying = Buying()


@dataclass(frozen=True, slots=True)
class RollRecord:
    """A roll of mesh, with what the ledger says is left of it."""

    id: int
    code: str
    mesh_type_id: int
    lot: str
    supplier: str
    width_mm: int
    on_hand_mm: int
    is_hidden: bool
    version: int
    price_per_m: Decimal | None = None
    from_roll_id: int | None = None  # of an offcut: the roll that it was cut from

    @property
    def is_offcut(self) -> bool:
        """Whether it was cut from another roll."""
        return self.from_roll_id is not None


@dataclass(frozen=True, slots=True)
class CutPieceRecord:
    """A piece of mesh that was cut for a frame and waits for its stretch."""

    id: int
    mesh_type_id: int
    roll_id: int | None
    frame_id: int
    length_mm: int
    width_mm: int
    cut_at: dt.datetime


@dataclass(frozen=True, slots=True)
class SupplyRecord:
    """A batch of adhesive or activator."""

    id: int
    kind: SupplyKind
    name: str
    batch: str
    best_before: dt.date | None
    opened_on: dt.date | None
    note: str
    is_hidden: bool
    version: int


@dataclass(frozen=True, slots=True)
class MeterRecord:
    """A tension meter; `correction` is added to what it shows, in N/cm."""

    id: int
    name: str
    serial: str
    resolution: float
    correction: float
    u_n_per_cm: float
    repeatability: float
    certificate_months: int
    certificate_until: dt.date | None
    is_hidden: bool
    version: int


@dataclass(frozen=True, slots=True)
class MeterCheckRecord:
    """Something that was learnt about a meter. Tensions in N/cm."""

    id: int
    meter_id: int
    kind: MeterCheckKind
    happened_at: dt.datetime
    shown: float | None
    expected: float | None
    is_good: bool
    valid_until: dt.date | None
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class StudyRecord:
    """A gauge study of one meter, or a comparison of two; `rows` as they were typed."""

    id: int
    kind: Literal["gauge", "comparison"]
    meter_id: int
    other_meter_id: int | None
    happened_at: dt.datetime
    rows: tuple[tuple[object, ...], ...]
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class MeterReading:
    """A survey that was made with a meter, and the correction that was in force."""

    event_id: int
    frame_id: int
    happened_at: dt.datetime
    correction: float


@dataclass(frozen=True, slots=True)
class MoveRecord:
    """One movement of the mesh ledger; negative lengths leave the shelf."""

    id: int
    operation_id: int
    mesh_type_id: int
    roll_id: int | None
    event_id: int | None
    kind: MoveKind
    length_mm: int
    width_mm: int | None
    happened_at: dt.datetime
    reason: str
    reverses_id: int | None


@dataclass(frozen=True, slots=True)
class OperationRecord:
    """One thing that a person did: what one undo takes back."""

    id: int
    action: str
    subject: str
    by: str
    recorded_at: dt.datetime
    undoes_id: int | None
    is_undo: bool


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fitted fleet as it is kept, and what it was fitted on."""

    maths: int  # version of the maths
    fitted_at: dt.datetime
    last_event_id: int
    stretches: int
    readings: int
    fleet: dict[str, Any]


@dataclass(frozen=True, slots=True)
class KeptOutlook:
    """A frame's forecast as it is kept, and the mark of what it rests on."""

    rests_on: str
    outlook: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Edit:
    """Before and after of one edited row; None where it did not exist."""

    table: str
    row_key: str
    before: dict[str, object] | None
    after: dict[str, object] | None


@dataclass(frozen=True, slots=True)
class FrameFilter:
    """Which frames a list shows; empty fields let everything through."""

    states: tuple[State, ...] = ()
    mesh_type_id: int | None = None
    text: str = ""
    ids: tuple[int, ...] | None = None
    with_retired: bool = False
    on_hold: bool | None = None
    limit: int | None = None
