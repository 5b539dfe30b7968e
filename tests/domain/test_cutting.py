"""Cut plans: published examples, every plan against the rules, small ones against all plans."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from decimal import Decimal

import pytest

from framekeeper.domain import cutting_search
from framekeeper.domain.cutting import (
    Piece,
    Roll,
    Why,
    first_plan,
    plan_cuts,
    stock_lengths,
    widths_to_buy,
)
from framekeeper.domain.errors import NotValid
from tests.domain.cutting_twin import best_worth, keeps_the_rules, worth
from tests.domain.published import FOLDER, numbers

INCH = 25.4
D = Decimal

ANY_STAGES = "cuts of one sheet in any number of stages; a roll is cut in two stages here"
NOT_COMPUTED = {
    "A8-O1": {
        "number of non-empty patterns": "only patterns to which nothing can be added are looked at"
    },
    "A8-O2": {},
    "A8-O3": {"gcut1": ANY_STAGES, "gcut2": ANY_STAGES, "gcut3": ANY_STAGES},
    "A8-O4": {
        "(a) optimum": ANY_STAGES,
        "(b) optimum": ANY_STAGES,
        "(b) waste area": ANY_STAGES,
        "(a) if copies were unlimited": ANY_STAGES,
    },
    "A8-O5": {
        "(a) fixed orientation": ANY_STAGES,
        "(a) area that fits in length 23": ANY_STAGES,
        "(b) rotation allowed": ANY_STAGES,
    },
}


def published() -> dict[str, dict]:
    listed = json.loads((FOLDER / "cutting.json").read_text(encoding="utf-8"))
    return {check["id"]: check for check in listed}


def rolls_5600() -> tuple[list[float], list[int]]:
    return column("rolls_5600.csv", "width_mm"), demand("rolls_5600.csv")


def column(name: str, key: str) -> list[float]:
    return numbers(name, key)


def demand(name: str) -> list[int]:
    return [int(n) for n in column(name, "demand")]


def waste_percent() -> float:
    lengths, wanted = rolls_5600()
    count = stock_lengths(lengths, wanted, 5600).count
    ordered = sum(length * n for length, n in zip(lengths, wanted, strict=True))
    return 100 * (1 - ordered / (5600 * count))


def rolls_100() -> tuple[list[float], list[int], float]:
    return column("rolls_100.csv", "width"), demand("rolls_100.csv"), 100


def strip() -> list[tuple[float, float, int]]:
    across = column("strip_width10.csv", "piece_across_roll")
    along = column("strip_width10.csv", "piece_along_roll")
    return list(zip(across, along, demand("strip_width10.csv"), strict=True))


COMPUTED: dict[tuple[str, str], Callable[[], float]] = {
    ("A8-O1", "total width ordered (mm)"): lambda: sum(
        length * n * often
        for often, counts in stock_lengths(*rolls_5600(), 5600).patterns
        for length, n in zip(rolls_5600()[0], counts, strict=True)
    ),
    ("A8-O1", "material lower bound (rolls)"): lambda: (
        stock_lengths(*rolls_5600(), 5600).lower_bound
    ),
    ("A8-O1", "optimal rolls"): lambda: stock_lengths(*rolls_5600(), 5600).count,
    ("A8-O1", "waste %"): waste_percent,
    ("A8-O2", "linear relaxation"): lambda: stock_lengths(*rolls_100()).relaxation,
    ("A8-O2", "optimal rolls"): lambda: stock_lengths(*rolls_100()).count,
    # The bound that a first plan carries comes from the areas alone.
    ("A8-O5", "lower bound from area"): lambda: (
        first_plan(strip(), [(10, 100)], may_turn=False).lower_bound_mm
    ),
    ("A8-O5", "(c) two-stage shelves"): lambda: (
        plan_cuts(strip(), [(10, 100)], may_turn=False).used_mm
    ),
}


@pytest.mark.parametrize(("check", "quantity"), list(COMPUTED))
def test_published_cutting_problems(check: str, quantity: str) -> None:
    entry = published()[check]["expected"][quantity]
    got = COMPUTED[check, quantity]()
    assert got == pytest.approx(entry["value"], abs=entry["tol"], rel=0), published()[check][
        "source"
    ]


def test_every_published_quantity_is_computed_or_explained() -> None:
    listed = {(c, q) for c, check in published().items() for q in check["expected"]}
    without = {(c, q) for c, left_out in NOT_COMPUTED.items() for q in left_out}
    assert set(COMPUTED) | without == listed
    assert not set(COMPUTED) & without


def test_published_optima_are_proven() -> None:
    """The counts are not only right, no smaller ones exist: bound and plan meet."""
    assert stock_lengths(*rolls_5600(), 5600).is_proven
    assert stock_lengths(*rolls_100()).is_proven
    assert plan_cuts(strip(), [(10, 100)], may_turn=False).is_proven


# --- small jobs against a search through all plans ---


def small_job(seed: int) -> tuple[list[Piece], list[Roll], bool]:
    """Make one to seven pieces in up to four sizes, one to three rolls; often too little mesh."""
    rng = random.Random(seed)
    sizes = [(rng.randint(1, 9) * 100, rng.randint(1, 9) * 100) for _ in range(rng.randint(1, 4))]
    turns = (None, None, True, False)
    pieces = [
        Piece(*rng.choice(sizes), key=n, may_turn=rng.choice(turns))
        for n in range(rng.randint(1, 7))
    ]
    is_priced = rng.random() < 0.6
    widths = [rng.randint(4, 14) * 100 for _ in range(2)]
    rolls = [
        Roll(
            rng.choice(widths),
            rng.choice((rng.randint(0, 12) * 100, rng.randint(8, 40) * 100)),
            key=n,
            price_per_m=D(rng.randint(0, 30)) / 2 if is_priced else None,
        )
        for n in range(rng.randint(1, 3))
    ]
    return pieces, rolls, rng.random() < 0.5


@pytest.mark.parametrize(
    "block", [0, *(pytest.param(n, marks=pytest.mark.long) for n in range(1, 11))]
)
def test_no_plan_is_better_on_small_random_jobs(block: int) -> None:
    """300 jobs to a block: proven, cuttable, and exactly as good as the best of all."""
    for seed in range(300 * block, 300 * (block + 1)):
        pieces, rolls, may_turn = small_job(seed)
        plan = plan_cuts(pieces, rolls, may_turn=may_turn)
        keeps_the_rules(plan, pieces, rolls, may_turn=may_turn)
        assert plan.is_proven, seed
        assert worth(plan) == best_worth(pieces, rolls, may_turn=may_turn), seed


@pytest.mark.parametrize("block", [0, pytest.param(1, marks=pytest.mark.long)])
def test_rows_made_on_demand_lead_to_the_same_plans(
    block: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where rows are too many to list, those that a better plan could hold are still all found."""
    monkeypatch.setattr(cutting_search, "FEW_ROWS", 0)
    for seed in range(200 * block, 200 * (block + 1)):
        pieces, rolls, may_turn = small_job(seed)
        plan = plan_cuts(pieces, rolls, may_turn=may_turn)
        keeps_the_rules(plan, pieces, rolls, may_turn=may_turn)
        assert plan.is_proven, seed
        assert worth(plan) == best_worth(pieces, rolls, may_turn=may_turn), seed


@pytest.mark.parametrize("seed", range(6))
def test_rows_made_on_demand_know_the_cheapest_roll_of_a_width(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The longest of three rolls of one width is the dearest, and is not needed."""
    pieces = many_pieces(seed, 6, 24)
    rolls = [
        Roll(1574.8, length, key=n, price_per_m=D(price))
        for n, (length, price) in enumerate([(4000, 9), (6000, 10), (30_000, 40)])
    ]
    listed = plan_cuts(pieces, rolls, may_turn=True)
    monkeypatch.setattr(cutting_search, "FEW_ROWS", 0)
    made = plan_cuts(pieces, rolls, may_turn=True)
    assert listed.is_proven
    assert made.is_proven
    assert worth(made)[:2] == worth(listed)[:2]


def test_small_random_jobs_are_of_all_sorts() -> None:
    """The jobs above are not all trivial: some want several rows, rolls, turns, or lack mesh."""
    plans = [
        plan_cuts(pieces, rolls, may_turn=may_turn)
        for pieces, rolls, may_turn in map(small_job, range(50))
    ]
    assert sum(len(plan.rolls) > 1 for plan in plans) >= 5
    assert sum(len(plan.rows) > 2 for plan in plans) >= 5
    assert sum(any(p.is_turned for r in plan.rows for p in r.pieces) for plan in plans) >= 5
    assert sum(any(left.why is Why.NOT_ENOUGH for left in plan.unplaced) for plan in plans) >= 5


def many_pieces(seed: int, sizes: int, n: int) -> list[Piece]:
    rng = random.Random(seed)
    known = [(rng.randrange(400, 1000), rng.randrange(400, 1200)) for _ in range(sizes)]
    return [Piece(*known[i % sizes], key=i) for i in range(n)]


@pytest.mark.parametrize("may_turn", [True, False])
@pytest.mark.parametrize("seed", range(3))
def test_sixty_pieces_of_four_sizes_on_three_rolls(seed: int, may_turn: bool) -> None:
    """A day's batch is proven best, or within 1 % of the bound, within 10 s."""
    pieces = many_pieces(seed, 4, 60)
    rolls = [
        Roll(1574.8, 16_000, "a", price_per_m=D("18.50")),
        Roll(1320.8, 12_000, "b", price_per_m=D("16.20")),
        Roll(1100, 2400, "offcut", price_per_m=D(0)),
    ]
    plan = plan_cuts(pieces, rolls, may_turn=may_turn, seconds=10)
    keeps_the_rules(plan, pieces, rolls, may_turn=may_turn)
    assert plan.is_proven or plan.gap < 0.01


def test_first_plan_keeps_the_rules_and_is_never_better_than_the_last() -> None:
    pieces = many_pieces(7, 15, 60)
    rolls = [Roll(2743, 8000, "a"), Roll(1829, 4000, "b")]
    first = first_plan(pieces, rolls, may_turn=True)
    keeps_the_rules(first, pieces, rolls, may_turn=True)
    told = []
    last = plan_cuts(pieces, rolls, may_turn=True, seconds=3, progress=told.append)
    assert told[0] == first
    for plan in [*told, last]:
        keeps_the_rules(plan, pieces, rolls, may_turn=True)
    order = [worth(plan) for plan in [*told, last]]
    assert order == sorted(order, reverse=True)
    assert order[-1] < order[0]
    bounds = [plan.lower_bound_mm for plan in told if len(plan.unplaced) == len(last.unplaced)]
    assert bounds == sorted(bounds)


def test_more_rows_than_can_be_listed_still_give_a_bound() -> None:
    """Many small pieces on a wide roll: rows are made as they are asked for."""
    pieces = [(300 + 7 * n, 310 + 11 * n, 20) for n in range(12)]
    plan = plan_cuts(pieces, [(3650, 50_000)], may_turn=False, seconds=6)
    first = first_plan(pieces, [(3650, 50_000)], may_turn=False)
    assert not plan.unplaced
    assert plan.lower_bound_mm > first.lower_bound_mm
    assert plan.gap < 0.05


def test_stopping_keeps_the_first_plan() -> None:
    pieces = many_pieces(3, 6, 30)
    rolls = [Roll(1574.8, 30_000)]
    stopped = plan_cuts(pieces, rolls, may_turn=True, should_stop=lambda: True)
    assert stopped == first_plan(pieces, rolls, may_turn=True)
    assert plan_cuts(pieces, rolls, may_turn=True, seconds=0) == stopped
    assert not stopped.is_proven


# --- what a plan says ---


def test_nothing_to_cut() -> None:
    plan = plan_cuts([], [Roll(1000, 5000)], may_turn=True)
    assert (plan.rows, plan.unplaced, plan.used_mm, plan.waste) == ((), (), 0, 0)
    assert (plan.lower_bound_mm, plan.gap, plan.is_proven) == (0, 0, True)
    assert plan_cuts([], [], may_turn=True).is_proven
    assert not plan_cuts([(10, 10, 0)], [], may_turn=True).unplaced


@pytest.mark.parametrize(
    ("piece", "rolls", "why", "words"),
    [
        (Piece(900, 400, mesh="90"), [Roll(1000, 9000, mesh="120")], Why.NO_ROLL, "no roll"),
        (Piece(900, 400), [Roll(800, 9000), Roll(700, 9000)], Why.TOO_WIDE, "wider than every"),
        (Piece(700, 400), [Roll(800, 399)], Why.TOO_LONG, "longer than what is left"),
        (Piece(700, 400), [Roll(800, 0)], Why.TOO_LONG, "longer than what is left"),
    ],
)
def test_a_piece_that_no_roll_gives_is_left_out_with_its_reason(
    piece: Piece, rolls: list[Roll], why: Why, words: str
) -> None:
    good = Piece(100, 100, mesh=rolls[0].mesh)
    plan = plan_cuts([piece, good], [*rolls, Roll(150, 150, mesh=rolls[0].mesh)], may_turn=False)
    assert [(left.piece, left.why) for left in plan.unplaced] == [(piece, why)]
    assert words in str(plan.unplaced[0].reason)
    assert [p.piece for row in plan.rows for p in row.pieces] == [good]


def test_a_piece_too_wide_one_way_is_turned() -> None:
    plan = plan_cuts([(900, 400)], [(500, 2000)], may_turn=True)
    assert plan.rows[0].pieces[0].is_turned
    assert plan.used_mm == 900


def test_too_little_mesh_places_as_many_pieces_as_it_can() -> None:
    pieces = [Piece(500, 600, n) for n in range(5)]
    plan = plan_cuts(pieces, [Roll(1000, 1300)], may_turn=False)
    assert len(plan.unplaced) == 1
    assert plan.unplaced[0].why is Why.NOT_ENOUGH
    assert "Not enough mesh" in str(plan.unplaced[0].reason)
    assert plan.is_proven
    assert plan.lower_bound_mm == plan.used_mm == 1200


def test_meshes_are_planned_apart() -> None:
    pieces = [Piece(500, 600, 1, "43"), Piece(500, 600, 2, "90"), Piece(500, 700, 3, "90")]
    rolls = [Roll(1000, 5000, "x", "90"), Roll(1000, 5000, "y", "43")]
    plan = plan_cuts(pieces, rolls, may_turn=False)
    keeps_the_rules(plan, pieces, rolls, may_turn=False)
    assert [(cut.roll.key, cut.used_mm) for cut in plan.rolls] == [("x", 700), ("y", 600)]
    assert plan.lower_bound_mm == 1300


def test_an_offcut_goes_first_where_it_is_cheaper() -> None:
    roll, offcut = Roll(1000, 9000, "roll", price_per_m=D(20)), Roll(600, 800, "offcut")
    free = Roll(600, 800, "offcut", price_per_m=D(0))
    plan = plan_cuts([(500, 700)], [roll, free], may_turn=False)
    assert [cut.roll.key for cut in plan.rolls] == ["offcut"]
    assert plan.cost == plan.lower_bound_cost == 0
    dear = Roll(600, 800, "offcut", price_per_m=D(25))
    plan = plan_cuts([(500, 700)], [roll, dear], may_turn=False)
    assert [cut.roll.key for cut in plan.rolls] == ["roll"]
    assert plan.cost == D(14)
    unknown = plan_cuts([(500, 700)], [roll, offcut], may_turn=False)
    assert unknown.cost is unknown.lower_bound_cost is None


def test_at_one_price_the_shorter_plan_is_taken() -> None:
    """Two free offcuts: the wide one holds both pieces side by side."""
    rolls = [Roll(600, 2000, "narrow", price_per_m=D(0)), Roll(1000, 700, "wide", price_per_m=D(0))]
    plan = plan_cuts([(500, 700, 2)], rolls, may_turn=False)
    assert plan.used_mm == 700
    assert [cut.roll.key for cut in plan.rolls] == ["wide"]


def test_a_roll_without_end_gives_every_piece() -> None:
    plan = plan_cuts([(500, 700, 5)], [(1000, math.inf)], may_turn=False)
    assert plan.used_mm == 2100
    assert not plan.unplaced


def test_sizes_in_inch_lose_nothing_to_binary_fractions() -> None:
    """Three pieces of 9 in lie side by side on a roll of 27 in, whichever way the sum is made."""
    plan = plan_cuts([(9 * INCH, 10 * INCH, 6)], [(27 * INCH, 20 * INCH)], may_turn=False)
    assert not plan.unplaced
    assert plan.used_mm == pytest.approx(20 * INCH)
    third = 1000 / 3
    assert len(plan_cuts([(third, 100, 3)], [(1000.2, 100)], may_turn=False).rows) == 1
    assert plan_cuts([(third, 100, 3)], [(1000.0, 100)], may_turn=False).unplaced


@pytest.mark.parametrize(
    ("argument", "pieces", "rolls"),
    [
        ("pieces", [(0, 100)], [(100, 100)]),
        ("pieces", [(100, -1)], [(100, 100)]),
        ("pieces", [(100, math.nan)], [(100, 100)]),
        ("pieces", [(math.inf, 100)], [(100, 100)]),
        ("pieces", [("wide", 100)], [(100, 100)]),
        ("pieces", [(100,)], [(100, 100)]),
        ("pieces", [100], [(100, 100)]),
        ("pieces", [(100, 100, 1.5)], [(100, 100)]),
        ("pieces", [(100, 100, -1)], [(100, 100)]),
        ("pieces", [(100, 100, math.nan)], [(100, 100)]),
        ("pieces", [(100, 100, math.inf)], [(100, 100)]),
        ("pieces", [(100, 100, "two")], [(100, 100)]),
        ("rolls", [(100, 100)], [(0, 100)]),
        ("rolls", [(100, 100)], [(math.inf, 100)]),
        ("rolls", [(100, 100)], [(100, -1)]),
        ("rolls", [(100, 100)], [(100, math.nan)]),
        ("rolls", [(100, 100)], [(100, None)]),
        ("rolls", [(100, 100)], [(100,)]),
        ("rolls", [(100, 100)], [Roll(100, 100, price_per_m=D(-1))]),
        ("rolls", [(100, 100)], [Roll(100, 100, price_per_m=D("NaN"))]),
        ("rolls", [(100, 100)], [Roll(100, 100, price_per_m=2.5)]),
    ],
)
def test_what_cannot_be_is_refused_by_name(argument: str, pieces: list, rolls: list) -> None:
    for plan in (plan_cuts, first_plan):
        with pytest.raises(NotValid) as refused:
            plan(pieces, rolls, may_turn=True)
        assert refused.value.argument == argument


# --- one dimension ---


def fewest_stocks(lengths: list[int], stock: int) -> int:
    """Try every way to put lengths into stock lengths, one after the other."""
    best = len(lengths)

    def put(n: int, rooms: list[int]) -> None:
        nonlocal best
        if len(rooms) >= best:
            return
        if n == len(lengths):
            best = len(rooms)
            return
        for i, room in enumerate(rooms):
            if lengths[n] <= room:
                put(n + 1, [*rooms[:i], room - lengths[n], *rooms[i + 1 :]])
        put(n + 1, [*rooms, stock - lengths[n]])

    put(0, [])
    return best


def test_no_fewer_stock_lengths_on_small_random_orders() -> None:
    rng = random.Random(5)
    for _ in range(60):
        stock = rng.randint(10, 30)
        lengths = [rng.randint(2, stock) for _ in range(rng.randint(1, 4))]
        wanted = [rng.randint(0, 3) for _ in lengths]
        plan = stock_lengths(lengths, wanted, stock)
        each = [length for length, n in zip(lengths, wanted, strict=True) for _ in range(n)]
        assert plan.is_proven
        assert plan.count == fewest_stocks(sorted(each, reverse=True), stock)
        assert plan.count == sum(often for often, _ in plan.patterns)
        for i, n in enumerate(wanted):
            assert n == sum(often * counts[i] for often, counts in plan.patterns)
        for _, counts in plan.patterns:
            assert sum(n * w for n, w in zip(counts, lengths, strict=True)) <= stock


def test_stock_lengths_are_exact_in_any_unit() -> None:
    whole = stock_lengths([45, 36, 31, 14], [97, 610, 395, 211], 100)
    for plan in (
        stock_lengths([4.5, 3.6, 3.1, 1.4], [97, 610, 395, 211], 10),
        stock_lengths([D("0.45"), D("0.36"), D("0.31"), D("0.14")], [97, 610, 395, 211], 1),
    ):
        assert (plan.count, plan.patterns) == (whole.count, whole.patterns)
    assert stock_lengths([0.1], [3], 0.3).count == 1
    # 1/3 as typed needs finer steps than are counted, and is rounded up: two fit, not three.
    assert stock_lengths([0.3333333333333333334567], [2], 1).count == 1
    assert stock_lengths([0.50000000001], [2], 1).count == 2


@pytest.mark.parametrize(
    ("argument", "asked"),
    [
        ("lengths", ([0], [1], 10)),
        ("lengths", ([11], [1], 10)),
        ("lengths", ([math.nan], [1], 10)),
        ("lengths", (["long"], [1], 10)),
        ("stock_length", ([1], [1], 0)),
        ("stock_length", ([1], [1], math.inf)),
        ("demand", ([1], [1, 2], 10)),
        ("demand", ([1], [-1], 10)),
        ("demand", ([1], [0.5], 10)),
        ("demand", ([1], [math.nan], 10)),
    ],
)
def test_one_dimension_refuses_by_name(argument: str, asked: tuple) -> None:
    with pytest.raises(NotValid) as refused:
        stock_lengths(*asked)
    assert refused.value.argument == argument


def test_no_lengths_take_no_stock() -> None:
    assert stock_lengths([], [], 10).count == 0
    plan = stock_lengths([3], [0], 10)
    assert (plan.count, plan.patterns, plan.lower_bound, plan.relaxation) == (0, (), 0, 0)


# --- which width to buy ---

# Worked from a rule of the trade: a frame of 23 x 31 in and 4 in of allowance make a panel of
# 27 x 35 in; length used per panel = other side / panels across, the better way round.
PER_PANEL_IN = {42: 27.0, 52: 27.0, 62: 17.5, 72: 13.5, 108: 8.75}


def test_length_per_screen_of_each_roll_width() -> None:
    offers = [(width * INCH, D(20)) for width in PER_PANEL_IN]
    costs = widths_to_buy([(27 * INCH, 35 * INCH)], offers, may_turn=True)
    got = {round(c.width_mm / INCH): c.length_per_piece_mm / INCH for c in costs}
    assert got == pytest.approx(PER_PANEL_IN)
    for c in costs:
        assert float(c.cost_per_piece) == pytest.approx(c.length_per_piece_mm / 1000 * 20)
        assert c.waste == pytest.approx(
            1 - 27 * 35 / (c.width_mm / INCH * c.length_per_piece_mm / INCH)
        )


def test_a_wider_dearer_roll_can_be_the_cheapest() -> None:
    costs = widths_to_buy(
        [(27 * INCH, 35 * INCH)], [(62 * INCH, D(20)), (72 * INCH, D(24))], may_turn=True
    )
    assert [round(c.width_mm / INCH) for c in costs] == [72, 62]
    assert widths_to_buy([(27 * INCH, 35 * INCH)], [(72 * INCH, D(24))], may_turn=False)[
        0
    ].length_per_piece_mm == pytest.approx(35 / 2 * INCH)


def test_the_long_run_is_where_large_batches_go() -> None:
    """The length per piece of the mix is a bound for a batch, and a large batch comes near it."""
    mix = [(685.8, 889, 3), (610, 711, 2), (560, 660, 1)]
    cost = widths_to_buy(mix, [(1574.8, D(20))], may_turn=True)[0]
    batch = plan_cuts(
        [(w, length, 20 * n) for w, length, n in mix], [(1574.8, math.inf)], may_turn=True
    )
    assert cost.length_per_piece_mm <= batch.used_mm / 120 + 1e-6
    assert batch.used_mm / 120 < cost.length_per_piece_mm * 1.02


def test_a_width_that_cannot_give_every_piece_comes_last() -> None:
    pieces = [Piece(700, 900, "big"), Piece(400, 500, "small")]
    costs = widths_to_buy(pieces, [(600, D(1)), (300, D(1)), (1500, D(30))], may_turn=True)
    assert [c.width_mm for c in costs] == [1500, 600, 300]
    assert [[p.key for p in c.too_wide] for c in costs] == [[], ["big"], ["big", "small"]]
    assert costs[2].length_per_piece_mm is costs[2].cost_per_piece is costs[2].waste is None


@pytest.mark.parametrize(
    ("argument", "pieces", "widths"),
    [
        ("pieces", [], [(1000, D(1))]),
        ("pieces", [(0, 1)], [(1000, D(1))]),
        ("widths", [(100, 100)], [(0, D(1))]),
        ("widths", [(100, 100)], [(1000, None)]),
        ("widths", [(100, 100)], [(1000, D(-1))]),
    ],
)
def test_widths_refuse_by_name(argument: str, pieces: list, widths: list) -> None:
    with pytest.raises(NotValid) as refused:
        widths_to_buy(pieces, widths, may_turn=True)
    assert refused.value.argument == argument
