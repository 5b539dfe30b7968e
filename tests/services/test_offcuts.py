"""Offcuts: rolls of their own, mesh that is never counted twice, and a tally that stays right."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from framekeeper.domain.errors import Conflict, FramekeeperError, NotFound, NotPossible, NotValid
from framekeeper.domain.events import Stretched
from framekeeper.domain.records import RollRecord
from framekeeper.services import history, keeping, register, stock, stock_moves, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.stock import NewRoll, RollFacts
from framekeeper.services.stretch_plan import fitting_roll, plan_pull
from tests.services.shoptalk import MESH, ROLL, in_clamps, picture, prepped, rows, state


@pytest.fixture
def cut(stocked: Desk) -> Desk:
    """A shop whose roll of 1.50 m width lost 0.889 m, of which 0.686 m of width is on a frame."""
    stock.edit_roll(stocked, ROLL, RollFacts(1500, "A7", "Weberei Lund", Decimal("30.00")))
    in_clamps(stocked)
    return stocked


def keep(desk: Desk, width: int = 750, length: int = 889, roll: str = ROLL) -> str:
    (code,) = stock.keep_offcut(desk, roll, width_mm=width, length_mm=length).codes
    return code


def roll(desk: Desk, code: str) -> RollRecord:
    (found,) = (r for r in stock.shelf(desk).rolls if r.code == code)
    return found


def cut_mm(desk: Desk) -> int:
    return sum(u.cut_mm for u in stock.shelf(desk).usage)


def test_an_offcut_has_what_its_roll_has(cut: Desk) -> None:
    """Mesh, lot and supplier; the price per metre is its share of the roll's."""
    code = keep(cut)
    offcut, mother = roll(cut, code), roll(cut, ROLL)
    assert (offcut.from_roll_id, offcut.mesh_type_id) == (mother.id, mother.mesh_type_id)
    assert (offcut.lot, offcut.supplier) == ("A7", "Weberei Lund")
    assert offcut.price_per_m == Decimal(15)  # 750 of 1500 mm at 30.00
    assert (offcut.width_mm, offcut.on_hand_mm) == (750, 889)
    assert mother.on_hand_mm == 30_000 - 889


def test_what_comes_back_is_not_used_until_it_is_cut(cut: Desk) -> None:
    """0.889 m were cut; half of the width comes back; used later, all 0.889 m are used."""
    code = keep(cut)
    assert cut_mm(cut) == round(889 / 2)
    frame = prepped(cut)
    stretch.stretch(
        cut, [frame], stretch.StretchRequest(MESH, roll=code, cut_length_mm=889, cut_width_mm=686)
    )
    assert roll(cut, code).on_hand_mm == 0
    assert cut_mm(cut) == 889
    (usage,) = stock.shelf(cut).usage
    assert usage.pieces == 2


def test_scrap_of_an_offcut_is_its_share(cut: Desk) -> None:
    code = keep(cut)
    stock.scrap(cut, code, length_mm=889, reason="serves no frame")
    (usage,) = stock.shelf(cut).usage
    assert (usage.cut_mm, usage.scrapped_mm) == (round(889 / 2), round(889 / 2))


def test_an_offcut_of_an_offcut_counts_in_metres_of_the_roll_that_was_bought(cut: Desk) -> None:
    code = keep(cut)
    stock.scrap(cut, code, length_mm=400, reason="creased")
    part = keep(cut, 375, 400, code)
    assert roll(cut, part).from_roll_id == roll(cut, code).id
    (usage,) = stock.shelf(cut).usage
    assert (usage.cut_mm, usage.scrapped_mm) == (round(889 / 2 - 400 / 4), 200)


def test_undo_and_redo_of_an_offcut(cut: Desk) -> None:
    before = picture(cut)
    code = keep(cut)
    after = picture(cut)
    history.undo(cut)
    assert picture(cut) == before
    history.redo(cut)
    assert picture(cut) == after
    history.undo(cut)
    again = stock.keep_offcut(cut, ROLL, width_mm=500, length_mm=500, offcut_code=code.lower())
    assert again.codes == (code,)  # the code that stands on its label is free again
    assert (roll(cut, code).width_mm, roll(cut, code).on_hand_mm) == (500, 500)


@pytest.mark.parametrize(
    ("use", "kind"),
    [
        (lambda d: keep(d, 1501, 100), NotValid),
        (lambda d: keep(d, 1500, 889), NotValid),  # part of it is on a frame
        (lambda d: (keep(d), keep(d)), NotValid),  # the same twice
        (lambda d: keep(d, 0, 100), NotValid),
        (lambda d: keep(d, 100, 0), NotValid),
        (lambda d: keep(d, 100, 100, "R9999"), NotFound),
        (lambda d: stock.keep_offcut(d, ROLL, width_mm=9, length_mm=9, offcut_code=ROLL), NotValid),
        (lambda d: stock.keep_offcut(d, ROLL, width_mm=9, length_mm=9, reason="\x00"), NotValid),
    ],
)
def test_an_offcut_that_cannot_be(
    cut: Desk, use: Callable[[Desk], object], kind: type[FramekeeperError]
) -> None:
    with pytest.raises(kind):
        use(cut)
    assert len(stock.shelf(cut).rolls) <= 2


def test_a_roll_that_lost_nothing_has_no_offcut(stocked: Desk) -> None:
    before = rows(stocked)
    with pytest.raises(NotValid, match="has not lost that much"):
        keep(stocked, 100, 100)
    assert rows(stocked) == before


def test_a_cut_of_which_an_offcut_hangs_there_is_not_taken_back(cut: Desk) -> None:
    """That mesh would hang there twice; once the offcut never came, the cut can be."""
    code = keep(cut)
    with cut.read() as reader:
        (frame,) = reader.frames()
    start = state(cut, frame.code).life.start_event_id  # type: ignore[union-attr]
    with pytest.raises(NotPossible, match="Offcuts were kept"):
        history.withdraw(cut, frame.code, start)
    assert roll(cut, ROLL).on_hand_mm == 30_000 - 889
    correction = Stretched(1, 22.0, roll(cut, ROLL).id, 1, 889, 686)
    history.correct(cut, frame.code, start, correction)  # the cut stays: only the target changes
    stock.take_back_roll(cut, code, reason="wrong roll")
    start = state(cut, frame.code).life.start_event_id  # type: ignore[union-attr]
    history.withdraw(cut, frame.code, start)
    assert roll(cut, ROLL).on_hand_mm == 30_000
    assert stock.shelf(cut).usage == ()
    assert keeping.verify(cut) == []


def test_a_roll_is_taken_back_only_while_nothing_else_happened(cut: Desk) -> None:
    with pytest.raises(NotPossible):
        stock.take_back_roll(cut, ROLL)
    stock.receive_roll(cut, NewRoll(MESH, 1500, 9000, "R7"))
    before = picture(cut)
    stock.take_back_roll(cut, "r7")
    assert "R7" not in {r.code for r in stock.shelf(cut).rolls}
    history.undo(cut)
    assert picture(cut) == before
    stock.count_roll(cut, "R7", length_mm=9000)
    with pytest.raises(NotPossible):
        stock.take_back_roll(cut, "R7")


def test_undo_goes_on_past_what_was_taken_back_and_brought_back(stocked: Desk) -> None:
    """Receive, take back, undo, undo: the second undo meets a movement that has a history."""
    before = picture(stocked)
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 9000, "R9"))
    with_roll = picture(stocked)
    stock.take_back_roll(stocked, "R9")
    without = picture(stocked)
    for expected in (with_roll, before):
        history.undo(stocked)
        assert picture(stocked) == expected
    for expected in (with_roll, without):
        history.redo(stocked)
        assert picture(stocked) == expected
    assert keeping.verify(stocked) == []


def test_undo_goes_on_past_a_stretch_that_was_withdrawn_and_brought_back(stocked: Desk) -> None:
    """The same for the mesh of a cut: withdraw, undo, undo."""
    code = prepped(stocked)
    before = picture(stocked)
    stretch.stretch(stocked, [code], stretch.StretchRequest(MESH, roll=ROLL))
    start = state(stocked, code).life.start_event_id  # type: ignore[union-attr]
    history.withdraw(stocked, code, start)
    history.undo(stocked)
    history.undo(stocked)
    assert picture(stocked) == before


def test_facts_of_a_roll_are_edited_and_its_offcuts_follow(cut: Desk) -> None:
    code = keep(cut)
    seen = roll(cut, ROLL)
    facts = RollFacts(1600, "A8", "Weberei Lund", Decimal("48.00"))
    stock.edit_roll(cut, ROLL, facts, version=seen.version)
    offcut = roll(cut, code)
    assert (offcut.lot, offcut.price_per_m, offcut.width_mm) == ("A8", Decimal("22.5"), 750)
    with pytest.raises(Conflict):
        stock.edit_roll(cut, ROLL, RollFacts(1700), version=seen.version)
    with pytest.raises(NotValid, match="Offcut R0002"):
        stock.edit_roll(cut, ROLL, RollFacts(700))
    history.undo(cut)
    assert (roll(cut, ROLL).lot, roll(cut, code).lot) == ("A7", "A7")


@pytest.mark.parametrize(
    "facts",
    [RollFacts(0), RollFacts(6001), RollFacts(1500, "x" * 201), RollFacts(1500, "\x00"),
     RollFacts(1500, price_per_m=Decimal(-1)), RollFacts(1500, price_per_m=Decimal("NaN"))],
)  # fmt: skip
def test_facts_that_no_roll_has(stocked: Desk, facts: RollFacts) -> None:
    before = rows(stocked)
    with pytest.raises(NotValid):
        stock.edit_roll(stocked, ROLL, facts)
    assert rows(stocked) == before


def test_an_offcut_tells_what_it_serves_or_that_it_is_for_scrap(cut: Desk) -> None:
    """The shop has frames of 584 x 787 mm and one of 400 x 500 mm; the clamps need 102 mm."""
    register.register(cut, [register.NewFrame(400, 500)])
    large, small = keep(cut, 700, 700), keep(cut, 100, 300)
    servings = stock.shelf(cut).servings
    (served,) = servings[roll(cut, large).id].sizes
    assert (served.width_mm, served.height_mm) == (400, 500)
    assert not servings[roll(cut, large).id].is_for_scrap
    assert servings[roll(cut, small).id].is_for_scrap
    assert roll(cut, ROLL).id not in servings


def test_the_table_proposes_an_offcut_where_it_fits(cut: Desk) -> None:
    register.register(cut, [register.NewFrame(400, 500)])
    code = keep(cut, 700, 800)
    with cut.read() as reader:
        frames = {f.width_mm: f for f in reader.frames()}
        (mesh,) = (m for m in reader.mesh_types() if m.name == MESH)
        rolls = reader.rolls()
    small = fitting_roll(rolls, plan_pull([frames[400]], mesh, allowance_mm=102))
    large = fitting_roll(rolls, plan_pull([frames[584.2]], mesh, allowance_mm=102))
    assert small is not None
    assert large is not None
    assert (small.code, large.code) == (code, ROLL)


def test_the_page_of_a_roll_goes_down_to_the_operation(cut: Desk) -> None:
    """Newest first: who, when, why, what was left, and the frame of a cut."""
    stock.count_roll(cut, ROLL, length_mm=29_000, reason="stock-take")
    keep(cut)
    history.undo(cut)
    page = stock_moves.roll_page(cut, ROLL)
    assert [(m.move.kind, m.move.length_mm, m.left_mm) for m in page.lines] == [
        ("counted", -111, 29_000), ("cut", -889, 29_111), ("received", 30_000, 30_000),
    ]  # fmt: skip
    count, made, _ = page.lines
    assert (count.operation.action, count.operation.by, count.move.reason) == (
        "count roll", "Maren", "stock-take",
    )  # fmt: skip
    assert made.frame is not None
    assert page.offcuts == ()
    history.undo(cut)
    newest, was = stock_moves.roll_page(cut, ROLL).lines[:2]
    assert was.is_taken_back
    assert newest.takes_back is not None
    assert newest.takes_back.action == "count roll"
