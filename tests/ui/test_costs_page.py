"""The page of costs in the real window: by keyboard, in both units, down to events, on paper."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QLabel

from framekeeper.services import cost_inputs, marks, meshes, prep, register, stock, stretch
from framekeeper.services.desk import Desk
from framekeeper.services.settings import change_settings
from framekeeper.ui.dialogs.cost_numbers import CostNumbersForm
from framekeeper.ui.places.costs_page import CostsPage
from framekeeper.ui.places.findings import Findings
from framekeeper.ui.printing import save_costs_sheet
from tests.fakes import FakePrompter
from tests.ui.bench_shop import nameless
from tests.ui.person import Person
from tests.ui.person import person as person

D = Decimal
MESH = "230 yellow"
OWN = {
    "adhesive": D("0.60"),
    "activator": D(0),
    "labour_per_hour": D("24.00"),
    "chemistry": D("0.70"),
    "water": D("0.10"),
    "stretcher_price": D("42.00"),
    "freight": D("60.00"),
    "screens_per_trip": D(12),
    "days_away": D(7),
    "equipment_per_month": D("150.00"),
    "prints_per_life": D(20_000),
    "reclaims_per_life": D(40),
}


def stretches(desk: Desk) -> None:
    """Nine good stretches of 0.9 m and one burst, off a roll at 20 a metre."""
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts(MESH, 230, "inch", 90.55, 48, "dyed"))
    roll = stock.NewRoll(MESH, 1500, 30_000, code="R1", price_per_m=D("20.00"))
    stock.receive_roll(desk, roll)
    codes = list(register.register(desk, [register.NewFrame(584, 787)] * 10).codes)
    prep.prep_all(desk, codes)
    stretch.stretch(desk, codes, stretch.StretchRequest(MESH, 24, roll="R1", cut_length_mm=900))
    marks.damage(desk, codes[:1], "burst", mesh_is_done=True)
    stretch.glue(desk, codes[1:], cure=dt.timedelta(0))
    stretch.release(desk, codes[1:])


def told_shop(desk: Desk) -> None:
    stretches(desk)
    cost_inputs.keep_inputs(desk, OWN)
    change_settings(desk, currency="EUR", length_unit="mm")


@pytest.fixture
def furnish(request: pytest.FixtureRequest) -> Callable[[Desk], None]:
    """The shop of a test; the one that knows all unless the test names another."""
    return getattr(request, "param", told_shop)


def _nothing(_desk: Desk) -> None:
    """An empty shop."""


only_journal = pytest.mark.parametrize("furnish", [stretches], indirect=True)
empty = pytest.mark.parametrize("furnish", [_nothing], indirect=True)


@pytest.fixture
def page(person: Person) -> CostsPage:
    """The page, with costs on it."""
    person.press("Ctrl+9", "Ctrl+T", "Ctrl+T")
    place = person.window.current
    assert isinstance(place, Findings)
    shown = place.page("costs")
    assert isinstance(shown, CostsPage)
    person.until(lambda: shown.found is not None and shown.isVisible())
    person.settle()
    return shown


def rows(page: CostsPage) -> dict[str, str]:
    """Every line of the costs by its key, as it is shown."""
    model = page.costs.model()
    return {row.line.key: model.index(place, 1).data() for place, row in enumerate(page.costs.rows)}


def numbers(page: CostsPage) -> dict[str, tuple[str, str]]:
    model = page.numbers.model()
    return {
        row.number.name: (model.index(place, 1).data(), model.index(place, 2).data())
        for place, row in enumerate(page.numbers.rows)
    }


# what is shown


def test_it_shows_each_cost_with_its_parts(page: CostsPage) -> None:
    """18 of mesh, 20 of labour, 38/9 for one burst in ten, 0.60 of adhesive; 150 + 9 of them."""
    shown = rows(page)
    assert shown["stretch"] == "42.82 EUR"
    assert shown["stretch.mesh"] == "18.00 EUR"
    assert shown["stretch.bursts"] == "4.22 EUR"
    assert shown["reclaim"] == "2.72 EUR"
    assert shown["thousand"] == "7.58 EUR"
    assert shown["in_house"] == "535.40 EUR"
    assert numbers(page)["burst_share"] == ("10.0 %", "journal")
    assert numbers(page)["mesh_m"] == ("0.90 m", "journal")
    assert numbers(page)["stretch_minutes"] == ("50", "proposal")
    assert numbers(page)["reclaim_minutes"] == ("4.8", "published")
    assert numbers(page)["freight"] == ("60.00 EUR", "own")


def test_the_keys_of_the_slider_ask_for_other_numbers_of_screens(
    person: Person, page: CostsPage
) -> None:
    """The month's costs, the words, the number beside it and the chart follow at once."""
    assert page.slider.value() == page.screens.value() == 9
    assert "sending out saves" in page.choice.text()
    assert "pays from 35.9 screens a month on" in page.choice.text()
    page.slider.setFocus()
    person.press(*["PgUp"] * 5, "Right")
    assert page.screens.value() == page.slider.value() == 60
    assert rows(page)["in_house"] == "2719.33 EUR"
    assert rows(page)["sent_out"] == "2820.00 EUR"
    assert "in house saves 100.67 EUR" in page.choice.text()
    assert page.lines.accessibleDescription() == page.choice.text()
    person.press("Alt+S", "Ctrl+A")
    person.type("400")
    person.press("Tab")
    assert page.slider.value() == 400
    assert page.found is not None
    assert page.found.screens == 400


def test_the_widest_bar_stands_first_and_arrows_tell_each(person: Person, page: CostsPage) -> None:
    page.screens.setValue(60)
    assert page.tornado.bars[0].key == "stretcher_price"
    said = [label.text() for label in page.findChildren(QLabel)]
    assert page.tornado.bars[0].words in said
    page.tornado.setFocus()
    person.press("Down")
    chosen = page.tornado.chosen
    assert chosen is not None
    assert chosen.key in ("labour_per_hour", "stretch_minutes")
    assert chosen.words in [label.text() for label in page.findChildren(QLabel)]
    assert page.tornado.accessibleDescription() == chosen.words
    person.press("End")
    assert page.tornado.chosen == page.tornado.bars[-1]
    person.press("Return")
    assert page.behind.isVisible()
    assert page.tornado.bars[-1].name in page.behind.words
    person.press("Esc")
    assert person.focus is page.tornado


# down to the events


def test_enter_on_a_cost_lists_what_is_behind_it_down_to_the_event(
    person: Person, page: CostsPage
) -> None:
    page.costs.choose(["stretch.bursts"])
    page.costs.setFocus()
    person.press("Return")
    assert page.behind.isVisible()
    assert "what bursts, done again: 4.22 EUR" in page.behind.words
    assert "1 of 10 pulls were lost before the release" in page.behind.words
    lost = [r for r in page.behind.rows.rows if "lost before the release" in r.words]
    assert len(lost) == 1
    trace = lost[0].trace
    assert trace is not None
    assert trace.id in _stretched(person, trace.code)
    page.behind.rows.choose([(lost[0].number, lost[0].place)])
    person.press("Return")
    person.until(lambda: person.frame_shown == trace.code)


def _stretched(person: Person, code: str) -> list[int]:
    with person.desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        return [e.event_id for e in reader.journal(frame.id) if e.kind == "stretched"]


def test_enter_on_a_number_lists_its_cuts_and_leads_to_the_stretch(
    person: Person, page: CostsPage
) -> None:
    page.numbers.choose(["mesh_m"])
    page.numbers.setFocus()
    person.press("Return")
    listed = page.behind.rows.rows
    assert len(listed) == 10
    assert all(r.trace is not None and r.trace.kind == "move" for r in listed)
    first = listed[0].trace
    assert first is not None
    person.press("Return")
    person.until(lambda: person.frame_shown == first.code)


def test_a_roll_is_looked_up_on_the_shelf(person: Person, page: CostsPage) -> None:
    page.numbers.choose(["price_per_m"])
    page.numbers.setFocus()
    person.press("Return")
    assert [r.trace.name for r in page.behind.rows.rows if r.trace] == ["R1"]
    person.press("Return")
    assert person.window.current is person.window.place("shelf")


def test_esc_goes_back_to_where_the_number_was_opened(person: Person, page: CostsPage) -> None:
    page.numbers.choose(["freight"])
    page.numbers.setFocus()
    person.press("Return")
    assert "the shop’s own number" in page.behind.words
    assert page.behind.rows.rows == []
    person.press("Esc")
    assert page.costs.isVisible()
    assert person.focus is page.numbers


# what is missing, and what the shop enters


@empty
def test_an_empty_shop_is_asked_to_begin(person: Person, page: CostsPage) -> None:
    assert not page.can_print
    words = " ".join(label.text() for label in page.findChildren(QLabel) if label.isVisible())
    assert "Nothing is known of costs yet" in words
    assert "No price is ever guessed" in words
    person.press("F2")
    assert isinstance(person.form, CostNumbersForm)
    person.fill(h="24")
    person.press("Return")
    person.until(lambda: page.found is not None and not page.found.is_empty)
    assert rows(page)["stretch.labour"] == "20.00"
    assert rows(page)["stretch"] == "20.00 and more"
    assert page.costs.isVisible()


@only_journal
def test_what_is_missing_is_said_and_entered_with_one_key(person: Person, page: CostsPage) -> None:
    place = person.window.current
    assert place is not None
    said = " ".join(label.text() for label in place.findChildren(QLabel) if label.isVisible())
    assert "numbers are not known yet: they stand first below" in said
    first = list(numbers(page).values())[:5]
    assert {origin for _, origin in first} == {"not known"}
    assert "before this is known" in page.choice.text()
    assert "stretcher’s price for a screen" in page.choice.text()
    assert not page.tornado.isVisible()
    person.press("Ctrl+E")
    assert isinstance(person.form, CostNumbersForm)
    person.fill(a="0,6", v="0", h="24", o="150", s="42", f="60", n="12")
    person.press("Return")
    person.until(lambda: page.tornado.isVisible())
    assert "screens a month on" in page.choice.text()
    with person.desk.read() as reader:
        kept = cost_inputs.stored_inputs(reader)
    assert kept == {
        "adhesive": D("0.6"), "activator": D(0), "labour_per_hour": D(24),
        "equipment_per_month": D(150), "stretcher_price": D(42), "freight": D(60),
        "screens_per_trip": D(12),
    }  # fmt: skip
    person.press("Ctrl+Z")
    person.until(lambda: not page.tornado.isVisible())


def test_a_refused_number_stays_in_its_field(person: Person, page: CostsPage) -> None:
    person.press("Ctrl+E")
    form = person.form
    assert isinstance(form, CostNumbersForm)
    person.fill(b="100")
    person.press("Return")
    assert "below 1" in form.trouble.text
    assert person.focus.accessibleName() == "Bursts in the clamps, %"
    person.press("Esc", "Esc")


def test_an_emptied_field_is_left_to_the_journal_again(person: Person, page: CostsPage) -> None:
    """And a field shows in quiet ink what stands without it."""
    person.press("Ctrl+E")
    assert isinstance(person.form, CostNumbersForm)
    person.fill(m="2")
    person.press("Return")
    person.until(lambda: numbers(page)["mesh_m"] == ("2.00 m", "own"))
    person.press("Ctrl+E")
    field = person.focus
    assert field.property("placeholderText") == "0.9"
    person.press("Alt+M", "Ctrl+A", "Del", "Return")
    person.until(lambda: numbers(page)["mesh_m"] == ("0.90 m", "journal"))


def test_a_shop_in_inches_reads_and_types_mesh_by_the_yard(person: Person, page: CostsPage) -> None:
    """20.00 a metre are 18.29 a yard; what is typed by the yard is kept by the metre."""
    change_settings(person.desk, length_unit="inch")
    person.until(lambda: numbers(page)["price_per_m"][0] == "18.29 EUR per yd")
    assert numbers(page)["mesh_m"][0] == "0.98 yd"
    person.press("Ctrl+E")
    assert isinstance(person.form, CostNumbersForm)
    person.fill(p="9,144")
    person.press("Return")
    person.until(lambda: numbers(page)["price_per_m"] == ("9.14 EUR per yd", "own"))
    with person.desk.read() as reader:
        assert cost_inputs.stored_inputs(reader)["price_per_m"] == D(10)
    person.press("Ctrl+E", "Return")
    with person.desk.read() as reader:
        assert cost_inputs.stored_inputs(reader)["price_per_m"] == D(10), (
            "opened and saved as it is"
        )


def test_one_mesh_can_be_chosen_alone(person: Person, page: CostsPage) -> None:
    meshes.add_mesh_type(person.desk, meshes.MeshTypeFacts("110 white", 110, "inch", 43.3, 80))
    person.until(lambda: page.mesh.findData("110 white") > 0)
    page.mesh.setFocus()
    person.press("Alt+M")
    page.mesh.setCurrentIndex(page.mesh.findData("110 white"))
    person.until(lambda: numbers(page)["mesh_m"][1] == "not known")
    page.mesh.setCurrentIndex(page.mesh.findData(MESH))
    person.until(lambda: numbers(page)["mesh_m"] == ("0.90 m", "journal"))


def test_a_new_stretch_is_counted_while_the_page_is_open(person: Person, page: CostsPage) -> None:
    assert numbers(page)["screens"][0] == "9"
    codes = list(register.register(person.desk, [register.NewFrame(584, 787)]).codes)
    prep.prep_all(person.desk, codes)
    stretch.stretch(person.desk, codes, stretch.StretchRequest(MESH, 24, roll="R1"))
    person.until(lambda: numbers(page)["screens"][0] == "10")


# paper, names, the decimal sign


def test_the_paper_says_what_the_page_shows(
    person: Person, page: CostsPage, tmp_path: Path
) -> None:
    page.screens.setValue(60)
    path = tmp_path / "costs.pdf"
    assert page.found is not None
    save_costs_sheet(person.bench, page, page.found, prompter=FakePrompter([path]))
    person.until(path.exists)
    person.settle()
    pages = pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages
    text = " ".join(" ".join(p.extract_text() for p in pages).split())
    for shown in rows(page).values():
        assert shown in text
    for value, _ in numbers(page).values():
        assert value in text
    for bar in page.tornado.bars:
        assert bar.name in text
    assert "in house saves 100.67 EUR" in text
    assert "equal at 35.9" in text


def test_ctrl_p_prints_and_only_where_there_is_something(
    person: Person, page: CostsPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(
        "framekeeper.ui.printing.save_costs_sheet", lambda *given, **_: asked.append(given[2])
    )
    person.press("Ctrl+P")
    assert asked == [page.found]


def test_every_control_has_a_name_and_room(page: CostsPage) -> None:
    assert nameless(page) == []
    for control in (page.slider, page.screens, page.tornado, page.lines):
        assert control.accessibleName()


def test_the_shop_reads_a_decimal_comma(person: Person, page: CostsPage) -> None:
    person.bench.formatter._locale = QLocale("de_DE")
    page.refresh()
    person.until(lambda: "35,9" in page.choice.text())
    assert rows(page)["stretch"] == "42,82 EUR"
    assert page.tornado.bars[0].low_text.endswith("EUR")


def test_the_tab_key_walks_over_the_page(person: Person, page: CostsPage) -> None:
    """Costs, numbers, screens, bars: all within reach of Tab."""
    page.costs.setFocus()
    met = set()
    for _ in range(20):
        person.press("Tab")
        met.add(person.focus)
    assert {page.costs, page.numbers, page.slider, page.tornado, page.mesh} <= met
