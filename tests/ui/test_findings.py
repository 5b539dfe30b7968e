"""Findings in the real window, and the mesh form that says what thresholds do before they hold."""

from __future__ import annotations

import datetime as dt
from threading import Event

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from framekeeper.domain.due import MeshRules
from framekeeper.services import check, forecasts, meshes, prep, register, rule_effect, stretch
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.rule_effect import Effect, Ground
from framekeeper.ui.dialogs import reading_rules
from framekeeper.ui.dialogs.mesh_type import MeshTypeForm
from framekeeper.ui.places.findings import Findings
from tests.fakes import FakeClock
from tests.ui.bench_shop import nameless
from tests.ui.person import Person
from tests.ui.person import furnish as furnish
from tests.ui.person import person as person

MESH = "230 yellow"
FELL = 0  # the screen that lets go at the last visit


def read(desk: Desk, code: str, tension: float) -> None:
    check.survey(desk, code, SurveyRequest((tension,) * 5, (tension,) * 5))


def screens(desk: Desk, clock: FakeClock, count: int = 6) -> list[str]:
    """Screens that were read at five visits; at the last one of them has let go."""
    rules = MeshRules(target=25, limit=18, days_between_readings=14)
    facts = meshes.MeshTypeFacts(MESH, 230, "inch", 90.55, 48, "dyed", rules)
    meshes.add_mesh_type(desk, facts)
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts("110 white", 110, "inch", 43.3, 80, "white"))
    codes = list(register.register(desk, [register.NewFrame(584, 787)] * count).codes)
    prep.prep_all(desk, codes)
    stretch.stretch(desk, codes, stretch.StretchRequest(MESH))
    stretch.glue(desk, codes, cure=dt.timedelta(0))
    stretch.release(desk, codes)
    for wait, tension in ((0, 24.6), (1, 23.9), (6, 23.2), (14, 22.8)):
        clock.go_on(days=wait)
        for place, code in enumerate(codes):
            read(desk, code, round(tension + 0.1 * place, 2))
    clock.go_on(days=7)
    for place, code in enumerate(codes):
        read(desk, code, 17.4 if place == FELL else round(22.6 + 0.1 * place, 2))
    return codes


@pytest.fixture
def codes(person: Person) -> list[str]:
    """A shop whose readings were fitted, and the person is looking at what was found."""
    made = screens(person.desk, person.clock)
    forecasts.refresh(person.desk)
    person.press("Ctrl+9")
    person.until(lambda: bool(place(person).meshes.rows))
    return made


def place(person: Person) -> Findings:
    found = person.window.current
    assert isinstance(found, Findings)
    return found


def purpose(person: Person) -> str:
    return " ".join(label.text() for label in place(person).findChildren(QLabel))


def form(person: Person) -> MeshTypeForm:
    assert isinstance(person.form, MeshTypeForm)
    return person.form


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The form works out what was typed without waiting for more keys."""
    monkeypatch.setattr(reading_rules, "WAIT_MS", 0)


# the place


def test_a_new_shop_is_told_the_trades_figures(person: Person) -> None:
    """With their sources, and that they stand only until own readings come; F2 begins to read."""
    person.press("Ctrl+9")
    said = " ".join(place(person).trade.said)
    assert "The trade’s figures until then" in said
    assert "4.0 % ± 4.0" in said
    assert "Pushing the Limit" in said
    assert "our proposal, no source" in said
    assert "Nothing has been fitted yet" in purpose(person)
    person.press("F5")
    assert "no reading yet" in person.message
    person.press("F2")
    assert person.window.current is person.window.place("round")


def test_each_mesh_tells_its_usual_way_and_what_it_rests_on(
    person: Person, codes: list[str]
) -> None:
    (mesh,) = place(person).meshes.rows
    assert (mesh.mesh.name, mesh.stretches, mesh.readings) == (MESH, 6, 30)
    model = place(person).meshes.model()
    heads = [model.headerData(c, Qt.Orientation.Horizontal) for c in range(model.columnCount())]
    shown = dict(zip(heads, (model.index(0, c).data() for c in range(len(heads))), strict=True))
    assert shown["Day 30"] == f"{mesh.days[3].tension:.1f}"
    assert shown["Stretches"] == "6"
    words = place(person).words.text()
    assert f"{100 * mesh.own_share:.0f} % of what is known" in words
    assert "The first night costs" in words
    assert "on 30 readings of 6 stretches; nothing newer has been read." in purpose(person)
    assert "No reading yet of 110 white" in purpose(person)


def test_arrow_keys_tell_the_numbers_of_each_day(person: Person, codes: list[str]) -> None:
    """In words below the chart, for whoever cannot see it too."""
    chart = place(person).chart
    (mesh,) = place(person).meshes.rows
    chart.setFocus()
    assert "Band: eight of ten screens" in chart.told
    person.press("Right")
    assert chart.told.startswith("Day 0: usually ")
    person.press("Right", "Right", "Right")
    assert chart.told.startswith(f"Day 30: usually {mesh.days[3].tension:.1f} N/cm")
    assert chart.accessibleDescription() == chart.told
    person.press(*["Left"] * 9)
    assert chart.told.startswith("Day 0")


def test_who_stands_out_is_named_and_enter_opens_the_frame(
    person: Person, codes: list[str]
) -> None:
    (odd,) = place(person).odd.rows
    assert (odd.frame.code, odd.kind) == (codes[FELL], "drop")
    place(person).odd.setFocus()
    person.press("Space")
    person.until(lambda: person.frame_shown == codes[FELL])
    person.press("Esc")
    assert f"{codes[FELL]}, {MESH}: fell suddenly by" in purpose(person)


def test_what_is_newer_than_the_fit_is_told_and_f5_takes_it_in(
    person: Person, codes: list[str]
) -> None:
    person.bench.change(lambda desk: check.survey(desk, codes[1], SurveyRequest((22.6,), (22.6,))))
    person.until(lambda: "not in it: 1." in purpose(person))
    assert "on 30 readings" in purpose(person)
    person.clock.go_on(minutes=5)
    person.press("F5")
    person.until(lambda: "on 31 readings of 6 stretches; nothing newer" in purpose(person))
    assert "fitted anew" in person.message
    person.press("F5")  # the clock stands still: what is kept is as new
    assert "fitted it meanwhile" in person.message


def test_everything_has_a_name_and_can_be_reached(person: Person, codes: list[str]) -> None:
    assert nameless(place(person)) == []
    reached = set()
    for _ in range(12):
        reached.add(person.focus)
        person.press("Tab")
    assert {place(person).meshes, place(person).odd, place(person).chart} <= reached


# the form


def test_the_effect_is_shown_before_anything_is_saved(
    person: Person, codes: list[str], at_once: None
) -> None:
    """Typed and not saved: the line says what it would do, the shop is as it was."""
    place(person).meshes.setFocus()
    person.press("Ctrl+E")
    effect = form(person).effect
    assert effect is not None
    person.until(lambda: effect.now.text().startswith("Now: about "))
    assert effect.then.text() == "Change a threshold to see what it would do."
    assert "An estimate" in effect.note.text()
    before = effect.now.text()
    person.fill(G="5")
    person.until(lambda: effect.then.text().startswith("With this: about 30 readings"))
    assert effect.now.text() == before
    person.fill(L="22.9")
    person.until(lambda: "at once under this limit" in effect.note.text())
    with person.desk.read() as reader:
        assert meshes.find_mesh_type(reader, MESH).rules.longest_wait_days == 42
    person.press("Esc", "Esc")
    assert person.form is None


def test_what_makes_no_sense_is_told_while_it_is_typed(
    person: Person, codes: list[str], at_once: None
) -> None:
    place(person).meshes.setFocus()
    person.press("Ctrl+E")
    effect = form(person).effect
    assert effect is not None
    person.fill(E="80")
    person.until(lambda: "A risk of 80 %" in effect.then.text())
    person.fill(E="x")
    person.until(lambda: "not a number" in effect.then.text())
    person.press("Return")
    assert "not a number" in form(person).trouble.text
    assert person.focus is form(person).reading.risk
    person.fill(E="2,5", D="21")
    person.until(lambda: effect.then.text().startswith("With this: about "))
    person.press("Return")
    person.until(lambda: person.form is None)
    with person.desk.read() as reader:
        rules = meshes.find_mesh_type(reader, MESH).rules
    assert (rules.risk, rules.longest_wait_days, rules.days_between_readings) == (0.025, 42, 21)


def test_an_empty_risk_reads_by_the_fixed_interval(
    person: Person, codes: list[str], at_once: None
) -> None:
    """Five screens in order every 14 days; the one that fell is read again first."""
    place(person).meshes.setFocus()
    person.press("Ctrl+E")
    effect = form(person).effect
    assert effect is not None
    form(person).reading.risk.clear()
    person.until(lambda: effect.then.text().startswith("With this: about 11 readings"))
    person.press("Return")
    person.until(lambda: person.form is None)
    with person.desk.read() as reader:
        assert meshes.find_mesh_type(reader, MESH).rules.risk is None


def test_only_the_last_of_quick_changes_is_shown(
    person: Person, codes: list[str], at_once: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer to what was typed before is dropped, though its work was under way."""
    place(person).meshes.setFocus()
    person.press("Ctrl+E")
    effect = form(person).effect
    assert effect is not None
    person.until(lambda: effect.now.text().startswith("Now: about "))
    begun, go_on, real = Event(), Event(), rule_effect.effect_on
    told: list[str] = []

    def slow(ground: Ground, rules: MeshRules) -> Effect:
        if rules.longest_wait_days == 1:
            begun.set()
            go_on.wait(10)
        return real(ground, rules)

    monkeypatch.setattr(rule_effect, "effect_on", slow)
    effect.told.connect(lambda: told.append(effect.then.text()))
    form(person).reading.longest.setText("1")
    person.until(begun.is_set)
    form(person).reading.longest.setText("5")
    person.qtbot.wait(50)  # the second change is asked for while the first is at work
    go_on.set()
    person.until(lambda: bool(told))
    person.settle()
    assert len(told) == 1
    assert told[0].startswith("With this: about 30 readings")


def test_a_mesh_on_no_screen_has_no_effect_to_show(person: Person, codes: list[str]) -> None:
    with person.desk.read() as reader:
        mesh = meshes.find_mesh_type(reader, "110 white")
    MeshTypeForm(person.bench, mesh, place(person)).open()
    effect = form(person).effect
    assert effect is not None
    person.until(lambda: "No screen in service" in effect.now.text())
    assert form(person).height() <= 740
    person.press("Esc")


def test_a_form_that_is_left_at_once_leaves_nothing_behind(
    person: Person, codes: list[str]
) -> None:
    """The answer comes home to nobody."""
    place(person).meshes.setFocus()
    person.press("Ctrl+E")
    form(person).reading.longest.setText("7")
    person.press("Esc", "Esc")
    assert person.form is None
    assert person.refused == []
