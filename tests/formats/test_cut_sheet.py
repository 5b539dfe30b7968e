"""The cut sheet says everything that it was given, in order, on as many pages as it takes."""

from __future__ import annotations

import io

import pypdf
import pypdfium2 as pdfium
import pytest

from framekeeper.domain.cut_drawing import DrawnPiece, DrawnPlan, DrawnRest, DrawnRoll, DrawnRow
from framekeeper.formats.cut_sheet import CutSheet, cut_sheet_pdf
from framekeeper.formats.paper_kit import PAPERS_MM


def roll(name: str, rows: int, *, length_mm: float = 889.0, width_mm: float = 1575.0) -> DrawnRoll:
    return DrawnRoll(
        title=f"Roll {name}, 230 yellow",
        width_mm=width_mm,
        used_mm=rows * length_mm,
        rows=tuple(
            DrawnRow(
                number=str(n + 1),
                y_mm=n * length_mm,
                length_mm=length_mm,
                length=f"{length_mm:.0f} mm",
                pieces=(
                    DrawnPiece(0, 686, length_mm, f"{name}A{n}", f"{name}A{n} (S{n})", "686 × 889"),
                    DrawnPiece(686, 610, 712, f"{name}B{n}", f"{name}B{n}", "610 × 712", "turned"),
                ),
                rest=DrawnRest(1296, width_mm - 1296, "279 × 889", "keep" if n % 2 else ""),
                words="",
            )
            for n in range(rows)
        ),
    )


def pages_of(plan: DrawnPlan, paper: str = "A4") -> list[str]:
    data = cut_sheet_pdf(CutSheet("Harbour Lane Prints", "2026-11-25", plan, paper))  # type: ignore[arg-type]
    read = pypdf.PdfReader(io.BytesIO(data)).pages
    width, height = PAPERS_MM[paper]  # type: ignore[index]
    for page in read:
        assert float(page.mediabox.width) == pytest.approx(width / 25.4 * 72)
        assert float(page.mediabox.height) == pytest.approx(height / 25.4 * 72)
    return [" ".join(page.extract_text().split()) for page in read]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_rolls_run_over_pages_with_their_name_on_each(paper: str) -> None:
    plan = DrawnPlan(("Pieces: 24.", "Proven."), (roll("R1", 9), roll("R2", 3)), ("FK9: too wide",))
    pages = pages_of(plan, paper)
    assert len(pages) > 2
    text = " ".join(pages)
    at = 0
    for name, rows in (("R1", 9), ("R2", 3)):
        at = text.index(f"Roll {name}, 230 yellow", at)
        for n in range(rows):
            at = text.index(f"Cut {n + 1} after 889 mm", at)
            at = text.index(f"{name}A{n} (S{n}) 686 × 889", at)
            at = text.index(f"{name}B{n} 610 × 712, turned", at)
            rest = "left over 279 × 889: keep" if n % 2 else "left over 279 × 889"
            at = text.index(rest, at)
    assert "FK9: too wide" in text
    assert "Knives slip on mesh" in pages[-1]
    for page in pages[:2]:
        assert "Roll R1, 230 yellow" in page


def test_nothing_is_printed_beyond_the_margins() -> None:
    """A frame of 5 m on a narrow roll is drawn smaller; no ink is where printers cannot print."""
    plan = DrawnPlan(("Pieces: 4.",), (roll("R1", 3, length_mm=5102.0, width_mm=1320.0),))
    data = cut_sheet_pdf(CutSheet("Harbour Lane Prints", "2026-11-25", plan))
    document = pdfium.PdfDocument(data)
    for page in document:
        image = page.render(scale=1).to_numpy().min(axis=2)
        margin = round(14 / 25.4 * 72)
        foot = round(16 / 25.4 * 72)
        assert image[:, :margin].min() > 250
        assert image[:, -margin:].min() > 250
        assert image[-foot : -round(13 / 25.4 * 72), :].min() > 250


def test_a_plan_without_cuts_says_what_has_no_place() -> None:
    (page,) = pages_of(DrawnPlan(("No piece can be cut.",), (), ("FK1: no roll",)))
    assert "No piece can be cut." in page
    assert "FK1: no roll" in page
