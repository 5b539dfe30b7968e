"""Finds out how large a packed workbook would become, before anything is built from it.

The library that reads workbooks builds the whole rectangle between the first and the last cell of
a sheet, so one cell in the far corner of a file of a few kB would ask for more memory than there
is, and the program would end there and then.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Callable, Iterator
from typing import IO, Final
from xml.parsers import expat

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.table_shape import refuse_extent

MAX_UNPACKED_BYTES: Final = 256 * 1024 * 1024
MAX_PARTS: Final = 5000
_CHUNK: Final = 1 << 20
_MOST_REPEATS: Final = 1_048_576  # the rows of the largest sheet that any office program makes
_LONGEST_NUMBER: Final = 7


def damaged() -> NotValid:
    """What is said about a workbook that cannot be read."""
    return NotValid(
        say("The workbook is damaged or cut off."),
        hint=say("Open it in the program that made it, save it again, and choose that file."),
    )


def refuse_large_workbook(data: bytes) -> None:
    """Refuse what is no workbook, is cut off, or would become larger than a register can be."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            unpacked = sum(part.file_size for part in parts)
            if unpacked > MAX_UNPACKED_BYTES or len(parts) > MAX_PARTS:
                raise NotValid(
                    say(
                        "The workbook unpacks to {size:.0f} MiB; at most {limit:.0f} are read.",
                        size=unpacked / 1024**2,
                        limit=MAX_UNPACKED_BYTES / 1024**2,
                    ),
                    hint=say("Choose the register itself, or save it as CSV."),
                )
            _look_at_sheets(packed, parts)
    except NotValid:
        raise
    # RuntimeError is what zipfile says to a password, NotImplementedError to unknown packing.
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError) as broken:
        raise damaged() from broken


def _look_at_sheets(packed: zipfile.ZipFile, parts: list[zipfile.ZipInfo]) -> None:
    names = {part.filename.lower() for part in parts}
    if "xl/workbook.xml" in names:
        for part in parts:  # every part, because a workbook may give a sheet any name
            with packed.open(part) as sheet:
                _Xlsx().refuse_large(_chunks(sheet, part.file_size))
    elif "content.xml" in names:
        for part in parts:
            if part.filename.lower() == "content.xml":
                with packed.open(part) as content:
                    _Ods().refuse_large(_chunks(content, part.file_size))
    else:
        raise NotValid(
            say("The file is packed, but it is no XLSX or ODS workbook."),
            hint=say("Save the register as XLSX, ODS or CSV and choose that file."),
        )


def _chunks(part: IO[bytes], told_bytes: int) -> Iterator[bytes]:
    """The part piece by piece; one that holds more than its entry told is a trap."""
    taken = 0
    while chunk := part.read(_CHUNK):
        taken += len(chunk)
        if taken > told_bytes:
            raise damaged()
        yield chunk


def _follow(
    chunks: Iterator[bytes],
    start: Callable[[str, dict[str, str]], None],
    end: Callable[[str], None] | None = None,
) -> None:
    """Walk through the elements of an XML part."""
    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.StartDoctypeDeclHandler = _refuse_doctype
    for chunk in chunks:
        parser.Parse(chunk, False)
    parser.Parse(b"", True)


def _refuse_doctype(*_declared: object) -> None:
    raise damaged()  # entities can unpack without end, and no office program writes them


class _Xlsx:
    """Follows the addresses of rows and cells in one part of an XLSX file."""

    def __init__(self) -> None:
        self._rows = self._columns = 0
        self._is_sheet = False

    def refuse_large(self, chunks: Iterator[bytes]) -> None:
        try:
            _follow(chunks, self._start)
        except expat.ExpatError as broken:
            if self._is_sheet:
                raise damaged() from broken
            # A picture or a program; it holds no cells.

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        kind = tag.rpartition(":")[2]
        self._is_sheet = self._is_sheet or kind in ("sheetData", "worksheet")
        address = attributes.get("r") if kind in ("row", "c") else None
        if address is None:
            return
        digits = address.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")
        letters = address[: len(address) - len(digits)]
        if not digits.isdecimal() or max(len(digits), len(letters)) > _LONGEST_NUMBER:
            raise damaged()
        self._rows = max(self._rows, int(digits))
        self._columns = max(self._columns, _column_number(letters))
        refuse_extent(self._rows, self._columns, self._rows * self._columns)


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


class _Ods:
    """Follows the rows and cells of an ODS file, whose cells may say "repeat me so many times"."""

    def __init__(self) -> None:
        self._rows = self._row_repeats = 0  # rows so far in this sheet
        self._filled_rows = 0  # up to the last row that holds something
        self._width = self._filled_width = self._columns = 0

    def refuse_large(self, chunks: Iterator[bytes]) -> None:
        try:
            _follow(chunks, self._start, self._end)
        except expat.ExpatError as broken:
            raise damaged() from broken

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        kind = tag.rpartition(":")[2]
        if kind == "table":
            self._rows = self._filled_rows = self._columns = 0
        elif kind == "table-row":
            self._row_repeats = _repeats(attributes, "number-rows-repeated")
            self._width = self._filled_width = 0
        elif kind in ("table-cell", "covered-table-cell"):
            self._width += _repeats(attributes, "number-columns-repeated")
            if any(name.endswith(("value-type", "formula")) for name in attributes):
                self._filled_width = self._width
        else:
            self._filled_width = self._width  # whatever stands inside a cell fills it

    def _end(self, tag: str) -> None:
        if tag.rpartition(":")[2] != "table-row":
            return
        self._rows += self._row_repeats
        if self._filled_width:
            self._filled_rows = self._rows
            self._columns = max(self._columns, self._filled_width)
        refuse_extent(self._filled_rows, self._columns, self._filled_rows * self._columns)


def _repeats(attributes: dict[str, str], ending: str) -> int:
    for name, value in attributes.items():
        if name.endswith(ending):
            if not value.isdecimal() or len(value) > _LONGEST_NUMBER or int(value) > _MOST_REPEATS:
                raise damaged()
            return int(value)
    return 1
