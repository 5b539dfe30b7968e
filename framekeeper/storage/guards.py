"""Triggers that forbid to change or delete what was appended, on both databases."""

from __future__ import annotations

from sqlalchemy import Connection, text

_POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION framekeeper_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'rows of % are never changed or deleted', TG_TABLE_NAME;
END $$
"""


def install_guards(connection: Connection, tables: tuple[str, ...]) -> None:
    """Create the triggers anew; called after every upgrade, because a rebuilt table loses them."""
    if connection.dialect.name == "postgresql":
        connection.execute(text(_POSTGRES_FUNCTION))
    for table in tables:
        for verb in ("UPDATE", "DELETE"):
            _install(connection, table, verb)


def _install(connection: Connection, table: str, verb: str) -> None:
    name = f"keep_{table}_{verb.lower()}"
    if connection.dialect.name == "postgresql":
        connection.execute(text(f"DROP TRIGGER IF EXISTS {name} ON {table}"))
        connection.execute(
            text(
                f"CREATE TRIGGER {name} BEFORE {verb} ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION framekeeper_append_only()"
            )
        )
        return
    connection.execute(text(f"DROP TRIGGER IF EXISTS {name}"))
    connection.execute(
        text(
            f"CREATE TRIGGER {name} BEFORE {verb} ON {table} BEGIN "
            f"SELECT RAISE(ABORT, 'rows of {table} are never changed or deleted'); END"
        )
    )
