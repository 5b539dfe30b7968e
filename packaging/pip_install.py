"""Runs pip for the private environment and turns its failures into a sentence."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

from trouble import SetUpTrouble

_NO_CONNECTION = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "Max retries exceeded",
    "Temporary failure in name resolution",
    "Network is unreachable",
    "Cannot connect to proxy",
)


def pip_install(
    python: Path, checkout: Path, extras: Sequence[str], variables: Mapping[str, str]
) -> None:
    """Install the checkout, editable, with these extras; where from is left to pip's settings."""
    # "." and not the path: pip would read a bracket or an @ in a path as its own.
    target = f".[{','.join(extras)}]" if extras else "."
    words = [python, "-m", "pip", "install", "--no-input", "--disable-pip-version-check"]
    with subprocess.Popen(
        [*words, "--editable", target],
        cwd=checkout,
        env=variables,
        stdin=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        errors="replace",
    ) as pip:
        assert pip.stderr is not None
        complaints = []
        for line in pip.stderr:
            sys.stderr.write(line)
            complaints.append(line)
    if pip.returncode != 0:
        raise SetUpTrouble(_sentence("".join(complaints)))


def _sentence(complaints: str) -> str:
    if "No space left on device" in complaints:
        return "The disk is full, so the libraries were not installed. Make room and start again."
    if any(sign in complaints for sign in _NO_CONNECTION):
        return (
            "The libraries could not be fetched because there is no connection to the package "
            "index. Nothing outside the private environment was changed. Connect this machine "
            "once and start again; after that Framekeeper works without a connection."
        )
    return (
        "pip could not install the libraries; its own words stand above. Nothing outside the "
        "private environment was changed. Mend what pip names and start again."
    )
