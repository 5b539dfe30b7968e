"""The mesh order keeps its margins whatever stands on it; the workbook runs nothing."""

from __future__ import annotations

import io
from dataclasses import replace

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from framekeeper.formats.order_sheet import OrderLine, OrderSheet, order_sheet_pdf
from framekeeper.formats.order_workbook import harmless, workbook

LINE = OrderLine(
    mesh="90-48 yellow",
    buy_from="Weberei Lund",
    rolls="2",
    width="1575 mm",
    roll_length="30.00",
    length="60.00",
    price="18.50",
    total="1110.00",
    reason="41.00 m expected until 2026-12-30: 9.2 restretches of 584 mm x 787 mm.",
)
SHEET = OrderSheet("Harbour Lane Prints", "2026-11-25", (LINE,), "1110.00", "m", "EUR")


def pages(sheet: OrderSheet) -> list[str]:
    read = pypdf.PdfReader(io.BytesIO(order_sheet_pdf(sheet)))
    return [" ".join(page.extract_text().split()) for page in read.pages]


def test_everything_stands_on_the_order() -> None:
    text, why = pages(SHEET)
    assert LINE.reason in why
    assert LINE.reason not in text  # the supplier gets the first page
    told = [getattr(LINE, name) for name in LINE.__slots__ if name != "reason"]
    more = ("Total 1110.00 EUR", "Sum EUR", "Per m EUR", "Harbour Lane Prints", "Ordered by:",
            "Signature:")  # fmt: skip
    for value in (*told, *more):
        assert value in text


def test_a_price_that_is_not_known_leaves_no_total() -> None:
    text, _ = pages(replace(SHEET, lines=(replace(LINE, price="", total=""),), total=""))
    assert "No total: a price is not known." in text


def test_nothing_to_order_says_so() -> None:
    (text,) = pages(replace(SHEET, lines=(), total=""))
    assert "There is no mesh to order." in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_long_order_goes_on_with_heads_and_is_signed_once(paper: str) -> None:
    """Long names are wrapped, and every mesh is there with its reason."""
    lines = tuple(
        replace(LINE, mesh=f"mesh {n:02}", buy_from="Weberei " * 9, reason="why " * 90)
        for n in range(40)
    )
    texts = pages(replace(SHEET, lines=lines, paper=paper))  # type: ignore[arg-type]
    assert len(texts) > 2
    assert all(sum(f"mesh {n:02}" in text for text in texts) >= 1 for n in range(40))
    assert sum("Signature:" in text for text in texts) == 1
    assert "Rolls" in texts[1]


@given(st.text(max_size=20))
def test_no_text_of_a_shop_becomes_a_formula(text: str) -> None:
    assert not harmless(text).startswith(("=", "+", "-", "@", "\t", "\r"))
    assert harmless(text).removeprefix("'") == text.removeprefix("'")


def test_texts_and_numbers_are_read_back() -> None:
    data = workbook("Order", ["Mesh", "Sum"], [["@230", 12.5], ["-1", None]], ["Total", 12.5])
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    assert book.get_sheet_by_name("Order").to_python() == [
        ["Mesh", "Sum"],
        ["'@230", 12.5],
        ["'-1", ""],
        ["Total", 12.5],
    ]
