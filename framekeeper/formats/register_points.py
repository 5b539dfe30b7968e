"""Tells the columns of tensions of one table apart: direction, point, and day."""

from __future__ import annotations

import dataclasses
import datetime as dt
from dataclasses import dataclass
from typing import Final

from framekeeper.domain.events import Direction
from framekeeper.domain.mesh_names import CountUnit
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.sizes import UNIT_WORDS, LengthUnit
from framekeeper.formats.register_values import sag_has_no_formula
from framekeeper.formats.register_words import POSITION_WORDS, Meaning

_MEANS: Final = frozenset({"mean", "average", "mittel", "mittelwert", "promedio", "moyenne"})
_OTHER_UNITS: Final = frozenset({"kg", "kp", "lb", "lbs", "psi", "bar"})


@dataclass(frozen=True, slots=True)
class Column:
    """A column with one meaning; `index` counts from 0, `words` are those of its header."""

    index: int
    header: str
    words: tuple[str, ...]

    @property
    def length_unit(self) -> LengthUnit | None:
        """The unit of length that the header names."""
        if '"' in self.header:
            return "inch"
        return next((UNIT_WORDS[word] for word in self.words if word in UNIT_WORDS), None)

    @property
    def count_unit(self) -> CountUnit | None:
        """Whether the header says that mesh is counted per inch or per cm."""
        if "tpi" in self.words or self.length_unit == "inch":
            return "inch"
        return "cm" if self.length_unit == "cm" else None

    @property
    def number(self) -> str:
        """The number in the header that tells this column from its like, or nothing."""
        return next((word for word in self.words if word.isdecimal()), "")

    @property
    def position(self) -> str:
        """Where on the mesh the column was read: its number, or words such as "top left"."""
        return self.number or " ".join(word for word in self.words if word in POSITION_WORDS)


@dataclass(frozen=True, slots=True)
class Tension:
    """A column that says to hold tensions; `on` is set where its header is a date."""

    meaning: Meaning
    column: Column
    on: dt.date | None = None
    date_column: Column | None = None

    @property
    def has_own_date(self) -> bool:
        """Whether the readings need no column "date" for the whole row."""
        return self.on is not None or self.date_column is not None

    def dated_by(self, column: Column | None) -> Tension:
        """The same column with its date in a column of the same number."""
        return dataclasses.replace(self, date_column=column) if self.on is None else self


@dataclass(frozen=True, slots=True)
class ReadingColumn:
    """A column of tensions: a direction, a point (from 0), and where its date stands."""

    index: int
    header: str
    direction: Direction
    point: int
    on: dt.date | None  # the header itself is the date
    date_column: Column | None  # a column of its own; else the column "date" of the row


Refused = tuple[str, Sentence]  # header, reason


def reading_columns(
    tensions: list[Tension], *, today: dt.date, unused: list[str]
) -> tuple[tuple[ReadingColumn, ...], tuple[Refused, ...]]:
    """Give every column its direction and point; a mean beside its readings joins `unused`."""
    places: dict[str, int] = {}
    readings: list[ReadingColumn] = []
    refused: list[Refused] = []
    taken: set[tuple[object, ...]] = set()
    for tension in tensions:
        column = tension.column
        if len(tensions) > 1 and not _MEANS.isdisjoint(column.words):
            unused.append(column.header)
            continue
        reason = _refusal(tension, today)
        if reason is None:
            position = "" if tension.date_column else column.position
            direction: Direction = (
                tension.meaning if tension.meaning in ("warp", "weft") else "not_told"
            )
            point = places.setdefault(position, len(places))
            place = (direction, point, tension.on, tension.date_column)
            if place not in taken:
                taken.add(place)
                readings.append(
                    ReadingColumn(
                        column.index,
                        column.header,
                        direction,
                        point,
                        tension.on,
                        tension.date_column,
                    )
                )
                continue
            reason = say("Another column already holds the same point, direction and day.")
        refused.append((column.header, reason))
    return tuple(readings), tuple(refused)


def _refusal(tension: Tension, today: dt.date) -> Sentence | None:
    if "mm" in tension.column.words:
        return sag_has_no_formula()
    if not _OTHER_UNITS.isdisjoint(tension.column.words):
        return say("This column is not in N/cm.")
    if tension.on is not None and tension.on > today:
        return say("The date {day} lies in the future.", day=tension.on)
    return None
