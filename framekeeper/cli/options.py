"""The parts that most commands share: the frames, when it happened, a note, and --json."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from framekeeper.cli.values import day_and_time

if TYPE_CHECKING:
    from framekeeper.cli.call import Call

Command = Callable[["Call"], int | None]
Commands = argparse._SubParsersAction  # the type that argparse gives to what add_parser() is on


def command(
    commands: Commands[argparse.ArgumentParser], name: str, run: Command, text: str
) -> argparse.ArgumentParser:
    """Add a command; `text` is its help, a sentence without its full stop."""
    parser = commands.add_parser(
        name, help=text, description=text[0].upper() + text[1:] + ".", allow_abbrev=False
    )
    parser.set_defaults(run=run)
    parser.add_argument("--json", action="store_true", help="answer for a machine")
    parser.add_argument("--by", default=argparse.SUPPRESS, help="who does it")
    return parser


def change(
    commands: Commands[argparse.ArgumentParser],
    name: str,
    run: Command,
    text: str,
    *,
    frames: bool = True,
) -> argparse.ArgumentParser:
    """Add a command that records something about frames; it may have happened earlier."""
    parser = command(commands, name, run, text)
    if frames:
        parser.add_argument("codes", nargs="+", metavar="CODE", help="codes or labels of frames")
    parser.add_argument(
        "--at",
        "--on",
        dest="at",
        type=day_and_time,
        metavar="DATE[ TIME]",
        help="when it happened, in the shop's zone (default: now)",
    )
    parser.add_argument("--note", default="", help="a note in the journal")
    return parser
