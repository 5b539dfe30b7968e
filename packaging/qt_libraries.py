"""Finds out which system libraries Qt misses, before the window fails to open without a word.

The wheels of PySide6 bring Qt itself but not what Qt expects of the system. Only Linux leaves that
to the person; on other systems nothing is missing.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from pathlib import Path

import debian
from private_environment import QT_CHECKED_NAME, Environment
from trouble import SetUpTrouble

# Library -> Debian package, read from the wheel's own files (readelf, ldd) and from dpkg -S.
PACKAGES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libX11-xcb.so.1": "libx11-xcb1",
    "libX11.so.6": "libx11-6",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libstdc++.so.6": "libstdc++6",
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libz.so.1": "zlib1g",
    "libzstd.so.1": "libzstd1",
}
FONT = "a font"
FONT_PACKAGE = "fonts-dejavu-core"

_ALWAYS = ("QtWidgets.abi3.so", "QtSvg.abi3.so", "Qt/plugins/platforms/libqoffscreen.so")
_FOR_DISPLAY = {
    "x11": "Qt/plugins/platforms/libqxcb.so",
    "wayland": "Qt/plugins/platforms/libqwayland.so",
}
_TRY_OFFSCREEN = """
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QApplication
application = QApplication([])
print(len(QFontDatabase.families()))
"""


@dataclass(frozen=True)
class Findings:
    """What Qt misses on this system, and what works all the same."""

    missing: frozenset[str]
    works_unseen: bool
    works_in_window: bool
    complaint: str = ""

    def packages(self) -> set[str]:
        """Return the Debian packages that bring what is missing, as far as we know them."""
        known = {**PACKAGES, FONT: FONT_PACKAGE}
        return {known[name] for name in self.missing if name in known}


def window_is_possible(environment: Environment, displays: Collection[str]) -> bool:
    """Check, and install or name what is missing; stop if Qt cannot even work unseen.

    `displays` holds "x11" and "wayland" as far as this session has them. What was found complete
    once is not checked again until the environment changes.
    """
    wanted = {"unseen", *displays}
    if not sys.platform.startswith("linux") or wanted <= _checked(environment):
        return True
    findings = inspect(environment, displays)
    if findings.missing and debian.may_install() and findings.packages():
        debian.install(findings.packages())
        findings = inspect(environment, displays)
    if findings.missing:
        print(advice(findings), flush=True)
    if not findings.works_unseen:
        raise SetUpTrouble(
            "Qt cannot start on this system. The private environment is ready and stays. Install "
            f"what is missing and start again. Qt's own words: {findings.complaint or 'none'}"
        )
    if findings.works_in_window and FONT not in findings.missing:
        _remember(environment, wanted)
    return findings.works_in_window


def inspect(environment: Environment, displays: Iterable[str]) -> Findings:
    """Look at what each part of Qt needs, and start Qt once without a window."""
    qt = next(environment.folder.glob("[Ll]ib*/**/site-packages/PySide6"))
    always = missing_libraries(qt / name for name in _ALWAYS)
    per_display = [missing_libraries([qt / _FOR_DISPLAY[display]]) for display in displays]
    # One of two displays is enough: Qt takes the one that it can open.
    in_window = min(per_display, key=len, default=frozenset[str]())
    started, complaint = _start_unseen(environment)
    no_font = frozenset({FONT} if started == 0 else ())
    return Findings(
        missing=always | in_window | no_font,
        works_unseen=started is not None,
        works_in_window=started is not None and not in_window,
        complaint=complaint,
    )


def missing_libraries(files: Iterable[Path]) -> frozenset[str]:
    """Return the names of the libraries that the system's loader does not find for these files."""
    if shutil.which("ldd") is None:
        return frozenset()  # starting Qt will tell, though only one library at a time
    told = subprocess.run(
        ["ldd", *files], capture_output=True, text=True, check=False, errors="replace"
    )
    return frozenset(re.findall(r"^\s*(\S+) => not found", told.stdout, re.MULTILINE))


def advice(findings: Findings) -> str:
    """Return what is missing and the one command that brings it, for this kind of system."""
    names = sorted(findings.missing)
    lines = ["Qt misses on this system: " + ", ".join(names)]
    libraries = [f"'{name}()(64bit)'" for name in names if name != FONT]
    if debian.is_debian() and findings.packages():
        lines.append("Run this: " + debian.command(findings.packages()))
    elif libraries and (tool := shutil.which("dnf") or shutil.which("zypper")):
        lines.append(f"Run this: sudo {Path(tool).name} install " + " ".join(libraries))
    else:
        lines.append("Install the packages of your system that bring them.")
    return "\n".join(lines)


def _start_unseen(environment: Environment) -> tuple[int | None, str]:
    """Start Qt without a window; return the number of fonts, or None and Qt's complaint."""
    tried = subprocess.run(
        [environment.python, "-c", _TRY_OFFSCREEN],
        env={**environment.variables(), "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        errors="replace",
        check=False,
    )
    if tried.returncode != 0:
        return None, (tried.stderr.strip().splitlines() or [""])[-1]
    return int(tried.stdout), ""


def _checked(environment: Environment) -> set[str]:
    try:
        kinds = json.loads((environment.folder / QT_CHECKED_NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return set()
    return set(kinds)


def _remember(environment: Environment, found_complete: set[str]) -> None:
    kinds = sorted(found_complete | _checked(environment))
    try:
        (environment.folder / QT_CHECKED_NAME).write_text(json.dumps(kinds), encoding="utf-8")
    except OSError:
        return  # another user's environment: checked again next time, which costs half a second
