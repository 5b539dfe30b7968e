"""The mesh order as a workbook: numbers as numbers, and no text that a sheet would run."""

from __future__ import annotations

import io
from collections.abc import Sequence
from decimal import Decimal

import xlsxwriter

Value = str | int | float | Decimal | None
_RUNS = ("=", "+", "-", "@", "\t", "\r")
_WIDEST = 60
_NARROWEST = 8


def harmless(text: str) -> str:
    """Put an apostrophe before a text that a spreadsheet would take for a formula.

    It is written as a text anyway; but the next program that opens a copy of it may ask no more.

    >>> [harmless(text) for text in ("=1+1", "110 white", "-yellow")]
    ["'=1+1", '110 white', "'-yellow"]
    """
    return f"'{text}" if text.startswith(_RUNS) else text


def workbook(
    name: str, heads: Sequence[str], rows: Sequence[Sequence[Value]], total: Sequence[Value] = ()
) -> bytes:
    """Write one sheet with a head that stays, and a last line that is set apart."""
    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        sheet = book.add_worksheet(name)
        bold = book.add_format({"bold": True})
        for column, head in enumerate(heads):
            sheet.write_string(0, column, harmless(head), bold)
        for place, row in enumerate(rows, start=1):
            for column, value in enumerate(row):
                _write(sheet, place, column, value)
        for column, value in enumerate(total):
            _write(sheet, len(rows) + 1, column, value, bold)
        for column, head in enumerate(heads):
            cells = [head, *(_shown(row[column]) for row in rows)]
            wide = max(map(len, cells)) + 2
            sheet.set_column(column, column, min(max(wide, _NARROWEST), _WIDEST))
        sheet.freeze_panes(1, 0)
    return buffer.getvalue()


def _write(
    sheet: xlsxwriter.worksheet.Worksheet,
    row: int,
    column: int,
    value: Value,
    style: xlsxwriter.format.Format | None = None,
) -> None:
    if value is None or value == "":
        return
    if isinstance(value, str):
        sheet.write_string(row, column, harmless(value), style)
    else:
        sheet.write_number(row, column, value, style)


def _shown(value: Value) -> str:
    return "" if value is None else str(value)
