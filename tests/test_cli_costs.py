"""Costs on the command line: told, kept, asked "what if", printed."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.test_cli import MESH, Shell
from tests.test_cli import shell as shell
from tests.test_cli import stocked as stocked
from tests.test_cli import stocked_template as stocked_template

OWN = (
    "adhesive=0,60 activator=0 labour_per_hour=24 chemistry=0.7 water=0.1 stretcher_price=42 "
    "freight=60 screens_per_trip=12 days_away=7 equipment_per_month=150 burst-share=10 "
    "waste_share=0 mesh_m=0.9 price_per_m=20 prints_per_life=20000 reclaims_per_life=40"
)


def costs(shop: Shell, more: str = "") -> dict[str, Any]:
    found = shop.ask(f"costs {more}")
    assert isinstance(found, dict)
    return found


def test_an_empty_shop_is_told_what_it_takes(shell: Shell) -> None:
    said = shell.do("costs")
    assert "A stretch: not known" in said
    assert "Both ways cannot be compared before this is known: " in said
    assert "Enter what the shop knows with: framekeeper cost NAME=VALUE." in said
    told = costs(shell)
    assert told["stretch"]["total"] is None
    assert told["break_even"] is None
    assert told["numbers"]["reclaim_minutes"]["value"] == "4.80"
    assert told["numbers"]["freight"]["origin"] == "missing"


def test_what_the_shop_knows_is_kept_and_told(stocked: Shell) -> None:
    """0.9 m at 20 and 50 minutes at 24 are 38; a tenth bursts: 38/9 more; adhesive 0.60."""
    stocked.do(f"cost {OWN}")
    told = costs(stocked, "--screens 60")
    assert told["stretch"]["total"] == "42.822222"
    assert told["reclaim"]["total"] == "2.72"
    assert told["screens"] == "60.00"
    assert told["break_even"]["kind"] == "from"
    assert told["break_even"]["screens"] == "35.904255"
    assert told["swings"][0]["name"] == "stretcher_price"
    said = stocked.do("costs --screens 60")
    assert "A stretch: 42.82" in said
    assert "  what bursts, done again: 4.22" in said
    assert "Stretching in house pays from 35.9 screens a month on." in said
    assert "at 33.60 in house is 403.33 dearer, at 50.40 it is 604.67 cheaper." in said
    assert "waste of mesh from" not in said
    assert "10.0 %" in said


def test_a_what_if_is_not_kept(stocked: Shell) -> None:
    stocked.do(f"cost {OWN}")
    assert costs(stocked, "--what-if stretcher_price=1")["break_even"]["kind"] == "never"
    assert costs(stocked)["break_even"]["kind"] == "from"
    stocked.do("cost freight=none")
    assert costs(stocked)["missing"] == ["freight"]


def test_numbers_name_the_events_and_rolls_behind_them(stocked: Shell) -> None:
    stocked.do("prep B1 --all --skip 'old_glue=new frame'")
    stocked.do(f"stretch B1 --mesh '{MESH}' --roll R0001")
    told = costs(stocked)["numbers"]
    (stretch,) = told["screens"]["behind"]["events"]
    assert f"{stretch}" in stocked.do("journal B1")
    assert told["mesh_m"]["behind"]["moves"]
    assert told["price_per_m"]["behind"]["rolls"]
    assert told["price_per_m"]["value"] is None
    assert costs(stocked, f"--mesh '{MESH}'")["mesh"] == MESH


@pytest.mark.parametrize(
    "line",
    ["cost freight=much", "cost rent=5", "costs --screens -1", "costs --mesh none-such",
     "costs --what-if burst_share=100"],
)  # fmt: skip
def test_nonsense_is_refused_in_a_sentence(stocked: Shell, line: str) -> None:
    before = stocked.facts()
    assert stocked.refuse(line)
    assert stocked.facts() == before


def test_the_sheet_says_what_the_command_says(stocked: Shell, tmp_path: Path) -> None:
    stocked.do(f"cost {OWN}")
    path = tmp_path / "costs.pdf"
    stocked.do(f"costs --screens 60 --out {path}")
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages
    )
    for words in (
        "What screens cost", "A stretch", "42.82", "A thousand prints", "in house saves",
        "pays from 35.9 screens", "What matters most", "stretcher’s price for a screen",
        "33.60", "50.40", "Reckoned from", "equal at 35.9", "sent out",
    ):  # fmt: skip
        assert words in text, words
