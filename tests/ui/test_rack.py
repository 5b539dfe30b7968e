"""Proves the Rack: every frame found by a word, chosen by the dozen, and acted on by key."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QDialog, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.domain.natural_order import natural
from framekeeper.services import check, marks, register, washout
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.storage.shop import Shop
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.reason import ReasonForm
from framekeeper.ui.places.rack import Rack
from framekeeper.ui.places.rack_actions import rack_actions
from framekeeper.ui.window import Window
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, put_away, stocked_desk

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> tuple[Desk, list[str]]:
    """Twelve screens S1 ... S12 in slots A1 ... A12, of which three were read."""
    desk, codes = stocked_desk(sqlite_place, clock, screens=12)
    for code, tension in zip(codes, (24.0, 17.0, 21.0), strict=False):
        check.survey(desk, code, check.SurveyRequest((tension,), (tension,)))
        clock.go_on(days=2)
    return desk, codes


@pytest.fixture
def bench(
    qapp: QApplication, stocked: tuple[Desk, list[str]], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def rack(bench: Bench, qtbot: QtBot) -> Rack:
    return come_in(bench, qtbot)


def come_in(bench: Bench, qtbot: QtBot) -> Rack:
    place = Rack(bench)
    qtbot.addWidget(place)
    place.resize(1072, 760)
    with qtbot.waitExposed(place):
        place.show()
    place.activateWindow()
    qtbot.waitUntil(place.isActiveWindow)
    place.enter()
    return place


def labels(rack: Rack) -> list[str]:
    return [tile.own_label for tile in rack.wall.tiles]


def choose(rack: Rack, codes: list[str]) -> None:
    ids = [row.frame.id for row in rack.model.rows if row.frame.code in codes]
    rack.wall.go_to(ids[0])
    rack.wall.select(ids)


def open_form(rack: Rack) -> FormDialog:
    forms = [form for form in rack.findChildren(FormDialog) if form.isVisible()]
    assert len(forms) == 1
    return forms[0]


def state(desk: Desk, code: str) -> str:
    with desk.read() as reader:
        return find_frame(reader, code).state.at(desk.clock.now()).state


def key(rack: Rack, text: str) -> None:
    """Press a shortcut where the focus is."""
    sequence = QKeySequence(text)[0]  # type: ignore[index]
    QTest.keyClick(rack.focusWidget() or rack, sequence.key(), sequence.keyboardModifiers())
    let_go(rack)


def let_go(widget: QWidget) -> None:
    """A button that is pressed by its key stays down for a moment before it acts."""
    while any(button.isDown() for button in widget.findChildren(QAbstractButton)):
        QTest.qWait(5)


def test_every_frame_stands_on_the_wall_in_the_order_of_slots(rack: Rack) -> None:
    """A10 comes after A9: people count, they do not spell."""
    assert labels(rack) == [f"S{n}" for n in range(1, 13)]
    assert rack.wall.tiles[1].tension_n_per_cm == pytest.approx(17.0)
    assert rack.wall.tiles[1].mark == "below"


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("s1", ["S1", "S10", "S11", "S12"]),
        ("a7", ["S7"]),
        ("230 YELLOW a2", ["S2"]),
        ("nowhere", []),
    ],
)
def test_the_list_narrows_while_words_are_typed(rack: Rack, words: str, found: list[str]) -> None:
    """Code, label, slot and mesh are searched; every word must be there."""
    key(rack, "F3")
    QTest.keyClicks(rack.filters.words, words)
    assert labels(rack) == found
    assert [row.frame.own_label for row in rack.model.rows] == found


def test_enter_in_the_filter_goes_to_what_was_found(rack: Rack) -> None:
    """The way from a word to a frame's page is Enter, an arrow and Enter."""
    rack.filters.words.setFocus()
    QTest.keyClicks(rack.filters.words, "S7")
    QTest.keyClick(rack.filters.words, Qt.Key.Key_Return)
    assert rack.wall.hasFocus()


def test_filters_by_state_mesh_and_answer(rack: Rack, stocked: tuple[Desk, list[str]]) -> None:
    """Each narrows the list, and the way back is one press."""
    desk, codes = stocked
    washout.queue(desk, codes[4:6])
    rack.refresh()
    filters = rack.filters
    filters.state.setCurrentIndex(filters.state.findData("to_reclaim"))
    assert labels(rack) == ["S5", "S6"]
    rack.clear_filters()
    filters.mark.setCurrentIndex(filters.mark.findData("below"))
    assert labels(rack) == ["S2"]
    rack.clear_filters()
    filters.mesh.setCurrentIndex(filters.mesh.findData("230 yellow"))
    assert len(labels(rack)) == 12


def test_retired_frames_are_seen_only_when_asked_for(
    rack: Rack, stocked: tuple[Desk, list[str]]
) -> None:
    """A retired frame leaves the wall, and is still to be found."""
    desk, codes = stocked
    marks.retire(desk, codes[:1], "bent bar")
    rack.refresh()
    assert "S1" not in labels(rack)
    rack.filters.state.setCurrentIndex(rack.filters.state.findData("retired"))
    assert labels(rack) == ["S1"]


def test_slackest_first_and_longest_unread_first(rack: Rack) -> None:
    """What is not known comes last, in both orders."""
    sort = rack.filters.sort
    sort.setCurrentIndex(sort.findData("tension"))
    assert labels(rack)[:4] == ["S2", "S3", "S1", "S4"]
    sort.setCurrentIndex(sort.findData("days"))
    assert labels(rack)[:4] == ["S1", "S2", "S3", "S4"]


def test_choice_and_scroll_survive_a_change_by_others(
    rack: Rack, stocked: tuple[Desk, list[str]], qtbot: QtBot
) -> None:
    """A refresh behind the person's back moves nothing."""
    desk, codes = stocked
    rack.resize(rack.minimumSizeHint())
    qtbot.waitUntil(lambda: rack.wall.verticalScrollBar().maximum() > 0)
    choose(rack, codes[9:12])
    scrolled = rack.wall.verticalScrollBar().value()
    assert scrolled > 0
    marks.hold(desk, codes[:1], "waits for a look")
    rack.refresh()
    assert [row.frame.code for row in rack.chosen()] == codes[9:12]
    assert rack.wall.verticalScrollBar().value() == scrolled
    assert rack.wall.tiles[0].is_held


def test_the_choice_goes_along_from_wall_to_table_and_back(
    rack: Rack, stocked: tuple[Desk, list[str]]
) -> None:
    """Ctrl+T changes the view, twice, with the same frames chosen."""
    _, codes = stocked
    choose(rack, codes[2:5])
    for view in (rack.table, rack.wall):
        key(rack, "Ctrl+T")
        assert view.isVisible()
        assert view.hasFocus()
        assert [row.frame.code for row in rack.chosen()] == codes[2:5]
    assert len(rack.wall.selected_ids()) == 3


def test_enter_opens_the_frame_from_wall_and_table(
    rack: Rack, bench: Bench, stocked: tuple[Desk, list[str]]
) -> None:
    """The page that opens is that of the frame with the focus."""
    wanted: list[str] = []
    bench.frame_wanted.connect(wanted.append)
    choose(rack, stocked[1][3:4])
    key(rack, "Return")
    key(rack, "Ctrl+T")
    key(rack, "Return")
    assert wanted == [stocked[1][3]] * 2


@pytest.mark.parametrize(("shortcut", "becomes"), [("Ctrl+W", "to_reclaim"), ("Ctrl+M", "missing")])
def test_what_needs_no_word_is_done_by_one_key(
    rack: Rack, stocked: tuple[Desk, list[str]], shortcut: str, becomes: str
) -> None:
    """The key acts on all that are chosen, and on nothing else."""
    desk, codes = stocked
    choose(rack, codes[:3])
    key(rack, shortcut)
    assert [state(desk, code) for code in codes[:4]] == [becomes] * 3 + ["ready"]


@pytest.mark.parametrize(
    ("shortcut", "becomes"),
    [
        ("Ctrl+U", "pulled"),
        ("Ctrl+O", "out"),
        ("Ctrl+Del", "retired"),
    ],
)
def test_what_needs_a_word_asks_for_it_first(
    rack: Rack, stocked: tuple[Desk, list[str]], shortcut: str, becomes: str
) -> None:
    """Nothing happens until it is given; then Enter does it for every chosen frame."""
    desk, codes = stocked
    choose(rack, codes[:2])
    key(rack, shortcut)
    form = open_form(rack)
    assert isinstance(form, ReasonForm)
    QTest.keyClick(form.text, Qt.Key.Key_Return)
    assert form.trouble.text
    assert state(desk, codes[0]) == "ready"
    QTest.keyClicks(form.text, "Nordhang workshop")
    QTest.keyClick(form.text, Qt.Key.Key_Return)
    assert not form.isVisible()
    assert [state(desk, code) for code in codes[:3]] == [becomes] * 2 + ["ready"]


def test_hold_and_reservation_come_and_go_by_key(
    rack: Rack, stocked: tuple[Desk, list[str]], qtbot: QtBot
) -> None:
    """Each mark is set with its words and taken away with one key."""
    choose(rack, stocked[1][:2])
    for set_by, words, end_by in (
        ("Ctrl+H", "rocks on the glass", "Ctrl+Shift+H"),
        ("Ctrl+R", "spring shirts", "Ctrl+Shift+R"),
    ):
        key(rack, set_by)
        form = open_form(rack)
        assert isinstance(form, ReasonForm)
        form.text.setText(words)
        form.confirm()
        rack.activateWindow()  # a desktop does this by itself, the offscreen platform does not
        qtbot.waitUntil(rack.isActiveWindow)
        row = rack.chosen()[0]
        assert words in (row.state.hold_reason, row.state.reserved_job)
        key(rack, end_by)
        assert rack.chosen()[0].state.hold_reason is None
        assert rack.chosen()[0].state.reserved_job is None


def test_out_and_back_missing_and_found(rack: Rack, stocked: tuple[Desk, list[str]]) -> None:
    """What went comes back by key; the actions that cannot be are not offered."""
    desk, codes = stocked
    marks.send_out(desk, codes[:1], "Nordhang workshop")
    marks.missing(desk, codes[1:2])
    rack.refresh()
    choose(rack, codes[:1])
    key(rack, "Ctrl+Shift+M")
    assert state(desk, codes[0]) == "out", "it is not missing, so the key does nothing"
    key(rack, "Ctrl+Shift+O")
    open_form(rack).confirm()
    assert state(desk, codes[0]) == "ready"
    choose(rack, codes[1:2])
    key(rack, "Ctrl+Shift+M")
    assert state(desk, codes[1]) == "ready"


def test_a_refusal_names_the_frame_and_changes_none(
    rack: Rack, bench: Bench, stocked: tuple[Desk, list[str]]
) -> None:
    """Of several frames either all are queued or none."""
    desk, codes = stocked
    marks.missing(desk, codes[1:2])
    rack.refresh()
    refused: list[str] = []
    bench.refused.connect(refused.append)
    choose(rack, codes[:2])
    key(rack, "Ctrl+W")
    assert len(refused) == 1
    assert "S2" in refused[0]
    assert state(desk, codes[0]) == "ready"


def test_quick_reasons_are_one_key_away(
    rack: Rack, stocked: tuple[Desk, list[str]], qtbot: QtBot
) -> None:
    """Alt and a number fill in a usual reason, which may still be changed."""
    choose(rack, stocked[1][:1])
    key(rack, "Ctrl+H")
    form = open_form(rack)
    assert isinstance(form, ReasonForm)
    form.activateWindow()
    qtbot.waitUntil(form.isActiveWindow)
    QTest.keyClick(form.text, Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    let_go(form)
    assert form.text.text() == "waits for a look"
    assert form.text.hasFocus()
    form.confirm()
    assert rack.chosen()[0].state.hold_reason == "waits for a look"


def test_an_empty_rack_says_what_to_do_first(
    qapp: QApplication,
    sqlite_place: str,
    clock: FakeClock,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Register or import; and the first frame brings the wall."""
    desk = Desk(Shop.open(sqlite_place), clock, "Maren")
    bench = inline_bench(qapp, desk, monkeypatch)
    rack = come_in(bench, qtbot)
    assert not rack.wall.isVisible()
    assert not rack.filters.isVisible()
    register.register(desk, [register.NewFrame(584, 787)])
    rack.refresh()
    assert rack.wall.isVisible()
    assert len(rack.wall.tiles) == 1
    put_away(bench)


def test_every_key_of_the_rack_is_its_own(
    bench: Bench, qtbot: QtBot, stocked: tuple[Desk, list[str]]
) -> None:
    """No key of the Rack is taken twice, nor by the window around it."""
    window = Window(bench)
    qtbot.addWidget(window)
    rack = window.place("rack")
    assert isinstance(rack, Rack)
    keys = [action.shortcut().toString() for action in window.actions()]
    keys += [action.shortcut for action in rack_actions()]
    keys += ["Ctrl+T", "Ctrl+J", "Ctrl+I", "Ctrl+N", "Ctrl+E", "F3"]
    assert len(keys) == len(set(keys))


def test_every_control_has_a_name_and_is_large_enough(rack: Rack) -> None:
    """Screen readers name each control; wet hands hit it."""
    assert_named_and_large(rack)


def assert_named_and_large(widget: QWidget) -> None:
    for control in widget.findChildren(QWidget):
        if not control.isVisible() or control.focusPolicy() == Qt.FocusPolicy.NoFocus:
            continue
        parent = control.parentWidget()
        inner = control.objectName().startswith("qt_") or isinstance(parent, QComboBox)
        if inner or isinstance(control, QDialog):
            continue
        text = getattr(control, "text", lambda: "")()
        assert control.accessibleName() or text, f"{control} has no name"
        assert min(control.width(), control.height()) >= 24 or control.inherits("QCheckBox"), (
            control
        )


@pytest.mark.parametrize(
    ("first", "second"), [("A2", "A10"), ("A", "A1"), ("a9", "B1"), ("", "A1"), ("R1-9", "R1-10")]
)
def test_slots_are_ordered_as_people_count(first: str, second: str) -> None:
    """The left one comes before the right one."""
    assert natural(first) < natural(second)
