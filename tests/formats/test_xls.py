"""XLS workbooks are read, and one whose cells lie too far out is refused before it is built.

The files are made here, byte by byte, because no library that we use writes this old format; the
layouts are those of [MS-CFB] and [MS-XLS], from memory, and the reading library agrees with them.
"""

from __future__ import annotations

import contextlib
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.formats.tables import Table, tables_from_bytes

Cell = tuple[int, int, str | float]
_END_OF_CHAIN, _FREE, _TABLE = 0xFFFFFFFE, 0xFFFFFFFF, 0xFFFFFFFD


def _record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def _cell(row: int, column: int, value: str | float) -> bytes:
    if isinstance(value, float):
        return _record(0x203, struct.pack("<HHHd", row, column, 0, value))
    text = value.encode("latin-1")
    return _record(0x204, struct.pack("<HHHHB", row, column, 0, len(text), 0) + text)


def _begin(kind: int) -> bytes:
    return _record(0x809, struct.pack("<HHHHII", 0x600, kind, 0xDBB, 0x7CC, 0, 6))


def workbook_stream(cells: list[Cell]) -> bytes:
    """One sheet "Frames" with these cells."""

    def head(start: int) -> bytes:
        sheet = struct.pack("<IBBBB", start, 0, 0, 6, 0) + b"Frames"
        return _begin(5) + _record(0x85, sheet) + _record(0x0A, b"")

    body = _begin(16) + b"".join(_cell(*cell) for cell in cells) + _record(0x0A, b"")
    return head(len(head(0))) + body


def _entry(name: str, kind: int, child: int, start: int, size: int) -> bytes:
    text = name.encode("utf-16-le") + b"\0\0" if name else b""
    links = struct.pack("<HBBIII", len(text), kind, 1, _FREE, _FREE, child)
    return text.ljust(64, b"\0") + links + bytes(36) + struct.pack("<IQ", start, size)


def _whole(data: bytes, size: int) -> bytes:
    return data.ljust(-(-len(data) // size) * size, b"\0")


def _run(first: int, count: int) -> list[int]:
    return [*range(first + 1, first + count), _END_OF_CHAIN]


def xls(cells: list[Cell], *, is_small: bool = False) -> bytes:
    """A compound file: table, directory, table of small sectors, then the workbook.

    A small stream, under 4096 bytes, lies in sectors of 64 bytes inside the root's own stream.
    """
    stream = workbook_stream(cells)
    if not is_small:
        stream = stream.ljust(4096, b"\0")
    sectors = len(_whole(stream, 512)) // 512
    small = _run(0, len(_whole(stream, 64)) // 64) if is_small else []
    table = [_TABLE, _END_OF_CHAIN, _END_OF_CHAIN, *_run(3, sectors)]
    root = _entry("Root Entry", 5, 1, *((3, len(stream)) if is_small else (_END_OF_CHAIN, 0)))
    book = _entry("Workbook", 2, _FREE, 0 if is_small else 3, len(stream))
    head = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(16)
    head += struct.pack("<HHHHH6x", 0x3E, 3, 0xFFFE, 9, 6)
    small_table = (2, 1) if is_small else (_END_OF_CHAIN, 0)
    head += struct.pack("<9I", 0, 1, 1, 0, 4096, *small_table, _END_OF_CHAIN, 0)
    head += struct.pack("<109I", 0, *[_FREE] * 108)
    parts = [
        struct.pack("<128I", *table, *[_FREE] * (128 - len(table))),
        root + book + _entry("", 0, _FREE, 0, 0) * 2,
        struct.pack("<128I", *small, *[_FREE] * (128 - len(small))),
        _whole(stream, 512),
    ]
    return head + b"".join(parts)


CELLS: list[Cell] = [(0, 0, "frame"), (0, 1, "size"), (2, 0, "0012"), (2, 1, 23.5)]


@pytest.mark.parametrize("is_small", [False, True])
def test_xls_is_read(is_small: bool) -> None:
    """Row numbers and leading zeros are kept, in large and in small streams."""
    assert tables_from_bytes(xls(CELLS, is_small=is_small)) == (
        Table("Frames", (("frame", "size"), (), ("0012", 23.5))),
    )


@pytest.mark.parametrize("is_small", [False, True])
@pytest.mark.parametrize(
    ("row", "column", "told"),
    [(65_535, 65_535, "300 columns"), (1, 300, "300 columns"), (65_535, 255, "5000000 cells")],
)
def test_xls_with_a_cell_far_out(row: int, column: int, told: str, is_small: bool) -> None:
    """The library would ask for 128 GiB and take the program with it; we refuse first."""
    data = xls([*CELLS, (row, column, "stray")], is_small=is_small)
    with pytest.raises(NotValid, match=f"more than {told}"):
        tables_from_bytes(data)


@pytest.mark.parametrize("kept", [8, 100, 600, 1500, 3000])
def test_cut_off_xls(kept: int) -> None:
    with pytest.raises(NotValid, match="damaged"):
        tables_from_bytes(xls(CELLS)[:kept])


def test_chain_that_comes_back_to_itself() -> None:
    """A directory whose next sector is itself is damage, not an endless file."""
    data = bytearray(xls(CELLS))
    struct.pack_into("<I", data, 512 + 4, 1)
    with pytest.raises(NotValid, match="damaged"):
        tables_from_bytes(bytes(data))


_WHOLE_FILES = (xls(CELLS), xls(CELLS, is_small=True))


@settings(max_examples=500, deadline=None)
@given(
    which=st.integers(0, 1), place=st.integers(0, 2600), instead=st.binary(min_size=1, max_size=4)
)
def test_damaged_xls_is_read_or_refused(which: int, place: int, instead: bytes) -> None:
    """A few wrong bytes anywhere never raise anything but NotValid."""
    data = _WHOLE_FILES[which]
    with contextlib.suppress(NotValid):
        tables_from_bytes(data[:place] + instead + data[place + len(instead) :])
