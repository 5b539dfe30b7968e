"""The search in a process of its own: it reports, can be cancelled, and never loses a plan."""

from __future__ import annotations

import math
import multiprocessing
import os
import random
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from framekeeper.domain.cutting import Piece, Roll, plan_cuts
from framekeeper.domain.cutting_process import CutSearch, start
from framekeeper.domain.errors import NotValid
from tests.domain.cutting_twin import keeps_the_rules, worth

DEADLINE_S = 50.0  # a process is spawned and loads the solver, beside other tests

pytestmark = pytest.mark.timeout(120)

SMALL = [Piece(685.8, 889, key=n) for n in range(9)] + [Piece(610, 711, key=n) for n in range(9)]
SMALL_ROLLS = [Roll(1574.8, 9000, "a"), Roll(1320.8, 9000, "b")]


def endless() -> tuple[list[Piece], list[Roll]]:
    """Make a job that is improved within seconds and not proven within minutes."""
    rng = random.Random(0)
    sizes = [(rng.randrange(400, 1000), rng.randrange(400, 1200)) for _ in range(15)]
    pieces = [Piece(*sizes[n % 15], key=n) for n in range(60)]
    return pieces, [Roll(3650, math.inf, "a"), Roll(2743, math.inf, "b"), Roll(1829, 9000, "c")]


@contextmanager
def under_way() -> Iterator[tuple[CutSearch, list[Piece], list[Roll]]]:
    """Start the endless job, wait for a plan that is better than the first, end it at last."""
    pieces, rolls = endless()
    search = start(pieces, rolls, may_turn=True, seconds=None)
    try:
        first, deadline = search.best(), time.monotonic() + DEADLINE_S
        while worth(search.best()) >= worth(first):
            assert search.poll(1.0)
            assert time.monotonic() < deadline
        yield search, pieces, rolls
    finally:
        search.cancel()


def test_search_ends_with_the_plan_of_a_search_right_here():
    search = start(SMALL, SMALL_ROLLS, may_turn=True)
    assert search.best().rows, "there is a plan from the start"
    assert search.wait(DEADLINE_S)
    assert search.has_finished
    assert not search.poll()
    assert search.best() == plan_cuts(SMALL, SMALL_ROLLS, may_turn=True)
    search.cancel()
    assert search.has_finished


def test_cancel_ends_the_process_and_keeps_the_best_plan():
    with under_way() as (search, pieces, rolls):
        (process,) = multiprocessing.active_children()
        best = search.best()
        began = time.monotonic()
        search.cancel()
        assert time.monotonic() - began < 5
        assert process not in multiprocessing.active_children()
        assert not search.poll()
        assert not search.has_finished
        assert worth(search.best()) <= worth(best)
        keeps_the_rules(search.best(), pieces, rolls, may_turn=True)
        search.cancel()


def test_a_search_that_dies_leaves_its_best_plan():
    with under_way() as (search, pieces, rolls):
        best = search.best()
        (process,) = multiprocessing.active_children()
        process.kill()
        assert search.wait(DEADLINE_S)
        assert not search.has_finished
        assert worth(search.best()) <= worth(best)
        keeps_the_rules(search.best(), pieces, rolls, may_turn=True)


def test_search_runs_beside():
    with under_way() as (search, _, _):
        (process,) = multiprocessing.active_children()
        assert process.pid != os.getpid()
        assert process.daemon, "it does not outlive the program"
        assert not search.wait(0.01)


def test_what_cannot_be_is_refused_before_a_process_starts():
    with pytest.raises(NotValid) as refused:
        start([(0, 5)], [(100, 100)], may_turn=True)
    assert refused.value.argument == "pieces"
    assert not multiprocessing.active_children()


def test_nothing_to_cut_ends_at_once():
    search = start([], [], may_turn=True)
    assert search.wait(DEADLINE_S)
    assert search.best().is_proven
