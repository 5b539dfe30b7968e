"""Papers say what the shop knows, in the shop's units, and judge by the shop's thresholds."""

from __future__ import annotations

import datetime as dt
import io

import pypdf
import pytest

from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.events import PAYLOADS, Damaged, Event, Payload, Prepped
from framekeeper.services import check, history, marks, meshes, prep, register, stretch, washout
from framekeeper.services.desk import Desk
from framekeeper.services.papers import (
    LabelSetup,
    due_sheet,
    due_sheet_pdf,
    labels,
    labels_pdf,
    round_sheet,
    round_sheet_pdf,
)
from framekeeper.services.record import When
from framekeeper.services.settings import change_settings
from framekeeper.services.telling import Names, tell
from framekeeper.services.tension_paper import tension_sheet, tension_sheet_pdf
from framekeeper.services.wording import PlainWording
from tests.fakes import FakeClock

MESH = "90-48 yellow"
NOW = dt.datetime(2025, 3, 3, 7, 10, tzinfo=dt.UTC)
WORDING = PlainWording()


def at(day: str) -> dt.datetime:
    return dt.datetime.fromisoformat(day).replace(tzinfo=dt.UTC)


@pytest.fixture
def rack(desk: Desk) -> Desk:
    """A mesh with a target of 25 and a limit of 18; screens R1 and R2, a bare frame B1."""
    facts = meshes.facts_from_text(MESH)
    rules = MeshRules(target=25, limit=18)
    meshes.add_mesh_type(
        desk,
        meshes.MeshTypeFacts(
            facts.name, facts.count_as_bought, facts.count_unit, facts.threads_per_cm,
            facts.thread_um, facts.colour, rules,
        ),
    )  # fmt: skip
    january = When(at("2025-01-06"))
    for label, slot in (("R1", "B-2"), ("R2", "A-1")):
        register.register(
            desk,
            [register.NewFrame(584.2, 787.4, own_label=label, slot=slot)],
            found=register.FoundMesh(MESH, 3, at("2025-01-06"), 24.0),
            when=january,
        )
    register.register(desk, [register.NewFrame(584.2, 787.4, own_label="B1")])
    return desk


def texts(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def read(desk: Desk, frame: str, *numbers: float, day: str | None = None) -> None:
    when = When(at(day)) if day else When()
    check.survey(desk, frame, check.pairs_to_request(numbers), when=when)


# labels


def test_a_label_says_what_the_hand_at_the_rack_needs(rack: Desk) -> None:
    """The bare frame's label leaves out what it does not have."""
    screen, _, bare = labels(rack, PlainWording(length_unit="inch"))
    assert (screen.code, screen.own_label, screen.mesh) == ("FK0001R", "R1", MESH)
    assert (screen.size, screen.stretched_on, screen.target) == (
        "23 x 31 in",
        "2025-01-06",
        "24.0 N/cm",
    )
    assert (bare.mesh, bare.stretched_on, bare.target) == ("", "", "")


def test_labels_for_all_leave_retired_frames_out(rack: Desk) -> None:
    """A retired frame gets a label only if it is named."""
    marks.retire(rack, ["B1"], "bent")
    assert [label.own_label for label in labels(rack, WORDING)] == ["R1", "R2"]
    assert [label.own_label for label in labels(rack, WORDING, ["B1"])] == ["B1"]


def test_labels_come_on_the_shops_paper(rack: Desk) -> None:
    """A4 unless the shop prints on Letter or the person names another format."""
    change_settings(rack, paper="letter")
    for setup, inches in ((None, (8.5, 11)), (LabelSetup("a4_2x7"), (8.27, 11.69))):
        box = pypdf.PdfReader(io.BytesIO(labels_pdf(rack, WORDING, None, setup))).pages[0].mediabox
        assert (float(box.width) / 72, float(box.height) / 72) == pytest.approx(inches, abs=0.01)


def test_labels_that_cannot_be_printed_are_refused(desk: Desk) -> None:
    with pytest.raises(NotValid, match="no label"):
        labels_pdf(desk, WORDING)
    with pytest.raises(NotFound):
        labels_pdf(desk, WORDING, ["nobody"])


# the due sheet and the round sheet


def test_the_due_sheet_follows_the_walk_through_the_shop(rack: Desk) -> None:
    """Each task stands at its place with its reason; what was due before today is late."""
    change_settings(rack, shop_name="Harbour Lane Prints")
    read(rack, "R1", 17, 17)
    sheet = due_sheet(rack, WORDING)
    by_place = {place.place: place.tasks for place in sheet.places}
    assert list(by_place) == [
        "Rack", "Stretching table", "Tension round", "Washout", "Prep bench",
    ]  # fmt: skip
    below = by_place["Rack"][0]
    assert (below.own_label, below.slot, below.is_late) == ("R1", "B-2", False)
    assert below.reason == "tension 17.0 N/cm, limit 18.0"
    first = by_place["Tension round"][0]
    assert (first.own_label, first.due, first.is_late) == ("R2", "2025-01-06", True)
    text = texts(due_sheet_pdf(rack, WORDING))
    assert "Harbour Lane Prints" in text
    assert "tension 17.0 N/cm, limit 18.0" in text


def test_the_round_sheet_is_in_walking_order(rack: Desk) -> None:
    """By slot; only screens that can be read; the pattern of the shop says how many points."""
    change_settings(rack, point_pattern="9")
    read(rack, "R1", 22, 21)
    sheet = round_sheet(rack, WORDING, meter="Round")
    assert [(line.slot, line.own_label) for line in sheet.lines] == [("A-1", "R2"), ("B-2", "R1")]
    assert (sheet.points, sheet.meter) == (9, "Round")
    line = sheet.lines[1]
    assert (line.target, line.limit, line.last) == ("24.0 N/cm", "18.0 N/cm", "21.5 N/cm")
    assert [line.own_label for line in round_sheet(rack, WORDING, ["R1", "B1"]).lines] == ["R1"]
    assert "R2" in texts(round_sheet_pdf(rack, WORDING))


# the tension sheet


def walk_through_a_stretch(desk: Desk, clock: FakeClock) -> None:
    """Pull R1, strip it and stretch it anew, with a survey in the clamps."""
    read(desk, "R1", 22, 21, day="2025-02-01")
    read(desk, "R1", 17.5, 18.5, day="2025-02-20")
    marks.pull(desk, ["R1"], "slack")
    prep.strip(desk, ["R1"])
    prep.prep_all(desk, ["R1"])
    stretch.stretch(desk, ["R1"], stretch.StretchRequest(MESH, warp_along="short"))
    read(desk, "R1", 28, 28)
    stretch.glue(desk, ["R1"], cure=dt.timedelta(minutes=20))
    stretch.release(desk, ["R1"])
    clock.go_on(hours=1)
    read(desk, "R1", 25, 24, 24.5, 24, 24, 24, 25, 24, 17.9, 24)


def test_the_tension_sheet_tells_the_history_of_every_mesh(rack: Desk, clock: FakeClock) -> None:
    """Readings in the clamps stay out of the chart; a release begins a new line."""
    walk_through_a_stretch(rack, clock)
    sheet = tension_sheet(rack, WORDING, "R1")
    facts = {fact.name: fact.value for fact in sheet.facts}
    assert facts["Mesh"] == MESH
    assert (facts["Target"], facts["Limit"], facts["Stretches of this frame"]) == (
        "25.0 N/cm", "18.0 N/cm", "2",
    )  # fmt: skip
    assert [round(point.tension, 2) for point in sheet.chart.points] == [21.5, 18.0, 23.64]
    assert [point.day for point in sheet.chart.points][:2] == [26, 45]
    assert [mark.text for mark in sheet.chart.marks if mark.begins_anew] == ["found", "released"]
    assert [line.verdict for line in sheet.surveys] == [
        "outside", "no verdict", "no verdict", "no verdict",
    ]  # fmt: skip
    assert facts["Last survey"].startswith(
        "outside. The bottom left corner is 3.4 N/cm lower than the rest. Likely cause: mesh that "
    )
    assert [line.moment for line in sheet.surveys][1] == "in the clamps"
    text = texts(tension_sheet_pdf(rack, WORDING, "R1"))
    assert "stretched: 90-48 yellow, target 25.0 N/cm" in text


def test_the_drawing_shows_the_last_survey_where_it_was_read(rack: Desk, clock: FakeClock) -> None:
    """Five points: centre and corners; the point under the limit is marked, the others hold."""
    walk_through_a_stretch(rack, clock)
    drawing = tension_sheet(rack, WORDING, "R1").drawing
    assert [(p.warp, p.weft, p.answer) for p in drawing.points] == [
        ("25.0", "24.0", "holds"),
        ("24.5", "24.0", "holds"),
        ("24.0", "24.0", "holds"),
        ("25.0", "24.0", "holds"),
        ("17.9", "24.0", "below"),
    ]
    assert (drawing.points[0].x_mm, drawing.points[0].y_mm) == pytest.approx((292.1, 393.7))
    assert drawing.cloth == "yellow"
    assert not drawing.warp_is_upright  # the warp follows the short side of an upright frame


@pytest.mark.parametrize(("points", "drawn"), [(1, 1), (3, 3), (6, 6), (9, 9), (10, 0)])
def test_a_survey_is_drawn_on_the_pattern_that_has_room(
    rack: Desk, points: int, drawn: int
) -> None:
    """More points than any pattern has are told, not drawn."""
    read(rack, "R2", *[22.0] * (2 * points))
    sheet = tension_sheet(rack, WORDING, "R2")
    assert len(sheet.drawing.points) == drawn
    assert ("no pattern" in sheet.drawing_text) == (drawn == 0)


def test_a_frame_without_mesh_has_a_sheet_too(rack: Desk) -> None:
    sheet = tension_sheet(rack, WORDING, "B1")
    assert not sheet.drawing.has_mesh
    assert sheet.chart.points == ()
    assert "No tension has been read yet" in texts(tension_sheet_pdf(rack, WORDING, "B1"))


def test_what_was_taken_back_stays_on_the_sheet(rack: Desk) -> None:
    marks.hold(rack, ["R1"], "look at it", when=When(note="by lamp"))
    history.undo(rack)
    line = tension_sheet(rack, WORDING, "R1").journal[0]
    assert line.what == "taken back: put on hold: look at it (by lamp)"
    assert (line.when, line.by) == ("2025-03-03 07:10", "Maren")


# telling


def test_every_kind_of_event_is_told(rack: Desk, clock: FakeClock) -> None:
    """A walk that leaves no kind out; each sentence can be written with its values."""
    walk_through_a_stretch(rack, clock)
    washout.image(rack, ["R1"], job="posters")
    washout.printed(rack, ["R1"], impressions=300)
    washout.queue(rack, ["R1"])
    washout.reclaim(rack, ["R1"], haze_remover=True, findings="ghost")
    washout.inspect(rack, ["R1"], findings="pinhole")
    what = [line.what for line in tension_sheet(rack, WORDING, "R1").journal]
    assert what[:5] == [
        "inspected: pinhole",
        "reclaimed with haze remover: ghost",
        "queued for the washout",
        "printed 300 impressions",
        "imaged for posters",
    ]
    assert what[-1] == "registered as found, with 90-48 yellow after 3 reclaims"


@pytest.mark.parametrize(
    ("payload", "told"),
    [
        (Prepped("old_glue", "skipped", "sound"), "prep: old glue off, skipped: sound"),
        (Prepped("inspect", "failed", "bow"), "prep: inspect, failed: bow"),
        (Damaged("hole", mesh_is_done=False), "damaged: hole"),
        (PAYLOADS["found_with_mesh"](1), "registered as found, with 230"),
        (PAYLOADS["found_with_mesh"](2), "registered as found, with —"),
        (PAYLOADS["sent_out"]("Lund"), "sent out to Lund"),
        (PAYLOADS["sent_out"]("Lund", dt.date(2025, 3, 9)),
         "sent out to Lund, due back on 2025-03-09"),
        (PAYLOADS["received"](), "received"),
        (PAYLOADS["received"](1), "received with new mesh, 230"),
        (PAYLOADS["reserved"]("posters"), "reserved for posters"),
        (PAYLOADS["retensioned"](26.0), "retensioned, target 26.0 N/cm"),
        (PAYLOADS["missing"](), "reported missing"),
    ],
)  # fmt: skip
def test_an_event_is_told_in_one_sentence(payload: Payload, told: str) -> None:
    assert str(tell(Event(1, NOW, payload, NOW), Names({1: "230"}))) == told
