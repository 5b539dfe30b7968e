"""The forecast on the command line: the same answers for people and for machines."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from tests.test_cli import MESH, Shell
from tests.test_cli import shell as shell
from tests.test_cli import stocked as stocked
from tests.test_cli import stocked_template as stocked_template

FALL = (24.0, 22.8, 22.3, 21.9, 21.6)  # N/cm, a week apart


@pytest.fixture
def followed(stocked: Shell) -> Shell:
    """Screens R1 and R2 of known age, read for a month; S1 was never read and B1 is bare."""
    stocked.do("register --size 23x31in --count 2 --label R1 --label R2 --kind roller")
    stocked.do("prep R1 R2 --all --skip 'old_glue=new frame'")
    stocked.do(f"stretch R1 R2 --mesh '{MESH}'")
    stocked.do("release R1 R2")
    for tension in FALL:
        for place, label in enumerate(("R1", "R2")):
            stocked.do(f"survey {label} {tension - 0.4 * place} {tension - 0.4 * place}")
        stocked.clock.go_on(days=7)
    stocked.clock.go_on(days=-7)
    return stocked


def row(rows: Any, label: str) -> dict[str, Any]:
    found: dict[str, Any] = next(r for r in rows if r["own_label"] == label)
    return found


def rows_of(shell: Shell) -> list[dict[str, Any]]:
    rows = shell.ask("forecast")
    assert isinstance(rows, list)
    return rows


def test_an_empty_shop_foretells_nothing(shell: Shell) -> None:
    assert shell.ask("forecast") == []
    assert "Nothing is foretold yet" in shell.do("forecast")


def test_a_screen_that_was_never_read_is_named_only_when_asked_for(stocked: Shell) -> None:
    assert stocked.ask("forecast") == []
    told = row(stocked.ask("forecast S1"), "S1")
    assert (told["estimate"], told["days_left"], told["answer"]) == (None, None, None)
    assert "Not enough readings yet" in told["said"]
    assert "Not enough readings yet" in stocked.do("forecast S1")
    assert "no mesh" in row(stocked.ask("forecast B1"), "B1")["said"]
    assert "No frame in this shop answers to X9" in stocked.refuse("forecast X9")


def test_the_forecast_is_worked_out_when_it_is_first_asked_for(followed: Shell) -> None:
    """Nothing was kept so far; machines get numbers, dates and sentences."""
    rows = followed.ask("forecast")
    assert isinstance(rows, list)
    assert [r["own_label"] for r in rows] == ["R1", "R2"]
    told = row(rows, "R1")
    assert told["estimate"] == pytest.approx(FALL[-1], abs=0.5)
    assert 0 < told["sd"] < 1
    assert (told["limit"], told["decision"], told["answer"]) == (18.0, "keep", "holds")
    assert told["chance_below_now"] < 0.05
    today = followed.clock.now().date()
    assert today < dt.date.fromisoformat(told["next_reading_on"]) <= today + dt.timedelta(days=42)
    assert MESH in told["rests_on"]
    assert told["behind"] is None


def test_the_dates_come_in_order(followed: Shell) -> None:
    """The limit is set to where the screen will be within weeks."""
    followed.do(f"mesh edit '{MESH}' --limit 21.2")
    told = row(followed.ask("forecast R1"), "R1")
    dates = [told[f"below_{share}_on"] for share in (10, 50, 90) if told[f"below_{share}_on"]]
    assert len(dates) >= 2
    assert dates == sorted(dates)
    assert told["days_left"] == pytest.approx(
        (dt.date.fromisoformat(told["below_50_on"]) - followed.clock.now().date()).days, abs=1.01
    )
    assert f"around {told['below_50_on']}" in told["said"]


def test_people_read_sentences(followed: Shell) -> None:
    lines = followed.do("forecast R2").splitlines()
    assert lines[0].endswith(": keep")
    assert "N/cm, give or take 0." in lines[0]
    assert lines[1].startswith("  Likely ")
    assert lines[2].startswith("  Next reading on ")
    assert f"stretches of {MESH}" in lines[3]


def test_the_list_of_frames_carries_the_days_left(followed: Shell) -> None:
    """The same numbers as the forecast itself; nothing where nothing is foretold."""
    followed.do(f"mesh edit '{MESH}' --limit 21.2")
    frames, told = followed.ask("frames"), row(followed.ask("forecast"), "R1")
    screen = row(frames, "R1")
    assert screen["days_left"] == told["days_left"]
    assert screen["below_likely_on"] == told["below_50_on"]
    assert screen["chance_below_now"] == told["chance_below_now"]
    for label in ("B1", "S1"):
        empty = row(frames, label)
        assert (empty["days_left"], empty["below_likely_on"]) == (None, None)
        assert empty["chance_below_now"] is None
    assert row(frames, "B1")["next_reading_on"] is None
    assert row(frames, "S1")["next_reading_on"] == "2025-01-08"  # due since it was found
    shown = followed.ask("show R1")
    assert isinstance(shown, dict)
    assert shown["days_left"] == screen["days_left"]


def test_the_table_of_frames_has_a_column_for_the_days_left(followed: Shell) -> None:
    head, *lines = followed.do("frames").splitlines()
    place = head.index("days left")
    cells = {line.split()[1]: line[place : place + 9].strip() for line in lines}
    left = {r["own_label"]: r["days_left"] for r in rows_of(followed)}
    assert cells == {"B1": "", "S1": "", **{k: f"{int(v)} d" for k, v in left.items()}}
    assert max(len(line) for line in lines) <= 120


def test_a_mesh_without_limit_says_what_to_set(followed: Shell) -> None:
    followed.do(f"mesh edit '{MESH}' --limit none")
    assert followed.ask("forecast") == []
    assert f"No limit is set for {MESH}" in followed.do("forecast R1")


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_tensions_and_days_are_the_same_in_every_unit_of_length(followed: Shell, unit: str) -> None:
    before = followed.ask("forecast")
    followed.do(f"settings length_unit={unit}")
    assert followed.ask("forecast") == before
