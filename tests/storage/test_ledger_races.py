"""The mesh ledger holds under any order of benches that cut, keep, scrap and count at once."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import threading
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest

from framekeeper.domain.errors import Conflict, FramekeeperError, NotPossible, NotValid
from framekeeper.services import history, keeping, stock, stock_moves, stretch
from framekeeper.services.desk import Desk, Done
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, furnish, prepped

REFUSALS = (NotPossible, NotValid, Conflict)
ROLL = "R0002"  # the second of the furnished shop
ON_THE_ROLL_MM = 3000
BENCHES = 4


@dataclass
class Benches:
    """Several benches, each with a connection of its own, that start at the same moment."""

    desks: list[Desk]
    refusals: list[FramekeeperError] = field(default_factory=list)

    def at_once(self, works: list[list[Callable[[Desk], object]]]) -> None:
        """Run one list of works at each bench; whatever is refused is kept, a bug is not."""
        barrier = threading.Barrier(len(works))
        bugs: list[BaseException] = []

        def run(desk: Desk, own: list[Callable[[Desk], object]]) -> None:
            barrier.wait(20)
            for work in own:
                try:
                    work(desk)
                except REFUSALS as refusal:
                    self.refusals.append(refusal)
                except BaseException as bug:  # told by the test's own thread
                    bugs.append(bug)

        pairs = zip(self.desks, works, strict=False)
        threads = [threading.Thread(target=run, args=pair) for pair in pairs]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(60)
        assert not any(thread.is_alive() for thread in threads)
        assert bugs == []


@pytest.fixture
def benches(place: str, open_shop: Callable[[str], Shop]) -> Benches:
    """A roll of 3 m, and four benches around it."""
    desks = [Desk(open_shop(place), FakeClock(), f"Bench {n}") for n in range(BENCHES)]
    furnish(desks[0])
    stock.receive_roll(desks[0], stock.NewRoll(MESH, 1500, ON_THE_ROLL_MM))
    return Benches(desks)


def check_ledger(desk: Desk) -> None:
    """No roll ever held less than nothing, in the order in which the ledger was written.

    And what is on hand is the sum, no offcut is more than what its roll lost, and `verify` agrees.
    """
    with desk.read() as reader:
        rolls, moves = reader.rolls(with_hidden=True), reader.moves()
    left: dict[int, int] = defaultdict(int)
    for move in moves:
        left[move.roll_id or 0] += move.length_mm
        assert left[move.roll_id or 0] >= 0, move
    for roll in rolls:
        assert roll.on_hand_mm == left[roll.id] >= 0
        own = [m for m in moves if m.roll_id == roll.id]
        missing = -sum(m.length_mm for m in own if m.kind == "counted")
        cut = -sum(m.length_mm for m in own if m.kind in ("cut", "scrapped"))
        offcuts = {r.id: r.width_mm for r in rolls if r.from_roll_id == roll.id}
        kept = sum(
            m.length_mm * offcuts[m.roll_id or 0]
            for m in moves
            if m.roll_id in offcuts and m.kind == "received"
        )
        assert kept <= 1.05 * (cut + max(0, missing)) * roll.width_mm
    assert keeping.verify(desk) == []


def _cut(code: str, roll: str = ROLL) -> Callable[[Desk], Done]:
    request = stretch.StretchRequest(MESH, roll=roll, cut_length_mm=400, cut_width_mm=300)
    return lambda desk: stretch.stretch(desk, [code], request)


def _scrap(length: int, roll: str = ROLL) -> Callable[[Desk], Done]:
    return lambda desk: stock.scrap(desk, roll, length_mm=length, reason="creased")


def _count(length: int, roll: str = ROLL) -> Callable[[Desk], Done]:
    return lambda desk: stock.count_roll(desk, roll, length_mm=length)


def _keep(width: int, length: int, roll: str = ROLL) -> Callable[[Desk], Done]:
    return lambda desk: stock.keep_offcut(desk, roll, width_mm=width, length_mm=length)


@pytest.mark.parametrize("seed", range(5))
def test_a_shift_of_everything_at_once(benches: Benches, seed: int) -> None:
    """The works are drawn from a seed; how they mesh is the machine's, and holds all the same."""
    draw = random.Random(seed)
    first = benches.desks[0]
    _scrap(500)(first)
    offcut = _keep(700, 500)(first).codes[0]
    frames = [prepped(first) for _ in range(BENCHES)]
    works: list[list[Callable[[Desk], object]]] = []
    for code in frames:
        own: list[Callable[[Desk], object]] = [
            _cut(code, draw.choice([ROLL, offcut])),
            _scrap(draw.choice([150, 700, 1600]), draw.choice([ROLL, offcut])),
            _keep(draw.choice([300, 900]), draw.choice([300, 450]), draw.choice([ROLL, offcut])),
            _count(draw.choice([0, 350, 1200]), draw.choice([ROLL, offcut])),
            history.undo,
        ]
        draw.shuffle(own)
        works.append(own)
    benches.at_once(works)
    check_ledger(first)


def test_a_roll_gives_out_exactly_what_is_on_it(benches: Benches) -> None:
    """Eight benches' worth of 900 mm are wanted of 3000 mm: three get it, whoever they are."""
    benches.at_once([[_scrap(900), _scrap(900)]] * BENCHES)
    assert len(benches.refusals) == 2 * BENCHES - 3
    assert stock_moves.roll_page(benches.desks[0], ROLL).roll.on_hand_mm == 300
    check_ledger(benches.desks[0])


def test_one_piece_comes_back_once(benches: Benches) -> None:
    """Four benches keep the whole of what was scrapped; one of them did."""
    _scrap(1000)(benches.desks[0])
    benches.at_once([[_keep(1500, 1000)]] * BENCHES)
    assert len(benches.refusals) == BENCHES - 1
    assert len(stock.shelf(benches.desks[0]).servings) == 1
    check_ledger(benches.desks[0])


def test_a_count_says_what_was_there_after_what_came_before(benches: Benches) -> None:
    """Counts and scrap at once: each count's own line says the length that was counted."""
    benches.at_once(
        [[_count(1000)], [_scrap(300)], [_count(2000)], [_scrap(300)]],
    )
    lines = stock_moves.roll_page(benches.desks[0], ROLL).lines
    counted = [line.left_mm for line in lines if line.move.kind == "counted"]
    assert sorted(counted) == [1000, 2000]
    check_ledger(benches.desks[0])


def test_a_cut_that_is_taken_back_while_its_offcut_is_kept(benches: Benches) -> None:
    """Either the offcut came too late or the cut stays; never both rolls hold that mesh."""
    first = benches.desks[0]
    code = prepped(first)
    request = stretch.StretchRequest(MESH, roll=ROLL)
    stretch.stretch(first, [code], request)
    with first.read() as reader:
        frame = reader.frame_by_code(code)
    assert frame is not None
    assert frame.state.life is not None
    start = frame.state.life.start_event_id
    benches.at_once([[lambda desk: history.withdraw(desk, code, start)], [_keep(700, 880)]])
    assert len(benches.refusals) == 1
    check_ledger(first)


SCRAP = "import sys; from framekeeper.cli.run import main; sys.exit(main(sys.argv[1:]))"


def test_processes_of_their_own_share_a_roll(benches: Benches, place: str) -> None:
    """Six command lines take 900 mm each of 3000 mm: three succeed, three say what is left."""
    words = ["--db", place, "roll", "scrap", ROLL, "--length", "900mm", "--reason", "creased"]
    started = [
        subprocess.Popen(
            [sys.executable, "-c", SCRAP, *words],
            env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(6)
    ]
    said = [process.communicate(timeout=100)[1] for process in started]
    assert sorted(process.returncode for process in started) == [0, 0, 0, 1, 1, 1]
    assert sum("holds only 0.30 m" in line for line in said) == 3
    check_ledger(benches.desks[0])
