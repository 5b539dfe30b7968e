"""One operation of a person, and the rows that it may edit, logged before and after each edit."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from typing import Any

from sqlalchemy import Date, insert, select
from sqlalchemy.orm import Session

from framekeeper.domain.errors import Conflict, NotFound
from framekeeper.domain.records import Edit
from framekeeper.domain.sentence import say
from framekeeper.storage.base import Base
from framekeeper.storage.errors import told_plainly
from framekeeper.storage.reader import Reader
from framekeeper.storage.tables import (
    ChangeLog,
    CutPiece,
    Frame,
    MeshType,
    Meter,
    MeterCheck,
    Operation,
    Roll,
    Setting,
    Study,
    Supply,
)
from framekeeper.storage.types import Money

EDITABLE: dict[str, type[Base]] = {
    "frame": Frame,
    "mesh_type": MeshType,
    "roll": Roll,
    "meter": Meter,
    "meter_check": MeterCheck,
    "study": Study,
    "supply": Supply,
    "cut_piece": CutPiece,
}
_KINDS = {
    "frame": "frames",
    "mesh_type": "mesh_types",
    "roll": "rolls",
    "meter": "meters",
    "meter_check": "meters",
    "study": "meters",
    "supply": "rolls",
    "cut_piece": "rolls",
}


class RowEdits(Reader):
    """An operation within an open transaction, and edits that its undo can set back."""

    def __init__(self, session: Session, *, action: str, by: str, now: dt.datetime) -> None:
        super().__init__(session)
        self._action = action
        self._subject = ""
        self._by = by
        self.now = now
        self._operation_id: int | None = None
        self._undoes: int | None = None
        self._is_undo = False
        self._kinds: set[str] = set()

    # the operation

    def name_subject(self, subject: str) -> None:
        """Say what the operation is about, for the name of its undo."""
        self._subject = subject

    def undoes(self, operation_id: int, *, is_undo: bool) -> None:
        """Mark this work as taking back an earlier operation."""
        self._undoes = operation_id
        self._is_undo = is_undo

    @property
    def operation_id(self) -> int:
        """The id of the operation, which is written when first asked for."""
        if self._operation_id is None:
            self._operation_id = self._session.scalar(
                insert(Operation).returning(Operation.id),
                {
                    "action": self._action,
                    "subject": self._subject,
                    "by": self._by,
                    "recorded_at": self.now,
                    "undoes_id": self._undoes,
                    "is_undo": self._is_undo,
                },
            )
            assert self._operation_id is not None
        return self._operation_id

    def _frame_was_edited(self, frame_id: int) -> None:
        """Forget what is known of a frame; where its history is kept, it is folded again."""

    # rows that may be edited

    def add_row(self, table: str, values: dict[str, Any]) -> int:
        """Add a mesh type, roll or meter and log it."""
        row = EDITABLE[table](**values)
        self._session.add(row)
        with told_plainly():
            self._session.flush()
        row_id: int = row.id  # type: ignore[attr-defined]
        self._log(table, str(row_id), {"is_hidden": True}, {"is_hidden": False})
        return row_id

    def edit_row(
        self, table: str, row_id: int, values: dict[str, Any], *, version: int | None = None
    ) -> None:
        """Change a row and log before and after.

        Raises
        ------
        Conflict
            If someone saved a newer version in the meantime.
        """
        row = self._session.get(EDITABLE[table], row_id)
        if row is None:
            raise NotFound(say("That row is not in this shop any more."))
        if version is not None and row.version != version:  # type: ignore[attr-defined]
            raise Conflict(
                say("Someone else changed this in the meantime."),
                hint=say("Look at the new values, then change them again if needed."),
            )
        before = {name: getattr(row, name) for name in values}
        changed = {name: value for name, value in values.items() if before[name] != value}
        if not changed:
            return
        for name, value in changed.items():
            setattr(row, name, value)
        with told_plainly():
            self._session.flush()
        self._log(table, str(row_id), {name: before[name] for name in changed}, changed)
        if table == "frame":
            self._frame_was_edited(row_id)

    def set_setting(self, key: str, value: Any) -> None:
        """Change one setting of the shop and log it."""
        row = self._session.get(Setting, key)
        before = None if row is None else {"value": json.loads(row.value)}
        if row is None:
            self._session.add(Setting(key=key, value=json.dumps(value)))
        else:
            row.value = json.dumps(value)
        self._session.flush()
        self._log("setting", key, before, {"value": value})

    def _log(
        self, table: str, key: str, before: dict[str, Any] | None, after: dict[str, Any] | None
    ) -> None:
        self._kinds.add(_KINDS.get(table, "settings"))
        self._session.execute(
            insert(ChangeLog),
            {
                "operation_id": self.operation_id,
                "table_name": table,
                "row_key": key,
                "before": None if before is None else json.dumps(before, default=str),
                "after": None if after is None else json.dumps(after, default=str),
            },
        )

    def edits_of(self, operation_id: int) -> list[Edit]:
        """Read the edits of one operation."""
        rows = self._session.scalars(
            select(ChangeLog).where(ChangeLog.operation_id == operation_id).order_by(ChangeLog.id)
        )
        return [
            Edit(
                r.table_name,
                r.row_key,
                None if r.before is None else json.loads(r.before),
                None if r.after is None else json.loads(r.after),
            )
            for r in rows
        ]

    def current_values(self, table: str, row_key: str, names: list[str]) -> dict[str, Any] | None:
        """Return what a logged row holds now, in the form of the log."""
        if table == "setting":
            row = self._session.get(Setting, row_key)
            return None if row is None else {"value": json.loads(row.value)}
        found = self._session.get(EDITABLE[table], int(row_key))
        if found is None:
            return None
        values = {name: getattr(found, name) for name in names}
        parsed: dict[str, Any] = json.loads(json.dumps(values, default=str))
        return parsed

    def restore_row(self, table: str, row_key: str, values: dict[str, Any]) -> None:
        """Put logged values back into a row."""
        columns = EDITABLE[table].__table__.c
        native = {name: _native(columns[name].type, value) for name, value in values.items()}
        self.edit_row(table, int(row_key), native)

    def restore_setting(self, key: str, before: dict[str, Any] | None) -> None:
        """Put a setting back; one that the shop had never chosen falls back to its default."""
        if before is not None:
            self.set_setting(key, before["value"])
            return
        row = self._session.get(Setting, key)
        if row is not None:
            after = {"value": json.loads(row.value)}
            self._session.delete(row)
            self._session.flush()
            self._log("setting", key, after, None)


def _native(kind: Any, value: Any) -> Any:
    """Turn a value of the log, which is JSON, into that of a column."""
    if value is None:
        return None
    if isinstance(kind, Date):
        return dt.date.fromisoformat(value)
    return Decimal(value) if isinstance(kind, Money) else value
