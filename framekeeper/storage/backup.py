"""Copies a shop's file safely while it is in use, and puts a copy back."""

from __future__ import annotations

import datetime as dt
import os
import sqlite3
from contextlib import closing
from pathlib import Path

from framekeeper.domain.errors import NotValid, StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.storage.migrate import KNOWN

_STAMP = "%Y%m%d-%H%M%S"


def copy_shop(source: Path, target: Path) -> None:
    """Write a verified copy of a shop's file, or nothing at all.

    The copy goes to a temporary name first, is checked, flushed to the disk, then renamed.
    """
    if target.exists() and target.samefile(source):
        raise NotValid(
            say("The copy would replace the shop itself."), hint=say("Choose another name.")
        )
    partial = target.with_name(f".{target.name}.partial-{os.getpid()}")
    try:
        _copy_pages(source, partial)
        _check(partial)
        _flush(partial)
        partial.replace(target)
        _flush(target.parent)
    except OSError as error:
        raise _disk_trouble(error, target) from error
    except sqlite3.Error as error:
        raise StorageTrouble(
            say("The copy could not be written: {reason}.", reason=error),
            kept=say("The shop is as it was."),
            hint=say("Check the disk and the folder, then try again."),
        ) from error
    finally:
        partial.unlink(missing_ok=True)


def restore_shop(copy: Path, shop: Path, *, now: dt.datetime) -> Path | None:
    """Put a copy in the place of a shop; return where the replaced shop was put aside.

    The replaced file is never deleted. A healthy shop is overwritten through SQLite, so that an
    open window reads the restored data; a damaged one is moved aside without being opened further.

    Raises
    ------
    NotValid
        If the copy is not a whole Framekeeper shop.
    """
    if not copy.is_file():
        raise NotValid(say("There is no file {path}.", path=copy))
    if shop.exists() and shop.samefile(copy):
        raise NotValid(say("The copy is the shop itself."), hint=say("Choose another file."))
    check_copy(copy)
    aside = None
    try:
        if shop.exists() and shop.stat().st_size > 0:
            aside = _free_name(shop, now)
            if _is_healthy(shop):
                copy_shop(shop, aside)
            else:
                shop.rename(aside)
        if shop.exists():
            _copy_pages(copy, shop)
        else:
            copy_shop(copy, shop)
        _check(shop)
        _flush(shop)
    except OSError as error:
        raise _disk_trouble(error, shop) from error
    except sqlite3.Error as error:
        raise StorageTrouble(
            say("The shop could not be restored: {reason}.", reason=error),
            kept=say("The copy and the shop that was there are both kept."),
            hint=say("Close other windows on this shop and try again."),
        ) from error
    return aside


def check_copy(copy: Path) -> None:
    """Refuse a file that is not a whole shop of a version that this program knows."""
    try:
        _check(copy)
        with closing(_open(copy, read_only=True)) as connection:
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            connection.execute("SELECT count(*) FROM event").fetchone()
    except sqlite3.Error as error:
        raise NotValid(
            say("{path} is not a whole Framekeeper shop.", path=copy.name),
            hint=say("Choose another backup."),
        ) from error
    if row is None or row[0] not in KNOWN:
        raise NotValid(
            say("{path} was written by a newer version of Framekeeper.", path=copy.name),
            hint=say("Install the newer version first."),
        )


def _free_name(shop: Path, now: dt.datetime) -> Path:
    stamp = now.strftime(_STAMP)
    candidate = shop.with_name(f"{shop.stem}.aside-{stamp}{shop.suffix}")
    number = 2
    while candidate.exists():
        candidate = shop.with_name(f"{shop.stem}.aside-{stamp}-{number}{shop.suffix}")
        number += 1
    return candidate


def _open(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    mode = "ro" if read_only else "rwc"
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode={mode}", uri=True, timeout=5.0)


def _copy_pages(source: Path, target: Path) -> None:
    with closing(_open(source, read_only=True)) as origin, closing(_open(target)) as copy:
        origin.backup(copy)


def _check(path: Path) -> None:
    with closing(_open(path, read_only=True)) as connection:
        answer = connection.execute("PRAGMA integrity_check").fetchone()
    if answer is None or answer[0] != "ok":
        raise sqlite3.DatabaseError("the integrity check failed")


def _is_healthy(path: Path) -> bool:
    try:
        _check(path)
    except sqlite3.Error:
        return False
    return True


def _flush(path: Path) -> None:
    """Make sure that a file, or the names in a folder, are on the disk."""
    if os.name == "nt" and path.is_dir():
        return  # Windows flushes names with the file and cannot open a folder
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _disk_trouble(error: OSError, path: Path) -> StorageTrouble:
    return StorageTrouble(
        say("{path} could not be written: {reason}.", path=path, reason=error.strerror or error),
        kept=say("The shop is as it was."),
        hint=say("Check the folder and the space on the disk."),
    )
