"""Findings and the effect of thresholds on the command line."""

from __future__ import annotations

from typing import Any

import pytest

from tests.test_cli import Shell
from tests.test_cli import shell as shell


@pytest.fixture
def shop(shell: Shell) -> Shell:
    """Three screens of one mesh, read at the release and twice after."""
    shell.do("mesh add '230 yellow' --target 25 --limit 18 --read-every 14")
    for label in ("S1", "S2", "S3"):
        shell.do(f"found --size 584x787mm --label {label} --mesh '230 yellow' --since 2025-03-03")
    for days, tension in ((0, 24.0), (3, 23.2), (20, 22.6)):
        shell.clock.go_on(days=days)
        for label in ("S1", "S2", "S3"):
            shell.do(f"survey {label} --warp {tension} --weft {tension}")
    return shell


def findings(shop: Shell, more: str = "") -> dict[str, Any]:
    found = shop.ask(f"findings {more}")
    assert isinstance(found, dict)
    return found


def test_an_empty_shop_tells_the_trades_figures_and_their_sources(shell: Shell) -> None:
    said = shell.do("findings")
    assert "Nothing has been fitted yet" in said
    assert "4.00 % (give or take 4.00) lost in the first night: published: 20 N/cm" in said
    assert "our proposal, no source" in said
    told = findings(shell)
    assert (told["fitted"], told["meshes"], told["odd"]) == (None, [], [])
    assert told["trade"][1]["percent"] == 5
    assert list(told["trade_left_percent"]) == ["0", "1", "7", "30", "90", "180"]


def test_it_tells_each_mesh_and_what_it_rests_on(shop: Shell) -> None:
    said = shop.do("findings")
    assert "on 9 readings of 3 stretches; nothing newer has been read." in said
    assert "230 yellow:" in said
    assert " on day 30, " in said
    assert "The first night costs " in said
    told = findings(shop)
    (mesh,) = told["meshes"]
    assert (mesh["mesh"], mesh["stretches"], mesh["readings"]) == ("230 yellow", 3, 9)
    assert [day["day"] for day in mesh["days"]] == [0, 1, 7, 30, 90, 180]
    assert mesh["days"][2]["low"] < mesh["days"][2]["tension"] < mesh["days"][2]["high"]
    assert 0 < mesh["own_share"] < 1


def test_what_was_read_since_is_told_and_fitted_when_asked(shop: Shell) -> None:
    """One new survey among nine is more than a tenth, so it is fitted at once; then none is new."""
    fitted_at = findings(shop)["fitted"]["at"]
    shop.clock.go_on(hours=1)
    assert findings(shop)["fitted"]["at"] == fitted_at
    assert findings(shop, "--anew")["fitted"]["at"] != fitted_at


def test_a_fall_is_named(shop: Shell) -> None:
    shop.do("findings")
    shop.clock.go_on(days=2)
    shop.do("survey S2 --warp 17 --weft 17")
    (odd,) = findings(shop)["odd"]
    assert (odd["own_label"], odd["kind"], odd["still_on"]) == ("S2", "drop", True)
    assert odd["lost"] > 4
    assert "(S2), 230 yellow: fell suddenly by" in shop.do("findings")


def test_thresholds_are_tried_before_they_are_saved(shop: Shell) -> None:
    said = shop.do("mesh edit '230 yellow' --limit 22 --look")
    now, then, estimate = said.splitlines()[:3]
    assert now.startswith("Now: about 2 readings and 0.")
    assert then.startswith("With this: about ")
    assert now.removeprefix("Now") != then.removeprefix("With this")
    assert "today’s forecast expects" in estimate
    assert "Screens that this rests on" in said
    assert shop.ask("mesh list")[0]["limit"] == 18  # type: ignore[index]
    both = shop.ask("mesh edit '230 yellow' --longest-wait 5 --look")
    assert isinstance(both, dict)
    assert both["then"]["checks_a_month"] > both["now"]["checks_a_month"]
    assert both["then"]["checks_a_month"] == pytest.approx(3 * 365.25 / 12 / 5, abs=0.01)


def test_risk_and_longest_wait_are_set_in_plain_words(shop: Shell) -> None:
    shop.do("mesh edit '230 yellow' --risk 2,5 --longest-wait 30")
    row = shop.ask("mesh list")[0]  # type: ignore[index]
    assert (row["risk_percent"], row["longest_wait"], row["read_every"]) == (2.5, 30, 14)
    shop.do("mesh edit '230 yellow' --risk none --longest-wait none --read-every 10")
    row = shop.ask("mesh list")[0]  # type: ignore[index]
    assert (row["risk_percent"], row["longest_wait"], row["read_every"]) == (None, None, 10)
    assert "about 9 readings" in shop.do("mesh edit '230 yellow' --look")
    shop.do("mesh edit '230 yellow' --risk 4%")
    assert shop.ask("mesh list")[0]["risk_percent"] == 4  # type: ignore[index]


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("--risk 0", "A risk of 0 %"),
        ("--risk 60 --look", "A risk of 60 %"),
        ("--longest-wait 0", "no sensible threshold"),
        ("--longest-wait 2.5", "not a whole number"),
        ("--tolerance none", "none"),
        ("--risk few", "few"),
    ],
)
def test_what_is_no_threshold_is_refused(shop: Shell, option: str, said: str) -> None:
    assert said in shop.refuse(f"mesh edit '230 yellow' {option}")
