"""Proves that on a round no key is lost or misplaced while the shop is being read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from framekeeper.domain.due import MeshRules
from framekeeper.services import meshes, meters, register
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from framekeeper.ui.places.tension_round import TensionRound
from tests.ui.person import Person
from tests.ui.person import person as person


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    """One screen in service with a limit of 18, and two meters sure to half a newton."""

    def furnished(desk: Desk) -> None:
        rules = MeshRules(target=25, limit=18)
        meshes.add_mesh_type(desk, meshes.MeshTypeFacts("230 yellow", rules=rules))
        for name in ("Blue case", "Red case"):
            meters.add_meter(desk, meters.MeterFacts(name))
        register.register(
            desk,
            [register.NewFrame(584, 787, own_label="S1", slot="A1")],
            found=register.FoundMesh("230 yellow"),
            when=When(desk.clock.now() - dt.timedelta(days=9)),
        )

    return furnished


def test_a_digit_typed_right_after_read_again_is_the_first_number(person: Person) -> None:
    """F2 and a digit without a pause between them: the digit stands in the number field."""
    person.press("Ctrl+5")
    place = person.window.current
    assert isinstance(place, TensionRound)
    place.panel.choose_meter("Blue case")
    person.press("Return")
    for _ in range(10):
        person.type("18.2")
        person.press("Return")
    person.until(lambda: place.verdict.other_meter == "Red case")
    QTest.keyClick(person.focus, Qt.Key.Key_F2)
    QTest.keyClick(person.focus, "2")
    QTest.keyClick(person.focus, "1")
    person.settle()
    assert place.code.text() == ""
    assert place.panel.entry._field.text() == "21"
    assert place.panel.meter == "Red case"


@pytest.mark.parametrize("code", ["", "S1"])
def test_a_digit_typed_right_after_a_code_is_the_first_number(person: Person, code: str) -> None:
    """The next screen by Enter alone, or by its label: the first number waits for its field."""
    person.press("Ctrl+5")
    place = person.window.current
    assert isinstance(place, TensionRound)
    person.type(code)
    for key in (Qt.Key.Key_Return, Qt.Key.Key_2, Qt.Key.Key_1, Qt.Key.Key_Return, Qt.Key.Key_3):
        QTest.keyClick(person.focus, key)
    person.settle()
    assert place.code.text() == ""
    assert place.panel.readings()[:2] == (21.0, None)
    assert place.panel.entry._field.text() == "3"


def test_what_is_typed_after_an_unknown_code_mends_it(person: Person) -> None:
    """The field takes what was typed in place of the code that nobody answers to."""
    person.press("Ctrl+5")
    place = person.window.current
    assert isinstance(place, TensionRound)
    person.type("S9")
    QTest.keyClick(person.focus, Qt.Key.Key_Return)
    QTest.keyClick(person.focus, "S")
    QTest.keyClick(person.focus, "1")
    person.settle()
    assert place.code.text().lower() == "s1"
    assert "S9" in place.trouble.text


def test_two_scans_in_a_row_leave_no_letter_behind(person: Person) -> None:
    """The second comes before the first was answered: the screen is open, its numbers empty."""
    person.press("Ctrl+5")
    place = person.window.current
    assert isinstance(place, TensionRound)
    (stop,) = place.progress.stops
    for _ in range(2):
        for letter in stop.frame.code:
            person._letter(letter, 8)
        person._letter("\r", 8)
    person.settle()
    assert place.panel.page is not None
    assert place.code.text() == ""
    assert place.panel.entry._field.text() == ""
