"""The cut plan on the command line: told, printed, booked, and used by the stretch."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.test_cli import Shell
from tests.test_cli import shell as shell

MESH = "120-34"


@pytest.fixture
def stocked(shell: Shell) -> Shell:
    """Three prepped frames of 23 x 31 in, B1 to B3, and a roll of 1500 mm."""
    shell.do(f"mesh add {MESH} --count 120 --unit cm --thread 34 --target 24")
    shell.do(f"roll receive --mesh {MESH} --length 30m --width 1500mm --lot A7")
    shell.do("settings length_unit=mm")
    for label in ("B1", "B2", "B3"):
        shell.do(f"register --size 23x31in --label {label}")
        shell.do(f"prep {label} --all --skip 'old_glue=new frame'")
    return shell


def plan(shop: Shell, more: str = "") -> dict[str, Any]:
    found = shop.ask(f"cut-plan B1 B2 B3 --mesh {MESH} {more}")
    assert isinstance(found, dict)
    return found


def on_hand(shop: Shell) -> list[float]:
    found = shop.ask("roll list")
    assert isinstance(found, list)
    return [roll["on_hand_m"] for roll in found]


def test_the_plan_is_told_in_words_and_for_machines(stocked: Shell) -> None:
    said = stocked.do(f"cut-plan B1 B2 B3 --mesh {MESH}")
    assert "Pieces: 3. Off the rolls: 1.78 m. Waste: 31.4 %." in said
    assert "Proven: no plan needs less. No plan is shorter than 1.78 m." in said
    assert "Roll R0001, 120-34, 1500 mm wide: 1.78 m comes off, 28.22 m stays." in said
    assert "Cut 1 after 889 mm: " in said
    assert "serves frames up to 584 mm x 787 mm" in said
    told = plan(stocked)
    assert (told["used_mm"], told["is_proven"], told["gap"]) == (1778.0, True, 0.0)
    (roll,) = told["rolls"]
    assert [len(row["pieces"]) for row in roll["rows"]] in ([2, 1], [1, 2])
    assert told["cost"] is None


def test_without_frames_the_table_is_planned(stocked: Shell) -> None:
    """Frames that never wore mesh have none to be cut, and that is said."""
    assert "There is nothing to cut." in stocked.refuse("cut-plan")
    assert "There is nothing to cut." in stocked.refuse("cut-plan --restretch")
    stocked.do(f"cut-plan B1 --mesh {MESH} --book")
    assert "There is nothing to cut." in stocked.refuse(f"cut-plan B1 --mesh {MESH}")


def test_booked_mesh_is_off_the_roll_and_the_stretch_uses_it(stocked: Shell) -> None:
    said = stocked.do(f"cut-plan B1 B2 B3 --mesh {MESH} --book --keep")
    assert "3 frames: cut, 1.78 m off the rolls. Offcuts on the shelf: R0002." in said
    assert on_hand(stocked) == [28.222, 0.889]
    stocked.do(f"stretch B1 --mesh {MESH} --roll R0001")
    assert on_hand(stocked) == [28.222, 0.889]
    stocked.do("undo")
    stocked.do("undo")
    assert on_hand(stocked) == [30.0]
    stocked.do("redo")
    stocked.do("piece-gone B2")
    (roll,) = plan(stocked)["rolls"]
    assert [len(row["pieces"]) for row in roll["rows"]] == [1]


def test_the_sheet_says_what_is_told_in_both_unit_systems(stocked: Shell, tmp_path: Path) -> None:
    for unit, size, length in (("mm", "686 x 889 mm", "889 mm"), ("inch", "27 x 35 in", "35 in")):
        stocked.do(f"settings length_unit={unit}")
        path = tmp_path / f"{unit}.pdf"
        stocked.do(f"cut-plan B1 B2 B3 --mesh {MESH} --pdf {path}")
        pages = pypdf.PdfReader(io.BytesIO(path.read_bytes())).pages
        text = "\n".join(page.extract_text() for page in pages)
        assert text.count(size) >= 3
        assert f"Cut 1 after {length}" in text
        assert f"Cut 2 after {length}" in text
        assert "R0001" in text
        assert "no plan needs less" in text
