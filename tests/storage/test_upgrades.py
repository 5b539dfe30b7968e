"""Shops that earlier revisions wrote: opened, upgraded, and none the worse for it.

`tests/data/shops` holds one full shop for each revision, as SQL of its SQLite file and as the
export that the program of that revision wrote.
"""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, create_engine, inspect, text

from framekeeper.domain.records import FrameFilter
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.storage import migrate
from framekeeper.storage.guards import install_guards
from framekeeper.storage.journal_tables import APPEND_ONLY
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock

SHOPS = Path(__file__).parents[1] / "data" / "shops"
OLDER = sorted(path.stem for path in SHOPS.glob("*.sql"))
NOW = dt.datetime(2026, 6, 1, 7, 0, tzinfo=dt.UTC)


@pytest.fixture(params=OLDER)
def old_file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A shop's file as that revision left it."""
    path = tmp_path / "old.db"
    with sqlite3.connect(path) as connection:
        connection.executescript((SHOPS / f"{request.param}.sql").read_text(encoding="utf-8"))
    connection.close()
    return path


def test_every_revision_but_the_newest_is_kept() -> None:
    assert (*OLDER, migrate.HEAD) == migrate.KNOWN


def _content(path: Path) -> dict[str, list[tuple[object, ...]]]:
    with sqlite3.connect(path) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        content = {
            name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for (name,) in names
        }
    connection.close()
    return content


def test_what_it_held_is_there_and_sound(old_file: Path) -> None:
    before = _content(old_file)
    shop = Shop.open(old_file)
    assert shop.check(now=NOW) == []
    with shop.read() as reader:
        frames = reader.frames(FrameFilter(with_retired=True))
        meshes = reader.mesh_types(with_hidden=True)
    shop.close()
    assert len(frames) == len(before["frame"])
    assert {m.rules.risk for m in meshes} == {0.04}
    assert {m.rules.longest_wait_days for m in meshes} == {42}
    after = _content(old_file)
    for name, rows in before.items():
        if name != "alembic_version":  # new columns come last
            kept = [row[: len(old)] for old, row in zip(rows, after[name], strict=True)]
            assert kept == rows, name


def test_it_can_be_worked_with(old_file: Path) -> None:
    shop = Shop.open(old_file)
    desk = Desk(shop, FakeClock(NOW))
    assert forecasts.refresh(desk).outlooks > 0
    assert shop.check(now=NOW) == []
    shop.close()


def test_an_upgraded_schema_is_that_of_a_new_shop(old_file: Path, tmp_path: Path) -> None:
    Shop.open(old_file).close()
    Shop.open(tmp_path / "new.db").close()
    old, new = (_schema(path) for path in (old_file, tmp_path / "new.db"))
    assert old == new


@pytest.mark.parametrize("revision", OLDER)
def test_a_shop_on_a_server_is_upgraded_like_a_file(
    revision: str, bare_postgres_url: str, postgres_url: str
) -> None:
    held = _fill_server(bare_postgres_url, revision)
    shop = Shop.open(bare_postgres_url)
    assert shop.check(now=NOW) == []
    assert forecasts.refresh(Desk(shop, FakeClock(NOW))).outlooks > 0
    with shop.read() as reader:
        assert len(reader.frames(FrameFilter(with_retired=True))) == len(held["frame"])
        meshes = reader.mesh_types(with_hidden=True)
        assert {(m.rules.risk, m.rules.longest_wait_days) for m in meshes} == {(0.04, 42)}
    new = Shop.open(postgres_url)
    assert _tables(shop) == _tables(new)
    new.close()
    shop.close()


def _fill_server(url: str, revision: str) -> dict[str, list[dict[str, object]]]:
    """Make the shop that a program of that revision would have on a server."""
    from alembic import command
    from alembic.config import Config

    held = json.loads((SHOPS / f"{revision}.json").read_text(encoding="utf-8"))["tables"]
    engine = create_engine(url)
    with engine.begin() as connection:
        config = Config()
        config.set_main_option("script_location", str(Path(migrate.__file__).parent / "migrations"))
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
        install_guards(connection, APPEND_ONLY)
        for name, rows in held.items():  # in the order in which they rest on each other
            for row in rows:
                columns = ", ".join(f'"{column}"' for column in row)
                places = ", ".join(f":{column}" for column in row)
                connection.execute(text(f"INSERT INTO {name} ({columns}) VALUES ({places})"), row)
    engine.dispose()
    return dict(held)


def _schema(path: Path) -> dict[str, object]:
    shop = Shop.open(path)
    schema = _tables(shop)
    with shop.engine.connect() as connection:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
        schema["triggers"] = connection.exec_driver_sql(query).fetchall()
    shop.close()
    return schema


def _tables(shop: Shop) -> dict[str, object]:
    inspector = inspect(shop.engine)
    schema: dict[str, object] = {}
    for table in inspector.get_table_names():
        columns = [(c["name"], str(c["type"]), c["nullable"]) for c in inspector.get_columns(table)]
        schema[table] = (
            sorted(columns),
            sorted((c["name"] or "", c["sqltext"]) for c in inspector.get_check_constraints(table)),
            sorted(str(k) for k in inspector.get_foreign_keys(table)),
            sorted(str(i) for i in inspector.get_indexes(table)),
        )
    return schema


class Stopped(Exception):
    """Stands for any trouble in the middle of an upgrade."""


def test_an_upgrade_that_fails_at_any_statement_leaves_the_file_as_it_was(
    old_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = old_file.read_bytes()
    real: Any = Connection.execute
    steps = 0

    def stop_at(step: int) -> Callable[..., object]:
        done = 0

        def counted(self: Connection, *args: object, **options: object) -> object:
            nonlocal done
            done += 1
            if done == step:
                raise Stopped
            return real(self, *args, **options)

        return counted

    while True:
        steps += 1
        with monkeypatch.context() as patched:
            patched.setattr(Connection, "execute", stop_at(steps))
            try:
                Shop.open(old_file).close()
            except Stopped:
                assert old_file.read_bytes() == before, steps
                continue
            break
    assert steps > 20


@pytest.mark.parametrize("revision", OLDER)
def test_an_export_of_an_older_program_is_read(revision: str, shop: Shop) -> None:
    with (SHOPS / f"{revision}.json").open(encoding="utf-8") as source:
        shop.read_rows(source, now=NOW)
    with shop.read() as reader:
        meshes = reader.mesh_types(with_hidden=True)
        assert {m.rules.risk for m in meshes} == {0.04}
        assert reader.counts()["readings"] > 100
