"""A stock-take is the counts of a day: expected, counted, difference, and what nobody has seen."""

from __future__ import annotations

import datetime as dt

from framekeeper.domain.roll_marks import roll_mark
from framekeeper.services import history, stock, stock_moves
from framekeeper.services.desk import Desk
from framekeeper.services.stock import NewRoll
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, ROLL


def lines(desk: Desk, since: dt.date | None = None) -> dict[str, tuple[int, int | None, int]]:
    take = stock_moves.stock_take(desk, since=since)
    return {
        line.roll.code: (line.expected_mm, line.counted_mm, line.difference_mm)
        for line in (*take.counted, *take.not_seen)
    }


def test_what_is_counted_is_set_against_what_is_written(stocked: Desk) -> None:
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 5000))
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 7000))
    stock.count_roll(stocked, ROLL, length_mm=29_500, reason="stock-take")
    stock.count_roll(stocked, "R0002", length_mm=5000, reason="stock-take")
    take = stock_moves.stock_take(stocked)
    assert lines(stocked) == {
        ROLL: (30_000, 29_500, -500), "R0002": (5000, 5000, 0), "R0003": (7000, None, 0),
    }  # fmt: skip
    assert take.difference_mm == -500
    assert [line.roll.code for line in take.not_seen] == ["R0003"]
    (counted,) = (line for line in take.counted if line.roll.code == ROLL)
    assert (counted.by, counted.reason, counted.at) == ("Maren", "stock-take", stocked.clock.now())


def test_undo_takes_back_the_last_count_and_only_that(stocked: Desk) -> None:
    """The roll is not seen any more, even where the count found what was written."""
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 5000))
    stock.count_roll(stocked, ROLL, length_mm=29_500)
    stock.count_roll(stocked, "R0002", length_mm=5000)
    history.undo(stocked)
    assert lines(stocked) == {ROLL: (30_000, 29_500, -500), "R0002": (5000, None, 0)}
    history.redo(stocked)
    assert lines(stocked)["R0002"] == (5000, 5000, 0)
    history.undo(stocked)
    history.undo(stocked)
    assert lines(stocked) == {ROLL: (30_000, None, 0), "R0002": (5000, None, 0)}


def test_a_roll_that_is_counted_twice_is_counted_once(stocked: Desk) -> None:
    stock.count_roll(stocked, ROLL, length_mm=2950)
    stock.count_roll(stocked, ROLL, length_mm=29_500)
    assert lines(stocked) == {ROLL: (30_000, 29_500, -500)}


def test_a_stock_take_may_last_days(stocked: Desk, clock: FakeClock) -> None:
    first = stocked.today()
    stock.count_roll(stocked, ROLL, length_mm=29_500)
    clock.go_on(days=1)
    assert lines(stocked) == {ROLL: (29_500, None, 0)}
    assert lines(stocked, first) == {ROLL: (30_000, 29_500, -500)}


def test_a_roll_is_counted_by_the_mark_on_its_label(stocked: Desk) -> None:
    with stocked.read() as reader:
        (roll,) = reader.rolls()
    assert stock.count_roll(stocked, roll_mark(roll.id), length_mm=1).codes == (ROLL,)


def test_an_empty_roll_needs_no_look(stocked: Desk) -> None:
    stock.scrap(stocked, ROLL, length_mm=30_000, reason="wet")
    assert lines(stocked) == {}
