"""Builds the demo shop once for a whole test run, whichever worker asks for it first."""

from __future__ import annotations

import datetime as dt
import os
import time
from pathlib import Path

import pytest

from framekeeper import demo

DEMO_NOW = dt.datetime(2025, 6, 11, 9, 46, tzinfo=dt.UTC)
_PATIENCE_S = 50.0


@pytest.fixture(scope="session")
def demo_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of the demo shop whose history ends at `DEMO_NOW`; copy it before writing."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    template = shared / "demo-template.db"
    lock = shared / "demo-template.lock"
    give_up_at = time.monotonic() + _PATIENCE_S
    while not template.exists():
        if _took(lock):
            try:
                _make(template, base / "making.db")
            finally:
                lock.unlink()
        elif time.monotonic() > give_up_at:
            raise TimeoutError("another worker never finished the demo shop")
        else:
            time.sleep(0.05)
    return template


def _took(lock: Path) -> bool:
    try:
        lock.touch(exist_ok=False)
    except FileExistsError:
        return False
    return True


def _make(template: Path, making: Path) -> None:
    if not template.exists():
        demo.make_shop(making, now=DEMO_NOW)
        making.replace(template)
