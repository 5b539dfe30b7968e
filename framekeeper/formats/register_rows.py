"""Reads the rows of one table of a register into facts about frames and readings."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, TypeVar

from framekeeper.domain import codes
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.sizes import UNIT_WORDS, Size, read_size, size_of
from framekeeper.formats.register_columns import Layout
from framekeeper.formats.register_mesh import (
    colour_of,
    read_mesh_cell,
    read_thread,
    says_no_mesh,
    with_colour,
    with_thread,
)
from framekeeper.formats.register_points import Column, ReadingColumn
from framekeeper.formats.register_record import Problem, ReadingRow, RegisterDefaults
from framekeeper.formats.register_values import (
    DateStyle,
    date_style,
    is_blank,
    kind_of,
    read_date,
    read_kind,
    read_length,
    read_name,
    read_reclaims,
    read_state,
    read_tension,
    shown,
    state_of,
)
from framekeeper.formats.register_words import Meaning
from framekeeper.formats.table_shape import Cell

_LONGEST_NOTE: Final = 2000
_MOST_POINTS: Final = 100
_LONGEST_SHOWN: Final = 80
_DECIMAL_COMMA: Final = re.compile(r"\d,\d")

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One row: the frame that it names, the facts that it tells (none if bad), its readings."""

    row: int
    sheet: str
    name_column: str
    own_label: str
    code: str
    facts: Mapping[str, object]
    readings: tuple[ReadingRow, ...]
    describes_frame: bool
    has_bad_reading: bool  # already reported
    is_one_point: bool  # of a reading that the next rows go on with


@dataclass(slots=True)
class Findings:
    """What is collected beside the rows while a file is read."""

    problems: list[Problem] = field(default_factory=list)
    refused_frames: dict[str, int] = field(default_factory=dict)  # name, row
    blank_rows: int = 0
    guessed_sizes: int = 0
    guessed_counts: int = 0
    decimal_commas: int = 0
    notes: list[Sentence] = field(default_factory=list)


@dataclass(slots=True)
class TableReader:
    """Reads one table; `describes_frames` is the caller's, who sees the other sheets too."""

    layout: Layout
    defaults: RegisterDefaults
    findings: Findings
    describes_frames: bool
    styles: dict[int, DateStyle] = field(default_factory=dict)  # by column
    points: dict[str, int] = field(default_factory=dict)
    ignored: set[Meaning] = field(default_factory=set)

    def rows(self) -> list[FoundRow]:
        """Every row that can be read; the others become problems."""
        self._report_refused_columns()
        self._look_down_columns()
        header = self._cell(self.layout.name, self.layout.table.rows[self.layout.header_row - 1])
        found = []
        body = self.layout.table.rows[self.layout.header_row :]
        for number, cells in enumerate(body, start=self.layout.header_row + 1):
            if all(is_blank(cell) for cell in cells):
                self.findings.blank_rows += 1
            elif self._cell(self.layout.name, cells) != header:  # not the header once more
                row = self._row(number, cells)
                if row is not None:
                    found.append(row)
        return found

    def _report_refused_columns(self) -> None:
        for header, reason in self.layout.refused:
            self._problem(self.layout.header_row, header, header, reason)

    def _look_down_columns(self) -> None:
        """Decide what only a whole column can tell: the order of its dates, what its words mean."""
        body = self.layout.table.rows[self.layout.header_row :]
        columns = self.layout.columns
        dates = [columns.get("stretched"), columns.get("date")]
        for column in (*dates, *(reading.date_column for reading in self.layout.readings)):
            if column is not None and column.index not in self.styles:
                style = date_style(
                    (self._cell(column, row) for row in body), day_first=self.defaults.day_first
                )
                self.styles[column.index] = style
                if style.guessed:
                    self.findings.notes.append(self._date_guess(column.header))
        readers: dict[Meaning, Callable[[Cell], str | None]] = {
            "kind": kind_of,
            "state": state_of,
            "colour": colour_of,
        }
        for meaning, read in readers.items():
            column = columns.get(meaning)
            told = [c for row in body if not is_blank(c := self._cell(column, row))]
            if column is not None and told and not any(read(cell) for cell in told):
                self.ignored.add(meaning)
                self.findings.notes.append(
                    say("No word in the column “{header}” was understood.", header=column.header)
                )

    def _date_guess(self, header: str) -> Sentence:
        if self.defaults.day_first:
            return say("The dates in “{header}” were read with the day first.", header=header)
        return say("The dates in “{header}” were read with the month first.", header=header)

    def _row(self, number: int, cells: tuple[Cell, ...]) -> FoundRow | None:
        before = len(self.findings.problems)
        own_label, code = self._names(number, cells)
        facts = self._facts(number, cells) if self.describes_frames else {}
        if len(self.findings.problems) > before:
            self.findings.refused_frames.setdefault((code or own_label).casefold(), number)
            return None
        readings = self._readings(number, cells, own_label, code)
        has_bad_reading = len(self.findings.problems) > before
        if not facts and not readings and not has_bad_reading:
            self._problem(
                number,
                self.layout.name.header,
                own_label or code,
                say("The row names a frame and tells nothing about it."),
            )
            return None
        return FoundRow(
            number,
            self.layout.table.name,
            self.layout.name.header,
            own_label,
            code,
            facts,
            readings,
            self.describes_frames,
            has_bad_reading,
            "point" in self.layout.columns,
        )

    def _names(self, number: int, cells: tuple[Cell, ...]) -> tuple[str, str]:
        """The shop's own name or our code; what has the shape of a code must be a right one."""
        label = self._read(number, self.layout.name, cells, read_name) or ""
        code_column = self.layout.columns.get("code")
        code = self._read(number, code_column, cells, read_name) or ""
        if not label and not code and is_blank(self._cell(self.layout.name, cells)):
            self._problem(
                number, self.layout.name.header, "", say("The row does not name its frame.")
            )
            return "", ""
        if code_column is None and codes.looks_like_code(label):
            return "", self._read(number, self.layout.name, cells, _read_code) or ""
        if code:
            code = self._read(number, code_column, cells, _read_code) or ""
        return label, code

    def _facts(self, number: int, cells: tuple[Cell, ...]) -> dict[str, object]:
        """The facts that the row tells; blank cells tell none."""
        columns = self.layout.columns
        told: dict[str, object] = {}
        size = self._size(number, cells)
        if size is not None:
            told.update(width_mm=size.width_mm, height_mm=size.height_mm)
        told.update(self._mesh(number, cells))
        readers: tuple[tuple[Meaning, str, Callable[[Cell], object]], ...] = (
            ("target", "target_n_per_cm", read_tension),
            ("limit", "limit_n_per_cm", read_tension),
            ("reclaims", "reclaims", read_reclaims),
            (
                "stretched",
                "stretched_on",
                self._date_in(columns.get("stretched")),
            ),
            ("slot", "slot", read_name),
            ("note", "note", lambda cell: shown(cell)[:_LONGEST_NOTE]),
            ("kind", "frame_kind", read_kind),
            ("state", "state", read_state),
        )
        for meaning, fact, read in readers:
            if meaning not in self.ignored:
                value = self._read(number, columns.get(meaning), cells, read)
                if value is not None:
                    told[fact] = value
        return told

    def _size(self, number: int, cells: tuple[Cell, ...]) -> Size | None:
        columns = self.layout.columns
        column = columns.get("size")
        size = self._read(number, column, cells, lambda cell: self._one_size(column, cell))
        if size is None and "width" in columns and "height" in columns:
            both = (columns["width"], columns["height"])
            if not all(is_blank(self._cell(side, cells)) for side in both):
                size = self._read(
                    number,
                    columns["width"],
                    cells,
                    lambda cell: self._two_sides(cell, self._cell(columns["height"], cells)),
                    even_blank=True,
                )
        if size is not None and size.unit_is_a_guess:
            self.findings.guessed_sizes += 1
        return size

    def _one_size(self, column: Column | None, cell: Cell) -> Size:
        unit = (column.length_unit if column else None) or self.defaults.size_unit
        return read_size(shown(cell), unit=unit)

    def _two_sides(self, width: Cell, height: Cell) -> Size:
        if is_blank(width) or is_blank(height):
            raise NotValid(say("One side of the frame is missing."))
        (across, first), (along, second) = read_length(width), read_length(height)
        if first and second and first != second:
            raise NotValid(say("Width and height are in two units."))
        written = first or second
        if written and written not in UNIT_WORDS:
            raise NotValid(say("“{unit}” is not a unit of length here.", unit=written))
        told = UNIT_WORDS.get(written) or self.layout.columns["width"].length_unit
        return size_of(across, along, unit=told or self.defaults.size_unit)

    def _mesh(self, number: int, cells: tuple[Cell, ...]) -> dict[str, object]:
        columns = self.layout.columns
        column = columns.get("mesh")
        cell = self._cell(column, cells)
        if column is None or is_blank(cell):
            return {}
        if says_no_mesh(cell):
            return {"state": "bare"}
        unit = column.count_unit or self.defaults.count_unit
        mesh = self._read(
            number, column, cells, lambda found: read_mesh_cell(found, count_unit=unit)
        )
        if mesh is None:
            return {}
        known = mesh
        mesh = self._read(
            number, columns.get("thread"), cells, lambda um: with_thread(known, read_thread(um))
        )
        mesh = known = mesh or known
        if "colour" not in self.ignored:
            mesh = self._read(
                number, columns.get("colour"), cells, lambda word: with_colour(known, word)
            )
        mesh = mesh or known
        self.findings.guessed_counts += mesh.unit_is_a_guess
        return {"mesh_text": shown(cell), "mesh": mesh}

    def _readings(
        self, number: int, cells: tuple[Cell, ...], own_label: str, code: str
    ) -> tuple[ReadingRow, ...]:
        """One reading for the row's own date and one for each date that is a header."""
        by_day: dict[tuple[dt.date | None, Column | None], list[ReadingColumn]] = {}
        for column in self.layout.readings:
            if not is_blank(self._cell(column, cells)):
                by_day.setdefault((column.on, column.date_column), []).append(column)
        meter = self._read(number, self.layout.columns.get("meter"), cells, read_name) or ""
        readings = []
        for (day, date_column), columns in by_day.items():
            before = len(self.findings.problems)
            on = day or self._day_of_reading(number, cells, date_column)
            place = self._place(number, cells)
            values: dict[str, dict[int, float]] = {}
            for column in columns:
                value = self._read(number, column, cells, read_tension)
                if value is not None:
                    values.setdefault(column.direction, {})[column.point + place] = value
            if on is not None and len(self.findings.problems) == before:
                told = {direction: _points(points) for direction, points in values.items()}
                readings.append(
                    ReadingRow(
                        number, self.layout.table.name, own_label, code, on, meter=meter, **told
                    )
                )
        return tuple(readings)

    def _place(self, number: int, cells: tuple[Cell, ...]) -> int:
        """Where the row's point stands, in a list with one row for each point."""
        column = self.layout.columns.get("point")
        name = self._read(number, column, cells, read_name)
        if not name:
            return 0
        if not name.isdecimal():
            return self.points.setdefault(name.casefold(), len(self.points))
        if not 1 <= int(name[:4]) <= _MOST_POINTS:
            reason = say("Points are numbered from 1 to {most}.", most=_MOST_POINTS)
            self._problem(number, column.header if column else "", name, reason)
            return 0
        return int(name) - 1

    def _day_of_reading(
        self, number: int, cells: tuple[Cell, ...], column: Column | None
    ) -> dt.date | None:
        column = column or self.layout.columns.get("date")
        if column is None:
            day = self.defaults.undated_readings_on
            reason = say("The register has no column with the date of this reading.")
        else:
            if not is_blank(self._cell(column, cells)):
                return self._read(number, column, cells, self._date_in(column))
            day, reason = None, say("The reading has no date.")
        if day is None:
            self._problem(number, column.header if column else "", "", reason)
        return day

    def _date_in(self, column: Column | None) -> Callable[[Cell], dt.date]:
        """How to read a date in this column."""
        style = self.styles[column.index] if column else date_style((), day_first=True)
        return lambda cell: read_date(cell, style, today=self.defaults.today)

    def _cell(self, column: Column | ReadingColumn | None, cells: tuple[Cell, ...]) -> Cell:
        return cells[column.index] if column is not None and column.index < len(cells) else None

    def _read(
        self,
        number: int,
        column: Column | ReadingColumn | None,
        cells: tuple[Cell, ...],
        read: Callable[[Cell], T],
        *,
        even_blank: bool = False,
    ) -> T | None:
        """What the cell tells; None if it is blank, or bad, which becomes a problem."""
        cell = self._cell(column, cells)
        if column is None or (is_blank(cell) and not even_blank):
            return None
        if isinstance(cell, str) and _DECIMAL_COMMA.search(cell):
            self.findings.decimal_commas += 1
        try:
            return read(cell)
        except NotValid as refused:
            said = refused.said if isinstance(refused.said, Sentence) else say(refused.said)
            self._problem(number, column.header, shown(cell), said)
            return None

    def _problem(self, number: int, column: str, value: str, reason: Sentence) -> None:
        self.findings.problems.append(
            Problem(self.layout.table.name, number, column, value[:_LONGEST_SHOWN], reason)
        )


def _points(points: dict[int, float]) -> tuple[float | None, ...]:
    return tuple(points.get(place) for place in range(max(points) + 1))


def _read_code(cell: Cell) -> str:
    return codes.read_code(read_name(cell))
