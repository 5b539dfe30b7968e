"""Proves the stretching table: mesh, stages with timers that survive, survey, glue, release."""

from __future__ import annotations

import datetime as dt

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLabel, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.services import marks, stretch
from framekeeper.services.frame_page import frame_page
from framekeeper.ui.cautions import caution
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.places.stretching_lists import time_left
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState
from tests.ui.bench_shop import (
    ENTER,
    ESC,
    BenchShop,
    come_in,
    field_named,
    nameless,
    strike,
    type_into,
)
from tests.ui.bench_shop import bench_shop as bench_shop
from tests.ui.small_shop import press

FINE = "230 yellow"


@pytest.fixture
def codes(bench_shop: BenchShop) -> list[str]:
    bench_shop.add_meshes()
    return bench_shop.frames(3, prepped=True)


def combo(widget: QWidget, name: str) -> QComboBox:
    (found,) = [b for b in widget.findChildren(QComboBox) if b.accessibleName() == name]
    return found


def choose_mesh(place: StretchingTable, name: str) -> None:
    box = combo(place.pull, "Mesh")
    box.setCurrentIndex(box.findData(name))


def words(widget: QWidget) -> str:
    return " ".join(label.text() for label in widget.findChildren(QLabel) if label.isVisible())


def put_in(shop: BenchShop, codes: list[str]) -> None:
    stretch.stretch(shop.desk, codes, stretch.StretchRequest(FINE))


def test_scans_add_up_and_enter_puts_them_into_the_clamps(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """Two scans and a mesh: pieces come off the roll that fits, at the shop's own target."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    assert place.take_scan(codes[0])
    assert place.take_scan(codes[2])
    choose_mesh(place, FINE)
    said = words(place.pull)
    assert "Stretch 2 frames" in said
    assert "the shop’s target for 230 yellow" in said
    assert "1970 N on each long bar and 1460 N on each short one" in said
    assert "201 kg" in said
    QTest.keyClick(combo(place.pull, "Mesh"), ENTER)
    assert not bench_shop.refused
    assert [bench_shop.state(code) for code in codes] == ["in_clamps", "prepped", "in_clamps"]
    life = frame_page(bench_shop.desk, codes[0]).frame.state.life
    assert life is not None
    assert life.target_n_per_cm == 25
    with bench_shop.desk.read() as reader:
        (roll,) = reader.rolls()
    assert roll.on_hand_mm == 9000 - 2 * 889
    assert place.lists.chosen().codes == [codes[0], codes[2]]  # ready for the first stage


def test_a_frame_on_hold_is_refused_with_the_reason(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """The sentence stands at the form, what was typed stays, and no mesh is cut."""
    marks.hold(bench_shop.desk, codes[:1], "rocks on the glass")
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    choose_mesh(place, FINE)
    target = field_named(place.pull, "Target")
    type_into(target, "24,5")
    QTest.keyClick(target, ENTER)
    assert "rocks on the glass" in place.pull.form.error_text
    assert target.text() == "24,5"
    assert bench_shop.state(codes[0]) == "prepped"
    with bench_shop.desk.read() as reader:
        assert reader.rolls()[0].on_hand_mm == 9000


def test_a_target_with_a_decimal_comma_is_taken(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """The load follows the target while it is typed."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    choose_mesh(place, FINE)
    target = field_named(place.pull, "Target")
    type_into(target, "22,5")
    assert "1770 N on each long bar" in words(place.pull)
    QTest.keyClick(target, ENTER)
    life = frame_page(bench_shop.desk, codes[0]).frame.state.life
    assert life is not None
    assert life.target_n_per_cm == 22.5


def test_a_target_that_may_burst_the_mesh_is_warned_of_while_it_is_typed(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """33 N/cm on 90.55 threads of 48 um are 201 MPa: above 200, before anything is pulled."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    choose_mesh(place, FINE)
    target = field_named(place.pull, "Target")
    type_into(target, "32,5")
    assert "load the thread" not in words(place.pull)
    type_into(target, "33")
    assert "load the thread with 201 MPa; above 200 MPa the mesh may burst" in words(place.pull)


def test_a_mesh_without_target_gets_a_suggestion_with_its_reason(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """The number comes with the sentence that says where it is from."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    choose_mesh(place, "110")
    assert field_named(place.pull, "Target").text() == "32.6"  # 150 MPa on 43.3 threads of 80 um
    assert "150 MPa on the thread" in words(place.pull)


def test_without_a_mesh_nothing_is_stretched(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """No mesh is guessed for a frame that never had one; Enter says what is missing."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    QTest.keyClick(combo(place.pull, "Mesh"), ENTER)
    assert "no mesh named" in place.pull.form.error_text
    assert bench_shop.state(codes[0]) == "prepped"


def test_an_own_piece_is_cut_and_a_note_kept(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """A piece that was typed wins over the allowance; the clamps of each side go into the note."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    choose_mesh(place, FINE)
    type_into(field_named(place.pull, "Piece, along the roll"), "95 cm")
    note = field_named(place.pull, "Note")
    type_into(note, "3 and 4 clamps")
    QTest.keyClick(note, ENTER)
    event = frame_page(bench_shop.desk, codes[0]).standing[-1]
    assert (event.payload.cut_length_mm, event.payload.cut_width_mm) == (950, 686)  # type: ignore[union-attr]
    assert event.note == "3 and 4 clamps"


def test_a_rest_runs_by_the_stored_time(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """The list shows what is left of the rest; a place that is built anew shows the same."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F3)
    tension = field_named(place.work, "Tension")
    assert place.window().focusWidget() is tension
    type_into(tension, "22,5")
    QTest.keyClick(tension, ENTER)
    assert not bench_shop.refused
    bench_shop.clock.go_on(minutes=5)
    place.close()
    again = come_in(StretchingTable, bench_shop, qtbot)
    table = again.lists.tables["in_clamps"]
    assert table.model().index(0, 3).data() in ("10:00 at 22.5", "9:59 at 22.5")
    assert again._tick.isActive()
    again.hide()
    assert not again._tick.isActive()


@pytest.mark.parametrize(
    ("left_s", "said"),
    [(900, "15:00"), (59.2, "1:00"), (0.1, "0:01"), (0, "over"), (-5, "over"), (3661, "1:01:01")],
)
def test_time_left_never_says_over_too_early(qapp: object, left_s: float, said: str) -> None:
    """Seconds are rounded up, because a rest that is cut short is no rest."""
    now = dt.datetime(2025, 3, 3, 8, 0, tzinfo=dt.UTC)
    assert time_left(now + dt.timedelta(seconds=left_s), now) == said


def test_a_survey_before_glue_is_walked_in_the_drawing(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """F4, ten numbers: the survey is stored as before glue; leaving halfway loses nothing."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F4)
    press(place, "24", ENTER, "23,5", ENTER, "25", ENTER)
    QTest.keyClick(place.window().focusWidget(), ESC)
    assert bench_shop.kinds(codes[0])[-1] == "stretched"
    strike(place, qtbot, Qt.Key.Key_F4)
    for _ in range(7):
        press(place, "24", ENTER)
    survey = frame_page(bench_shop.desk, codes[0]).standing[-1].payload
    assert survey.moment == "before_glue"  # type: ignore[union-attr]
    read = [(r.direction, r.raw_n_per_cm) for r in survey.readings]  # type: ignore[union-attr]
    assert read[:4] == [("warp", 24), ("weft", 23.5), ("warp", 25), ("weft", 24)]
    assert len(read) == 10
    assert "surveyed at 24.1" in words(place.work)


def test_the_survey_before_glue_is_judged_while_it_is_typed(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """Against the target of this stretch; each point shows its lean, and the verdict is told."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F4)
    press(place, "25", ENTER, "25", ENTER, "25", ENTER, "25", ENTER)
    panel = place.work.survey
    assert "inside so far, 2 of 5 points" in panel.verdict.words
    press(place, "21", ENTER, "21", ENTER)
    assert "outside so far, 3 of 5 points" in panel.verdict.words
    picture = panel.entry.picture
    assert picture is not None
    assert (picture.points[2].mark, picture.points[2].lean_n_per_cm) == ("soon", -4.0)
    for _ in range(4):
        press(place, "25", ENTER)
    page = frame_page(bench_shop.desk, codes[0])
    assert page.judgement is not None
    assert page.judgement.verdict == "outside"
    assert any("spread 4.0: outside" in told for told in bench_shop.told)


def test_glue_then_release(bench_shop: BenchShop, codes: list[str], qtbot: QtBot) -> None:
    """F5 with a lot, F6: the frame walks from the clamps through the cure to ready."""
    put_in(bench_shop, codes[:2])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    place.take_scan(codes[1])
    strike(place, qtbot, Qt.Key.Key_F5)
    assert caution("glue") in words(place.work)
    lot = field_named(place.work, "Adhesive lot")
    type_into(lot, "G-77")
    cure = field_named(place.work, "Cure")
    type_into(cure, "30")
    QTest.keyClick(cure, ENTER)
    assert [bench_shop.state(code) for code in codes[:2]] == ["curing", "curing"]
    assert place.lists.tables["curing"].model().index(0, 3).data() == "30:00"
    glued = frame_page(bench_shop.desk, codes[1]).standing[-1].payload
    assert glued.adhesive_lot == "G-77"  # type: ignore[union-attr]
    strike(place, qtbot, Qt.Key.Key_F6)
    assert bench_shop.kinds(codes[0])[-1] == "released"
    bench_shop.clock.go_on(minutes=31)
    place.refresh()
    assert not place.lists.tables["curing"].rows
    assert bench_shop.state(codes[0]) == "ready"


def test_a_tension_that_cannot_be_is_refused_at_its_field(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """A missing decimal point is told, the text stays, nothing is stored."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F3)
    tension = field_named(place.work, "Tension")
    type_into(tension, "225")
    QTest.keyClick(tension, ENTER)
    assert "decimal point" in words(place.work)
    assert tension.text() == "225"
    assert place.window().focusWidget() is tension
    assert bench_shop.kinds(codes[0])[-1] == "stretched"


def test_a_burst_sends_the_frame_back_to_the_prep_bench(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """Its mesh life ends with the cause and the place."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F8)
    where = place.window().focusWidget()
    assert where is not None
    QTest.keyClicks(where, "at the second clamp")
    QTest.keyClick(where, ENTER)
    damage = frame_page(bench_shop.desk, codes[0]).standing[-1].payload
    assert (damage.damage, damage.where) == ("burst", "at the second clamp")  # type: ignore[union-attr]
    assert bench_shop.state(codes[0]) == "pulled"


def test_roller_frames_are_released_without_glue_and_tightened_again(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """No glue is offered; in service they can be tightened, with their target proposed."""
    (roller,) = bench_shop.frames(1, prepped=True, kind="roller")
    put_in(bench_shop, [roller])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(roller)
    assert not place.work._buttons["glue"].isVisible()
    strike(place, qtbot, Qt.Key.Key_F6)
    assert bench_shop.state(roller) == "ready"
    assert place.lists.chosen().group == "rollers"
    strike(place, qtbot, Qt.Key.Key_F7)
    target = field_named(place.work, "Target")
    assert target.text() == "25.0"
    type_into(target, "23")
    QTest.keyClick(target, ENTER)
    assert bench_shop.kinds(roller)[-1] == "retensioned"


def test_a_glued_frame_cannot_be_released_before_glue(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """The key does nothing while its button is not offered: the mesh would come off."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[0])
    strike(place, qtbot, Qt.Key.Key_F6)
    assert bench_shop.kinds(codes[0])[-1] == "stretched"


def test_labels_are_offered_for_todays_stretch(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form gets the codes of the batch; without one, the place says so."""
    from framekeeper.ui.dialogs import labels

    asked: list[list[str]] = []
    monkeypatch.setattr(labels, "open_labels", lambda bench, parent, wanted: asked.append(wanted))
    place = come_in(StretchingTable, bench_shop, qtbot)
    key = (Qt.Key.Key_L, Qt.KeyboardModifier.ControlModifier)
    strike(place, qtbot, *key)
    assert asked == []
    assert "No frame was stretched today" in bench_shop.refused[0]
    put_in(bench_shop, codes[1:])
    strike(place, qtbot, *key)
    assert asked == [codes[1:]]


def test_an_empty_table_points_to_the_prep_bench(bench_shop: BenchShop, qtbot: QtBot) -> None:
    """No frame, no timer: the place says what to do first."""
    place = come_in(StretchingTable, bench_shop, qtbot)
    assert place.findChild(EmptyState).isVisible()
    assert not place._tick.isActive()


def test_every_control_has_a_name_and_room(
    bench_shop: BenchShop, codes: list[str], qtbot: QtBot
) -> None:
    """Screen reader and gloves, at each step of the work."""
    put_in(bench_shop, codes[:1])
    place = come_in(StretchingTable, bench_shop, qtbot)
    place.take_scan(codes[1])
    assert nameless(place) == []
    assert any(c.isVisible() for c in place.pull.findChildren(CautionStrip))
    place.take_scan(codes[0])
    for key in (Qt.Key.Key_F3, Qt.Key.Key_F5, Qt.Key.Key_F8):
        strike(place, qtbot, key)
        assert nameless(place) == []
