"""The cut plan in the real window: planned, stopped, printed, booked, with nothing left running."""

from __future__ import annotations

import io
import multiprocessing
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel
from pytestqt.qtbot import QtBot

from framekeeper.domain.cut_drawing import DrawnPiece, DrawnPlan, DrawnRest, DrawnRoll, DrawnRow
from framekeeper.domain.due import MeshRules
from framekeeper.domain.records import CutPieceRecord
from framekeeper.services import meshes, prep, register, settings, stock
from framekeeper.services.desk import Desk
from framekeeper.ui.places.cut_page import CutPage
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.printing import save_cut_sheet
from framekeeper.ui.theme import Scheme, Theme
from framekeeper.ui.widgets.cut_picture import CutPicture
from tests.fakes import FakePrompter
from tests.ui.bench_shop import nameless
from tests.ui.person import Person
from tests.ui.person import person as person

MESH = "230 yellow"
SIZES = ((584.2, 787.4), (508.0, 609.6), (635.0, 914.4))
pytestmark = pytest.mark.timeout(60)


@pytest.fixture
def furnish() -> Callable[[Desk], None]:
    """Nine prepped frames in three sizes, two rolls of one mesh."""

    def work(desk: Desk) -> None:
        settings.change_settings(desk, length_unit="mm")
        rules = MeshRules(target=25, limit=18)
        meshes.add_mesh_type(
            desk, meshes.MeshTypeFacts(MESH, 230, "inch", 90.55, 48, "dyed", rules)
        )
        stock.receive_roll(desk, stock.NewRoll(MESH, 1575, 12_000, lot="A7"))
        stock.receive_roll(desk, stock.NewRoll(MESH, 1321, 9_000, lot="B2"))
        frames = [register.NewFrame(*SIZES[n % 3], own_label=f"B{n + 1}") for n in range(9)]
        codes = register.register(desk, frames).codes
        prep.prep_all(desk, codes, skipped={"old_glue": "new frame"})

    return work


@pytest.fixture(autouse=True)
def no_process_left() -> Iterator[None]:
    """Whatever a test does, no search outlives its window."""
    yield
    assert not multiprocessing.active_children()


def go(person: Person) -> CutPage:
    """Go to the cut plan by keys."""
    person.press("Ctrl+4", "Ctrl+T")
    place = person.window.current
    assert isinstance(place, StretchingTable)
    assert place.cut is not None
    return place.cut


def give_mesh(person: Person, page: CutPage) -> None:
    """Choose the mesh for all frames on the list, by keys."""
    page.choice.table.setFocus()
    person.press("Ctrl+A", "Alt+M", "Down", "Return")
    if page.choice.jobs[0].mesh is None:
        person.press("Home", "Return")


def planned(person: Person) -> CutPage:
    """Frames on the list, mesh chosen, planned to the end."""
    page = go(person)
    give_mesh(person, page)
    person.press("F5")
    person.until(lambda: not page.watch.is_running)
    person.settle()
    return page


def pieces(person: Person) -> list[CutPieceRecord]:
    with person.desk.read() as reader:
        return reader.cut_pieces()


def on_hand(person: Person) -> int:
    with person.desk.read() as reader:
        return sum(r.on_hand_mm for r in reader.rolls() if not r.is_offcut)


def test_a_plan_is_there_at_once_and_then_proven(person: Person) -> None:
    """The first plan is drawn before anything else happens; the search ends with its proof."""
    page = go(person)
    assert len(page.choice.jobs) == 9
    give_mesh(person, page)
    assert all(job.mesh and job.mesh.name == MESH for job in page.choice.jobs)
    page.plan()
    first = page.result.plan
    assert first is not None
    assert page.watch.is_running
    assert page.result.picture.plan == page.result.view
    assert "Looking … " in page.result.state_text
    person.until(lambda: not page.watch.is_running)
    person.settle()
    best = page.result.plan
    assert best is not None
    assert best.is_proven
    assert (best.cost or 0) <= (first.cost or 0)
    assert page.result.state_text == "Proven: no plan needs less"
    spoken = page.result.picture.accessibleDescription()
    for job in page.choice.jobs:
        assert job.frame.name in spoken
    assert "Cut 1 after" in spoken
    assert nameless(page) == []


def test_esc_keeps_the_best_plan_and_a_second_esc_goes_back(person: Person) -> None:
    page = go(person)
    give_mesh(person, page)
    page.plan()
    assert multiprocessing.active_children()
    person.press("Esc")
    assert not page.watch.is_running
    assert not multiprocessing.active_children()
    assert page.result.plan is not None
    assert page.result.plan.rolls
    assert page.result.state_text.startswith(("Stopped; the best plan so far:", "Proven:"))
    person.press("Esc")
    place = person.window.current
    assert isinstance(place, StretchingTable)
    assert place.lists.isVisible()


def test_the_window_ends_its_search(person: Person) -> None:
    page = go(person)
    give_mesh(person, page)
    page.plan()
    assert multiprocessing.active_children()
    person.window.close()
    assert not multiprocessing.active_children()


def test_a_booking_and_its_undo_and_redo(person: Person) -> None:
    page = planned(person)
    plan = page.result.plan
    assert plan is not None
    person.press("F6")
    assert not person.refused
    assert len(pieces(person)) == 9
    assert on_hand(person) == 21_000 - plan.used_mm
    assert "cut, " in person.told[-1]
    assert all(job.ready is not None for job in page.choice.jobs)
    assert page.result.state_text.startswith("Booked")
    person.press("Ctrl+Z")
    assert not pieces(person)
    assert on_hand(person) == 21_000
    assert all(job.is_to_cut for job in page.choice.jobs)
    assert not page.result.is_booked
    person.press("Ctrl+Shift+Z")
    assert len(pieces(person)) == 9


def test_a_lost_piece_is_cut_again_and_a_waiting_one_is_stretched(person: Person) -> None:
    page = planned(person)
    person.press("F6")
    lost, there = page.choice.codes[:2]
    page.choice.table.choose([lost])
    person.press("F7")
    assert [job.frame.code for job in page.choice.jobs if job.is_to_cut] == [lost]
    held = on_hand(person)
    person.press("Ctrl+T")
    person.scan(there)
    place = person.window.current
    assert isinstance(place, StretchingTable)
    mesh = next(b for b in place.pull.findChildren(QComboBox) if b.accessibleName() == "Mesh")
    mesh.setCurrentIndex(mesh.findData(MESH))
    said = " ".join(label.text() for label in place.pull.findChildren(QLabel))
    assert f"Cut already, so used as it is unless another size is typed: {there}." in said
    assert "0.00 m off the roll" in said
    mesh.setFocus()
    person.press("Return")
    assert person.state(there) == "in_clamps"
    assert on_hand(person) == held
    assert len(pieces(person)) == 7


def test_offcuts_are_kept_as_ticked(person: Person) -> None:
    """Space on a row of the list; the picture and the booking follow."""
    page = planned(person)
    page.result.keep.setFocus()
    ticked = page.result.kept
    item = page.result.keep.item(0)
    was = item.checkState()
    page.result.keep.setCurrentRow(0)
    person.press("Space")
    assert item.checkState() != was
    kept = page.result.kept
    assert len(kept) == len(ticked) + (1 if was == Qt.CheckState.Unchecked else -1)
    view = page.result.view
    assert view is not None
    drawn = [row for roll in view.rolls for row in roll.rows if row.rest and row.rest.kept]
    assert len(drawn) == len(kept)
    person.press("F6")
    with person.desk.read() as reader:
        shelf = [(r.width_mm, r.on_hand_mm) for r in reader.rolls() if r.is_offcut]
    assert sorted(shelf) == sorted((o.width_mm, o.length_mm) for o in kept)


def test_frames_come_by_scan_and_by_code_and_leave_by_key(person: Person) -> None:
    page = go(person)
    (code,) = (job.frame.code for job in page.choice.jobs if job.frame.own_label == "B1")
    page.choice.table.setFocus()
    person.press("Ctrl+A", "Del")
    assert page.choice.codes == ()
    person.scan(code)
    assert page.choice.codes == (code,)
    person.press("Shift+Tab", "Shift+Tab", "Shift+Tab")
    person.type("B2")
    person.press("Return")
    assert [job.frame.own_label for job in page.choice.jobs] == ["B1", "B2"]
    person.press("F2")
    assert len(page.choice.jobs) == 9
    person.press("F3")
    assert person.refused[-1] == "No frame is bare, pulled, or below its limit."


def test_a_piece_may_keep_its_warp_where_others_turn(person: Person) -> None:
    page = go(person)
    give_mesh(person, page)
    first = page.choice.codes[0]
    page.choice.table.choose([first])
    person.press("Alt+U", "End", "Return")
    assert [j.may_turn for j in page.choice.jobs if j.frame.code == first] == [False]
    turn = next(b for b in page.choice.findChildren(QCheckBox) if "turned" in b.text())
    turn.setChecked(True)
    person.press("F5")
    person.until(lambda: not page.watch.is_running)
    plan = page.result.plan
    assert plan is not None
    turned = {p.piece.key for row in plan.rows for p in row.pieces if p.is_turned}
    assert first not in turned


def test_a_shelf_that_changed_is_told_and_refused_at_the_booking(person: Person) -> None:
    page = planned(person)
    for code in ("R0001", "R0002"):
        stock.count_roll(person.desk, code, length_mm=100)
    person.until(lambda: "The shelf changed" in page.result.more_text)
    person.press("F6")
    assert "holds only 0.10 m by now" in person.refused[-1]
    assert "Nothing was booked." in person.refused[-1]
    assert not pieces(person)
    person.press("F5")
    person.until(lambda: not page.watch.is_running)
    plan = page.result.plan
    assert plan is not None
    assert not plan.rolls
    assert page.result.state_text == "No piece can be cut"
    assert "longer than what is left" in page.result.more_text


@pytest.mark.parametrize(("unit", "size"), [("mm", "686 × 889 mm"), ("inch", "27 × 35 in")])
def test_the_paper_says_what_the_window_shows(
    person: Person, tmp_path: Path, unit: str, size: str
) -> None:
    settings.change_settings(person.desk, length_unit=unit)
    person.until(lambda: person.bench.formatter.length_unit == unit)
    page = planned(person)
    view = page.result.view
    assert view is not None
    path = tmp_path / "cut.pdf"
    save_cut_sheet(person.bench, page, view, prompter=FakePrompter([str(path)]))
    person.until(path.exists)
    person.settle()
    read = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    text = " ".join(" ".join(p.extract_text() for p in read.pages).split())
    assert size in text
    for roll in view.rolls:
        assert roll.title in text
        at = text.index(roll.title)
        for row in roll.rows:
            at = text.index(f"Cut {row.number} after {row.length}", at)
            for piece in row.pieces:
                at = text.index(f"{piece.name} {piece.size}", at)
    for line in view.summary:
        assert line in text


def test_print_asks_for_a_file(person: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl+P of the page, with the dialog's answer put in."""
    page = planned(person)
    asked: list[DrawnPlan] = []
    monkeypatch.setattr(
        "framekeeper.ui.printing.save_cut_sheet", lambda _b, _p, view: asked.append(view)
    )
    person.press("Ctrl+P")
    assert asked == [page.result.view]


def test_nothing_to_cut_is_said(person: Person) -> None:
    page = go(person)
    person.press("F5")
    assert page.result.plan is None
    assert not page.choice.plan_button.isEnabled()


# the picture

ROLL = DrawnRoll(
    "Roll R1",
    1000,
    1200,
    tuple(
        DrawnRow(
            str(n + 1), n * 600.0, 600, "600 mm",
            (DrawnPiece(0, 600, 600, f"FK{n}", f"FK{n}", "600 × 600 mm"),),
            DrawnRest(600, 400, "400 × 600 mm", "keep" if n else ""), f"Cut {n + 1}",
        )
        for n in range(2)
    ),
)  # fmt: skip
PLAN = DrawnPlan(("Pieces: 2",), (ROLL,))


@pytest.mark.parametrize("scheme", list(Scheme))
def test_the_picture_tells_pieces_from_waste_in_both_themes(
    theme: Theme, qtbot: QtBot, scheme: Scheme
) -> None:
    """Cloth where the pieces lie, hatching beside them, a plain box where it is kept."""
    theme.choose(scheme)
    picture = CutPicture(theme)
    qtbot.addWidget(picture)
    picture.resize(500, 500)
    picture.show_plan(PLAN)
    image = picture.grab().toImage()
    cloth = theme.palette.colour("place_tint").rgb()
    assert _count(image, cloth) > 2 * 0.7 * (600 * 0.3) ** 2
    assert _count(image, theme.palette.colour("press").rgb()) > 100  # the frame of what is kept
    assert 0.05 < _lined(image, picture.waste_boxes[0], theme) < 0.6
    assert picture.accessibleDescription() == "Pieces: 2\nRoll R1\nCut 1\nCut 2"
    picture.show_plan(None)
    assert picture.accessibleDescription() == ""
    assert _count(picture.grab().toImage(), cloth) == 0


def _lined(image: QImage, box: QRectF, theme: Theme) -> float:
    """The share of a box that is not plain ground."""
    plain = theme.palette.colour("surface").rgb()
    inside = box.adjusted(3, 3, -3, -3).toRect()
    spots = [
        image.pixel(x, y) != plain
        for x in range(inside.left(), inside.right())
        for y in range(inside.top(), inside.bottom())
    ]
    return sum(spots) / len(spots)


def _count(image: QImage, colour: int) -> int:
    return sum(
        image.pixel(x, y) == colour for x in range(image.width()) for y in range(image.height())
    )
