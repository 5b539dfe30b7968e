"""Reads one command line, does what it says, and tells how it ended by its exit code."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from framekeeper import __version__
from framekeeper.cli import (
    bench,
    costs,
    cut,
    findings,
    forecast,
    history,
    keeping,
    lives,
    marks,
    meters,
    order,
    papers,
    rack,
    rolls,
    shelf,
    supplies,
    today,
    washout,
    week,
)
from framekeeper.cli.call import Call
from framekeeper.domain.errors import FramekeeperError
from framekeeper.launch import WindowWords, open_window
from framekeeper.services.desk import Clock, SystemClock
from framekeeper.services.wording import PlainWording

DONE, REFUSED, WRONG_USAGE = 0, 1, 2
_STOPPED = 130  # what shells expect after Ctrl+C


def build_parser() -> argparse.ArgumentParser:
    """Put the commands together, in the order in which a frame walks through the shop."""
    parser = argparse.ArgumentParser(
        prog="framekeeper",
        description="Keeps every frame and every piece of mesh in a screen-printing shop. "
        "Without a command the window opens.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"framekeeper {__version__}")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--db", metavar="PATH_OR_URL", help="the shop: a file, or a PostgreSQL URL")
    which.add_argument("--demo", action="store_true", help="a fresh copy of the demo shop")
    parser.add_argument("--by", default="", help="who does it")
    parser.set_defaults(run=_open_window)
    commands = parser.add_subparsers(metavar="COMMAND", title="commands")
    for place in (
        today,
        week,
        rack,
        forecast,
        cut,
        bench,
        washout,
        marks,
        shelf,
        rolls,
        supplies,
        order,
        meters,
        findings,
        lives,
        costs,
        papers,
        history,
        keeping,
    ):
        place.add(commands)
    return parser


def main(argv: Sequence[str] | None = None, *, clock: Clock | None = None) -> int:
    """Do what the words say and return the exit code: 0 done, 1 refused, 2 wrong usage."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a console that lacks a letter still gets the rest
            stream.reconfigure(errors="replace")
    at = clock or SystemClock()
    try:
        return _do(argv, at)
    except SystemExit as ended:  # argparse: help, version or wrong usage
        return ended.code if isinstance(ended.code, int) else WRONG_USAGE
    except FramekeeperError as refused:
        sys.stderr.write(PlainWording(zone=at.zone()).error(refused) + "\n")
        return REFUSED
    except BrokenPipeError:
        sys.stderr.close()  # whoever listened has heard enough
        return DONE
    except KeyboardInterrupt:
        return _STOPPED


def _do(argv: Sequence[str] | None, clock: Clock) -> int:
    call = Call(build_parser().parse_args(argv), clock)
    try:
        return call.words.run(call) or DONE
    finally:
        call.close()


def _open_window(call: Call) -> int:
    return open_window(WindowWords(call.words.db, call.words.demo, call.words.by))
