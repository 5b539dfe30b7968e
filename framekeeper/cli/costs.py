"""What a screen costs, and whether stretching in house pays, on the command line."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import named, whole
from framekeeper.domain.costs import Cost, InputName
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services import costs as service
from framekeeper.services.cost_inputs import input_named, keep_inputs, read_amount
from framekeeper.services.costs import Costs, Number
from framekeeper.services.costs_telling import (
    amount_words,
    assumed_words,
    away_words,
    break_even_words,
    choice_words,
    cost_lines,
    missing_words,
    number_words,
    swing_words,
    told_swings,
)

if TYPE_CHECKING:
    from framekeeper.cli.call import Call

_MOST_SCREENS = 100_000


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands about costs."""
    parser = command(
        commands, "costs", _costs,
        "tell what a stretch, a reclaim and a thousand prints cost, and if stretching here pays",
    )  # fmt: skip
    parser.add_argument("--screens", type=whole, metavar="N", help="screens a month")
    parser.add_argument("--mesh", metavar="NAME", help="of one mesh alone")
    parser.add_argument(
        "--what-if", action="append", default=[], type=named, metavar="NAME=VALUE",
        help="reckon with another number, without keeping it",
    )  # fmt: skip
    parser.add_argument("--out", type=Path, metavar="FILE.pdf", help="print it")
    parser = command(
        commands, "cost", _keep, "keep what the shop says of its costs, such as freight=60"
    )
    parser.add_argument(
        "numbers", nargs="+", type=named, metavar="NAME=VALUE",
        help="shares in percent; “none” takes back what was said",
    )  # fmt: skip


def _amounts(pairs: Sequence[tuple[str, str]]) -> dict[InputName, Decimal | None]:
    found: dict[InputName, Decimal | None] = {}
    for text, value in pairs:
        name = input_named(text)
        found[name] = read_amount(name, value)
    return found


def _keep(call: Call) -> None:
    call.done(keep_inputs(call.desk, _amounts(call.words.numbers)))


def _costs(call: Call) -> None:
    words = call.words
    if words.screens is not None and not 0 <= words.screens <= _MOST_SCREENS:
        raise NotValid(
            say("{n} screens a month cannot be.", n=words.screens), kept="", argument="screens"
        )
    found = service.costs(
        call.desk,
        screens=None if words.screens is None else Decimal(words.screens),
        what_if=_amounts(words.what_if),
        mesh=words.mesh,
    )
    if words.out is not None:
        from framekeeper.services.cost_paper import costs_pdf

        call.write(words.out, costs_pdf(call.desk, call.wording, found))
    elif call.as_json:
        call.give(_plain(found))
    else:
        for line in _lines(found):
            call.tell(line)


def _lines(found: Costs) -> Iterator[Sentence]:
    currency = found.known.currency
    for line in cost_lines(found):
        values = {"what": line.words, "amount": amount_words(line, currency)}
        yield Sentence("{what}: {amount}" if line.is_head else "  {what}: {amount}", values)
    told = (choice_words(found), break_even_words(found), away_words(found), assumed_words())
    yield from (said for said in told if said is not None)
    if found.swings:
        yield say("What matters most, each number 20 % lower and higher:")
        for swing in told_swings(found):
            yield say("  {line}", line=swing_words(swing, found.known))
    yield say("Reckoned from:")
    for number in found.numbers.values():
        yield say("  {line}", line=number_words(number, found.known))
    missing = missing_words(found)
    if missing is not None:
        yield missing
        yield say("Enter what the shop knows with: framekeeper cost NAME=VALUE.")


def _plain(found: Costs) -> dict[str, object]:
    """Money and other exact numbers as decimal text."""
    even = found.break_even
    return {
        "currency": found.known.currency,
        "mesh": found.known.mesh or None,
        "screens": _exact(found.screens),
        "stretch": _cost(found.stretch),
        "reclaim": _cost(found.reclaim),
        "thousand_prints": _cost(found.thousand),
        "in_house": _cost(found.in_house),
        "sent_out": _cost(found.sent_out),
        "difference": _exact(found.difference),
        "frames_away": _exact(found.frames_away),
        "break_even": even and {"kind": even.kind, "screens": _exact(even.screens)},
        "missing": list(found.missing),
        "swings": [
            {
                "name": swing.name,
                "low": _exact(swing.low),
                "high": _exact(swing.high),
                "at_low": _exact(swing.at_low),
                "at_high": _exact(swing.at_high),
            }
            for swing in found.swings
        ],
        "numbers": {name: _number(number) for name, number in found.numbers.items()},
    }


def _cost(cost: Cost) -> dict[str, object]:
    return {
        "total": _exact(cost.total),
        "known": _exact(cost.known),
        "parts": {part.name: _exact(part.amount) for part in cost.parts},
        "missing": list(cost.missing),
    }


def _number(number: Number) -> dict[str, object]:
    behind: dict[str, list[int]] = {}
    for trace in number.traces:
        behind.setdefault(f"{trace.kind}s", []).append(trace.id)
    return {
        "value": _exact(number.value),
        "origin": number.origin,
        "why": number.words,
        "journal": _exact(number.told.value) if number.told is not None else None,
        "behind": behind,
    }


def _exact(value: Decimal | None) -> str | None:
    """Up to six digits after the point: finer than any price."""
    if value is None:
        return None
    text = f"{value:.6f}".rstrip("0")
    return text + "00"[: max(0, 2 - (len(text) - text.index(".") - 1))]
