"""A shop's own register comes in whole, held against the shop, and goes out by one undo."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Sequence
from pathlib import Path

import pytest

from framekeeper.domain.errors import Conflict, NotValid
from framekeeper.domain.events import FoundWithMesh, Surveyed
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.services import check, history, meshes, meters, register
from framekeeper.services.desk import Desk
from framekeeper.services.exchange import (
    ImportChoices,
    ImportPlan,
    plan_import,
    run_import,
    tell_problem,
)
from framekeeper.services.frame_page import FramePage, frame_page
from framekeeper.services.record import When
from tests.fakes import FakeClock

DATA = Path(__file__).parents[1] / "data"
COLUMNS = (
    "Frame", "Size", "Mesh", "Target", "Limit", "Reclaims", "Stretched", "State", "Note",
    "Read on", "Warp", "Weft", "Meter",
)  # fmt: skip
# The file under tests/data was made for this day; before it some of its dates would lie ahead.
REGISTER_DAY = dt.datetime(2026, 11, 25, 9, 0, tzinfo=dt.UTC)


def row(frame: str, **told: object) -> dict[str, object]:
    return {"Frame": frame, **{name.replace("_", " "): value for name, value in told.items()}}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "our screens.csv"


def write(path: Path, rows: Sequence[dict[str, object]]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as out:
        writer = csv.DictWriter(out, COLUMNS, delimiter=";")
        writer.writeheader()
        writer.writerows(rows)
    return path


def plan(desk: Desk, path: Path, *rows: dict[str, object]) -> ImportPlan:
    return plan_import(desk, write(path, rows))


def take(desk: Desk, path: Path, *rows: dict[str, object]) -> ImportPlan:
    planned = plan(desk, path, *rows)
    run_import(desk, planned)
    return planned


def reasons(planned: ImportPlan) -> list[str]:
    return [str(tell_problem(problem)) for problem in planned.problems]


def frames(desk: Desk) -> list[FrameRecord]:
    with desk.read() as reader:
        return reader.frames(FrameFilter(with_retired=True))


def page(desk: Desk, code: str) -> FramePage:
    return frame_page(desk, code)


def facts(desk: Desk) -> tuple[int, dict[str, int]]:
    with desk.read() as reader:
        return reader.last_operation_id(), reader.counts()


@pytest.mark.parametrize("name", ["register_150.csv", "register_150.xlsx"])
def test_a_real_register_of_150_frames_and_800_readings(
    desk: Desk, clock: FakeClock, name: str
) -> None:
    """All good rows come in; the bad ones are named; one undo takes everything back."""
    clock.moment = REGISTER_DAY
    planned = plan_import(desk, DATA / name)
    assert (len(planned.frames), planned.survey_count) == (150, 800)
    assert planned.problems
    with pytest.raises(NotValid, match="cannot be taken"):
        run_import(desk, planned)
    assert facts(desk) == (0, {"frames": 0, "events": 0, "readings": 0})
    run_import(desk, planned, partial=True)
    assert len(frames(desk)) == 150
    assert history.names(desk).undo.subject == name  # type: ignore[union-attr]
    history.undo(desk)
    assert frames(desk) == []
    with desk.read() as reader:
        assert reader.mesh_types() == []
        assert reader.meters() == []
    history.redo(desk)
    assert len(frames(desk)) == 150
    assert desk.shop.check(now=clock.now()) == []


def test_a_frame_with_mesh_is_found_and_a_bare_one_registered(desk: Desk, file: Path) -> None:
    """The mesh life begins when it was stretched; what the row tells is kept."""
    take(
        desk,
        file,
        row("A", Size="23x31in", Mesh="90-48 yellow", Target=25, Limit=18, Reclaims=7,
            Stretched="2025-01-10", Note="long bar", Read_on="2025-01-10", Warp=24, Weft=23),
        row("A", Read_on="2025-02-10", Warp=22, Weft=21.5),
        row("B", Size="584x787mm"),
    )  # fmt: skip
    a, b = page(desk, "A"), page(desk, "B")
    noon = dt.datetime(2025, 1, 10, 12, tzinfo=dt.UTC)
    found = a.standing[0]
    assert isinstance(found.payload, FoundWithMesh)
    assert (found.happened_at, found.note) == (noon, "long bar")
    assert (found.payload.mesh_since, found.payload.reclaims_so_far) == (noon, 7)
    assert a.target == 25
    assert [(s.event.happened_at, s.survey.moment) for s in a.surveys] == [
        (noon, "after_release"),
        (dt.datetime(2025, 2, 10, 12, tzinfo=dt.UTC), "in_service"),
    ]
    assert b.frame.state.state == "bare"
    assert b.frame.width_mm == 584
    mesh = a.mesh
    assert mesh is not None
    assert (mesh.name, mesh.colour, mesh.rules.target, mesh.rules.limit) == (
        "90-48 yellow", "dyed", 25, 18,
    )  # fmt: skip
    assert mesh.to_be_completed


def test_registration_is_never_later_than_the_first_reading(desk: Desk, file: Path) -> None:
    """Without a day of stretching the earliest reading dates the registration."""
    take(
        desk,
        file,
        row("A", Size="23x31in", Mesh="230", Read_on="2025-02-10", Warp=22, Weft=21),
        row("A", Read_on="2025-01-20", Warp=23, Weft=22),
    )
    first = page(desk, "A").standing[0]
    assert first.happened_at == dt.datetime(2025, 1, 20, 12, tzinfo=dt.UTC)
    assert isinstance(first.payload, FoundWithMesh)
    assert first.payload.mesh_since is None


def test_a_reading_of_this_morning_is_not_ahead(desk: Desk, clock: FakeClock, file: Path) -> None:
    """Noon stands for a date alone, but today it is now."""
    take(desk, file, row("A", Size="23x31in", Mesh="230", Read_on="2025-03-03", Warp=22, Weft=21))
    assert page(desk, "A").surveys[0].event.happened_at == clock.now()


def test_the_shops_zone_decides_which_day_noon_belongs_to(
    desk: Desk, clock: FakeClock, file: Path
) -> None:
    clock.where = dt.timezone(dt.timedelta(hours=9))
    take(desk, file, row("A", Size="23x31in", Mesh="230", Read_on="2025-02-10", Warp=22, Weft=21))
    at = page(desk, "A").surveys[0].event.happened_at
    assert at == dt.datetime(2025, 2, 10, 3, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("told", "state"),
    [("in use", "in_use"), ("to reclaim", "to_reclaim"), ("out", "out"), ("missing", "missing"),
     ("retired", "retired"), ("ready", "ready")],
)  # fmt: skip
def test_the_state_in_the_register_is_the_state_in_the_shop(
    desk: Desk, file: Path, told: str, state: str
) -> None:
    take(desk, file, row("A", Size="23x31in", Mesh="230", State=told, Read_on="2025-02-10",
                         Warp=22, Weft=21))  # fmt: skip
    assert page(desk, "A").settled.state == state


REFUSED_ROWS = {
    "older than the mesh": row(
        "A", Size="23x31in", Mesh="230", Stretched="2025-02-11", Read_on="2025-02-10", Warp=22
    ),
    "bare and cannot be surveyed": row("A", Size="23x31in", Read_on="2025-02-10", Warp=22),
    "size of this frame is not told": row("A", Mesh="230"),
    "Neither the file nor the shop": row("A", Read_on="2025-02-10", Warp=22),
    "is bare, and names a mesh": row("A", Size="23x31in", Mesh="230", State="bare"),
    "but names no mesh": row("A", Size="23x31in", State="in use"),
    "has the code FK0009B": row("FK0009B", Size="23x31in", Mesh="230"),
    "No reading of a mesh": row("A", Size="23x31in", Mesh="banana"),
}


@pytest.mark.parametrize("reason", REFUSED_ROWS)
def test_a_row_that_cannot_be_stops_all_or_stays_out(desk: Desk, file: Path, reason: str) -> None:
    """The good row beside it is taken only if the person says so."""
    good = row("Z", Size="23x31in", Mesh="305")
    planned = plan(desk, file, REFUSED_ROWS[reason], good)
    assert any(reason in text for text in reasons(planned)), reasons(planned)
    assert all(problem.row == 2 for problem in planned.problems)
    before = facts(desk)
    with pytest.raises(NotValid, match="row 2"):
        run_import(desk, planned)
    assert facts(desk) == before
    run_import(desk, planned, partial=True)
    labels = {frame.own_label for frame in frames(desk)}
    assert "Z" in labels


def test_the_readings_of_a_frame_that_stays_out_stay_out(desk: Desk, file: Path) -> None:
    planned = plan(
        desk,
        file,
        row("A", Mesh="230", Read_on="2025-02-10", Warp=22, Weft=21),
        row("A", Read_on="2025-02-11", Warp=22, Weft=21),
    )
    assert planned.is_empty
    assert [problem.row for problem in planned.problems] == [2, 2, 3]


def test_a_register_that_has_grown_brings_only_what_is_new(desk: Desk, file: Path) -> None:
    """Frames and readings that the shop has are told and left out; the new reading is taken."""
    old = row("A", Size="23x31in", Mesh="230", Read_on="2025-02-10", Warp=22, Weft=21)
    take(desk, file, old)
    planned = plan(desk, file, old, row("A", Read_on="2025-02-20", Warp=21, Weft=20.5))
    assert [text.split(": ", 1)[1] for text in reasons(planned)] == [
        "The shop has this frame already.",
        "The shop has this reading already.",
    ]
    run_import(desk, planned, partial=True)
    assert [s.figures.mean for s in page(desk, "A").surveys] == [21.5, 20.75]


def test_readings_join_a_frame_of_the_shop_by_code_or_label(
    desk: Desk, clock: FakeClock, file: Path
) -> None:
    """History decides: before the registration nothing was there to be read."""
    meshes.add_mesh_type(desk, meshes.facts_from_text("230"))
    january = When(dt.datetime(2025, 1, 15, 16, tzinfo=dt.UTC))
    new = [register.NewFrame(584, 787, own_label="Blue 7"), register.NewFrame(584, 787)]
    register.register(desk, new, found=register.FoundMesh("230"), when=january)
    code = frames(desk)[1].code
    planned = plan(
        desk,
        file,
        row("blue 7", Read_on="2025-01-15", Warp=23, Weft=22),
        row("blue 7", Read_on="2025-01-14", Warp=23, Weft=22),
        row(code, Read_on="2025-02-01", Warp=21, Weft=20),
    )
    assert [problem.row for problem in planned.problems] == [3]
    assert "not registered" in reasons(planned)[0]
    run_import(desk, planned, partial=True)
    # the reading of the day itself cannot be earlier than the registration at four o'clock
    assert page(desk, "Blue 7").surveys[0].event.happened_at == january.happened_at
    assert page(desk, code).surveys[0].figures.mean == 20.5
    assert desk.shop.check(now=clock.now()) == []


def test_old_readings_may_come_in_before_newer_ones(desk: Desk, file: Path) -> None:
    """What is entered late falls into its place; the newest reading stays the last survey."""
    take(desk, file, row("A", Size="23x31in", Mesh="230", Stretched="2025-01-02"))
    check.survey(desk, "A", check.SurveyRequest((20,), (19,)))
    take(desk, file, row("A", Read_on="2025-01-20", Warp=24, Weft=23))
    told = page(desk, "A")
    assert [s.figures.mean for s in told.surveys] == [23.5, 19.5]
    assert told.settled.life is not None
    assert told.settled.life.survey is not None
    assert told.settled.life.survey.mean == 19.5


def test_one_cloth_has_one_name(desk: Desk, file: Path) -> None:
    """Spellings of one cloth are brought together; other grades and threads are other cloth."""
    planned = take(
        desk,
        file,
        row("1", Size="23x31in", Mesh="230 yellow"),
        row("2", Size="23x31in", Mesh="230Y"),
        row("3", Size="23x31in", Mesh="230"),
        row("4", Size="23x31in", Mesh="90T"),
        row("5", Size="23x31in", Mesh="90HD"),
        row("6", Size="23x31in", Mesh="90-48"),
        row("7", Size="23x31in", Mesh="90 - 48"),
    )
    assert [m.name for m in planned.mesh_types] == ["230 yellow", "230", "90T", "90HD", "90-48"]


def test_mesh_that_the_shop_knows_keeps_its_name_and_rules(desk: Desk, file: Path) -> None:
    facts_of_shop = meshes.facts_from_text("230Y")
    meshes.add_mesh_type(desk, facts_of_shop)
    planned = take(desk, file, row("1", Size="23x31in", Mesh="230 yellow", Target=25, Limit=18))
    assert planned.mesh_types == ()
    told = page(desk, "1")
    assert told.mesh is not None
    assert (told.mesh.name, told.mesh.rules.limit) == ("230Y", None)
    assert told.target == 25


def test_targets_and_limits_go_to_the_mesh_where_all_agree(desk: Desk, file: Path) -> None:
    planned = plan(
        desk,
        file,
        row("1", Size="23x31in", Mesh="230", Target=25, Limit=18),
        row("2", Size="23x31in", Mesh="230", Target=26, Limit=18),
        row("3", Size="23x31in", Mesh="305", Target=20, Limit=14),
        row("4", Size="23x31in", Mesh="305", Target=20, Limit=15),
        row("5", Size="23x31in", Mesh="156", Target=20, Limit=21),
    )
    rules = {m.name: (m.rules.target, m.rules.limit) for m in planned.mesh_types}
    assert rules == {"230": (None, 18), "305": (20, None), "156": (20, None)}
    assert [str(n) for n in planned.notes if "no single limit" in str(n)] == [
        "The file gives no single limit for mesh 305.",
        "The file gives no single limit for mesh 156.",
    ]


def test_meters_are_found_by_name_or_made(desk: Desk, file: Path) -> None:
    meters.add_meter(desk, meters.MeterFacts("Round", correction=-0.5))
    planned = take(
        desk,
        file,
        row("1", Size="23x31in", Mesh="230", Read_on="2025-02-10", Warp=22, Weft=21, Meter="round"),
        row("1", Read_on="2025-02-11", Warp=22, Weft=21, Meter="the old one"),
        row("1", Read_on="2025-02-12", Warp=22, Weft=21, Meter="The old one"),
    )
    assert planned.meters == ("the old one",)
    told = page(desk, "1")
    names = {m.id: m.name for m in told.meters}
    assert [
        (names[s.survey.meter_id or 0], s.survey.correction_n_per_cm) for s in told.surveys
    ] == [("Round", -0.5), ("the old one", 0.0), ("the old one", 0.0)]


def test_choices_settle_what_the_file_leaves_open(desk: Desk, file: Path) -> None:
    file.write_text("Frame;Size;Mesh;Tension\nA;60x80;110;22\n", encoding="utf-8")
    choices = ImportChoices(
        size_unit="cm", count_unit="cm", undated_readings_on=dt.date(2025, 2, 1)
    )
    run_import(desk, plan_import(desk, file, choices))
    told = page(desk, "A")
    assert told.frame.width_mm == 600
    assert told.mesh is not None
    assert told.mesh.threads_per_cm == 110
    survey = told.surveys[0].survey
    assert isinstance(survey, Surveyed)
    assert [r.direction for r in survey.readings] == ["not_told"]


def test_a_plan_that_the_shop_has_overtaken_is_refused(desk: Desk, file: Path) -> None:
    """Between looking and writing somebody may have registered the same frame."""
    planned = plan(desk, file, row("A", Size="23x31in", Mesh="230"))
    register.register(desk, [register.NewFrame(584, 787, own_label="a")])
    before = facts(desk)
    with pytest.raises(Conflict):
        run_import(desk, planned)
    assert facts(desk) == before


def test_a_file_that_brings_nothing_is_refused(desk: Desk, file: Path) -> None:
    with pytest.raises(NotValid, match="brings nothing"):
        run_import(desk, plan(desk, file, row("A", Mesh="banana")), partial=True)
