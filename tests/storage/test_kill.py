"""A power cut, as near as a test can come: the writing process is killed at a random moment.

Each victim is a fresh interpreter, as the program is. It works through the services and prints the
number of each operation once the service has returned; what was printed must be there afterwards.
"""

from __future__ import annotations

import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from tests.services.shoptalk import assert_columns_are_the_fold

VICTIM = """
import sys
from framekeeper.services import check, history, register, stock, washout
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type
from framekeeper.storage.shop import Shop

input()  # everything is imported; the one before is still being looked at
desk = Desk(Shop.open(sys.argv[1]), by="victim")
with desk.read() as reader:
    codes = [frame.code for frame in reader.frames()]
    is_new = not reader.mesh_types()
if is_new:
    add_mesh_type(desk, MeshTypeFacts("120-34"))

def acknowledge(done):
    sys.stdout.write(f"{done.changes.operation_id}\\n")
    sys.stdout.flush()

turn = 0
while True:
    turn += 1
    if turn % 5 == 1:
        found = register.FoundMesh("120-34", turn)
        done = register.register(desk, [register.NewFrame(500, 600)] * 3, found=found)
        codes += done.codes
    elif turn % 5 == 2:
        numbers = tuple(20.0 + turn % 7 for _ in range(9))
        done = check.survey(desk, codes[turn % len(codes)], check.SurveyRequest(numbers, numbers))
    elif turn % 5 == 3:
        done = stock.receive_roll(desk, stock.NewRoll("120-34", 1500, 30_000))
    elif turn % 5 == 4:
        done = washout.reclaim(desk, codes[-3:])
    else:
        done = history.undo(desk)
    acknowledge(done)
"""


def _start(path: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", VICTIM, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _kill(victim: subprocess.Popen[str], chance: random.Random) -> int:
    """Kill it at a random moment of a random operation; return the last one that it told of."""
    assert victim.stdin is not None
    assert victim.stdout is not None
    victim.stdin.write("go\n")
    victim.stdin.flush()
    told = [victim.stdout.readline() for _ in range(chance.randint(2, 7))]
    assert all(told), victim.communicate()[1]
    time.sleep(chance.uniform(0.0, 0.02))  # about as long as one operation takes
    victim.kill()
    rest, trouble = victim.communicate(timeout=30)
    assert victim.returncode == -signal.SIGKILL, trouble
    # The last line may have been cut off in the middle by the kill.
    whole = [told[-1].strip(), *rest.split("\n")[:-1]]
    return int(whole[-1])


def _prove(path: Path, acknowledged: int) -> tuple[int, int]:
    """Check the file and the journal; return the last operation and the number of frames."""
    raw = sqlite3.connect(path)
    assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    raw.close()
    shop = Shop.open(path)
    try:
        frames = assert_columns_are_the_fold(Desk(shop))
        with shop.read() as reader:
            last = reader.last_operation_id()
            # Numbers run on without a gap, so none up to the last acknowledged one is missing.
            kept = [reader.operation(number) for number in range(1, last + 1)]
            assert None not in kept
            for number in range(max(1, acknowledged - 9), acknowledged + 1):
                operation = kept[number - 1]
                assert operation is not None
                if operation.action in ("register", "survey", "reclaim"):
                    assert reader.events_of(number), "an operation without its events"
    finally:
        shop.close()
    assert acknowledged <= last <= acknowledged + 1, "at most the one that was under way is more"
    return last, frames


def _kill_again_and_again(template: Path, folder: Path, times: int, seed: int) -> tuple[int, int]:
    """Kill `times` victims that write into one file; the next one gets ready while we look."""
    chance = random.Random(seed)
    path = folder / "shop.db"
    shutil.copyfile(template, path)
    last = frames = 0
    victim = _start(path)
    for turn in range(times):
        acknowledged = _kill(victim, chance)
        assert acknowledged > last
        if turn < times - 1:
            victim = _start(path)
        last, frames = _prove(path, acknowledged)
    return last, frames


@pytest.mark.timeout(180)  # twenty interpreters start one after the other
@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_twenty_kills_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    operations, frames = _kill_again_and_again(sqlite_template, tmp_path, 20, seed=20)
    assert operations >= 40
    assert frames >= 20


@pytest.mark.long
@pytest.mark.timeout(900)
@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_two_hundred_kills_lose_nothing_that_was_acknowledged(
    sqlite_template: Path, tmp_path: Path
) -> None:
    """A new file after each twenty, so that the look afterwards stays short."""
    for round_ in range(10):
        folder = tmp_path / str(round_)
        folder.mkdir()
        _kill_again_and_again(sqlite_template, folder, 20, seed=200 + round_)
