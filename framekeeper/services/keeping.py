"""Keeps what the shop entered: check, backup, restore, and everything out to JSON and in again."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.domain.changes import Changes
from framekeeper.domain.errors import NotPossible, NotValid, StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Clock, Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.integrity import Finding

LARGEST_EXPORT_BYTES = 1_000_000_000


def verify(desk: Desk) -> list[Finding]:
    """Check the shop; an empty list means that everything is in order."""
    return desk.shop.check(now=desk.clock.now())


def backup(desk: Desk, target: Path) -> Done:
    """Write a verified copy of the shop's file."""
    source = _file_of(desk)
    if target.is_dir():
        raise NotValid(say("{path} is a folder.", path=target), hint=say("Name a file in it."))
    if not target.parent.is_dir():
        raise NotValid(say("The folder {path} does not exist.", path=target.parent))
    from framekeeper.storage.backup import copy_shop

    copy_shop(source, target)
    return Done(say("Backup written: {path}.", path=target), Changes())


def _file_of(desk: Desk) -> Path:
    database = desk.shop.url.database
    if not desk.shop.is_file or not database:
        raise NotPossible(
            say("This shop lives on a server; its file cannot be copied from here."),
            hint=say("Use the server's own backup, or export the shop to JSON."),
        )
    return Path(database)


def restore(place: Path, copy: Path, clock: Clock) -> Done:
    """Put a backup in the place of a shop; what was there is put aside, never deleted."""
    from framekeeper.storage.backup import restore_shop

    aside = restore_shop(copy, place, now=clock.now())
    if aside is None:
        return Done(say("Restored from {copy}.", copy=copy), Changes())
    told = say("Restored from {copy}; what was there is now {aside}.", copy=copy, aside=aside)
    return Done(told, Changes())


def export_json(desk: Desk, target: Path) -> Done:
    """Write everything that the shop holds to one JSON file."""
    if target.is_dir():
        raise StorageTrouble(
            say("{path} is a folder.", path=target),
            kept=say("The shop is as it was."),
            hint=say("Name a file in it."),
        )
    partial = target.with_name(f".{target.name}.partial-{os.getpid()}")
    try:
        with partial.open("w", encoding="utf-8") as out:
            rows = desk.shop.write_rows(out)
            out.flush()
            os.fsync(out.fileno())
        partial.replace(target)
    except OSError as error:
        raise StorageTrouble(
            say("{path} could not be written: {reason}.", path=target, reason=error.strerror),
            kept=say("The shop is as it was."),
            hint=say("Check the folder and the space on the disk."),
        ) from error
    finally:
        partial.unlink(missing_ok=True)
    return Done(say("{count} rows written to {path}.", count=rows, path=target), Changes())


def import_json(desk: Desk, source: Path) -> Done:
    """Read an export into an empty shop: all of it, or nothing."""
    try:
        if source.stat().st_size > LARGEST_EXPORT_BYTES:
            raise NotValid(say("{path} is too large for an export.", path=source.name))
        with source.open(encoding="utf-8") as file:
            rows = desk.shop.read_rows(file, now=desk.clock.now())
    except UnicodeDecodeError as error:
        raise NotValid(
            say("{path} is not an export of a Framekeeper shop.", path=source.name)
        ) from error
    except OSError as error:
        raise NotValid(
            say("{path} cannot be read: {reason}.", path=source, reason=error.strerror)
        ) from error
    kinds = frozenset({"frames", "mesh_types", "rolls", "meters", "settings"})
    return Done(say("{count} rows read from {path}.", count=rows, path=source), Changes(kinds))
