"""The page of lives in the real window: each number opens down to the frame's page at an event."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path
from threading import Event

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from framekeeper.domain.due import MeshRules
from framekeeper.services import (
    check,
    forecasts,
    lives,
    marks,
    meshes,
    prep,
    register,
    stretch,
    washout,
)
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.lives import KnownLives, LivesFound
from framekeeper.ui.places.findings import Findings
from framekeeper.ui.places.findings_page import FURTHER_PAGES
from framekeeper.ui.places.frame_page import FramePagePlace
from framekeeper.ui.places.lives_page import LivesPage
from framekeeper.ui.printing import save_lives_report
from framekeeper.ui.theme import Scheme
from tests.fakes import FakeClock, FakePrompter
from tests.ui.bench_shop import nameless
from tests.ui.person import Person
from tests.ui.person import furnish as furnish
from tests.ui.person import person as person

MESH, OTHER = "230 yellow", "110 white"


def screens(desk: Desk, mesh: str, count: int) -> list[str]:
    codes = list(register.register(desk, [register.NewFrame(584, 787)] * count).codes)
    prep.prep_all(desk, codes, skipped={"old_glue": "new frame"})
    stretch.stretch(desk, codes, stretch.StretchRequest(mesh))
    stretch.stage(desk, codes, tension_n_per_cm=27, rest_minutes=10)
    stretch.glue(desk, codes, cure=dt.timedelta(0), adhesive_lot="G-1")
    stretch.release(desk, codes)
    return codes


def shop(desk: Desk, clock: FakeClock) -> list[str]:
    """Eight screens of one mesh, of which six have ended, and three of another, one ended."""
    rules = MeshRules(target=25, limit=18)
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts(MESH, 230, "inch", 90.55, 48, "dyed", rules))
    meshes.add_mesh_type(desk, meshes.MeshTypeFacts(OTHER, 110, "inch", 43.3, 80, "white", rules))
    codes = screens(desk, MESH, 8) + screens(desk, OTHER, 3)
    clock.go_on(days=1)
    for code in codes[:8]:
        check.survey(desk, code, SurveyRequest((24.0,), (24.0,)))
    for day, code in enumerate(codes[:5]):
        clock.go_on(days=5)
        washout.reclaim(desk, codes[day + 1 : 8])
        marks.pull(desk, [code], "below the limit")
    marks.damage(desk, [codes[5]], "hole", mesh_is_done=True)
    marks.pull(desk, [codes[8]], "uneven")
    return codes


@pytest.fixture
def codes(person: Person) -> list[str]:
    made = shop(person.desk, person.clock)
    person.press("Ctrl+9", "Ctrl+T")
    person.until(lambda: bool(page(person).groups.rows))
    return made


def place(person: Person) -> Findings:
    """The place, though a frame's page may lie over it."""
    found = person.window.place("findings")
    assert isinstance(found, Findings)
    return found


def page(person: Person) -> LivesPage:
    found = place(person).page("lives")
    assert isinstance(found, LivesPage)
    return found


def opened(person: Person) -> list[str]:
    """The frames behind the number that is open."""
    return [row.code for row in page(person).behind.rows.rows]


def is_open(person: Person) -> bool:
    return page(person).behind.isVisible()


def shown_event(person: Person) -> int:
    """The line of the journal that the frame's page stands at."""
    frame = person.window.current
    assert isinstance(frame, FramePagePlace)
    line = frame.journal.table.chosen
    assert line is not None
    return line.event.event_id


def test_an_empty_shop_is_told_where_a_life_begins(person: Person) -> None:
    person.press("Ctrl+9", "Ctrl+T")
    person.until(lambda: page(person).found is not None)
    assert not page(person).groups.isVisible()
    assert not page(person).can_print
    person.press("F2")
    assert person.window.current is person.window.place("stretching")


def test_groups_tell_counts_and_estimates_only_from_five_ends(
    person: Person, codes: list[str]
) -> None:
    few, many = page(person).groups.rows
    assert (str(few.label.name), len(few.rows), len(few.ended), few.curve) == (OTHER, 3, 1, ())
    assert (str(many.label.name), len(many.rows), len(many.ended)) == (MESH, 8, 6)
    assert "Fewer than 5 ends are dots and no curve. Filled: ended." in page(person).chart.told
    person.press("Down")
    assert f"{MESH}: Half of them outlast 21 days" in page(person).chart.told
    assert "Weibull shape" in page(person).chart.told


def test_each_number_opens_to_its_lives_and_then_to_the_frame_at_the_event(
    person: Person, codes: list[str]
) -> None:
    """Walk over all numbers of a row by keys; each list holds as many as the number says."""
    table = page(person).groups
    person.press("Down", "Home")
    group = table.current_row
    assert group is not None
    wanted = {
        "lives": 8, "ended": 6, "on": 2, "out_of_sight": 0, "left_out": 0, "middle": 8, "law": 8,
        "left": 2,
    }  # fmt: skip
    model = table.model()
    for key, count in wanted.items():
        person.press("Right")
        said = model.index(1, table.currentIndex().column()).data()
        person.press("Return")
        assert is_open(person), key
        assert len(opened(person)) == count, key
        if key in ("lives", "ended", "on", "out_of_sight", "left_out"):
            assert said == str(count)
        person.press("Esc")
        assert person.focus is table
    person.press("Home", "Right", "Right", "Return")
    assert set(opened(person)) == set(codes[:6])
    assert page(person).behind.words.endswith(
        f"{codes[0]}, {MESH}: ended at 6 days: pulled: below the limit. "
        "Reclaims: 0, impressions here: 0."
    )
    person.press("Return")
    person.until(lambda: person.frame_shown == opened(person)[0])
    row = page(person).behind.rows.rows[0]
    assert shown_event(person) == row.event_id
    assert person.kinds(row.code)[-1] == "pulled"
    person.press("Esc")
    assert is_open(person)
    assert person.focus is page(person).behind.rows


def test_an_event_further_down_opens_the_frame_there(person: Person, codes: list[str]) -> None:
    person.press("Down", "Return", "Tab", "Down", "Down")
    behind = page(person).behind
    assert person.focus is behind.events
    events = [str(e.said) for e in behind.events.rows]
    assert events[:4] == ["stretched", "pulled up a stage", "glued", "released from the clamps"]
    wanted = behind.events.rows[2]
    person.press("Return")
    person.until(lambda: person.frame_shown == codes[0])
    assert shown_event(person) == wanted.event_id


def test_causes_open_to_their_ends(person: Person, codes: list[str]) -> None:
    causes = page(person).causes
    assert [(str(c.cause.kind), len(c.rows)) for c in causes.rows] == [
        ("below_limit", 5), ("damaged", 1), ("uneven", 1),
    ]  # fmt: skip
    causes.setFocus()
    person.press("Return")
    assert opened(person) == codes[:5]
    assert "Ended of: pulled: below the limit" in page(person).behind.words
    person.press("Esc")
    assert person.focus is causes


def test_sentences_with_numbers_open_too(person: Person, codes: list[str]) -> None:
    """The comparison to all lives that were compared; a click does what Enter does."""
    comparison = page(person).comparison
    assert "2 groups compared over lives: 11, ends: 7" in comparison.text()
    assert comparison.accessibleName() == comparison.text()
    comparison.setFocus()
    person.press("Return")
    assert sorted(opened(person)) == sorted(codes)
    person.press("Esc")
    assert person.focus is comparison
    QTest.mouseClick(comparison, Qt.MouseButton.LeftButton)
    assert is_open(person)


def test_the_curve_is_told_step_by_step_and_opens(person: Person, codes: list[str]) -> None:
    person.press("Down")
    chart = page(person).chart
    chart.setFocus()
    person.press("Right")
    assert chart.told.startswith("At 6 days: 88 % outlast it")
    assert "Under watch: 8, ended there: 1." in chart.told
    person.press("Right", "Left", "Left")
    assert chart.told.startswith("At 6 days")
    assert chart.accessibleDescription() == chart.told
    person.press("Return")
    assert len(opened(person)) == 8


def test_the_choosers_ask_anew_by_keys(person: Person, codes: list[str]) -> None:
    person.press("Alt+U", "Down")
    person.until(lambda: found(person).unit == "reclaims")
    assert [row.span for row in page(person).groups.rows[0].rows] == [
        (0, 0, True), (0, 0, False), (0, 0, False),
    ]  # fmt: skip
    person.press("Alt+S", "Home")
    person.until(lambda: found(person).by == "all")
    (group,) = page(person).groups.rows
    assert len(group.rows) == 11
    person.press("Alt+M", "End")
    person.until(lambda: found(person).mesh == MESH)
    (group,) = page(person).groups.rows
    assert len(group.rows) == 8


def found(person: Person) -> LivesFound:
    answer = page(person).found
    assert answer is not None
    return answer


def test_only_the_answer_to_the_last_question_is_shown(
    person: Person, codes: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer to the first of two quick questions is dropped, though it was under way."""
    begun, go_on, real = Event(), Event(), lives.work_out
    shown: list[str] = []

    def slow(known: KnownLives, **asked: str) -> LivesFound:
        if asked["by"] == "lot":
            begun.set()
            go_on.wait(10)
        return real(known, **asked)  # type: ignore[arg-type]

    monkeypatch.setattr(lives, "work_out", slow)
    page(person).summed_up.connect(shown.append)
    page(person).split.setCurrentIndex(page(person).split.findData("lot"))
    person.until(begun.is_set)
    page(person).split.setCurrentIndex(page(person).split.findData("who"))
    go_on.set()
    person.until(lambda: bool(shown))
    person.settle()
    # what other benches did may be read meanwhile, and answers the same question once more
    assert {line.split(":")[0] for line in shown} == {"Lives in days, by who stretched it"}


def test_what_happens_meanwhile_is_taken_in(person: Person, codes: list[str]) -> None:
    """Also by another hand; the number that was chosen stays chosen."""
    person.press("Down", "Right")
    person.bench.change(lambda desk: marks.pull(desk, [codes[6]], "print faults"))
    person.until(lambda: len(page(person).groups.rows[1].ended) == 7)
    table = page(person).groups
    assert table.current_row is table.rows[1]
    assert table.currentIndex().column() == 2
    person.press("Ctrl+Z")
    person.until(lambda: len(page(person).groups.rows[1].ended) == 6)


def test_an_open_number_is_read_again_too(person: Person, codes: list[str]) -> None:
    """And the chosen row stays chosen; a number that is there no more closes."""
    person.press("Down", "Right", "Return")
    assert len(opened(person)) == 6
    person.press("Down")
    chosen = page(person).behind.rows.chosen()[0].key
    person.bench.change(lambda desk: marks.pull(desk, [codes[6]], "print faults"))
    person.until(lambda: len(opened(person)) == 7)
    assert [row.key for row in page(person).behind.rows.chosen()] == [chosen]
    person.press("Esc")
    causes = page(person).causes
    causes.choose_number(causes.rows[-1].cause, "ends")
    causes.setFocus()
    person.press("Return")
    assert opened(person) == [codes[8]]
    person.press("Ctrl+Z", "Ctrl+Z")
    person.until(lambda: not is_open(person))


def test_the_pages_turn_and_each_keeps_its_keys(person: Person, codes: list[str]) -> None:
    forecasts.refresh(person.desk)
    person.press(*["Ctrl+T"] * len(FURTHER_PAGES))  # past the last page to the first
    person.until(lambda: bool(place(person).meshes.rows))
    assert place(person).meshes.isVisible()
    assert not page(person).isVisible()
    person.press("Ctrl+B")
    behind = place(person).behind
    assert [len(row.events) for row in behind.rows.rows] == [1] * 8
    (mesh,) = place(person).meshes.rows
    assert sum(len(row.events) for row in behind.rows.rows) == mesh.readings
    assert len(behind.rows.rows) == mesh.stretches
    person.press("Return")
    person.until(lambda: person.frame_shown == codes[0])
    assert shown_event(person) == behind.rows.rows[0].event_id
    person.press("Esc", "Esc")
    assert person.focus is place(person).meshes
    person.press("Ctrl+T")
    assert page(person).isVisible()


def test_what_is_shown_is_printed(person: Person, codes: list[str], tmp_path: Path) -> None:
    person.press("Down")
    target = tmp_path / "lives.pdf"
    prompter = FakePrompter([target])
    group = page(person).groups.current_row
    save_lives_report(person.bench, person.window, found(person), group, prompter=prompter)
    person.until(target.exists)
    said = " ".join(
        " ".join(sheet.extract_text().split())
        for sheet in PdfReader(io.BytesIO(target.read_bytes())).pages
    )
    for words in (
        "How long mesh lasts",
        f"{MESH} 8 6 2 0 0",
        f"{OTHER} 3 1 2 0 0",
        "pulled: below the limit",
        "5 (71 %)",
        "Half of them outlast 21 days",
        "2 groups compared over lives: 11, ends: 7",
        "A life runs from the release",
    ):
        assert words in said, words


@pytest.mark.parametrize("scheme", list(Scheme))
def test_everything_has_a_name_and_can_be_reached(
    person: Person, codes: list[str], scheme: Scheme
) -> None:
    person.bench.theme.choose(scheme)
    shown = page(person)
    assert nameless(place(person)) == []
    reached = set()
    for _ in range(24):
        reached.add(person.focus)
        person.press("Tab")
    assert {shown.split, shown.unit, shown.mesh, shown.chart, shown.causes, shown.groups,
            shown.comparison} <= reached  # fmt: skip
    shown.split.setFocus()
    person.press("Tab", "Tab", "Tab")
    assert person.focus is shown.groups
    person.press("Return")
    assert nameless(shown.behind) == []
