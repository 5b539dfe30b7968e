"""Batches of adhesive and activator on the command line."""

from __future__ import annotations

import argparse
import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import day, or_none
from framekeeper.domain.sentence import say
from framekeeper.services import supplies
from framekeeper.services.desk import Desk, Done
from framekeeper.services.supplies import KIND_WORDS, KINDS, SupplyFacts

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands for glue."""
    text = "batches of adhesive and activator"
    parser = commands.add_parser("glue-batch", help=text, description=text.capitalize() + ".")
    parts = parser.add_subparsers(required=True, metavar="WHAT")
    command(parts, "list", _list, "list the batches and how long they keep")
    parser = _batch(command(parts, "add", _add, "put a batch on the shelf"))
    parser.add_argument("--kind", choices=KINDS, required=True)
    _facts(parser)
    parser = _batch(command(parts, "edit", _edit, "change what was said of a batch"))
    parser.add_argument("--kind", choices=KINDS)
    parser.add_argument("--batch", dest="new_batch", metavar="NEW", help="another number")
    _facts(parser)
    _batch(command(parts, "open", _open, "note that a batch was opened today"))
    _batch(command(parts, "finish", _finish, "take a batch off the shelf"))


def _batch(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    parser.add_argument("batch", metavar="BATCH", help="what stands on the tin")
    return parser


def _facts(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--name", help="your own name for it")
    parser.add_argument("--best-before", type=or_none(day), metavar="DATE", help="none: not known")
    parser.add_argument("--opened-on", type=or_none(day), metavar="DATE", help="none: not open")
    parser.add_argument("--remark", help="anything else")


def _list(call: Call) -> None:
    listed = supplies.supplies(call.desk)
    rows = [
        {
            "batch": now.supply.batch,
            "kind": KIND_WORDS[now.supply.kind],
            "name": now.supply.name,
            "best_before": now.supply.best_before,
            "days_left": now.days_left,
            "opened_on": now.supply.opened_on,
            "note": now.supply.note,
        }
        for now in listed
    ]
    call.table(rows, tuple(rows[0]) if rows else (), say("No batch is on the shelf yet."))
    for now in listed if not call.as_json else ():
        if now.told is not None:
            call.tell(now.told)


def _add(call: Call) -> None:
    words = call.words
    facts = _told(call, SupplyFacts(words.kind, words.batch))
    call.done(supplies.add_supply(call.desk, facts))


def _edit(call: Call) -> None:
    with call.desk.read() as reader:
        known = supplies.find_supply(reader, call.words.batch)
    facts = SupplyFacts(
        call.words.kind or known.kind,
        call.words.new_batch or known.batch,
        known.name,
        known.best_before,
        known.opened_on,
        known.note,
    )
    done = supplies.edit_supply(call.desk, known.id, _told(call, facts), version=known.version)
    call.done(done)


def _told(call: Call, facts: SupplyFacts) -> SupplyFacts:
    words = call.words
    return SupplyFacts(
        facts.kind,
        facts.batch,
        facts.name if words.name is None else words.name,
        _day(words.best_before, facts.best_before),
        _day(words.opened_on, facts.opened_on),
        facts.note if words.remark is None else words.remark,
    )


def _day(told: object, known: dt.date | None) -> dt.date | None:
    if told is None:
        return known
    return told if isinstance(told, dt.date) else None


def _open(call: Call) -> None:
    _change(call, supplies.open_supply)


def _finish(call: Call) -> None:
    _change(call, supplies.finish_supply)


def _change(call: Call, what: Callable[[Desk, int], Done]) -> None:
    with call.desk.read() as reader:
        known = supplies.find_supply(reader, call.words.batch)
    call.done(what(call.desk, known.id))
