"""Keeps the shop's tension meters."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import MeterRecord
from framekeeper.domain.sentence import say
from framekeeper.services.check import find_meter
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader


@dataclass(frozen=True, slots=True)
class MeterFacts:
    """What a shop says of a meter. `correction` is added to what it shows, in N/cm."""

    name: str
    serial: str = ""
    resolution: float = 0.5
    correction: float = 0.0
    certificate_until: dt.date | None = None


def meters(desk: Desk) -> list[MeterRecord]:
    """List the meters."""
    with desk.read() as reader:
        return reader.meters()


def add_meter(desk: Desk, facts: MeterFacts) -> Done:
    """Add a meter."""
    _check(facts)
    with desk.work("add meter") as work:
        same = _same(work, facts.name)
        _refuse_taken(same)
        work.name_subject(facts.name)
        if same:
            work.edit_row("meter", same[0].id, {**_values(facts), "is_hidden": False})
        else:
            work.add_row("meter", _values(facts))
        changes = work.commit()
    return Done(say("Meter {name} added.", name=facts.name), changes)


def edit_meter(desk: Desk, name: str, facts: MeterFacts, *, version: int | None = None) -> Done:
    """Change a meter; readings keep the correction that was in force when they were taken."""
    _check(facts)
    with desk.work("edit meter") as work:
        meter = find_meter(work, name)
        _refuse_taken([m for m in _same(work, facts.name) if m.id != meter.id])
        work.name_subject(facts.name)
        work.edit_row("meter", meter.id, _values(facts), version=version)
        changes = work.commit()
    return Done(say("Meter {name} changed.", name=facts.name), changes)


def _same(reader: Reader, name: str) -> list[MeterRecord]:
    wanted = name.strip().lower()
    return [m for m in reader.meters(with_hidden=True) if m.name.lower() == wanted]


def _refuse_taken(same: list[MeterRecord]) -> None:
    for meter in same:
        if not meter.is_hidden:
            raise NotValid(
                say("The shop has a meter named {name} already.", name=meter.name),
                hint=say("Choose another name."),
                argument="name",
            )


def _check(facts: MeterFacts) -> None:
    if not facts.name.strip():
        raise NotValid(say("A meter needs a name."), argument="name")
    valid_text(facts.name, argument="name", most=100)
    valid_text(facts.serial, argument="serial", most=100)
    if not 0 < facts.resolution <= 5:
        raise NotValid(
            say("A resolution of {value} N/cm cannot be.", value=facts.resolution),
            argument="resolution",
        )
    if not -10 <= facts.correction <= 10:
        raise NotValid(
            say("A correction of {value} N/cm is too large to trust the meter.",
                value=facts.correction),
            hint=say("Have the meter calibrated first."),
            argument="correction",
        )  # fmt: skip


def _values(facts: MeterFacts) -> dict[str, object]:
    return {
        "name": facts.name.strip(),
        "serial": facts.serial.strip(),
        "resolution": facts.resolution,
        "correction": facts.correction,
        "certificate_until": facts.certificate_until,
    }
