"""Lives of mesh on the command line, for a person and for a machine."""

from __future__ import annotations

import pytest

from tests.test_cli import Shell
from tests.test_cli import shell as shell


@pytest.fixture
def shop(shell: Shell) -> Shell:
    """Ten screens of one mesh, found the day they were stretched; six have ended since."""
    shell.do("mesh add '230 yellow' --target 25 --limit 18")
    for label in [f"S{n}" for n in range(1, 11)]:
        shell.do(f"found --size 584x787mm --label {label} --mesh '230 yellow' --since 2025-03-03")
    for label in ("S1", "S2", "S3", "S4", "S5"):
        shell.clock.go_on(days=10)
        shell.do(f"pull {label} --reason 'below the limit'")
    shell.do("damage S6 --kind hole --mesh-is-done")
    return shell


def test_an_empty_shop_is_told_where_a_life_begins(shell: Shell) -> None:
    assert "No life of a mesh is known yet" in shell.do("lives")


def test_it_tells_groups_causes_and_nights(shop: Shell) -> None:
    said = shop.do("lives")
    assert "Lives in days, by mesh: 10, of these ended 6; left out 0." in said
    assert "Half of them outlast 50 days" in said
    assert "5 (83 %) pulled: below the limit" in said
    assert "1 (17 %) hole" in said
    assert "There is only one group here" in said
    assert "No first night was read yet" in said


def test_a_machine_gets_each_number_with_its_lives_and_events(shop: Shell) -> None:
    told = shop.ask("lives --split method --unit days")
    assert isinstance(told, dict)
    (group,) = told["groups"]
    by_key = {life["key"]: life for life in told["lives"]}
    assert sorted(by_key) == sorted(group["lives"])
    assert [by_key[key]["fate"] for key in group["ended"]] == ["ended"] * 6
    assert sum(len(cause["lives"]) for cause in told["causes"]) == 6
    assert all(life["events"] for life in by_key.values())
    assert group["half_outlast"]["high"] is None  # never reached, and JSON has no word for it


def test_a_mesh_that_nobody_knows_is_refused(shop: Shell) -> None:
    assert "No life of a mesh called 99" in shop.refuse("lives --mesh 99")
