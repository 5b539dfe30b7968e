"""A file becomes rows with the row numbers that a person sees, or is refused with a sentence."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import os
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.formats import table_shape
from framekeeper.formats.tables import Table, read_tables, tables_from_bytes

TEXT = 'Rahmen;Größe;Spannung\n0012;23x31;24,5\n\n"A\n7";58x84 cm;25,0\n'
ROWS = (
    ("Rahmen", "Größe", "Spannung"),
    ("0012", "23x31", "24,5"),
    (),
    ("A\n7", "58x84 cm", "25,0"),
)

_ODS_NAMES = " ".join(
    f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{short}:1.0"'
    for short in ("office", "table", "text")
)


def xlsx(**sheets: list[list[object]]) -> bytes:
    """A workbook with these rows on these sheets."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if isinstance(cell, dt.date):
                        sheet.write_datetime(number, column, cell, day)
                    elif cell is not None:
                        sheet.write(number, column, cell)
    return data.getvalue()


def ods(rows_xml: str, *, before: str = "") -> bytes:
    """An ODS workbook whose only sheet has these rows."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
        packed.writestr(
            "content.xml",
            f"{before}<office:document-content {_ODS_NAMES}><office:body><office:spreadsheet>"
            f'<table:table table:name="Frames">{rows_xml}</table:table>'
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return data.getvalue()


def ods_cell(text: str, *, repeat: int = 1) -> str:
    return (
        f'<table:table-cell office:value-type="string" table:number-columns-repeated="{repeat}">'
        f"<text:p>{text}</text:p></table:table-cell>"
    )


def refusal(data: bytes) -> str:
    with pytest.raises(NotValid) as caught:
        tables_from_bytes(data)
    return caught.value.text()


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8-sig"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("cp1252", "cp1252"),
    ],
)
def test_encoding_is_found(encoding: str, told: str) -> None:
    """The same text in six encodings gives the same rows, and says what it was."""
    assert tables_from_bytes(TEXT.encode(encoding), name="shop") == (
        Table("shop", ROWS, encoding=told, delimiter=";"),
    )


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiter_is_found(delimiter: str, line_end: str) -> None:
    """Decimal commas, quoted delimiters and a title above do not mislead."""
    lines = [
        "Screens of the shop, by hand; kept since 2024",
        "",
        delimiter.join(["frame", "size", "tension", "note"]),
        *(
            delimiter.join([f"{n:03}", "23x31", f'"{n},5"', f'"a{delimiter} b"'])
            for n in range(1, 9)
        ),
    ]
    (table,) = tables_from_bytes(line_end.join(lines).encode())
    assert table.delimiter == delimiter
    assert table.rows[2] == ("frame", "size", "tension", "note")
    assert table.rows[10] == ("008", "23x31", "8,5", f"a{delimiter} b")


def test_told_delimiter_is_obeyed() -> None:
    """A first line "sep=|" decides, and row numbers still count it."""
    (table,) = tables_from_bytes(b"sep=|\r\na;b|c\r\n")
    assert table.rows == ((), ("a;b", "c"))


def test_one_column_is_a_table() -> None:
    """A list of names alone needs no delimiter."""
    (table,) = tables_from_bytes(b"frame\n0001\n0002")
    assert table.rows == (("frame",), ("0001",), ("0002",))


def test_workbook_keeps_row_numbers_and_types() -> None:
    """Rows above and columns before the data are kept; each sheet is a table; dates are dates."""
    day = dt.date(2025, 3, 12)
    data = xlsx(Frames=[[], [], [None, "frame", 230.0, day, True, "0012"]], Empty=[])
    assert tables_from_bytes(data) == (
        Table("Frames", ((), (), (None, "frame", 230.0, day, True, "0012"))),
        Table("Empty", ()),
    )


def test_hidden_sheet_is_not_read() -> None:
    """A hidden sheet is named and has no rows, since nobody sees them."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        book.add_worksheet("Seen").write(0, 0, "a")
        hidden = book.add_worksheet("Unseen")
        hidden.write(0, 0, "b")
        hidden.hide()
    assert tables_from_bytes(data.getvalue()) == (
        Table("Seen", (("a",),)),
        Table("Unseen", (), is_hidden=True),
    )


def test_ods_is_read() -> None:
    """An ODS sheet with repeated rows and cells, and the usual endless blank rows below."""
    row = f"<table:table-row>{ods_cell('frame')}{ods_cell('x', repeat=2)}</table:table-row>"
    blank = (
        '<table:table-row table:number-rows-repeated="1048570">'
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    )
    assert tables_from_bytes(ods(row + row + blank)) == (
        Table("Frames", (("frame", "x", "x"), ("frame", "x", "x"))),
    )


def test_file_is_known_by_its_bytes_not_its_name(tmp_path: Path) -> None:
    """A workbook named .csv is still a workbook, and a CSV file is named by its stem."""
    wrong = tmp_path / "register.csv"
    wrong.write_bytes(xlsx(Frames=[["frame", "size"]]))
    assert read_tables(wrong)[0].name == "Frames"
    text = tmp_path / "wall list.xlsx"
    text.write_bytes(b"frame,size\n")
    assert read_tables(text)[0].name == "wall list"


def test_two_gigabytes_are_refused_unread(tmp_path: Path) -> None:
    """A 2 GB file is refused by its size: at once, and without its bytes in memory."""
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        os.truncate(file.fileno(), 2 * 1024**3)
    code = (
        "import resource, sys; from pathlib import Path\n"
        "from framekeeper.formats.tables import read_tables\n"
        "resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30))\n"
        "try: read_tables(Path(sys.argv[1]))\n"
        "except ValueError as refused: print(refused)\n"
    )
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", code, str(large)], capture_output=True, text=True, check=True
    )
    assert done.stdout == "The file has 2048 MiB; a register has at most 64 MiB.\n"
    assert time.monotonic() - started < 8


@pytest.mark.parametrize("data", [b"", b"\n\n", b"  \r\n\t", bytes(100)])
def test_empty_file(data: bytes) -> None:
    assert "The file is empty." in refusal(data)


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.7\n\x00\x01\x02",
        b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
        b"\x7fELF\x02\x01\x01\x00",
        bytes(range(256)) * 8,
        b"frame,size\n" + b"\x81\x8d\xff",
    ],
)
def test_binary_file(data: bytes) -> None:
    assert "The file is not a table" in refusal(data)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    """What is not there, is a folder, or can be no name is refused by name."""
    with pytest.raises(NotValid, match="There is no file"):
        read_tables(tmp_path / "nothing.csv")
    with pytest.raises(NotValid, match="is not a file"):
        read_tables(tmp_path)
    with pytest.raises(NotValid, match="is not a name of a file"):
        read_tables(Path("a\x00b"))


@pytest.mark.parametrize("kept", [4, 30, 400, 3000, -1, -22])
def test_cut_off_workbook(kept: int) -> None:
    """A download that broke off is called damaged."""
    data = xlsx(Frames=[[f"{n}", "23x31", n * 1.5] for n in range(200)])
    assert "damaged or cut off" in refusal(data[:kept])


def test_zip_that_is_no_workbook() -> None:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        packed.writestr("readme.txt", "hello")
    assert "no XLSX or ODS" in refusal(data.getvalue())
    empty = io.BytesIO()
    zipfile.ZipFile(empty, "w").close()
    assert refusal(empty.getvalue())


def test_zip_bomb() -> None:
    """A small file that unpacks to 300 MiB is refused by what its entries say."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        with packed.open("xl/worksheets/sheet1.xml", "w") as sheet:
            for _ in range(300):
                sheet.write(bytes(1024**2))
    assert len(data.getvalue()) < 1024**2
    assert "unpacks to 300 MiB" in refusal(data.getvalue())


def test_zip_entry_that_lies_about_its_size() -> None:
    """An entry that unpacks to more than it tells is refused while it is looked at."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        packed.writestr("xl/worksheets/sheet1.xml", " " * 1_000_000)
    told = (1_000_000).to_bytes(4, "little")
    assert data.getvalue().count(told) == 2
    lying = data.getvalue().replace(told, (10).to_bytes(4, "little"))
    assert "damaged" in refusal(lying)


@pytest.mark.parametrize("address", ["XFD1048576", "A1048576", "A200001"])
def test_workbook_with_a_cell_in_its_far_corner(address: str) -> None:
    """One stray cell would make a table of 17 thousand million cells; it is refused beforehand."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        sheet.write("A1", "frame")
        sheet.write(address, "stray")
    assert "more than 200000 rows" in refusal(data.getvalue())


def test_ods_that_repeats_itself_without_end() -> None:
    """Repeated rows, cells and entities are counted before anything is built."""
    cell = ods_cell("a", repeat=100)
    rows = f'<table:table-row table:number-rows-repeated="1000000">{cell}</table:table-row>'
    assert "more than 200000 rows" in refusal(ods(rows))
    wide = f"<table:table-row>{ods_cell('a', repeat=16384)}</table:table-row>"
    assert "more than 300 columns" in refusal(ods(wide))
    rows = f'<table:table-row table:number-rows-repeated="100000">{cell}</table:table-row>'
    assert "more than 5000000 cells" in refusal(ods(rows))
    entity = '<!DOCTYPE a [<!ENTITY b "bbbbbbbb">]>'
    assert "damaged" in refusal(ods("", before=entity))
    assert "damaged" in refusal(ods(rows.replace("100000", "99999999999")))


@pytest.mark.parametrize(
    ("limit", "value", "told"),
    [("MAX_ROWS", 3, "rows"), ("MAX_COLUMNS", 2, "columns"), ("MAX_CELLS", 9, "cells")],
)
def test_bounds_at_the_limit(
    monkeypatch: pytest.MonkeyPatch, limit: str, value: int, told: str
) -> None:
    """A table exactly at each bound is read; one row, column or cell more is refused."""
    fits = {"MAX_ROWS": (3, 3), "MAX_COLUMNS": (5, 2), "MAX_CELLS": (3, 3)}[limit]
    over = {"MAX_ROWS": (4, 3), "MAX_COLUMNS": (5, 3), "MAX_CELLS": (5, 2)}[limit]
    monkeypatch.setattr(table_shape, limit, value)
    for rows, columns in (fits, over):
        cells: list[list[object]] = [["x"] * columns for _ in range(rows)]
        text = "\n".join(",".join(["x"] * columns) for _ in range(rows)).encode()
        for data in (text, xlsx(Frames=cells)):
            if (rows, columns) == fits:
                assert len(tables_from_bytes(data)[0].rows) == rows
            else:
                assert f"more than {value} {told}" in refusal(data)


def test_real_bounds() -> None:
    """200 000 rows of text pass, one more does not; nor does column 301."""
    assert len(tables_from_bytes(b"a\n" * 200_000)[0].rows) == 200_000
    assert "more than 200000 rows" in refusal(b"a\n" * 200_001)
    assert len(tables_from_bytes(b",".join([b"a"] * 300))[0].rows[0]) == 300
    assert "more than 300 columns" in refusal(b",".join([b"a"] * 301))


def test_quotation_mark_that_is_never_closed() -> None:
    """The row with the open mark is named, instead of a cell that swallows the file."""
    text = 'frame,note\n1,"open\n' + "2,fine\n" * 100
    assert "A quotation mark in row 2 is never closed." in refusal(text.encode())
    few = 'frame,note\n1,"closed\nhere"\n2,"open\n3,fine'
    assert "A quotation mark in row 3 is never closed." in refusal(few.encode())
    assert "Row 2 cannot be taken apart" in refusal(b'frame,note\n1,"' + b"x" * 200_000)


@settings(max_examples=300, deadline=None)
@given(
    start=st.sampled_from([b"", b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"\xff\xfe"]),
    rest=st.binary(max_size=2000),
)
def test_random_bytes_are_read_or_refused(start: bytes, rest: bytes) -> None:
    """No bytes whatever raise anything but NotValid."""
    with contextlib.suppress(NotValid):
        tables_from_bytes(start + rest)


_WHOLE = (
    xlsx(Frames=[["frame", "size"], ["1", 23.5]]),
    ods(f"<table:table-row>{ods_cell('frame')}</table:table-row>"),
)


@settings(max_examples=300, deadline=None)
@given(
    which=st.integers(0, 1),
    place=st.floats(0, 1, exclude_max=True),
    instead=st.binary(min_size=1, max_size=8),
)
def test_damaged_workbook_is_read_or_refused(which: int, place: float, instead: bytes) -> None:
    """A few wrong bytes anywhere in a workbook never raise anything but NotValid."""
    data = _WHOLE[which]
    start = int(place * len(data))
    with contextlib.suppress(NotValid):
        tables_from_bytes(data[:start] + instead + data[start + len(instead) :])
