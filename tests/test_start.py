"""One command takes a bare machine to the open demo shop, and each thing in its way is named."""

from __future__ import annotations

import ast
import importlib
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

CHECKOUT = Path(__file__).resolve().parent.parent
PACKAGING = CHECKOUT / "packaging"

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the stand-ins are shell scripts")


@pytest.fixture(scope="module", autouse=True)
def _packaging_on_path() -> Iterator[None]:
    """Let the modules beside start.py be imported, as Python does when start.py runs."""
    sys.path.insert(0, str(PACKAGING))
    yield
    sys.path.remove(str(PACKAGING))


@pytest.fixture
def private() -> ModuleType:
    return importlib.import_module("private_environment")


@pytest.fixture
def qt() -> ModuleType:
    return importlib.import_module("qt_libraries")


@pytest.fixture
def launch() -> ModuleType:
    return importlib.import_module("launch")


@pytest.fixture
def debian() -> ModuleType:
    return importlib.import_module("debian")


@pytest.fixture
def trouble() -> type[Exception]:
    kind: type[Exception] = importlib.import_module("trouble").SetUpTrouble
    return kind


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A small checkout in a folder whose name has a blank and a letter that is not ASCII."""
    folder = tmp_path / "shop für tests"
    (folder / "framekeeper").mkdir(parents=True)
    (folder / "framekeeper" / "__init__.py").write_text('__version__ = "1"\n')
    shutil.copy(CHECKOUT / "pyproject.toml", folder)
    return folder


def script(path: Path, text: str) -> Path:
    """Write a shell script that stands in for a program."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("#!/bin/sh\n" + text)
    path.chmod(0o755)
    return path


class FakePip:
    """Puts in place what the environment is asked for, and counts how often it was called."""

    def __init__(self) -> None:
        self.extras: list[tuple[str, ...]] = []
        self.fails: Exception | None = None

    def __call__(self, python: Path, checkout: Path, extras: tuple[str, ...], _: object) -> None:
        self.extras.append(extras)
        if self.fails:
            raise self.fails
        site = next(python.parent.parent.glob("lib/python*/site-packages"))
        (site / "checkout.pth").write_text(str(checkout), encoding="utf-8")
        (site / "PySide6").mkdir(exist_ok=True)


@pytest.fixture
def pip(private: ModuleType, monkeypatch: pytest.MonkeyPatch) -> FakePip:
    fake = FakePip()
    monkeypatch.setattr(private, "pip_install", fake)
    return fake


# --- start.py itself


def test_every_python_3_can_read_the_first_file() -> None:
    """An older Python reads start.py to its end, and so comes to the sentence about versions."""
    ast.parse((PACKAGING / "start.py").read_text(), feature_version=(3, 6))


def test_an_older_python_gets_a_sentence() -> None:
    """Python 3.8 is told what is needed, and nothing newer is imported."""
    pretend = (
        "import runpy, sys; sys.version_info = (3, 8, 10); sys.version = '3.8.10 (x)';"
        f"runpy.run_path({str(PACKAGING / 'start.py')!r}, run_name='__main__')"
    )
    done = subprocess.run([sys.executable, "-c", pretend], capture_output=True, text=True)
    assert done.returncode == 1
    assert "needs Python 3.11 or newer; this is Python 3.8.10." in done.stderr
    assert "Traceback" not in done.stderr


def test_the_folder_does_not_hide_the_library_of_the_same_name() -> None:
    """Tools import a library called `packaging`; our folder must stay a folder without a module."""
    assert not (PACKAGING / "__init__.py").exists()


@pytest.mark.parametrize("words", [["--nonsense"], ["--long"], ["--test", "--check"]])
def test_wrong_usage_is_refused(launch: ModuleType, words: list[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        launch.main(words)


@pytest.mark.parametrize(
    ("variables", "platform", "kinds"),
    [
        ({}, "linux", set()),
        ({"DISPLAY": ""}, "linux", set()),
        ({"DISPLAY": ":0"}, "linux", {"x11"}),
        ({"DISPLAY": ":0", "WAYLAND_DISPLAY": "wayland-0"}, "linux", {"x11", "wayland"}),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": "offscreen"}, "linux", set()),
        ({}, "darwin", {"own"}),
        ({}, "win32", {"own"}),
    ],
)
def test_a_session_with_a_display_is_known(
    launch: ModuleType, variables: dict[str, str], platform: str, kinds: set[str]
) -> None:
    assert launch.displays(variables, platform) == kinds


# --- the private environment


def test_pip_is_called_only_for_what_is_new(
    private: ModuleType, pip: FakePip, shop: Path, trouble: type[Exception]
) -> None:
    """An extra or a new library calls pip; a second start or a setting of a tool does not."""
    private.ready_environment(shop)
    private.ready_environment(shop)
    assert pip.extras == [()]

    private.ready_environment(shop, ("test",))
    private.ready_environment(shop)
    private.ready_environment(shop, ("check",))
    assert pip.extras[1:] == [("test",), ("check", "test")]

    project = shop / "pyproject.toml"
    project.write_text(project.read_text().replace("line-length = 100", "line-length = 90"))
    private.ready_environment(shop)
    assert len(pip.extras) == 3

    before = project.read_text()
    project.write_text(before.replace("dependencies = [", 'dependencies = [\n  "six",'))
    pip.fails = trouble("no connection")
    with pytest.raises(trouble):
        private.ready_environment(shop)
    project.write_text(before)
    private.ready_environment(shop, ("test", "check"))
    assert len(pip.extras) == 4, "what worked before a failed change still works without pip"


def test_an_unfinished_environment_is_made_anew(
    private: ModuleType, pip: FakePip, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A run that was killed leaves files but no note: nothing of it is kept."""
    half_made = shop / private.FOLDER_NAME / "lib" / "half.py"
    half_made.parent.mkdir(parents=True)
    half_made.touch()
    environment = private.ready_environment(shop)
    assert not half_made.exists()
    assert environment.python.exists()
    assert "is made anew" in capsys.readouterr().out


def test_a_copied_checkout_does_not_run_the_code_of_the_first(
    private: ModuleType, pip: FakePip, shop: Path
) -> None:
    """The scripts of a copied environment still name the old folder, so it is made anew."""
    first = private.ready_environment(shop)
    script(first.command("tool"), f"exec {first.python}\n")
    copy = shop.with_name("copy")
    shutil.copytree(shop, copy, symlinks=True)
    environment = private.ready_environment(copy)
    assert not environment.command("tool").exists()
    told = subprocess.run(
        [environment.python, "-c", "import framekeeper; print(framekeeper.__file__)"],
        capture_output=True,
        text=True,
        check=True,
        cwd=environment.folder,
        env=environment.variables(),
    )
    assert Path(told.stdout.strip()) == copy / "framekeeper" / "__init__.py"


def test_a_shut_checkout_uses_the_cache_of_the_user(
    private: ModuleType,
    pip: FakePip,
    shop: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Where nothing can be written beside the code, the person is told where it went."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(private, "can_write", lambda folder: shop not in (folder, *folder.parents))
    monkeypatch.setattr(sys, "platform", "linux")
    environment = private.ready_environment(shop)
    assert environment.folder.is_relative_to(tmp_path / "cache")
    assert not (shop / private.FOLDER_NAME).exists()
    assert str(environment.folder) in capsys.readouterr().out


def test_a_second_start_waits_for_the_first(tmp_path: Path) -> None:
    """Two starts at once do not pull the environment from under each other."""
    only_one = importlib.import_module("one_at_a_time").only_one
    order: list[str] = []

    def second() -> None:
        with only_one(tmp_path / "lock"):
            order.append("second")

    with only_one(tmp_path / "lock"):
        other = threading.Thread(target=second)
        other.start()
        other.join(0.3)
        assert other.is_alive()
        order.append("first")
    other.join(10)
    assert order == ["first", "second"]


@pytest.mark.parametrize("root", [False, True])
def test_missing_venv_on_debian(
    private: ModuleType,
    debian: ModuleType,
    trouble: type[Exception],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    root: bool,
) -> None:
    """Root gets the missing part installed; anybody else gets the one command to run."""
    python = script(tmp_path / "python3", "exit 1\n")
    wanted = f"python3.{sys.version_info.minor}-venv"
    asked: list[list[str]] = []

    def install(packages: list[str]) -> bool:
        asked.append(packages)
        script(python, "exit 0\n")
        return True

    monkeypatch.setattr(private, "SYSTEM_PYTHONS", tmp_path)
    monkeypatch.setattr(debian, "is_debian", lambda: True)
    monkeypatch.setattr(debian, "may_install", lambda: root)
    monkeypatch.setattr(debian, "install", install)
    if root:
        private.require_venv(str(python))
        assert asked == [[wanted]]
    else:
        with pytest.raises(trouble, match=f"sudo apt-get install {wanted}"):
            private.require_venv(str(python))
        assert asked == []


def test_missing_venv_in_a_python_of_ones_own(
    private: ModuleType, trouble: type[Exception], tmp_path: Path
) -> None:
    """A Python that Debian did not bring cannot be mended by apt-get, so that is not offered."""
    python = script(tmp_path / "python3", "exit 1\n")
    with pytest.raises(trouble, match="from where this Python came from") as told:
        private.require_venv(str(python))
    assert "apt-get" not in str(told.value)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("WARNING: Retrying: NewConnectionError: refused", "no connection to the package index"),
        ("ERROR: OSError: [Errno 28] No space left on device", "The disk is full"),
        ("ERROR: Package needs a different Python", "its own words stand above"),
    ],
)
def test_the_failures_of_pip_become_a_sentence(
    trouble: type[Exception], tmp_path: Path, words: str, sentence: str
) -> None:
    pip_install = importlib.import_module("pip_install").pip_install
    python = script(tmp_path / "python", f"echo '{words}' >&2\nexit 1\n")
    with pytest.raises(trouble, match=sentence):
        pip_install(python, tmp_path, (), {})


def test_pip_installs_the_checkout_with_its_extras(tmp_path: Path) -> None:
    """Pip runs in the checkout and hears of it as `.`, whatever signs its path has."""
    pip_install = importlib.import_module("pip_install").pip_install
    python = script(tmp_path / "python", 'pwd > said; echo "$@" >> said\n')
    checkout = tmp_path / "shop [1] @ home"
    checkout.mkdir()
    pip_install(python, checkout, ("check", "test"), os.environ)
    where, words = (checkout / "said").read_text().splitlines()
    assert where == str(checkout)
    assert words.startswith("-m pip install ")
    assert words.endswith("--editable .[check,test]")


def test_settings_that_lead_pip_astray_are_left_out(
    private: ModuleType, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where to fetch from is the person's choice; where to install to is not."""
    monkeypatch.setenv("PIP_USER", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", "wheels")
    variables = private.Environment(shop / "env", shop).variables()
    assert "PIP_USER" not in variables
    assert variables["PIP_FIND_LINKS"] == "wheels"


# --- what Qt needs of the system


def test_missing_libraries_are_read_from_the_loader(
    qt: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = "\\tlibEGL.so.1 => not found\\n\\tlibc.so.6 => /lib/libc.so.6 (0x1)\\n"
    script(tmp_path / "ldd", f"printf '{said}'\nexit 1\n")
    monkeypatch.setenv("PATH", str(tmp_path), prepend=os.pathsep)
    assert qt.missing_libraries([tmp_path / "plugin.so"]) == {"libEGL.so.1"}


@pytest.mark.skipif(
    shutil.which("readelf") is None or shutil.which("ldd") is None,
    reason="reads what the wheel's files name, which takes readelf and ldd",
)
@pytest.mark.parametrize("plugin", ["offscreen", "xcb", "wayland"])
def test_the_package_of_each_needed_library_is_known(qt: ModuleType, plugin: str) -> None:
    """Every system library that Qt's files name is in our table, save those of the C compiler."""
    pyside = Path(importlib.import_module("PySide6").__file__ or "").parent
    start = [pyside / f"Qt/plugins/platforms/libq{plugin}.so", pyside / "QtWidgets.abi3.so"]
    linked = subprocess.run(["ldd", *start], capture_output=True, text=True, check=True).stdout
    bundled = {w for w in linked.split() if w.startswith(str(pyside.parent)) and ":" not in w}
    named = subprocess.run(
        ["readelf", "-d", *start, *bundled], capture_output=True, text=True, check=True
    ).stdout
    needed = {w.split("]")[0] for w in named.split("Shared library: [")[1:]}
    always_there = ("libc.", "libm.", "libdl.", "libpthread.", "librt.", "libgcc_s.", "ld-linux")
    own = ("libQt6", "libicu", "libpyside6", "libshiboken6")
    outside = {n for n in needed if not n.startswith((*always_there, *own))}
    assert "libGL.so.1" in outside
    assert outside - set(qt.PACKAGES) == set()


def test_advice_is_one_command(
    qt: ModuleType, debian: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Debian, systems that install by the library's name, and any other each get their words."""
    findings = qt.Findings(frozenset({"libEGL.so.1", qt.FONT}), True, False)
    monkeypatch.setattr(debian, "is_debian", lambda: True)
    assert "sudo apt-get install fonts-dejavu-core libegl1" in qt.advice(findings)
    monkeypatch.setattr(debian, "is_debian", lambda: False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "Install the packages of your system" in qt.advice(findings)
    script(tmp_path / "dnf", "")
    assert "sudo dnf install 'libEGL.so.1()(64bit)'" in qt.advice(findings)


class FakeInspection:
    """Gives findings in turn, and counts how often it was asked."""

    def __init__(self, *findings: object) -> None:
        self.left = list(findings)

    def __call__(self, *_: object) -> object:
        return self.left.pop(0)


@pytest.fixture
def environment(private: ModuleType, shop: Path) -> object:
    folder = shop / private.FOLDER_NAME
    folder.mkdir()
    return private.Environment(folder, shop)


linux_only = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="other systems bring what Qt needs"
)


@linux_only
def test_a_complete_system_is_looked_at_once(
    qt: ModuleType, environment: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check is remembered per kind of display, so that a second start does not pay for it."""
    complete = qt.Findings(frozenset(), True, True)
    inspection = FakeInspection(complete, complete)
    monkeypatch.setattr(qt, "inspect", inspection)
    assert qt.window_is_possible(environment, ())
    assert qt.window_is_possible(environment, ())
    assert len(inspection.left) == 1
    assert qt.window_is_possible(environment, {"x11"})
    assert qt.window_is_possible(environment, {"x11"})
    assert inspection.left == []


@linux_only
@pytest.mark.parametrize("root", [False, True])
def test_a_missing_window_library(
    qt: ModuleType,
    debian: ModuleType,
    environment: object,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    root: bool,
) -> None:
    """Root on Debian gets it installed and a window; anybody else the command and no window."""
    lacking = qt.Findings(frozenset({"libxcb-cursor.so.0"}), True, False)
    complete = qt.Findings(frozenset(), True, True)
    installed: list[set[str]] = []
    monkeypatch.setattr(qt, "inspect", FakeInspection(lacking, complete))
    monkeypatch.setattr(debian, "is_debian", lambda: True)
    monkeypatch.setattr(debian, "may_install", lambda: root)
    monkeypatch.setattr(debian, "install", installed.append)
    assert qt.window_is_possible(environment, {"x11"}) is root
    assert installed == ([{"libxcb-cursor0"}] if root else [])
    assert ("sudo apt-get install libxcb-cursor0" in capsys.readouterr().out) is not root


@linux_only
def test_qt_that_cannot_start_stops_the_set_up(
    qt: ModuleType,
    debian: ModuleType,
    environment: object,
    trouble: type[Exception],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    dead = qt.Findings(frozenset({"libEGL.so.1"}), False, False, "ImportError: libEGL.so.1")
    monkeypatch.setattr(qt, "inspect", FakeInspection(dead))
    monkeypatch.setattr(debian, "may_install", lambda: False)
    with pytest.raises(trouble, match="Qt's own words: ImportError: libEGL"):
        qt.window_is_possible(environment, ())


@linux_only
def test_a_system_without_a_font_is_told(
    qt: ModuleType, debian: ModuleType, environment: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Qt starts without a font but shows no text, so no font counts as something missing."""
    monkeypatch.setattr(qt, "_start_unseen", lambda _: (0, ""))
    monkeypatch.setattr(qt, "missing_libraries", lambda _: frozenset())
    pyside = environment.folder / "lib/python3.11/site-packages/PySide6"  # type: ignore[attr-defined]
    pyside.mkdir(parents=True)
    findings = qt.inspect(environment, ())
    assert findings.packages() == {"fonts-dejavu-core"}


# --- the job without a window

FAKE_PROGRAM = """
echo "$QT_QPA_PLATFORM $*" >> "{log}"
case "$*" in
  "--demo papers "*)
    echo "FK-7 read tension" > "$3/due.txt"
    echo paper > "$3/labels.pdf"
    echo paper > "$3/tension-sheet.pdf" ;;
  pictures*) mkdir -p "$2"; echo picture > "$2/today.png" ;;
esac
"""


def fake_program(environment: object, *, failing: str = "none") -> Path:
    """Put a `framekeeper` in the environment that writes what it is asked for; return its log."""
    folder = environment.folder  # type: ignore[attr-defined]
    log: Path = folder / "log"
    fails = f'case "$*" in *"{failing}"*) exit 1 ;; esac\n'
    script(folder / "bin" / "framekeeper", fails + FAKE_PROGRAM.format(log=log))
    return log


@pytest.fixture
def do_main_job() -> object:
    return importlib.import_module("without_window").do_main_job


def test_the_main_job_without_a_window(
    environment: object, shop: Path, do_main_job: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    """Due list, labels, a tension sheet, and pictures; then a list."""
    log = fake_program(environment)
    assert do_main_job(environment) == 0  # type: ignore[operator]
    written = {str(p.relative_to(shop / "out")) for p in (shop / "out").rglob("*") if p.is_file()}
    assert written == {"due.txt", "labels.pdf", "tension-sheet.pdf", "pictures/today.png"}
    assert (shop / "out" / "due.txt").read_text() == "FK-7 read tension\n"
    assert set(log.read_text().splitlines()) == {
        f"offscreen --demo papers {shop / 'out'}",
        f"offscreen pictures {shop / 'out' / 'pictures'} --first-pages",
    }
    listed = capsys.readouterr().out
    assert all(name in listed for name in written)


def test_a_failing_command_is_named_and_old_papers_are_not_listed(
    environment: object, shop: Path, do_main_job: ModuleType, capsys: pytest.CaptureFixture[str]
) -> None:
    fake_program(environment, failing="papers")
    (shop / "out").mkdir()
    (shop / "out" / "due.txt").write_text("of yesterday")
    (shop / "out" / "note.md").write_text("the person's own")
    assert do_main_job(environment) == 1  # type: ignore[operator]
    listed = capsys.readouterr().out
    assert "This command failed; its own words stand above: framekeeper --demo papers" in listed
    assert not (shop / "out" / "due.txt").exists()
    assert not (shop / "out" / "tension-sheet.pdf").exists()
    assert (shop / "out" / "note.md").exists()


# --- what start.py does with the environment


@pytest.fixture
def at_start(launch: ModuleType, environment: object, monkeypatch: pytest.MonkeyPatch) -> object:
    """An environment that is ready, in a session without a display."""
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "PYTHONHASHSEED"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(launch, "ready_environment", lambda *_: environment)
    monkeypatch.setattr(launch, "window_is_possible", lambda *_: True)
    return environment


def test_no_display_is_said(
    launch: ModuleType, at_start: object, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fake_program(at_start)
    assert launch.main([], shop) == 0
    told = capsys.readouterr().out
    assert "This session has no display. The same job is done without a window." in told
    assert "labels.pdf" in told


@linux_only
@pytest.mark.parametrize(("ending", "papers"), [("exit 3", False), ("kill -ABRT $$", True)])
def test_a_display_that_does_not_answer(
    launch: ModuleType,
    at_start: object,
    shop: Path,
    monkeypatch: pytest.MonkeyPatch,
    ending: str,
    papers: bool,
) -> None:
    """Qt aborts at once where it cannot reach the display; any other end is the program's own."""
    fake_program(at_start)
    program = shop / ".framekeeper-env" / "bin" / "framekeeper"
    program.write_text(program.read_text() + f'[ "$*" = --demo ] && {ending}\nexit 0\n')
    monkeypatch.setenv("DISPLAY", ":0")
    assert launch.main([], shop) == (0 if papers else 3)
    assert (shop / "out" / "labels.pdf").exists() is papers


@pytest.mark.parametrize(
    ("words", "handed_on"),
    [
        (["--test"], ["-n", "auto", "-m", "not long"]),
        (["--test", "--long"], ["-n", "auto"]),
        (["--test", "-k", "due", "-n0"], ["-n", "auto", "-m", "not long", "-k", "due", "-n0"]),
    ],
)
def test_the_tests_run_side_by_side(
    launch: ModuleType, at_start: object, shop: Path, words: list[str], handed_on: list[str]
) -> None:
    """What the person adds comes last, the exit code is pytest's, the hash seed is left alone."""
    told = 'printf "%s\\n" "$@" > said; env > variables; pwd > where; exit 5\n'
    script(shop / ".framekeeper-env" / "bin" / "python", told)
    assert launch.main(words, shop) == 5
    assert (shop / "said").read_text().splitlines() == ["-m", "pytest", *handed_on]
    variables = (shop / "variables").read_text()
    assert "QT_QPA_PLATFORM=offscreen" in variables
    assert "PYTHONHASHSEED" not in variables


# --- .ci/run


@pytest.mark.parametrize("broken", [None, "mypy"])
def test_all_checks_run_in_order_and_stop_at_the_first_that_fails(
    tmp_path: Path, broken: str | None
) -> None:
    ci = tmp_path / "shop" / ".ci" / "run"
    ci.parent.mkdir(parents=True)
    shutil.copy(CHECKOUT / ".ci" / "run", ci)
    log = tmp_path / "log"
    for tool in ("ruff", "mypy", "lint-imports"):
        failing = "exit 1" if tool == broken else ""
        script(tmp_path / "env" / "bin" / tool, f'echo "{tool} $*" >> "{log}"\n{failing}\n')
    python = script(
        tmp_path / "python",
        f'echo "$*" >> "{log}"\ncase "$*" in *--where) echo "{tmp_path}/env" ;; esac\n',
    )
    done = subprocess.run([ci], env={**os.environ, "PYTHON": str(python)}, capture_output=True)
    steps = [
        line.replace("packaging/start.py ", "").split()[0] for line in log.read_text().splitlines()
    ]
    whole = ["--check", "--where", "ruff", "ruff", "mypy", "mypy", "lint-imports", "--test"]
    assert steps == (whole if broken is None else whole[:5])
    assert (done.returncode == 0) is (broken is None)
