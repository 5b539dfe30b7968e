"""Proves the place of the meters: every entry by key, studies walked through, a meter found out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox
from pytestqt.qtbot import QtBot

from framekeeper.domain.due import MeshRules
from framekeeper.services import meshes, meters, register, settings
from framekeeper.services.check import SurveyRequest, survey
from framekeeper.services.desk import Desk
from framekeeper.services.meter_checks import CheckRequest, MeterPage, add_check, meter_pages
from framekeeper.services.meter_studies import studies
from framekeeper.services.plan import due
from framekeeper.services.record import When
from framekeeper.services.tension_round import survey_and_judge
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.places.meters import Meters
from framekeeper.ui.places.round_verdict import VerdictPanel
from framekeeper.ui.widgets.work_table import WorkTable
from tests.domain.published import agrees, checks, columns, numbers
from tests.ui.bench_shop import BenchShop, come_in, nameless
from tests.ui.bench_shop import bench_shop as bench_shop
from tests.ui.person import Person
from tests.ui.person import person as person

SHIFT = 20.0  # the published parts lie around 0; as tensions they lie around this


@pytest.fixture(autouse=True)
def own_memory(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Half-typed studies are kept in a folder of this test's own."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path


def two_meters_and_six_screens(desk: Desk) -> None:
    """Read by the first meter since its reference was good: 17.0, 17.6, 18.2, 18.8, 19.4, 20.0."""
    rules = MeshRules(target=25, limit=18)
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts("230 yellow", rules=rules))
    facts = meters.MeterFacts("Blue case", resolution=0.1, certificate_until=dt.date(2026, 1, 1))
    meters.add_meter(desk, facts)
    meters.add_meter(desk, meters.MeterFacts("Red case"))
    good = desk.clock.now() - dt.timedelta(days=2)
    codes = register.register(
        desk,
        [register.NewFrame(584, 787, own_label=f"S{n}", slot=f"A{n}") for n in range(1, 7)],
        found=register.FoundMesh("230 yellow"),
        when=When(good - dt.timedelta(days=1)),
    ).codes
    request = CheckRequest("reference", shown=21.0, expected=21.0)
    add_check(desk, "Blue case", request, when=When(good))
    for n, code in enumerate(codes):
        value = round(17.0 + 0.6 * n, 1)
        at = good + dt.timedelta(hours=1 + n)
        survey(desk, code, SurveyRequest((value,), (value,), meter="Blue case"), when=When(at))


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    return two_meters_and_six_screens


def place_of(person: Person) -> Meters:
    place = person.window.current
    assert isinstance(place, Meters)
    return place


def meter(person: Person) -> MeterPage:
    """What is known of the first meter, which is chosen when somebody comes here."""
    return meter_pages(person.desk)[0]


def cells(table: WorkTable, row: int) -> dict[str, str]:
    model = table.model()
    return {
        model.headerData(column, Qt.Orientation.Horizontal): model.index(row, column).data()
        for column in range(model.columnCount())
    }


def below(person: Person) -> set[str]:
    return {i.frame.own_label for i in due(person.desk) if i.task.rule == "below_limit"}


# what is learnt


def test_a_zero_is_three_keys_and_its_number(person: Person) -> None:
    """Ctrl+8, F2, the number with a comma, Enter: the meter holds."""
    person.press("Ctrl+8")
    place = place_of(person)
    shown = cells(place.overview.meters, 0)
    assert (shown["Meter"], shown["Answer"], shown["Last zero"]) == ("Blue case", "soon", "never")
    assert (shown["Certificate until"], shown["Readings since"]) == ("1 Jan 2026", "6")
    assert "zero it on glass" in shown["Why"]
    person.press("F2")
    person.type("0,0")
    person.press("Return")
    assert cells(place.overview.meters, 0)["Answer"] == "holds"
    (zero,) = (c for c in meter(person).checks if c.kind == "zero")
    assert (zero.shown, zero.by) == (0.0, "Maren")
    assert place.overview.zero_drift.told.startswith("Zero on glass: steady")
    person.press("Ctrl+Z")
    assert cells(place.overview.meters, 0)["Last zero"] == "never"


def test_a_failed_reference_is_told_in_words_and_by_its_mark(person: Person) -> None:
    """What the screen should show is proposed from the last time."""
    person.press("Ctrl+8", "F3")
    person.fill(S="22,5")
    person.press("Return")
    place = place_of(person)
    check = meter(person).checks[-1]
    assert (check.shown, check.expected, check.is_good) == (22.5, 21.0, False)
    assert cells(place.overview.meters, 0)["Answer"] == "below"
    assert "it failed on the reference screen" in cells(place.overview.meters, 0)["Why"]
    assert place._header._purpose.text() == "Do not measure with: Blue case."
    assert "1.50 N/cm off" in told_by_arrow(person, place)


def told_by_arrow(person: Person, place: Meters) -> str:
    """What the reference chart says of its newest point."""
    place.overview.reference_drift.setFocus()
    person.press("Right")
    return place.overview.reference_drift.told


def test_a_certificate_is_proposed_for_the_meters_own_months(person: Person) -> None:
    """Today is 3 March 2025, and this meter's certificates hold a year."""
    person.press("Ctrl+8", "F4", "Return")
    assert meter(person).trust.certificate_until == dt.date(2026, 3, 3)


def test_a_drop_is_not_trusted_until_the_repair(person: Person) -> None:
    person.press("Ctrl+8", "F6")
    person.fill(T="off the table")
    person.press("Return")
    assert meter(person).trust.answer == "below"
    assert meter(person).checks[-1].note == "off the table"
    person.press("F7", "Return")
    assert meter(person).checks[-1].kind == "repair"
    assert meter(person).trust.answer != "below"
    assert meter(person).readings_since_good == 0


def test_what_no_meter_shows_is_refused_at_its_field(person: Person) -> None:
    """What was typed stays; Esc leaves, and nothing was written."""
    person.press("Ctrl+8", "F2")
    for text, told in (("abc", "is not a number"), ("99", "nothing a meter shows")):
        person.press("Ctrl+A")
        person.type(text)
        person.press("Return")
        form = place_of(person).overview.form
        assert form is not None
        assert told in form.error_text
    person.press("Escape")
    assert place_of(person).overview.form is None
    assert [c.kind for c in meter(person).checks] == ["reference"]


# found out


def test_a_meter_is_found_out_and_forgiven(person: Person) -> None:
    """The bias comes from the failed reference; each frame is named; one key records, one undoes.

    1.2 too high: 18.2 and 18.8 are carried below the limit of 18; two were below already.
    """
    person.press("Ctrl+8", "F3")
    person.fill(S="22.2")
    person.press("Return", "F8")
    place = place_of(person)
    assert place.found.bias.text() == "1.2"
    assert "6 surveys with Blue case since its last good check" in place.found.words
    assert "Frames that change: 2 of 6" in place.found.words
    shown = [cells(place.found.changed, row) for row in range(2)]
    assert [(row["Slot"], row["Lowest, N/cm"], row["Answer"]) for row in shown] == [
        ("A3", "18.2 → 17.0", "holds → below the limit"),
        ("A4", "18.8 → 17.6", "holds → below the limit"),
    ]
    assert below(person) == {"S1", "S2"}
    person.press("Return")
    assert below(person) == {"S1", "S2", "S3", "S4"}
    assert "6 surveys concluded anew; frames that change: 2" in person.told[-1]
    assert place._pages.currentWidget() is place.overview
    person.press("Ctrl+Z")
    assert below(person) == {"S1", "S2"}
    assert all(c.kind != "found_out" for c in meter(person).checks)


def test_another_bias_is_looked_into_before_it_can_be_recorded(person: Person) -> None:
    person.press("Ctrl+8", "F8")
    place = place_of(person)
    assert not place.found.record.isVisible()
    person.type("0")
    person.press("Return")
    assert "cannot be" in place.found.form.error_text
    person.press("Ctrl+A")
    person.type("-0,5")
    person.press("Return")
    assert place.found.record.isVisible()
    assert [cells(place.found.changed, 0)["Answer"]] == ["below the limit → holds"]
    place.found.bias.setFocus()
    person.type("1")
    assert not place.found.record.isVisible()
    person.press("Escape")
    assert place._pages.currentWidget() is place.overview


# an overdue meter


def test_an_overdue_meter_is_told_on_the_round_and_on_the_frames_page(
    person: Person, qtbot: QtBot
) -> None:
    """The certificate ends on 1 January 2026; the same screen read before it is not marked."""
    first, second = read_before_and_after(person, qtbot)
    assert "Meter overdue" not in first
    assert "Meter overdue: its certificate had run out." in second
    with person.desk.read() as reader:
        code = reader.frames()[0].code
    person.window.show_frame(code)
    person.settle()
    page = person.window.current
    assert isinstance(page, FramePagePlace)
    assert page.overdue.isVisible()
    assert "surveyed in service, meter overdue" in page.journal.table.words(
        page.journal.table.lines[0]
    )


def read_before_and_after(person: Person, qtbot: QtBot) -> tuple[str, str]:
    """What the round says of a screen that is read today, and again next year."""
    with person.desk.read() as reader:
        code = reader.frames()[0].code
    said = []
    for days in (0, 400):
        person.clock.go_on(days=days)
        request = SurveyRequest((22.0, 22.5), (22.0, 22.5), meter="Blue case")
        panel = VerdictPanel(person.bench)
        qtbot.addWidget(panel)
        panel.show_judged(survey_and_judge(person.desk, code, request))
        said.append(panel.words)
    return said[0], said[1]


# studies


def begin_gauge(person: Person, parts: str, people: str, repeats: str) -> None:
    person.press("Ctrl+8", "Ctrl+G")
    person.fill(S=parts, P=people, M=repeats)
    person.press("Return")


@pytest.mark.timeout(120)  # ninety numbers are typed key by key
def test_the_published_gauge_study_is_walked_through(person: Person) -> None:
    """The result on the screen is the published one.

    The readings of the source are no tensions: each is moved by 20 N/cm, which leaves every
    deviation as it is.
    """
    file = "gauge_10x3x3.csv"
    read = columns(file)
    wanted = {
        (part, who, turn): value + SHIFT
        for part, who, turn, value in zip(
            read["part"], read["operator"], read["trial"], numbers(file, "value"), strict=True
        )
    }
    begin_gauge(person, "10", "A, B, C", "3")
    place = place_of(person)
    for who in "ABC":
        for turn in "123":
            for part in range(1, 11):
                assert place.walk.question == f"{who}, turn {turn} of 3: screen {part}"
                person.type(f"{wanted[str(part), who, turn]:.2f}".replace(".", ","))
                person.press("Return")
    assert place.walk.question.startswith("All numbers are here")
    person.press("Return")
    assert place._pages.currentWidget() is place.result
    rows = [cells(place.result.shares, row) for row in range(4)]
    published = checks()["A5-O1"]["expected"]
    for row, name in zip(rows, ("EV", "AV", "GRR", "PV"), strict=True):
        agrees("A5-O1", f"% study variation {name}", float(row["% of variation"]))
        assert row["Deviation, N/cm"] == f"{published[f'ANOVA {name} sigma']['value']:.3f}"
    assert "27.9 % of the variation: good enough to sort screens" in place.result.words
    assert "4 groups" in place.result.words
    (kept,) = studies(person.desk)
    assert kept.gauge is not None
    agrees("A5-O1", "ANOVA GRR sigma", kept.gauge.gauge_sd)


def test_the_published_comparison_is_typed_pair_by_pair(person: Person) -> None:
    """The flows of the source are l/min: a twentieth of each is typed, and the answer read back."""
    file = "pefr_two_meters.csv"
    person.press("Ctrl+8", "Ctrl+K", "Return")
    place = place_of(person)
    pairs = zip(numbers(file, "large_1"), numbers(file, "mini_1"), strict=True)
    for number, (first, second) in enumerate(pairs, start=1):
        assert place.walk.question == f"Place {number}: Blue case"
        person.type(f"{first / 20:.2f}")
        person.press("Return")
        assert place.walk.question == f"Place {number}: Red case"
        assert not place.walk.finish.isEnabled()
        person.type(f"{second / 20:.2f}")
        person.press("Return")
    person.press("Ctrl+Return")
    (kept,) = studies(person.desk)
    found = kept.agreement
    assert found is not None
    for quantity, got in (
        ("bias", found.bias),
        ("sd of differences", found.sd),
        ("bias CI lower", found.bias_lower),
        ("bias CI upper", found.bias_upper),
    ):
        agrees("A5-O2", quantity, 20 * got)
    words = place.result.words
    assert f"Blue case reads {-found.bias:.2f} N/cm lower than Red case" in words
    assert f"lie between {found.lower:.2f} and {found.upper:.2f} N/cm" in words
    assert "It may be chance" in words


def test_a_half_typed_study_survives_leaving_and_a_crash(
    person: Person, qtbot: QtBot, own_memory: Path
) -> None:
    """The place goes on at the same question; so does another window after the first died."""
    begin_gauge(person, "2", "Ana, Bo", "2")
    place = place_of(person)
    for number in ("20.1", "24.9"):
        person.type(number)
        person.press("Return")
    person.press("Ctrl+1", "Ctrl+8")
    assert place.walk.question == "Ana, turn 2 of 2: screen 1"
    assert person.focus is place.walk.field
    person.press("Escape")
    assert "waits with 2 numbers" in place.overview._half_typed.text()
    after = Meters(person.bench)
    qtbot.addWidget(after)
    after.enter()
    qtbot.waitUntil(lambda: after._looked is not None)
    after.overview.keys["gauge"].click()
    assert after.walk.question == "Ana, turn 2 of 2: screen 1"


def test_a_wrong_number_is_one_key_back(person: Person) -> None:
    """A number that cannot be is refused; a wrong one is typed over, and the walk goes on."""
    begin_gauge(person, "2", "Ana, Bo", "2")
    place = place_of(person)
    person.type("201")
    person.press("Return")
    assert "more than a tension meter can show" in place.walk.trouble.text
    person.type("20.1")
    person.press("Return")
    person.type("29.4")
    person.press("Return", "F3")
    assert place.walk.question == "Ana, turn 1 of 2: screen 2"
    person.type("24,9")
    person.press("Return")
    assert place.walk.half is not None
    assert place.walk.half.values == (20.1, 24.9)
    assert place.walk.question == "Ana, turn 2 of 2: screen 1"
    person.press("F8")
    assert "Press F8 again to throw 2 typed numbers away" in place.walk.trouble.text
    person.press("F8", "Ctrl+G")
    assert place.overview.form is not None


def test_repeats_that_never_differ_give_no_result(person: Person) -> None:
    """The refusal stands at the numbers, which stay."""
    begin_gauge(person, "2", "Ana, Bo", "2")
    place = place_of(person)
    for _ in range(8):
        person.type("20")
        person.press("Return")
    person.press("Return")
    assert "repeats never differ" in place.walk.trouble.text
    assert len(place.walk.typed.rows) == 8
    assert studies(person.desk) == []


@pytest.mark.parametrize(
    ("parts", "people", "repeats", "told"),
    [
        ("1", "Ana, Bo", "3", "two at least"),
        ("10", "Ana, Bo", "1", "two at least"),
        ("10", "Ana", "3", "two people at least"),
        ("10", "Ana, Ana", "3", "two people at least"),
        ("2,5", "Ana, Bo", "3", "not a whole number"),
        ("100", "Ana, Bo, Cy", "3", "more than anybody types"),
    ],
)
def test_a_study_that_would_say_nothing_is_not_begun(
    person: Person, parts: str, people: str, repeats: str, told: str
) -> None:
    begin_gauge(person, parts, people, repeats)
    form = place_of(person).overview.form
    assert form is not None
    assert told in form.error_text


def test_a_study_is_opened_again_taken_over_and_taken_back(person: Person) -> None:
    begin_gauge(person, "2", "Ana, Bo", "2")
    for number in ("20", "25", "20.4", "25.2", "20.1", "25.3", "20.5", "25.1"):
        person.type(number)
        person.press("Return")
    person.press("Return", "F2")
    place = place_of(person)
    (kept,) = studies(person.desk)
    assert kept.gauge is not None
    assert kept.meter.repeatability == round(kept.gauge.gauge_sd, 3)
    person.press("Escape")
    place.overview.studies.setFocus()
    person.press("Return")
    assert place._pages.currentWidget() is place.result
    person.press("Ctrl+Z", "Ctrl+Z")
    assert studies(person.desk) == []
    assert place._pages.currentWidget() is place.overview


# the place


def test_an_empty_shop_says_what_to_do_first(bench_shop: BenchShop, qtbot: QtBot) -> None:
    place = come_in(Meters, bench_shop, qtbot)
    assert place._pages.currentWidget() is place._empty
    assert place._first.isVisible()
    meters.add_meter(bench_shop.desk, meters.MeterFacts("Blue case"))
    place.refresh()
    assert place._pages.currentWidget() is place.overview
    assert not place.overview.keys["comparison"].isEnabled(), "one meter alone compares with none"


def test_a_scale_of_sag_is_refused_with_its_reason(person: Person) -> None:
    person.press("Ctrl+8", "Ctrl+N")
    assert person.form is not None
    person.type("Dial")
    person.press("Alt+W", "Down", "Return")
    box = next(b for b in person.form.findChildren(QComboBox) if b.accessibleName() == "It shows")
    assert box.currentData() == "mm_of_sag"
    assert "no formula from sag to N/cm" in person.form.trouble.text  # type: ignore[attr-defined]
    person.press("Alt+W", "Up", "Return")
    assert person.form is None
    assert [m.name for m in meters.meters(person.desk)] == ["Blue case", "Dial", "Red case"]


def test_units_do_not_matter_here(person: Person) -> None:
    """Tension is N/cm in every shop."""
    settings.change_settings(person.desk, length_unit="inch", count_unit="inch")
    person.press("Ctrl+8", "F3")
    form = place_of(person).overview.form
    assert form is not None
    assert form._units["shown"].text() == "N/cm"


def test_every_control_has_a_name_and_room_for_a_finger(person: Person) -> None:
    person.press("Ctrl+8")
    place = place_of(person)
    assert nameless(place) == []
    for key in ("F2", "F3", "F4", "F6", "F7"):
        person.press(key)
        assert nameless(place) == []
        person.press("Escape")
    person.press("F8")
    assert nameless(place) == []
    person.press("Escape")
    begin_gauge(person, "2", "Ana, Bo", "2")
    assert nameless(place) == []
