"""Reads a shop's register, as shops really keep it, into plain facts about frames and readings."""

from __future__ import annotations

import dataclasses
import datetime as dt
import itertools
from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final, cast

from framekeeper.domain.errors import NotValid
from framekeeper.domain.mesh_names import MeshName
from framekeeper.domain.sentence import Sentence, say
from framekeeper.formats.register_columns import Layout, find_layout
from framekeeper.formats.register_record import (
    FrameRow,
    Problem,
    ReadingRow,
    RegisterDefaults,
    RegisterFile,
)
from framekeeper.formats.register_rows import Findings, FoundRow, TableReader
from framekeeper.formats.table_shape import Table
from framekeeper.formats.tables import read_tables

__all__ = [
    "FrameRow",
    "Problem",
    "ReadingRow",
    "RegisterDefaults",
    "RegisterFile",
    "read_register",
    "register_of",
]

# These may differ from one reading of a frame to the next without contradicting each other.
_MAY_CHANGE: Final = frozenset({"note", "reclaims", "slot", "state"})


def read_register(path: Path, *, defaults: RegisterDefaults) -> RegisterFile:
    """Read frames and readings from a CSV, XLSX, XLS or ODS file.

    Raises
    ------
    NotValid
        The file is no table (see `read_tables`), or no sheet has a header that names frames.
    StorageTrouble
        The disk or the network refuses to give the file.
    """
    return register_of(read_tables(path), defaults=defaults)


def register_of(tables: Sequence[Table], *, defaults: RegisterDefaults) -> RegisterFile:
    """Read frames and readings from tables; every row that cannot be read becomes a problem.

    Raises
    ------
    NotValid
        No table has a header that names frames.
    """
    findings = Findings()
    layouts = _layouts(tables, defaults, findings)
    sized = [layout for layout in layouts if _tells_size(layout)]
    register = _Register(findings)
    # Sheets that describe frames come first, so that a frame is known by its fullest row.
    for layout in sorted(layouts, key=lambda found: not _tells_size(found)):
        describes = layout.holds_frames and (
            not layout.readings or not sized or _tells_size(layout)
        )
        for row in TableReader(layout, defaults, findings, describes).rows():
            register.add(row)
    problems = sorted(findings.problems, key=lambda problem: (problem.sheet, problem.row))
    return RegisterFile(
        frames=register.frames(defaults),
        readings=tuple(register.readings),
        problems=tuple(problems),
        skipped_blank_rows=findings.blank_rows,
        columns=MappingProxyType({layout.table.name: layout.found() for layout in layouts}),
        notes=(*_notes_about_files(tables), *findings.notes, *_guesses(findings)),
    )


def _layouts(
    tables: Sequence[Table], defaults: RegisterDefaults, findings: Findings
) -> list[Layout]:
    layouts = []
    for table in tables:
        layout = find_layout(table, day_first=defaults.day_first, today=defaults.today)
        if layout is not None:
            layouts.append(layout)
            if layout.date_is_of_stretch:
                findings.notes.append(
                    say(
                        "The dates in “{header}” were taken as the days of stretching.",
                        header=layout.columns["stretched"].header,
                    )
                )
            findings.notes.extend(
                say("The column “{header}” was not used.", header=header)
                for header in layout.unused
            )
        elif table.rows:
            findings.notes.append(
                say("The sheet “{sheet}” holds no header of frames.", sheet=table.name)
            )
    if not layouts:
        raise NotValid(
            say("No row names the columns of a register."),
            hint=say("Put a row with words such as frame, size, mesh, tension and date on top."),
        )
    return layouts


def _tells_size(layout: Layout) -> bool:
    return "size" in layout.columns or "width" in layout.columns


class _Register:
    """Brings the rows of all sheets together, one frame for each name."""

    def __init__(self, findings: Findings) -> None:
        self._findings = findings
        self._first: dict[str, FoundRow] = {}
        self._facts: dict[str, dict[str, object]] = {}
        self._surveys: dict[tuple[object, ...], int] = {}
        self._latest: dict[str, dt.date] = {}
        self._seen: set[tuple[object, ...]] = set()
        self.readings: list[ReadingRow] = []

    def add(self, row: FoundRow) -> None:
        """Take in what the row tells that is new; a contradiction or a repetition is a problem."""
        key = (row.code or row.own_label).casefold()
        fresh = [reading for reading in row.readings if self._is_new(key, reading)]
        first = self._first.get(key)
        refused = self._findings.refused_frames.get(key)
        if first is None and refused is not None and not row.facts:
            self._report(
                row, say("Row {row} of this frame cannot be read, so this stays out.", row=refused)
            )
            return
        if not row.describes_frame:
            if row.readings and not fresh and not row.has_bad_reading:
                self._report(row, say("The same reading of this frame stands further up."))
        elif first is None and row.facts:
            self._first[key], self._facts[key] = row, dict(row.facts)
        elif first is not None:
            if self._contradicts(row, first, key, has_news=bool(fresh)):
                return
            news = self._news(key, row)
            if not fresh and not news and not row.has_bad_reading:
                self._report(row, say("The frame stands in row {row} already.", row=first.row))
                return
            self._facts[key].update(news)
        for reading in fresh:
            self._latest[key] = max(reading.on, self._latest.get(key, reading.on))
            self._seen.add(_identity(key, reading))
            if row.is_one_point:
                self._add_point(row, key, reading)
            else:
                self.readings.append(reading)

    def _add_point(self, row: FoundRow, key: str, reading: ReadingRow) -> None:
        """Bring the points of one frame and day together into one reading."""
        survey = (key, reading.on, reading.meter)
        place = self._surveys.setdefault(survey, len(self.readings))
        if place == len(self.readings):
            self.readings.append(reading)
            return
        known = self.readings[place]
        try:
            self.readings[place] = dataclasses.replace(
                known,
                warp=_joined(known.warp, reading.warp),
                weft=_joined(known.weft, reading.weft),
                not_told=_joined(known.not_told, reading.not_told),
            )
        except NotValid as twice:
            self._report(row, cast("Sentence", twice.said))

    def frames(self, defaults: RegisterDefaults) -> tuple[FrameRow, ...]:
        """The frames in the order of the file."""
        rows = []
        for key, row in self._first.items():
            facts = {"frame_kind": defaults.frame_kind, **self._facts[key]}
            rows.append(
                FrameRow(row.row, row.sheet, row.own_label, row.code, **facts)  # type: ignore[arg-type]
            )
        return tuple(rows)

    def _is_new(self, key: str, reading: ReadingRow) -> bool:
        return _identity(key, reading) not in self._seen

    def _news(self, key: str, row: FoundRow) -> dict[str, object]:
        """The facts that are new; what may change is taken from the row with the latest reading."""
        known = self._facts[key]
        days = [reading.on for reading in row.readings]
        is_older = key in self._latest and bool(days) and max(days) < self._latest[key]
        return {
            fact: value
            for fact, value in row.facts.items()
            if known.get(fact) != value and not (is_older and fact in known)
        }

    def _contradicts(self, row: FoundRow, first: FoundRow, key: str, *, has_news: bool) -> bool:
        """Report a fact that the frame's first row tells otherwise."""
        known = self._facts[key]
        for fact, value in row.facts.items():
            before = known.get(fact, value)
            if has_news and fact in _MAY_CHANGE:
                continue
            if _compared(before) != _compared(value):
                self._report(
                    row,
                    say(
                        "Row {row} tells otherwise about this frame: {before} there, {here} here.",
                        row=first.row,
                        before=_shown(before),
                        here=_shown(value),
                    ),
                )
                return True
        return False

    def _report(self, row: FoundRow, reason: Sentence) -> None:
        self._findings.problems.append(
            Problem(row.sheet, row.row, row.name_column, row.own_label or row.code, reason)
        )


def _joined(
    known: tuple[float | None, ...], more: tuple[float | None, ...]
) -> tuple[float | None, ...]:
    points = []
    for before, here in itertools.zip_longest(known, more):
        if before is not None and here is not None:
            raise NotValid(say("This point of the reading stands further up."))
        points.append(here if before is None else before)
    return tuple(points)


def _identity(key: str, reading: ReadingRow) -> tuple[object, ...]:
    return (key, reading.on, reading.warp, reading.weft, reading.not_told, reading.meter)


def _compared(fact: object) -> object:
    if isinstance(fact, MeshName):
        return (round(fact.threads_per_cm, 2), fact.thread_um, fact.colour)
    return fact.casefold() if isinstance(fact, str) else fact


def _shown(fact: object) -> str:
    return fact.name if isinstance(fact, MeshName) else str(fact)


def _notes_about_files(tables: Sequence[Table]) -> tuple[Sentence, ...]:
    notes = []
    names = {";": "semicolon", ",": "comma", "\t": "tab", "|": "bar"}
    for table in tables:
        if table.encoding:
            notes.append(
                say(
                    "The text was read as {encoding}, its cells parted by {delimiter}.",
                    encoding=table.encoding,
                    delimiter=names[table.delimiter],
                )
            )
        if table.is_hidden:
            notes.append(say("The hidden sheet “{sheet}” was not read.", sheet=table.name))
    return tuple(notes)


def _guesses(findings: Findings) -> tuple[Sentence, ...]:
    notes = []
    if findings.decimal_commas:
        notes.append(say("Numbers with a comma were read as decimals."))
    if findings.guessed_sizes:
        notes.append(
            say(
                "The unit of {count} sizes was guessed from the numbers: inch up to 80, else mm.",
                count=findings.guessed_sizes,
            )
        )
    if findings.guessed_counts:
        notes.append(
            say(
                "Whether the mesh is counted per inch or per cm was guessed in {count} rows.",
                count=findings.guessed_counts,
            )
        )
    return tuple(notes)
