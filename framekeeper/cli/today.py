"""What is due, and what the shop is: Today, settings and people on the command line."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import named, whole
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import PLACE_WORDS, TASK_WORDS
from framekeeper.services import plan
from framekeeper.services.forecasts import refresh_if_possible
from framekeeper.services.settings import (
    ShopSettings,
    change_settings,
    own_points_in,
    own_points_text,
    read_settings,
)
from framekeeper.services.work_times import (
    holidays_in,
    holidays_text,
    weekdays_in,
    weekdays_text,
)

if TYPE_CHECKING:
    from framekeeper.cli.call import Call


# Settings that are more than one word: how a person writes them, and how they are written back.
_WRITTEN: dict[str, tuple[Callable[[str], object], Callable[[Any], str]]] = {
    "own_points": (own_points_in, own_points_text),
    "working_weekdays": (weekdays_in, weekdays_text),
    "holidays": (holidays_in, holidays_text),
}


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands about the shop as a whole."""
    command(commands, "due", _due, "list what is due, where and why")
    parser = command(commands, "settings", _settings, "list the shop's settings, or change them")
    parser.add_argument("settings", nargs="*", type=named, metavar="NAME=VALUE")
    command(commands, "people", _people, "list who recorded something")


def _due(call: Call) -> None:
    refresh_if_possible(call.desk)
    items = plan.due(call.desk)
    if call.as_json:
        call.give([_row(item) for item in items])
        return
    for line in due_lines(items):
        call.tell(line)


def due_lines(items: Sequence[plan.DueItem]) -> list[Sentence]:
    """Say what is due, place by place, a line for each task."""
    if not items:
        return [say("Nothing is due.")]
    lines: list[Sentence] = []
    for place, words in PLACE_WORDS.items():
        here = [item for item in items if item.task.place == place]
        lines += [words] if here else []
        lines += [
            say(
                "  {frame}: {task}: {reason}",
                frame=item.frame.name,
                task=TASK_WORDS[item.task.rule],
                reason=item.task.reason,
            )
            for item in here
        ]
    return lines


def _row(item: plan.DueItem) -> dict[str, object]:
    return {
        "code": item.frame.code,
        "task": item.task.rule,
        "place": item.task.place,
        "due": item.task.due_at,
        "reason": item.task.reason,
        "own_label": item.frame.own_label,
        "mesh": item.mesh_name,
        "slot": item.frame.slot,
        "urgency": item.task.urgency,
    }


def _settings(call: Call) -> None:
    if call.words.settings:
        values = {name: _typed(name, text) for name, text in call.words.settings}
        call.done(change_settings(call.desk, **values))
        return
    current = asdict(read_settings(call.desk))
    if call.as_json:
        call.give(current)
        return
    for name, value in current.items():
        text = _WRITTEN[name][1](value) if name in _WRITTEN else value
        call.tell(f"{name}={text}")


def _typed(name: str, text: str) -> object:
    if name in _WRITTEN:
        return _WRITTEN[name][0](text)
    known = asdict(ShopSettings()).get(name)
    return whole(text) if isinstance(known, int) else text


def _people(call: Call) -> None:
    with call.desk.read() as reader:
        names = reader.people()
    if call.as_json:
        call.give(names)
        return
    if not names:
        call.tell(say("Nobody has put a name to anything yet."))
    for name in names:
        call.tell(name)
