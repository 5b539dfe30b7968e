"""Reads XLSX, XLS and ODS workbooks without running a formula."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Final

import python_calamine as calamine

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say
from framekeeper.formats.table_shape import Cell, Table, refuse_extent, trimmed
from framekeeper.formats.workbook_extent import damaged, refuse_large_workbook
from framekeeper.formats.xls_extent import refuse_large_xls

MAX_SHEETS: Final = 200


def read_workbook(data: bytes, *, is_packed: bool) -> tuple[Table, ...]:
    """Read the sheets of a workbook; `is_packed` tells XLSX and ODS from XLS."""
    if is_packed:
        refuse_large_workbook(data)
    else:
        refuse_large_xls(data)
    try:
        return _read(data)
    except calamine.PasswordError as locked:
        raise NotValid(
            say("The workbook is locked with a password."),
            hint=say("Save a copy without a password and choose that."),
        ) from locked
    except NotValid:
        raise
    except (calamine.CalamineError, ValueError, OverflowError, OSError) as broken:
        raise damaged() from broken
    except BaseException as panic:
        # The library is written in Rust; its panics arrive as a BaseException of their own.
        if type(panic).__name__ != "PanicException":
            raise
        raise damaged() from panic


def _read(data: bytes) -> tuple[Table, ...]:
    tables = []
    cells = 0
    with calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)) as book:
        sheets = [m for m in book.sheets_metadata if m.typ == calamine.SheetTypeEnum.WorkSheet]
        if len(sheets) > MAX_SHEETS:
            raise NotValid(say("The workbook has more than {limit} sheets.", limit=MAX_SHEETS))
        for found in sheets:
            if found.visible != calamine.SheetVisibleEnum.Visible:
                tables.append(Table(found.name, (), is_hidden=True))
                continue
            sheet = book.get_sheet_by_name(found.name)
            if sheet.end is not None:
                rows, columns = sheet.end[0] + 1, sheet.end[1] + 1
                cells += rows * columns
                refuse_extent(rows, columns, cells)
            body: Sequence[Sequence[Cell]] = sheet.to_python(skip_empty_area=False)
            tables.append(Table(found.name, tuple(trimmed(row) for row in body)))
    return tuple(tables)
