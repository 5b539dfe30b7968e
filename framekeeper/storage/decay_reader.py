"""Reads what the tension forecast rests on, and what is kept of it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from sqlalchemy import func, select

from framekeeper.domain.lifecycle import withdrawn
from framekeeper.domain.records import KeptFit, KeptOutlook
from framekeeper.domain.stretch_history import KINDS, LifeMark
from framekeeper.storage.derived_tables import FleetFit, OutlookRow
from framekeeper.storage.journal_tables import (
    EventRow,
    FoundWithMeshDetail,
    ReadingRow,
    ReceivedDetail,
    RecorrectedDetail,
    StretchedDetail,
    SurveyedDetail,
    WithdrawnDetail,
)
from framekeeper.storage.meter_reader import MeterReader

_Only = Callable[[Any], Any]  # narrows a query to the frames that are asked about
_CHUNK = 500  # parameters of one IN list; SQLite's old limit is 999
_SETTLED = ("after_release", "in_service")


class DecayReader(MeterReader):
    """Questions about tension histories, within one transaction."""

    def life_marks(self, frame_ids: Sequence[int] | None = None) -> list[LifeMark]:
        """List what counts for tension histories, frame by frame, oldest first within each.

        It is what folding whole journals would say of them, without reading what does not matter.
        """
        if frame_ids is None:
            return self._marks(lambda query: query)
        marks: list[LifeMark] = []
        for some in _chunks(frame_ids):
            marks += self._marks(_of_frames(some))
        return marks

    def _marks(self, only: _Only) -> list[LifeMark]:
        gone = withdrawn(self._session.execute(only(_withdrawals())).all())
        meshes = {
            event_id: (mesh_id, None, 0)
            for detail in (StretchedDetail, ReceivedDetail)
            for event_id, mesh_id in self._session.execute(only(_with_mesh(detail)))
        }
        found = {
            event_id: (mesh_id, since, reclaims or 0)
            for event_id, mesh_id, since, reclaims in self._session.execute(only(_found()))
        }
        known = {**meshes, **found}
        tensions = self._tensions(only, gone)
        order = (EventRow.frame_id, EventRow.happened_at, EventRow.recorded_at, EventRow.id)
        rows = self._session.execute(
            only(
                select(EventRow.id, EventRow.frame_id, EventRow.happened_at, EventRow.kind)
                .where(EventRow.kind.in_(KINDS))
                .order_by(*order)
            )
        )
        return [
            LifeMark(frame_id, event_id, at, kind, *known.get(event_id, (None, None, 0)),
                     tensions.get(event_id))
            for event_id, frame_id, at, kind in rows
            if event_id not in gone
        ]  # fmt: skip

    def _tensions(self, only: _Only, gone: set[int]) -> dict[int, float]:
        """Mean of each survey after release or in service, with the correction known by now."""
        surveys = self._session.execute(
            only(
                select(
                    EventRow.id,
                    func.avg(ReadingRow.raw_n_per_cm),
                    SurveyedDetail.correction_n_per_cm,
                )
                .join(SurveyedDetail, SurveyedDetail.event_id == EventRow.id)
                .join(ReadingRow, ReadingRow.event_id == EventRow.id)
                .where(SurveyedDetail.moment.in_(_SETTLED))
                .group_by(EventRow.id, SurveyedDetail.correction_n_per_cm)
            )
        )
        anew = self._corrections(only, gone)
        return {
            event_id: raw + anew.get(event_id, correction) for event_id, raw, correction in surveys
        }

    def _corrections(self, only: _Only, gone: set[int]) -> dict[int, float]:
        """What the newest finding that stands says of each survey."""
        query = only(
            select(EventRow.id, RecorrectedDetail.survey_id, RecorrectedDetail.correction_n_per_cm)
            .join(RecorrectedDetail, RecorrectedDetail.event_id == EventRow.id)
            .order_by(EventRow.happened_at, EventRow.recorded_at, EventRow.id)
        )
        return {
            survey_id: correction
            for event_id, survey_id, correction in self._session.execute(query)
            if event_id not in gone
        }

    def newest_event_ids(self, frame_ids: Sequence[int]) -> dict[int, int]:
        """Return the id of the newest event of each of these frames."""
        query = select(EventRow.frame_id, func.max(EventRow.id)).group_by(EventRow.frame_id)
        return {
            frame_id: newest
            for some in _chunks(frame_ids)
            for frame_id, newest in self._session.execute(_of_frames(some)(query))
        }

    def last_event_id(self) -> int:
        """Return the id of the newest event of all."""
        return self._session.scalar(select(func.max(EventRow.id))) or 0

    def surveys_since(self, event_id: int) -> int:
        """Count the surveys that were recorded after an event and still stand."""
        query = select(func.count()).where(EventRow.kind == "surveyed", EventRow.id > event_id)
        return (self._session.scalar(query) or 0) - len(self._moved_surveys(event_id)[1])

    def known_surveys_moved(self, event_id: int) -> int:
        """Count the surveys up to an event that were taken back, or brought back, after it."""
        return len(self._moved_surveys(event_id)[0])

    def _moved_surveys(self, event_id: int) -> tuple[list[int], list[int]]:
        """Surveys that count now but did not as of an event, or the reverse: old, and newer."""
        links = [(by, target) for by, target in self._session.execute(_withdrawals())]
        then = withdrawn([link for link in links if link[0] <= event_id])
        moved = [
            survey_id
            for some in _chunks(sorted(then ^ withdrawn(links)))
            for survey_id in self._session.scalars(
                select(EventRow.id).where(EventRow.kind == "surveyed", EventRow.id.in_(some))
            )
        ]
        return [m for m in moved if m <= event_id], [m for m in moved if m > event_id]

    def kept_fit(self) -> KeptFit | None:
        """Return the fitted fleet, if one is kept."""
        row = self._session.scalar(select(FleetFit))
        if row is None:
            return None
        return KeptFit(
            row.maths,
            row.fitted_at,
            row.last_event_id,
            row.stretches,
            row.readings,
            json.loads(row.fleet),
        )

    def kept_outlooks(self, frame_ids: Sequence[int]) -> dict[int, KeptOutlook]:
        """Return what is kept of the forecast of each of these frames."""
        query = select(OutlookRow.frame_id, OutlookRow.rests_on, OutlookRow.outlook)
        return {
            frame_id: KeptOutlook(rests_on, json.loads(outlook))
            for some in _chunks(frame_ids)
            for frame_id, rests_on, outlook in self._session.execute(
                query.where(OutlookRow.frame_id.in_(some))
            )
        }

    def frames_with_outlook(self) -> frozenset[int]:
        """Return the frames of which a forecast is kept."""
        return frozenset(self._session.scalars(select(OutlookRow.frame_id)))


def _chunks(frame_ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(frame_ids), _CHUNK):
        yield frame_ids[start : start + _CHUNK]


def _of_frames(frame_ids: Sequence[int]) -> _Only:
    return lambda query: query.where(EventRow.frame_id.in_(frame_ids))


def _withdrawals() -> Any:
    taken = WithdrawnDetail
    return select(EventRow.id, taken.target_id).join(taken, taken.event_id == EventRow.id)


def _with_mesh(detail: type[StretchedDetail] | type[ReceivedDetail]) -> Any:
    return select(EventRow.id, detail.mesh_type_id).join(detail, detail.event_id == EventRow.id)


def _found() -> Any:
    found = FoundWithMeshDetail
    return select(EventRow.id, found.mesh_type_id, found.mesh_since, found.reclaims_so_far).join(
        found, found.event_id == EventRow.id
    )
