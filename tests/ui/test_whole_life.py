"""Proves the main job: one frame from the register to its end, in the real window, by keyboard."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium
import pytest
import zxingcpp
from PySide6.QtWidgets import QFileDialog, QLineEdit

from framekeeper.domain import lifecycle
from framekeeper.domain.events import Glued, Prepped, Printed, Reclaimed, Staged, Surveyed
from framekeeper.services.stock import shelf
from framekeeper.ui import printing
from framekeeper.ui.places.mesh_shelf import MeshShelf
from framekeeper.ui.places.rack import Rack
from framekeeper.ui.places.stretching import StretchingTable
from framekeeper.ui.places.tension_round import TensionRound
from framekeeper.ui.places.today import Today
from framekeeper.ui.places.washout import Washout
from tests.ui.person import Person
from tests.ui.person import furnish as furnish
from tests.ui.person import person as person

WHOLE_LIFE = [
    "registered", "prepped", "prepped", "prepped", "prepped", "prepped",
    "stretched", "staged", "surveyed", "glued", "released",
    "surveyed", "imaged", "printed", "to_reclaim", "reclaimed",
    "surveyed", "damaged", "stripped", "retired",
]  # fmt: skip


def add_mesh_and_roll(person: Person) -> None:
    """The name as bought fills count and colour; thread, target and limit are the shop's own."""
    person.press("Ctrl+7", "Ctrl+N")
    person.type("230 yellow")
    person.fill(H="48", T="25", L="18")
    person.press("Return")
    assert person.form is None
    person.press("F2")
    person.fill(W="1100", L="30", O="L-41")
    person.press("Return")
    with person.desk.read() as reader:
        (roll,) = reader.rolls()
    assert (roll.width_mm, roll.on_hand_mm, roll.lot) == (1100, 30_000, "L-41")


def register(person: Person) -> str:
    """One bare frame with the shop's own label and its slot."""
    person.press("Ctrl+2", "Ctrl+N")
    person.fill(O="584 x 787", L="A-01", S="R1-01")
    person.press("Return")
    assert person.form is None
    rack = person.window.current
    assert isinstance(rack, Rack)
    (row,) = rack.model.rows
    return row.frame.code


def prep(person: Person, code: str) -> None:
    """Inspect by its key, skip the old glue for a reason, and the rest by the key for the next."""
    person.press("Ctrl+3", "F2", "F9", "Return", "Space", "Space", "Space")
    assert person.state(code) == "prepped"


def stretch(person: Person, code: str) -> None:
    """Into the clamps, a stage and its rest, ten numbers in the drawing, glue, release."""
    person.press("Ctrl+G")
    place = person.window.current
    assert isinstance(place, StretchingTable)
    person.press("Return", "Return")
    assert person.state(code) == "in_clamps"
    person.press("F3")
    person.type("22,5")
    person.press("Return")
    person.clock.go_on(minutes=15)
    person.press("F4")
    read_off(person, 25, 24.5)
    person.press("F5")
    person.fill(A="G-7", C="20")
    person.press("Return")
    assert person.state(code) == "curing"
    person.clock.go_on(minutes=25)
    person.press("F6")
    assert person.state(code) == "ready"


def read_off(person: Person, warp: float, weft: float) -> None:
    """Five points: a number and Enter, ten times."""
    for number in (warp, weft) * 5:
        person.type(f"{number:g}")
        person.press("Return")


def print_label(person: Person, paper: Path) -> None:
    """The labels of today's stretch, saved where the person says."""
    person.press("Ctrl+L")
    person.until(lambda: person.form is not None)
    person.press("Return")
    person.until(lambda: isinstance(person.form, QFileDialog))
    person.press("Ctrl+A")
    person.type(str(paper))
    person.press("Return")
    person.until(paper.exists)
    person.settle()


def read_printed(paper: Path) -> str:
    """Hold a scanner at the printed label."""
    with pdfium.PdfDocument(paper) as pdf:
        picture = pdf[0].render(scale=200 / 72).to_pil()
    (found,) = zxingcpp.read_barcodes(picture)
    return found.text


def scan_from_the_rack(person: Person, printed: str) -> None:
    """A scan opens the frame and leaves the half-typed filter as it was."""
    person.press("Ctrl+2", "F3")
    person.type("R1")
    field = person.focus
    assert isinstance(field, QLineEdit)
    person.scan(printed)
    assert person.frame_shown == printed
    assert field.text() == "R1"


def first_reading(person: Person, printed: str) -> None:
    """The day after: scan, ten numbers, the answer."""
    person.clock.go_on(days=1)
    person.press("Ctrl+5")
    person.scan(printed)
    read_off(person, 24.5, 24)
    place = person.window.current
    assert isinstance(place, TensionRound)
    assert place.verdict.judged is not None
    assert place.verdict.judged.answer == "holds"
    assert "24.3" in place.verdict.words or "24.2" in place.verdict.words


def print_a_job(person: Person, printed: str) -> None:
    """Imaged, printed and put aside for the washout, each by one key of the frame's page."""
    person.press("Ctrl+1")
    person.scan(printed)
    person.press("I")
    person.type("Harbour fair")
    person.press("Return", "N")
    person.type("240")
    person.press("Return", "Q")
    assert person.state(printed) == "to_reclaim"


def reclaim(person: Person, printed: str) -> None:
    """It waits in the queue; haze remover first, then the scan is the reclaim."""
    person.press("Ctrl+6")
    place = person.window.current
    assert isinstance(place, Washout)
    assert [w.frame.code for w in place.queue.waiting] == [printed]
    person.press("F3")
    person.scan(printed)
    assert place.queue.waiting == []
    assert person.state(printed) == "ready"


def find_it_slack(person: Person, printed: str) -> None:
    """Weeks later the round finds it below its limit, and Today says so."""
    person.clock.go_on(days=20)
    person.press("Ctrl+5")
    person.scan(printed)
    read_off(person, 17, 16.5)
    place = person.window.current
    assert isinstance(place, TensionRound)
    assert place.verdict.judged is not None
    assert place.verdict.judged.answer == "below"
    person.press("Ctrl+1")
    today = person.window.current
    assert isinstance(today, Today)
    assert today._list is not None
    assert ("below", printed) in [(line.mark, line.name) for line in today._list.lines]


def end_it(person: Person, printed: str) -> None:
    """A tear ends the mesh life; the cloth comes off, and a bent bar ends the frame's."""
    person.scan(printed)
    person.press("D")
    person.type("lower left")
    person.press("Return")
    assert person.state(printed) == "pulled"
    person.press("T", "X")
    person.type("bent bar")
    person.press("Return")
    assert person.state(printed) == "retired"


@pytest.mark.timeout(90)
def test_a_frame_lives_its_whole_life_in_the_window(
    person: Person, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Registered, prepped, stretched, labelled, read, printed, reclaimed, worn out, retired.

    Only keys reach the window, and the label that is scanned is the one that was printed.
    """
    opened: list[Path] = []
    monkeypatch.setattr(printing, "open_file", lambda path: opened.append(path) or True)
    paper = tmp_path / "label.pdf"
    add_mesh_and_roll(person)
    code = register(person)
    prep(person, code)
    stretch(person, code)
    print_label(person, paper)
    assert opened == [paper]
    printed = read_printed(paper)
    assert printed == code
    scan_from_the_rack(person, printed)
    first_reading(person, printed)
    print_a_job(person, printed)
    reclaim(person, printed)
    find_it_slack(person, printed)
    end_it(person, printed)
    assert person.refused == []
    assert_the_journal_is_whole(person, code)
    assert_mesh_is_tallied(person)
    person.press("Ctrl+Z")
    assert person.state(code) == "bare"
    assert person.kinds(code) == [*WHOLE_LIFE, "withdrawn"]


def assert_the_journal_is_whole(person: Person, code: str) -> None:
    """Every step is there once, in order, with its details; the list says what the journal says."""
    assert person.kinds(code) == WHOLE_LIFE
    with person.desk.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        journal = reader.journal(frame.id)
    assert lifecycle.fold(frame.kind, journal) == frame.state
    assert person.desk.shop.check(now=person.clock.now()) == []
    told = [event.payload for event in journal]
    steps = [(p.step, p.result, p.reason) for p in told if isinstance(p, Prepped)]
    assert steps == [
        ("inspect", "done", ""),
        ("old_glue", "skipped", "new frame, no old glue"),
        ("abrade", "done", ""),
        ("corners", "done", ""),
        ("degrease", "done", ""),
    ]
    assert [(p.tension_n_per_cm, p.rest_minutes) for p in told if isinstance(p, Staged)] == [
        (22.5, 15)
    ]
    surveys = [(p.moment, len(p.readings)) for p in told if isinstance(p, Surveyed)]
    assert surveys == [("before_glue", 10), ("after_release", 10), ("in_service", 10)]
    assert [p.adhesive_lot for p in told if isinstance(p, Glued)] == ["G-7"]
    assert [p.impressions for p in told if isinstance(p, Printed)] == [240]
    assert [p.haze_remover for p in told if isinstance(p, Reclaimed)] == [True]


def assert_mesh_is_tallied(person: Person) -> None:
    """One piece of the cloth was used; the shelf says so and the roll is shorter by it."""
    found = shelf(person.desk)
    (used,) = found.usage
    assert used.pieces == 1
    assert used.cut_mm == 30_000 - found.rolls[0].on_hand_mm > 0
    person.press("Ctrl+7")
    place = person.window.current
    assert isinstance(place, MeshShelf)
    assert list(place.usage.rows) == list(found.usage)
