"""Builds the demo shop once for a whole test run, whichever worker asks for it first."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path

import pytest

from framekeeper import demo
from tests.turns import own_turn

DEMO_NOW = dt.datetime(2025, 6, 11, 9, 46, tzinfo=dt.UTC)


@pytest.fixture(scope="session")
def demo_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of the demo shop whose history ends at `DEMO_NOW`; copy it before writing."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    template = shared / "demo-template.db"
    with own_turn(shared / "demo-template.lock"):
        _make(template, base / "making.db")
    return template


def _make(template: Path, making: Path) -> None:
    if not template.exists():
        demo.make_shop(making, now=DEMO_NOW)
        making.replace(template)
