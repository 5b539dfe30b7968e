"""Column types that mean the same on SQLite and PostgreSQL."""

from __future__ import annotations

import datetime as dt

from sqlalchemy import BigInteger, DateTime, Dialect, Integer
from sqlalchemy.types import TypeDecorator

BigId = BigInteger().with_variant(Integer, "sqlite")  # only INTEGER numbers itself on SQLite


class UtcDateTime(TypeDecorator[dt.datetime]):
    """A moment with zone.

    SQLite silently drops the offset of a plain timezone column, so a naive value is refused and an
    aware one is stored as UTC.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """Turn an aware moment into UTC; SQLite gets it without the zone that it cannot keep."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without zone cannot be stored")
        utc = value.astimezone(dt.UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(
        self, value: dt.datetime | None, dialect: Dialect
    ) -> dt.datetime | None:
        """Give the moment back as aware UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=dt.UTC) if value.tzinfo is None else value.astimezone(dt.UTC)
