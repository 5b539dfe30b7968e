"""Costs from a shop's own journal, ledger and word, each number down to what is behind it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest

from framekeeper.domain.costs import INPUTS
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.services import (
    cost_inputs,
    costs,
    costs_telling,
    history,
    marks,
    register,
    stock,
    stretch,
    washout,
)
from framekeeper.services.costs import Costs
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.services.settings import change_settings
from tests.fakes import FakeClock
from tests.services.shoptalk import MESH, ROLL, furnish, prepped

D = Decimal
OWN = {
    "adhesive": D("0.60"),
    "labour_per_hour": D("24.00"),
    "chemistry": D("0.70"),
    "water": D("0.10"),
    "stretcher_price": D("42.00"),
    "freight": D("60.00"),
    "equipment_per_month": D("150.00"),
}


def stretched(desk: Desk, count: int, *, cut_mm: int = 900, activator: str = "") -> list[str]:
    """Frames that were stretched, glued and released at one go."""
    codes = [prepped(desk) for _ in range(count)]
    stretch.stretch(desk, codes, stretch.StretchRequest(MESH, roll=ROLL, cut_length_mm=cut_mm))
    lots = {"adhesive_lot": "K1", "activator_lot": activator}
    stretch.glue(desk, codes, cure=dt.timedelta(0), **lots)
    stretch.release(desk, codes)
    return codes


def burst(desk: Desk, *, cut_mm: int = 900) -> str:
    code = prepped(desk)
    stretch.stretch(desk, [code], stretch.StretchRequest(MESH, roll=ROLL, cut_length_mm=cut_mm))
    marks.damage(desk, [code], "burst", mesh_is_done=True)
    return code


def use(desk: Desk, code: str, runs: int, impressions: int = 500) -> None:
    for _ in range(runs):
        washout.image(desk, [code])
        washout.printed(desk, [code], impressions=impressions)
        washout.queue(desk, [code])
        washout.reclaim(desk, [code])


def priced(desk: Desk, price: str | None = "20.00") -> None:
    """Furnish, and give the roll its price."""
    furnish(desk)
    value = None if price is None else D(price)
    stock.edit_roll(desk, ROLL, stock.RollFacts(1500, "A7", "Weberei Lund", value))


def events(found: Costs, name: str) -> set[int]:
    return {t.id for t in found.numbers[name].traces if t.kind == "event"}


def journal_of(desk: Desk, code: str, kind: str) -> list[int]:
    with desk.read() as reader:
        journal = reader.journal(find_frame(reader, code).id)
    return [e.event_id for e in journal if e.kind == kind]


# nothing is known


def test_an_empty_shop_is_told_what_is_missing_and_no_price_is_invented(desk: Desk) -> None:
    """Only the shop's minutes and one published figure are there, and say what they are."""
    found = costs.costs(desk)
    assert found.is_empty
    known = {n for n, number in found.numbers.items() if number.value is not None}
    assert known == {"stretch_minutes", "reclaim_minutes"}
    assert found.numbers["stretch_minutes"].value == 50
    assert found.numbers["stretch_minutes"].origin == "minutes"
    assert found.numbers["reclaim_minutes"].value == D("4.8")
    assert "Printwear" in str(found.numbers["reclaim_minutes"].words)
    assert found.stretch.total is None
    assert found.break_even is None
    assert found.line == found.swings == ()
    assert set(found.numbers) == {*INPUTS, "screens"}
    missing = str(costs_telling.missing_words(found))
    for words in ("price of mesh", "an hour of labour", "stretcher’s price for a screen"):
        assert words in missing
    assert "before this is known" in str(costs_telling.choice_words(found))


# what the shop says


def test_what_the_shop_says_is_kept_to_the_last_digit_and_can_be_taken_back(desk: Desk) -> None:
    cost_inputs.keep_inputs(desk, {"freight": D("61.105"), "burst_share": D("0.045")})
    number = costs.costs(desk).numbers["freight"]
    assert (number.value, number.origin) == (D("61.105"), "shop")
    assert costs.costs(desk).numbers["burst_share"].value == D("0.045")
    with desk.read() as reader:
        assert reader.settings()["cost_freight"] == "61.105"
    cost_inputs.keep_inputs(desk, {"freight": None})
    assert costs.costs(desk).numbers["freight"].value is None
    history.undo(desk)
    assert costs.costs(desk).numbers["freight"].value == D("61.105")


@pytest.mark.parametrize(
    ("name", "text"),
    [("freight", "a lot"), ("freight", "-1"), ("freight", "1e3"), ("freight", "123456789"),
     ("burst_share", "100"), ("screens_per_trip", "0"), ("prints_per_life", "0"),
     ("freight", "1.2.3"), ("freight", "12 EUR")],
)  # fmt: skip
def test_what_no_cost_can_be_is_refused_by_its_name(name: str, text: str) -> None:
    with pytest.raises(NotValid) as refused:
        cost_inputs.read_amount(cost_inputs.input_named(name), text)
    assert refused.value.argument == name


def test_a_share_that_cannot_be_is_refused_in_percent_as_it_is_typed() -> None:
    with pytest.raises(NotValid) as refused:
        cost_inputs.read_amount("waste_share", "100 %")
    assert "waste of mesh: a share lies below 100 %" in str(refused.value)
    assert "a tenth is 10" in str(refused.value.hint)


def test_amounts_are_read_and_written_alike() -> None:
    for name, text, value in (
        ("freight", " 60,50 ", "60.50"),
        ("burst_share", "4,5 %", "0.045"),
        ("waste_share", "0", "0"),
        ("prints_per_life", "12000", "12000"),
    ):
        known = cost_inputs.input_named(name)
        read = cost_inputs.read_amount(known, text)
        assert read == D(value)
        assert read is not None
        assert cost_inputs.read_amount(known, cost_inputs.amount_text(known, read)) == read
    assert cost_inputs.read_amount("freight", "none") is None
    assert cost_inputs.read_amount("freight", " ") is None
    assert cost_inputs.amount_text("prints_per_life", D("12000")) == "12000"


def test_an_unknown_number_is_refused(desk: Desk) -> None:
    with pytest.raises(NotValid, match="No cost is reckoned"):
        cost_inputs.keep_inputs(desk, {"rent": D(1)})  # type: ignore[dict-item]
    with pytest.raises(NotValid):
        cost_inputs.keep_inputs(desk, {"freight": D(-1)})
    with pytest.raises(NotFound):
        costs.costs(desk, mesh="none such")


# what the journal says


def test_stretches_and_bursts_are_counted_in_the_journal(desk: Desk, clock: FakeClock) -> None:
    """Two months: 6 good stretches and 2 bursts make 3 screens a month and a quarter of bursts."""
    furnish(desk)
    first = stretched(desk, 4)
    lost = [burst(desk), burst(desk)]
    clock.go_on(days=60.875)
    later = stretched(desk, 2)
    found = costs.costs(desk)
    assert found.numbers["screens"].value == D("3.0")
    assert found.screens == D("3.0")
    good = {i for code in (*first, *later) for i in journal_of(desk, code, "stretched")}
    assert events(found, "screens") == good
    assert found.numbers["burst_share"].value == D("0.25")
    assert "2 of 8 pulls" in str(found.numbers["burst_share"].words)
    broken = {i for code in lost for i in journal_of(desk, code, "stretched")}
    assert events(found, "burst_share") == good | broken
    names = {t.code for t in found.numbers["burst_share"].traces if "lost" in str(t.what)}
    assert names == set(lost)


def test_a_stretch_that_was_taken_back_is_not_counted(desk: Desk) -> None:
    furnish(desk)
    stretched(desk, 2)
    burst(desk)
    history.undo(desk)  # the damage
    found = costs.costs(desk)
    assert found.numbers["burst_share"].value == 0
    history.undo(desk)  # the stretch, and its cut
    found = costs.costs(desk)
    assert len(found.numbers["screens"].traces) == 2
    assert found.numbers["mesh_m"].value == D("0.9")
    assert len(found.numbers["mesh_m"].traces) == 2


def test_what_is_older_than_a_year_says_nothing_of_rates(desk: Desk, clock: FakeClock) -> None:
    furnish(desk)
    stretched(desk, 2)
    clock.go_on(days=366)
    found = costs.costs(desk)
    for name in ("screens", "burst_share", "mesh_m", "waste_share"):
        assert found.numbers[name].value is None, name
        assert found.numbers[name].traces == ()


def test_mesh_waste_and_price_come_from_the_ledger(desk: Desk) -> None:
    """Two cuts of 0.9 m and one of 1.2 m; 0.6 m scrapped beside 3 m; one roll at 20, one at 26.

    The second roll served 1.2 of the 3 metres: (1.8 x 20 + 1.2 x 26) / 3 = 22.40.
    """
    priced(desk)
    stock.receive_roll(desk, stock.NewRoll(MESH, 1500, 30_000, code="R2", price_per_m=D("26.00")))
    codes = stretched(desk, 2)
    code = prepped(desk)
    stretch.stretch(desk, [code], stretch.StretchRequest(MESH, roll="R2", cut_length_mm=1200))
    stock.scrap(desk, ROLL, length_mm=600, reason="creased")
    found = costs.costs(desk)
    assert found.numbers["mesh_m"].value == D("1.0")
    assert found.numbers["waste_share"].value == rounded(D(6) / 36)
    assert found.numbers["price_per_m"].value == D("22.4")
    assert "2 of 2 rolls" in str(found.numbers["price_per_m"].words)
    rolls = [t for t in found.numbers["price_per_m"].traces if t.kind == "roll"]
    assert [t.name for t in rolls] == [ROLL, "R2"]
    with desk.read() as reader:
        cuts = {m.id for m in reader.moves() if m.kind in ("cut", "scrapped")}
    traces = found.numbers["waste_share"].traces
    assert {t.id for t in traces} == cuts
    ways = {(t.code, t.event_id) for t in traces if t.code}
    assert ways == {(c, i) for c in (*codes, code) for i in journal_of(desk, c, "stretched")}


def rounded(value: Decimal) -> Decimal:
    return value.quantize(D("0.0001"))


def test_a_roll_without_a_price_tells_none(desk: Desk) -> None:
    priced(desk, None)
    stretched(desk, 1)
    number = costs.costs(desk).numbers["price_per_m"]
    assert (number.value, number.origin) == (None, "missing")
    assert "0 of 1 rolls" in str(number.words)
    assert [t.name for t in number.traces] == [ROLL], "the roll that lacks its price is named"


def test_an_offcut_that_was_kept_is_taken_off_the_mesh_of_a_stretch(desk: Desk) -> None:
    """A cut of 1 m from 1.5 m width leaves 0.5 m x 1 m: a third of the metre is still there.

    Cut from the offcut, it is used: two pieces took one metre of the roll.
    """
    priced(desk)
    stretched(desk, 1, cut_mm=1000)
    stock.keep_offcut(desk, ROLL, width_mm=500, length_mm=1000, offcut_code="O1")
    found = costs.costs(desk)
    assert found.numbers["mesh_m"].value == rounded(D(2) / 3)
    code = prepped(desk)
    stretch.stretch(
        desk, [code],
        stretch.StretchRequest(MESH, roll="O1", cut_length_mm=1000, cut_width_mm=450),
    )  # fmt: skip
    found = costs.costs(desk)
    assert found.numbers["mesh_m"].value == D("0.5")
    assert abs((found.numbers["price_per_m"].value or 0) - 20) < D("0.0001")


def test_an_activator_costs_nothing_where_no_stretch_names_one(desk: Desk) -> None:
    furnish(desk)
    stretched(desk, 2)
    assert costs.costs(desk).numbers["activator"].value == 0
    codes = stretched(desk, 1, activator="AK-7")
    number = costs.costs(desk).numbers["activator"]
    assert (number.value, number.origin) == (None, "missing")
    assert [t.code for t in number.traces] == codes


def test_lives_are_told_from_five_ends_on(desk: Desk, clock: FakeClock) -> None:
    """Four of 2 reclaims and 1000 prints, one of 7 and 3500: means 3 and 1500."""
    furnish(desk)
    codes = stretched(desk, 5)
    for code in codes[:4]:
        use(desk, code, 2)
    use(desk, codes[4], 6)
    clock.go_on(days=30)
    for code in codes[:4]:
        marks.pull(desk, [code], "below its limit")
    found = costs.costs(desk)
    assert found.numbers["reclaims_per_life"].value is None
    assert "only 4 lives have ended; a mean takes 5" in str(
        found.numbers["reclaims_per_life"].words
    )
    use(desk, codes[4], 1)
    marks.pull(desk, [codes[4]], "below its limit")
    found = costs.costs(desk)
    assert found.numbers["reclaims_per_life"].value == D("3.0")
    assert found.numbers["prints_per_life"].value == D(1500)
    ends = {i for code in codes for i in journal_of(desk, code, "pulled")}
    assert events(found, "prints_per_life") == ends


def test_a_life_that_goes_on_makes_the_mean_longer_and_no_more_than_at_least(
    desk: Desk, clock: FakeClock
) -> None:
    furnish(desk)
    codes = stretched(desk, 6)
    for code in codes[:5]:
        use(desk, code, 2)
        marks.pull(desk, [code], "below its limit")
    use(desk, codes[5], 8)
    number = costs.costs(desk).numbers["reclaims_per_life"]
    assert number.value == D("3.0"), "five of six end at 2, one is seen to 8: 2 + 6/6"
    assert "at least, from 6 lives, of which 5 have ended" in str(number.words)


def test_mesh_that_was_found_counts_only_from_the_reclaims_at_which_it_was_seen(
    desk: Desk,
) -> None:
    """Five end at 2, one at 12, and one that was found at 10 ends at 12: 2 + 10/6, not 2 + 20/7."""
    furnish(desk)
    found_mesh = register.FoundMesh(MESH, reclaims_so_far=10)
    new = register.NewFrame(584.2, 787.4)
    found_frame = register.register(desk, [new], found=found_mesh).codes[0]
    codes = stretched(desk, 6)
    for code, runs in [*((code, 2) for code in codes[:5]), (codes[5], 12), (found_frame, 2)]:
        use(desk, code, runs)
        marks.pull(desk, [code], "below its limit")
    number = costs.costs(desk).numbers["reclaims_per_life"]
    assert number.value == D("3.7")
    assert "from 7 lives, of which 7 have ended" in str(number.words)


def test_a_shop_that_records_no_prints_knows_no_prints_of_a_life(desk: Desk) -> None:
    furnish(desk)
    for code in stretched(desk, 5):
        marks.pull(desk, [code], "uneven")
    number = costs.costs(desk).numbers["prints_per_life"]
    assert number.value is None
    assert "no prints are recorded" in str(number.words)


def test_trips_to_a_stretcher_are_told_from_the_journal(desk: Desk, clock: FakeClock) -> None:
    """Three frames on one trip, one on the next; back after 5 and 9 days, one without new mesh."""
    furnish(desk)
    codes = [prepped(desk) for _ in range(4)]
    marks.send_out(desk, codes[:3], "Reuter")
    clock.go_on(days=5)
    marks.receive(desk, codes[:2], mesh=MESH, target_n_per_cm=24)
    marks.receive(desk, [codes[2]])
    marks.send_out(desk, [codes[3]], "Reuter")
    clock.go_on(days=9)
    marks.receive(desk, [codes[3]], mesh=MESH, target_n_per_cm=24)
    found = costs.costs(desk)
    assert found.numbers["screens_per_trip"].value == D("2.0")
    assert found.numbers["days_away"].value == D("6.3")
    sent = {i for code in codes for i in journal_of(desk, code, "sent_out")}
    assert events(found, "screens_per_trip") == sent
    assert len(events(found, "days_away")) == 3
    assert len(found.numbers["screens"].traces) == 3, "what came back new is a screen too"


def test_one_mesh_can_be_asked_for_alone(desk: Desk) -> None:
    priced(desk)
    stock.receive_roll(desk, stock.NewRoll("77-55", 1500, 30_000, code="R2", price_per_m=D(9)))
    stretched(desk, 2)
    code = prepped(desk)
    request = stretch.StretchRequest("77-55", 30, roll="R2", cut_length_mm=1500)
    stretch.stretch(desk, [code], request)
    alone = costs.costs(desk, mesh="77-55")
    assert alone.numbers["mesh_m"].value == D("1.5")
    assert alone.numbers["price_per_m"].value == D(9)
    assert costs.costs(desk, mesh=MESH).numbers["mesh_m"].value == D("0.9")
    assert alone.known.mesh == "77-55"


# both together


@pytest.fixture
def told(desk: Desk) -> Desk:
    """A shop that knows all: 9 good stretches, one burst, mesh at 20 a metre, its own prices."""
    priced(desk)
    codes = stretched(desk, 9)
    burst(desk)
    for code in codes[:5]:
        use(desk, code, 2)
        marks.pull(desk, [code], "below its limit")
    cost_inputs.keep_inputs(desk, {**OWN, "screens_per_trip": D(12), "days_away": D(7)})
    change_settings(desk, currency="EUR")
    return desk


def test_a_stretch_of_this_shop_by_hand(told: Desk) -> None:
    """0.9 m at 20 is 18; 50 minutes at 24 are 20; one burst in ten: 38/9; adhesive 0.60."""
    found = costs.costs(told)
    assert found.stretch.total is not None
    assert round(found.stretch.total, 4) == round(D("38.60") + D(38) / 9, 4)
    assert found.reclaim.total == D("0.70") + D("0.10") + D("1.92")
    assert found.thousand.total is not None
    assert found.missing == ()
    assert not found.is_empty
    assert costs_telling.missing_words(found) is None


def test_both_ways_are_compared_at_the_screens_of_the_shop_or_any_other(told: Desk) -> None:
    at_sixty = costs.costs(told, screens=D(60))
    each = at_sixty.stretch.total or D(0)
    assert at_sixty.in_house.total == 150 + 60 * each
    assert at_sixty.sent_out.total == 60 * 42 + 5 * 60
    assert at_sixty.break_even is not None
    crossing = 150 / (47 - each)
    assert abs((at_sixty.break_even.screens or 0) - crossing) < D("1e-9")
    said = str(costs_telling.choice_words(at_sixty))
    assert "60 screens a month cost" in said
    assert "in house saves" in said
    assert "EUR" in said
    assert f"pays from {crossing:.1f} screens" in str(costs_telling.break_even_words(at_sixty))
    few = costs.costs(told, screens=D(10))
    assert "sending out saves" in str(costs_telling.choice_words(few))
    assert few.break_even == at_sixty.break_even
    start, end = at_sixty.line
    assert (start.screens, start.in_house, start.sent_out) == (0, 150, 0)
    assert end.screens >= 120


def test_a_what_if_stands_before_all_and_changes_nothing_in_the_shop(told: Desk) -> None:
    before = costs.costs(told)
    found = costs.costs(told, what_if={"burst_share": D(0), "freight": None})
    assert found.numbers["burst_share"].origin == "what_if"
    assert found.stretch.total == D("38.60")
    assert found.missing == ("freight",)
    assert found.numbers["burst_share"].told is not None
    assert costs.costs(told).numbers == before.numbers
    with pytest.raises(NotValid):
        costs.costs(told, what_if={"burst_share": D(1)})
    with pytest.raises(NotValid):
        costs.costs(told, screens=D(-1))


def test_the_shops_own_word_stands_before_its_journal_which_is_still_told(told: Desk) -> None:
    cost_inputs.keep_inputs(told, {"mesh_m": D(2)})
    number = costs.costs(told).numbers["mesh_m"]
    assert (number.value, number.origin) == (D(2), "shop")
    assert number.told is not None
    assert number.told.value == D("0.9")
    assert len(number.traces) == 10


def test_every_line_of_the_costs_names_numbers_that_can_be_opened(told: Desk) -> None:
    found = costs.costs(told)
    lines = costs_telling.cost_lines(found)
    assert [line.key for line in lines if line.is_head] == [
        "stretch", "reclaim", "thousand", "in_house", "sent_out",
    ]  # fmt: skip
    for line in lines:
        assert line.rests_on
        assert all(name in found.numbers for name in line.rests_on)
    parts = [line for line in lines if line.key.startswith("stretch.")]
    assert sum((line.amount or D(0)) for line in parts) == found.stretch.total


def test_frames_that_are_away_are_counted_and_priced_where_a_price_is_known(told: Desk) -> None:
    """7 days of 60 screens a month keep 13.8 frames away."""
    found = costs.costs(told, screens=D(60))
    assert round(found.frames_away or 0, 1) == D("13.8")
    assert "counted, not priced" in str(costs_telling.away_words(found))
    dearer = costs.costs(told, screens=D(60), what_if={"spare_frame_per_month": D(1)})
    assert "in its cost" in str(costs_telling.away_words(dearer))
    assert round((dearer.sent_out.total or D(0)) - (found.sent_out.total or D(0)), 1) == D("13.8")
    unknown = costs.costs(told, what_if={"days_away": None})
    assert costs_telling.away_words(unknown) is None


def test_what_matters_most_stands_first(told: Desk) -> None:
    swings = costs.costs(told, screens=D(60)).swings
    assert swings[0].name == "stretcher_price"
    assert swings[0].reach == 60 * D("42") * D("0.4")
    said = str(costs_telling.swing_words(swings[0], costs.costs(told).known))
    assert said.startswith("stretcher’s price for a screen: at 33.60 EUR in house is ")


@pytest.mark.parametrize(
    ("what_if", "said"),
    [
        ({"equipment_per_month": D(0)}, "always cheaper"),
        ({"stretcher_price": D(1)}, "never pays"),
        (
            {"equipment_per_month": D(0), "mesh_m": D(0), "adhesive": D(0), "freight": D(0),
             "labour_per_hour": D(0), "stretcher_price": D(0)},
            "always cost the same",
        ),
    ],
)  # fmt: skip
def test_never_and_always_are_told_plainly(
    told: Desk, what_if: dict[cost_inputs.InputName, Decimal | None], said: str
) -> None:
    found = costs.costs(told, what_if=what_if)
    assert said in str(costs_telling.break_even_words(found))


def test_a_shop_that_measures_in_inches_reads_mesh_by_the_yard(told: Desk) -> None:
    """20.00 a metre are 18.29 a yard."""
    change_settings(told, length_unit="inch")
    found = costs.costs(told)
    price = found.numbers["price_per_m"]
    assert str(costs_telling.value_words("price_per_m", price.value, found.known)) == (
        "18.29 EUR per yd"
    )
    metric = replace(found.known, in_yards=False)
    assert str(costs_telling.value_words("price_per_m", price.value, metric)) == "20.00 EUR per m"
