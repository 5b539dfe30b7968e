"""Proves that a scan works anywhere in the real window, and harms nothing where it lands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QPushButton,
    QTableView,
    QWidget,
)

from framekeeper.domain.codes import new_code
from framekeeper.domain.due import MeshRules
from framekeeper.domain.roll_marks import roll_mark
from framekeeper.services import meshes, meters, prep, register, stock, stretch, washout
from framekeeper.services.desk import Desk
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.prep_bench import PrepBench
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.places.tension_round import TensionRound
from framekeeper.ui.places.washout import Washout
from framekeeper.ui.widgets.due_list import DueList
from framekeeper.ui.widgets.rack_wall import RackWall
from tests.ui.person import Person
from tests.ui.person import person as person

USED, OTHER_USED, BARE, OTHER_BARE, PREPPED, OTHER_PREPPED, CLAMPED, OTHER_CLAMPED = (
    new_code(number) for number in range(1, 9)
)
MISREAD = "FK0010R"  # USED with two neighbours swapped


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    """Two frames each: in use, bare, prepped, and in the clamps."""

    def work(desk: Desk) -> None:
        rules = MeshRules(target=25, limit=18)
        facts = meshes.MeshTypeFacts("230 yellow", 230, "inch", 90.55, 48, "dyed", rules)
        meshes.add_mesh_type(desk, facts)
        stock.receive_roll(desk, stock.NewRoll("230 yellow", 1100, 50_000, lot="L-1"))
        meters.add_meter(desk, meters.MeterFacts("Blue case"))
        new = [register.NewFrame(584, 787, own_label=f"S{n}", slot=f"A{n}") for n in range(1, 9)]
        codes = list(register.register(desk, new).codes)
        assert codes[0] == USED
        prep.prep_all(desk, [*codes[:2], *codes[4:]])
        for pull in (codes[:2], codes[6:]):
            stretch.stretch(desk, pull, stretch.StretchRequest("230 yellow"))
        stretch.glue(desk, codes[:2], cure=dt.timedelta())
        stretch.release(desk, codes[:2])
        washout.image(desk, codes[:2], job="Harbour fair")

    return work


@dataclass
class Watch:
    """What fields hold, and every button and shortcut that fires."""

    window: QWidget
    fired: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.held = self._contents()
        for button in self.window.findChildren(QAbstractButton):
            button.clicked.connect(self._on_button)
        for action in self.window.findChildren(QAction):
            action.triggered.connect(self._on_action)

    def _on_button(self) -> None:
        self.fired.append(f"button {self.window.sender() or 'of the window'}")

    def _on_action(self) -> None:
        self.fired.append("action")

    def changed(self) -> dict[str, tuple[str, str]]:
        """Name the fields that hold something else than before."""
        now = self._contents()
        return {
            f"{type(widget).__name__} {widget.accessibleName()}": (text, now[widget])
            for widget, text in self.held.items()
            if widget in now and now[widget] != text
        }

    def _contents(self) -> dict[QWidget, str]:
        held: dict[QWidget, str] = {}
        for widget in self.window.findChildren(QWidget):
            if isinstance(widget, QLineEdit | QAbstractSpinBox):
                held[widget] = widget.text()
            elif isinstance(widget, QComboBox):
                held[widget] = widget.currentText()
            elif isinstance(widget, QAbstractButton) and widget.isCheckable():
                held[widget] = str(widget.isChecked())
        return held


def operations(person: Person) -> int:
    """How many operations the shop has seen."""
    with person.desk.read() as reader:
        return reader.last_operation_id()


@dataclass(frozen=True)
class Spot:
    """A place and a widget in it: the keys that lead there, and what has the focus then."""

    keys: tuple[str, ...]
    typed: str = ""
    kind: type[QWidget] | None = None
    name: str = ""
    has_popup: bool = False

    def go(self, person: Person) -> None:
        """Go there by keys, and leave something half typed."""
        person.press(*self.keys)
        person.type(self.typed)
        if self.kind is not None:
            assert isinstance(person.focus, self.kind), person.focus
        assert self.name in person.focus.accessibleName()
        assert (QApplication.activePopupWidget() is not None) == self.has_popup


OPENS_THE_FRAME = {
    "Today": Spot(("Ctrl+1",), kind=DueList),
    "Today, find field": Spot(("Ctrl+1", "Ctrl+F"), "S1", QLineEdit, "Find a frame"),
    "Rack, wall": Spot(("Ctrl+2",), kind=RackWall),
    "Rack, table": Spot(("Ctrl+2", "Ctrl+T"), kind=QTableView),
    "Rack, filter": Spot(("Ctrl+2", "F3"), "A", QLineEdit),
    "Rack, box": Spot(("Ctrl+2", "F3", "Tab"), kind=QComboBox, name="state"),
    "Rack, open box": Spot(("Ctrl+2", "F3", "Tab", "Alt+Down"), has_popup=True),
    "Rack, open menu": Spot(("Ctrl+2", "Home", "Ctrl+E", "Down"), has_popup=True),
    "Prep bench, table": Spot(("Ctrl+3",), kind=QTableView),
    "Prep bench, reason": Spot(("Ctrl+3", "F9"), "no time"),
    "Stretching table, list": Spot(("Ctrl+4",), kind=QTableView),
    "Mesh shelf, table": Spot(("Ctrl+7",), kind=QTableView),
    "Mesh shelf, form": Spot(("Ctrl+7", "F2", "Tab"), "11", QLineEdit, "Width"),
    "Meters, table": Spot(("Ctrl+8",), kind=QTableView),
    "Meters, form": Spot(("Ctrl+8", "F3"), "21", QLineEdit, "It shows"),
    "Map": Spot(("Ctrl+2", "Ctrl+F", "Tab"), kind=QPushButton),
}


@pytest.mark.parametrize("spot", OPENS_THE_FRAME.values(), ids=OPENS_THE_FRAME)
def test_a_scan_opens_the_frame_and_leaves_everything_as_it_was(person: Person, spot: Spot) -> None:
    """Fields, lists and boxes keep what they hold; no button, no shortcut, no entry is made."""
    spot.go(person)
    before, watch = operations(person), Watch(person.window)
    person.scan(USED)
    assert person.frame_shown == USED
    assert QApplication.activePopupWidget() is None
    assert watch.changed() == {}
    assert watch.fired == []
    assert operations(person) == before
    assert person.refused == []


# places that use a scan


def test_the_prep_bench_chooses_the_frame(person: Person) -> None:
    """The frame is chosen and nothing is recorded, whatever was half typed."""
    person.press("Ctrl+3")
    place = person.window.current
    assert isinstance(place, PrepBench)
    for keys, typed in (((), ""), (("F9",), "no time"), (("F10",), "1,")):
        place.table.choose([OTHER_BARE])
        person.press(*keys)
        person.type(typed)
        before, watch = operations(person), Watch(person.window)
        person.scan(BARE)
        assert person.window.current is place
        assert place.codes() == [BARE]
        assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)


def at_the_table(person: Person) -> StretchingTable:
    person.press("Ctrl+4")
    place = person.window.current
    assert isinstance(place, StretchingTable)
    return place


def test_a_scan_adds_a_frame_to_the_pull_and_keeps_what_was_typed(person: Person) -> None:
    """Target, piece and note that were typed for the pull stay when one more frame joins it."""
    place = at_the_table(person)
    person.scan(PREPPED)
    assert place.lists.chosen().codes == [PREPPED]
    person.fill(T="22,5", A="95 cm", N="3 and 4 clamps")
    before, watch = operations(person), Watch(person.window)
    person.scan(OTHER_PREPPED)
    assert place.lists.chosen().codes == [PREPPED, OTHER_PREPPED]
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    person.press("Return")
    assert [person.state(code) for code in (PREPPED, OTHER_PREPPED)] == ["in_clamps"] * 2
    with person.desk.read() as reader:
        frame = reader.frame_by_code(OTHER_PREPPED)
    assert frame is not None
    assert frame.state.life is not None
    assert frame.state.life.target_n_per_cm == 22.5


def test_a_stage_that_is_half_typed_takes_in_a_scanned_frame(person: Person) -> None:
    """The form stays open with its number, now for both frames."""
    place = at_the_table(person)
    person.scan(CLAMPED)
    person.press("F3")
    person.type("22")
    before, watch = operations(person), Watch(person.window)
    person.scan(OTHER_CLAMPED)
    assert place.lists.chosen().codes == [CLAMPED, OTHER_CLAMPED]
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    person.type(",5")
    person.press("Return")
    assert [person.kinds(code)[-1] for code in (CLAMPED, OTHER_CLAMPED)] == ["staged"] * 2


def test_a_scan_in_the_drawing_loses_no_number_before_glue(person: Person) -> None:
    """The same frame: the survey goes on. Another: what was read is offered when one comes back."""
    place = at_the_table(person)
    person.scan(CLAMPED)
    person.press("F4")
    person.type("25")
    person.press("Return")
    person.type("24,")
    number = person.focus
    before, watch = operations(person), Watch(person.window)
    person.scan(CLAMPED)
    assert person.focus is number
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    person.scan(OTHER_CLAMPED)
    assert not place.work.survey.isVisible()
    person.press("Up")
    assert place.lists.chosen().codes == [CLAMPED]
    person.press("F4")
    assert place.work.survey.entry.readings()[0] == 25


def on_the_round(person: Person) -> TensionRound:
    person.press("Ctrl+5")
    place = person.window.current
    assert isinstance(place, TensionRound)
    return place


def test_the_round_opens_the_scanned_screen_and_keeps_the_half_typed_code(person: Person) -> None:
    """From the code field and from a box: the number field is next, and nothing is recorded."""
    place = on_the_round(person)
    person.type("S")
    for keys, code in (((), USED), (("Alt+O",), OTHER_USED)):
        person.press(*keys)
        before, watch = operations(person), Watch(person.window)
        person.scan(code)
        assert place.panel.page is not None
        assert place.panel.page.frame.code == code
        assert person.focus.objectName() == "reading"
        assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    assert place.code.text() == "S"


def test_a_scan_in_the_drawing_of_the_round_loses_no_number(person: Person) -> None:
    """The same screen again changes nothing; another one keeps the first half typed."""
    place = on_the_round(person)
    person.scan(USED)
    person.type("24")
    person.press("Return")
    person.type("23,")
    before, watch = operations(person), Watch(person.window)
    person.scan(USED)
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    assert person.focus.objectName() == "reading"
    person.scan(OTHER_USED)
    person.scan(USED)
    assert place.panel.readings()[:2] == (24, None)
    assert operations(person) == before


def test_the_washout_records_the_scan_and_nothing_else(person: Person) -> None:
    """One reclaim for one scan, and the half-typed code of another screen stays."""
    person.press("Ctrl+6")
    assert isinstance(person.window.current, Washout)
    person.type("S")
    before, watch = operations(person), Watch(person.window)
    person.scan(USED)
    assert person.kinds(USED)[-1] == "reclaimed"
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before + 1)


# the frame's page


@pytest.mark.parametrize("case", [str.upper, str.lower], ids=["capitals", "small"])
def test_codes_on_a_frames_page_press_none_of_its_letters(
    person: Person, case: Callable[[str], str]
) -> None:
    """The last characters of these codes are keys of the page: R, P, N, L, H, D."""
    person.scan(USED)
    for number in range(1, 9):
        before, watch = operations(person), Watch(person.window)
        person.scan(case(new_code(number)))
        assert person.frame_shown == new_code(number)
        assert person.form is None
        assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)


def test_a_survey_on_a_frames_page_is_kept_over_a_scan(person: Person) -> None:
    """Another frame's page opens; the numbers are offered when the first one comes back."""
    person.scan(USED)
    person.press("S")
    person.type("24")
    person.press("Return")
    person.type("23,")
    before, watch = operations(person), Watch(person.window)
    person.scan(USED)
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    assert person.focus.objectName() == "reading"
    person.scan(OTHER_USED)
    assert person.frame_shown == OTHER_USED
    person.scan(USED)
    person.press("S")
    place = person.window.current
    assert isinstance(place, FramePagePlace)
    assert place.survey.panel.readings()[:2] == (24, None)
    assert operations(person) == before


# open forms

FORMS = {
    "register, label": Spot(("Ctrl+2", "Ctrl+N", "Alt+L"), "B-", QLineEdit),
    "register, count": Spot(("Ctrl+2", "Ctrl+N"), "3", QAbstractSpinBox),
    "register, size": Spot(("Ctrl+2", "Ctrl+N", "Alt+O", "Ctrl+A"), "600 x", QComboBox),
    "hold": Spot(("Ctrl+2", "Home", "Ctrl+H"), "bent", QLineEdit),
    "import": Spot(("Ctrl+2", "Ctrl+I")),
    "mesh, name": Spot(("Ctrl+7", "Ctrl+N"), "90-48", QLineEdit),
    "mesh, all of the name": Spot(("Ctrl+7", "Ctrl+N", "9", "0", "Ctrl+A"), kind=QLineEdit),
    "labels": Spot(("Ctrl+2", "Home", "Ctrl+L")),
    "labels, shift": Spot(("Ctrl+2", "Home", "Ctrl+L", "Alt+R"), "1,", QLineEdit),
    "damage": Spot(("Ctrl+2", "Home", "Return", "D"), kind=QLineEdit),
    "damage, kind": Spot(("Ctrl+2", "Home", "Return", "D", "0", "Alt+D"), kind=QComboBox),
    "impressions": Spot(("Ctrl+2", "Home", "Return", "N"), "24", QLineEdit),
    "findings at the washout": Spot(("Ctrl+6", "S", "2", "Return", "F6"), "gh", QLineEdit),
}


@pytest.mark.parametrize("spot", FORMS.values(), ids=FORMS)
def test_a_scan_under_an_open_form_waits_for_the_form(person: Person, spot: Spot) -> None:
    """The page behind stays, the form stays as it is, and the message line says what to do."""
    spot.go(person)
    form, place, page = person.form, person.window.current, person.frame_shown
    assert form is not None
    before, watch, behind = operations(person), Watch(form), Watch(person.window)
    person.scan(OTHER_USED)
    assert person.form is form
    assert person.window.current is place
    assert person.frame_shown == page
    assert (watch.changed(), watch.fired) == ({}, [])
    assert (behind.changed(), behind.fired, operations(person)) == ({}, [], before)
    assert OTHER_USED in person.message
    assert "Finish the form" in person.message
    person.press("Esc", "Esc")
    assert person.form is None
    person.scan(OTHER_USED)
    if not isinstance(place, Washout):
        assert person.frame_shown == OTHER_USED


# misreads

MISREADS = {
    **{name: OPENS_THE_FRAME[name] for name in ("Today", "Rack, filter", "Rack, box")},
    "Prep bench, table": Spot(("Ctrl+3",), kind=QTableView),
    "Round, code": Spot(("Ctrl+5",), "S", QLineEdit),
    "Washout, code": Spot(("Ctrl+6",), "S", QLineEdit),
    "register, label": FORMS["register, label"],
    "damage": FORMS["damage"],
}


@pytest.mark.parametrize("spot", MISREADS.values(), ids=MISREADS)
def test_a_misread_changes_nothing_and_says_so(person: Person, spot: Spot) -> None:
    """A wrong check character opens nothing, records nothing and stays in no field."""
    spot.go(person)
    form, place, page = person.form, person.window.current, person.frame_shown
    before, watch = operations(person), Watch(person.window)
    person.scan(MISREAD)
    assert (person.form, person.window.current, person.frame_shown) == (form, place, page)
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    assert MISREAD in person.message
    assert "wrong check character" in person.message


def test_a_survey_survives_a_misread(person: Person) -> None:
    """The half-typed number is still there, and the survey goes on with it."""
    person.press("Ctrl+5")
    person.scan(USED)
    person.type("23,")
    before, watch = operations(person), Watch(person.window)
    person.scan(MISREAD)
    assert (watch.changed(), watch.fired, operations(person)) == ({}, [], before)
    assert isinstance(person.focus, QLineEdit)
    assert person.focus.text() == "23,"


ROLL_MARK = roll_mark(1)  # of R0001


def test_the_label_of_a_roll_opens_it_from_anywhere(person: Person) -> None:
    """From a text field of another place, which holds what it held; a misread is told."""
    person.press("Ctrl+F")
    person.type("S1")
    before = operations(person)
    person.scan(ROLL_MARK)
    shelf = person.window.current
    assert isinstance(shelf, MeshShelf)
    person.until(lambda: shelf.roll_page.page is not None)
    assert shelf.roll_page.page is not None
    assert shelf.roll_page.page.roll.code == "R0001"
    assert person.window._find.text() == "S1"
    assert operations(person) == before
    person.scan("FR000196")
    assert "wrong check character" in person.message


def test_rolls_are_counted_by_scanning_alone(person: Person) -> None:
    """F8, scan, length, Enter; the next scan does not land in a field."""
    person.press("Ctrl+7", "F8")
    person.scan(ROLL_MARK)
    person.type("49,5")
    person.scan(ROLL_MARK)
    assert field_text(person.focus) == "49,5"
    person.press("Return")
    with person.desk.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 49_500
    person.press("Ctrl+Z")
    with person.desk.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 50_000


def field_text(widget: QWidget) -> str:
    """What the focused field holds."""
    assert isinstance(widget, QLineEdit)
    return widget.text()
