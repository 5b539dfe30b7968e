"""A shop's register becomes frames and readings, and what cannot be read is named by its cell."""

from __future__ import annotations

import contextlib
import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framekeeper.domain import codes
from framekeeper.domain.errors import NotValid
from framekeeper.formats.register_file import (
    FrameRow,
    ReadingRow,
    RegisterDefaults,
    RegisterFile,
    read_register,
    register_of,
)
from framekeeper.formats.table_shape import Cell, Table
from framekeeper.formats.tables import read_tables, tables_from_bytes
from tests.data import make_register

DATA = Path(__file__).parent.parent / "data"
DEFAULTS = RegisterDefaults(today=make_register.TODAY)
D = dt.date


def read(text: str, defaults: RegisterDefaults = DEFAULTS) -> RegisterFile:
    return register_of(tables_from_bytes(text.encode(), name="list"), defaults=defaults)


def reasons(register: RegisterFile) -> list[tuple[int, str, str, str]]:
    return [(p.row, p.column, p.value, str(p.reason)) for p in register.problems]


def notes(register: RegisterFile) -> list[str]:
    return [str(note) for note in register.notes]


@pytest.fixture(scope="module")
def from_csv() -> RegisterFile:
    return read_register(DATA / make_register.CSV_NAME, defaults=DEFAULTS)


@pytest.fixture(scope="module")
def from_xlsx() -> RegisterFile:
    return read_register(DATA / make_register.XLSX_NAME, defaults=DEFAULTS)


class TestStoredRegister:
    """150 frames and 800 readings with the mess of a real list, as CSV and as XLSX."""

    def test_stored_files_are_what_the_script_makes(self, tmp_path: Path) -> None:
        """Nobody edited the stored files by hand."""
        assert (DATA / make_register.CSV_NAME).read_bytes() == make_register.csv_bytes()
        made = tmp_path / "made.xlsx"
        made.write_bytes(make_register.xlsx_bytes())
        assert read_tables(made) == read_tables(DATA / make_register.XLSX_NAME)

    @pytest.mark.parametrize("kind", ["csv", "xlsx"])
    def test_every_frame_equals_the_truth(self, kind: str, request: pytest.FixtureRequest) -> None:
        """All 150 frames come back with every fact that the script wrote."""
        register: RegisterFile = request.getfixturevalue(f"from_{kind}")
        truth = make_register.shop()
        assert len(register.frames) == len(truth) == 150
        for found, told in zip(register.frames, truth, strict=True):
            assert (found.own_label, found.code) == (told.label, "")
            assert (found.width_mm, found.height_mm) == told.size[1:]
            assert (found.frame_kind, found.state) == (told.kind, told.state[1])
            assert (found.stretched_on, found.reclaims) == (told.stretched_on, told.reclaims)
            assert (found.slot, found.note) == (told.slot, told.note)
            if told.mesh is None:
                assert (found.mesh, found.mesh_text, found.target_n_per_cm) == (None, "", None)
                continue
            text, threads_per_cm, thread_um, colour, target = told.mesh
            assert found.mesh is not None
            assert found.mesh_text == text
            assert found.mesh.threads_per_cm == pytest.approx(threads_per_cm, abs=1e-9)
            assert (found.mesh.thread_um, found.mesh.colour) == (thread_um, colour)
            assert found.target_n_per_cm == target

    def test_every_reading_of_the_csv_equals_the_truth(self, from_csv: RegisterFile) -> None:
        truth = [reading for frame in make_register.shop() for reading in frame.readings]
        assert len(truth) == 800
        assert [(r.own_label, r.on, r.warp, r.weft, r.meter) for r in from_csv.readings] == [
            (r.label, r.on, r.warp[:1], r.weft[:1], r.meter) for r in truth
        ]

    def test_every_reading_of_the_workbook_equals_the_truth(self, from_xlsx: RegisterFile) -> None:
        truth = [reading for frame in make_register.shop() for reading in frame.readings]
        assert [(r.own_label, r.on, r.warp, r.weft, r.meter) for r in from_xlsx.readings] == [
            (r.label, r.on, r.warp, r.weft, r.meter) for r in truth
        ]

    def test_rows_read_by_eye(self, from_csv: RegisterFile) -> None:
        """Rows copied from the CSV file by eye, so that script and reader cannot err alike."""
        first = from_csv.frames[0]
        assert (first.row, first.sheet, first.own_label) == (4, "register_150", "0001")
        assert (first.width_mm, first.height_mm) == (584.2, 787.4)
        assert (first.mesh_text, first.target_n_per_cm, first.reclaims) == ("90T", 24.0, 10)
        assert (first.stretched_on, first.slot) == (D(2025, 2, 22), "B1")
        seventh = from_csv.frames[6]
        assert (seventh.row, seventh.width_mm, seventh.height_mm) == (40, 580.0, 840.0)
        assert seventh.mesh is not None
        assert (seventh.mesh.threads_per_cm, seventh.mesh.thread_um) == (90.0, 48.0)
        by_row = {reading.row: reading for reading in from_csv.readings}
        sheet = "register_150"
        assert by_row[6] == ReadingRow(
            6, sheet, "0001", "", D(2025, 4, 4), (22.0,), (22.5,), meter="the old one"
        )
        assert by_row[8] == ReadingRow(
            8, sheet, "0001", "", D(2025, 4, 23), (22.5,), (22.5,), meter="meter 2"
        )
        assert by_row[501] == ReadingRow(
            501, sheet, "0086", "", D(2025, 5, 26), (23.0,), (22.5,), meter="meter 1"
        )

    def test_what_stays_out_of_the_csv(self, from_csv: RegisterFile) -> None:
        """One duplicate and eleven bad rows, each by row, column, value and reason."""
        tension = "A tension lies above 0 and up to 60 N/cm."
        assert reasons(from_csv) == [
            (829, "Frame no", "0042", "The frame stands in row 244 already."),
            (
                830,
                "Frame no",
                "0043",
                "Row 250 tells otherwise about this frame: 584.2 there, 1016.0 here.",
            ),
            (831, "Mesh", "banana weave", "No reading of a mesh explains “banana weave”."),
            (
                832,
                "Size",
                "0 x 31 in",
                "A frame side of 0 mm cannot be right; sides go from 100 mm to 5000 mm.",
            ),
            (
                833,
                "Size",
                "58x84",
                "A frame side of 58 mm cannot be right; sides go from 100 mm to 5000 mm.",
            ),
            (834, "Stretched on", "31.02.2025", "There is no such day."),
            (835, "Frame no", "", "The row does not name its frame."),
            (836, "Warp (N/cm)", "-3,0", tension),
            (837, "Weft (N/cm)", "63,5", tension),
            (838, "Read on", "2031-01-01", "The date 2031-01-01 lies in the future."),
            (839, "Read on", "", "The reading has no date."),
            (
                840,
                "Warp (N/cm)",
                "0,4 mm",
                "This is a sag in mm; no formula turns a sag scale into N/cm.",
            ),
        ]
        assert from_csv.skipped_blank_rows == 15

    def test_what_stays_out_of_the_workbook(self, from_xlsx: RegisterFile) -> None:
        found = [(p.sheet, p.row, p.column, p.value) for p in from_xlsx.problems]
        assert found == [
            ("Frames", 160, "Rahmennummer", "0042"),
            ("Frames", 161, "Gewebe", "2048-03-01"),
            ("Readings", 803, "P1 weft", "0"),
            ("Readings", 804, "Frame", "0001"),
        ]
        assert from_xlsx.skipped_blank_rows == 7

    def test_what_was_found_and_guessed_is_told(
        self, from_csv: RegisterFile, from_xlsx: RegisterFile
    ) -> None:
        assert notes(from_csv)[:2] == [
            "The text was read as cp1252, its cells parted by semicolon.",
            "Numbers with a comma were read as decimals.",
        ]
        assert "sizes was guessed" in notes(from_csv)[2]
        assert from_csv.columns["register_150"]["target"] == "Target N/cm"
        assert from_csv.columns["register_150"]["warp 1"] == "Warp (N/cm)"
        assert from_xlsx.columns["Frames"]["stretched"] == "Bespannt am"
        assert from_xlsx.columns["Readings"]["weft 2"] == "P2 weft"


@pytest.mark.parametrize(
    "header",
    [
        "Screen no,Size (cm),Mesh/cm,Thread (µm),Colour,Type,Tension (N/cm),Date read,Stretched,"
        "Reclaims,Target,Limit,Rack,Notes,Gauge",
        "Sieb-Nr.,Größe (cm),Gewebe (F/cm),Fadendurchmesser,Farbe,Rahmenart,Spannung [N/cm],"
        "Messdatum,Gespannt am,Entschichtungen,Sollspannung,Mindestspannung,Lagerplatz,Bemerkungen,"
        "Messgerät",
        "Marco nº,Tamaño (cm),Hilos/cm,Diámetro de hilo,Color,Tipo,Tensión N/cm,Fecha de medición,"
        "Fecha de tensado,Recuperaciones,Tensión objetivo,Tensión mínima,Ubicación,Observaciones,"
        "Tensiómetro",
        "N° de cadre,Dimensions (cm),Fils/cm,Diamètre du fil,Couleur,Type,Tension (N),"
        "Date de mesure,Tendu le,Dégravages,Consigne,Seuil,Emplacement,Remarques,Tensiomètre",
    ],
    ids=["English", "German", "Spanish", "French"],
)
def test_columns_are_found_by_meaning(header: str) -> None:
    """The same row under headers in four languages tells the same frame and reading."""
    row = "007,58x84,90,48,white,roller,24.5,2025-03-14,2025-03-12,3,25,18,A1,left,M1"
    register = read(f"{header}\n{row}\n")
    assert reasons(register) == []
    (frame,) = register.frames
    assert frame.mesh is not None
    assert (frame.mesh.threads_per_cm, frame.mesh.thread_um) == (90.0, 48.0)
    assert (frame.mesh.colour, frame.mesh.unit_is_a_guess) == ("white", False)
    assert frame == FrameRow(
        2,
        "list",
        "007",
        "",
        "roller",
        580.0,
        840.0,
        "90",
        frame.mesh,
        25.0,
        18.0,
        3,
        D(2025, 3, 12),
        "A1",
        "left",
    )
    assert register.readings == (
        ReadingRow(2, "list", "007", "", D(2025, 3, 14), not_told=(24.5,), meter="M1"),
    )
    assert len(register.columns["list"]) == 15


def test_width_and_height_in_two_columns() -> None:
    """Sides in columns of their own, with the unit in the header, in the cell, or guessed."""
    register = read(
        "frame;width (in);height (in)\n1;23,5;31,5\n2;584 mm;787 mm\n"
        "3;23;\n4;23 in;787 mm\n5;23 ft;9\n"
    )
    assert [(f.own_label, f.width_mm, f.height_mm) for f in register.frames] == [
        ("1", 596.9, 800.1),
        ("2", 584.0, 787.0),
    ]
    assert [(row, reason) for row, _, _, reason in reasons(register)] == [
        (4, "One side of the frame is missing."),
        (5, "Width and height are in two units."),
        (6, "“ft” is not a unit of length here."),
    ]
    assert read("frame,width,height\n1,23,31\n").frames[0].width_mm == 584.2


def test_wide_list_with_a_column_for_each_date() -> None:
    """A date as a header makes its column the readings of that day."""
    register = read(
        "frame;size;2025-03-12;19.03.2025;warp 26.03.2025;weft 26.03.2025;2031-01-01\n"
        "A1;23x31;25;24,5;24;23,5;\n"
        "A2;23x31;;70;22;;\n"
    )
    assert [(r.own_label, r.on, r.warp, r.weft, r.not_told) for r in register.readings] == [
        ("A1", D(2025, 3, 12), (), (), (25.0,)),
        ("A1", D(2025, 3, 19), (), (), (24.5,)),
        ("A1", D(2025, 3, 26), (24.0,), (23.5,), ()),
        ("A2", D(2025, 3, 26), (22.0,), (), ()),
    ]
    assert len(register.frames) == 2
    assert [(row, column) for row, column, _, _ in reasons(register)] == [
        (1, "2031-01-01"),
        (3, "19.03.2025"),
    ]


def test_wide_workbook_with_date_cells_as_headers() -> None:
    """A workbook keeps such headers as dates."""
    rows: tuple[tuple[Cell, ...], ...] = (
        ("Screen", D(2025, 3, 12), dt.datetime(2025, 3, 19, 8, 30)),  # noqa: DTZ001
        (7.0, 25.0, 24.0),
    )
    register = register_of([Table("Wide", rows)], defaults=DEFAULTS)
    assert [(r.own_label, r.on, r.not_told) for r in register.readings] == [
        ("7", D(2025, 3, 12), (25.0,)),
        ("7", D(2025, 3, 19), (24.0,)),
    ]


def test_points_keep_their_place() -> None:
    """Points are matched between warp and weft; a point that was not read stays empty."""
    register = read(
        "frame,date,c warp,c weft,tl warp,tl weft,br warp,br weft\nA,2025-03-12,25,24,,23,22,21\n"
    )
    assert register.readings[0].warp == (25.0, None, 22.0)
    assert register.readings[0].weft == (24.0, 23.0, 21.0)
    numbered = read("frame,date,warp 1,warp 2,weft 1,weft 2\nA,2025-03-12,25,24,23,22\n")
    assert (numbered.readings[0].warp, numbered.readings[0].weft) == ((25.0, 24.0), (23.0, 22.0))
    plain = read("frame,date,P1,P2,P3,mean\nA,2025-03-12,25,24,23,24\n")
    assert plain.readings[0].not_told == (25.0, 24.0, 23.0)


@pytest.mark.parametrize(
    ("dates", "expected", "is_noted"),
    [
        (["03/12/2025", "25/12/2025"], [D(2025, 12, 3), D(2025, 12, 25)], False),
        (["03/12/2025", "12/25/2025"], [D(2025, 3, 12), D(2025, 12, 25)], False),
        (["03/12/2025", "04/11/2025"], [D(2025, 12, 3), D(2025, 11, 4)], True),
        (["03-12-25", "13-12-25"], [D(2025, 12, 3), D(2025, 12, 13)], False),
        (["03.12.2025", "2025-12-04"], [D(2025, 12, 3), D(2025, 12, 4)], False),
        (["2025/12/03", "45994"], [D(2025, 12, 3), D(2025, 12, 3)], False),
        (["03/03/2025", "2025-12-03 14:30"], [D(2025, 3, 3), D(2025, 12, 3)], False),
    ],
)
def test_order_of_day_and_month_is_decided_by_the_column(
    dates: list[str], expected: list[dt.date], is_noted: bool
) -> None:
    """A number over 12 decides for the column; if none does, day-first is taken and noted."""
    rows = "".join(f"F{n},23x31,{text}\n" for n, text in enumerate(dates))
    register = read(f"frame,size,stretched\n{rows}")
    assert [frame.stretched_on for frame in register.frames] == expected
    told = "The dates in “stretched” were read with the day first." in notes(register)
    assert told is is_noted


def test_habit_of_the_shop_decides_where_no_date_does() -> None:
    month_first = RegisterDefaults(today=make_register.TODAY, day_first=False)
    register = read("frame,size,stretched\n1,23x31,03/12/2025\n", month_first)
    assert register.frames[0].stretched_on == D(2025, 3, 12)
    assert "The dates in “stretched” were read with the month first." in notes(register)


def test_column_with_both_orders_reads_only_what_is_certain() -> None:
    """Where both orders occur, a date that fits both is refused and the others are read."""
    register = read(
        "frame,size,stretched\n1,23x31,25/12/2025\n2,23x31,12/25/2025\n3,23x31,03/12/2025\n"
        "4,23x31,05/05/2025\n"
    )
    days = [frame.stretched_on for frame in register.frames]
    assert days == [D(2025, 12, 25), D(2025, 12, 25), D(2025, 5, 5)]
    assert [row for row, *_ in reasons(register)] == [4]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("31.04.2025", "There is no such day."),
        ("2026-02-01", "The date 2026-02-01 lies in the future."),
        ("1.1.1900", "The date 1900-01-01 is too long ago."),
        ("last week", "This is not a date."),
        ("12", "This is not a date."),
    ],
)
def test_impossible_dates(text: str, reason: str) -> None:
    register = read(f"frame,size,stretched\n1,23x31,{text}\n2,23x31,2026-01-31\n")
    assert reasons(register) == [(2, "stretched", text, reason)]
    assert [frame.own_label for frame in register.frames] == ["2"]


@pytest.mark.parametrize(
    ("text", "tension"),
    [
        ("25", 25.0),
        ("24,5 N", 24.5),
        ("24.5 N/cm", 24.5),
        ("25 Newton", 25.0),
        ("60", 60.0),
        ("0.1", 0.1),
        ("25N", 25.0),
    ],
)
def test_tension_as_written(text: str, tension: float) -> None:
    register = read(f"frame;date;tension\nA;2025-03-12;{text}\n")
    assert register.readings[0].not_told == (tension,)


@pytest.mark.parametrize(
    "text", ["0", "-1", "60.1", "25 kg", "2 mm", "good", "1e1", "nan", "25 26"]
)
def test_tension_that_cannot_be(text: str) -> None:
    register = read(f"frame;date;tension\nA;2025-03-12;{text}\nB;2025-03-12;25\n")
    assert [(row, column, value) for row, column, value, _ in reasons(register)] == [
        (2, "tension", text)
    ]
    assert [reading.own_label for reading in register.readings] == ["B"]


def test_column_of_sag_is_refused_and_the_rest_is_read() -> None:
    """A column in mm is named once, by its header; nothing is converted."""
    register = read("frame,date,tension (mm),warp N/cm\nA,2025-03-12,0.8,25\nB,2025-03-12,0.9,\n")
    assert reasons(register) == [
        (
            1,
            "tension (mm)",
            "tension (mm)",
            "This is a sag in mm; no formula turns a sag scale into N/cm.",
        ),
        (3, "frame", "B", "The row names a frame and tells nothing about it."),
    ]
    assert [reading.warp for reading in register.readings] == [(25.0,)]


def test_dates_of_sag_readings_are_not_days_of_stretching() -> None:
    """A list of sag readings alone makes no frames."""
    register = read("frame,date,tension (mm)\nA,2025-03-12,0.8\n")
    assert (register.frames, register.readings) == ((), ())
    assert [row for row, *_ in reasons(register)] == [1, 2]


def test_names_that_look_like_numbers() -> None:
    """Text keeps its zeros; a number in a workbook loses the point that nobody typed."""
    rows: tuple[tuple[Cell, ...], ...] = (
        ("frame", "size", "mesh"),
        ("0012", "23x31", 230.0),
        (12.0, "23x31", "90T"),
        (D(2025, 3, 12), "23x31", "90T"),
        (True, "23x31", "90T"),
        ("x" * 61, "23x31", "90T"),
    )
    register = register_of([Table("Frames", rows)], defaults=DEFAULTS)
    assert [(f.own_label, f.mesh_text) for f in register.frames] == [
        ("0012", "230"),
        ("12", "90T"),
    ]
    assert [row for row, *_ in reasons(register)] == [4, 5, 6]


def test_codes_are_told_from_labels() -> None:
    """A right code is a code, a wrong check character is refused, anything else is a label."""
    code = codes.new_code(123)
    wrong = code[:-1] + ("A" if code[-1] != "A" else "B")
    register = read(f"frame,size\n{code.lower()},23x31\n{wrong},23x31\nblue 7,23x31\n")
    assert [(f.code, f.own_label) for f in register.frames] == [(code, ""), ("", "blue 7")]
    assert [(row, value) for row, _, value, _ in reasons(register)] == [(3, wrong)]
    both = read(f"code,own label,size\n{code},7,23x31\n{wrong},8,23x31\n,9,23x31\n")
    assert [(f.code, f.own_label) for f in both.frames] == [(code, "7"), ("", "9")]
    assert [row for row, *_ in reasons(both)] == [3]


def test_one_row_for_each_point() -> None:
    """Rows of one frame and day are points of one reading; a point told twice is refused."""
    register = read(
        "frame,date,point,warp,weft\nA,2025-03-12,1,25,24\nA,2025-03-12,2,26,25\n"
        "A,2025-03-12,3,25,24\nA,2025-03-12,2,27,25\nA,2025-04-12,2,24,\nA,2025-04-12,0,24,\n"
    )
    assert [(r.on, r.warp, r.weft) for r in register.readings] == [
        (D(2025, 3, 12), (25.0, 26.0, 25.0), (24.0, 25.0, 24.0)),
        (D(2025, 4, 12), (None, 24.0), ()),
    ]
    assert [(row, column) for row, column, _, _ in reasons(register)] == [
        (5, "frame"),
        (7, "point"),
    ]


def test_pairs_of_date_and_tension() -> None:
    """Numbered dates beside numbered tensions are readings of two days, not two points."""
    register = read(
        "frame;date 1;tension 1;date 2;tension 2\nA;12/03/2025;26;04/01/2025;24\n"
        "B;13/03/2025;26;;24\n"
    )
    assert [(r.own_label, r.on, r.not_told) for r in register.readings] == [
        ("A", D(2025, 3, 12), (26.0,)),
        ("A", D(2025, 1, 4), (24.0,)),
        ("B", D(2025, 3, 13), (26.0,)),
    ]
    assert [(row, column) for row, column, _, _ in reasons(register)] == [(3, "date 2")]
    assert register.columns["list"]["not_told 1 date 2"] == "tension 2"


def test_two_columns_that_could_both_be_the_tension() -> None:
    """They are not taken for two points of one survey: the second is refused by its header."""
    register = read("frame,date,my tension,his tension\nA,2025-03-12,25,24\n")
    assert [r.not_told for r in register.readings] == [(25.0,)]
    assert [(row, column) for row, column, _, _ in reasons(register)] == [(1, "his tension")]
    stretch = read("frame,date,tension at stretch,tension now\nA,2025-03-12,28,24\n")
    assert [r.not_told for r in stretch.readings] == [(24.0,)]
    assert reasons(stretch) == []
    assert "The column “tension at stretch” was not used." in notes(stretch)


def test_short_headers() -> None:
    """Initials and signs, as they stand over narrow columns."""
    register = read("#,W (in),H (in),Mesh (tpi),N,Date\n7,23,31,110,24.5,3/25/25\n8,20,24,110,,\n")
    assert [(f.own_label, f.width_mm, f.height_mm) for f in register.frames] == [
        ("7", 584.2, 787.4),
        ("8", 508.0, 609.6),
    ]
    assert [f.mesh.count_unit for f in register.frames if f.mesh] == ["inch", "inch"]
    assert [(r.on, r.not_told) for r in register.readings] == [(D(2025, 3, 25), (24.5,))]
    german = read("Nr.;B x H;Gewebe\n7;58 x 84 cm;90T\n")
    assert (german.frames[0].width_mm, german.frames[0].height_mm) == (580.0, 840.0)


def test_thread_and_colour_in_columns_of_their_own() -> None:
    """They complete the mesh; a contradiction or a cloth that cannot be is refused."""
    register = read(
        "frame;mesh;thread (µm);mesh colour\n1;90;48 µm;gelb\n2;90-48;40;\n3;230 weiss;;white\n"
        "4;230 yellow;;white\n5;90;900;\n6;90T;;striped\n"
    )
    meshes = {f.own_label: f.mesh for f in register.frames}
    assert list(meshes) == ["1", "3"]
    first, third = meshes["1"], meshes["3"]
    assert first is not None
    assert third is not None
    assert (first.threads_per_cm, first.thread_um, first.colour) == (90.0, 48.0, "yellow")
    assert (third.count_as_bought, third.colour) == (230.0, "white")
    assert [(row, column) for row, column, _, _ in reasons(register)] == [
        (3, "thread (µm)"),
        (5, "mesh colour"),
        (6, "thread (µm)"),
        (7, "mesh colour"),
    ]


def test_frame_without_mesh_is_bare() -> None:
    register = read("frame,mesh,state\n1,none,\n2,leer,\n3,90T,missing\n4,90T,beautiful\n")
    assert [(f.own_label, f.state, f.mesh_text) for f in register.frames] == [
        ("1", "bare", ""),
        ("2", "bare", ""),
        ("3", "missing", "90T"),
    ]
    assert [row for row, *_ in reasons(register)] == [5]


def test_column_whose_words_say_nothing_is_ignored_and_named() -> None:
    """A column "type" that is about something else does not refuse every row."""
    register = read("frame,size,type\n1,23x31,manual\n2,23x31,automatic\n")
    assert len(register.frames) == 2
    assert reasons(register) == []
    assert "No word in the column “type” was understood." in notes(register)
    one = read("frame,size,type\n1,23x31,manual\n2,23x31,roller\n")
    assert [(f.own_label, f.frame_kind) for f in one.frames] == [("2", "roller")]
    assert [row for row, *_ in reasons(one)] == [2]


def test_repeated_frame_with_another_date_is_another_reading() -> None:
    """Facts that change (reclaims, rack) are taken from the latest reading, in any order."""
    register = read(
        "frame,size,reclaims,rack,date,tension\n"
        "A,23x31,2,R1,2025-03-12,25\n"
        "a,23x31,4,R3,2025-05-12,23\n"
        "A,,3,R2,2025-04-12,24\n"
        "A,23x31,4,R3,2025-05-12,23\n"
    )
    (frame,) = register.frames
    assert (frame.reclaims, frame.slot) == (4, "R3")
    assert [reading.not_told for reading in register.readings] == [(25.0,), (23.0,), (24.0,)]
    assert reasons(register) == [(5, "frame", "A", "The frame stands in row 2 already.")]


def test_same_frame_told_in_two_rows() -> None:
    """A second row may complete a frame; it may not contradict or only repeat it."""
    register = read("frame,size,mesh,rack\nA,23x31,,\nA,,90T,\nA,23x31,90T,\nA,,230,\nA,,,R9\n")
    (frame,) = register.frames
    assert (frame.width_mm, frame.mesh_text, frame.slot) == (584.2, "90T", "R9")
    assert [row for row, *_ in reasons(register)] == [4, 5]


def test_readings_of_a_refused_frame_stay_out() -> None:
    """A frame that cannot be read does not come in through its next reading."""
    register = read(
        "frame,size,mesh,date,tension\nA,23x31,nonsense,2025-03-12,25\nA,,,2025-04-12,24\n"
        "B,,,2025-04-12,24\n"
    )
    assert register.frames == ()
    assert [reading.own_label for reading in register.readings] == ["B"]
    assert [(row, reason) for row, _, _, reason in reasons(register)] == [
        (2, "No reading of a mesh explains “nonsense”."),
        (3, "Row 2 of this frame cannot be read, so this stays out."),
    ]


def test_readings_without_a_date_column() -> None:
    """They are refused, unless the shop says which day they are of."""
    text = "frame,size,tension\nA,23x31,25\n"
    refused = read(text)
    assert len(refused.frames) == 1
    assert refused.readings == ()
    assert [row for row, *_ in reasons(refused)] == [2]
    told = RegisterDefaults(today=make_register.TODAY, undated_readings_on=D(2025, 6, 1))
    assert [reading.on for reading in read(text, told).readings] == [D(2025, 6, 1)]


def test_sheets_in_any_order_and_sheets_that_are_none_of_ours() -> None:
    """Frames are known before readings; a sheet of prices and a hidden one are named."""
    tables = [
        Table("Readings", (("frame", "mesh", "date", "tension"), ("A", "90T", "2025-03-12", 25.0))),
        Table("Prices", (("ink", "price"), ("black", 12.0))),
        Table("Old", (), is_hidden=True),
        Table("Frames", (("frame", "size", "mesh"), ("A", "23x31", "90T"))),
    ]
    register = register_of(tables, defaults=DEFAULTS)
    assert [(f.sheet, f.own_label) for f in register.frames] == [("Frames", "A")]
    assert [r.sheet for r in register.readings] == ["Readings"]
    assert reasons(register) == []
    assert "The sheet “Prices” holds no header of frames." in notes(register)
    assert "The hidden sheet “Old” was not read." in notes(register)


def test_header_may_stand_lower_and_again() -> None:
    """Titles above are passed over, and a header repeated on each printed page is no frame."""
    register = read("Our screens\n\nas of,2025-01-01\nframe,size\nA,23x31\n\nframe,size\nB,23x31\n")
    assert [(f.row, f.own_label) for f in register.frames] == [(5, "A"), (8, "B")]
    assert register.skipped_blank_rows == 1
    assert reasons(register) == []


def test_lone_date_beside_frames_is_the_day_of_stretching() -> None:
    register = read("frame,size,date\nA,23x31,2025-03-12\n")
    assert register.frames[0].stretched_on == D(2025, 3, 12)
    assert "The dates in “date” were taken as the days of stretching." in notes(register)


def test_defaults_of_the_shop_are_used() -> None:
    """The shop's own units and kind stand in where the file tells none."""
    defaults = RegisterDefaults(
        today=make_register.TODAY, size_unit="cm", count_unit="cm", frame_kind="roller"
    )
    (frame,) = read("frame,size,mesh\nA,58x84,110\n", defaults).frames
    assert frame.mesh is not None
    assert (frame.width_mm, frame.mesh.threads_per_cm, frame.frame_kind) == (580.0, 110.0, "roller")


@pytest.mark.parametrize("text", ["hello\nworld\n", "ink,price\nblack,12\n", "1,2,3\n4,5,6\n"])
def test_table_that_is_no_register(text: str) -> None:
    with pytest.raises(NotValid, match="No row names the columns"):
        read(text)


def test_reclaims_are_whole_numbers() -> None:
    register = read("frame,size,reclaims\n1,23x31,3.5\n2,23x31,-1\n3,23x31,10001\n4,23x31,0\n")
    assert [f.reclaims for f in register.frames] == [0]
    assert len(register.problems) == 3


_HEADERS = st.sampled_from(
    [
        "size",
        "mesh",
        "date",
        "tension",
        "warp 1",
        "weft 1",
        "stretched",
        "width",
        "height",
        "2025-03-12",
        "reclaims",
        "kind",
        "state",
        "thread",
        "colour",
        "note",
        "target",
        "code",
        "point",
        "date 1",
        "date 2",
        "tension 1",
        "tension 2",
    ]
)
_CELLS: st.SearchStrategy[Cell] = st.one_of(
    st.none(),
    st.text(max_size=30),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
    st.timedeltas(),
    st.sampled_from(["0012", "23x31", "230", "90-48", "12.03.2025", "03/12/2025", "25,5 N"]),
    st.from_regex(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}", fullmatch=True),
)


@settings(max_examples=400, deadline=None)
@given(
    header=st.lists(_HEADERS, min_size=2, max_size=8, unique=True),
    body=st.lists(st.lists(_CELLS, max_size=9), max_size=12),
)
def test_random_cells_are_read_or_refused(header: list[str], body: list[list[Cell]]) -> None:
    """No grid of cells raises anything but NotValid, and every row is accounted for."""
    rows = (("frame", *header), *(tuple(row) for row in body))
    with contextlib.suppress(NotValid):
        register = register_of([Table("Any", rows)], defaults=DEFAULTS)
        for problem in register.problems:
            assert str(problem.reason)
            assert 1 <= problem.row <= len(rows)
        for reading in register.readings:
            told = [*reading.warp, *reading.weft, *reading.not_told]
            assert all(value is None or 0 < value <= 60 for value in told)
            assert reading.on <= make_register.TODAY


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(_CELLS, max_size=6), max_size=8))
def test_random_grids_are_read_or_refused(body: list[list[Cell]]) -> None:
    """A grid without any header of ours raises nothing but NotValid."""
    with contextlib.suppress(NotValid):
        register_of([Table("Any", tuple(tuple(row) for row in body))], defaults=DEFAULTS)
