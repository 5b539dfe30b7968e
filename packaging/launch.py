"""Reads the options of start.py and walks through the set-up in order."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from private_environment import Environment, can_write, ready_environment
from qt_libraries import window_is_possible
from trouble import SetUpTrouble
from without_window import do_main_job

_ABORTED = 128 + 6  # how Qt ends a program that cannot reach the display
_OPENING_S = 15  # an abort later than this is not about the display
CHECKOUT = Path(__file__).resolve().parent.parent
_UNSEEN_PLATFORMS = ("offscreen", "minimal")
_DISPLAY_VARIABLES = {"DISPLAY": "x11", "WAYLAND_DISPLAY": "wayland"}


def main(arguments: Sequence[str], checkout: Path = CHECKOUT) -> int:
    """Set up and do what the options ask for; return the exit code."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    options, rest = _options(arguments)
    try:
        if options.test:
            return run_tests(checkout, rest, long=options.long)
        if options.check or options.where:
            environment = ready_environment(checkout, ("check", "test") if options.check else ())
            print(environment.folder)
            return 0
        return open_demo_shop(checkout)
    except SetUpTrouble as trouble:
        print(trouble, file=sys.stderr)
    except OSError as trouble:
        print(f"The set-up stopped at a file: {trouble}. Start again when that is mended.")
    except KeyboardInterrupt:
        print("\nStopped. Start again at any time; what is unfinished is made anew.")
        return 130
    return 1


def _options(arguments: Sequence[str]) -> tuple[argparse.Namespace, list[str]]:
    parser = argparse.ArgumentParser(
        prog="start.py",
        description="Sets Framekeeper up in a private environment and opens the demo shop.",
        epilog="With --test, everything that is not named here is handed to pytest.",
        allow_abbrev=False,
    )
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--test", action="store_true", help="run the tests instead")
    what.add_argument("--check", action="store_true", help="only install what the checks need")
    what.add_argument("--where", action="store_true", help="only print the environment's folder")
    parser.add_argument("--long", action="store_true", help="with --test: the long proofs as well")
    options, rest = parser.parse_known_args(arguments)
    if rest and not options.test:
        parser.error("not understood: " + " ".join(rest))
    if options.long and not options.test:
        parser.error("--long goes with --test")
    return options, rest


def displays(variables: Mapping[str, str], platform: str = sys.platform) -> set[str]:
    """Return the kinds of display that this session has; an empty set means: no window."""
    if variables.get("QT_QPA_PLATFORM", "").split(":")[0] in _UNSEEN_PLATFORMS:
        return set()
    if not platform.startswith("linux"):
        return {"own"}
    return {kind for name, kind in _DISPLAY_VARIABLES.items() if variables.get(name)}


def open_demo_shop(checkout: Path) -> int:
    """Open the demo shop in its window, or do the same job without one and say so."""
    began = time.monotonic()
    environment = ready_environment(checkout)
    seen_on = displays(os.environ)
    possible = window_is_possible(environment, seen_on)
    print(f"Set up in {time.monotonic() - began:.1f} s.", flush=True)
    if not seen_on:
        reason = "This session has no display."
    elif not possible:
        reason = "The window cannot open until the libraries named above are installed."
    else:
        print("Opening the demo shop.", flush=True)
        began = time.monotonic()
        code = _run(environment, environment.command("framekeeper"), "--demo")
        if code != _ABORTED or time.monotonic() - began > _OPENING_S:
            return code
        reason = "The display of this session could not be opened."
    print(f"{reason} The same job is done without a window.", flush=True)
    return do_main_job(environment)


def run_tests(checkout: Path, rest: Sequence[str], *, long: bool) -> int:
    """Run the tests side by side; what the person adds comes last and so wins."""
    environment = ready_environment(checkout, ("test",))
    window_is_possible(environment, ())
    words = ["-m", "pytest", "-n", "auto"]
    if not long:
        words += ["-m", "not long"]
    if not can_write(checkout):
        words += ["-o", f"cache_dir={environment.folder.parent / 'pytest'}"]
    return _run(environment, environment.python, *words, *rest)


def _run(environment: Environment, command: Path, *arguments: str) -> int:
    variables = environment.variables()
    if not displays(variables):
        variables["QT_QPA_PLATFORM"] = "offscreen"
    done = subprocess.run(
        [command, *arguments], cwd=environment.checkout, env=variables, check=False
    )
    return done.returncode if done.returncode >= 0 else 128 - done.returncode
