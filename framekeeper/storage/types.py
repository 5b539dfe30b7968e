"""Column types that mean the same on SQLite and PostgreSQL."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

from sqlalchemy import BigInteger, DateTime, Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator

BigId = BigInteger().with_variant(Integer, "sqlite")  # only INTEGER numbers itself on SQLite


class Money(TypeDecorator[Decimal]):
    """An amount of money, exact: stored as its digits, because SQLite knows no decimal numbers."""

    impl = Text
    cache_ok = True

    @property
    def python_type(self) -> type[Any]:
        """What a value of this column is in the program."""
        return Decimal

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """Write the digits without an exponent."""
        return None if value is None else f"{value:f}"

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        """Read the digits."""
        return None if value is None else Decimal(value)


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
