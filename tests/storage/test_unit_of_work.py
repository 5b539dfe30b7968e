"""One thing that a person does is written wholly or not at all, and two benches do not collide."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import event

from framekeeper.domain.errors import (
    Conflict,
    FramekeeperError,
    NotFound,
    NotPossible,
    NotValid,
    StorageTrouble,
)
from framekeeper.domain.events import Imaged, Reading, Registered, Stretched, Surveyed
from framekeeper.domain.records import FrameFilter
from framekeeper.services import (
    check,
    history,
    marks,
    prep,
    register,
    settings,
    stock,
    stretch,
    supplies,
    washout,
)
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import MeshTypeFacts, add_mesh_type, edit_mesh_type
from framekeeper.storage.reader import escape_like
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock
from tests.services.shoptalk import (
    MESH,
    METER,
    ROLL,
    assert_columns_are_the_fold,
    bare,
    furnish,
    in_clamps,
    picture,
    prepped,
    ready,
    rows,
    state,
)


@pytest.fixture
def stocked(desk: Desk) -> Desk:
    furnish(desk)
    return desk


# Wholly or not at all


class PulledPlug(Exception):
    """Stands for any trouble: a full disk, a lost connection, a bug."""


class Plug:
    """Fails at the n-th statement, or at the commit."""

    def __init__(self, shop: Shop) -> None:
        self.at: int | None = None
        self.fails_commit = False
        self.seen = 0
        event.listen(shop.engine, "before_cursor_execute", self._statement)
        event.listen(shop.engine, "commit", self._commit)

    def _statement(self, *args: object) -> None:
        if self.at is not None:
            self.seen += 1
            if self.seen >= self.at:
                raise PulledPlug

    def _commit(self, connection: object) -> None:
        if self.fails_commit:
            raise PulledPlug

    @contextmanager
    def pulled(self, at: int | None, *, fails_commit: bool = False) -> Iterator[None]:
        self.at, self.fails_commit, self.seen = at, fails_commit, 0
        try:
            yield
        finally:
            self.at, self.fails_commit = None, False


def _missing(desk: Desk) -> str:
    code = ready(desk)
    marks.missing(desk, [code])
    return code


def _survey(desk: Desk, code: str) -> object:
    return check.survey(desk, code, check.SurveyRequest((21.0,) * 5, (20.0,) * 5, meter=METER))


def _stretch(desk: Desk, code: str) -> object:
    return stretch.stretch(desk, [code], stretch.StretchRequest(MESH, roll=ROLL))


USES: dict[str, tuple[Callable[[Desk], str], Callable[[Desk, str], object]]] = {
    "register many": (
        bare,
        lambda d, c: register.register(
            d, [register.NewFrame(500, 600)] * 3, found=register.FoundMesh(MESH, 3)
        ),
    ),
    "edit a frame": (bare, lambda d, c: register.edit_frame(d, c, register.FrameEdit("A1"))),
    "prep": (bare, lambda d, c: prep.prep_all(d, [c], skipped={"old_glue": "new"})),
    "stretch": (prepped, _stretch),
    "survey that finds": (_missing, _survey),
    "undo a stretch": (in_clamps, lambda d, c: history.undo(d)),
    "redo": (
        lambda d: (in_clamps(d), history.undo(d))[0],
        lambda d, c: history.redo(d),
    ),
    "correct": (
        in_clamps,
        lambda d, c: history.withdraw(d, c, state(d, c).life.start_event_id),  # type: ignore[union-attr]
    ),
    "receive a roll": (bare, lambda d, c: stock.receive_roll(d, stock.NewRoll(MESH, 1500, 9000))),
    "keep an offcut": (
        lambda d: (bare(d), stock.scrap(d, ROLL, length_mm=900, reason="flaw"))[0],
        lambda d, c: stock.keep_offcut(d, ROLL, width_mm=700, length_mm=800),
    ),
    "a roll that never came": (bare, lambda d, c: stock.take_back_roll(d, ROLL)),
    "a batch of glue": (
        bare,
        lambda d, c: supplies.add_supply(d, supplies.SupplyFacts("adhesive", "G-1")),
    ),
    "edit a mesh": (bare, lambda d, c: edit_mesh_type(d, "77-55", MeshTypeFacts("77T"))),
    "settings": (bare, lambda d, c: settings.change_settings(d, shop_name="A", paper="letter")),
}


@pytest.mark.parametrize("name", USES)
def test_trouble_at_any_statement_leaves_no_trace(stocked: Desk, name: str) -> None:
    """Fail at the first statement, at the second, and so on until the service comes through."""
    before_it, use = USES[name]
    code = before_it(stocked)
    before, counts = picture(stocked), rows(stocked)
    plug = Plug(stocked.shop)
    at = 0
    while True:
        at += 1
        try:
            with plug.pulled(at):
                use(stocked, code)
        except PulledPlug:
            assert rows(stocked) == counts
            assert picture(stocked) == before
            continue
        break
    assert at > 4, "the service made more statements than that"
    assert picture(stocked) != before
    assert_columns_are_the_fold(stocked)


@pytest.mark.parametrize("name", ["register many", "stretch", "undo a stretch", "settings"])
def test_a_commit_that_fails_leaves_no_trace(stocked: Desk, name: str) -> None:
    before_it, use = USES[name]
    code = before_it(stocked)
    before, counts = picture(stocked), rows(stocked)
    with Plug(stocked.shop).pulled(None, fails_commit=True), pytest.raises(PulledPlug):
        use(stocked, code)
    assert rows(stocked) == counts
    assert picture(stocked) == before


def test_a_change_that_is_left_without_commit_never_was(stocked: Desk) -> None:
    code = ready(stocked)
    counts = rows(stocked)
    with stocked.work("image") as work:
        frame = work.frame_by_code(code)
        assert frame is not None
        work.record(frame.id, Imaged())
        assert work.state(frame.id).state == "in_use"
    assert rows(stocked) == counts
    assert state(stocked, code).state == "ready"


def test_an_unknown_frame_is_not_found(stocked: Desk) -> None:
    with stocked.work("x") as work, pytest.raises(NotFound):
        work.record(999, Registered())
    with stocked.work("x") as work, pytest.raises(NotFound):
        work.edit_row("meter", 999, {"name": "x"})


def test_a_journal_is_read_back_as_it_was_written(stocked: Desk) -> None:
    """Kinds with details, readings in their order, notes, and who did it."""
    code = in_clamps(stocked)
    readings = (Reading(2, "weft", 21.25), Reading(1, "warp", 20.5), Reading(1, "not_told", 19.0))
    with stocked.work("survey") as work:
        frame = work.frame_by_code(code)
        assert frame is not None
        work.record(frame.id, Surveyed("in_clamps", readings, None, -0.25), note="cold morning")
        work.commit()
    with stocked.read() as reader:
        last = reader.journal(frame.id)[-1]
    assert last.payload == Surveyed("in_clamps", readings, None, -0.25)
    assert (last.note, last.by, last.happened_at) == ("cold morning", "Maren", stocked.clock.now())


# Two benches


def _both(*actions: Callable[[], object]) -> list[object]:
    """Run actions at the same moment, each on its own thread; return results or refusals."""
    barrier = threading.Barrier(len(actions))
    results: list[object] = [None] * len(actions)

    def run(place: int) -> None:
        barrier.wait(10)
        try:
            results[place] = actions[place]()
        except FramekeeperError as refusal:
            results[place] = refusal

    threads = [threading.Thread(target=run, args=(place,)) for place in range(len(actions))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert not any(thread.is_alive() for thread in threads)
    assert None not in results, "a bench met a bug"
    return results


@pytest.fixture
def other(stocked: Desk, place: str, open_shop: Callable[[str], Shop]) -> Desk:
    """A second bench at the same shop."""
    return Desk(open_shop(place), FakeClock(), "Jonte")


def _refusals(results: list[object]) -> list[object]:
    return [r for r in results if isinstance(r, Conflict | NotPossible | NotValid)]


ROUNDS = range(4)  # the moment of the collision is never quite the same


def test_two_benches_image_one_screen_and_exactly_one_wins(stocked: Desk, other: Desk) -> None:
    for _ in ROUNDS:
        code = ready(stocked)
        results = _both(
            lambda: washout.image(stocked, [code], job="tour"),  # noqa: B023
            lambda: washout.image(other, [code], job="gig"),  # noqa: B023
        )
        assert len(_refusals(results)) == 1, results
        assert state(stocked, code).state == "in_use"
    assert_columns_are_the_fold(stocked)


def test_two_benches_edit_what_both_have_seen_and_exactly_one_wins(
    stocked: Desk, other: Desk
) -> None:
    for turn in ROUNDS:
        with stocked.read() as reader:
            (mesh,) = (m for m in reader.mesh_types() if m.name == MESH)
        results = _both(
            lambda: edit_mesh_type(
                stocked, MESH, MeshTypeFacts(MESH, thread_um=30.0 + turn), version=mesh.version  # noqa: B023
            ),
            lambda: edit_mesh_type(
                other, MESH, MeshTypeFacts(MESH, thread_um=40.0 + turn), version=mesh.version  # noqa: B023
            ),
        )  # fmt: skip
        assert [type(r) for r in _refusals(results)] == [Conflict], results


def test_an_edit_of_what_someone_else_changed_since_is_refused(stocked: Desk, other: Desk) -> None:
    code = bare(stocked)
    with stocked.read() as reader:
        seen = reader.frame_by_code(code)
    assert seen is not None
    register.edit_frame(other, code, register.FrameEdit("B2"), version=seen.version)
    before = picture(stocked)
    with pytest.raises(Conflict, match="Someone else changed this"):
        register.edit_frame(stocked, code, register.FrameEdit("A1"), version=seen.version)
    assert picture(stocked) == before


def test_two_benches_cut_the_last_piece_of_a_roll_and_exactly_one_gets_it(
    stocked: Desk, other: Desk
) -> None:
    for _ in ROUNDS:
        first, second = prepped(stocked), prepped(stocked)
        stock.count_roll(stocked, ROLL, length_mm=1000)
        results = _both(
            lambda: _stretch(stocked, first),  # noqa: B023
            lambda: _stretch(other, second),  # noqa: B023
        )
        assert len(_refusals(results)) == 1, results
        with stocked.read() as reader:
            assert reader.rolls()[0].on_hand_mm == 1000 - 889
    assert_columns_are_the_fold(stocked)


def test_a_bench_waits_until_the_other_has_cut_the_same_roll(stocked: Desk, other: Desk) -> None:
    first, second = prepped(stocked), prepped(stocked)
    stock.count_roll(stocked, ROLL, length_mm=1000)
    refused: list[FramekeeperError] = []

    def cut_too() -> None:
        try:
            _stretch(other, second)
        except FramekeeperError as refusal:
            refused.append(refusal)

    bench = threading.Thread(target=cut_too)
    with stocked.work("stretch") as work:
        frame = work.frame_by_code(first)
        assert frame is not None
        work.record(frame.id, Stretched(1, 24.0, 1, 1, 889, 686))
        work.move(mesh_type_id=1, kind="cut", length_mm=-889, roll_id=1,
                  tied_to=work.newest(frame.id))  # fmt: skip
        bench.start()
        bench.join(0.4)
        assert bench.is_alive(), "the other bench did not wait"
        work.commit()
    bench.join(30)
    assert len(refused) == 1
    with stocked.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 1000 - 889


def test_two_benches_register_at_once_and_no_two_frames_share_a_code(
    stocked: Desk, other: Desk
) -> None:
    for _ in ROUNDS:
        results = _both(lambda: bare(stocked), lambda: bare(other))
        assert all(isinstance(r, str | Conflict) for r in results), results
        assert any(isinstance(r, str) for r in results)
    with stocked.read() as reader:
        codes = [f.code for f in reader.frames()]
    assert len(codes) == len(set(codes)) >= len(ROUNDS)


def test_two_benches_undo_at_once_and_nothing_is_undone_twice(stocked: Desk, other: Desk) -> None:
    code = ready(stocked)
    for _ in ROUNDS:
        before = len(rows(stocked))
        washout.reclaim(stocked, [code])
        washout.reclaim(stocked, [code])
        results = _both(lambda: history.undo(stocked), lambda: history.undo(other))
        assert all(not isinstance(r, FramekeeperError) or r in _refusals(results) for r in results)
        assert len(_refusals(results)) <= 1
        assert len(rows(stocked)) == before
    assert_columns_are_the_fold(stocked)


def test_two_benches_that_want_the_same_frames_in_opposite_order(
    stocked: Desk, other: Desk
) -> None:
    """A server finds the knot and sends one of them away; nobody waits for ever."""
    one, two = ready(stocked), ready(stocked)
    for _ in range(2):
        results = _both(
            lambda: washout.reclaim(stocked, [one, two]),
            lambda: washout.reclaim(other, [two, one]),
        )
        refusals = [r for r in results if isinstance(r, FramekeeperError)]
        assert len(refusals) <= 1
        assert all(isinstance(r, Conflict | StorageTrouble) for r in refusals), results
    assert_columns_are_the_fold(stocked)


@pytest.fixture
def impatient(sqlite_place: str, open_shop: Callable[[str], Shop]) -> Desk:
    """A bench at a file that waits 20 ms for others instead of 5 s."""
    shop = open_shop(sqlite_place)
    event.listen(shop.engine, "connect", lambda c, _: c.execute("PRAGMA busy_timeout=20"))
    shop.engine.dispose()
    return Desk(shop, FakeClock(), "Maren")


def test_a_bench_that_waits_too_long_is_told(impatient: Desk, sqlite_place: str) -> None:
    holder = sqlite3.connect(sqlite_place, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with pytest.raises(StorageTrouble, match="Another program is writing"):
        bare(impatient)
    holder.execute("ROLLBACK")
    holder.close()
    assert bare(impatient) == "FK0001R"


def test_a_commit_that_waits_too_long_for_a_reader_can_be_repeated(
    impatient: Desk, sqlite_place: str
) -> None:
    """The change fails at its very end; the connection must not stay within it."""
    reader = sqlite3.connect(sqlite_place, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT count(*) FROM frame").fetchone()
    for _ in range(2):
        with pytest.raises(StorageTrouble, match="Another program is writing"):
            bare(impatient)
    reader.execute("ROLLBACK")
    reader.close()
    assert bare(impatient) == "FK0001R"


# Reading


def test_the_wildcards_of_sql_are_plain_characters() -> None:
    assert escape_like("50%_/") == "50/%/_//"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("50%", ["50% grey"]),
        ("%", ["50% grey"]),
        ("_", ["A_1"]),
        ("a_1", ["A_1"]),
        ("/", ["x/y"]),
        ("Äpf", ["Äpfel"]),
        ("it's", ["it's"]),
        ("nobody", []),
    ],
)
def test_a_search_takes_every_character_as_it_is(desk: Desk, text: str, found: list[str]) -> None:
    for label in ("50% grey", "A_1", "AB1", "x/y", "Äpfel", "it's"):
        bare(desk, label=label)
    with desk.read() as reader:
        listed = [f.own_label for f in reader.frames(FrameFilter(text=text))]
    assert listed == found


def test_a_file_knows_the_small_letters_of_every_language(
    sqlite_place: str, open_shop: Callable[[str], Shop]
) -> None:
    """On a server that is the choice of its locale; SQLite itself knows only English."""
    desk = Desk(open_shop(sqlite_place), FakeClock())
    code = bare(desk, label="ÄPFEL")
    with desk.read() as reader:
        assert [f.code for f in reader.frames_by_own_label("äpfel")] == [code]
        assert [f.code for f in reader.frames(FrameFilter(text="äpf"))] == [code]
    with pytest.raises(NotValid, match="carries the label"):
        bare(desk, label="Äpfel")


def test_lists_can_be_narrowed(stocked: Desk) -> None:
    first, second, third = bare(stocked), ready(stocked), ready(stocked)
    marks.retire(stocked, [third], "bent")
    marks.hold(stocked, [second], "smells")
    with stocked.read() as reader:

        def codes(**wanted: object) -> list[str]:
            return [f.code for f in reader.frames(FrameFilter(**wanted))]  # type: ignore[arg-type]

        assert codes() == [first, second]
        assert codes(with_retired=True) == [first, second, third]
        assert codes(states=("retired",)) == [third]
        assert codes(on_hold=True) == [second]
        assert codes(on_hold=False) == [first]
        assert codes(mesh_type_id=1) == [second]
        assert codes(limit=1) == [first]
        assert codes(ids=()) == []
        assert codes(text=first.lower()[:6]) == [first]
        assert reader.people() == ["Maren"]
        assert reader.counts() == {"frames": 3, "events": 5, "readings": 0}


def test_a_name_that_is_taken_at_the_same_moment_is_a_conflict(stocked: Desk, other: Desk) -> None:
    results = _both(
        lambda: add_mesh_type(stocked, MeshTypeFacts("90-48")),
        lambda: add_mesh_type(other, MeshTypeFacts("90-48")),
    )
    assert len(_refusals(results)) == 1
