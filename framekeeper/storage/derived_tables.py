"""What is worked out from the journal and kept only to be quick: never exported, never undone.

Deleting every row here loses nothing; the next refit fills the tables again.
"""

from __future__ import annotations

import datetime as dt

from sqlalchemy import CheckConstraint, ForeignKey, Text
from sqlalchemy.orm import Mapped, mapped_column

from framekeeper.storage.base import Base
from framekeeper.storage.types import BigId


class FleetFit(Base):
    """The fitted fleet of the tension forecast, and what it was fitted on."""

    __tablename__ = "fleet_fit"
    __table_args__ = (CheckConstraint("id = 1", name="one"),)
    id: Mapped[int] = mapped_column(BigId, primary_key=True, autoincrement=False)
    maths: Mapped[int]  # version of the maths
    fitted_at: Mapped[dt.datetime]
    last_event_id: Mapped[int] = mapped_column(BigId)
    stretches: Mapped[int]
    readings: Mapped[int]
    fleet: Mapped[str] = mapped_column(Text)  # JSON


class OutlookRow(Base):
    """The forecast of the mesh on one frame, and what it rests on."""

    __tablename__ = "outlook"
    frame_id: Mapped[int] = mapped_column(
        BigId, ForeignKey("frame.id"), primary_key=True, autoincrement=False
    )
    rests_on: Mapped[str] = mapped_column(Text)  # fit, last event and thresholds
    outlook: Mapped[str] = mapped_column(Text)  # JSON


DERIVED: frozenset[str] = frozenset({FleetFit.__tablename__, OutlookRow.__tablename__})
