"""Proves that the command line works beside an open window on the same file."""

from __future__ import annotations

import datetime as dt
import json
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.fakes import FakeClock
from tests.ui.conftest import nothing_left_behind as nothing_left_behind
from tests.ui.person import Person
from tests.ui.person import furnish as furnish
from tests.ui.person import person as person

NOTICED_MS = 2_000  # a window looks every 0.7 s; the rest is reading and painting on a busy machine
Command = Callable[..., str]


class RunningClock(FakeClock):
    """The clock of this computer: the commands run in processes of their own and know no other."""

    def now(self) -> dt.datetime:
        return dt.datetime.now(dt.UTC)


@pytest.fixture
def clock() -> FakeClock:
    return RunningClock()


@pytest.fixture
def command(sqlite_place: str) -> Command:
    """Type a command in a terminal beside the window; it must succeed."""

    def run(*words: str) -> str:
        line = [sys.executable, "-m", "framekeeper", "--db", sqlite_place, *words]
        done = subprocess.run(line, capture_output=True, text=True, check=False, timeout=30)
        assert (done.returncode, done.stderr) == (0, ""), f"{words}: {done.stderr}"
        return done.stdout

    return run


def labels_on_the_rack(person: Person) -> list[str]:
    """What the Rack shows, as a person reads it off the wall."""
    rack = person.window.place("rack")
    return [tile.own_label for tile in rack.wall.tiles]  # type: ignore[attr-defined]


def notices(person: Person, claim: Callable[[], bool]) -> None:
    """Nobody touches the window; it sees by itself what happened."""
    person.qtbot.waitUntil(claim, timeout=NOTICED_MS)


def test_the_window_notices_what_a_command_writes(person: Person, command: Command) -> None:
    """A frame comes to the Rack, its page follows a hold, and Undo takes the command's name."""
    person.press("Ctrl+2")
    command("register", "--size", "584x787", "--label", "K1", "--slot", "A1")
    notices(person, lambda: labels_on_the_rack(person) == ["K1"])
    notices(person, lambda: "K1" in person.window._undo.text())
    person.press("Home", "Return")
    page = person.window.current
    command("hold", "K1", "--reason", "rocks on the glass")
    notices(person, lambda: "rocks on the glass" in page.head.state)  # type: ignore[attr-defined]
    person.press("Ctrl+Z")
    assert "rocks on the glass  [taken back]" in command("show", "K1")
    assert person.refused == []


def test_a_command_sees_at_once_what_the_window_wrote(person: Person, command: Command) -> None:
    """What the message line has told is in the file."""
    assert json.loads(command("frames", "--json")) == []
    person.press("Ctrl+2", "Ctrl+N")
    person.fill(O="584 x 787", L="W1")
    person.press("Return")
    assert len(person.told) == 1
    (listed,) = json.loads(command("frames", "--json"))
    assert (listed["own_label"], listed["state"]) == ("W1", "bare")


def test_both_write_at_once_and_neither_loses_anything(person: Person, command: Command) -> None:
    """While commands register frames, the window goes on holding and freeing one; all is kept."""
    names = [f"C{n}" for n in range(1, 6)]
    command("register", "--size", "584x787", "--label", "W1", "--slot", "A1")
    person.press("Ctrl+2")
    notices(person, lambda: labels_on_the_rack(person) == ["W1"])
    person.press("Home", "Return")
    code = person.frame_shown
    rounds = 0

    def register_all() -> None:
        for name in names:
            command("register", "--size", "584x787", "--label", name)

    with ThreadPoolExecutor(1) as terminal:
        running = terminal.submit(register_all)
        while not running.done() or rounds < 2:
            person.press("H")
            person.type("look")
            person.press("Return", "H")
            rounds += 1
        running.result()
    assert person.kinds(code) == ["registered", *["held", "hold_ended"] * rounds]
    listed = json.loads(command("frames", "--json"))
    assert [row["own_label"] for row in listed] == ["W1", *names]
    assert person.refused == []
    command("verify")
    person.press("Ctrl+2")
    notices(person, lambda: sorted(labels_on_the_rack(person)) == sorted(["W1", *names]))
    done = operations(person)
    first, last = done.index("hold"), len(done) - 1 - done[::-1].index("hold")
    assert "register" in done[first:last], "they did not write at the same time"


def operations(person: Person) -> list[str]:
    """What was done in the shop, oldest first."""
    with person.desk.read() as reader:
        found = [reader.operation(n) for n in range(1, reader.last_operation_id() + 1)]
    return [operation.action for operation in found if operation is not None]
