"""The plan, its calendar file and "what if" on the command line."""

from __future__ import annotations

from pathlib import Path

import pytest
from icalendar import Calendar

from tests.test_cli import MESH, Shell
from tests.test_cli import shell as shell
from tests.test_cli import stocked as stocked
from tests.test_cli import stocked_template as stocked_template


def test_an_empty_shop_plans_nothing(shell: Shell) -> None:
    plan = shell.ask("plan")
    assert isinstance(plan, dict)
    assert (plan["today"], plan["until"], plan["unplaced"]) == ("2025-03-03", "2025-03-16", [])
    assert len(plan["days"]) == 10
    assert shell.do("plan").strip() == "Nothing is due until 2025-03-16."


def test_the_plan_names_day_bench_minutes_and_reason(stocked: Shell) -> None:
    """S1 was found with mesh that nobody has read yet."""
    plan = stocked.ask("plan --days 3")
    assert isinstance(plan, dict)
    assert [day["day"] for day in plan["days"]] == ["2025-03-03", "2025-03-04", "2025-03-05"]
    (round_,) = (b for b in plan["days"][0]["benches"] if b["place"] == "round")
    assert (round_["minutes_used"], round_["minutes_there"]) == (3, 60)
    (task,) = round_["batches"][0]["tasks"]
    assert (task["own_label"], task["task"], task["mesh"]) == ("S1", "no_reading", MESH)
    assert task["days_late"] == 38  # since 8 January
    told = stocked.do("plan").splitlines()
    assert told[:2] == ["2025-03-03", "  Tension round: 3 of 60 minutes"]
    assert "late by 38 working days: no reading on this mesh yet" in told[3]
    stocked.do("settings round-minutes-a-day=0")
    assert "On no day until 2025-03-16" in stocked.do("plan").splitlines()


def test_the_calendar_file_can_be_read_back(stocked: Shell, tmp_path: Path) -> None:
    path = tmp_path / "work.ics"
    assert str(path) in stocked.do(f"calendar {path} --days 5")
    (event,) = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert str(event["SUMMARY"]).endswith("(S1): check tension")
    assert event.decoded("DTSTART").isoformat() == "2025-03-03"


def test_what_if_reckons_with_what_it_is_told(stocked: Shell) -> None:
    plain = stocked.ask("what-if")
    assert isinstance(plain, dict)
    assert (plain["waiting"], plain["waiting_unknown"], plain["meshes"]) == (1, 1, [])
    more = stocked.ask(
        f"what-if --also 40 '{MESH}' --minutes stretching=100 --closed 2025-03-03..2025-03-07"
    )
    assert isinstance(more, dict)
    (need,) = more["meshes"]
    assert (need["wanted_m"], need["on_hand_m"], need["short_m"]) == (35.56, 30, 5.56)
    (table,) = (b for b in more["benches"] if b["place"] == "stretching")
    assert (table["minutes_there"], table["full_on"]) == (500, "2025-03-14")
    assert table["unplaced"] > 0
    told = stocked.do(f"what-if --also 40 '{MESH}' --minutes stretching=100").splitlines()
    (place,) = (n for n, line in enumerate(told) if line.startswith("  Stretching table: "))
    assert "full on 2025-03-14" in told[place]
    # ten mornings of 100 minutes: three stretches of 30 each after a set-up of 10, for 41 frames
    assert told[place + 1] == "    Jobs that fit on no day until 2025-03-16: 11"
    assert f"{MESH}: 35.6 m needed, 30.0 m on hand" in stocked.do(f"what-if --also 40 '{MESH}'")


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("plan --days 0", "1 to 366 days"),
        ("what-if --minutes garden=5", "no bench garden"),
        ("what-if --minutes round=-5", "none below 0"),
        ("what-if --also 2 silk", "no mesh silk"),
        (f"what-if --also -3 '{MESH}'", "From 0 to 1000 more screens"),
        ("what-if --closed 2026-13-40", "2026-13-40"),
        ("what-if --closed 2026-08-14..2026-08-03", "ends before it begins"),
        ("calendar .", "is a folder"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(stocked: Shell, line: str, told: str) -> None:
    assert told in stocked.refuse(line)
