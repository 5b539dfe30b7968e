"""The database of a new shop: the same on both kinds, named, guarded, and as the tables say."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable

import pytest
from sqlalchemy import CheckConstraint, DateTime, create_engine, inspect, select, text
from sqlalchemy.exc import DBAPIError, IntegrityError

from framekeeper.services import check, register, stock
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type
from framekeeper.storage.base import Base
from framekeeper.storage.frame_columns import STATE_COLUMNS
from framekeeper.storage.journal_tables import APPEND_ONLY, DETAILS
from framekeeper.storage.shop import Shop
from framekeeper.storage.tables import Frame, Operation
from framekeeper.storage.types import UtcDateTime


def test_the_migrations_make_what_the_tables_describe(shop: Shop) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with shop.engine.connect() as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, Base.metadata) == []


def _plain(sql: str) -> str:
    return re.sub(r"[\s()\"]|::text|ARRAY|\[|\]", "", str(sql)).lower()


def test_the_checks_of_the_migrations_are_those_of_the_tables(sqlite_place: str) -> None:
    """The comparison above does not look into CHECK constraints."""
    shop = Shop.open(sqlite_place)
    wanted = {
        (table.name, check.name, _plain(str(check.sqltext)))
        for table in Base.metadata.sorted_tables
        for check in table.constraints
        if isinstance(check, CheckConstraint)
    }
    inspector = inspect(shop.engine)
    found = {
        (table, check["name"], _plain(check["sqltext"]))
        for table in inspector.get_table_names()
        for check in inspector.get_check_constraints(table)
    }
    shop.close()
    assert found == wanted
    assert len(wanted) > 25


@pytest.mark.postgres
def test_both_databases_carry_the_same_checks(sqlite_place: str, postgres_url: str) -> None:
    names = []
    for where in (sqlite_place, postgres_url):
        shop = Shop.open(where)
        inspector = inspect(shop.engine)
        names.append(
            {
                (table, check["name"])
                for table in inspector.get_table_names()
                for check in inspector.get_check_constraints(table)
            }
        )
        shop.close()
    assert names[0] == names[1]


def test_every_constraint_has_a_name(shop: Shop) -> None:
    inspector = inspect(shop.engine)
    for table in inspector.get_table_names():
        if table == "alembic_version":
            continue
        key = inspector.get_pk_constraint(table)
        if shop.is_file and Base.metadata.tables[table].dialect_options["sqlite"]["autoincrement"]:
            key["name"] = "SQLite numbers rows only where the key stands in the column itself"
        constraints = [
            key,
            *inspector.get_foreign_keys(table),
            *inspector.get_unique_constraints(table),
            *inspector.get_check_constraints(table),
            *inspector.get_indexes(table),
        ]
        assert all(c["name"] for c in constraints), table


def test_no_moment_is_stored_without_its_zone() -> None:
    """SQLite drops the offset of a plain column without a word."""
    for table in Base.metadata.sorted_tables:
        for column in table.columns:
            if isinstance(column.type, DateTime) or column.type.python_type is dt.datetime:
                assert isinstance(column.type, UtcDateTime), f"{table.name}.{column.name}"


def test_a_frame_has_a_column_for_all_that_is_folded() -> None:
    assert set(STATE_COLUMNS) <= {column.name for column in Frame.__table__.columns}


def test_a_naive_moment_is_refused(shop: Shop) -> None:
    naive = dt.datetime(2025, 3, 3, 10, 0)  # noqa: DTZ001
    with pytest.raises(Exception, match="without zone"), shop.engine.begin() as connection:
        connection.execute(
            Operation.__table__.insert(), {"action": "x", "subject": "y", "recorded_at": naive}
        )


def test_a_moment_of_any_zone_comes_back_as_the_same_moment(shop: Shop) -> None:
    there = dt.datetime(
        2025, 7, 1, 10, 0, 0, 123456, dt.timezone(dt.timedelta(hours=9, minutes=30))
    )
    table = Operation.__table__
    with shop.engine.begin() as connection:
        connection.execute(
            table.insert(),
            {"action": "x", "subject": "y", "by": "", "recorded_at": there, "is_undo": False},
        )
        (back,) = connection.execute(select(table.c.recorded_at)).scalars()
    assert back == there
    assert back.utcoffset() == dt.timedelta(0)


@pytest.fixture
def lived_in(desk: Desk) -> Desk:
    """A shop with at least one row in many of the tables that are only appended to."""
    add_mesh_type(desk, MeshTypeFacts("120-34"))
    stock.receive_roll(desk, stock.NewRoll("120-34", 1500, 30_000))
    found = register.FoundMesh("120-34", 3)
    (code,) = register.register(desk, [register.NewFrame(584.2, 787.4)], found=found).codes
    check.survey(desk, code, check.SurveyRequest((21.0,), (20.0,)))
    return desk


FILLED = (
    "operation", "event", "reading", "stock_move", "change_log", "detail_found_with_mesh",
    "detail_surveyed",
)  # fmt: skip


def test_every_table_of_the_journal_is_guarded() -> None:
    tables = {"operation", "event", "reading", "stock_move", "change_log"}
    assert set(APPEND_ONLY) == tables | {table.__tablename__ for table in DETAILS.values()}


@pytest.mark.parametrize("table", FILLED)
@pytest.mark.parametrize("verb", ["UPDATE", "DELETE"])
def test_what_was_appended_is_never_changed_or_deleted(
    lived_in: Desk, table: str, verb: str
) -> None:
    """Tried with plain SQL, as another program would."""
    key = {c.name for c in Base.metadata.tables[table].primary_key.columns}.pop()
    command = f"UPDATE {table} SET {key} = {key}" if verb == "UPDATE" else f"DELETE FROM {table}"
    with lived_in.shop.engine.connect() as connection:
        before = connection.execute(text(f"SELECT count(*) FROM {table}")).scalar()
        assert before
    with (
        pytest.raises(DBAPIError, match="never changed or deleted"),
        lived_in.shop.engine.begin() as connection,
    ):
        connection.execute(text(command))
    with lived_in.shop.engine.connect() as connection:
        assert connection.execute(text(f"SELECT count(*) FROM {table}")).scalar() == before


def test_every_guard_is_there_on_both_databases(shop: Shop) -> None:
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if shop.is_file
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    with shop.engine.connect() as connection:
        found = set(connection.execute(text(query)).scalars())
    assert found == {f"keep_{t}_{verb}" for t in APPEND_ONLY for verb in ("update", "delete")}


def test_a_row_cannot_point_at_nothing(shop: Shop) -> None:
    with pytest.raises(IntegrityError), shop.engine.begin() as connection:
        connection.execute(
            text(
                "INSERT INTO roll (code, mesh_type_id, lot, supplier, width_mm, is_hidden, version)"
                " VALUES ('R1', 999, '', '', 1500, false, 1)"
            )
        )


@pytest.mark.parametrize(
    ("pragma", "value"), [("foreign_keys", 1), ("synchronous", 2), ("busy_timeout", 5000)]
)
def test_every_connection_to_a_file_keeps_our_promises(
    sqlite_place: str, open_shop: Callable[[str], Shop], pragma: str, value: int
) -> None:
    shop = open_shop(sqlite_place)
    for _ in range(2):
        with shop.engine.connect() as connection:
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value
            connection.invalidate()


def test_a_check_refuses_a_word_that_the_trade_does_not_have(shop: Shop) -> None:
    with pytest.raises(IntegrityError), shop.engine.begin() as connection:
        connection.execute(
            text(
                "INSERT INTO frame (number, code, own_label, kind, width_mm, height_mm, profile,"
                " slot, version, state, prep_done, corners_settled, stretches,"
                " stretches_since_regrind, awaits_inbound_survey, reclaims, reclaims_known,"
                " reclaims_since_inspection, impressions, mesh_is_done, from_outside)"
                " VALUES (1, 'FK0001R', '', 'welded', 500, 600, '', '', 1, 'bare', '', false, 0,"
                " 0, false, 0, true, 0, 0, false, false)"
            )
        )


def test_the_engine_of_a_bare_file_would_not_keep_them(sqlite_place: str) -> None:
    """The other side of the test above: without our settings SQLite follows no link."""
    engine = create_engine(f"sqlite:///{sqlite_place}")
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 0
    engine.dispose()
