"""Tension histories: where each begins and ends, and what belongs to it."""

from __future__ import annotations

import datetime as dt
from itertools import count

import pytest

from framekeeper.domain.stretch_history import (
    OWN_PACE_AFTER_DAYS,
    USUAL_CYCLES_PER_DAY,
    LifeMark,
    histories,
    own_pace,
    usual_pace,
)

START = dt.datetime(2025, 3, 3, 8, 0, tzinfo=dt.UTC)


def marks(*said: tuple[str, float] | tuple[str, float, object], frame: int = 1) -> list[LifeMark]:
    """Events as (kind, day) or (kind, day, tension or mesh), in the order given."""
    ids = count(1)
    listed = []
    for kind, day, *more in said:
        value = more[0] if more else None
        is_mesh = kind in ("stretched", "found_with_mesh", "received")
        listed.append(
            LifeMark(
                frame,
                next(ids),
                START + dt.timedelta(days=day),
                kind,
                mesh_type_id=(value or 7) if is_mesh and value != "none" else None,  # type: ignore[arg-type]
                tension=value if kind == "surveyed" else None,  # type: ignore[arg-type]
            )
        )
    return listed


def readings(said: list[LifeMark]) -> list[list[tuple[float, int, float]]]:
    return [[(r.day, r.cycles, r.tension) for r in h.readings] for h in histories(said)]


def test_day_0_is_the_release_and_the_clamps_do_not_count() -> None:
    said = marks(
        ("stretched", 0),
        ("surveyed", 0.1, None),  # in the clamps: it has no tension here
        ("released", 0.5),
        ("surveyed", 1.5, 24.0),
        ("surveyed", 8.5, 23.0),
    )
    (history,) = histories(said)
    assert (history.key, history.mesh_type_id) == (3, 7)
    assert history.day0_at == said[2].at
    assert readings(said) == [[(1.0, 0, 24.0), (8.0, 0, 23.0)]]


def test_cycles_are_those_since_day_0() -> None:
    said = marks(
        ("stretched", 0),
        ("released", 0),
        ("surveyed", 1, 24.0),
        ("reclaimed", 2),
        ("reclaimed", 3),
        ("surveyed", 4, 23.0),
        ("reclaimed", 5),
    )
    (history,) = histories(said)
    assert [r.cycles for r in history.readings] == [0, 2]
    assert history.cycles == 3


def test_a_retension_begins_anew_in_the_same_mesh() -> None:
    said = marks(
        ("stretched", 0),
        ("released", 0),
        ("reclaimed", 1),
        ("surveyed", 2, 20.0),
        ("retensioned", 3),
        ("surveyed", 5, 25.0),
    )
    assert readings(said) == [[(2.0, 1, 20.0)], [(2.0, 0, 25.0)]]
    assert [h.mesh_type_id for h in histories(said)] == [7, 7]


@pytest.mark.parametrize("end", ["stripped", "stretched"])
def test_strip_and_stretch_end_it(end: str) -> None:
    said = marks(
        ("stretched", 0), ("released", 0), ("surveyed", 1, 24.0), (end, 2), ("surveyed", 3, 20.0)
    )
    assert readings(said) == [[(1.0, 0, 24.0)]]


def test_mesh_that_comes_from_outside_starts_when_it_comes() -> None:
    said = marks(("received", 4, 9), ("surveyed", 6, 24.0))
    (history,) = histories(said)
    assert (history.mesh_type_id, history.readings[0].day) == (9, 2.0)


def test_a_screen_that_only_travelled_goes_on() -> None:
    said = marks(
        ("stretched", 0),
        ("released", 0),
        ("surveyed", 1, 24.0),
        ("received", 4, "none"),
        ("surveyed", 6, 23.0),
    )
    assert readings(said) == [[(1.0, 0, 24.0), (6.0, 0, 23.0)]]


def test_found_mesh_of_known_age_brings_its_reclaims() -> None:
    found = LifeMark(
        1, 1, START, "found_with_mesh", 7, since=START - dt.timedelta(days=60), reclaims=12
    )
    (history,) = histories([found, *marks(("reclaimed", 1), ("surveyed", 2, 21.0))])
    assert history.day0_is_known
    assert [(r.day, r.cycles) for r in history.readings] == [(62.0, 13)]


def test_found_mesh_of_unknown_age_is_fresh_at_its_first_reading() -> None:
    found = LifeMark(1, 1, START, "found_with_mesh", 7, reclaims=12)
    said = [found, *marks(("reclaimed", 1), ("surveyed", 2, 21.0), ("surveyed", 9, 20.6))]
    (history,) = histories(said)
    assert not history.day0_is_known
    assert [r.day for r in history.readings] == [0.0, 7.0]


def test_without_a_reading_there_is_no_history() -> None:
    assert histories(marks(("stretched", 0), ("released", 0), ("reclaimed", 1))) == []
    assert histories([]) == []


def test_a_survey_of_a_frame_without_mesh_is_left_alone() -> None:
    assert histories(marks(("surveyed", 0, 20.0), ("reclaimed", 1))) == []


def test_frames_do_not_mix() -> None:
    one = marks(("stretched", 0), ("released", 0), ("surveyed", 1, 24.0))
    two = marks(("reclaimed", 0), ("stretched", 2), ("released", 2), ("surveyed", 4, 25.0), frame=2)
    assert [(h.frame_id, h.readings[0].tension) for h in histories([*one, *two])] == [
        (1, 24.0),
        (2, 25.0),
    ]


def test_the_pace_is_the_shops_first_and_its_own_later() -> None:
    quick = histories(
        marks(("stretched", 0), ("released", 0), ("surveyed", 0, 24.0),
              *[("reclaimed", d) for d in range(1, 31)])
    )  # fmt: skip
    fresh = histories(marks(("stretched", 0), ("released", 0), ("surveyed", 0, 24.0)))
    assert usual_pace([]) == USUAL_CYCLES_PER_DAY
    known = OWN_PACE_AFTER_DAYS * USUAL_CYCLES_PER_DAY
    assert usual_pace(quick) == pytest.approx((known + 30) / (OWN_PACE_AFTER_DAYS + 30))
    assert own_pace(fresh[0], 0.25) == 0.25
    assert own_pace(quick[0], 0.25) == pytest.approx((30 + 7.5) / 60)
