"""What a shop owns: frames, mesh types, rolls, meters, settings, and the log of their edits."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from framekeeper.domain.events import FRAME_KINDS, MOMENTS
from framekeeper.domain.frame_state import STATES
from framekeeper.storage.base import Base, one_of
from framekeeper.storage.types import BigId, UtcDateTime


class Setting(Base):
    """One setting of the shop, as JSON text."""

    __tablename__ = "setting"
    key: Mapped[str] = mapped_column(Text, primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class MeshType(Base):
    """A cloth that the shop buys, and the shop's thresholds for it. Tensions in N/cm."""

    __tablename__ = "mesh_type"
    __table_args__ = (
        UniqueConstraint("name"),
        CheckConstraint("threads_per_cm IS NULL OR threads_per_cm > 0", name="count"),
        CheckConstraint("thread_um IS NULL OR thread_um > 0", name="thread"),
        one_of("colour", ("white", "dyed", "not_told")),
        one_of("count_unit", ("cm", "inch")),
        CheckConstraint("opening_um IS NULL OR opening_um > 0", name="opening"),
        CheckConstraint("thickness_um IS NULL OR thickness_um > 0", name="thickness"),
        CheckConstraint("target > 0 AND target <= 60", name="target"),
        CheckConstraint('"limit" > 0 AND "limit" <= 60', name="limit"),
        CheckConstraint("tolerance >= 0", name="tolerance"),
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    name: Mapped[str] = mapped_column(Text)  # as bought, never recomputed
    count_as_bought: Mapped[float | None]
    count_unit: Mapped[str] = mapped_column(Text, default="inch")
    threads_per_cm: Mapped[float | None]
    thread_um: Mapped[float | None]
    weave: Mapped[str] = mapped_column(Text, default="1:1")
    opening_um: Mapped[float | None]  # from the data sheet; it wins over the formula
    thickness_um: Mapped[float | None]  # from the data sheet
    colour: Mapped[str] = mapped_column(Text, default="not_told")
    target: Mapped[float | None]
    tolerance: Mapped[float] = mapped_column(default=2.0)
    limit: Mapped[float | None]
    spread_limit: Mapped[float | None]
    balance_limit: Mapped[float | None]
    days_between_readings: Mapped[int | None]
    risk: Mapped[float | None]
    longest_wait_days: Mapped[int | None]
    buy_from: Mapped[str | None] = mapped_column(Text)
    lead_time_days: Mapped[float | None]
    lead_time_sd_days: Mapped[float | None]
    buy_width_mm: Mapped[int | None]
    buy_length_mm: Mapped[int | None]
    price_per_m: Mapped[Decimal | None]
    inspect_after_reclaims: Mapped[int | None]
    to_be_completed: Mapped[bool] = mapped_column(default=False)
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class Roll(Base):
    """A roll of mesh on the shelf, or an offcut."""

    __tablename__ = "roll"
    __table_args__ = (
        UniqueConstraint("code"),
        CheckConstraint("width_mm > 0", name="width"),
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    code: Mapped[str] = mapped_column(Text)
    mesh_type_id: Mapped[int] = mapped_column(ForeignKey("mesh_type.id"), index=True)
    lot: Mapped[str] = mapped_column(Text, default="")
    supplier: Mapped[str] = mapped_column(Text, default="")
    width_mm: Mapped[int]
    price_per_m: Mapped[Decimal | None]
    from_roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"))  # of an offcut
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class CutPiece(Base):
    """A piece that was cut for a frame ahead of its stretch; the ledger has it already."""

    __tablename__ = "cut_piece"
    __table_args__ = (CheckConstraint("length_mm > 0 AND width_mm > 0", name="size"),)
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    mesh_type_id: Mapped[int] = mapped_column(ForeignKey("mesh_type.id"))
    roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"))
    frame_id: Mapped[int] = mapped_column(ForeignKey("frame.id"), index=True)
    length_mm: Mapped[int]  # along the roll
    width_mm: Mapped[int]
    cut_at: Mapped[dt.datetime]
    is_used: Mapped[bool] = mapped_column(default=False)
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class Supply(Base):
    """A batch of adhesive or activator; a stretch names it by its text."""

    __tablename__ = "supply"
    __table_args__ = (one_of("kind", ("adhesive", "activator")),)
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    kind: Mapped[str] = mapped_column(Text)
    name: Mapped[str] = mapped_column(Text, default="")  # the shop's own text
    batch: Mapped[str] = mapped_column(Text)
    best_before: Mapped[dt.date | None] = mapped_column(Date)
    opened_on: Mapped[dt.date | None] = mapped_column(Date)
    note: Mapped[str] = mapped_column(Text, default="")
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class Meter(Base):
    """A tension meter. `correction` is added to what it shows, in N/cm."""

    __tablename__ = "meter"
    __table_args__ = (
        UniqueConstraint("name"),
        CheckConstraint("resolution > 0", name="resolution"),
        CheckConstraint("u_n_per_cm >= 0 AND repeatability >= 0", name="uncertainty"),
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    name: Mapped[str] = mapped_column(Text)
    serial: Mapped[str] = mapped_column(Text, default="")
    resolution: Mapped[float] = mapped_column(default=0.5)
    correction: Mapped[float] = mapped_column(default=0.0)
    u_n_per_cm: Mapped[float] = mapped_column(default=0.5)  # standard uncertainty of its bias
    repeatability: Mapped[float] = mapped_column(default=0.3)  # of one reading, as a deviation
    certificate_months: Mapped[int] = mapped_column(default=12)
    certificate_until: Mapped[dt.date | None] = mapped_column(Date)
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


METER_CHECKS = ("zero", "reference", "certificate", "drop", "repair", "found_out")


class MeterCheck(Base):
    """Something that was learnt about a meter; taken back by hiding it, with a line in the log."""

    __tablename__ = "meter_check"
    __table_args__ = (
        one_of("kind", METER_CHECKS),
        CheckConstraint("is_good OR kind <> 'certificate'", name="certificate"),
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    meter_id: Mapped[int] = mapped_column(ForeignKey("meter.id"), index=True)
    kind: Mapped[str] = mapped_column(Text)
    happened_at: Mapped[dt.datetime]
    shown: Mapped[float | None]  # what the meter showed, N/cm
    expected: Mapped[float | None]  # what it should have shown: 0 on glass, or the reference
    is_good: Mapped[bool] = mapped_column(default=True)
    valid_until: Mapped[dt.date | None] = mapped_column(Date)  # of a certificate
    by: Mapped[str] = mapped_column(Text, default="")
    note: Mapped[str] = mapped_column(Text, default="")
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class Study(Base):
    """A gauge study of one meter, or a comparison of two."""

    __tablename__ = "study"
    __table_args__ = (one_of("kind", ("gauge", "comparison")),)
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    kind: Mapped[str] = mapped_column(Text)
    meter_id: Mapped[int] = mapped_column(ForeignKey("meter.id"), index=True)
    other_meter_id: Mapped[int | None] = mapped_column(ForeignKey("meter.id"))
    happened_at: Mapped[dt.datetime]
    readings: Mapped[str] = mapped_column(Text)  # JSON: rows of part, person, reading(s), in order
    by: Mapped[str] = mapped_column(Text, default="")
    note: Mapped[str] = mapped_column(Text, default="")
    is_hidden: Mapped[bool] = mapped_column(default=False)
    version: Mapped[int] = mapped_column()
    __mapper_args__ = {"version_id_col": version}


class Frame(Base):
    """A frame: what it is, and the fold of its journal kept in columns so that lists are fast.

    The columns from `state` on equal `lifecycle.fold` of the frame's events; `verify` proves it.
    """

    __tablename__ = "frame"
    __table_args__ = (
        UniqueConstraint("code"),
        one_of("kind", FRAME_KINDS),
        one_of("state", STATES),
        one_of("survey_moment", MOMENTS),
        CheckConstraint("width_mm > 0 AND height_mm > 0", name="size"),
        Index("ix_frame_state", "state"),
        Index("ix_frame_own_label", "own_label"),
        Index("ix_frame_mesh_type_id", "mesh_type_id"),
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    code: Mapped[str] = mapped_column(Text)
    own_label: Mapped[str] = mapped_column(Text, default="")
    kind: Mapped[str] = mapped_column(Text)
    width_mm: Mapped[float]
    height_mm: Mapped[float]
    profile: Mapped[str] = mapped_column(Text, default="")
    slot: Mapped[str] = mapped_column(Text, default="")
    version: Mapped[int] = mapped_column()

    state: Mapped[str] = mapped_column(Text, default="void")
    since: Mapped[dt.datetime | None]
    last_event_at: Mapped[dt.datetime | None]
    prep_done: Mapped[str] = mapped_column(Text, default="")
    corners_settled: Mapped[bool] = mapped_column(default=False)
    stretches: Mapped[int] = mapped_column(default=0)
    stretches_since_regrind: Mapped[int] = mapped_column(default=0)
    hold_reason: Mapped[str | None] = mapped_column(Text)
    reserved_job: Mapped[str | None] = mapped_column(Text)
    reserved_for: Mapped[dt.date | None] = mapped_column(Date)
    taken_out_reason: Mapped[str | None] = mapped_column(Text)
    out_to: Mapped[str | None] = mapped_column(Text)
    due_back_on: Mapped[dt.date | None] = mapped_column(Date)
    state_before: Mapped[str | None] = mapped_column(Text)
    awaits_inbound_survey: Mapped[bool] = mapped_column(default=False)

    mesh_type_id: Mapped[int | None] = mapped_column(ForeignKey("mesh_type.id"))
    start_event_id: Mapped[int | None] = mapped_column(BigId)
    started_at: Mapped[dt.datetime | None]
    target: Mapped[float | None]
    roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"))
    day0_at: Mapped[dt.datetime | None]
    released_at: Mapped[dt.datetime | None]
    glued_at: Mapped[dt.datetime | None]
    cure_ends_at: Mapped[dt.datetime | None]
    reclaims: Mapped[int] = mapped_column(default=0)
    reclaims_known: Mapped[bool] = mapped_column(default=True)
    reclaims_since_inspection: Mapped[int] = mapped_column(default=0)
    impressions: Mapped[int] = mapped_column(default=0)
    has_stencil: Mapped[bool] = mapped_column(default=False)
    mesh_is_done: Mapped[bool] = mapped_column(default=False)
    open_damage: Mapped[str | None] = mapped_column(Text)
    inspected_at: Mapped[dt.datetime | None]
    from_outside: Mapped[bool] = mapped_column(default=False)

    survey_event_id: Mapped[int | None] = mapped_column(BigId)
    survey_at: Mapped[dt.datetime | None]
    survey_moment: Mapped[str | None] = mapped_column(Text)
    survey_mean: Mapped[float | None]
    survey_lowest: Mapped[float | None]
    survey_spread: Mapped[float | None]
    survey_imbalance: Mapped[float | None]
    survey_meter_id: Mapped[int | None] = mapped_column(BigId)
    survey_shift: Mapped[float | None]
    clamp_event_id: Mapped[int | None] = mapped_column(BigId)
    clamp_at: Mapped[dt.datetime | None]
    clamp_moment: Mapped[str | None] = mapped_column(Text)
    clamp_mean: Mapped[float | None]
    clamp_lowest: Mapped[float | None]
    clamp_spread: Mapped[float | None]
    clamp_imbalance: Mapped[float | None]
    clamp_meter_id: Mapped[int | None] = mapped_column(BigId)
    clamp_shift: Mapped[float | None]

    __mapper_args__ = {"version_id_col": version}


class Operation(Base):
    """One thing that a person did: what one undo takes back."""

    __tablename__ = "operation"
    __table_args__ = (
        UniqueConstraint("undoes_id"),
        {"sqlite_autoincrement": True},
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    action: Mapped[str] = mapped_column(Text)  # a trade word: "reclaim", "stretch"
    subject: Mapped[str] = mapped_column(Text)  # "FK0012K" or "30 frames"
    by: Mapped[str] = mapped_column(Text, default="")
    recorded_at: Mapped[dt.datetime] = mapped_column(UtcDateTime)
    undoes_id: Mapped[int | None] = mapped_column(ForeignKey("operation.id"))
    is_undo: Mapped[bool] = mapped_column(default=False)


class ChangeLog(Base):
    """Before and after of an edit to a row that may be edited (never a journal row), as JSON."""

    __tablename__ = "change_log"
    __table_args__ = ({"sqlite_autoincrement": True},)
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    table_name: Mapped[str] = mapped_column(Text)
    row_key: Mapped[str] = mapped_column(Text)
    before: Mapped[str | None] = mapped_column(Text)
    after: Mapped[str | None] = mapped_column(Text)


class StockMove(Base):
    """One movement of the mesh ledger; what is on hand is the sum of `length_mm`."""

    __tablename__ = "stock_move"
    __table_args__ = (
        one_of("kind", ("received", "cut", "scrapped", "counted")),
        UniqueConstraint("reverses_id"),
        {"sqlite_autoincrement": True},
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    mesh_type_id: Mapped[int] = mapped_column(ForeignKey("mesh_type.id"), index=True)
    roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"), index=True)
    event_id: Mapped[int | None] = mapped_column(ForeignKey("event.id"), index=True)
    kind: Mapped[str] = mapped_column(Text)
    length_mm: Mapped[int]  # along the roll; negative when mesh leaves
    width_mm: Mapped[int | None]  # across the roll; None: the whole width
    happened_at: Mapped[dt.datetime]
    reason: Mapped[str] = mapped_column(Text, default="")
    reverses_id: Mapped[int | None] = mapped_column(ForeignKey("stock_move.id"))
