"""Opens SQLite and PostgreSQL with the settings that our promises need."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import URL, Connection, make_url
from sqlalchemy.pool import NullPool

WAL_IS_SAFE = sqlite3.sqlite_version_info >= (3, 51, 3)  # earlier ones can corrupt at a WAL reset
WRITES = {"framekeeper_writes": True}


def shop_url(place: str | Path) -> URL:
    """Turn a path or an address into a database URL.

    `postgresql://...` is served by psycopg 3; everything else is a SQLite file.
    """
    text = str(place)
    if "://" in text:
        url = make_url(text)
        if url.drivername in ("postgresql", "postgres"):
            url = url.set(drivername="postgresql+psycopg")
        return url
    return URL.create("sqlite", database=str(Path(text).expanduser().resolve()))


def open_engine(url: URL) -> Engine:
    """Create the engine for a shop; nothing is read or written yet."""
    is_file = url.get_backend_name() == "sqlite"
    engine = _open_sqlite(url) if is_file else create_engine(url, pool_pre_ping=True)
    event.listen(engine, "checkin", _end_what_is_left)
    return engine


def _end_what_is_left(connection: Any, record: object) -> None:
    """Roll back what a failed COMMIT leaves open; SQLAlchemy takes such a transaction for over.

    SQLite fails so where someone reads for too long; the connection would hold the file for ever.
    """
    if connection is not None:
        connection.rollback()


def looking_engine(url: URL) -> Engine:
    """Create an engine that only looks at what is there.

    Choosing a journal mode writes into the header of a file that keeps its journal another way, so
    it has to wait until the file is known to be a shop.
    """
    if url.get_backend_name() == "sqlite":
        return create_engine(url, connect_args={"timeout": 5.0}, poolclass=NullPool)
    return create_engine(url, poolclass=NullPool)


def _open_sqlite(url: URL) -> Engine:
    engine = create_engine(url, connect_args={"isolation_level": None, "timeout": 5.0})

    @event.listens_for(engine, "connect")
    def set_pragmas(connection: Any, record: object) -> None:
        cursor = connection.cursor()
        journal = "WAL" if WAL_IS_SAFE else "TRUNCATE"
        for pragma in (
            "foreign_keys=ON",
            "busy_timeout=5000",
            f"journal_mode={journal}",
            "synchronous=FULL",
        ):
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()
        # SQLite's own knows only the letters of English: Ä would stay Ä.
        connection.create_function("lower", 1, _lower, deterministic=True)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A deferred transaction that reads and then writes fails at once where another writer got
        # in between, without waiting; so writers take the lock before they read.
        writes = connection.get_execution_options().get("framekeeper_writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _lower(value: object) -> object:
    return value.lower() if isinstance(value, str) else value
