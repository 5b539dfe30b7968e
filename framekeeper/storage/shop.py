"""A shop's database: made, opened, read and changed through this one door."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from sqlalchemy import Engine, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError, IntegrityError, NoSuchModuleError
from sqlalchemy.orm import Session

from framekeeper.domain.errors import NotValid, StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.storage import migrate
from framekeeper.storage.chronicle import Chronicle
from framekeeper.storage.derived import Derived
from framekeeper.storage.dump import read_rows, write_rows
from framekeeper.storage.engine import WRITES, looking_engine, open_engine, shop_url
from framekeeper.storage.errors import told_plainly
from framekeeper.storage.integrity import Finding, check_shop
from framekeeper.storage.reader import Reader
from framekeeper.storage.unit_of_work import Work


class Shop:
    """An open shop. Close it when done."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._writing = engine.execution_options(**WRITES)

    @classmethod
    def open(cls, place: str | Path) -> Shop:
        """Open the shop at a path or address; an empty place becomes an empty shop.

        Raises
        ------
        StorageTrouble
            If it cannot be opened, belongs to another program or to a newer version.
        """
        try:
            url = shop_url(place)
            if url.get_backend_name() not in ("sqlite", "postgresql"):
                raise ValueError(url.get_backend_name())
            _refuse_folder(url)
            engine = open_engine(url)
        except (ArgumentError, NoSuchModuleError, ValueError, OSError, RuntimeError) as refused:
            raise StorageTrouble(  # without the address: it may hold a password
                say("This is no address of a shop."),
                hint=say("Name a file, or an address such as postgresql://bench@server/shop."),
            ) from refused
        try:
            with told_plainly():
                revision = _look(url)
                if revision != migrate.HEAD:
                    migrate.upgrade(engine)
        except BaseException:
            engine.dispose()
            raise
        return cls(engine)

    @property
    def url(self) -> URL:
        """Where the shop lives."""
        return self._engine.url

    @property
    def is_file(self) -> bool:
        """Whether the shop is one SQLite file."""
        return self._engine.dialect.name == "sqlite"

    @property
    def engine(self) -> Engine:
        """The engine, for backup and integrity checks within storage."""
        return self._engine

    @contextmanager
    def read(self) -> Iterator[Reader]:
        """Ask questions within one transaction."""
        with told_plainly(), Session(self._engine) as session:
            yield Reader(session)

    @contextmanager
    def work(self, action: str, *, by: str, now: dt.datetime) -> Iterator[Work]:
        """Open a change; without `commit()` nothing of it remains."""
        with told_plainly(), Session(self._writing, expire_on_commit=False) as session:
            yield Work(session, action=action, by=by, now=now)

    @contextmanager
    def chronicle(self, *, now: dt.datetime) -> Iterator[Chronicle]:
        """Open a change of many operations, each with its own time; all or nothing of it."""
        with told_plainly(), Session(self._writing, expire_on_commit=False) as session:
            yield Chronicle(session, now=now)

    @contextmanager
    def derived(self) -> Iterator[Derived]:
        """Open a change of what is only worked out; kept if the block ends in peace."""
        with told_plainly(), Session(self._writing) as session:
            yield Derived(session)
            session.commit()

    def check(self, *, now: dt.datetime) -> list[Finding]:
        """Check the file and the rules among its rows."""
        with told_plainly(), Session(self._engine) as session:
            return check_shop(session, now=now)

    def write_rows(self, out: IO[str]) -> int:
        """Write every row as JSON; return how many."""
        with told_plainly(), Session(self._engine) as session:
            return write_rows(session, out)

    def read_rows(self, source: IO[str], *, now: dt.datetime) -> int:
        """Read exported rows into this empty shop: all of them, or nothing.

        Raises
        ------
        NotValid
            If the file is no export, or its rows contradict each other.
        """
        with told_plainly(), Session(self._writing) as session:
            try:
                count = read_rows(session, source)
            except IntegrityError as error:
                raise _contradiction() from error
            if check_shop(session, now=now):
                raise _contradiction()
            session.commit()
            return count

    def answers(self) -> bool:
        """Say whether the database can be reached."""
        with told_plainly(), self._engine.connect() as connection:
            return connection.execute(text("SELECT 1")).scalar() == 1

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()


def _contradiction() -> NotValid:
    return NotValid(
        say("The rows of this export contradict each other."),
        hint=say("Use an export that was not edited by hand."),
    )


def _look(url: URL) -> str | None:
    """Find out what is there before a connection is made that changes anything."""
    engine = looking_engine(url)
    try:
        with engine.connect() as connection:
            return migrate.stored_revision(connection)
    finally:
        engine.dispose()


def _refuse_folder(url: URL) -> None:
    if url.get_backend_name() != "sqlite" or not url.database:
        return
    path = Path(url.database)
    if path.is_dir():
        raise StorageTrouble(
            say("{path} is a folder, not a shop.", path=path), hint=say("Name a file in it.")
        )
    if not path.parent.is_dir():
        raise StorageTrouble(
            say("The folder {path} does not exist.", path=path.parent),
            hint=say("Make it first, or choose another."),
        )
