"""QR symbols meet the standard, and their drawing meets the printer's dots."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pypdfium2 as pdfium
import pytest
import zxingcpp
from reportlab.pdfgen.canvas import Canvas

from framekeeper.domain.codes import new_code
from framekeeper.domain.errors import NotValid
from framekeeper.formats.qr import (
    ALPHANUMERIC,
    QUIET_MODULES,
    dot_mm,
    draw_symbol,
    fit_module_mm,
    symbol,
)

# Source of all checks in this file unless one says otherwise: ISO/IEC 18004:2015, Tables 1, 7 and
# 12, clauses 6.3.8 and 6.5.1; from memory, the capacities confirmed by recomputation from data
# codewords, the quiet zone from memory only.
DATA = Path(__file__).parents[1] / "data"


def capacities():
    with (DATA / "qr_capacity.csv").open(encoding="utf-8", newline="") as file:
        return [
            (int(r["version"]), int(r["modules_per_side"]), r["level"], int(r[kind]), character)
            for r in csv.DictReader(file)
            for kind, character in (("alphanumeric", "A"), ("bytes", "a"))
        ]


@pytest.mark.parametrize(("version", "side", "level", "most", "character"), capacities())
def test_capacity_rows(version, side, level, most, character):
    """The fullest text fits, one character more needs a larger symbol or none exists."""
    full = symbol(character * most, level=level)
    assert (full.version, full.side) == (version, side)
    if version == 40:
        with pytest.raises(NotValid):
            symbol(character * (most + 1), level=level)
    else:
        assert symbol(character * (most + 1), level=level).version == version + 1


@pytest.mark.parametrize(
    ("text", "level", "version"),
    [("A" * 10, "H", 1), ("A" * 11, "H", 2), ("a" * 14, "M", 1), ("a" * 15, "M", 2)],
)
def test_smallest_versions(text, level, version):
    assert symbol(text, level=level).version == version
    assert symbol(text, level=level).side == 17 + 4 * version


def test_alphanumeric_set():
    assert len(ALPHANUMERIC) == 45


@pytest.mark.parametrize("number", [1, 9_999, 1_000_000])
def test_every_frame_code_is_a_version_1_symbol_at_level_q(number):
    found = symbol(new_code(number))
    assert (found.version, found.side, found.side_with_quiet_zone) == (1, 21, 29)


def test_module_sizes_in_whole_dots():
    """Arithmetic: 25.4 mm per inch."""
    assert 4 * dot_mm(300) == pytest.approx(0.3387, abs=5e-5)
    assert fit_module_mm(symbol("FK01237"), 14, 300) == pytest.approx(0.4233, abs=5e-5)
    version_2 = symbol("A" * 21)  # level Q holds 16 characters in version 1
    assert version_2.version == 2
    assert version_2.side_with_quiet_zone * 5 * dot_mm(300) == pytest.approx(13.97, abs=0.005)
    assert symbol("FK01237").side_with_quiet_zone * 0.5 == pytest.approx(14.5, abs=1e-9)


@pytest.mark.parametrize(("dpi", "dots"), [(203, 4), (300, 5), (600, 10)])
def test_the_smallest_module_is_at_least_0_4_mm(dpi, dots):
    found = symbol("FK01237")
    tight = 29 * dots * dot_mm(dpi)
    assert fit_module_mm(found, tight, dpi) == pytest.approx(dots * dot_mm(dpi))
    assert dots * dot_mm(dpi) >= 0.4 > (dots - 1) * dot_mm(dpi)
    with pytest.raises(NotValid, match="no room for a QR symbol"):
        fit_module_mm(found, tight - 0.01, dpi)


@pytest.mark.parametrize("dpi", [0, -300, 99, 10_000, 300.5, True, None])
def test_an_impossible_printer_is_refused(dpi):
    with pytest.raises(NotValid) as caught:
        dot_mm(dpi)
    assert caught.value.argument == "dpi"


@pytest.mark.parametrize("text", ["", "a" * 1_664])
def test_texts_without_a_symbol_are_refused(text):
    with pytest.raises(NotValid):
        symbol(text)


PAGE_MM = 50.8  # two inches: a whole number of dots at every resolution


def drawn(text, dpi, dots, corner_mm=(3.21, 47.77)):
    """The symbol and its picture, one pixel per printer dot."""
    found = symbol(text)
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(PAGE_MM / 25.4 * 72,) * 2)
    draw_symbol(canvas, found, *corner_mm, dots * dot_mm(dpi), dpi)
    canvas.save()
    picture = pdfium.PdfDocument(buffer.getvalue())[0].render(scale=dpi / 72).to_pil()
    return found, picture.convert("L")


@pytest.mark.parametrize(("dpi", "dots"), [(203, 4), (300, 5), (600, 10)])
def test_modules_fall_on_dots_and_the_quiet_zone_is_kept(dpi, dots):
    """Measured from the drawing: size of the dark part, and white from the corner asked for."""
    found, picture = drawn("FK01237", dpi, dots)
    dark = picture.point(lambda value: 255 if value < 128 else 0).getbbox()
    left, top, right, bottom = dark
    assert (right - left, bottom - top) == (21 * dots, 21 * dots)
    asked_left = 3.21 / dot_mm(dpi)
    asked_top = (PAGE_MM - 47.77) / dot_mm(dpi)
    assert left - asked_left == pytest.approx(QUIET_MODULES * dots, abs=1)
    assert top - asked_top == pytest.approx(QUIET_MODULES * dots, abs=1)
    for down, row in enumerate(found.rows):
        for across, module in enumerate(row):
            x, y = left + across * dots, top + down * dots
            shades = {
                picture.getpixel((x + i, y + j)) for i in (1, dots - 2) for j in (1, dots - 2)
            }
            assert shades == ({0} if module else {255})


@pytest.mark.parametrize("turn", [0, 7, 90])
def test_a_drawn_symbol_reads_back(turn):
    _, picture = drawn("FK01237", 300, 5)
    turned = picture.rotate(turn, expand=True, fillcolor=255)
    assert [found.text for found in zxingcpp.read_barcodes(turned)] == ["FK01237"]
