"""Labels: sheets close, every label reads back, nothing leaves its cell."""

from __future__ import annotations

import csv
import io
import math
import re
from pathlib import Path

import pypdf
import pypdfium2 as pdfium
import pytest
import zxingcpp

from framekeeper.domain.codes import new_code
from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.roll_marks import read_roll_mark, roll_mark
from framekeeper.formats.label_formats import BAR_HEIGHT_MM, label_format, label_formats
from framekeeper.formats.labels import Label, label_pdf

DATA = Path(__file__).parents[1] / "data"
FORMATS = label_formats()
DOTS_PER_MM = 200 / 25.4

LONG = "Señora Núñez’ größtes Sieb für die lange Nacht im Café am Ende der Straße, " * 3


def labels(count):
    for number in range(1, count + 1):
        yield Label(
            code=new_code(number),
            own_label=f"Rack {number} ñé",
            mesh="90-48 yellow",
            size="584 x 787 mm",
            stretched_on="2026-03-02",
            target="25 N/cm",
        )


def pages(pdf):
    return [page.render(scale=200 / 72).to_pil().convert("L") for page in pdfium.PdfDocument(pdf)]


def cell_of(picture, chosen, cell, grow=0):
    left, top = chosen.corner_mm(cell)
    box = (left, top, left + chosen.label_width_mm, top + chosen.label_height_mm)
    return picture.crop(
        tuple(round(side * DOTS_PER_MM) + (grow if i > 1 else -grow) for i, side in enumerate(box))
    )


def sheet_rows():
    """Source: ISO 216:2007, ANSI/ASME Y14.1 (sheets); grids are trade conventions, from memory."""
    with (DATA / "label_sheets.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", sheet_rows(), ids=lambda r: f"{r['sheet']} {r['columns_x_rows']}")
def test_sheets_have_the_published_dimensions_and_close(row):
    columns, rows = (int(n) for n in row["columns_x_rows"].split(" x "))
    page_width, page_height = (float(n) for n in re.findall(r"\d+\.?\d*", row["sheet"])[-2:])
    wide, high = (float(n) for n in row["label_mm"].split(" x "))
    found = [
        f for f in FORMATS if (f.columns, f.rows, f.page_width_mm) == (columns, rows, page_width)
    ]
    assert len(found) == 1
    sheet = found[0]
    assert (sheet.label_width_mm, sheet.label_height_mm) == (wide, high)
    assert (sheet.left_margin_mm, sheet.top_margin_mm) == (
        float(row["left_margin_mm"]),
        float(row["top_margin_mm"]),
    )
    across = 2 * sheet.left_margin_mm + (columns - 1) * sheet.pitch_x_mm + wide
    down = 2 * sheet.top_margin_mm + (rows - 1) * sheet.pitch_y_mm + high
    assert across == pytest.approx(page_width, abs=0.05)
    assert down == pytest.approx(page_height, abs=0.05)


def test_there_is_a_roll_and_a_label_for_the_bar():
    assert [f.kind for f in FORMATS].count("roll") == 2
    bar = label_format("roll_bar_100x20")
    assert bar.fits_the_bar
    assert bar.label_height_mm <= BAR_HEIGHT_MM == 25
    assert label_format("roll_60x24").fits_the_bar
    assert not label_format("a4_3x7").fits_the_bar


@pytest.mark.parametrize("chosen", FORMATS, ids=lambda f: f.key)
def test_every_label_reads_back_from_its_own_cell(chosen):
    """Rendered at 200 dpi and decoded by an independent library, with page and cell in order."""
    count = chosen.cells + 2
    pictures = pages(label_pdf(labels(count), chosen))
    read = [
        [found.text for found in zxingcpp.read_barcodes(cell_of(picture, chosen, cell))]
        for picture in pictures
        for cell in range(chosen.cells)
    ]
    assert read[:count] == [[new_code(n)] for n in range(1, count + 1)]
    assert all(not texts for texts in read[count:])


@pytest.mark.parametrize("chosen", FORMATS, ids=lambda f: f.key)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_the_quiet_zone_is_white_on_every_label(chosen, dpi):
    """Four modules, measured from the drawing at the printer's own resolution."""
    pdf = label_pdf([Label(new_code(1), *[LONG] * 5)], chosen, dpi=dpi)
    picture = pdfium.PdfDocument(pdf)[0].render(scale=dpi / 72).to_pil().convert("L")
    corners = zxingcpp.read_barcode(picture).position
    left, top = corners.top_left.x, corners.top_left.y
    side = corners.bottom_right.x + 1 - left
    quiet = math.floor(4 * side / 21)
    around = picture.crop((left - quiet, top - quiet, left + side + quiet, top + side + quiet))
    dark = around.point(lambda value: 255 if value < 200 else 0).getbbox()
    assert dark[0] >= quiet - 1
    assert dark[1] >= quiet - 1
    assert dark[2] <= quiet + side + 1
    assert dark[3] <= quiet + side + 1
    assert side / 21 / dpi * 25.4 >= 0.4


@pytest.mark.parametrize("chosen", FORMATS, ids=lambda f: f.key)
def test_long_texts_stay_inside_their_label(chosen):
    """Nothing dark in the padding of the label nor outside of it."""
    picture = pages(label_pdf([Label(new_code(1_000_000), *[LONG] * 5)], chosen))[0]
    pad = round((chosen.padding_mm - 0.2) * DOTS_PER_MM)
    inside = cell_of(picture, chosen, 0, grow=-pad)
    assert zxingcpp.read_barcode(inside).text == new_code(1_000_000)

    def ink(image):
        return sum(image.point(lambda value: 255 - value).histogram()[i] for i in range(60, 256))

    assert ink(picture) == ink(inside) > 0
    text = pypdf.PdfReader(io.BytesIO(label_pdf([Label("FK01237", LONG)], chosen))).pages[0]
    assert "…" in text.extract_text()


def test_texts_are_selectable_with_accents():
    reader = pypdf.PdfReader(io.BytesIO(label_pdf(labels(1), label_format("a4_3x7"))))
    text = reader.pages[0].extract_text()
    for part in ("FK0001R", "Rack 1 ñé", "90-48 yellow", "584 x 787 mm", "2026-03-02", "25 N/cm"):
        assert part in text
    fonts = reader.pages[0]["/Resources"]["/Font"]
    embedded = [
        font
        for font in fonts.values()
        if "/FontFile2" in font.get_object().get("/FontDescriptor", {})
    ]
    assert len(embedded) == 2


def test_empty_fields_leave_no_words_behind():
    reader = pypdf.PdfReader(io.BytesIO(label_pdf([Label("FK0001R")], label_format("a4_3x7"))))
    assert reader.pages[0].extract_text().split() == ["FK0001R"]


@pytest.mark.parametrize("chosen", FORMATS, ids=lambda f: f.key)
def test_the_label_of_a_roll_reads_back_as_its_mark(chosen):
    """The code is the shop's own text; the symbol holds what a scanner can tell from typing."""
    label = Label("R-77 b", "lot A7", "230 yellow", "1580 mm wide", scans_as=roll_mark(77))
    (picture,) = pages(label_pdf([label], chosen))
    assert read_roll_mark(zxingcpp.read_barcode(picture).text) == 77


def test_a_part_used_sheet_starts_at_the_cell_that_was_pointed_at():
    sheet = label_format("a4_3x7")
    pictures = pages(label_pdf(labels(3), sheet, start_cell=20))
    assert len(pictures) == 2
    assert zxingcpp.read_barcode(cell_of(pictures[0], sheet, 18)) is None
    assert zxingcpp.read_barcode(cell_of(pictures[0], sheet, 19)).text == new_code(1)
    assert zxingcpp.read_barcode(cell_of(pictures[0], sheet, 20)).text == new_code(2)
    assert zxingcpp.read_barcode(cell_of(pictures[1], sheet, 0)).text == new_code(3)


@pytest.mark.parametrize("chosen", FORMATS, ids=lambda f: f.key)
def test_the_page_has_its_true_size_and_asks_not_to_be_scaled(chosen):
    reader = pypdf.PdfReader(io.BytesIO(label_pdf(labels(1), chosen)))
    box = reader.pages[0].mediabox
    assert float(box.width) * 25.4 / 72 == pytest.approx(chosen.page_width_mm, abs=0.01)
    assert float(box.height) * 25.4 / 72 == pytest.approx(chosen.page_height_mm, abs=0.01)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_the_offset_moves_everything_right_and_down():
    sheet = label_format("a4_3x7")
    still = pages(label_pdf(labels(1), sheet))[0]
    moved = pages(label_pdf(labels(1), sheet, offset_mm=(2.0, 3.0)))[0]

    def corner(picture):
        return picture.point(lambda value: 255 if value < 128 else 0).getbbox()[:2]

    shift = [b - a for a, b in zip(corner(still), corner(moved), strict=True)]
    assert shift == pytest.approx([2 * DOTS_PER_MM, 3 * DOTS_PER_MM], abs=1.5)


@pytest.mark.parametrize("cell", [0, -1, 22, 1.0, True, None])
def test_a_cell_that_is_not_on_the_sheet_is_refused(cell):
    with pytest.raises(NotValid) as caught:
        label_pdf(labels(1), label_format("a4_3x7"), start_cell=cell)
    assert caught.value.argument == "start_cell"


@pytest.mark.parametrize("offset", [(math.nan, 0), (0, math.inf), (21, 0), (0, -21)])
def test_an_offset_beyond_reason_is_refused(offset):
    with pytest.raises(NotValid) as caught:
        label_pdf(labels(1), label_format("a4_3x7"), offset_mm=offset)
    assert caught.value.argument == "offset_mm"


def test_no_label_and_no_such_format_are_refused():
    with pytest.raises(NotValid, match="no label to print"):
        label_pdf([], label_format("a4_3x7"))
    with pytest.raises(NotFound, match="no label format"):
        label_format("a5")


def test_a_thousand_labels():
    pdf = label_pdf(labels(1_000), label_format("a4_3x8"))
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    assert len(reader.pages) == math.ceil(1_000 / 24)
    assert new_code(1_000) in reader.pages[-1].extract_text()
