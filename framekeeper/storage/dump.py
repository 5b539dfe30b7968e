"""Writes every row of a shop to JSON, and reads such a file into an empty shop.

The file holds one list of rows for each table; moments are ISO 8601 in UTC. A round trip gives an
equal shop, on either database.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from decimal import Decimal
from typing import IO, Any

from sqlalchemy import Table, func, insert, select, text
from sqlalchemy.orm import Session

from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.sentence import say
from framekeeper.storage.base import Base
from framekeeper.storage.derived_tables import DERIVED
from framekeeper.storage.migrate import HEAD, KNOWN
from framekeeper.storage.types import UtcDateTime

FORMAT = "framekeeper shop"
_BATCH = 2000
_ADDED: dict[str, dict[str, dict[str, Any]]] = {
    "0002": {
        "mesh_type": {
            "risk": 0.04,
            "longest_wait_days": 42,
            "buy_from": None,
            "lead_time_days": None,
            "lead_time_sd_days": None,
            "buy_width_mm": None,
            "buy_length_mm": None,
            "price_per_m": None,
        },
        "roll": {"price_per_m": None, "from_roll_id": None},
    }
}


def write_rows(session: Session, out: IO[str]) -> int:
    """Write all rows; return how many."""
    count = 0
    head = {"format": FORMAT, "schema": HEAD}
    out.write(json.dumps(head)[:-1] + ', "tables": {')
    for number, table in enumerate(_tables_of_a_shop()):
        out.write(f'{"," if number else ""}\n"{table.name}": [')
        for place, row in enumerate(_rows(session, table)):
            out.write(f"{',' if place else ''}\n{json.dumps(row, ensure_ascii=False)}")
            count += 1
        out.write("]")
    out.write("}}\n")
    return count


def _tables_of_a_shop() -> list[Table]:
    """What is worked out from the rest stays here: the next refit makes it anew."""
    return [table for table in Base.metadata.sorted_tables if table.name not in DERIVED]


def _rows(session: Session, table: Table) -> Iterator[dict[str, Any]]:
    query = select(table).order_by(*table.primary_key.columns)
    for row in session.execute(query).mappings():
        yield {name: _plain(value) for name, value in row.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, dt.datetime | dt.date):
        return value.isoformat()
    return f"{value:f}" if isinstance(value, Decimal) else value


def read_rows(session: Session, source: IO[str]) -> int:
    """Read all rows into an empty shop; return how many. The caller commits.

    Raises
    ------
    NotValid
        If the file is no such export.
    NotPossible
        If the shop already holds something.
    """
    tables = _tables(source)
    for table in _tables_of_a_shop():
        if session.scalar(select(func.count()).select_from(table)):
            raise NotPossible(
                say("This shop already holds something."),
                hint=say("Import the file into an empty shop."),
            )
    count = 0
    for table in _tables_of_a_shop():
        rows = [_native(table, row) for row in tables.get(table.name, [])]
        for start in range(0, len(rows), _BATCH):
            session.execute(insert(table), rows[start : start + _BATCH])
        count += len(rows)
        _restart_numbering(session, table)
    return count


def _tables(source: IO[str]) -> dict[str, list[Any]]:
    try:
        content = json.load(source)
    except (ValueError, RecursionError) as error:
        raise _not_ours() from error
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise _not_ours()
    if content.get("schema") not in KNOWN:
        raise NotValid(
            say("This export was written by a newer version of Framekeeper."),
            hint=say("Install the newer version first."),
        )
    tables = content.get("tables")
    known = {table.name for table in _tables_of_a_shop()}
    if not isinstance(tables, dict) or not set(tables) <= known:
        raise _not_ours()
    if not all(isinstance(rows, list) for rows in tables.values()):
        raise _not_ours()
    _upgrade(tables, str(content["schema"]))
    return tables


def _upgrade(tables: dict[str, list[Any]], schema: str) -> None:
    """Add to the rows of an older export what a migration adds to those of an older shop."""
    for table, columns in (
        (table, columns)
        for revision, added in _ADDED.items()
        if revision > schema
        for table, columns in added.items()
    ):
        for row in tables.get(table, []):
            if isinstance(row, dict):
                row.update(columns)


def _not_ours() -> NotValid:
    return NotValid(
        say("This file is not an export of a Framekeeper shop."),
        hint=say("Choose a file that was written by “export”."),
    )


def _native(table: Table, row: Any) -> dict[str, Any]:
    if not isinstance(row, dict) or set(row) != {c.name for c in table.columns}:
        raise _not_ours()
    try:
        return {c.name: _value(c.type, row[c.name]) for c in table.columns}
    except (TypeError, ValueError, ArithmeticError) as error:
        raise _not_ours() from error


def _value(column_type: Any, value: Any) -> Any:
    if value is None:
        return None
    wanted = column_type.python_type if not isinstance(column_type, UtcDateTime) else dt.datetime
    if wanted is dt.datetime:
        return dt.datetime.fromisoformat(value)
    if wanted is dt.date:
        return dt.date.fromisoformat(value)
    if wanted is float and isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if wanted is Decimal:
        return Decimal(str(value))
    if type(value) is not wanted:
        raise TypeError(column_type)
    return value


def _restart_numbering(session: Session, table: Table) -> None:
    """Let PostgreSQL go on counting after the ids that were brought along."""
    if session.connection().dialect.name != "postgresql":
        return
    if "id" not in table.columns:
        return
    sequence = session.scalar(
        text("SELECT pg_get_serial_sequence(:table, 'id')"), {"table": table.name}
    )
    if sequence:
        highest = session.scalar(select(func.max(table.c.id))) or 0
        session.execute(
            text("SELECT setval(:sequence, :highest, :used)"),
            {"sequence": sequence, "highest": max(highest, 1), "used": highest > 0},
        )
