"""Papers say everything they were given, on pages of the right size, inside their margins."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence
from framekeeper.formats.due_sheet import DuePlace, DueSheet, DueTask, due_sheet_pdf
from framekeeper.formats.frame_drawing import DrawnPoint, FrameDrawing
from framekeeper.formats.paper_kit import (
    PAPERS_MM,
    Furniture,
    paper_pdf,
    printable,
    shorten,
    width_mm,
    wrap,
)
from framekeeper.formats.round_sheet import RoundLine, RoundSheet, round_sheet_pdf
from framekeeper.formats.tension_chart import (
    ChartAhead,
    ChartMark,
    ChartPoint,
    TensionChart,
    draw_chart,
)
from framekeeper.formats.tension_sheet import (
    Fact,
    JournalLine,
    SurveyLine,
    TensionSheet,
    tension_sheet_pdf,
)

LONG = "Señora Núñez’ größtes Sieb, Łódź, für die lange Nacht im Café am Ende der Straße; " * 8
CHART = TensionChart(
    points=(ChartPoint(0, 24.8, 0.4), ChartPoint(7, 23.1), ChartPoint(30, 22.4, 0.4)),
    across_text="Days since release",
    limit=18.0,
    limit_text="limit 18.0",
    target=25.0,
    target_text="target 25.0",
    marks=(ChartMark(12, "reclaimed"),),
)
DRAWING = FrameDrawing(
    584,
    787,
    cloth="yellow",
    points=(
        DrawnPoint(292, 393, "24.6", "23.9", "holds"),
        DrawnPoint(130, 130, "19.1", "18.8", "soon"),
        DrawnPoint(454, 657, "17.2", "16.9", "below"),
    ),
)


def tension_sheet(**changes):
    given = {
        "code": "FK01237",
        "own_label": "Long blue 12",
        "shop": "Harbour Lane Prints",
        "printed_on": "2026-11-25",
        "facts": (Fact("Size", "584 × 787 mm"), Fact("Mesh", "90-48 yellow")),
        "drawing": DRAWING,
        "drawing_text": "Survey of 2026-11-20",
        "chart": CHART,
        "surveys": tuple(
            SurveyLine(f"day {n}", "in service", "24.1", "23.6", "22.9", "1.4", "Meter 2", "inside")
            for n in range(60)
        ),
        "journal": tuple(JournalLine(f"on {n}", f"Printed job {n}", "Noor") for n in range(80)),
    }
    return TensionSheet(**(given | changes))


def due_sheet(count=60, reason="tension 18.6, limit 18.0", paper="A4"):
    tasks = tuple(
        DueTask(f"FK{n:04d}X", f"Blue {n}", "Read tension", reason, f"due {n}", f"R1-{n}", n == 3)
        for n in range(count)
    )
    places = (DuePlace("Tension round", tasks), DuePlace("Washout", ()))
    return DueSheet("Harbour Lane Prints", "2026-11-25", places, paper)


def round_sheet(count=40, points=5, paper="A4", label="Blue"):
    lines = tuple(
        RoundLine(f"R{n}", f"FK{n:04d}X", f"{label} {n}", label, "25.0", "18.0", f"2{n % 10}.4")
        for n in range(count)
    )
    return RoundSheet("Harbour Lane Prints", "2026-11-25", "Meter 2", lines, points, paper)


def texts(pdf):
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def pictures(pdf, dpi=60):
    return [page.render(scale=dpi / 72).to_pil() for page in pdfium.PdfDocument(pdf)]


ALL = {
    "tension": lambda paper: tension_sheet_pdf(tension_sheet(paper=paper)),
    "due": lambda paper: due_sheet_pdf(due_sheet(paper=paper)),
    "round": lambda paper: round_sheet_pdf(round_sheet(paper=paper)),
}


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("kind", ALL)
def test_size_scaling_fonts_and_page_numbers(kind, paper):
    """Source of the sizes: ISO 216 and ANSI/ASME Y14.1."""
    reader = pypdf.PdfReader(io.BytesIO(ALL[kind](paper)))
    pages = len(reader.pages)
    assert pages > 1
    size = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[paper]
    for number, page in enumerate(reader.pages, 1):
        got = (float(page.mediabox.width) * 25.4 / 72, float(page.mediabox.height) * 25.4 / 72)
        assert got == pytest.approx(size, abs=0.01)
        text = page.extract_text()
        assert f"Page {number} of {pages}" in text
        assert "Harbour Lane Prints" in text
        for font in page["/Resources"]["/Font"].values():
            name = font.get_object()["/BaseFont"]
            assert "DejaVu" in name or name == "/Helvetica"  # the library always names Helvetica
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_the_tension_sheet_says_everything_and_repeats_the_heads_of_its_tables():
    pages = texts(tension_sheet_pdf(tension_sheet()))
    whole = "\n".join(pages)
    for part in ("FK01237 · Long blue 12", "584 × 787 mm", "90-48 yellow", "printed 2026-11-25"):
        assert part in pages[0]
    for part in ("24.6", "18.8", "17.2", "holds", "soon below the limit", "below the limit"):
        assert part in pages[0]
    for part in ("limit 18.0", "target 25.0", "reclaimed", "Days since release"):
        assert part in pages[0]
    assert [n for n in range(60) if f"day {n}\n" not in whole] == []
    assert [n for n in range(80) if f"Printed job {n}\n" not in whole] == []
    with_surveys = [page for page in pages if "in service" in page]
    assert len(with_surveys) > 1
    assert all("Verdict" in page for page in with_surveys)


def test_a_frame_without_history_says_so():
    empty = TensionChart((), "Days since release")
    whole = "\n".join(texts(tension_sheet_pdf(tension_sheet(chart=empty, surveys=(), journal=()))))
    assert whole.count("No tension has been read yet.") == 2
    assert "Nothing has happened to this frame yet." in whole


def test_the_due_sheet_lists_every_task_with_its_reason_and_place():
    pages = texts(due_sheet_pdf(due_sheet()))
    whole = "\n".join(pages)
    assert [n for n in range(60) if f"FK{n:04d}X" not in whole] == []
    assert whole.count("tension 18.6, limit 18.0") == 60
    assert "Tasks: 60, of these late: 1." in pages[0]
    assert whole.count("late: due 3") == 1
    assert "Tension round, continued" in pages[1]
    assert "Washout" not in whole
    assert "Nothing is due." in texts(due_sheet_pdf(due_sheet(count=0)))[0]


@pytest.mark.parametrize("points", [1, 5, 9, 12])
def test_the_round_sheet_has_a_box_for_every_reading(points):
    """Boxes are counted in the drawing: two rows of points and one to tick on each screen."""
    pdf = round_sheet_pdf(round_sheet(count=3, points=points))
    content = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].get_contents().get_data().split()
    assert content.count(b"re") == 3 * (2 * points + 1)


def test_the_round_sheet_keeps_the_walking_order():
    whole = "\n".join(texts(round_sheet_pdf(round_sheet())))
    places = [whole.index(f"FK{n:04d}X") for n in range(40)]
    assert places == sorted(places)
    assert "No screen is on this round." in texts(round_sheet_pdf(round_sheet(count=0)))[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("kind", ["tension", "due", "round"])
def test_long_texts_stay_inside_the_margins(kind, paper):
    if kind == "tension":
        long = tension_sheet(
            own_label=LONG,
            shop=LONG,
            drawing_text=LONG,
            facts=tuple(Fact(LONG, LONG) for _ in range(5)),
            surveys=(SurveyLine(*[LONG] * 8),) * 9,
            journal=(JournalLine(*[LONG] * 3),) * 9,
            paper=paper,
        )
        pdf = tension_sheet_pdf(long)
    elif kind == "due":
        task = DueTask(LONG, LONG, LONG, LONG, LONG, LONG, is_late=True)
        pdf = due_sheet_pdf(DueSheet(LONG, LONG, (DuePlace(LONG, (task,) * 40),), paper))
    else:
        lines = (RoundLine(*[LONG] * 7),) * 30
        pdf = round_sheet_pdf(RoundSheet(LONG, LONG, LONG, lines, 9, paper))
    assert "…" in texts(pdf)[0]
    wide, high = PAPERS_MM[paper]
    for picture in pictures(pdf, dpi=254):  # ten pixels per mm
        ink = picture.convert("L").point(lambda value: 255 if value < 250 else 0).getbbox()
        assert ink[0] >= 145
        assert ink[1] >= 145
        assert ink[2] <= (wide - 14.5) * 10
        assert ink[3] <= (high - 7) * 10


def test_the_words_of_a_paper_go_through_the_shop_s_language():
    def shout(sentence: Sentence) -> str:
        return str(sentence).upper()

    whole = "\n".join(texts(round_sheet_pdf(round_sheet(count=1), speak=shout)))
    for part in ("TENSION ROUND", "SCREENS: 1", "WARP", "WEFT", "TARGET 25.0", "PAGE 1 OF 1"):
        assert part in whole


def test_what_cannot_be_drawn_is_refused():
    for points in (0, 13):
        with pytest.raises(NotValid) as caught:
            round_sheet_pdf(round_sheet(points=points))
        assert caught.value.argument == "points"
    with pytest.raises(NotValid) as caught:
        due_sheet_pdf(due_sheet(paper="A5"))
    assert caught.value.argument == "paper"
    for wide, high, bar in ((0, 500, 38), (500, 60, 38), (float("nan"), 500, 38), (500, 500, -1)):
        with pytest.raises(NotValid, match="cannot be drawn"):
            tension_sheet_pdf(tension_sheet(drawing=FrameDrawing(wide, high, bar)))


def chart_picture(chart):
    """The chart alone, ten pixels per mm, with its top at 50 mm."""

    def draw(sheet):
        sheet.y = 50.0
        draw_chart(sheet, chart, 180, 100)

    return pictures(paper_pdf(Furniture("", "", ""), draw), dpi=254)[0].convert("RGB")


def is_colour(picture, colour):
    """Where the picture has this colour, nearly: rows by columns of booleans."""
    return np.abs(np.asarray(picture, dtype=int) - colour).sum(axis=2) < 60


def centre_in_plot(picture, colour):
    """The centre in mm of what has this colour between the axes of the chart."""
    rows, columns = np.nonzero(is_colour(picture.crop((220, 570, 1690, 1390)), colour))
    return (22 + (columns.min() + columns.max()) / 20, 57 + (rows.min() + rows.max()) / 20)


INK, QUIET, BELOW = (0x1C, 0x24, 0x30), (0x5B, 0x66, 0x75), (0xD5, 0x5E, 0x00)


@pytest.mark.parametrize("tension", [18.0, 21.0, 25.0])
def test_a_reading_stands_where_its_number_says(tension):
    """Compared in the picture with a limit of the same number, and with the middle of the days."""
    ends = (ChartMark(0, ""), ChartMark(20, ""))
    chart = TensionChart((ChartPoint(10, tension),), "days", target=22.0, marks=ends)
    reading = centre_in_plot(chart_picture(chart), INK)
    only_level = replace(chart, points=(ChartPoint(20, tension),), limit=tension)
    level = centre_in_plot(chart_picture(only_level), BELOW)
    assert reading[1] == pytest.approx(level[1], abs=0.25)
    assert reading[0] == pytest.approx(15 + 10 + (180 - 10 - 26) / 2, abs=0.25)


def test_readings_of_two_mesh_lives_are_not_joined():
    points = (ChartPoint(0, 20), ChartPoint(20, 20))

    def middle(marks):
        picture = chart_picture(TensionChart(points, "days", marks=marks))
        x = round((15 + 10 + (180 - 36) * 0.25) * 10)
        return is_colour(picture.crop((x, 600, x + 1, 1380)), QUIET).any()

    assert middle(())
    assert middle((ChartMark(10, "reclaimed"),))
    assert not middle((ChartMark(10, "restretched", begins_anew=True),))


AHEAD = ChartAhead(
    days=(30, 60, 90),
    mean=(22.0, 20.0, 18.0),
    low=(21.5, 19.0, 16.5),
    high=(22.5, 21.0, 19.5),
    today=32,
    today_text="today",
    key_text="Dashes: expected",
    early_day=55,
    even_day=70,
    even_text="19 Dec 2026",
    late_day=85,
)


def test_what_is_to_come_is_printed_with_its_date():
    sheet = tension_sheet(
        chart=replace(CHART, ahead=AHEAD), forecast=("Likely below.", "Rests on it.", LONG)
    )
    said = "".join(texts(tension_sheet_pdf(sheet)))
    for words in ("19 Dec 2026", "today", "Dashes: expected", "Likely below.", "Rests on it."):
        assert words in said


def test_the_crossing_stands_on_the_limit_on_its_day():
    """Found in the picture by its colour: the mark is the only solid thing of it off the line."""
    ends = (ChartMark(0, ""),)
    bare = TensionChart((ChartPoint(0, 25),), "days", limit=18.0, marks=ends, ahead=AHEAD)
    picture = np.asarray(chart_picture(bare), dtype=int)
    is_mark = (np.abs(picture - BELOW).sum(axis=2) < 60)[570:1390, 220:1690]
    tall = is_mark.sum(axis=0)
    column = np.nonzero(tall == tall.max())[0].mean() / 10 + 22
    assert column == pytest.approx(15 + 10 + (180 - 36) * 70 / 90, abs=0.3)
    without = np.asarray(chart_picture(replace(bare, ahead=replace(AHEAD, even_day=None))), int)
    thin = (np.abs(without - BELOW).sum(axis=2) < 60)[570:1390, 220:1690].sum(axis=0)
    assert tall.max() > 4 * thin.max()


def test_the_band_has_edges_that_need_no_colour():
    """Left of the first day and above the band there is paper; within it is the tone."""
    ends = (ChartMark(0, ""),)
    chart = TensionChart((ChartPoint(0, 25),), "days", marks=ends, ahead=AHEAD)
    picture = chart_picture(chart)
    tone = np.abs(np.asarray(picture, dtype=int) - (0xDC, 0xE5, 0xEE)).sum(axis=2) < 8
    dots = is_colour(picture, QUIET)
    columns = np.nonzero(tone.any(axis=0))[0] / 10
    assert columns.min() == pytest.approx(25 + 144 * 30 / 90, abs=0.5)
    assert columns.max() == pytest.approx(25 + 144, abs=0.5)
    middle = round((25 + 144 * 75 / 90) * 10)
    rows = np.nonzero(tone[:, middle - 15 : middle + 15].any(axis=1))[0]
    near = dots[:, middle - 15 : middle + 15].any(axis=1)
    assert near[rows.min() - 12 : rows.min() + 12].any()
    assert near[rows.max() - 12 : rows.max() + 12].any()


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("Señor Muñoz, Łódź, Жанна", "Señor Muñoz, Łódź, Жанна"),
        ("two\nlines\tand  blanks", "two lines and blanks"),
        ("網 90", "? 90"),
        ("a\x00b\u200bc", "abc"),
    ],
)
def test_what_the_typeface_lacks_is_replaced_and_the_rest_kept(text, printed):
    assert printable(text) == printed


@given(st.text(max_size=60), st.floats(3, 60), st.sampled_from([8.0, 10.0, 20.0]), st.booleans())
def test_shortened_and_wrapped_texts_fit(text, room, size, bold):
    short = shorten(text, room, size, bold=bold)
    assert width_mm(short, size, bold=bold) <= room
    lines = wrap(text, room, size, bold=bold, most=3)
    assert 1 <= len(lines) <= 3
    assert all(width_mm(line, size, bold=bold) <= room for line in lines)
    if "…" not in "".join(lines) and "" not in lines:
        assert " ".join(lines) == printable(text)
