"""Rolls, offcuts, the stock-take and glue on the command line."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from tests.test_cli import Shell
from tests.test_cli import shell as shell


@pytest.fixture
def shop(shell: Shell) -> Shell:
    """A roll of 30 m, of which 1 m was scrapped, and a frame of 400 x 500 mm."""
    shell.do("mesh add '230 yellow' --target 25 --limit 18")
    shell.do("roll receive --mesh '230 yellow' --length 30m --width 1500mm --price 30,00 --lot A7")
    shell.do("roll scrap R0001 --length 1m --reason creased")
    shell.do("found --size 400x500mm --mesh '230 yellow'")
    return shell


def test_a_roll_is_shown_down_to_the_operation(shop: Shell) -> None:
    assert shop.do("roll count r0001 --length 28.8m --reason stock-take") == (
        "Roll R0001: 28.80 m on hand, -0.20 m.\n"
    )
    rows = shop.ask("roll show R0001")
    assert isinstance(rows, list)
    assert [(r["what"], r["length_m"], r["reason"]) for r in rows] == [
        ("counted", "-0.200", "stock-take"), ("scrapped", "-1.000", "creased"),
        ("received", "+30.000", ""),
    ]  # fmt: skip
    assert rows[0]["operation"].endswith("count roll R0001")
    assert "28.80 m left, lot A7" in shop.do("roll show FR000195")
    assert "R9 on the shelf" in shop.refuse("roll show R9")


def test_an_offcut_on_the_command_line(shop: Shell) -> None:
    told = shop.do("roll offcut R0001 --width 750mm --length 650mm")
    assert told == "Offcut R0002 of roll R0001 is on the shelf: 750 mm wide, 0.65 m.\n"
    rows = shop.ask("roll list")
    assert isinstance(rows, list)
    assert (rows[1]["offcut_of"], rows[1]["serves"]) == ("R0001", "400 x 500 mm")
    assert rows[1]["price_per_m"] == "15.000000"
    assert "has not lost that much" in shop.refuse("roll offcut R0001 --width 1400 --length 900")
    shop.do("roll take-back R0002 --reason 'wrong roll'")
    assert len(shop.ask("roll list")) == 1  # type: ignore[arg-type]
    shop.do("undo")
    assert len(shop.ask("roll list")) == 2  # type: ignore[arg-type]


def test_facts_of_a_roll_are_edited(shop: Shell) -> None:
    shop.do("roll edit R0001 --width 1580mm --supplier 'Weberei Lund' --price none")
    (row,) = shop.ask("roll list")  # type: ignore[misc]
    assert (row["width_mm"], row["lot"], row["supplier"], row["price_per_m"]) == (
        1580, "A7", "Weberei Lund", None,
    )  # fmt: skip
    assert "not a price" in shop.refuse("roll edit R0001 --price dear")


def test_a_stock_take_on_the_command_line(shop: Shell) -> None:
    shop.do("roll receive --mesh '230 yellow' --length 5m --width 1500mm")
    shop.do("roll count R0001 --length 28m")
    told = shop.do("roll stock-take")
    assert "1 counted, 1 not seen, in all -1.00 m." in told
    assert "not seen" in told
    shop.clock.go_on(days=1)
    assert "0 counted, 2 not seen" in shop.do("roll stock-take")
    assert "1 counted" in shop.do("roll stock-take --since 2025-03-03")


def test_an_inch_shop_is_told_yards(shop: Shell) -> None:
    shop.do("settings length_unit=inch currency=$")
    assert shop.do("roll count R0001 --length 10yd") == "Roll R0001: 10.00 yd on hand, -21.71 yd.\n"


def test_labels_of_rolls(shop: Shell, tmp_path: Path) -> None:
    """Code, mesh, lot and width in print; nothing named is refused."""
    out = tmp_path / "rolls.pdf"
    shop.do(f"roll labels --all --out {out}")
    text = pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages[0].extract_text()
    for word in ("R0001", "230 yellow", "lot A7", "1500 mm wide"):
        assert word in text
    assert "for the rolls that you name" in shop.refuse(f"roll labels --out {out}")


def test_glue_on_the_command_line(shop: Shell) -> None:
    shop.do("glue-batch add AH-1 --kind adhesive --best-before 2025-03-10 --name clear")
    assert "Batch AH-1 (adhesive) is best before 2025-03-10." in shop.do("glue-batch list")
    shop.do("glue-batch open ah-1")
    shop.do("glue-batch edit AH-1 --best-before none --remark 'left tin'")
    (row,) = shop.ask("glue-batch list")  # type: ignore[misc]
    assert (row["opened_on"], row["best_before"], row["note"]) == ("2025-03-03", None, "left tin")
    assert "was opened on 2025-03-03" in shop.refuse("glue-batch open AH-1")
    shop.do("glue-batch finish AH-1")
    assert shop.ask("glue-batch list") == []
    assert "no batch AH-1" in shop.refuse("glue-batch finish AH-1")


def test_how_a_mesh_is_bought(shop: Shell) -> None:
    """An edit of something else keeps it; none takes a part away."""
    shop.do(
        "mesh edit '230 yellow' --buy-from 'Weberei Lund' --lead-time 9 --lead-time-spread 2,5 "
        "--roll-width 1580mm --roll-length 30m --list-price 31,50"
    )
    shop.do("mesh edit '230 yellow' --limit 19")
    row = shop.ask("mesh list")[0]  # type: ignore[index]
    assert (row["buy_from"], row["lead_time"], row["list_price"]) == ("Weberei Lund", 9, "31.50")
    shop.do("mesh edit '230 yellow' --list-price none --buy-from none")
    row = shop.ask("mesh list")[0]  # type: ignore[index]
    assert (row["buy_from"], row["lead_time"], row["list_price"]) == ("", 9, None)
    assert "spread but no length" in shop.refuse("mesh edit '230 yellow' --lead-time none")


def test_glue_past_its_date_is_told_as_it_is_used(shop: Shell) -> None:
    """Whatever the case it is typed in; a batch that keeps is not spoken of."""
    shop.do("glue-batch add AH-1 --kind adhesive --best-before 2020-01-31")
    shop.do("glue-batch add HX --kind activator --best-before 2199-01-31")
    shop.do("register --size 400x500mm --label B9")
    shop.do("prep B9 --all --skip 'old_glue=new frame'")
    shop.do("stretch B9 --mesh '230 yellow'")
    said = shop.do("glue B9 --adhesive-lot ah-1 --activator-lot HX")
    assert "Batch AH-1 (adhesive) is past its best-before day, 2020-01-31." in said
    assert "HX" not in said
