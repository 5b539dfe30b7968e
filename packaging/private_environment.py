"""Makes and keeps the private environment, so that a second start finds it ready and works offline.

The project is installed editable: the environment then follows every change of the code without
being touched, and only a change of the libraries (or a move of the folder) asks for pip again.
A note in the environment, written last, says what was installed; without it the environment counts
as unfinished and is made anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import debian
from one_at_a_time import only_one
from pip_install import pip_install
from trouble import SetUpTrouble

FOLDER_NAME = ".framekeeper-env"
SYSTEM_PYTHONS = Path("/usr/bin")
NOTE_NAME = "installed.json"
LOCK_NAME = "setting-up.lock"
QT_CHECKED_NAME = "qt-checked.json"


@dataclass(frozen=True)
class Environment:
    """A private environment for one checkout."""

    folder: Path
    checkout: Path

    def command(self, name: str) -> Path:
        """Return the path of a command that is installed in the environment."""
        if sys.platform == "win32":
            return self.folder / "Scripts" / f"{name}.exe"
        return self.folder / "bin" / name

    @property
    def python(self) -> Path:
        """The environment's own Python."""
        return self.command("python")

    def variables(self) -> dict[str, str]:
        """Return the variables for commands run in it: the person's own, less what leads astray."""
        astray = {"PYTHONHOME", "PYTHONPATH", "PIP_USER", "PIP_TARGET", "PIP_PREFIX"}
        variables = {k: v for k, v in os.environ.items() if k not in astray}
        if not str(self.checkout).isascii():
            # Python before 3.13 reads the path of an editable install in the locale's encoding.
            variables.setdefault("PYTHONUTF8", "1")
        return variables


@dataclass(frozen=True)
class Note:
    """What is installed in an environment, and for which place on the disk."""

    folder: str
    checkout: str
    project: str
    extras: tuple[str, ...]

    def covers(self, wanted: Note) -> bool:
        """Say whether what is installed is all that is wanted."""
        return replace(self, extras=()) == replace(wanted, extras=()) and set(self.extras) >= set(
            wanted.extras
        )

    def same_place(self, other: Note) -> bool:
        """Say whether both speak of the same folders: scripts carry their folder in their text."""
        return (self.folder, self.checkout) == (other.folder, other.checkout)


def ready_environment(checkout: Path, extras: Iterable[str] = ()) -> Environment:
    """Return an environment with the project and these extras, made or completed if need be."""
    in_checkout = checkout / FOLDER_NAME
    wanted = Note(str(in_checkout), str(checkout), _project_digest(checkout), tuple(sorted(extras)))
    environment = Environment(in_checkout, checkout)
    if _is_ready(environment, wanted):
        return environment
    if not can_write(in_checkout if in_checkout.exists() else checkout):
        environment = Environment(cache_folder(checkout) / "env", checkout)
        wanted = replace(wanted, folder=str(environment.folder))
        print(f"{checkout} cannot be written to.", flush=True)
        print(f"The private environment is kept in {environment.folder}", flush=True)
        if _is_ready(environment, wanted):
            return environment
    with only_one(environment.folder / LOCK_NAME):
        if not _is_ready(environment, wanted):  # another start may have made it while we waited
            _make_ready(environment, wanted)
    return environment


def cache_folder(checkout: Path) -> Path:
    """Return the folder in the user's cache that belongs to this checkout."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return base / "framekeeper" / hashlib.sha256(str(checkout).encode()).hexdigest()[:12]


def can_write(folder: Path) -> bool:
    """Say whether a file can be made in a folder, by making one: root may be refused as well."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _project_digest(checkout: Path) -> str:
    """Return a digest of what decides about the libraries and the commands; nothing else counts."""
    project = tomllib.loads((checkout / "pyproject.toml").read_text(encoding="utf-8"))
    parts = {
        "build": project["build-system"],
        "project": project["project"],
        "hatch": project.get("tool", {}).get("hatch"),
        "version": (checkout / "framekeeper" / "__init__.py").read_text(encoding="utf-8"),
    }
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def _read_note(folder: Path) -> Note | None:
    try:
        values = json.loads((folder / NOTE_NAME).read_text(encoding="utf-8"))
        return Note(**{**values, "extras": tuple(values["extras"])})
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _write_note(folder: Path, note: Note) -> None:
    draft = folder / (NOTE_NAME + ".new")
    draft.write_text(json.dumps(asdict(note), indent=1), encoding="utf-8")
    draft.replace(folder / NOTE_NAME)


def _is_ready(environment: Environment, wanted: Note) -> bool:
    note = _read_note(environment.folder)
    return note is not None and note.covers(wanted) and _works(environment)


def _works(environment: Environment) -> bool:
    """Try it: the system's Python may have been replaced under the environment."""
    try:
        tried = subprocess.run(
            [environment.python, "-c", "import framekeeper, PySide6"],
            env=environment.variables(),
            cwd=environment.folder,
            capture_output=True,
            check=False,
        )
    except OSError:
        return False
    return tried.returncode == 0


def _make_ready(environment: Environment, wanted: Note) -> None:
    note = _read_note(environment.folder)
    if note is None or not note.same_place(wanted) or not _works(environment):
        _make_anew(environment)
        note = None
    extras = tuple(sorted({*wanted.extras, *(note.extras if note else ())}))
    for stale in (NOTE_NAME, QT_CHECKED_NAME):
        (environment.folder / stale).unlink(missing_ok=True)
    print("Installing Framekeeper and its libraries.", flush=True)
    try:
        pip_install(environment.python, environment.checkout, extras, environment.variables())
    except SetUpTrouble:
        if note is not None:  # pip puts back what it could not replace: the old state still holds
            _write_note(environment.folder, note)
        raise
    _write_note(environment.folder, replace(wanted, extras=extras))


def _make_anew(environment: Environment) -> None:
    require_venv(sys.executable)
    left_over = [path for path in environment.folder.iterdir() if path.name != LOCK_NAME]
    if left_over:
        print("The private environment is unfinished or was moved; it is made anew.", flush=True)
    for path in left_over:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    print(f"Making a private environment in {environment.folder}", flush=True)
    made = subprocess.run(
        [sys.executable, "-m", "venv", environment.folder],
        env=environment.variables(),
        capture_output=True,
        text=True,
        check=False,
    )
    if made.returncode != 0:
        raise SetUpTrouble(
            f"The private environment could not be made: {(made.stderr or made.stdout).strip()}"
        )


def require_venv(python: str) -> None:
    """Make sure that this Python can make environments; install the missing part or say how."""
    if _has_venv(python):
        return
    print("This Python has no venv or ensurepip, which a private environment needs.", flush=True)
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    from_system = Path(python).resolve().parent == SYSTEM_PYTHONS
    if not (from_system and debian.is_debian()):
        raise SetUpTrouble(
            f"No environment was made. Install the venv part of Python {version} from where this "
            f"Python came from ({python}), or call another Python, and run this again."
        )
    package = f"python{version}-venv"
    if debian.may_install() and debian.install([package]) and _has_venv(python):
        return
    raise SetUpTrouble(
        f"No environment was made. Run this, then start again: {debian.command([package])}"
    )


def _has_venv(python: str) -> bool:
    """Ask a fresh process, because this one does not see what was installed after it started."""
    asked = subprocess.run(
        [python, "-c", "import ensurepip, venv"], capture_output=True, check=False
    )
    return asked.returncode == 0
