"""A meter is checked, found out and forgiven on the command line."""

from __future__ import annotations

from typing import Any

import pytest

from tests.fakes import FakeClock
from tests.test_cli import Shell
from tests.test_cli import shell as shell


@pytest.fixture
def shop(shell: Shell) -> Shell:
    """Three screens read by one meter: 17.5, 18.6 and 22; the limit is 18."""
    shell.do("mesh add '230 yellow' --target 25 --limit 18")
    shell.do("meter add Round --resolution 0.1 --certificate-until 2026-01-01")
    shell.do("found --size 584x787mm --label S1 --slot A1 --mesh '230 yellow'")
    shell.do("found --size 584x787mm --label S2 --slot A2 --mesh '230 yellow'")
    shell.do("found --size 584x787mm --label S3 --slot A3 --mesh '230 yellow'")
    shell.do("meter reference Round --shows 21 --should 21")
    shell.clock.go_on(hours=1)
    for label, shown in (("S1", 17.5), ("S2", 18.6), ("S3", 22)):
        shell.do(f"survey {label} --warp {shown} --weft {shown} --meter Round")
    shell.clock.go_on(hours=1)
    return shell


def meter(shop: Shell) -> dict[str, Any]:
    listed = shop.ask("meter list")
    assert isinstance(listed, list)
    found: dict[str, Any] = listed[0]
    return found


def due(shop: Shell, rule: str) -> set[str]:
    tasks = shop.ask("due")
    assert isinstance(tasks, list)
    labels = {row["code"]: row["own_label"] for row in shop.ask("frames")}  # type: ignore[attr-defined]
    return {labels[t["code"]] for t in tasks if t["task"] == rule}


def test_each_check_changes_the_answer_and_the_list_says_why(shop: Shell) -> None:
    assert (meter(shop)["answer"], meter(shop)["readings_since"]) == ("soon", 3)
    assert "zero it on glass" in meter(shop)["reasons"]
    shop.do("meter zero Round --shows 0,0")
    assert (meter(shop)["answer"], meter(shop)["reasons"]) == ("holds", "")
    assert "cannot be trusted" in shop.do("meter drop Round --note 'off the table'")
    assert meter(shop)["answer"] == "below"
    assert "it was dropped" in shop.do("meter list")
    shop.do("meter repair Round")
    assert meter(shop)["answer"] == "holds"
    assert meter(shop)["readings_since"] == 0
    shop.do("undo")
    assert meter(shop)["answer"] == "below"


def test_a_certificate_ends_after_the_meters_own_months(shop: Shell, clock: FakeClock) -> None:
    """Ten months from 30 April end with February; a date that is told is taken as it is."""
    shop.do("meter edit Round --certificate-months 10")
    clock.go_on(days=60)
    shop.do("meter certificate Round --on 2025-04-30")
    assert meter(shop)["certificate_until"] == "2026-02-28"
    shop.do("meter certificate Round --until 2027-05-01")
    assert meter(shop)["certificate_until"] == "2027-05-01"


def test_a_meter_is_looked_into_found_out_and_taken_back(shop: Shell) -> None:
    """Looking changes nothing; the bias is the one of the failed reference where none is told."""
    shop.do("meter reference Round --shows 22.2 --should 21")
    looked = shop.ask("meter found-out Round --look")
    assert isinstance(looked, dict)
    assert (looked["bias"], looked["surveys"]) == (1.2, 3)
    assert [(c["before"], c["after"]) for c in looked["changed"]] == [([], ["below_limit"])]
    told = shop.do("meter found-out Round --bias 1,2 --look")
    assert "since its last good check, 2025-03-03 07:10. Frames that change: 1 of 3." in told
    assert "(S2): lowest 18.6 becomes 17.4 N/cm, holds becomes below the limit." in told
    assert due(shop, "below_limit") == {"S1"}
    told = shop.do("meter found-out Round --bias 1.2 --note 'reference screen'")
    assert "3 surveys concluded anew; frames that change: 1" in told
    assert due(shop, "below_limit") == {"S1", "S2"}
    shop.do("undo")
    assert due(shop, "below_limit") == {"S1"}


def test_what_cannot_be_is_refused(shop: Shell) -> None:
    assert "no failed reference" in shop.refuse("meter found-out Round --look")
    assert "cannot be" in shop.refuse("meter found-out Round --bias 0")
    assert "no meter named" in shop.refuse("meter zero Other --shows 0")
    assert "nothing a meter shows" in shop.refuse("meter zero Round --shows 99")
    assert "no formula from sag" in shop.refuse("meter add Dial --scale mm-of-sag")
    assert shop.run("meter zero Round")[0] == 2
    assert shop.run("meter reference Round --shows 21")[0] == 2


def test_an_edit_keeps_what_it_does_not_name(shop: Shell) -> None:
    shop.do("meter edit Round --uncertainty 0.2 --repeatability 0.15 --serial 12")
    shop.do("meter edit Round --name Blue")
    with_all = meter(shop)
    assert (with_all["name"], with_all["serial"], with_all["resolution"]) == ("Blue", "12", 0.1)
    assert (with_all["uncertainty"], with_all["repeatability"]) == (0.2, 0.15)
