"""The mesh shelf: rolls, what came and went, and how much mesh the shop uses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from zoneinfo import ZoneInfo

import pytest

from framekeeper.domain.errors import FramekeeperError, NotFound, NotValid
from framekeeper.services import history, stock, stock_moves
from framekeeper.services.desk import Desk, SystemClock
from framekeeper.services.record import When
from framekeeper.services.stock import NewRoll
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, ROLL, in_clamps, picture, rows


def on_hand(desk: Desk) -> dict[str, int]:
    return {r.code: r.on_hand_mm for r in stock.shelf(desk).rolls}


def test_a_roll_comes_is_cut_scrapped_and_counted(stocked: Desk) -> None:
    in_clamps(stocked)
    stock.scrap(stocked, ROLL, length_mm=111, reason="crease")
    assert on_hand(stocked) == {ROLL: 30_000 - 889 - 111}
    done = stock.count_roll(stocked, ROLL.lower(), length_mm=28_500, reason="yearly count")
    assert str(done.said) == "Roll R0001: 28.50 m on hand, -0.50 m."
    assert on_hand(stocked) == {ROLL: 28_500}
    (usage,) = stock.shelf(stocked).usage
    assert (usage.pieces, usage.cut_mm, usage.scrapped_mm) == (1, 889, 111)


def test_a_roll_gets_the_next_free_code(stocked: Desk) -> None:
    assert stock.receive_roll(stocked, NewRoll(MESH, 1500, 1000, "r0002")).codes == ("R0002",)
    assert stock.receive_roll(stocked, NewRoll(MESH, 1500, 1000)).codes == ("R0003",)
    with pytest.raises(NotValid, match="a roll R0002 already"):
        stock.receive_roll(stocked, NewRoll(MESH, 1500, 1000, " r0002 "))


def test_a_roll_that_was_entered_wrong_is_undone_and_entered_again(stocked: Desk) -> None:
    """The code is printed on the roll; it must be free after the undo."""
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 90_000, "R77"))
    history.undo(stocked)
    assert "R77" not in on_hand(stocked)
    stock.receive_roll(stocked, NewRoll("77-55", 1300, 9_000, "R77", lot="B1"))
    assert on_hand(stocked)["R77"] == 9_000
    (roll,) = (r for r in stock.shelf(stocked).rolls if r.code == "R77")
    assert (roll.width_mm, roll.lot) == (1300, "B1")
    history.undo(stocked)
    assert "R77" not in on_hand(stocked)
    history.redo(stocked)
    assert on_hand(stocked)["R77"] == 9_000


def test_a_count_that_finds_what_is_written_says_who_looked(stocked: Desk) -> None:
    """A movement of no length: the ledger is as before, and the roll counts as seen."""
    done = stock.count_roll(stocked, ROLL, length_mm=30_000)
    assert str(done.said) == "Roll R0001: 30.00 m on hand, as written."
    assert on_hand(stocked) == {ROLL: 30_000}
    line = stock_moves.roll_page(stocked, ROLL).lines[0]
    assert (line.move.kind, line.move.length_mm, line.operation.by) == ("counted", 0, "Maren")


@pytest.mark.parametrize(
    ("use", "kind"),
    [
        (lambda d, w: stock.receive_roll(d, NewRoll("999", 1500, 1000), when=w), NotFound),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 0, 1000), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 6001, 1000), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, 0), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, -1), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, 1_000_001), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, 9, "\x00"), when=w), NotValid),
        (lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, 9, "x" * 201), when=w), NotValid),
        (lambda d, w: stock.count_roll(d, ROLL, length_mm=-1, when=w), NotValid),
        (lambda d, w: stock.count_roll(d, "R9999", length_mm=1, when=w), NotFound),
        (lambda d, w: stock.scrap(d, ROLL, length_mm=30_001, reason="x", when=w), NotValid),
        (lambda d, w: stock.scrap(d, ROLL, length_mm=0, reason="x", when=w), NotValid),
        (lambda d, w: stock.scrap(d, "", length_mm=1, reason="x", when=w), NotFound),
        (lambda d, w: stock.scrap(d, ROLL, length_mm=1, reason="\x00", when=w), NotValid),
    ],
)
def test_a_movement_that_cannot_be(
    stocked: Desk, use: Callable[[Desk, When], object], kind: type[FramekeeperError]
) -> None:
    before = rows(stocked)
    with pytest.raises(kind):
        use(stocked, When())
    assert rows(stocked) == before


@pytest.mark.parametrize(
    "use",
    [
        lambda d, w: stock.receive_roll(d, NewRoll(MESH, 1500, 1000), when=w),
        lambda d, w: stock.count_roll(d, ROLL, length_mm=5, when=w),
        lambda d, w: stock.scrap(d, ROLL, length_mm=5, reason="crease", when=w),
    ],
)
@pytest.mark.parametrize(
    "at",
    [
        dt.datetime(2025, 3, 4, tzinfo=dt.UTC),
        dt.datetime(2025, 3, 3),  # noqa: DTZ001
        dt.datetime(1, 1, 1, tzinfo=dt.UTC),
    ],
    ids=["tomorrow", "no zone", "year 1"],
)
def test_mesh_moves_at_a_time_that_can_be(
    stocked: Desk, use: Callable[[Desk, When], object], at: dt.datetime
) -> None:
    before = picture(stocked)
    with pytest.raises(NotValid):
        use(stocked, When(at))
    assert picture(stocked) == before


def test_mesh_is_tallied_in_the_month_on_the_shops_own_wall(
    stocked: Desk, clock: FakeClock
) -> None:
    """23:30 in Berlin on the last of January is still January; half past midnight is not."""
    clock.moment = dt.datetime(2025, 7, 1, 12, tzinfo=dt.UTC)
    clock.where = ZoneInfo("Europe/Berlin")
    for hour, minute in ((22, 29), (22, 59), (23, 1)):
        at = dt.datetime(2025, 1, 31, hour, minute, tzinfo=dt.UTC)
        stock.scrap(stocked, ROLL, length_mm=100, reason="crease", when=When(at))
    usage = {u.month: u.scrapped_mm for u in stock.shelf(stocked).usage}
    assert usage == {dt.date(2025, 1, 1): 200, dt.date(2025, 2, 1): 100}


@pytest.mark.parametrize(
    ("moment", "wall"),
    [
        ((2025, 1, 31, 22, 30), "2025-01-31 23:30:00+01:00"),
        ((2025, 7, 31, 22, 30), "2025-08-01 00:30:00+02:00"),
        ((2025, 10, 26, 0, 30), "2025-10-26 02:30:00+02:00"),
        ((2025, 10, 26, 1, 30), "2025-10-26 02:30:00+01:00"),  # the clock shows it twice
        ((2025, 3, 30, 1, 0), "2025-03-30 03:00:00+02:00"),
    ],
)
def test_the_computers_clock_knows_summer_and_winter(
    far_zone: Callable[[str], None], moment: tuple[int, ...], wall: str
) -> None:
    """Whatever the season is while the test runs."""
    far_zone("CET-1CEST,M3.5.0,M10.5.0/3")
    at = dt.datetime(*moment, tzinfo=dt.UTC)  # type: ignore[arg-type, misc]
    there = at.astimezone(SystemClock().zone())
    assert str(there) == wall
    assert there.astimezone(dt.UTC) == at


def test_the_computers_clock_runs() -> None:
    clock = SystemClock()
    first = clock.now()
    assert first.tzinfo is dt.UTC
    assert clock.now() >= first
