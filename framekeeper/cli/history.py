"""Undo, redo and corrections on the command line."""

from __future__ import annotations

import argparse
import dataclasses
import typing
from typing import TYPE_CHECKING, Any

from framekeeper.cli.options import Commands, change, command
from framekeeper.cli.values import named, number, whole
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.events import Payload, Surveyed
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import valid_tension
from framekeeper.services import history
from framekeeper.services.check import pairs_to_request
from framekeeper.services.frame_page import frame_page

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands that take back."""
    command(commands, "undo", _undo, "take back what was done last")
    command(commands, "redo", _redo, "do again what was undone")
    parser = change(
        commands, "correct", _correct, "correct one entry of a frame's journal", frames=False
    )
    parser.add_argument("code", metavar="CODE")
    parser.add_argument("--event", type=whole, required=True, help="its number in `journal CODE`")
    parser.add_argument("--withdraw", action="store_true", help="it never happened")
    parser.add_argument(
        "--set", action="append", default=[], type=named, metavar="NAME=VALUE",
        help="a value as it should have been; repeatable",
    )  # fmt: skip
    parser.add_argument(
        "--readings", nargs="+", type=number, metavar="N", help="the readings of a survey, anew"
    )


def _undo(call: Call) -> None:
    call.done(history.undo(call.desk))


def _redo(call: Call) -> None:
    call.done(history.redo(call.desk))


def _correct(call: Call) -> None:
    words = call.words
    when = call.when()
    if words.withdraw:
        if words.set or words.readings or when.happened_at:
            raise NotValid(say("What never happened has no values."))
        call.done(history.withdraw(call.desk, words.code, words.event))
        return
    if not (words.set or words.readings or when.happened_at or when.note):
        raise NotValid(
            say("Nothing was said to be otherwise."),
            hint=say("Use --at, --note, --set or --readings, or --withdraw to take it back."),
        )
    page = frame_page(call.desk, words.code)
    found = next((j.event for j in page.journal if j.event.event_id == words.event), None)
    if found is None:
        raise NotFound(say("{frame} has no such entry in its journal.", frame=page.frame.name))
    payload = _with_values(found.payload, words.set)
    if words.readings:
        if not isinstance(payload, Surveyed):
            raise NotValid(say("Only a survey has readings."))
        readings = pairs_to_request(words.readings).readings()
        payload = dataclasses.replace(payload, readings=readings)
    call.done(history.correct(call.desk, words.code, words.event, payload, when=when))


def _with_values(payload: Payload, values: list[tuple[str, str]]) -> Payload:
    """Change plain values of an event; what points at other rows is recorded anew instead."""
    hints = typing.get_type_hints(type(payload))
    kinds = {
        field.name: hints[field.name]
        for field in dataclasses.fields(payload)
        if not field.name.endswith("_id")
        and (typing.get_args(hints[field.name]) or (hints[field.name],))[0]
        in (str, int, float, bool)
    }
    kinds.pop("correction_n_per_cm", None)
    changes: dict[str, Any] = {}
    for name, text in values:
        if name not in kinds:
            raise NotValid(
                say("“{name}” cannot be set on this entry.", name=name),
                hint=say("It has: {names}.", names=", ".join(sorted(kinds)) or "—"),
            )
        changes[name] = _typed(name, text, (typing.get_args(kinds[name]) or (kinds[name],))[0])
    return dataclasses.replace(payload, **changes)


def _typed(name: str, text: str, kind: type) -> object:
    if kind is str:
        return text
    if kind is bool:
        if text.lower() not in ("yes", "no"):
            raise NotValid(say("{name} is yes or no.", name=name))
        return text.lower() == "yes"
    value = whole(text) if kind is int else number(text)
    if name.endswith("_n_per_cm"):
        return valid_tension(value, argument=name)
    if value < 0:
        raise NotValid(say("{name} cannot be below zero.", name=name))
    return value
