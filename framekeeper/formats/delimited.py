"""Reads a CSV file whose encoding and delimiter nobody told us.

`csv.Sniffer` is not asked: it takes the first characters that repeat, and in a file with decimal
commas between semicolons those are the commas.
"""

from __future__ import annotations

import codecs
import csv
import io
import itertools
import re
from collections import Counter
from collections.abc import Iterator
from typing import Final

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.table_shape import Cell, Table, refuse_extent, trimmed

DELIMITERS: Final = (";", "\t", ",", "|")
_SAMPLE_RECORDS: Final = 200
# A note may hold a few line ends; a cell with more is a quotation mark that nobody closed.
_MAX_LINES_IN_CELL: Final = 50
_NO_TEXT = re.compile("[\x00-\x08\x0e-\x1f]")
_DELIMITER_HINT = re.compile(r"sep=(.)(?=\r?\n|\r|$)", re.IGNORECASE)


def read_delimited(data: bytes, *, name: str) -> Table:
    """Read a text file; a first line such as "sep=;" is obeyed and counts as a blank row."""
    text, encoding = _decode(data)
    hint = _DELIMITER_HINT.match(text)
    if hint and hint.group(1) in DELIMITERS:
        delimiter, text = hint.group(1), text[hint.end() :]
    else:
        delimiter = _find_delimiter(text)
    rows: list[tuple[Cell, ...]] = []
    cells = 0
    try:
        for number, record in enumerate(_closed_records(text, delimiter), start=1):
            row = trimmed(record)
            cells += len(row)
            refuse_extent(number, len(row), cells)
            _refuse_open_quote(number, record)
            rows.append(row)
    except csv.Error as broken:
        raise NotValid(
            say("Row {row} cannot be taken apart into cells.", row=len(rows) + 1),
            hint=say("Look for a stray quotation mark in that row."),
        ) from broken
    return Table(name, tuple(rows), encoding=encoding, delimiter=delimiter)


def _decode(data: bytes) -> tuple[str, str]:
    """The text and the name of its encoding; what holds control characters is no text."""
    for encoding in _candidates(data):
        try:
            text = data.decode(encoding).removeprefix("\ufeff").rstrip("\x1a")
        except UnicodeDecodeError:
            continue
        if not _NO_TEXT.search(text):
            return text, encoding
    raise NotValid(
        say("The file is not a table: it is neither text nor a workbook."),
        hint=say("Save the register as CSV, XLSX, XLS or ODS and choose that file."),
    )


def _candidates(data: bytes) -> tuple[str, ...]:
    if data.startswith(codecs.BOM_UTF8):
        return ("utf-8-sig",)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return ("utf-16",)
    # Text in UTF-16 without its mark has a zero in every second byte wherever it is Latin.
    sample = data[:4096]
    if len(data) % 2 == 0 and sample[1::2].count(0) * 2 > len(sample) // 2:
        return ("utf-16-le",)
    if len(data) % 2 == 0 and sample[::2].count(0) * 2 > len(sample) // 2:
        return ("utf-16-be",)
    return ("utf-8", "cp1252")


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)


def _closed_records(text: str, delimiter: str) -> Iterator[list[str]]:
    """The records; refuses one that is still open at the end of the file.

    Such a record swallowed every row after its quotation mark, and those rows would be lost.
    """
    ended = False

    def lines() -> Iterator[str]:
        nonlocal ended
        yield from io.StringIO(text, newline="")
        ended = True

    for number, record in enumerate(csv.reader(lines(), delimiter=delimiter), start=1):
        if ended:  # the reader asked for one more line before it gave this record
            raise _open_quote(number)
        yield record


def _find_delimiter(text: str) -> str:
    """The delimiter that cuts most records into the same, largest number of cells."""
    return max(DELIMITERS, key=lambda delimiter: _evenness(text, delimiter))


def _evenness(text: str, delimiter: str) -> float:
    """Cells of the commonest record, times the share of records that have as many."""
    widths: Counter[int] = Counter()
    try:
        for record in itertools.islice(_records(text, delimiter), _SAMPLE_RECORDS):
            if any(cell.strip() for cell in record):
                widths[len(record)] += 1
    except csv.Error:
        return 0.0
    several = [(count, width) for width, count in widths.items() if width > 1]
    if not several:
        return 0.0
    return max(width * count for count, width in several) / widths.total()


def _refuse_open_quote(number: int, record: list[str]) -> None:
    if any(cell.count("\n") > _MAX_LINES_IN_CELL for cell in record):
        raise _open_quote(number)


def _open_quote(number: int) -> NotValid:
    return NotValid(
        say("A quotation mark in row {row} is never closed.", row=number),
        hint=say("Close or remove it in the file."),
    )
