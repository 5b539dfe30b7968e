"""Finds the data that ships with the program, in a wheel and in a checkout alike."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def find(name: str) -> Path:
    """Return the path of a shipped file or folder such as "resources/icons" or "demo_db".

    A wheel carries these folders inside the package; a checkout has them beside it.
    """
    for base in (_PACKAGE, _PACKAGE.parent):
        path = base / name
        if path.exists():
            return path
    raise FileNotFoundError(f"{name} is missing from this installation")
