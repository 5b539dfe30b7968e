"""Brings a shop's database to the schema of this program, in one transaction or not at all."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.storage.guards import install_guards
from framekeeper.storage.journal_tables import APPEND_ONLY

HEAD = "0002"
KNOWN = ("0001", "0002")
_TURN = 20_250_303  # any number that stands for "this shop is being upgraded"
_FOLDER = Path(__file__).resolve().parent / "migrations"


def stored_revision(connection: Connection) -> str | None:
    """Return the schema revision of a database; None for an empty one.

    Raises
    ------
    StorageTrouble
        If the database belongs to another program or to a newer Framekeeper.
    """
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if "alembic_version" not in tables or "event" not in tables:
        raise StorageTrouble(
            say("This database belongs to another program."),
            kept=say("Nothing was written to it."),
            hint=say("Choose another file."),
        )
    revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    if revision not in KNOWN:
        raise StorageTrouble(
            say("This shop was written by a newer version of Framekeeper."),
            kept=say("Nothing was written to it."),
            hint=say("Install the newer version here too."),
        )
    return str(revision)


def upgrade(engine: Engine) -> None:
    """Upgrade to `HEAD`; a failure leaves the database as it was."""
    migrating = _without_foreign_keys(engine)
    try:
        with migrating.connect() as connection, connection.begin():
            if connection.dialect.name == "postgresql":
                # Two benches that start a new shop at once take turns, as the file's lock has it.
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _TURN})
            _run_alembic(connection)
            install_guards(connection, APPEND_ONLY)
            if connection.dialect.name == "sqlite":
                _check_foreign_keys(connection)
    finally:
        if migrating is not engine:
            migrating.dispose()


def _without_foreign_keys(engine: Engine) -> Engine:
    """Open SQLite for a migration with foreign keys off.

    A batch migration of a parent table with them on deletes the children by cascade, silently.
    """
    if engine.dialect.name != "sqlite":
        return engine
    migrating = create_engine(engine.url, connect_args={"isolation_level": None, "timeout": 5.0})
    event.listen(
        migrating, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE")
    )
    return migrating


def _check_foreign_keys(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        raise StorageTrouble(
            say("The upgrade would have lost a link between rows."),
            kept=say("The shop is as it was before the upgrade."),
            hint=say("Keep this file and report the version numbers."),
        )


def _run_alembic(connection: Connection) -> None:
    from alembic import command  # a start without upgrade does not need it
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(_FOLDER))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
