"""The journal: one row for each event, and a typed detail table for each kind that has details.

Rows here are appended, never updated or deleted; triggers on both databases see to that.
"""

from __future__ import annotations

import datetime as dt

from sqlalchemy import CheckConstraint, Date, ForeignKey, Index, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from framekeeper.domain.events import DAMAGE_KINDS, MOMENTS, PAYLOADS, PREP_STEPS
from framekeeper.storage.base import Base, one_of
from framekeeper.storage.types import BigId

EVENT_SCHEMA = 1  # raised when a kind's details change; old numbers stay readable


class EventRow(Base):
    """One dated event of one frame."""

    __tablename__ = "event"
    __table_args__ = (
        one_of("kind", PAYLOADS),
        Index("ix_event_frame_id", "frame_id"),
        Index("ix_event_happened_at", "happened_at"),
        {"sqlite_autoincrement": True},
    )
    id: Mapped[int] = mapped_column(BigId, primary_key=True)
    operation_id: Mapped[int] = mapped_column(ForeignKey("operation.id"), index=True)
    frame_id: Mapped[int] = mapped_column(ForeignKey("frame.id"))
    kind: Mapped[str] = mapped_column(Text)
    schema: Mapped[int] = mapped_column(default=EVENT_SCHEMA)
    happened_at: Mapped[dt.datetime]
    recorded_at: Mapped[dt.datetime]
    by: Mapped[str] = mapped_column(Text, default="")
    note: Mapped[str] = mapped_column(Text, default="")


def _event_key() -> Mapped[int]:
    return mapped_column(BigId, ForeignKey("event.id"), primary_key=True, autoincrement=False)


class FoundWithMeshDetail(Base):
    """Details of `FoundWithMesh`."""

    __tablename__ = "detail_found_with_mesh"
    __table_args__ = (CheckConstraint("reclaims_so_far >= 0", name="reclaims"),)
    event_id: Mapped[int] = _event_key()
    mesh_type_id: Mapped[int] = mapped_column(ForeignKey("mesh_type.id"))
    reclaims_so_far: Mapped[int | None]
    mesh_since: Mapped[dt.datetime | None]
    target_n_per_cm: Mapped[float | None]


class PreppedDetail(Base):
    """Details of `Prepped`."""

    __tablename__ = "detail_prepped"
    __table_args__ = (
        one_of("step", PREP_STEPS),
        one_of("result", ("done", "skipped", "failed")),
    )
    event_id: Mapped[int] = _event_key()
    step: Mapped[str] = mapped_column(Text)
    result: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text, default="")
    gap_mm: Mapped[float | None]


class StretchedDetail(Base):
    """Details of `Stretched`."""

    __tablename__ = "detail_stretched"
    __table_args__ = (
        CheckConstraint("target_n_per_cm > 0 AND target_n_per_cm <= 60", name="target"),
        CheckConstraint("frames_in_pull >= 1", name="pull"),
        one_of("warp_along", ("long", "short")),
    )
    event_id: Mapped[int] = _event_key()
    mesh_type_id: Mapped[int] = mapped_column(ForeignKey("mesh_type.id"))
    target_n_per_cm: Mapped[float]
    roll_id: Mapped[int | None] = mapped_column(ForeignKey("roll.id"))
    frames_in_pull: Mapped[int] = mapped_column(default=1)
    cut_length_mm: Mapped[int | None]
    cut_width_mm: Mapped[int | None]
    warp_along: Mapped[str | None] = mapped_column(Text)


class StagedDetail(Base):
    """Details of `Staged`."""

    __tablename__ = "detail_staged"
    __table_args__ = (
        CheckConstraint("tension_n_per_cm > 0 AND tension_n_per_cm <= 60", name="tension"),
        CheckConstraint("rest_minutes >= 0", name="rest"),
    )
    event_id: Mapped[int] = _event_key()
    tension_n_per_cm: Mapped[float]
    rest_minutes: Mapped[int] = mapped_column(default=0)


class GluedDetail(Base):
    """Details of `Glued`."""

    __tablename__ = "detail_glued"
    event_id: Mapped[int] = _event_key()
    cure_ends_at: Mapped[dt.datetime]
    adhesive_lot: Mapped[str] = mapped_column(Text, default="")
    activator_lot: Mapped[str] = mapped_column(Text, default="")


class RetensionedDetail(Base):
    """Details of `Retensioned`."""

    __tablename__ = "detail_retensioned"
    __table_args__ = (
        CheckConstraint("target_n_per_cm > 0 AND target_n_per_cm <= 60", name="target"),
    )
    event_id: Mapped[int] = _event_key()
    target_n_per_cm: Mapped[float]


class SurveyedDetail(Base):
    """Details of `Surveyed`; the numbers are in `reading`."""

    __tablename__ = "detail_surveyed"
    __table_args__ = (one_of("moment", MOMENTS),)
    event_id: Mapped[int] = _event_key()
    moment: Mapped[str] = mapped_column(Text)
    meter_id: Mapped[int | None] = mapped_column(ForeignKey("meter.id"), index=True)
    correction_n_per_cm: Mapped[float] = mapped_column(default=0.0)


class ReadingRow(Base):
    """One number of a survey, as the meter showed it."""

    __tablename__ = "reading"
    __table_args__ = (
        one_of("direction", ("warp", "weft", "not_told")),
        CheckConstraint("raw_n_per_cm > 0 AND raw_n_per_cm <= 60", name="raw"),
        CheckConstraint("point >= 1", name="point"),
    )
    event_id: Mapped[int] = mapped_column(
        BigId, ForeignKey("detail_surveyed.event_id"), primary_key=True, autoincrement=False
    )
    place: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)  # in reading order
    point: Mapped[int]
    direction: Mapped[str] = mapped_column(Text)
    raw_n_per_cm: Mapped[float]


class RecorrectedDetail(Base):
    """Details of `Recorrected`: an earlier survey of the same frame, concluded anew."""

    __tablename__ = "detail_recorrected"
    event_id: Mapped[int] = _event_key()
    survey_id: Mapped[int] = mapped_column(ForeignKey("detail_surveyed.event_id"), index=True)
    correction_n_per_cm: Mapped[float]
    was_n_per_cm: Mapped[float]


class SentOutDetail(Base):
    """Details of `SentOut`."""

    __tablename__ = "detail_sent_out"
    event_id: Mapped[int] = _event_key()
    to: Mapped[str] = mapped_column(Text)
    due_back_on: Mapped[dt.date | None] = mapped_column(Date)


class ReceivedDetail(Base):
    """Details of `Received`."""

    __tablename__ = "detail_received"
    event_id: Mapped[int] = _event_key()
    mesh_type_id: Mapped[int | None] = mapped_column(ForeignKey("mesh_type.id"))
    target_n_per_cm: Mapped[float | None]


class ImagedDetail(Base):
    """Details of `Imaged`."""

    __tablename__ = "detail_imaged"
    event_id: Mapped[int] = _event_key()
    job: Mapped[str] = mapped_column(Text, default="")


class PrintedDetail(Base):
    """Details of `Printed`."""

    __tablename__ = "detail_printed"
    __table_args__ = (CheckConstraint("impressions >= 0", name="impressions"),)
    event_id: Mapped[int] = _event_key()
    impressions: Mapped[int]
    job: Mapped[str] = mapped_column(Text, default="")


class ReclaimedDetail(Base):
    """Details of `Reclaimed`."""

    __tablename__ = "detail_reclaimed"
    event_id: Mapped[int] = _event_key()
    haze_remover: Mapped[bool] = mapped_column(default=False)
    findings: Mapped[str] = mapped_column(Text, default="")


class InspectedDetail(Base):
    """Details of `Inspected`."""

    __tablename__ = "detail_inspected"
    event_id: Mapped[int] = _event_key()
    findings: Mapped[str] = mapped_column(Text, default="")


class DamagedDetail(Base):
    """Details of `Damaged`."""

    __tablename__ = "detail_damaged"
    __table_args__ = (one_of("damage", DAMAGE_KINDS),)
    event_id: Mapped[int] = _event_key()
    damage: Mapped[str] = mapped_column(Text)
    mesh_is_done: Mapped[bool]
    where: Mapped[str] = mapped_column(Text, default="")


class PulledDetail(Base):
    """Details of `Pulled`."""

    __tablename__ = "detail_pulled"
    event_id: Mapped[int] = _event_key()
    reason: Mapped[str] = mapped_column(Text)


class HeldDetail(Base):
    """Details of `Held`."""

    __tablename__ = "detail_held"
    event_id: Mapped[int] = _event_key()
    reason: Mapped[str] = mapped_column(Text)


class ReservedDetail(Base):
    """Details of `Reserved`."""

    __tablename__ = "detail_reserved"
    event_id: Mapped[int] = _event_key()
    job: Mapped[str] = mapped_column(Text)
    needed_on: Mapped[dt.date | None] = mapped_column(Date)


class RetiredDetail(Base):
    """Details of `Retired`."""

    __tablename__ = "detail_retired"
    event_id: Mapped[int] = _event_key()
    reason: Mapped[str] = mapped_column(Text)


class WithdrawnDetail(Base):
    """Details of `Withdrawn`: the event of the same frame that is taken back, once only."""

    __tablename__ = "detail_withdrawn"
    __table_args__ = (UniqueConstraint("target_id"),)
    event_id: Mapped[int] = _event_key()
    target_id: Mapped[int] = mapped_column(ForeignKey("event.id"))


DETAILS: dict[str, type[Base]] = {
    "found_with_mesh": FoundWithMeshDetail,
    "prepped": PreppedDetail,
    "stretched": StretchedDetail,
    "staged": StagedDetail,
    "glued": GluedDetail,
    "retensioned": RetensionedDetail,
    "surveyed": SurveyedDetail,
    "recorrected": RecorrectedDetail,
    "sent_out": SentOutDetail,
    "received": ReceivedDetail,
    "imaged": ImagedDetail,
    "printed": PrintedDetail,
    "reclaimed": ReclaimedDetail,
    "inspected": InspectedDetail,
    "damaged": DamagedDetail,
    "pulled": PulledDetail,
    "held": HeldDetail,
    "reserved": ReservedDetail,
    "retired": RetiredDetail,
    "withdrawn": WithdrawnDetail,
}

APPEND_ONLY: tuple[str, ...] = (
    "operation",
    "event",
    "reading",
    "stock_move",
    "change_log",
    *(table.__tablename__ for table in DETAILS.values()),
)
