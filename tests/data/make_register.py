"""Makes the register of an invented shop, with the mess of a real one, as CSV and as XLSX.

The shop and its numbers are invented; the tensions follow no measurement. Run as
`python tests/data/make_register.py` to write the stored files again: the seed is fixed, so they
come out the same.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
from dataclasses import dataclass, field
from pathlib import Path

import xlsxwriter

SEED = 20250312
FRAMES = 150
READINGS = 800
TODAY = dt.date(2026, 1, 31)
CSV_NAME, XLSX_NAME = "register_150.csv", "register_150.xlsx"

# text, width and height in mm
SIZES = (
    ("23x31", 584.2, 787.4),
    ('23"x31"', 584.2, 787.4),
    ("23 x 31 in", 584.2, 787.4),
    ("584x787", 584.0, 787.0),
    ("58 x 84 cm", 580.0, 840.0),
    ("20×24", 508.0, 609.6),
    ("23,5 x 31,5", 596.9, 800.1),
    ("600 x 800 mm", 600.0, 800.0),
    ("25*36 inch", 635.0, 914.4),
)
# text, threads per cm, thread in um, colour, target in N/cm
MESHES = (
    ("230", 230 / 2.54, None, "", 25.0),
    ("90T", 90.0, None, "", 24.0),
    ("90-48", 90.0, 48.0, "", 24.5),
    ("230 yellow", 230 / 2.54, None, "yellow", 25.0),
    ("43T", 43.0, None, "", 32.0),
    ("156", 156 / 2.54, None, "", 28.0),
    ("305/40 dyed", 305 / 2.54, 40.0, "yellow", 22.0),
    ("77T", 77.0, None, "", 26.0),
)
STATES = (
    ("bare", "bare"),
    ("ausgemustert", "retired"),
    ("missing", "missing"),
    ("retired", "retired"),
    ("leer", "bare"),
)
METERS = ("meter 1", "meter 2", "the old one")
NOTES = ("", "", "", "corner re-glued", "Ecke geprüft", "cadre réparé", "see Wednesday's list")

CSV_HEADER = (
    "Frame no",
    "Size",
    "Mesh",
    "Kind",
    "State",
    "Stretched on",
    "Target N/cm",
    "Reclaims",
    "Rack",
    "Read on",
    "Warp (N/cm)",
    "Weft (N/cm)",
    "Meter",
    "Remark",
)
FRAME_HEADER = ("Rahmennummer", "Größe", "Gewebe", "Art", "Zustand", "Bespannt am", "Soll")
FRAME_HEADER += ("Entschichtungen", "Lagerplatz", "Bemerkung")
READING_HEADER = ("Frame", "Date", "P1 warp", "P1 weft", "P2 warp", "P2 weft", "Gauge")


@dataclass(frozen=True)
class Reading:
    """Two points, warp and weft; the CSV file keeps the first point alone."""

    label: str
    on: dt.date
    warp: tuple[float, float]
    weft: tuple[float, float]
    meter: str


@dataclass(frozen=True)
class Frame:
    label: str
    size: tuple[str, float, float]
    mesh: tuple[str, float, float | None, str, float] | None
    kind: str
    state: tuple[str, str]
    stretched_on: dt.date | None
    reclaims: int | None
    slot: str
    note: str
    readings: tuple[Reading, ...] = field(repr=False)


def shop() -> tuple[Frame, ...]:
    """The truth behind both files: 150 frames with 800 readings."""
    chance = random.Random(SEED)
    return tuple(_frame(chance, number) for number in range(1, FRAMES + 1))


def _frame(chance: random.Random, number: int) -> Frame:
    label = f"{number:04}"
    size = chance.choice(SIZES)
    kind = "roller" if number % 12 == 0 else "glued"
    slot = f"{'ABCDE'[number % 5]}{number // 5 + 1}"
    if number % 15 == 0:  # ten frames without mesh or out of use, and without readings
        state = STATES[number // 15 % len(STATES)]
        return Frame(label, size, None, kind, state, None, None, slot, "", ())
    mesh = chance.choice(MESHES)
    stretched_on = dt.date(2025, 1, 6) + dt.timedelta(days=chance.randrange(200))
    # 100 frames with six readings and 40 with five make 800.
    count = 6 if (number - number // 15) <= 100 else 5
    readings = []
    day = 1
    for _ in range(count):
        level = mesh[4] - 1.2 - 0.012 * day
        values = [round(2 * (level + chance.gauss(0, 0.5))) / 2 for _ in range(4)]
        readings.append(
            Reading(
                label,
                stretched_on + dt.timedelta(days=day),
                (values[0], values[1]),
                (values[2], values[3]),
                chance.choice(METERS),
            )
        )
        day += chance.randrange(5, 30)
    note = chance.choice(NOTES)
    reclaims = chance.randrange(0, 14)
    return Frame(
        label, size, mesh, kind, ("", ""), stretched_on, reclaims, slot, note, tuple(readings)
    )


def _comma(number: float) -> str:
    return f"{number:.1f}".replace(".", ",")


def _date(on: dt.date | None, style: int) -> str:
    if on is None:
        return ""
    return on.strftime(("%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y")[style % 3])


def csv_rows() -> list[list[str]]:
    """Frames and readings in one list: a frame's first row tells it, the next ones add readings."""
    rows = [["Harbour Lane Prints: all screens, by hand"], [], list(CSV_HEADER)]
    for frame in shop():
        facts = _csv_facts(frame)
        if not frame.readings:
            rows.append([*facts, "", "", "", "", frame.note])
        for place, reading in enumerate(frame.readings):
            told = facts if place % 3 == 0 else [frame.label] + [""] * (len(facts) - 1)
            style = len(rows)
            tensions = [_comma(reading.warp[0]), _comma(reading.weft[0])]
            if style % 7 == 0:
                tensions = [f"{text} N" for text in tensions]
            note = frame.note if place == 0 else ""
            rows.append([*told, _date(reading.on, style), *tensions, reading.meter, note])
        if int(frame.label) % 10 == 0:
            rows.append([""] * len(CSV_HEADER) if int(frame.label) % 20 else [])
    return rows + _csv_bad_rows()


def _csv_facts(frame: Frame) -> list[str]:
    return [
        frame.label,
        frame.size[0],
        frame.mesh[0] if frame.mesh else "",
        frame.kind,
        frame.state[0],
        _date(frame.stretched_on, int(frame.label)),
        _comma(frame.mesh[4]) if frame.mesh else "",
        "" if frame.reclaims is None else str(frame.reclaims),
        frame.slot,
    ]


def _csv_bad_rows() -> list[list[str]]:
    """One duplicate, then what real lists hold and nobody can read."""
    frames = shop()
    again = [*_csv_facts(frames[41]), "", "", "", "", ""]
    other_size = [frames[42].label, "40x50", *[""] * 12]

    def frame(label: str, size: str, mesh: str, stretched: str = "") -> list[str]:
        return [label, size, mesh, "glued", "", stretched, "25,0", "0", "Z9", "", "", "", "", ""]

    def reading(label: str, on: str, warp: str, weft: str) -> list[str]:
        return [label, *[""] * 8, on, warp, weft, METERS[0], ""]

    return [
        again,
        other_size,
        frame("0151", "23x31", "banana weave"),
        frame("0152", "0 x 31 in", "230"),
        frame("0153", "58x84", "230"),
        frame("0154", "23x31", "230", "31.02.2025"),
        frame("", "23x31", "230"),
        reading("0007", "2025-11-03", "-3,0", "22,5"),
        reading("0008", "03.11.2025", "22,5", "63,5"),
        reading("0009", "2031-01-01", "22,5", "22,5"),
        reading("0010", "", "22,5", "22,5"),
        reading("0011", "2025-11-03", "0,4 mm", "22,5"),
    ]


def csv_bytes() -> bytes:
    """Semicolons, cp1252, decimal commas, as an office program with German settings saves it."""
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=";").writerows(csv_rows())
    return text.getvalue().encode("cp1252")


def xlsx_bytes() -> bytes:
    """One sheet of frames and one of readings, with real dates, texts and day numbers."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        book.set_properties({"created": dt.datetime(2026, 1, 31, tzinfo=dt.UTC)})
        day = book.add_format({"num_format": "dd.mm.yyyy"})
        for name, rows in (("Frames", _frame_cells()), ("Readings", _reading_cells())):
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if isinstance(cell, dt.date):
                        sheet.write_datetime(number, column, cell, day)
                    elif isinstance(cell, str):
                        sheet.write_string(number, column, cell)
                    elif cell is not None:
                        sheet.write_number(number, column, cell)
    return data.getvalue()


Cells = list[str | float | dt.date | None]


def _frame_cells() -> list[Cells]:
    rows: list[Cells] = [["Harbour Lane Prints"], [], list(FRAME_HEADER)]
    for frame in shop():
        mesh = frame.mesh[0] if frame.mesh else None
        rows.append(
            [
                frame.label,
                frame.size[0],
                float(mesh) if mesh and mesh.isdecimal() else mesh,
                frame.kind,
                frame.state[0],
                frame.stretched_on,
                frame.mesh[4] if frame.mesh else None,
                frame.reclaims,
                frame.slot,
                frame.note,
            ]
        )
        if int(frame.label) % 25 == 0:
            rows.append([])
    again = next(row for row in rows if row[:1] == ["0042"])
    bad: Cells = ["0151", "23x31", dt.date(2048, 3, 1), "glued", "", None, 25.0, 0.0, "Z9", ""]
    return [*rows, again, bad]


def _reading_cells() -> list[Cells]:
    rows: list[Cells] = [list(READING_HEADER)]
    for reading in (reading for frame in shop() for reading in frame.readings):
        style = len(rows) % 4
        on: str | float | dt.date = reading.on
        if style == 1:
            on = reading.on.strftime("%m/%d/%Y")
        elif style == 2:
            on = float((reading.on - dt.date(1899, 12, 30)).days)
        pairs = zip(reading.warp, reading.weft, strict=True)
        values: Cells = [value for pair in pairs for value in pair]
        if style == 3:
            values = [_comma(float(str(value))) for value in values]
        rows.append([reading.label, on, *values, reading.meter])
    bad: Cells = ["0012", dt.date(2025, 11, 3), 22.5, 0.0, 22.0, 21.5, METERS[0]]
    repeated = list(rows[1])
    return [*rows, [], bad, repeated]


def main() -> None:
    """Write both files beside this script."""
    folder = Path(__file__).parent
    (folder / CSV_NAME).write_bytes(csv_bytes())
    (folder / XLSX_NAME).write_bytes(xlsx_bytes())


if __name__ == "__main__":
    main()
