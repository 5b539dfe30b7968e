"""Any sequence of services, undo, redo and reopening keeps the shop true to its journal.

After every step each frame's row equals the fold of its journal and no roll holds less than
nothing; a refused step leaves everything as it was; an undo brings back exactly what was before.
"""

from __future__ import annotations

import datetime as dt
import itertools
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.events import DAMAGE_KINDS, MOMENTS, PREP_STEPS, Printed, Stretched
from framekeeper.services import (
    check,
    history,
    marks,
    meters,
    prep,
    register,
    stock,
    stretch,
    supplies,
    washout,
)
from framekeeper.services import settings as shop_settings
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from framekeeper.storage.shop import Shop
from tests.fakes import FakeClock
from tests.services.shoptalk import (
    MESH,
    METER,
    ROLL,
    Picture,
    assert_columns_are_the_fold,
    furnish,
    picture,
    rows,
)

if TYPE_CHECKING:
    from tests.conftest import PostgresServer

HOURS_AGO = st.sampled_from((0, 0, 0, 0, 1, 5, 30))
WORDS = st.sampled_from(("", "slack", "tour shirts", "Ölfilm", "it's 100% “done”"))
TENSIONS = st.lists(st.floats(-1.0, 61.0) | st.floats(10.0, 40.0), min_size=1, max_size=6)

SIMPLE: dict[str, Callable[[Desk, list[str], str, When], object]] = {
    "strip": lambda d, c, w, when: prep.strip(d, c, when=when),
    "prep all": lambda d, c, w, when: prep.prep_all(d, c, skipped={"old_glue": w}, when=when),
    "release": lambda d, c, w, when: stretch.release(d, c, when=when),
    "image": lambda d, c, w, when: washout.image(d, c, job=w, when=when),
    "queue": lambda d, c, w, when: washout.queue(d, c, when=when),
    "reclaim": lambda d, c, w, when: washout.reclaim(d, c, findings=w, when=when),
    "inspect": lambda d, c, w, when: washout.inspect(d, c, findings=w, when=when),
    "hold": lambda d, c, w, when: marks.hold(d, c, w, when=when),
    "end hold": lambda d, c, w, when: marks.end_hold(d, c, when=when),
    "reserve": lambda d, c, w, when: marks.reserve(d, c, w, when=when),
    "free": lambda d, c, w, when: marks.free(d, c, when=when),
    "pull": lambda d, c, w, when: marks.pull(d, c, w, when=when),
    "send out": lambda d, c, w, when: marks.send_out(d, c, w, when=when),
    "receive": lambda d, c, w, when: marks.receive(d, c, when=when),
    "receive mesh": lambda d, c, w, when: marks.receive(d, c, mesh=MESH, when=when),
    "missing": lambda d, c, w, when: marks.missing(d, c, when=when),
    "found": lambda d, c, w, when: marks.found(d, c, when=when),
    "retire": lambda d, c, w, when: marks.retire(d, c, w, when=when),
    "glue": lambda d, c, w, when: stretch.glue(
        d, c, cure=dt.timedelta(minutes=20), adhesive_lot=w, when=when
    ),
    "retension": lambda d, c, w, when: stretch.retension(d, c, target_n_per_cm=25, when=when),
    "stage": lambda d, c, w, when: stretch.stage(d, c, tension_n_per_cm=18, when=when),
    "print": lambda d, c, w, when: washout.printed(d, c, impressions=40, job=w, when=when),
}


class ShopMachine(RuleBasedStateMachine):
    """Works in one shop and remembers what undo and redo have to bring back."""

    new_place: Callable[[], str]
    steps_taken = 0
    refusals = 0

    def __init__(self) -> None:
        super().__init__()
        self.clock = FakeClock()
        self.where = type(self).new_place()
        self.desk = Desk(Shop.open(self.where), self.clock, "Maren")
        furnish(self.desk)
        self.codes: list[str] = []
        self.undone_to: list[Picture] = []  # what each undo brings back, newest last
        self.redone_to: list[Picture] = []
        self.now = picture(self.desk)

    @initialize()
    def start(self) -> None:
        """Three frames: mesh on it, bare, with rollers."""
        found = register.FoundMesh(MESH, 3)
        self.do(lambda: register.register(self.desk, [register.NewFrame(500, 600)], found=found))
        self.do(lambda: register.register(self.desk, [register.NewFrame(584.2, 787.4)]))
        self.do(lambda: register.register(self.desk, [register.NewFrame(500, 600, "roller")]))

    def do(self, operation: Callable[[], Any]) -> None:
        """Do one thing; a refusal leaves no trace, a change can be undone."""
        type(self).steps_taken += 1
        before = self.now
        counts = rows(self.desk)
        try:
            done = operation()
        except FramekeeperError:
            type(self).refusals += 1
            assert rows(self.desk) == counts
            assert picture(self.desk) == before
            return
        self.codes += [code for code in done.codes if code[:2] == "FK" and code not in self.codes]
        self.now = picture(self.desk)
        if done.changes.operation_id:
            self.undone_to.append(before)
            self.redone_to.clear()

    def chosen(self, data: st.DataObject, most: int = 1) -> list[str]:
        return data.draw(
            st.lists(st.sampled_from(self.codes), min_size=1, max_size=most, unique=True)
        )

    def when(self, data: st.DataObject) -> When:
        hours = data.draw(HOURS_AGO)
        return When(None if hours == 0 else self.clock.now() - dt.timedelta(hours=hours))

    @rule(data=st.data(), name=st.sampled_from(sorted(SIMPLE)), words=WORDS)
    def simple(self, data: st.DataObject, name: str, words: str) -> None:
        codes, when = self.chosen(data, 2), self.when(data)
        self.do(lambda: SIMPLE[name](self.desk, codes, words, when))

    @rule(data=st.data(), step=st.sampled_from(PREP_STEPS), words=WORDS,
          result=st.sampled_from(("done", "done", "skipped", "failed")))  # fmt: skip
    def prep_step(self, data: st.DataObject, step: Any, result: str, words: str) -> None:
        codes, when = self.chosen(data), self.when(data)
        request = prep.StepRequest(step, result, words)
        self.do(lambda: prep.do_step(self.desk, codes, request, when=when))

    @rule(data=st.data(), roll=st.sampled_from(("", ROLL)), one_pull=st.booleans(),
          length=st.sampled_from((None, 900, 20_000)))  # fmt: skip
    def stretch(self, data: st.DataObject, roll: str, one_pull: bool, length: int | None) -> None:
        codes, when = self.chosen(data, 2), self.when(data)
        request = stretch.StretchRequest(MESH, None, roll, length, one_pull=one_pull)
        self.do(lambda: stretch.stretch(self.desk, codes, request, when=when))

    @rule(data=st.data(), values=TENSIONS, meter=st.sampled_from(("", METER)),
          moment=st.sampled_from((None, None, *MOMENTS)))  # fmt: skip
    def survey(self, data: st.DataObject, values: list[float], meter: str, moment: Any) -> None:
        (code,), when = self.chosen(data), self.when(data)
        request = check.SurveyRequest(tuple(values[::2]), tuple(values[1::2]), (), moment, meter)
        self.do(lambda: check.survey(self.desk, code, request, when=when))

    @rule(data=st.data(), kind=st.sampled_from(DAMAGE_KINDS), is_done=st.booleans())
    def damage(self, data: st.DataObject, kind: Any, is_done: bool) -> None:
        codes, when = self.chosen(data), self.when(data)
        self.do(lambda: marks.damage(self.desk, codes, kind, mesh_is_done=is_done, when=when))

    @rule(data=st.data(), label=st.sampled_from(("", "A1", "Ä1")),
          kind=st.sampled_from((None, "glued", "roller")))  # fmt: skip
    def edit(self, data: st.DataObject, label: str, kind: Any) -> None:
        (code,) = self.chosen(data)
        edit = register.FrameEdit(own_label=label, kind=kind)
        self.do(lambda: register.edit_frame(self.desk, code, edit))

    @rule(length=st.sampled_from((0, 700, 12_000, 31_000)))
    def count(self, length: int) -> None:
        self.do(lambda: stock.count_roll(self.desk, ROLL, length_mm=length))

    @rule(length=st.sampled_from((500, 25_000)))
    def scrap(self, length: int) -> None:
        self.do(lambda: stock.scrap(self.desk, ROLL, length_mm=length, reason="crease"))

    @rule(roll=st.sampled_from((ROLL, "R7", "R8")), code=st.sampled_from(("R7", "R8")),
          width=st.sampled_from((300, 800)))  # fmt: skip
    def keep_offcut(self, roll: str, code: str, width: int) -> None:
        self.do(
            lambda: stock.keep_offcut(
                self.desk, roll, width_mm=width, length_mm=500, offcut_code=code
            )
        )

    @rule(roll=st.sampled_from((ROLL, "R7", "R8")), length=st.sampled_from((0, 200, 500)))
    def touch_offcut(self, roll: str, length: int) -> None:
        self.do(lambda: stock.count_roll(self.desk, roll, length_mm=length))

    @rule(roll=st.sampled_from((ROLL, "R7", "R9")), width=st.sampled_from((400, 1500, 1580)),
          price=st.sampled_from((None, Decimal("31.50"))))  # fmt: skip
    def edit_roll(self, roll: str, width: int, price: Decimal | None) -> None:
        facts = stock.RollFacts(width, "A8", price_per_m=price)
        self.do(lambda: stock.edit_roll(self.desk, roll, facts))

    @rule(roll=st.sampled_from(("R7", "R8", "R9")))
    def take_back_roll(self, roll: str) -> None:
        self.do(lambda: stock.take_back_roll(self.desk, roll))

    @rule(what=st.sampled_from(("add", "open", "finish")))
    def glue_batch(self, what: str) -> None:
        if what == "add":
            facts = supplies.SupplyFacts("adhesive", "G-1", best_before=dt.date(2025, 4, 1))
            self.do(lambda: supplies.add_supply(self.desk, facts))
            return
        use = supplies.open_supply if what == "open" else supplies.finish_supply
        known = supplies.supplies(self.desk)
        self.do(lambda: use(self.desk, known[0].supply.id if known else 99))

    @rule(code=st.sampled_from(("", "R9")))
    def receive_roll(self, code: str) -> None:
        self.do(lambda: stock.receive_roll(self.desk, stock.NewRoll(MESH, 1500, 9000, code)))

    @rule(correction=st.sampled_from((-0.5, 0.0, 1.5)))
    def meter(self, correction: float) -> None:
        facts = meters.MeterFacts(METER, correction=correction)
        self.do(lambda: meters.edit_meter(self.desk, METER, facts))

    @rule(allowance=st.sampled_from((60, 102)))
    def setting(self, allowance: int) -> None:
        self.do(lambda: shop_settings.change_settings(self.desk, cut_allowance_mm=allowance))

    @rule(
        data=st.data(), instead=st.sampled_from((None, Printed(7), Stretched(1, 22.0, 1, 1, 800)))
    )
    def correct(self, data: st.DataObject, instead: Any) -> None:
        (code,) = self.chosen(data)
        with self.desk.read() as reader:
            frame = reader.frame_by_code(code)
            assert frame is not None
            ids = [e.event_id for e in reader.journal(frame.id)]
        event_id = data.draw(st.sampled_from(ids))
        self.do(lambda: history.correct(self.desk, code, event_id, instead))

    @precondition(lambda self: self.undone_to)
    @rule(times=st.integers(1, 4))
    def undo(self, times: int) -> None:
        for _ in range(min(times, len(self.undone_to))):
            type(self).steps_taken += 1
            self.redone_to.append(self.now)
            history.undo(self.desk)
            self.now = picture(self.desk)
            assert self.now == self.undone_to.pop()

    @precondition(lambda self: self.redone_to)
    @rule(times=st.integers(1, 4))
    def redo(self, times: int) -> None:
        for _ in range(min(times, len(self.redone_to))):
            type(self).steps_taken += 1
            self.undone_to.append(self.now)
            history.redo(self.desk)
            self.now = picture(self.desk)
            assert self.now == self.redone_to.pop()

    @rule(minutes=st.sampled_from((1, 25, 600)))
    def time_passes(self, minutes: int) -> None:
        self.clock.go_on(minutes=minutes)

    @rule()
    def reopen(self) -> None:
        self.desk.shop.close()
        self.desk = Desk(Shop.open(self.where), self.clock, "Maren")
        assert picture(self.desk) == self.now

    @invariant()
    def columns_are_the_fold(self) -> None:
        assert_columns_are_the_fold(self.desk)

    @invariant()
    def the_next_undo_and_redo_are_what_we_think(self) -> None:
        names = history.names(self.desk)
        assert (names.redo is not None) == bool(self.redone_to)
        assert names.undo is not None

    def teardown(self) -> None:
        self.desk.shop.close()


def work_through(new_place: Callable[[], str], examples: int, steps: int) -> type[ShopMachine]:
    """Run the machine; every run gets a shop of its own."""
    machine = type("Machine", (ShopMachine,), {"new_place": staticmethod(new_place)})
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            suppress_health_check=list(HealthCheck),
            phases=(Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink),
        ),
    )
    assert machine.steps_taken > examples * steps / 4
    assert machine.steps_taken * 0.9 > machine.refusals > 0
    return machine


@pytest.fixture
def new_file(sqlite_template: Path, tmp_path: Path) -> Callable[[], str]:
    numbers = itertools.count()

    def make() -> str:
        path = tmp_path / f"shop{next(numbers)}.db"
        shutil.copyfile(sqlite_template, path)
        return str(path)

    return make


@pytest.mark.timeout(240)  # some 8 s on a machine with nothing else to do
def test_any_day_of_work_keeps_a_shop_true(new_file: Callable[[], str]) -> None:
    work_through(new_file, examples=16, steps=25)


@pytest.mark.postgres
@pytest.mark.timeout(240)
def test_any_day_of_work_on_a_server(postgres_server: PostgresServer) -> None:
    made: list[str] = []

    def make() -> str:
        made.append(postgres_server.new_database())
        return postgres_server.url(made[-1])

    try:
        work_through(make, examples=3, steps=20)
    finally:
        for name in made:
            postgres_server.drop(name)


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_many_days_of_work_keep_a_shop_true(new_file: Callable[[], str]) -> None:
    work_through(new_file, examples=150, steps=50)
