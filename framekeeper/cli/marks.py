"""Holds, reservations, trips outside, missing frames and retirement on the command line."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, change
from framekeeper.cli.values import day, number
from framekeeper.services import marks

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands that mark frames or send them away."""
    parser = change(commands, "hold", _hold, "put frames on hold")
    parser.add_argument("--reason", required=True)
    change(commands, "end-hold", _end_hold, "take frames off hold")
    parser = change(commands, "reserve", _reserve, "set screens aside for a job")
    parser.add_argument("--job", required=True)
    parser.add_argument("--needed", type=day, metavar="DATE", help="when the job needs them")
    change(commands, "free", _free, "end reservations")
    parser = change(commands, "send-out", _send_out, "send frames to an outside stretcher")
    parser.add_argument("--to", required=True, help="who stretches them")
    parser.add_argument("--back", type=day, metavar="DATE", help="when they are due back")
    parser = change(commands, "receive", _receive, "take frames back from outside")
    parser.add_argument("--mesh", default="", help="the new mesh, if there is one")
    parser.add_argument("--target", type=number, help="N/cm (default: that of the mesh)")
    change(commands, "missing", _missing, "record that nobody can find the frames")
    change(commands, "found-again", _found_again, "record that missing frames are back")
    parser = change(commands, "retire", _retire, "take frames out of the shop's service for good")
    parser.add_argument("--reason", required=True)


def _hold(call: Call) -> None:
    call.done(marks.hold(call.desk, call.words.codes, call.words.reason, when=call.when()))


def _end_hold(call: Call) -> None:
    call.done(marks.end_hold(call.desk, call.words.codes, when=call.when()))


def _reserve(call: Call) -> None:
    words = call.words
    call.done(
        marks.reserve(call.desk, words.codes, words.job, needed_on=words.needed, when=call.when())
    )


def _free(call: Call) -> None:
    call.done(marks.free(call.desk, call.words.codes, when=call.when()))


def _send_out(call: Call) -> None:
    words = call.words
    call.done(
        marks.send_out(call.desk, words.codes, words.to, due_back_on=words.back, when=call.when())
    )


def _receive(call: Call) -> None:
    words = call.words
    call.done(
        marks.receive(
            call.desk, words.codes, mesh=words.mesh, target_n_per_cm=words.target, when=call.when()
        )
    )


def _missing(call: Call) -> None:
    call.done(marks.missing(call.desk, call.words.codes, when=call.when()))


def _found_again(call: Call) -> None:
    call.done(marks.found(call.desk, call.words.codes, when=call.when()))


def _retire(call: Call) -> None:
    call.done(marks.retire(call.desk, call.words.codes, call.words.reason, when=call.when()))
