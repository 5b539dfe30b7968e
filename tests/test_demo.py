"""The demo shop: what it shows, that it is possible, and that opening it is safe and quick."""

from __future__ import annotations

import datetime as dt
import itertools
import os
import shutil
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from framekeeper import demo
from framekeeper.domain import lifecycle
from framekeeper.domain.due import Rule
from framekeeper.domain.events import Event, Surveyed
from framekeeper.domain.frame_state import STATES
from framekeeper.domain.mesh import Mesh
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.services import forecasts, history, plan
from framekeeper.services.desk import Desk
from framekeeper.services.settings import read_settings
from framekeeper.storage.shop import Shop
from tests.demo_fixtures import DEMO_NOW
from tests.fakes import FakeClock

INCH_MM = 25.4
EVERYTHING = FrameFilter(with_retired=True)
SHOWN = set(get_args(Rule)) - {"restretch_expected"}  # that one is never due, only ahead


@pytest.fixture(scope="module")
def demo_desk(demo_template: Path) -> Iterator[Desk]:
    """A person who reads the demo shop at the moment at which its history ends."""
    shop = Shop.open(demo_template)
    yield Desk(shop, FakeClock(DEMO_NOW))
    shop.close()


@pytest.fixture(scope="module")
def frames(demo_desk: Desk) -> list[FrameRecord]:
    with demo_desk.read() as reader:
        return reader.frames(EVERYTHING)


@pytest.fixture(scope="module")
def journals(demo_desk: Desk, frames: list[FrameRecord]) -> dict[int, list[Event]]:
    with demo_desk.read() as reader:
        return reader.journals([f.id for f in frames])


def _all_events(journals: dict[int, list[Event]]) -> list[Event]:
    return [event for journal in journals.values() for event in journal]


def _journals_at(path: Path) -> dict[int, list[Event]]:
    shop = Shop.open(path)
    try:
        with shop.read() as reader:
            return reader.journals([f.id for f in reader.frames(EVERYTHING)])
    finally:
        shop.close()


# what the shop holds


def test_the_shop_has_180_frames_in_four_sizes_and_14_with_rollers(
    frames: list[FrameRecord],
) -> None:
    """Counts and sizes are those that the demo promises."""
    assert len(frames) == 180
    sizes = {(round(f.width_mm / INCH_MM), round(f.height_mm / INCH_MM)) for f in frames}
    assert sizes == {(18, 20), (20, 24), (23, 31), (25, 36)}
    assert Counter(f.kind for f in frames) == {"glued": 166, "roller": 14}
    assert len({f.code for f in frames}) == len({f.slot for f in frames}) == 180


def test_the_history_spans_14_months(journals: dict[int, list[Event]]) -> None:
    """From mid-April of one year to mid-June of the next."""
    first = min(e.happened_at for e in _all_events(journals))
    assert dt.date(2024, 4, 11) <= first.date() <= dt.date(2024, 4, 14)
    months = {(e.happened_at.year, e.happened_at.month) for e in _all_events(journals)}
    assert len(months) == 15


def test_three_meters_of_which_one_is_overdue_and_one_corrected(demo_desk: Desk) -> None:
    """An overdue certificate and a correction are there to be seen."""
    with demo_desk.read() as reader:
        meters = reader.meters()
    assert len(meters) == 3
    assert sum(m.certificate_until < DEMO_NOW.date() for m in meters if m.certificate_until) == 1
    assert [m.correction for m in meters if m.correction] == [0.4]


def test_eight_meshes_with_targets_from_the_stress_rule(demo_desk: Desk) -> None:
    """Each target is what 150 MPa of thread stress gives, rounded; each limit lies below."""
    with demo_desk.read() as reader:
        meshes = reader.mesh_types()
    assert len(meshes) == 8
    for mesh in meshes:
        assert mesh.threads_per_cm is not None
        assert mesh.thread_um is not None
        by_rule = Mesh(mesh.threads_per_cm, mesh.thread_um).tension_at_stress(150.0)
        assert mesh.rules.target is not None
        assert mesh.rules.target == pytest.approx(by_rule, abs=0.5)
        assert mesh.rules.limit is not None
        assert mesh.rules.limit < mesh.rules.target
    assert {m.colour for m in meshes} == {"white", "dyed"}
    assert not any(m.to_be_completed for m in meshes)


def test_the_shop_measures_frames_in_inches_and_prints_on_a4(demo_desk: Desk) -> None:
    """The settings are the shop's own choice."""
    chosen = read_settings(demo_desk)
    assert (chosen.length_unit, chosen.paper) == ("inch", "a4")
    assert chosen.shop_name


def test_every_state_is_present(frames: list[FrameRecord]) -> None:
    """A visitor sees each state; only frames that were never registered are missing."""
    states = Counter(f.state.at(DEMO_NOW).state for f in frames)
    assert set(states) == set(STATES) - {"void"}
    assert 10 <= states["to_reclaim"] <= 14
    half = [f for f in frames if f.state.state == "bare" and f.state.prep_done]
    assert half, "no frame is half prepped"


def test_marks_and_promises_are_present(frames: list[FrameRecord]) -> None:
    """Holds, a reservation for Friday, one frame late outside and one in time."""
    assert any(f.state.hold_reason for f in frames)
    reserved = {f.state.reserved_for for f in frames if f.state.reserved_job}
    assert reserved == {dt.date(2025, 6, 13)}  # the Friday after the Wednesday of DEMO_NOW
    outside = [f.state.due_back_on for f in frames if f.state.state == "out"]
    late = [due for due in outside if due is not None and due < DEMO_NOW.date()]
    assert len(late) == 1 < len(outside)


def test_the_due_list_is_alive_and_shows_every_rule(demo_desk: Desk) -> None:
    """Between 25 and 45 tasks, every rule among them, and a frame that raises two."""
    items = plan.due(demo_desk)
    assert 25 <= len(items) <= 45
    assert {item.task.rule for item in items} == SHOWN
    ahead = plan.ahead(demo_desk, DEMO_NOW.date() + dt.timedelta(days=14))
    assert {a.task.rule for a in ahead} >= {"check_tension", "restretch_expected"}
    assert max(Counter(item.frame.id for item in items).values()) >= 2


def test_the_journal_holds_every_kind_of_event(journals: dict[int, list[Event]]) -> None:
    """Even a withdrawn entry with what is right in its place, and late entries."""
    from framekeeper.domain.events import PAYLOADS

    events = _all_events(journals)
    assert {e.kind for e in events} == set(PAYLOADS)
    assert any(e.recorded_at - e.happened_at > dt.timedelta(hours=12) for e in events)
    points = Counter(len(e.payload.readings) for e in events if isinstance(e.payload, Surveyed))
    assert set(points) == {1, 10, 12}
    lots = {getattr(e.payload, "adhesive_lot", "") for e in events} - {""}
    assert len(lots) == 2


# that it is possible


def test_columns_equal_the_fold_of_the_journal(
    frames: list[FrameRecord], journals: dict[int, list[Event]]
) -> None:
    """For every frame of the shop."""
    for frame in frames:
        assert frame.state == lifecycle.fold(frame.kind, journals[frame.id]), frame.name


def test_the_check_of_the_data_finds_nothing(demo_desk: Desk) -> None:
    """The demo keeps all the rules that a shop's rows must keep among each other."""
    assert demo_desk.shop.check(now=DEMO_NOW) == []


def test_nothing_lies_in_the_future_and_undo_goes_back_in_time(
    demo_desk: Desk, journals: dict[int, list[Event]]
) -> None:
    """No event is later than now, and operations stand in the order of their time."""
    events = _all_events(journals)
    assert max(max(e.happened_at, e.recorded_at) for e in events) <= DEMO_NOW
    assert all(e.recorded_at >= e.happened_at for e in events)
    times: dict[int, dt.datetime] = {e.operation_id: e.recorded_at for e in events}
    in_order = [times[number] for number in sorted(times)]
    assert all(one <= other for one, other in itertools.pairwise(in_order))
    with demo_desk.read() as reader:
        newest = reader.next_undo()
    assert newest is not None
    assert newest.id == max(times)


def test_no_roll_ever_held_less_than_nothing(demo_desk: Desk) -> None:
    """At no moment, not only at the end."""
    with demo_desk.read() as reader:
        moves = reader.moves()
    left: dict[int | None, int] = defaultdict(int)
    for move in sorted(moves, key=lambda m: (m.happened_at, m.id)):
        left[move.roll_id] += move.length_mm
        assert left[move.roll_id] >= 0
    assert {m.kind for m in moves} == {"received", "cut", "scrapped", "counted"}


def test_the_newest_entries_can_be_taken_back(demo_template: Path, tmp_path: Path) -> None:
    """Undo works in the demo from its first click, and redo brings the same state back."""
    path = tmp_path / "shop.db"
    shutil.copyfile(demo_template, path)
    shop = Shop.open(path)
    try:
        desk = Desk(shop, FakeClock(DEMO_NOW))
        before = [f.state.state for f in plan_frames(desk)]
        for _ in range(8):
            history.undo(desk)
        assert [f.state.state for f in plan_frames(desk)] != before
        for _ in range(8):
            history.redo(desk)
        assert [f.state.state for f in plan_frames(desk)] == before
    finally:
        shop.close()


def plan_frames(desk: Desk) -> list[FrameRecord]:
    return [listed.frame for listed in plan.list_frames(desk)]


# that it is right on other days


def test_a_monday_just_after_midnight_shows_every_rule_too(tmp_path: Path) -> None:
    """After a weekend, in a zone far from Greenwich, with another history."""
    zone = dt.timezone(dt.timedelta(hours=-8))
    now = dt.datetime(2026, 3, 2, 0, 4, tzinfo=zone)
    shares: list[float] = []
    shop = Shop.open(tmp_path / "monday.db")
    try:
        demo.builder().build(shop, now=now, seed=29, progress=shares.append)
        desk = Desk(shop, FakeClock(now.astimezone(dt.UTC), zone))
        forecasts.refresh(desk)
        items = plan.due(desk)
        with shop.read() as reader:
            states = {f.state.state for f in reader.frames(EVERYTHING)}
    finally:
        shop.close()
    assert {item.task.rule for item in items} == SHOWN
    assert 25 <= len(items) <= 45
    assert states == set(STATES) - {"void"}
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


# the copy that a person opens


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch, demo_template: Path) -> list[Path]:
    """Copies the finished shop where one would be built, and notes where."""
    places: list[Path] = []

    def copy(path: Path, *, now: dt.datetime, progress: demo.Progress | None = None) -> None:
        places.append(path)
        shutil.copyfile(demo_template, path)

    monkeypatch.setattr(demo, "make_shop", copy)
    return places


@pytest.fixture(autouse=True)
def _copies_below_the_test(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))


def test_a_second_copy_of_the_day_is_not_built_again(made: list[Path], tmp_path: Path) -> None:
    """One build serves the day; every copy has a folder of its own."""
    cache = tmp_path / "cache"
    first = demo.open_copy(cache=cache, now=DEMO_NOW)
    second = demo.open_copy(cache=cache, now=DEMO_NOW + dt.timedelta(hours=3))
    assert len(made) == 1
    assert first.parent != second.parent
    assert first.read_bytes() == second.read_bytes()


def test_the_shop_of_yesterday_is_deleted(made: list[Path], tmp_path: Path) -> None:
    """The cache holds one shop; what a dead process left behind goes too."""
    cache = tmp_path / "cache"
    demo.open_copy(cache=cache, now=DEMO_NOW)
    abandoned = cache / "making-abandoned"
    abandoned.mkdir()
    os.utime(abandoned, (0, 0))
    demo.open_copy(cache=cache, now=DEMO_NOW + dt.timedelta(days=1))
    assert [p.name for p in cache.iterdir() if "2025-06-12" not in p.name] == []
    assert len(made) == 2


def test_a_torn_template_is_built_again(made: list[Path], tmp_path: Path) -> None:
    """A file that is shorter than its header says is not handed to anybody."""
    cache = tmp_path / "cache"
    demo.open_copy(cache=cache, now=DEMO_NOW)
    (template,) = cache.iterdir()
    template.write_bytes(template.read_bytes()[:-4096])
    copy = demo.open_copy(cache=cache, now=DEMO_NOW)
    assert len(made) == 2
    assert copy.stat().st_size == template.stat().st_size


def test_without_a_usable_cache_the_demo_opens_all_the_same(
    made: list[Path], tmp_path: Path
) -> None:
    """Where the cache cannot be a folder, the shop is built into the temporary folder."""
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    copy = demo.open_copy(cache=blocked / "cache", now=DEMO_NOW)
    assert made == [copy]
    assert _journals_at(copy)


def test_two_processes_at_once_do_no_harm(journals: dict[int, list[Event]], tmp_path: Path) -> None:
    """Both build at the same time and get the same shop, event for event; the cache holds one.

    Three processes have built the shop of this moment then: the same moment gives the same
    journals.
    """
    cache = tmp_path / "cache"
    command = (
        "import datetime as dt, pathlib, sys, tempfile; from framekeeper.demo import open_copy; "
        "tempfile.tempdir = sys.argv[2]; "
        "print(open_copy(cache=pathlib.Path(sys.argv[1]), "
        "now=dt.datetime.fromisoformat(sys.argv[3])))"
    )
    arguments = [sys.executable, "-c", command, str(cache), str(tmp_path), DEMO_NOW.isoformat()]
    both = [subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    copies = [Path(process.communicate(timeout=50)[0].strip()) for process in both]
    assert [process.returncode for process in both] == [0, 0]
    assert len({copy.parent for copy in copies}) == 2
    assert all(_journals_at(copy) == journals for copy in copies)
    assert len(list(cache.iterdir())) == 1


def test_opening_the_demo_module_loads_nothing_heavy() -> None:
    """The command line imports it on the way to the first window."""
    command = (
        "import sys, framekeeper.demo; "
        "print([m for m in ('numpy', 'sqlalchemy', 'alembic', 'platformdirs') if m in sys.modules])"
    )
    told = subprocess.run(
        [sys.executable, "-c", command], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "[]"
