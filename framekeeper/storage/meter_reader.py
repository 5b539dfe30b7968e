"""Reads the meters of a shop, what was learnt about them, and what was measured with them."""

from __future__ import annotations

import datetime as dt
import json

from sqlalchemy import select
from sqlalchemy.orm import Session

from framekeeper.domain.records import (
    MeterCheckRecord,
    MeterReading,
    MeterRecord,
    StudyRecord,
)
from framekeeper.storage.journal_tables import EventRow, SurveyedDetail
from framekeeper.storage.tables import Meter, MeterCheck, Study


class MeterReader:
    """Questions about meters, within one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def meters(self, *, with_hidden: bool = False) -> list[MeterRecord]:
        """List the meters by name."""
        query = select(Meter).order_by(Meter.name)
        if not with_hidden:
            query = query.where(~Meter.is_hidden)
        return [
            MeterRecord(
                m.id, m.name, m.serial, m.resolution, m.correction, m.u_n_per_cm,
                m.repeatability, m.certificate_months, m.certificate_until, m.is_hidden, m.version,
            )
            for m in self._session.scalars(query)
        ]  # fmt: skip

    def meter_checks(self, meter_id: int | None = None) -> list[MeterCheckRecord]:
        """List what was learnt about a meter, or about all, in the order in which it happened."""
        query = (
            select(MeterCheck)
            .where(~MeterCheck.is_hidden)
            .order_by(MeterCheck.happened_at, MeterCheck.id)
        )
        if meter_id is not None:
            query = query.where(MeterCheck.meter_id == meter_id)
        return [
            MeterCheckRecord(
                c.id, c.meter_id, c.kind, c.happened_at, c.shown, c.expected,  # type: ignore[arg-type]
                c.is_good, c.valid_until, c.by, c.note,
            )
            for c in self._session.scalars(query)
        ]  # fmt: skip

    def studies(self) -> list[StudyRecord]:
        """List gauge studies and comparisons, newest first."""
        query = select(Study).where(~Study.is_hidden).order_by(Study.happened_at.desc())
        return [
            StudyRecord(
                s.id,
                s.kind,  # type: ignore[arg-type]
                s.meter_id,
                s.other_meter_id,
                s.happened_at,
                tuple(tuple(row) for row in json.loads(s.readings)),
                s.by,
                s.note,
            )
            for s in self._session.scalars(query)
        ]

    def surveys_with_meter(
        self,
        meter_id: int,
        *,
        after: dt.datetime | None = None,
        until: dt.datetime | None = None,
    ) -> list[MeterReading]:
        """List the surveys made with a meter between two moments, withdrawn ones among them."""
        query = (
            select(
                EventRow.id,
                EventRow.frame_id,
                EventRow.happened_at,
                SurveyedDetail.correction_n_per_cm,
            )
            .join(SurveyedDetail, SurveyedDetail.event_id == EventRow.id)
            .where(SurveyedDetail.meter_id == meter_id)
            .order_by(EventRow.happened_at, EventRow.id)
        )
        if after is not None:
            query = query.where(EventRow.happened_at > after)
        if until is not None:
            query = query.where(EventRow.happened_at <= until)
        return [MeterReading(*row) for row in self._session.execute(query)]
