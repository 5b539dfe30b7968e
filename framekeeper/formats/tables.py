"""Turns the bytes of a shop's file (CSV, XLSX, XLS, ODS) into rows, or says why it will not.

Everything that a file could do to the program is decided here: its size is looked at before it
is read, and what a packed file would unpack to is looked at before it is unpacked.
"""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Final

from framekeeper.domain.errors import NotValid, StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.formats.delimited import read_delimited
from framekeeper.formats.table_shape import MAX_BYTES, Cell, Table
from framekeeper.formats.workbooks import read_workbook

__all__ = ["Cell", "Table", "read_tables", "tables_from_bytes"]

_ZIP: Final = b"PK\x03\x04"
_EMPTY_ZIP: Final = b"PK\x05\x06"
_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def read_tables(path: Path) -> tuple[Table, ...]:
    """Read every sheet of a file.

    Raises
    ------
    NotValid
        The file is missing, too large, empty, damaged or no table.
    StorageTrouble
        The disk or the network refuses to give the file.
    """
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise NotValid(
                say("“{name}” is not a file.", name=path.name),
                hint=say("Choose the file itself, not its folder."),
            )
        _refuse_large(found.st_size)
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError as missing:
        raise NotValid(
            say("There is no file “{name}”.", name=str(path)),
            hint=say("Check the name and the folder."),
        ) from missing
    except ValueError as refused:
        if isinstance(refused, NotValid):
            raise
        raise NotValid(say("“{name}” is not a name of a file.", name=repr(path))) from refused
    except OSError as trouble:
        raise StorageTrouble(
            say("“{name}” cannot be read: {cause}.", name=path.name, cause=str(trouble.strerror)),
            hint=say("Check that the disk is there and that you may read the file."),
        ) from trouble
    return tables_from_bytes(data, name=path.stem)


def tables_from_bytes(data: bytes, *, name: str = "") -> tuple[Table, ...]:
    """Read every sheet of a file whose bytes are at hand; `name` names the table of a CSV file.

    What the file is is told by its bytes, because shops rename files.
    """
    _refuse_large(len(data))
    if not data.strip(b"\x00\t\r\n "):
        raise NotValid(
            say("The file is empty."), hint=say("Choose the file that holds the register.")
        )
    if data.startswith((_ZIP, _EMPTY_ZIP)):
        return read_workbook(data, is_packed=True)
    if data.startswith(_OLE):
        return read_workbook(data, is_packed=False)
    return (read_delimited(data, name=name),)


def _refuse_large(size_bytes: int) -> None:
    if size_bytes > MAX_BYTES:
        raise NotValid(
            say(
                "The file has {size:.0f} MiB; a register has at most {limit:.0f} MiB.",
                size=size_bytes / 1024**2,
                limit=MAX_BYTES / 1024**2,
            ),
            hint=say("Choose the register itself, or split it."),
        )
