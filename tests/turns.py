"""Lets the workers of a test run take turns at what only one of them may do."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

PATIENCE_S = 50.0


@contextmanager
def own_turn(lock: Path) -> Iterator[None]:
    """Wait until no other worker holds the lock file, and hold it.

    Raises
    ------
    TimeoutError
        If another worker never gives it back.
    """
    give_up_at = time.monotonic() + PATIENCE_S
    while not _took(lock):
        if time.monotonic() > give_up_at:
            raise TimeoutError(f"another worker never gave {lock.name} back")
        time.sleep(0.05)
    try:
        yield
    finally:
        lock.unlink()


def _took(lock: Path) -> bool:
    try:
        lock.touch(exist_ok=False)
    except FileExistsError:
        return False
    return True
