"""Searches for a better cut plan in a process of its own, so that a window lives and can cancel.

The solver cannot be interrupted from inside, but its process can be ended at any moment; every
better plan comes through a pipe as soon as it is found, so the best one is never lost. The process
is spawned, not forked: that works on every system and beside running threads. A program that is
frozen into one file must call `multiprocessing.freeze_support()` first thing when it starts.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import time
from collections.abc import Sequence
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from framekeeper.domain.cutting_batch import SECONDS, Size, first_plan, plan_cuts
from framekeeper.domain.cutting_plan import CutPlan, Piece, Roll

_PATIENCE_S = 2.0  # for a process that was told to end, before it is killed


class CutSearch:
    """A search under way; `start` makes it. Use it from one thread."""

    def __init__(self, first: CutPlan, process: BaseProcess, plans: Connection) -> None:
        self._best, self._process, self._plans = first, process, plans
        self._is_running = True
        self._has_finished = False

    def poll(self, wait_s: float = 0.0) -> bool:
        """Take in the plans that have come; say whether the search is still going on.

        Parameters
        ----------
        wait_s
            How long to wait for the next plan, or for the end, if there is none yet, s.
        """
        try:
            while self._is_running and self._plans.poll(wait_s):
                message: CutPlan | None = self._plans.recv()
                wait_s = 0.0
                if message is None:
                    self._has_finished = True
                    self._end()
                else:
                    self._best = message
        except (EOFError, OSError):  # the process is gone, perhaps in the middle of a plan
            self._end()
        return self._is_running

    def wait(self, seconds: float) -> bool:
        """Poll until the search has ended; say whether it has within so many seconds."""
        deadline = time.monotonic() + seconds
        while self.poll(max(0.0, deadline - time.monotonic())):
            if time.monotonic() >= deadline:
                return False
        return True

    def best(self) -> CutPlan:
        """Return the best plan that has come so far; there is one from the start."""
        self.poll()
        return self._best

    @property
    def has_finished(self) -> bool:
        """Whether the search came to its own end; a cancelled or broken one has not."""
        return self._has_finished

    def cancel(self) -> None:
        """End the search at once and keep the best plan; harmless when it has ended."""
        self.poll()
        if self._is_running:
            self._process.terminate()
            self._end()

    def _end(self) -> None:
        self._is_running = False
        self._process.join(_PATIENCE_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()
        self._process.close()
        self._plans.close()


def start(
    pieces: Sequence[Piece | Size],
    rolls: Sequence[Roll | tuple[float, float]],
    *,
    may_turn: bool,
    seconds: float | None = SECONDS,
) -> CutSearch:
    """Find a first plan here and now, and start the search for better ones beside.

    Parameters
    ----------
    pieces, rolls, may_turn, seconds
        As for `plan_cuts`; keys of pieces and rolls must be plain values that can be pickled.

    Raises
    ------
    NotValid
        As `plan_cuts`, before any process is started.
    """
    first = first_plan(pieces, rolls, may_turn=may_turn)
    here = multiprocessing.get_context("spawn")
    ours, theirs = here.Pipe(duplex=False)
    process = here.Process(
        target=_search,
        args=(theirs, list(pieces), list(rolls), may_turn, seconds),
        name="cut plan",
        daemon=True,  # ends with the program
    )
    process.start()
    theirs.close()  # so that the pipe ends when the process does
    return CutSearch(first, process, ours)


def _search(
    plans: Connection,
    pieces: list[Piece | Size],
    rolls: list[Roll | tuple[float, float]],
    may_turn: bool,
    seconds: float | None,
) -> None:
    """Run in the process: send each better plan, the last one, and None for the end."""
    with contextlib.suppress(BrokenPipeError):  # nobody waits for the plan any more
        best = plan_cuts(pieces, rolls, may_turn=may_turn, seconds=seconds, progress=plans.send)
        plans.send(best)
        plans.send(None)
    plans.close()
