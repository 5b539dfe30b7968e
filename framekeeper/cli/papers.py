"""Labels and papers on the command line."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.today import due_lines
from framekeeper.cli.values import number, whole
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands that print to PDF."""
    parser = command(commands, "labels", _labels, "print frame labels as PDF")
    parser.add_argument("codes", nargs="*", metavar="CODE", help="codes or labels of frames")
    parser.add_argument("--all", action="store_true", help="every frame that is not retired")
    parser.add_argument("--format", default="", metavar="KEY", help="sheet or roll by its size")
    parser.add_argument("--start-cell", type=whole, default=1, metavar="N", help="first free cell")
    parser.add_argument(
        "--offset", nargs=2, type=number, default=(0.0, 0.0), metavar=("RIGHT", "DOWN"),
        help="mm by which this printer must shift",
    )  # fmt: skip
    parser.add_argument("--dpi", type=whole, default=300, help="dots per inch of the printer")
    _out(parser)
    parser = command(commands, "tension-sheet", _tension_sheet, "print one frame's history as PDF")
    parser.add_argument("code", metavar="CODE")
    _out(parser)
    _out(command(commands, "due-sheet", _due_sheet, "print what is due as PDF"))
    parser = command(commands, "round-sheet", _round_sheet, "print a sheet for a tension round")
    parser.add_argument("codes", nargs="*", metavar="CODE", help="default: every screen")
    parser.add_argument("--meter", default="", help="the meter's name")
    _out(parser)
    parser = command(
        commands, "papers", _papers, "write the due list, labels and a tension sheet into a folder"
    )
    parser.add_argument("folder", type=Path, metavar="DIR")


def _out(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")


def _labels(call: Call) -> None:
    from framekeeper.services.papers import LabelSetup, labels_pdf

    words = call.words
    if bool(words.codes) == words.all:
        raise NotValid(
            say("Labels are for the frames that you name, or for all."),
            hint=say("Give codes, or --all."),
        )
    if not 72 <= words.dpi <= 2400:
        raise NotValid(say("A printer with {dpi} dots per inch cannot be.", dpi=words.dpi))
    setup = LabelSetup(words.format, words.start_cell, tuple(words.offset), words.dpi)
    codes = None if words.all else words.codes
    call.write(words.out, labels_pdf(call.desk, call.wording, codes, setup))


def _tension_sheet(call: Call) -> None:
    from framekeeper.services.tension_paper import tension_sheet_pdf

    call.write(call.words.out, tension_sheet_pdf(call.desk, call.wording, call.words.code))


def _papers(call: Call) -> None:
    """Write what a morning in the shop begins with, in one go."""
    from framekeeper.services.papers import LabelSetup, labels_pdf
    from framekeeper.services.plan import due, list_frames
    from framekeeper.services.tension_paper import tension_sheet_pdf

    folder = call.words.folder
    if not folder.is_dir():
        raise NotValid(say("The folder {path} does not exist.", path=folder))
    text = "".join(call.wording.sentence(line) + "\n" for line in due_lines(due(call.desk)))
    call.write(folder / "due.txt", text.encode())
    frames = list_frames(call.desk)
    if frames:
        call.write(folder / "labels.pdf", labels_pdf(call.desk, call.wording, None, LabelSetup()))
    read = (f.frame for f in frames if f.frame.state.life and f.frame.state.life.survey)
    if (frame := next(read, None)) is not None:
        sheet = tension_sheet_pdf(call.desk, call.wording, frame.code)
        call.write(folder / "tension-sheet.pdf", sheet)


def _due_sheet(call: Call) -> None:
    from framekeeper.services.papers import due_sheet_pdf

    call.write(call.words.out, due_sheet_pdf(call.desk, call.wording))


def _round_sheet(call: Call) -> None:
    from framekeeper.services.papers import round_sheet_pdf

    words = call.words
    paper = round_sheet_pdf(call.desk, call.wording, words.codes or None, meter=words.meter)
    call.write(words.out, paper)
