"""Published checks with their data: read once here, driven by the tests of each part of the maths.

The JSON files of tests/data/published name for each check its source and its standing; a tolerance
is absolute.
"""

from __future__ import annotations

import csv
import json
from functools import cache
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "data" / "published"


@cache
def checks() -> dict[str, dict]:
    files = sorted(FOLDER.glob("*.json"))
    listed = [check for file in files for check in json.loads(file.read_text(encoding="utf-8"))]
    return {check["id"]: check for check in listed}


def columns(name: str) -> dict[str, list[str]]:
    """The columns of a data file as texts."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {key: [row[key] for row in rows] for key in rows[0]}


def numbers(name: str, key: str) -> list[float]:
    return [float(text) for text in columns(name)[key]]


def cases(check: str, *, without: dict[str, str] | None = None) -> list:
    """One parameter set (check, quantity) for each quantity that the program computes."""
    left_out = without or {}
    expected = checks()[check]["expected"]
    assert set(left_out) <= set(expected), "a quantity is left out that the check does not have"
    return [pytest.param(check, q, id=f"{check} {q}") for q in expected if q not in left_out]


def agrees(check: str, quantity: str, got: float) -> None:
    """Hold a value against the published one at the stated tolerance."""
    entry = checks()[check]["expected"][quantity]
    assert got == pytest.approx(entry["value"], abs=entry["tol"], rel=0), checks()[check]["source"]
