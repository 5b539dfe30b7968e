"""Writes what is worked out from the journal: in its own transaction, outside of undo."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict

from sqlalchemy import delete, insert, text
from sqlalchemy.orm import Session

from framekeeper.domain.records import KeptFit, KeptOutlook
from framekeeper.storage.derived_tables import FleetFit, OutlookRow
from framekeeper.storage.reader import Reader

_CHUNK = 500  # parameters of one IN list; SQLite's old limit is 999
_TURN = 20_250_304  # any number that stands for "somebody writes the forecast of this shop"


class Derived(Reader):
    """An open change of derived rows. The caller commits by leaving the block in peace."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        if session.connection().dialect.name == "postgresql":
            # several benches take turns, as the file's lock has it
            session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _TURN})

    def put_fit(self, fit: KeptFit) -> None:
        """Keep this fitted fleet in the place of the one before."""
        self._session.execute(delete(FleetFit))
        self._session.execute(
            insert(FleetFit), {"id": 1, **asdict(fit), "fleet": json.dumps(fit.fleet)}
        )

    def put_outlooks(self, fresh: Mapping[int, KeptOutlook], *, gone: frozenset[int]) -> None:
        """Keep these forecasts in the place of the ones before, and drop those that are gone."""
        old = sorted(gone | set(fresh))
        for start in range(0, len(old), _CHUNK):
            some = old[start : start + _CHUNK]
            self._session.execute(delete(OutlookRow).where(OutlookRow.frame_id.in_(some)))
        if fresh:
            self._session.execute(
                insert(OutlookRow),
                [
                    {
                        "frame_id": frame_id,
                        "rests_on": kept.rests_on,
                        "outlook": json.dumps(kept.outlook),
                    }
                    for frame_id, kept in fresh.items()
                ],
            )
