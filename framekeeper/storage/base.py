"""The declarative base: every constraint has a name, on both databases."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal

from sqlalchemy import CheckConstraint, MetaData
from sqlalchemy.orm import DeclarativeBase

from framekeeper.storage.types import Money, UtcDateTime


class Base(DeclarativeBase):
    """All tables of a shop."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {dt.datetime: UtcDateTime, Decimal: Money}


def one_of(column: str, words: Iterable[str], *, name: str = "") -> CheckConstraint:
    """A CHECK that a text column holds one of the words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=name or column)
