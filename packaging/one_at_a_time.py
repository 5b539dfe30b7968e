"""Lets one start set things up while a second one, begun in impatience, waits for it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[str], *, wait: bool) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _take(file: IO[str], *, wait: bool) -> None:
        fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))


@contextmanager
def only_one(lock: Path) -> Iterator[None]:
    """Hold a lock that the system gives back by itself, even if this process is killed."""
    lock.parent.mkdir(parents=True, exist_ok=True)
    with lock.open("a", encoding="utf-8") as file:
        try:
            _take(file, wait=False)
        except OSError:
            print("Another start is setting up here; waiting for it.", flush=True)
            _take(file, wait=True)
        yield
