"""Turns what a database says into the few kinds of trouble that a person is told about."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError
from sqlalchemy.orm.exc import StaleDataError

from framekeeper.domain.errors import Conflict, FramekeeperError, StorageTrouble
from framekeeper.domain.sentence import Sentence, say

# Known messages of SQLite and of PostgreSQL's SQLSTATE classes; anything else is a bug of ours.
_SQLITE: tuple[tuple[str, Sentence, Sentence], ...] = (
    (
        "database or disk is full",
        say("The disk is full."),
        say("Make space and try again."),
    ),
    (
        "database is locked",
        say("Another program is writing to this shop's file."),
        say("Wait a moment and try again."),
    ),
    (
        "readonly database",
        say("This shop's file or its folder may not be written to."),
        say("Ask for the right to write there, or move the shop."),
    ),
    (
        "file is not a database",
        say("This file is not a Framekeeper shop."),
        say("Choose another file, or restore a backup."),
    ),
    (
        "malformed",
        say("This shop's file is damaged."),
        say("Restore a backup; the damaged file is kept."),
    ),
    (
        "unable to open database file",
        say("This shop's file cannot be opened."),
        say("Check that its folder exists and that you may read and write there."),
    ),
    (
        "disk I/O error",
        say("The disk reported an error."),
        say("Check the disk, then try again; a backup can be restored."),
    ),
)
_POSTGRES: tuple[tuple[str, Sentence, Sentence], ...] = (
    (
        "08",
        say("The connection to the shop's server is lost."),
        say("Check the network; what was typed is kept."),
    ),
    ("28", say("The server did not accept this name and password."), say("Check both.")),
    ("3D", say("There is no such shop on the server."), say("Check the address.")),
    (
        "42501",
        say("You do not have the right to do that in this shop."),
        say("Ask the person who keeps the shop's server."),
    ),
    ("53", say("The server has run out of room."), say("Ask the person who keeps it.")),
    ("57", say("The shop's server was stopped."), say("Try again when it is back.")),
    ("40", say("Two benches wrote at the same moment."), say("Try again.")),
    ("55P03", say("Another bench is writing to the same frame."), say("Try again.")),
)

# A refused connection carries no SQLSTATE, only the server's own words.
_POSTGRES_AT_THE_DOOR: tuple[tuple[str, Sentence, Sentence], ...] = (
    (
        'FATAL:  database "',
        say("There is no such shop on the server."),
        say("Check the address, or ask the person who keeps the server."),
    ),
    (
        "FATAL:  password authentication failed",
        say("The server did not accept this name and password."),
        say("Check both."),
    ),
    (
        'FATAL:  role "',
        say("The server did not accept this name and password."),
        say("Check both."),
    ),
)


@contextmanager
def told_plainly() -> Iterator[None]:
    """Translate known database errors; leave bugs as they are."""
    try:
        yield
    except StaleDataError as error:
        raise Conflict(
            say("Someone else changed this in the meantime."),
            hint=say("Look at it again, then repeat what you wanted to do."),
        ) from error
    except (OperationalError, DBAPIError) as error:
        known = _known(error)
        if known is None:
            raise
        raise known from error


def _known(error: DBAPIError) -> FramekeeperError | None:
    state = getattr(error.orig, "sqlstate", None) or ""
    for prefix, said, hint in _POSTGRES:
        if state.startswith(prefix):
            return StorageTrouble(said, hint=hint, kept=say("Nothing of this was saved."))
    text = str(error.orig)
    for part, said, hint in () if state else _POSTGRES_AT_THE_DOOR:
        if part in text:
            return StorageTrouble(said, hint=hint)
    if not state and "connection" in text and "psycopg" in type(error.orig).__module__:
        return StorageTrouble(
            say("The shop's server does not answer."), hint=say("Check the address and network.")
        )
    for part, said, hint in _SQLITE:
        if part in text:
            return StorageTrouble(said, hint=hint, kept=say("Nothing of this was saved."))
    if isinstance(error, IntegrityError) and _is_unique(state, text):
        return Conflict(
            say("Someone else recorded the same thing at the same moment."),
            hint=say("Look at it again, then repeat what you wanted to do."),
        )
    return None


def _is_unique(sqlstate: str, text: str) -> bool:
    return sqlstate == "23505" or "UNIQUE constraint failed" in text
