"""Finds out how large the sheets of an XLS file would become, before anything is built from them.

An XLS file is a small file system (a "compound file") that holds one stream of records; a record
of a cell tells its row and column in two bytes each. Layouts are those of the published
descriptions [MS-CFB] and [MS-XLS], written from memory and tried on files.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Final

from framekeeper.domain.errors import NotValid
from framekeeper.formats.table_shape import refuse_extent
from framekeeper.formats.workbook_extent import damaged

_HEADER_BYTES: Final = 512
_ENTRY_BYTES: Final = 128
_LAST_SECTOR: Final = 0xFFFFFFFA  # this and higher numbers are marks, not sectors
_STREAM, _ROOT = 2, 5
_SHEET, _END = 0x85, 0x0A
# Blank, number, label, boolean, string, formula, rich string, shared string, and short number.
_CELLS: Final = frozenset({
    0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x201, 0x203, 0x204, 0x205, 0x206, 0x406, 0xD6, 0xFD,
    0x7E, 0x27E,
})  # fmt: skip
_SEVERAL_CELLS: Final = frozenset({0xBD, 0xBE})  # their last column stands at the end


def refuse_large_xls(data: bytes) -> None:
    """Refuse a sheet whose farthest cell makes it larger than a register can be."""
    try:
        for stream in _CompoundFile(data).workbooks():
            sheets = [
                struct.unpack_from("<I", stream, place)[0]
                for record, place, length in _records(stream, 0)
                if record == _SHEET and length >= 4
            ]
            for start in (0, *sheets):
                _refuse_large_sheet(stream, start)
    except NotValid:
        raise
    except (struct.error, IndexError, ValueError) as broken:  # sectors that are not there
        raise damaged() from broken


def _refuse_large_sheet(stream: bytes, start: int) -> None:
    rows = columns = 0
    for record, place, length in _records(stream, start):
        if length >= 4 and record in _CELLS | _SEVERAL_CELLS:
            row, column = struct.unpack_from("<HH", stream, place)
            if record in _SEVERAL_CELLS:
                column = max(column, *struct.unpack_from("<H", stream, place + length - 2))
            rows, columns = max(rows, row + 1), max(columns, column + 1)
            refuse_extent(rows, columns, rows * columns)


def _records(stream: bytes, place: int) -> Iterator[tuple[int, int, int]]:
    """Kind, place and length of each record up to the end of the sheet that starts here."""
    while place + 4 <= len(stream):
        record, length = struct.unpack_from("<HH", stream, place)
        yield record, place + 4, length
        if record == _END:
            return
        place += 4 + length


class _CompoundFile:
    """The sectors of the file, and the chains that make streams of them."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        sector_power, small_power = struct.unpack_from("<HH", data, 30)
        if sector_power not in (9, 12) or small_power != 6:
            raise damaged()
        self._size, self._small_size = 1 << sector_power, 1 << small_power
        self._directory, self._smallest = struct.unpack_from("<I4xI", data, 48)
        (self._small_table,) = struct.unpack_from("<I", data, 60)
        self._next = self._table(self._sectors_of_table())

    def workbooks(self) -> Iterator[bytes]:
        """Every stream that a reader could take for the workbook."""
        directory = self._stream(self._directory)
        entries = [
            directory[place : place + _ENTRY_BYTES]
            for place in range(0, len(directory) - _ENTRY_BYTES + 1, _ENTRY_BYTES)
        ]
        for entry in entries:
            start, size = struct.unpack_from("<II", entry, 116)
            if entry[66] == _STREAM and _name(entry) in ("workbook", "book"):
                if size >= self._smallest:
                    yield self._stream(start)[:size]
                else:
                    yield self._small_stream(entries, start)[:size]

    def _sector(self, number: int) -> bytes:
        place = (number + 1) * self._size
        return self._data[place : place + self._size]

    def _sectors_of_table(self) -> list[int]:
        """The first 109 stand in the header, more in sectors that end with the next of them."""
        numbers = list(struct.unpack_from("<109I", self._data, 76))
        (more,) = struct.unpack_from("<I", self._data, 68)
        seen: set[int] = set()
        while more < _LAST_SECTOR and more not in seen:
            seen.add(more)
            *listed, more = self._table([more])
            numbers += listed
        used = [number for number in numbers if number < _LAST_SECTOR]
        if len(set(used)) < len(used):
            raise damaged()
        return used

    def _table(self, sectors: list[int]) -> tuple[int, ...]:
        data = b"".join(self._sector(number) for number in sectors)
        return struct.unpack(f"<{len(data) // 4}I", data[: len(data) // 4 * 4])

    def _stream(self, start: int) -> bytes:
        return b"".join(self._sector(number) for number in _chain(self._next, start))

    def _small_stream(self, entries: list[bytes], start: int) -> bytes:
        root = next((entry for entry in entries if entry[66] == _ROOT), None)
        if root is None:
            raise damaged()
        pool = self._stream(struct.unpack_from("<I", root, 116)[0])
        table = self._table(list(_chain(self._next, self._small_table)))
        step = self._small_size
        return b"".join(
            pool[number * step : (number + 1) * step] for number in _chain(table, start)
        )


def _chain(table: tuple[int, ...], start: int) -> Iterator[int]:
    """The sectors of one stream; a chain that comes back to itself is damage."""
    number, seen = start, set[int]()
    while number < _LAST_SECTOR:
        if number in seen:
            raise damaged()
        seen.add(number)
        yield number
        number = table[number]


def _name(entry: bytes) -> str:
    length = min(struct.unpack_from("<H", entry, 64)[0], 64)
    return entry[: max(length - 2, 0)].decode("utf-16-le", errors="replace").casefold()
