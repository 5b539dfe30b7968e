"""Batches of glue: opened, edited, finished, all undoable, and told before they run out of date."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

import pytest

from framekeeper.domain.errors import Conflict, FramekeeperError, NotFound, NotValid
from framekeeper.domain.records import SupplyRecord
from framekeeper.services import history, supplies
from framekeeper.services.bench_queues import stretching_table
from framekeeper.services.desk import Desk
from framekeeper.services.supplies import SupplyFacts
from tests.services.shoptalk import rows

TODAY = dt.date(2025, 3, 3)
GLUE = SupplyFacts("adhesive", "A-17", "clear, thin", TODAY + dt.timedelta(days=90))


def batches(desk: Desk) -> dict[str, SupplyRecord]:
    return {s.supply.batch: s.supply for s in supplies.supplies(desk)}


def test_a_batch_comes_is_opened_edited_and_finished(desk: Desk) -> None:
    supplies.add_supply(desk, GLUE)
    known = batches(desk)["A-17"]
    assert (known.kind, known.name, known.best_before) == ("adhesive", GLUE.name, GLUE.best_before)
    supplies.open_supply(desk, known.id)
    assert batches(desk)["A-17"].opened_on == TODAY
    supplies.edit_supply(desk, known.id, replace(GLUE, batch=" A-18 ", opened_on=TODAY))
    assert batches(desk)["A-18"].opened_on == TODAY
    supplies.finish_supply(desk, known.id)
    assert batches(desk) == {}
    for expected in ("A-18", "A-17", "A-17"):
        history.undo(desk)
        assert list(batches(desk)) == [expected]
    assert batches(desk)["A-17"].opened_on is None
    history.undo(desk)
    assert batches(desk) == {}
    history.redo(desk)
    assert batches(desk)["A-17"].best_before == GLUE.best_before


@pytest.mark.parametrize(
    ("days", "past", "soon", "said"),
    [
        (15, False, False, ""),
        (14, False, True, "is best before 2025-03-17."),
        (0, False, True, "is best before 2025-03-03."),
        (-1, True, True, "is past its best-before day, 2025-03-02."),
    ],
)
def test_a_batch_that_runs_out_of_date_is_told(
    desk: Desk, days: int, past: bool, soon: bool, said: str
) -> None:
    """Above, at and below 14 days, and on the day itself; past it, who decides is named."""
    supplies.add_supply(desk, replace(GLUE, best_before=TODAY + dt.timedelta(days=days)))
    (now,) = supplies.supplies(desk)
    assert (now.is_past, now.is_running_out) == (past, soon)
    assert (now.told is not None) == soon
    assert said in str(now.told)
    assert ("data sheet" in str(now.told)) == past


def test_a_batch_without_a_date_says_nothing(desk: Desk) -> None:
    supplies.add_supply(desk, replace(GLUE, best_before=None))
    (now,) = supplies.supplies(desk)
    assert (now.days_left, now.told) == (None, None)


def test_the_table_offers_open_batches_first_and_then_what_goes_off_first(desk: Desk) -> None:
    for batch, days, is_open in (("late", 50, True), ("soon", 20, True), ("shut", 5, False)):
        day = TODAY + dt.timedelta(days=days)
        facts = SupplyFacts(
            "adhesive", batch, best_before=day, opened_on=TODAY if is_open else None
        )
        supplies.add_supply(desk, facts)
    supplies.add_supply(desk, SupplyFacts("activator", "spray"))
    offered = supplies.offered(stretching_table(desk).supplies, "adhesive")
    assert [s.supply.batch for s in offered] == ["soon", "late", "shut"]


def test_an_adhesive_and_an_activator_may_carry_one_batch(desk: Desk) -> None:
    supplies.add_supply(desk, GLUE)
    with pytest.raises(NotValid, match="already"):
        supplies.add_supply(desk, replace(GLUE, batch="a-17"))
    supplies.add_supply(desk, replace(GLUE, kind="activator"))
    with desk.read() as reader, pytest.raises(NotValid, match="Both"):
        supplies.find_supply(reader, "a-17")


@pytest.mark.parametrize(
    ("use", "kind"),
    [
        (lambda d: supplies.add_supply(d, replace(GLUE, batch=" ")), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, batch="x" * 201)), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, name="\x00")), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, note="x" * 2001)), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, kind="paint")), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, best_before=dt.date(25, 1, 1))), NotValid),
        (lambda d: supplies.add_supply(d, replace(GLUE, opened_on=dt.date(2025, 3, 4))), NotValid),
        (lambda d: supplies.edit_supply(d, 99, GLUE), NotFound),
        (lambda d: supplies.open_supply(d, 99), NotFound),
        (lambda d: supplies.finish_supply(d, 99), NotFound),
    ],
)
def test_a_batch_that_cannot_be(
    desk: Desk, use: Callable[[Desk], object], kind: type[FramekeeperError]
) -> None:
    before = rows(desk)
    with pytest.raises(kind):
        use(desk)
    assert rows(desk) == before


def test_a_batch_is_opened_once_and_edited_by_one(desk: Desk) -> None:
    supplies.add_supply(desk, GLUE)
    seen = batches(desk)["A-17"]
    supplies.open_supply(desk, seen.id)
    with pytest.raises(NotValid, match="was opened on 2025-03-03"):
        supplies.open_supply(desk, seen.id)
    with pytest.raises(Conflict):
        supplies.edit_supply(desk, seen.id, GLUE, version=seen.version)
