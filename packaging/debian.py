"""Knows how Debian and its relatives install system packages, and whether we may do it."""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path

OS_RELEASE = Path("/etc/os-release")


def is_debian() -> bool:
    """Say whether this system installs its packages with apt-get (Debian, Ubuntu and relatives)."""
    if shutil.which("apt-get") is None:
        return False
    words: set[str] = set()
    try:
        lines = OS_RELEASE.read_text(encoding="utf-8").splitlines()
    except OSError:
        return False
    for line in lines:
        key, _, value = line.partition("=")
        if key in ("ID", "ID_LIKE"):
            words.update(value.strip("\"'").split())
    return bool(words & {"debian", "ubuntu"})


def may_install() -> bool:
    """Say whether this run may install system packages itself: as root, on Debian."""
    return is_debian() and os.geteuid() == 0


def command(packages: Iterable[str]) -> str:
    """Return the one line that a person can run to install these packages."""
    return "sudo apt-get install " + " ".join(sorted(packages))


def install(packages: Iterable[str]) -> bool:
    """Install packages without asking anything; return whether apt-get was content."""
    names = sorted(packages)
    print("Installing system packages: " + " ".join(names), flush=True)
    _refresh_lists()
    return _apt_get("install", "-y", "--no-install-recommends", *names) == 0


@functools.cache
def _refresh_lists() -> None:
    """Fetch the package lists once per run; a bare system has none."""
    _apt_get("update")


def _apt_get(*arguments: str) -> int:
    silent = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(
        ["apt-get", "-q", *arguments], env=silent, stdin=subprocess.DEVNULL, check=False
    )
    return done.returncode
