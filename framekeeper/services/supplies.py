"""Batches of adhesive and activator: which are open, and which run out of date."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.details import valid_text
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.records import SupplyKind, SupplyRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

DAYS_AHEAD = 14  # our proposal: time to order a tin
KINDS: tuple[SupplyKind, ...] = ("adhesive", "activator")
KIND_WORDS: dict[SupplyKind, Sentence] = {
    "adhesive": say("adhesive"),
    "activator": say("activator or hardener"),
}
_FIRST_DAY, _LAST_DAY = dt.date(1990, 1, 1), dt.date(2199, 12, 31)


@dataclass(frozen=True, slots=True)
class SupplyFacts:
    """What stands on the tin, and when it was opened."""

    kind: SupplyKind
    batch: str
    name: str = ""  # the shop's own text
    best_before: dt.date | None = None
    opened_on: dt.date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class SupplyNow:
    """A batch as of today."""

    supply: SupplyRecord
    days_left: int | None  # until its best-before day; negative: past it; None: not known

    @property
    def is_past(self) -> bool:
        """Whether its best-before day is over."""
        return self.days_left is not None and self.days_left < 0

    @property
    def is_running_out(self) -> bool:
        """Whether its best-before day is near or over."""
        return self.days_left is not None and self.days_left <= DAYS_AHEAD

    @property
    def told(self) -> Sentence | None:
        """What a person should know of its date; None while there is time."""
        if self.days_left is None or not self.is_running_out:
            return None
        values = {
            "kind": KIND_WORDS[self.supply.kind],
            "batch": self.supply.batch,
            "day": self.supply.best_before,
        }
        if self.is_past:
            return say(
                "Batch {batch} ({kind}) is past its best-before day, {day}. The maker’s label and "
                "the safety data sheet decide.",
                **values,
            )
        return say("Batch {batch} ({kind}) is best before {day}.", **values)


def add_supply(desk: Desk, facts: SupplyFacts) -> Done:
    """Put a batch on the shelf.

    Raises
    ------
    NotValid
        For facts that no batch can have, or a batch that is on the shelf already.
    """
    values = _checked(facts, desk.today())
    with desk.work("add batch") as work:
        _refuse_taken(work, facts)
        work.name_subject(facts.batch.strip())
        work.add_row("supply", values)
        changes = work.commit()
    return Done(say("Batch {batch} is on the shelf.", batch=facts.batch.strip()), changes)


def edit_supply(
    desk: Desk, supply_id: int, facts: SupplyFacts, *, version: int | None = None
) -> Done:
    """Change what was said of a batch."""
    values = _checked(facts, desk.today())
    with desk.work("edit batch") as work:
        known = _supply(work, supply_id)
        _refuse_taken(work, facts, but=known.id)
        work.name_subject(facts.batch.strip())
        work.edit_row("supply", known.id, values, version=version)
        changes = work.commit()
    return Done(say("Batch {batch} changed.", batch=facts.batch.strip()), changes)


def open_supply(desk: Desk, supply_id: int) -> Done:
    """Note that a batch was opened today."""
    with desk.work("open batch") as work:
        known = _supply(work, supply_id)
        work.name_subject(known.batch)
        if known.opened_on is not None:
            raise NotValid(
                say("Batch {batch} was opened on {day}.", batch=known.batch, day=known.opened_on),
                hint=say("Edit it if that day is wrong."),
            )
        work.edit_row("supply", known.id, {"opened_on": desk.today()})
        changes = work.commit()
    return Done(say("Batch {batch} is open.", batch=known.batch), changes)


def finish_supply(desk: Desk, supply_id: int) -> Done:
    """Take a batch off the shelf: it is used up or thrown away. Stretches still name it."""
    with desk.work("finish batch") as work:
        known = _supply(work, supply_id)
        work.name_subject(known.batch)
        work.edit_row("supply", known.id, {"is_hidden": True})
        changes = work.commit()
    return Done(say("Batch {batch} is off the shelf.", batch=known.batch), changes)


def supplies(desk: Desk) -> tuple[SupplyNow, ...]:
    """List the batches as of today, what goes off first at the top of its kind."""
    with desk.read() as reader:
        return supplies_now(reader, desk.today())


def supplies_now(reader: Reader, today: dt.date) -> tuple[SupplyNow, ...]:
    """List the batches as of a day."""
    return tuple(
        SupplyNow(s, None if s.best_before is None else (s.best_before - today).days)
        for s in reader.supplies()
    )


def find_supply(reader: Reader, batch: str) -> SupplyRecord:
    """Find a batch on the shelf by what stands on it, whatever its case.

    Raises
    ------
    NotFound
        If there is none.
    NotValid
        If an adhesive and an activator both carry it.
    """
    wanted = batch.strip().casefold()
    found = [s for s in reader.supplies() if s.batch.casefold() == wanted]
    if len(found) > 1:
        raise NotValid(
            say("Both an adhesive and an activator carry the batch {batch}.", batch=batch.strip()),
            hint=say("Say which: adhesive or activator."),
            argument="batch",
        )
    if not found:
        raise _unknown(batch)
    return found[0]


def offered(listed: Iterable[SupplyNow], kind: SupplyKind) -> list[SupplyNow]:
    """List what a stretch may be glued with: open batches first, then what goes off first."""
    of_kind = [s for s in listed if s.supply.kind == kind]
    return sorted(of_kind, key=lambda s: s.supply.opened_on is None)


def past_batches(
    listed: Iterable[SupplyNow], *, adhesive: str = "", activator: str = ""
) -> list[Sentence]:
    """Say of the batches that a frame is glued with which are past their best-before day."""
    used = {("adhesive", adhesive.strip().casefold()), ("activator", activator.strip().casefold())}
    return [
        now.told
        for now in listed
        if (now.supply.kind, now.supply.batch.casefold()) in used and now.is_past and now.told
    ]


def _supply(reader: Reader, supply_id: int) -> SupplyRecord:
    found = next((s for s in reader.supplies() if s.id == supply_id), None)
    if found is None:
        raise _unknown("")
    return found


def _unknown(batch: str) -> NotFound:
    return NotFound(
        say("There is no batch {batch} on the shelf.", batch=batch.strip()[:40] or "—"),
        hint=say("Look at the tin, or put the batch on the shelf first."),
    )


def _refuse_taken(reader: Reader, facts: SupplyFacts, *, but: int | None = None) -> None:
    batch = facts.batch.strip().casefold()
    for known in reader.supplies():
        same = known.kind == facts.kind and known.batch.casefold() == batch
        if same and known.id != but:
            raise NotValid(
                say("Batch {batch} is on the shelf already.", batch=known.batch),
                argument="batch",
            )


def _checked(facts: SupplyFacts, today: dt.date) -> dict[str, object]:
    if facts.kind not in KINDS:
        raise NotValid(
            say("A batch is adhesive or activator, not {kind}.", kind=str(facts.kind)[:40]),
            argument="kind",
        )
    if not facts.batch.strip():
        raise NotValid(say("A batch needs the number that stands on the tin."), argument="batch")
    for name, most in (("batch", 200), ("name", 200), ("note", 2000)):
        valid_text(getattr(facts, name), argument=name, most=most)
    for name in ("best_before", "opened_on"):
        day = getattr(facts, name)
        if day is not None and not _FIRST_DAY <= day <= _LAST_DAY:
            raise NotValid(
                say("The year of {day} lies outside what a shop records.", day=day),
                argument=name,
            )
    if facts.opened_on is not None and facts.opened_on > today:
        raise NotValid(
            say("A batch cannot have been opened on {day}, which is ahead.", day=facts.opened_on),
            argument="opened_on",
        )
    return {
        "kind": facts.kind,
        "name": facts.name.strip(),
        "batch": facts.batch.strip(),
        "best_before": facts.best_before,
        "opened_on": facts.opened_on,
        "note": facts.note.strip(),
        "is_hidden": False,
    }
