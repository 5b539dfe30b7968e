"""Rolls, offcuts and the stock-take on the command line."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from framekeeper.cli.options import Commands, change, command
from framekeeper.cli.values import NONE, day, metres, millimetres, number, or_none, price, whole
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Running, Sentence, say
from framekeeper.services import stock, stock_moves
from framekeeper.services.find import find_roll
from framekeeper.services.offcuts import Serving

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands for rolls."""
    text = "rolls of mesh, and what was left of cuts"
    parser = commands.add_parser("roll", help=text, description=text.capitalize() + ".")
    parts = parser.add_subparsers(required=True, metavar="WHAT")
    command(parts, "list", _list, "list the rolls and offcuts")
    _code(command(parts, "show", _show, "show one roll with every movement"))
    parser = change(parts, "receive", _receive, "put a roll on the shelf", frames=False)
    parser.add_argument("--mesh", required=True)
    parser.add_argument("--length", type=metres, required=True, help="such as 30m")
    parser.add_argument("--width", type=millimetres, required=True, help="such as 1580mm")
    parser.add_argument("--price", type=price, help="per metre, such as 31.50")
    for name in ("code", "lot", "supplier"):
        parser.add_argument(f"--{name}", default="")
    parser = _code(command(parts, "edit", _edit, "change what was said of a roll"))
    parser.add_argument("--width", type=millimetres, help="such as 1580mm")
    parser.add_argument("--price", type=or_none(price), help="per metre; none: not known")
    for name in ("lot", "supplier"):
        parser.add_argument(f"--{name}")
    parser = _code(change(parts, "count", _count, "record what is really left", frames=False))
    parser.add_argument("--length", type=metres, required=True, help="such as 12.5m")
    parser.add_argument("--reason", default="")
    parser = _code(change(parts, "scrap", _scrap, "take mesh off that serves none", frames=False))
    parser.add_argument("--length", type=metres, required=True, help="such as 0.8m")
    parser.add_argument("--reason", required=True)
    parser = _code(change(parts, "offcut", _offcut, "keep what was left of a cut", frames=False))
    parser.add_argument("--width", type=millimetres, required=True, help="across the roll")
    parser.add_argument("--length", type=millimetres, required=True, help="along the roll")
    parser.add_argument("--code", dest="own", default="", help="default: the next free one")
    parser.add_argument("--reason", default="")
    parser = _code(
        change(parts, "take-back", _take_back, "say that a roll never came", frames=False)
    )
    parser.add_argument("--reason", default="")
    parser = command(parts, "stock-take", _stock_take, "list what was counted and what was not")
    parser.add_argument("--since", type=day, metavar="DATE", help="default: today")
    _add_labels(parts)


def _code(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("roll", metavar="ROLL", help="its code, or the mark on its label")
    return parser


def _add_labels(parts: Commands[argparse.ArgumentParser]) -> None:
    parser = command(parts, "labels", _labels, "print labels of rolls as PDF")
    parser.add_argument("rolls", nargs="*", metavar="ROLL")
    parser.add_argument("--all", action="store_true", help="every roll with mesh on it")
    parser.add_argument("--format", default="", metavar="KEY", help="sheet or roll by its size")
    parser.add_argument("--start-cell", type=whole, default=1, metavar="N", help="first free cell")
    parser.add_argument(
        "--offset", nargs=2, type=number, default=(0.0, 0.0), metavar=("RIGHT", "DOWN"),
        help="mm by which this printer must shift",
    )  # fmt: skip
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.pdf")


# looking


def _list(call: Call) -> None:
    shelf = stock.shelf(call.desk)
    names = {m.id: m.name for m in shelf.mesh_types}
    codes = {r.id: r.code for r in shelf.rolls}
    rows = [
        {
            "code": r.code,
            "mesh": names.get(r.mesh_type_id, ""),
            "width_mm": r.width_mm,
            "on_hand_m": r.on_hand_mm / 1000,
            "lot": r.lot,
            "supplier": r.supplier,
            "price_per_m": None if r.price_per_m is None else f"{r.price_per_m:f}",
            "offcut_of": codes.get(r.from_roll_id or 0),
            "serves": _serves(call, shelf.servings.get(r.id)),
        }
        for r in shelf.rolls
    ]
    call.table(rows, tuple(rows[0]) if rows else (), say("There is no roll on the shelf yet."))


def _serves(call: Call, serving: Serving | None) -> Sentence | None:
    if serving is None or not serving.has_frames:
        return None
    if not serving.sizes:
        return say("no frame: scrap")
    smallest = serving.sizes[0]
    size = call.wording.size(smallest.width_mm, smallest.height_mm)
    return say("{size}, turned", size=size) if smallest.is_turned else say("{size}", size=size)


def _show(call: Call) -> None:
    page = stock_moves.roll_page(call.desk, call.words.roll)
    rows = [
        {
            "at": line.move.happened_at,
            "what": line.move.kind,
            "taken_back": line.is_taken_back or line.takes_back is not None,
            "length_m": f"{line.move.length_mm / 1000:+.3f}",
            "left_m": f"{line.left_mm / 1000:.3f}",
            "frame": line.frame.code if line.frame else "",
            "by": line.operation.by,
            "reason": line.move.reason,
            "operation": f"{line.operation.id}: {line.operation.action} {line.operation.subject}",
        }
        for line in page.lines
    ]
    if not call.as_json:
        roll = page.roll
        call.tell(
            say(
                "{code}: {mesh}, {left} left, lot {lot}.",
                code=roll.code,
                mesh=page.mesh.name,
                left=Running(roll.on_hand_mm),
                lot=roll.lot or "—",
            )
        )
    call.table(rows, tuple(rows[0]), say("Nothing has moved on this roll."))


def _stock_take(call: Call) -> None:
    take = stock_moves.stock_take(call.desk, since=call.words.since)
    rows = [
        {
            "code": line.roll.code,
            "mesh": line.mesh.name if line.mesh else "",
            "written_m": f"{line.expected_mm / 1000:.3f}",
            "counted_m": (
                say("not seen") if line.counted_mm is None else f"{line.counted_mm / 1000:.3f}"
            ),
            "difference_m": (
                "" if line.counted_mm is None else f"{line.difference_mm / 1000:+.3f}"
            ),
            "by": line.by,
            "reason": line.reason,
        }
        for line in (*take.counted, *take.not_seen)
    ]
    call.table(rows, tuple(rows[0]) if rows else (), say("There is no mesh on the shelf to count."))
    if rows and not call.as_json:
        call.tell(
            say(
                "{counted} counted, {unseen} not seen, in all {total:+.2f}.",
                counted=len(take.counted),
                unseen=len(take.not_seen),
                total=Running(take.difference_mm),
            )
        )


# changing


def _receive(call: Call) -> None:
    words = call.words
    roll = stock.NewRoll(
        words.mesh, words.width, words.length, words.code, words.lot, words.supplier, words.price
    )
    call.done(stock.receive_roll(call.desk, roll, when=call.when()))


def _edit(call: Call) -> None:
    words = call.words
    with call.desk.read() as reader:
        known = find_roll(reader, words.roll)
    facts = stock.RollFacts(known.width_mm, known.lot, known.supplier, known.price_per_m)
    told: dict[str, Any] = {
        field: None if value is NONE else value
        for option, field in (
            ("width", "width_mm"), ("lot", "lot"), ("supplier", "supplier"),
            ("price", "price_per_m"),
        )
        if (value := getattr(words, option)) is not None
    }  # fmt: skip
    facts = replace(facts, **told)
    call.done(stock.edit_roll(call.desk, known.code, facts, version=known.version))


def _count(call: Call) -> None:
    words = call.words
    call.done(
        stock.count_roll(
            call.desk, words.roll, length_mm=words.length, reason=words.reason, when=call.when()
        )
    )


def _scrap(call: Call) -> None:
    words = call.words
    call.done(
        stock.scrap(
            call.desk, words.roll, length_mm=words.length, reason=words.reason, when=call.when()
        )
    )


def _offcut(call: Call) -> None:
    words = call.words
    call.done(
        stock.keep_offcut(
            call.desk,
            words.roll,
            width_mm=words.width,
            length_mm=words.length,
            offcut_code=words.own,
            reason=words.reason,
            when=call.when(),
        )
    )


def _take_back(call: Call) -> None:
    words = call.words
    call.done(stock.take_back_roll(call.desk, words.roll, reason=words.reason, when=call.when()))


def _labels(call: Call) -> None:
    from framekeeper.services.papers import LabelSetup, roll_labels_pdf

    words = call.words
    if bool(words.rolls) == words.all:
        raise NotValid(
            say("Labels are for the rolls that you name, or for all."),
            hint=say("Give codes, or --all."),
        )
    setup = LabelSetup(words.format, words.start_cell, tuple(words.offset))
    codes = None if words.all else words.rolls
    call.write(words.out, roll_labels_pdf(call.desk, call.wording, codes, setup))
