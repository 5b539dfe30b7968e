"""What to order: a shop worked out by hand, a new shop, and what is on its way."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from decimal import Decimal

import pytest

from framekeeper.domain.errors import NotFound, NotPossible, NotValid
from framekeeper.domain.frame_state import FrameState, MeshLife
from framekeeper.domain.lived_mesh import Cause, LivedMesh
from framekeeper.domain.outlook import Outlook
from framekeeper.domain.records import Buying, FrameRecord, MeshTypeRecord, MoveRecord, RollRecord
from framekeeper.services import history, marks, stock, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.mesh_use import MeshUse
from framekeeper.services.meshes import set_buying
from framekeeper.services.on_order import Coming, forget_order, mark_ordered
from framekeeper.services.order import MeshOrder, OrderFacts, order_list, work_out
from framekeeper.services.order_words import need_words, reasons
from framekeeper.services.plan import Listed
from framekeeper.services.settings import ShopSettings, change_settings
from framekeeper.services.stock import NewRoll
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock
from tests.made_forecast import READ_AT, made_outlook
from tests.services.fitted_fleet import mesh_type
from tests.services.shoptalk import MESH, bare, in_clamps, prepped

TODAY = READ_AT.date()
PIECE = 889
WIDTH = 686
WORDS = PlainWording(length_unit="inch")


# a shop that is worked out by hand


def listed(number: int, state: str, outlook: Outlook | None = None) -> Listed:
    life = MeshLife(1, number, READ_AT, 25.0) if state == "ready" else None
    frame = FrameRecord(
        number, number, f"FK{number}", "", "glued", 584.2, 787.4, "", "", 1,
        FrameState("glued", state, life=life),  # type: ignore[arg-type]
    )  # fmt: skip
    return Listed(frame, "mesh 1", "dyed", mesh_type().rules, (), outlook)


def life(number: int, *, days: float, damaged: bool = False) -> LivedMesh:
    began = READ_AT - dt.timedelta(days=days)
    return LivedMesh(
        number, 1000 + number, 1, "glued", began, began, 0, 0, 0, "", None, "", "", None, None,
        "ended" if damaged else "on", Cause("damaged", "hole") if damaged else None, READ_AT,
        None, None, (),
    )  # fmt: skip


def roll(number: int, *, width_mm: int = 1600, on_hand_mm: int = 3000) -> RollRecord:
    return RollRecord(number, f"R{number}", 1, "", "Weberei Lund", width_mm, on_hand_mm, False, 1,
                      Decimal("20.00"))  # fmt: skip


def facts(
    *items: Listed,
    rolls: tuple[RollRecord, ...] = (),
    mesh: MeshTypeRecord | None = None,
    moves: tuple[MoveRecord, ...] = (),
    lives: tuple[LivedMesh, ...] = (),
    coming: Coming | None = None,
    settings: ShopSettings | None = None,
) -> OrderFacts:
    """A shop with one mesh; frames without mesh bore it before."""
    bore = tuple(life(i.frame.id, days=100) for i in items if i.frame.state.life is None)
    use = MeshUse(
        READ_AT,
        {i.frame.id: i.frame for i in items},
        lives or bore,
        moves,
        {r.id: r for r in rolls},
        102,
    )
    return OrderFacts(
        TODAY, use, items, [mesh or mesh_type()], [], {1: coming} if coming else {},
        settings or ShopSettings(), dt.UTC,
    )  # fmt: skip


def only(shop: OrderFacts) -> MeshOrder:
    (order,) = work_out(shop).meshes
    return order


def test_the_need_and_the_chance_are_those_of_a_calculation_by_hand() -> None:
    """Four screens, even after 42 days: a quarter each in 21. One frame waits. 3 m are there.

    3 m hold three pieces. More are needed only if three or four of the four screens fall:
    4 x 1/64 x 3/4 + 1/256 = 13/256. Ordered today, 14 days count, with a sixth each.
    """
    items = [listed(n, "ready", made_outlook(42.0)) for n in range(1, 5)]
    order = only(facts(*items, listed(5, "prepped"), rolls=(roll(1),)))
    assert order.basis == "forecast"
    assert order.until == TODAY + dt.timedelta(days=21)
    assert order.need_mm == pytest.approx((1 + 4 / 4) * PIECE)
    assert order.need_sd_mm == pytest.approx(math.sqrt(4 * 0.25 * 0.75) * PIECE)
    assert order.chance_later == pytest.approx(13 / 256)
    sixth = 1 / 6
    assert order.chance_today == pytest.approx(4 * sixth**3 * (1 - sixth) + sixth**4)
    assert order.reorder_mm == pytest.approx(4 * PIECE)  # 13/256 is more than 5 %
    assert order.purchase is not None
    assert order.purchase.gap_mm == pytest.approx(4 * PIECE - 3000)
    said = WORDS.sentence(need_words(order))
    assert said == (
        "1.94 yd expected until 2025-06-22: 1.0 restretches of 23 in x 31 in, 1 frame waiting."
    )


def test_a_surer_shop_orders_earlier() -> None:
    """At 90 of 100 the same stock is enough."""
    items = [listed(n, "ready", made_outlook(42.0)) for n in range(1, 5)]
    shop = facts(*items, listed(5, "prepped"), rolls=(roll(1),))
    easy = replace(shop, settings=ShopSettings(service_level=90))
    assert only(shop).is_to_order
    assert not only(easy).is_to_order


def test_damage_is_learnt_from_the_whole_shop_and_few_data_say_so() -> None:
    """One damage in 200 screen-days: 21 days of one screen that stands expect 0.105 pieces."""
    item = listed(1, "ready", made_outlook(None))
    lives = (life(1, days=100), life(2, days=100, damaged=True))
    order = only(facts(item, rolls=(roll(1),), lives=lives))
    chance = 0.0021
    assert order.expected.damage == pytest.approx(21 / 200 * (1 - chance))
    told = [WORDS.sentence(said) for said in reasons(order)]
    assert (
        "1 screens of the shop were damaged in 200 screen-days. That is few, so the true rate may "
        "be quite another." in told
    )


def test_mesh_that_is_too_narrow_or_too_short_does_not_count() -> None:
    """What serves no screen is told; a chance to run out must not rest on it."""
    item = listed(1, "ready", made_outlook(42.0))
    rolls = (roll(1), roll(2, width_mm=WIDTH - 1), roll(3, on_hand_mm=PIECE - 1),
             roll(4, width_mm=WIDTH, on_hand_mm=PIECE))  # fmt: skip
    order = only(facts(item, rolls=rolls))
    assert order.on_hand_mm == 3000 + 3000 + (PIECE - 1) + PIECE
    assert order.usable_mm == 3000 + PIECE
    assert [(a.roll.code, a.is_narrow) for a in order.aside] == [("R2", True), ("R3", False)]
    told = " ".join(WORDS.sentence(said) for said in reasons(order))
    assert "Roll R2 does not count: 27 in is too narrow for most of these screens." in told
    assert "Roll R3 does not count: the 0.97 yd left of it are too short for most." in told


def test_whole_rolls_are_bought_and_the_cheapest_number_of_them() -> None:
    """By hand: 10 frames wait, so 8.89 m. At 20.00 a metre, 20 % a year, 36 an order.

    The year's use is told by the need of 91 days: 8.89 / 91 x 365 = 35.66 m. The cheapest quantity
    is the root of 2 x 36 x 35.66 / 4 = 25.3 m. Rolls of 10 m: two cost 64.18 + 40, three cost
    42.79 + 60, so three.
    """
    buying = Buying("Weberei Lund", 10, None, 1600, 10_000, Decimal("20.00"))
    mesh = replace(mesh_type(), buying=buying)
    items = [listed(n, "bare") for n in range(1, 11)]
    order = only(facts(*items, mesh=mesh, settings=ShopSettings(order_cost=36)))
    buy = order.purchase
    assert buy is not None
    assert order.need_mm == pytest.approx(8890)
    assert buy.economic_mm == pytest.approx(25_335, abs=1)
    assert (buy.rolls, buy.length_mm, buy.total) == (3, 30_000, Decimal("600.00"))
    assert work_out(facts(*items, mesh=mesh)).total == Decimal("200.00")  # no cost of an order


def test_a_width_that_is_too_narrow_is_not_bought_again() -> None:
    """A remnant that came last says nothing of the width, length and price of the next roll."""
    moves = (
        MoveRecord(1, 1, 1, 1, None, "received", 20_000, None, READ_AT, "", None),
        MoveRecord(2, 2, 1, 2, None, "received", 4_000, None, READ_AT, "", None),
    )
    remnant = replace(roll(2, width_mm=WIDTH - 1), price_per_m=Decimal("1.00"))
    buy = only(
        facts(listed(1, "bare"), rolls=(roll(1, on_hand_mm=0), remnant), moves=moves)
    ).purchase
    assert buy is not None
    assert (buy.width_mm, buy.roll_mm, buy.price_per_m) == (1600, 20_000, Decimal("20.00"))
    alone = only(facts(listed(1, "bare"), rolls=(remnant,), moves=moves[1:])).purchase
    assert alone is not None
    assert (alone.width_mm, alone.price_per_m, alone.length_mm) == (None, None, 1000)


def test_the_cheaper_width_is_told() -> None:
    """Two pieces lie side by side on 1372 mm and not on 1321: half the length for a little more."""
    moves = (
        MoveRecord(1, 1, 1, 1, None, "received", 20_000, None, READ_AT, "", None),
        MoveRecord(2, 2, 1, 2, None, "received", 20_000, None, READ_AT, "", None),
    )
    dear = replace(roll(1, width_mm=1372, on_hand_mm=0), price_per_m=Decimal("22.00"))
    usual = roll(2, width_mm=1321, on_hand_mm=0)
    order = only(facts(listed(1, "bare"), rolls=(dear, usual), moves=moves))
    assert order.purchase is not None
    assert [w.width_mm for w in order.purchase.widths] == [1372, 1321]
    told = [WORDS.sentence(said) for said in reasons(order)]
    assert "54 in wide would cost 9.78 a screen, 52 in wide costs 17.78." in told


def test_what_is_on_its_way_counts_from_the_day_it_is_expected() -> None:
    """It closes the gap to the reorder point, but not the wait until it comes."""
    items = [listed(n, "bare") for n in range(1, 4)]
    shop = facts(*items, coming=Coming(20_000, TODAY, TODAY + dt.timedelta(days=14)))
    order = only(shop)
    assert not order.is_to_order
    assert order.chance_today == 1.0  # three frames wait and nothing is there
    late = replace(shop, coming={1: Coming(20_000, TODAY, TODAY - dt.timedelta(days=2))})
    told = [WORDS.sentence(said) for said in reasons(only(late))]
    assert "21.87 yd that were ordered on 2025-06-01 should have come on 2025-05-30." in told


# shops on both databases


def meshes_of(desk: Desk) -> dict[str, MeshOrder]:
    return {o.mesh.name: o for o in order_list(desk).meshes}


def test_an_empty_shop_orders_nothing(desk: Desk) -> None:
    orders = order_list(desk)
    assert (orders.meshes, orders.to_order, orders.unknown_waiting) == ((), (), 0)


def test_a_mesh_of_which_nothing_is_known_is_not_ordered(stocked: Desk) -> None:
    """It says so instead of guessing."""
    order = meshes_of(stocked)["77-55"]
    assert (order.basis, order.is_to_order, order.chance_later) == ("nothing", False, 0)
    assert WORDS.sentence(reasons(order)[0]) == (
        "Nothing is known of how much is used, so nothing is proposed."
    )


def test_a_new_shop_goes_by_its_ledger(stocked: Desk, clock: FakeClock) -> None:
    """Six cuts in sixty days: 0.1 a day, 2.1 pieces in the 21 days until a delivery."""
    for _ in range(6):
        in_clamps(stocked)
    clock.go_on(days=60)
    order = meshes_of(stocked)[MESH]
    assert order.basis == "ledger"
    assert order.expected.ledger == pytest.approx(2.1)
    assert order.need_mm == pytest.approx(2.1 * PIECE)
    told = [WORDS.sentence(said) for said in reasons(order)]
    assert "The forecast knows too few of these screens, so the ledger alone counts." in told
    assert "6 pieces were cut in 60 days: 3.0 a month." in told
    assert "How long a delivery takes is not told for this mesh; 14 days are assumed." in told


def test_frames_wait_for_the_mesh_they_bore(stocked: Desk) -> None:
    """One that never bore any is told apart: which mesh it gets is not known."""
    code = in_clamps(stocked)
    marks.damage(stocked, [code], "burst", mesh_is_done=True)
    bare(stocked)
    prepped(stocked)
    orders = order_list(stocked)
    assert orders.unknown_waiting == 2
    assert meshes_of(stocked)[MESH].expected.waiting == 1


def test_the_told_lead_time_is_used(stocked: Desk) -> None:
    set_buying(stocked, MESH, Buying("Weberei Lund", 5, 1, 1500, 30_000, Decimal("18.5")))
    change_settings(stocked, review_days=2)
    order = meshes_of(stocked)[MESH]
    assert (order.lead.days, order.lead.sd_days, order.lead_is_assumed) == (5, 1, False)
    assert order.until == stocked.today() + dt.timedelta(days=7)


def short_shop(desk: Desk) -> None:
    """Mesh for one screen, and two frames that wait for it."""
    codes = [in_clamps(desk) for _ in range(2)]
    marks.damage(desk, codes, "burst", mesh_is_done=True)
    stock.count_roll(desk, "R0001", length_mm=1000)


def test_an_order_is_remembered_until_all_of_it_has_come(stocked: Desk, clock: FakeClock) -> None:
    short_shop(stocked)
    assert meshes_of(stocked)[MESH].is_to_order
    mark_ordered(stocked, {MESH: 30_000})
    order = meshes_of(stocked)[MESH]
    assert order.coming == Coming(30_000, stocked.today(),
                                  stocked.today() + dt.timedelta(days=14))  # fmt: skip
    assert not order.is_to_order
    clock.go_on(days=3)
    stock.receive_roll(stocked, NewRoll("77-55", 1500, 5000))
    assert meshes_of(stocked)[MESH].coming is not None
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 15_000))
    order = meshes_of(stocked)[MESH]
    assert order.coming is not None
    assert order.coming.length_mm == 15_000  # the second roll is not ordered twice
    stock.receive_roll(stocked, NewRoll(MESH, 1500, 14_500))
    assert meshes_of(stocked)[MESH].coming is None  # half a metre less than told is all of it
    history.undo(stocked)
    assert meshes_of(stocked)[MESH].coming == order.coming


def test_an_offcut_is_no_delivery(stocked: Desk) -> None:
    short_shop(stocked)
    mark_ordered(stocked, {MESH: 30_000})
    stock.keep_offcut(stocked, "R0001", width_mm=700, length_mm=800)
    assert meshes_of(stocked)[MESH].coming is not None


def test_an_order_can_be_undone_and_cancelled(stocked: Desk) -> None:
    mark_ordered(stocked, {MESH: 30_000})
    history.undo(stocked)
    assert meshes_of(stocked)[MESH].coming is None
    history.redo(stocked)
    assert meshes_of(stocked)[MESH].coming is not None
    forget_order(stocked, MESH)
    assert meshes_of(stocked)[MESH].coming is None
    with pytest.raises(NotPossible, match="is on its way"):
        forget_order(stocked, MESH)


def test_an_order_that_cannot_be_is_refused(stocked: Desk) -> None:
    with pytest.raises(NotValid, match="nothing to order"):
        mark_ordered(stocked, {})
    with pytest.raises(NotValid, match="cannot be"):
        mark_ordered(stocked, {MESH: 0})
    with pytest.raises(NotFound):
        mark_ordered(stocked, {"999": 1000})


def test_a_piece_that_is_cut_already_is_not_needed_again(stocked: Desk) -> None:
    """A frame that waits with its piece asks for no more."""
    code = in_clamps(stocked)
    marks.damage(stocked, [code], "burst", mesh_is_done=True)
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        (mesh_id,) = (m.id for m in reader.mesh_types() if m.name == MESH)
    assert frame is not None
    with stocked.work("cut") as work:
        work.add_row("cut_piece", {
            "mesh_type_id": mesh_id, "roll_id": None, "frame_id": frame.id, "length_mm": PIECE,
            "width_mm": WIDTH, "cut_at": stocked.clock.now(),
        })  # fmt: skip
        work.commit()
    expected = meshes_of(stocked)[MESH].expected
    assert (expected.waiting, expected.cut_already) == (0, 1)


def test_a_screen_in_the_clamps_needs_nothing(stocked: Desk) -> None:
    code = in_clamps(stocked)
    stretch.glue(stocked, [code], cure=dt.timedelta(hours=1))
    order = meshes_of(stocked)[MESH]
    assert (order.screens, order.expected.waiting) == (0, 0)
