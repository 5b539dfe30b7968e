"""What to order on the command line, and the order as a file."""

from __future__ import annotations

from pathlib import Path

import pypdf
from python_calamine import CalamineWorkbook

from tests.test_cli import MESH, Shell
from tests.test_cli import shell as shell
from tests.test_cli import stocked as stocked
from tests.test_cli import stocked_template as stocked_template


def test_an_empty_shop_has_no_mesh_to_order(shell: Shell) -> None:
    assert shell.ask("order") == []
    assert shell.do("order").strip() == "There is no mesh on the shelf yet."
    assert shell.ask("used-for") == []


def in_need(shell: Shell) -> None:
    """A frame bursts in the clamps, and less is left than it needs again."""
    shell.do("prep B1 --all")
    shell.do(f"stretch B1 --mesh '{MESH}' --roll R0001")
    shell.do("damage B1 --kind burst --mesh-is-done")
    shell.do("roll count R0001 --length 0.5m")


def test_the_order_is_told_written_and_remembered(stocked: Shell, tmp_path: Path) -> None:
    in_need(stocked)
    orders = stocked.ask("order")
    assert isinstance(orders, list)
    order = next(o for o in orders if o["mesh"] == MESH)
    assert order["on_hand_m"] < 1
    assert order["order"]["rolls"] == 1
    assert order["chance_if_ordered_later"] > 0.05
    assert f"Order {MESH}: 1 roll" in stocked.do("order")
    pdf, xlsx = tmp_path / "o.pdf", tmp_path / "o.xlsx"
    stocked.do(f"order --pdf {pdf} --xlsx {xlsx}")
    assert MESH in pypdf.PdfReader(pdf).pages[0].extract_text()
    assert CalamineWorkbook.from_path(xlsx).get_sheet_by_index(0).to_python()[1][0] == MESH
    assert stocked.do("order --ordered").strip() == f"Ordered: {MESH}."
    orders = stocked.ask("order")
    assert isinstance(orders, list)
    assert next(o for o in orders if o["mesh"] == MESH)["order"] is None
    assert "nothing to order" in stocked.refuse("order --ordered")
    stocked.do(f"order --cancelled '{MESH}'")
    assert "on its way" in stocked.refuse(f"order --cancelled '{MESH}'")


def test_the_use_is_told_by_size_and_reason(stocked: Shell) -> None:
    in_need(stocked)
    rows = stocked.ask("used-for")
    assert isinstance(rows, list)
    assert rows == [
        {"month": "2025-03", "mesh": MESH, "size_mm": [584.2, 787.4], "reason": "first",
         "pieces": 1, "length_m": 0.889},
    ]  # fmt: skip
    assert "23 in" not in stocked.do("used-for")
    stocked.do("settings length-unit=inch")
    assert "23 in x 31 in  first stretch" in stocked.do("used-for")
