"""Proves the forms: refusals keep what was typed, and what is taken is what was meant."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QWidget,
)
from pytestqt.qtbot import QtBot

from framekeeper.domain.errors import NotValid
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.services import history, meshes, meters, register
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame
from framekeeper.services.settings import read_settings
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.damage import DamageForm
from framekeeper.ui.dialogs.edit_frame import EditFrameForm
from framekeeper.ui.dialogs.fields import numbered
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.dialogs.import_file import ImportDialog
from framekeeper.ui.dialogs.label_memory import LabelMemory
from framekeeper.ui.dialogs.labels import LabelsDialog, read_label_shop
from framekeeper.ui.dialogs.mesh_type import MeshTypeForm
from framekeeper.ui.dialogs.meter import MeterForm
from framekeeper.ui.dialogs.receive import ReceiveForm
from framekeeper.ui.dialogs.register_frames import KnownToTheShop, RegisterFramesForm
from framekeeper.ui.dialogs.shop_settings import ShopSettingsForm
from framekeeper.ui.dialogs.working_days import WorkingDaysForm
from framekeeper.ui.text import Formatter
from tests.fakes import FakeClock, FakePrompter
from tests.ui.small_shop import inline_bench, put_away, stocked_desk

REGISTER = Path(__file__).parents[1] / "data" / "register_150.csv"


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> tuple[Desk, list[str]]:
    return stocked_desk(sqlite_place, clock)


@pytest.fixture
def desk(stocked: tuple[Desk, list[str]]) -> Desk:
    return stocked[0]


@pytest.fixture
def codes(stocked: tuple[Desk, list[str]]) -> list[str]:
    return stocked[1]


@pytest.fixture
def bench(qapp: QApplication, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    made = inline_bench(qapp, desk, monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def page(qtbot: QtBot) -> QWidget:
    """What the forms open over."""
    widget = QWidget()
    qtbot.addWidget(widget)
    widget.show()
    return widget


def frame(desk: Desk, code: str) -> FrameRecord:
    with desk.read() as reader:
        return find_frame(reader, code)


def all_frames(desk: Desk) -> list[FrameRecord]:
    with desk.read() as reader:
        return reader.frames(FrameFilter(with_retired=True))


def known(desk: Desk) -> KnownToTheShop:
    with desk.read() as reader:
        names = [mesh.name for mesh in reader.mesh_types()]
    return KnownToTheShop(names, [(584.0, 787.0)])


# register


def test_a_dozen_frames_count_their_labels_and_slots_up(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """One form, twelve frames, each with its own code, label and slot."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.count.setValue(12)
    form.own_label.setText("B-08")
    form.slot.setText("R2-1")
    form.slots_count.setChecked(True)
    form.confirm()
    made = all_frames(desk)[3:]
    assert [f.own_label for f in made] == [f"B-{n:02d}" for n in range(8, 20)]
    assert [f.slot for f in made] == [f"R2-{n}" for n in range(1, 13)]
    assert len({f.code for f in made}) == 12
    assert {f.state.state for f in made} == {"bare"}


def test_a_label_that_is_taken_is_refused_and_everything_typed_stays(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """The refusal stands at the form, the field has the focus, and nothing was registered."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.count.setValue(3)
    form.own_label.setText("S2")
    form.confirm()
    assert "S2" in form.trouble.text
    assert "Nothing was changed" in form.trouble.text
    assert form.isVisible()
    assert (form.count.value(), form.own_label.text()) == (3, "S2")
    assert form.focusWidget() is form.own_label
    assert len(all_frames(desk)) == 3
    form.own_label.setText("T2")
    form.confirm()
    assert not form.isVisible()
    assert len(all_frames(desk)) == 6


def test_frames_with_mesh_on_them_keep_what_nobody_knows_unknown(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """Neither reclaims nor the start of the mesh life are made up."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.has_mesh.setChecked(True)
    form.confirm()
    life = all_frames(desk)[-1].state.life
    assert life is not None
    assert life.started_at is None
    assert not life.reclaims_known


def test_frames_with_mesh_on_them_take_over_what_is_known(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """Reclaims and the day of the stretch enter the mesh life."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.has_mesh.setChecked(True)
    form.reclaims.setText("7")
    day = desk.today() - dt.timedelta(days=30)
    form.since.show_day(day)
    form.confirm()
    life = all_frames(desk)[-1].state.life
    assert life is not None
    assert life.started_at is not None
    assert life.started_at.date() == day
    assert (life.reclaims, life.reclaims_known) == (7, True)


@pytest.mark.parametrize("text", ["23 x 31", '23" x 31"', "23,0 × 31,0", "584.2 x 787.4 mm"])
def test_a_size_is_read_in_the_shops_unit_with_either_decimal_sign(
    bench: Bench, desk: Desk, page: QWidget, text: str
) -> None:
    """A shop that works in inches types inches; a unit beside the number wins."""
    bench.formatter.length_unit = "inch"
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.outer_size.setEditText(text)
    form.confirm()
    made = all_frames(desk)[-1]
    assert (made.width_mm, made.height_mm) == pytest.approx((584.2, 787.4))


@pytest.mark.parametrize("text", ["", "wide", "12", "23 x 0", "9" * 80])
def test_a_size_that_cannot_be_is_refused(
    bench: Bench, desk: Desk, page: QWidget, text: str
) -> None:
    """With the focus on the size and nothing written."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.outer_size.setEditText(text)
    form.confirm()
    assert form.trouble.text
    assert form.outer_size.currentText() == text
    assert len(all_frames(desk)) == 3
    form.done(0)


def test_a_long_label_is_refused_by_the_shop(bench: Bench, desk: Desk, page: QWidget) -> None:
    """What the shop cannot keep is not cut off in silence."""
    form = RegisterFramesForm(bench, known(desk), page)
    form.open()
    form.own_label.setText("x" * 5000)
    form.confirm()
    assert "longer than 200" in form.trouble.text
    assert len(form.own_label.text()) == 5000
    form.done(0)


@given(st.from_regex(r"\A[A-Z]{0,3}-?[0-9]{1,6}[A-Z]?\Z"), st.integers(2, 60))
def test_labels_that_count_up_are_all_different_and_start_as_typed(first: str, count: int) -> None:
    """Whatever the first label, as long as it has a number."""
    made = numbered(first, count)
    assert made[0] == first
    assert len(set(made)) == count


def test_a_label_without_a_number_cannot_count() -> None:
    """For one frame it will do."""
    assert numbered("north wall", 1) == ("north wall",)
    with pytest.raises(NotValid):
        numbered("north wall", 2)


# edit and damage


def test_a_frame_that_was_not_touched_keeps_its_size_to_the_tenth(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget
) -> None:
    """The field shows 23 in for 584 mm; saving another fact must not round the frame."""
    bench.formatter.length_unit = "inch"
    form = EditFrameForm(bench, frame(desk, codes[0]), page)
    form.open()
    form.slot.setText("B7")
    form.confirm()
    now = frame(desk, codes[0])
    assert (now.width_mm, now.height_mm, now.slot) == (584.0, 787.0, "B7")


def test_who_saves_later_is_told_and_overwrites_nothing(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget
) -> None:
    """Two people edit one frame: the second sees a refusal with what was typed."""
    form = EditFrameForm(bench, frame(desk, codes[0]), page)
    form.open()
    register.edit_frame(desk, codes[0], register.FrameEdit(slot="C1"))
    form.slot.setText("D1")
    form.confirm()
    assert form.trouble.text
    assert form.slot.text() == "D1"
    assert frame(desk, codes[0]).slot == "C1"
    form.done(0)


def test_damage_proposes_the_end_of_the_mesh_only_where_the_cloth_is_hurt(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget
) -> None:
    """A bent bar leaves the mesh; a tear pulls the screen."""
    form = DamageForm(bench, codes[:1], "S1", parent=page)
    form.open()
    assert form.mesh_is_done.isChecked()
    form.kind.setCurrentIndex(form.kind.findData("bent_bar"))
    assert not form.mesh_is_done.isChecked()
    form.kind.setCurrentIndex(form.kind.findData("corner_tear"))
    form.where.setText("lower left")
    form.confirm()
    assert frame(desk, codes[0]).state.state == "pulled"


# mesh, meter, settings


def test_the_name_as_bought_fills_the_form(bench: Bench, desk: Desk, page: QWidget) -> None:
    """120-34 yellow tells count, unit, thread and colour, and with them a target."""
    form = MeshTypeForm(bench, parent=page)
    form.open()
    QTest.keyClicks(form.name, "120-34 yellow")
    assert (form.count.text(), form.unit.currentData()) == ("120", "cm")
    assert (form.thread_width.text(), form.colour.currentData()) == ("34", "dyed")
    assert "150 MPa" in form.suggestion.text()
    form.take.click()
    # S = n pi d^2 / 4 = 120 x pi x 0.034^2 / 4 = 0.10895 mm2 per cm, times 150 MPa = 16.3 N/cm.
    assert form.target.text() == "16.3"
    form.limit.setText("12,5")
    form.confirm()
    with desk.read() as reader:
        mesh = meshes.find_mesh_type(reader, "120-34 yellow")
    assert (mesh.rules.target, mesh.rules.limit) == (16.3, 12.5)
    assert (mesh.threads_per_cm, mesh.thread_um) == (120, 34)


def test_a_target_that_may_burst_the_mesh_is_warned_of(bench: Bench, page: QWidget) -> None:
    """The warning stands beside the field before anything is saved."""
    form = MeshTypeForm(bench, parent=page)
    form.open()
    QTest.keyClicks(form.name, "120-34")
    form.target.setText("24,5")
    assert "burst" in form.suggestion.text()
    form.done(0)


def test_a_grade_of_the_book_fills_in_the_cloth_and_keeps_the_name(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """Type a count and a thread, choose: published values are filled in, estimates are not."""
    form = MeshTypeForm(bench, parent=page)
    form.open()
    form.name.setText("230 yellow, new roll")
    QTest.keyClicks(form.grade, "230 48")
    lines = form.grade.offered
    assert [grade.name for grade in lines] == ["90-48", "230/48"]
    completer = form.grade.completer()
    assert completer is not None
    completer.activated.emit(completer.completionModel().index(0, 0).data())
    assert form.name.text() == "230 yellow, new roll"
    assert (form.count.text(), form.unit.currentData(), form.thread_width.text()) == (
        "90", "cm", "48",
    )  # fmt: skip
    assert form.weave.text() == "1:1"
    assert form.opening.text() == f"{lines[0].opening_um.value:g}"
    assert "225 = 230 per inch: the same cloth" in form.grade_words.text()
    assert "estimated" not in form.geometry_words.text()
    form.take.click()
    assert form.target.text() == "24.4"
    form.confirm()
    with desk.read() as reader:
        kept = meshes.find_mesh_type(reader, "230 yellow, new roll")
    assert (kept.opening_um, kept.weave) == (lines[0].opening_um.value, "1:1")


def test_estimates_say_so_and_a_data_sheet_wins(bench: Bench, page: QWidget) -> None:
    """An empty field shows what the rule gives; a number from the sheet takes its place."""
    form = MeshTypeForm(bench, parent=page)
    form.open()
    QTest.keyClicks(form.name, "120-34")
    assert form.opening.placeholderText() == "49, estimated"
    assert "at most 49" in form.geometry_words.text()
    assert "1.55 times the thread" in form.geometry_words.text()
    form.opening.setText("45")
    form.thickness.setText("55")
    assert "Opening 45 µm" in form.geometry_words.text()
    assert "estimated" not in form.geometry_words.text()
    form.opening.setText("83,4")
    assert "no room for thread" in form.geometry_words.text()
    form.done(0)


def test_a_target_above_260_mpa_is_refused_at_its_field(bench: Bench, page: QWidget) -> None:
    form = MeshTypeForm(bench, parent=page)
    form.open()
    QTest.keyClicks(form.name, "90-48")
    form.target.setText("45")
    form.confirm()
    assert "only the data sheet" in form.trouble.text
    assert form.focusWidget() is form.target
    form.done(0)


def test_own_points_are_drawn_while_they_are_typed_and_kept(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    form = ShopSettingsForm(bench, read_settings(desk), page)
    form.open()
    form.pattern.setCurrentIndex(form.pattern.findData("own"))
    form.own_points.setText("50 50; 20 20")
    picture = form.drawing.picture
    assert picture is not None
    assert len(picture.points) == 2
    assert (picture.points[0].x_mm, picture.points[0].y_mm) == pytest.approx((292.1, 393.7))
    form.own_points.setText("50 50; 20")
    assert form.drawing.picture is not None
    assert form.drawing.picture.points == ()
    form.confirm()
    assert "An own point is two numbers" in form.trouble.text
    assert form.focusWidget() is form.own_points
    form.own_points.setText("50 50; 20 20; 80,5 80")
    form.confirm()
    assert read_settings(desk).own_points == ((50.0, 50.0), (20.0, 20.0), (80.5, 80.0))
    assert read_settings(desk).point_pattern == "own"


def test_working_days_and_minutes_are_saved_and_refused_at_their_fields(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    form = WorkingDaysForm(bench, read_settings(desk), page)
    form.open()
    form.holidays.setText("2026-08-03..2026-08-32")
    form.confirm()
    assert form.focusWidget() is form.holidays
    form.holidays.setText("2026-08-03..2026-08-14; 2026-05-01")
    boxes = form.weekdays.findChildren(QCheckBox)
    for box in boxes[:5]:
        box.setChecked(False)
    form.confirm()
    assert "at least one day" in form.trouble.text
    assert form.focusWidget() is boxes[0]
    boxes[6].setChecked(True)
    minutes = form.findChildren(QLineEdit)
    next(f for f in minutes if f.accessibleName() == "Washout").setText("0")
    next(f for f in minutes if f.accessibleName() == "Read its tension").setText("4")
    form.confirm()
    kept = read_settings(desk)
    assert kept.working_weekdays == (6,)
    assert (len(kept.holidays), kept.holidays[0].isoformat()) == (13, "2026-05-01")
    assert (kept.washout_minutes_a_day, kept.read_minutes, kept.rack_minutes_a_day) == (0, 4, 30)


def test_a_limit_above_the_target_is_refused_at_the_limit(bench: Bench, page: QWidget) -> None:
    """The focus goes to the field that the refusal is about."""
    form = MeshTypeForm(bench, parent=page)
    form.open()
    QTest.keyClicks(form.name, "90-48")
    form.target.setText("20")
    form.limit.setText("25")
    form.confirm()
    assert "not below" in form.trouble.text
    assert form.focusWidget() is form.limit
    assert form.limit.selectedText() == "25"
    form.done(0)


def test_a_mesh_is_completed_and_its_empty_rules_are_switched_off(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """An empty field means that there is no such rule."""
    with desk.read() as reader:
        mesh = meshes.find_mesh_type(reader, "230 yellow")
    form = MeshTypeForm(bench, mesh, page)
    form.open()
    form.reading.days.clear()
    form.confirm()
    with desk.read() as reader:
        now = meshes.find_mesh_type(reader, "230 yellow")
    assert now.rules.days_between_readings is None
    assert now.count_as_bought == 230
    assert now.threads_per_cm == pytest.approx(90.55, abs=0.01)


def test_a_meter_is_added_with_a_decimal_comma(bench: Bench, desk: Desk, page: QWidget) -> None:
    """And its certificate may be unknown."""
    form = MeterForm(bench, parent=page)
    form.open()
    form.name.setText("Second meter")
    form.correction.setText("-0,3")
    form.confirm()
    added = next(m for m in meters.meters(desk) if m.name == "Second meter")
    assert (added.correction, added.resolution, added.certificate_until) == (-0.3, 0.5, None)


@pytest.mark.parametrize("text", ["", "half", "1.234,5", "--1"])
def test_a_number_that_is_none_is_refused_at_its_field(
    bench: Bench, page: QWidget, text: str
) -> None:
    """What was typed stands there still."""
    form = MeterForm(bench, parent=page)
    form.open()
    form.name.setText("Second meter")
    form.resolution.setText(text)
    form.confirm()
    assert form.trouble.text
    assert form.resolution.text() == text
    assert form.focusWidget() is form.resolution
    form.done(0)


def test_units_change_everywhere_as_soon_as_the_shop_chooses(
    bench: Bench, desk: Desk, page: QWidget
) -> None:
    """The formatter of the window follows the setting."""
    form = ShopSettingsForm(bench, read_settings(desk), page)
    form.open()
    form.length_unit.setCurrentIndex(form.length_unit.findData("inch"))
    form.shop_name.setText("Alder Lane Prints")
    form.confirm()
    assert bench.formatter.length_unit == "inch"
    again = ShopSettingsForm(bench, read_settings(desk), page)
    assert again.allowance.text() == "4.02"  # 102 mm
    again.open()
    again.allowance.setText("5")
    again.confirm()
    assert read_settings(desk).cut_allowance_mm == 127
    assert read_settings(desk).shop_name == "Alder Lane Prints"


# import


def looked_at(bench: Bench, page: QWidget, path: Path) -> ImportDialog:
    dialog = ImportDialog(bench, page, prompter=FakePrompter([str(path)]))
    dialog.open()
    dialog.choose.click()
    return dialog


def test_an_import_shows_what_it_brings_and_takes_the_good_rows(
    bench: Bench, desk: Desk, page: QWidget, clock: FakeClock
) -> None:
    """Nothing is written before the second Enter, and one undo takes all of it back."""
    clock.go_on(days=900)  # the readings of the file must not lie ahead
    dialog = looked_at(bench, page, REGISTER)
    assert dialog.made.rowCount() == 150
    reasons = [line.reason for line in dialog.left_out.rows]
    assert reasons
    assert all(line.row for line in dialog.left_out.rows)
    assert len(all_frames(desk)) == 3
    dialog.confirm()
    assert len(all_frames(desk)) == 153
    history.undo(desk)
    assert len(all_frames(desk)) == 3


def test_a_list_without_a_fault_is_taken_whole(
    bench: Bench, desk: Desk, page: QWidget, tmp_path: Path
) -> None:
    """The button says what it will do."""
    path = tmp_path / "list.csv"
    path.write_text("frame,size mm,mesh\nK1,584x787,90-48\nK2,584x787,90-48\n", encoding="utf-8")
    dialog = looked_at(bench, page, path)
    assert dialog.left_out.rowCount() == 0
    assert dialog.confirm_button.text() == "Take all of it over"
    dialog.confirm()
    assert [f.own_label for f in all_frames(desk)][3:] == ["K1", "K2"]


def test_a_file_that_is_no_list_is_refused_and_its_name_stays(
    bench: Bench, desk: Desk, page: QWidget, tmp_path: Path
) -> None:
    """Another file can be tried in the same form."""
    path = tmp_path / "noise.csv"
    path.write_bytes(bytes(range(256)) * 20)
    dialog = looked_at(bench, page, path)
    assert dialog.trouble.text
    assert dialog.path.text() == str(path)
    assert dialog.confirm_button.text() == "Look at the file"
    assert len(all_frames(desk)) == 3
    dialog.reject()


def test_another_reading_of_the_file_must_be_looked_at_again(bench: Bench, page: QWidget) -> None:
    """What was seen in one unit is not taken over in another."""
    dialog = looked_at(bench, page, REGISTER)
    dialog.sizes.setCurrentIndex(dialog.sizes.findData("inch"))
    assert dialog.made.rowCount() == 0
    assert dialog.confirm_button.text() == "Look at the file"
    dialog.reject()


# labels


@pytest.fixture
def memory(tmp_path: Path) -> LabelMemory:
    return LabelMemory(tmp_path / "bench" / "labels.json")


def labels_form(
    bench: Bench, desk: Desk, page: QWidget, memory: LabelMemory, *named: str, to: Path
) -> LabelsDialog:
    form = LabelsDialog(
        bench,
        read_label_shop(desk),
        named,
        page,
        memory=memory,
        prompter=FakePrompter([str(to)]),
        show_file=lambda path: path.exists(),
    )
    form.open()
    return form


def test_the_first_free_label_is_found_by_arrow_keys_or_a_click(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, memory: LabelMemory, tmp_path: Path
) -> None:
    """The sheet says where it is for who cannot see it, and does not walk off its edge."""
    form = labels_form(bench, desk, page, memory, *codes, to=tmp_path / "x.pdf")
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Down):
        QTest.keyClick(form.sheet, key)
    assert form.sheet.start == 5
    assert "row 2, column 2" in form.sheet.accessibleDescription()
    place = form.sheet.cell_rect(9).center().toPoint()
    QTest.mouseClick(form.sheet, Qt.MouseButton.LeftButton, pos=place)
    assert form.sheet.start == 9
    form.reject()


def test_the_next_print_goes_on_where_the_last_one_ended(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, memory: LabelMemory, tmp_path: Path
) -> None:
    """A part-used sheet is remembered at this bench, with the printer's offset."""
    form = labels_form(bench, desk, page, memory, *codes, to=tmp_path / "x.pdf")
    form.right.setText("1,5")
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Return):
        QTest.keyClick(form.sheet, key)
    assert not form.isVisible()
    again = labels_form(bench, desk, page, memory, codes[0], to=tmp_path / "y.pdf")
    assert again.sheet.start == 4 + len(codes)
    assert again.right.text() == "1.5"
    again.reject()


def test_newly_stretched_are_those_whose_label_was_not_printed_since(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, memory: LabelMemory, tmp_path: Path
) -> None:
    """What was printed is not offered again; a new stretch on the same frame is."""
    form = labels_form(bench, desk, page, memory, codes[0], to=tmp_path / "x.pdf")
    form.confirm()
    again = labels_form(bench, desk, page, memory, to=tmp_path / "y.pdf")
    assert [f.code for f in again.frames()] == codes[1:]
    again.reject()


def test_only_low_labels_are_said_to_fit_the_bar(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, memory: LabelMemory, tmp_path: Path
) -> None:
    """25 mm is what the outside face of a bar takes; and the form says what a washout does."""
    form = labels_form(bench, desk, page, memory, *codes, to=tmp_path / "x.pdf")
    form.format.setCurrentIndex(form.format.findData("roll_bar_100x20"))
    assert "fits the outside face" in form.bar_note.text()
    form.format.setCurrentIndex(form.format.findData("a4_3x7"))
    assert "too high" in form.bar_note.text()
    words = " ".join(label.text() for label in form.findChildren(QLabel))
    assert "A washout eats paper" in words
    assert "never on the glue face" in words
    form.reject()


# what all forms have in common

FORMS: dict[str, Callable[[Bench, Desk, list[str], QWidget], FormDialog]] = {
    "register": lambda bench, desk, codes, page: RegisterFramesForm(bench, known(desk), page),
    "mesh type": lambda bench, desk, codes, page: MeshTypeForm(bench, None, page),
    "meter": lambda bench, desk, codes, page: MeterForm(bench, None, page),
    "settings": lambda bench, desk, codes, page: ShopSettingsForm(bench, read_settings(desk), page),
    "working days": lambda bench, desk, codes, page: WorkingDaysForm(
        bench, read_settings(desk), page
    ),
    "edit": lambda bench, desk, codes, page: EditFrameForm(bench, frame(desk, codes[0]), page),
    "damage": lambda bench, desk, codes, page: DamageForm(bench, codes, "S1", parent=page),
    "receive": lambda bench, desk, codes, page: ReceiveForm(
        bench, codes, "S1", ["230 yellow"], page
    ),
    "import": lambda bench, desk, codes, page: ImportDialog(bench, page),
    "labels": lambda bench, desk, codes, page: LabelsDialog(
        bench, read_label_shop(desk), codes, page
    ),
}


def words_on(widget: QWidget) -> str:
    """What stands on a control or a label."""
    if isinstance(widget, QLabel | QAbstractButton):
        return widget.text()
    return ""


@pytest.mark.parametrize("name", FORMS)
def test_every_field_has_a_name_a_key_and_room(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, name: str
) -> None:
    """Names for screen readers, one mnemonic each, nothing smaller than 24 px but tick boxes."""
    form = FORMS[name](bench, desk, codes, page)
    form.open()
    for field in form.findChildren(QWidget):
        is_inner = field.objectName().startswith("qt_")
        parent = field.parentWidget()
        is_inner = is_inner or (parent is not None and parent.inherits("QComboBox"))
        is_inner = is_inner or (parent is not None and parent.inherits("QTabWidget"))
        is_inner = is_inner or (parent is not None and parent.inherits("QTabBar"))
        if not field.isVisible() or field.focusPolicy() == Qt.FocusPolicy.NoFocus or is_inner:
            continue
        text = words_on(field)
        assert field.accessibleName() or text, f"{field} has no name"
        if not (field.inherits("QCheckBox") or field.inherits("QRadioButton")):
            assert field.height() >= 24, f"{field} is too small"
    keys = [text.replace("&&", "") for text in map(words_on, form.findChildren(QWidget))]
    marks = [text[text.index("&") + 1].lower() for text in keys if "&" in text]
    assert len(marks) == len(set(marks)), f"a mnemonic is taken twice: {sorted(marks)}"
    form.done(0)


@pytest.mark.parametrize("name", FORMS)
def test_a_form_fits_the_smallest_window(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, name: str
) -> None:
    """1280 x 800 less the frame of a desktop."""
    form = FORMS[name](bench, desk, codes, page)
    form.open()
    assert form.width() <= 1200
    assert form.height() <= 740
    form.done(0)


@pytest.mark.parametrize("name", ["register", "mesh type", "meter", "settings", "edit"])
def test_leaving_with_something_typed_asks_once(
    bench: Bench, desk: Desk, codes: list[str], page: QWidget, name: str
) -> None:
    """The first Esc says what would be lost, the second leaves; untouched, one is enough."""
    form = FORMS[name](bench, desk, codes, page)
    form.open()
    QTest.keyClick(form, Qt.Key.Key_Escape)
    assert not form.isVisible()
    form = FORMS[name](bench, desk, codes, page)
    form.open()
    row = form.form.itemAt(1 if name == "register" else 0, QFormLayout.ItemRole.FieldRole)
    assert row is not None
    field = row.widget()
    assert field is not None
    QTest.keyClicks(field, "7")
    QTest.keyClick(form, Qt.Key.Key_Escape)
    assert form.isVisible()
    assert "not saved" in form.trouble.text
    QTest.keyClick(form, Qt.Key.Key_Escape)
    assert not form.isVisible()


def test_a_form_shows_numbers_with_this_benchs_decimal_sign(bench: Bench, page: QWidget) -> None:
    """A comma where the person writes commas, and it can be read back."""
    bench.formatter = Formatter(QLocale(QLocale.Language.German), length_unit="mm")
    form = MeterForm(bench, None, page)
    assert form.resolution.text() == "0,5"
    assert bench.formatter.parse_number(form.resolution.text()) == 0.5
