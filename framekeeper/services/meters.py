"""Keeps the shop's tension meters."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import MeterRecord
from framekeeper.domain.sentence import say
from framekeeper.services.check import find_meter
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader


MOST_CERTIFICATE_MONTHS = 120

Scale = Literal["n_per_cm", "mm_of_sag"]


@dataclass(frozen=True, slots=True)
class MeterFacts:
    """What a shop says of a meter. `correction` is added to what it shows, in N/cm.

    `u_n_per_cm` is the standard uncertainty of its bias, `repeatability` the standard deviation of
    one reading taken again. A scale in mm of sag is asked for only to be refused with its reason.
    """

    name: str
    serial: str = ""
    resolution: float = 0.5
    correction: float = 0.0
    certificate_until: dt.date | None = None
    u_n_per_cm: float = 0.5
    repeatability: float = 0.3
    certificate_months: int = 12
    scale: Scale = "n_per_cm"


def facts_of(meter: MeterRecord) -> MeterFacts:
    """Return what the shop says of a meter now, to change a part of it."""
    return MeterFacts(
        name=meter.name,
        serial=meter.serial,
        resolution=meter.resolution,
        correction=meter.correction,
        certificate_until=meter.certificate_until,
        u_n_per_cm=meter.u_n_per_cm,
        repeatability=meter.repeatability,
        certificate_months=meter.certificate_months,
    )


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
    _check_trust(facts)


def _check_trust(facts: MeterFacts) -> None:
    if facts.scale != "n_per_cm":
        raise NotValid(
            say(
                "{name} shows mm of sag, and there is no formula from sag to N/cm: it depends on "
                "the build of the meter, and a lower number means a tighter screen.",
                name=facts.name.strip(),
            ),
            hint=say("Add a meter that shows N/cm; two scales in one history mislead."),
            argument="scale",
        )
    for name in ("u_n_per_cm", "repeatability"):
        value = getattr(facts, name)
        if not 0 <= value <= 10:
            raise NotValid(
                say("An uncertainty of {value} N/cm cannot be.", value=value),
                hint=say("Enter a standard deviation, such as 0.3."),
                argument=name,
            )
    if not 1 <= facts.certificate_months <= MOST_CERTIFICATE_MONTHS:
        raise NotValid(
            say(
                "A certificate holds for 1 to {most} months, not for {months}.",
                most=MOST_CERTIFICATE_MONTHS,
                months=facts.certificate_months,
            ),
            argument="certificate_months",
        )


def _values(facts: MeterFacts) -> dict[str, object]:
    return {
        "name": facts.name.strip(),
        "serial": facts.serial.strip(),
        "resolution": facts.resolution,
        "correction": facts.correction,
        "certificate_until": facts.certificate_until,
        "u_n_per_cm": facts.u_n_per_cm,
        "repeatability": facts.repeatability,
        "certificate_months": facts.certificate_months,
    }
