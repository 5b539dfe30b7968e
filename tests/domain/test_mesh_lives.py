"""Lives of mesh cut from journals: what begins one, what ends it, and what is known of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest

from framekeeper.domain.events import (
    Damaged,
    Event,
    Found,
    FoundWithMesh,
    FrameKind,
    Glued,
    Imaged,
    Inspected,
    Missing,
    Moment,
    Payload,
    Prepped,
    Printed,
    Pulled,
    Reading,
    Received,
    Reclaimed,
    Recorrected,
    Registered,
    Released,
    Retensioned,
    Retired,
    SentOut,
    Staged,
    Stretched,
    Stripped,
    Surveyed,
    ToReclaim,
    Withdrawn,
)
from framekeeper.domain.lived_mesh import Cause, LivedMesh, Span
from framekeeper.domain.mesh_lives import KINDS, cause_of, mesh_lives, rest_before_glue

DAY0 = dt.datetime(2025, 1, 1, 8, tzinfo=dt.UTC)
NOW = DAY0 + dt.timedelta(days=100)
Told = tuple[float, Payload]  # days after DAY0, what happened


def journal(*told: Told) -> list[Event]:
    """Events in the order of recording; the id of each is its place, from 1."""
    return [
        Event(7, DAY0 + dt.timedelta(days=day), payload, DAY0 + dt.timedelta(days=day), place,
              by="Ottilie")
        for place, (day, payload) in enumerate(told, start=1)
    ]  # fmt: skip


def lives(*told: Told, kind: FrameKind = "glued", now: dt.datetime = NOW) -> list[LivedMesh]:
    return mesh_lives(kind, journal(*told), now=now)


def survey(moment: Moment, tension: float, correction: float = 0.0) -> Surveyed:
    return Surveyed(moment, (Reading(1, "warp", tension), Reading(1, "weft", tension)), None,
                    correction)  # fmt: skip


STRETCHED = Stretched(3, 25.0, roll_id=5, frames_in_pull=2)
FRESH: tuple[Told, ...] = (
    (0.0, Registered()),
    (0.1, STRETCHED),
    (0.11, Staged(18.0, 3)),
    (0.12, Staged(25.0, 12)),
    (0.13, Glued(DAY0 + dt.timedelta(days=0.2), "G-1", "H-1")),
    (0.25, Released()),
)
RELEASE = 0.25


def test_a_life_runs_from_the_release_to_now() -> None:
    (life,) = lives(*FRESH, (3, Imaged()), (4, Printed(200)), (5, Reclaimed()), (9, Printed(50)))
    assert (life.frame_id, life.key, life.mesh_type_id, life.roll_id) == (7, 2, 3, 5)
    assert (life.method, life.by, life.adhesive_lot, life.activator_lot) == (
        "glued", "Ottilie", "G-1", "H-1",
    )  # fmt: skip
    assert (life.rest_minutes, life.frames_in_pull) == (12, 2)
    assert (life.fate, life.cause, life.closed_by) == ("on", None, None)
    assert (life.reclaims, life.impressions) == (1, 250)
    assert life.span("days") == Span(0.0, pytest.approx(100 - RELEASE), ended=False)
    assert life.span("reclaims") == Span(0.0, 1.0, ended=False)


def test_each_life_carries_the_events_that_tell_it() -> None:
    """What does not matter to it, such as an image, is not among them."""
    (life,) = lives(*FRESH, (3, Imaged()), (4, Printed(200)), (5, ToReclaim()), (6, Reclaimed()),
                    (9, Pulled("uneven")), (10, Stripped()))  # fmt: skip
    assert [(e.event_id, e.kind) for e in life.events] == [
        (2, "stretched"), (3, "staged"), (4, "staged"), (5, "glued"), (6, "released"),
        (8, "printed"), (10, "reclaimed"), (11, "pulled"), (12, "stripped"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("told", "cause", "day"),
    [
        ([(20, Damaged("hole", mesh_is_done=True))], Cause("damaged", "hole"), 20),
        ([(20, Damaged("burst", mesh_is_done=False))], Cause("damaged", "burst"), 20),
        ([(20, Pulled("Below the limit."))], Cause("below_limit"), 20),
        ([(20, Pulled("below its limit")), (25, Stripped())], Cause("below_limit"), 20),
        ([(20, Pulled("uneven, one corner low"))], Cause("uneven"), 20),
        ([(20, Pulled(" Print  faults "))], Cause("pulled", "print faults"), 20),
        ([(20, Stripped())], Cause("stripped"), 20),
        ([(18, Damaged("hole", mesh_is_done=False)), (20, Stripped())],
         Cause("damaged", "hole"), 20),
        ([(17, Damaged("hole", mesh_is_done=False)), (18, Inspected()), (20, Stripped())],
         Cause("stripped"), 20),
        ([(20, Damaged("hole", mesh_is_done=True)), (21, Damaged("burst", mesh_is_done=True)),
          (22, Stripped())], Cause("damaged", "hole"), 20),
        ([(20, Pulled("uneven")), (21, Damaged("burst", mesh_is_done=True))], Cause("uneven"), 20),
    ],
)  # fmt: skip
def test_the_first_end_counts_with_its_cause(told: list[Told], cause: Cause, day: int) -> None:
    (life,) = lives(*FRESH, *told)
    assert (life.fate, life.cause) == ("ended", cause)
    assert life.span("days") == Span(0.0, pytest.approx(day - RELEASE), ended=True)
    first = next(e for e in life.events if e.at == DAY0 + dt.timedelta(days=day))
    assert life.closed_by == first.event_id


@pytest.mark.parametrize("payload", [Retired("bars bow"), Missing(), SentOut("across the river")])
def test_mesh_that_leaves_sight_has_not_ended(payload: Payload) -> None:
    (life,) = lives(*FRESH, (30, payload))
    assert (life.fate, life.cause, life.closed_by) == ("out_of_sight", None, 7)
    assert life.span("days") == Span(0.0, pytest.approx(30 - RELEASE), ended=False)


def test_a_missing_frame_that_is_retired_left_sight_when_it_went_missing() -> None:
    (life,) = lives(*FRESH, (30, Missing()), (60, Retired("never found")))
    assert life.span("days") == Span(0.0, pytest.approx(30 - RELEASE), ended=False)


def test_a_clock_that_lags_behind_another_bench_makes_no_age_below_nought() -> None:
    (life,) = lives(*FRESH, now=DAY0 + dt.timedelta(days=RELEASE, minutes=-1))
    assert life.span("days") == Span(0.0, 0.0, ended=False)


@pytest.mark.parametrize("there_and_back", [(Missing(), Found()), (SentOut("x"), Received())])
def test_mesh_that_comes_back_goes_on(there_and_back: Sequence[Payload]) -> None:
    away, back = there_and_back
    (life,) = lives(*FRESH, (30, away), (40, back), (50, Reclaimed()))
    assert (life.fate, life.reclaims) == ("on", 1)
    span = life.span("days")
    assert span is not None
    assert span.age == pytest.approx(100 - RELEASE)


def test_new_mesh_from_outside_ends_the_old_on_the_day_it_left() -> None:
    """Its own life begins when it comes back; who stretched it is where it was sent."""
    old, new = lives(*FRESH, (30, SentOut("across the river")), (44, Received(9, 26.0)))
    assert (old.fate, old.cause) == ("ended", Cause("sent_out"))
    assert old.span("days") == Span(0.0, pytest.approx(30 - RELEASE), ended=True)
    assert (new.method, new.by, new.mesh_type_id) == ("outside", "across the river", 9)
    assert new.span("days") == Span(0.0, pytest.approx(56), ended=False)
    assert (new.rest_minutes, new.frames_in_pull, new.first_night) == (None, None, None)


def test_a_withdrawn_end_was_none_and_a_withdrawn_withdrawal_makes_it_one_again() -> None:
    told: list[Told] = [*FRESH, (20, Pulled("uneven")), (21, Withdrawn(7))]
    assert lives(*told)[0].fate == "on"
    (life,) = lives(*told, (22, Withdrawn(8)))
    assert (life.fate, life.closed_by) == ("ended", 7)


def test_what_was_withdrawn_counts_nowhere() -> None:
    (life,) = lives(
        *FRESH, (5, Reclaimed()), (6, Printed(90)), (7, Withdrawn(7)), (7, Withdrawn(8))
    )
    assert (life.reclaims, life.impressions) == (0, 0)
    assert 7 not in [e.event_id for e in life.events]
    (again,) = lives(*FRESH, (8, Withdrawn(6)))
    assert again.left_out("days") == "not_released"


def test_tightening_a_roller_frame_is_no_end_even_after_a_pull() -> None:
    told: list[Told] = [
        (0.0, Registered()), (0.1, Stretched(3, 25.0)), (0.2, Released()), (5, Reclaimed()),
        (20, Retensioned(25.0)), (40, Pulled("below the limit")), (42, Retensioned(25.0)),
        (50, Reclaimed()),
    ]  # fmt: skip
    (life,) = lives(*told, kind="roller")
    assert (life.method, life.fate, life.reclaims) == ("rollers", "on", 2)
    (life,) = lives(*told, (60, Pulled("below the limit")), kind="roller")
    assert life.span("days") == Span(0.0, pytest.approx(59.8), ended=True)


def test_found_mesh_of_known_start_enters_late() -> None:
    since = DAY0 - dt.timedelta(days=40)
    (life,) = lives((0, FoundWithMesh(3, 6, since)), (5, Reclaimed()), (10, Pulled("uneven")))
    assert life.span("days") == Span(40.0, 50.0, ended=True)
    assert life.span("reclaims") == Span(6.0, 7.0, ended=True)
    assert (life.method, life.by) == ("not_told", "")


def test_an_unknown_start_is_left_out_of_the_unit_that_needs_it() -> None:
    (life,) = lives((0, FoundWithMesh(3, 6)), (5, Reclaimed()))
    assert (life.span("days"), life.left_out("days")) == (None, "start_unknown")
    assert life.span("reclaims") == Span(6.0, 7.0, ended=False)
    (life,) = lives((0, FoundWithMesh(3, None, DAY0 - dt.timedelta(days=3))))
    assert (life.span("reclaims"), life.left_out("reclaims")) == (None, "start_unknown")
    assert life.span("days") == Span(3.0, 103.0, ended=False)


def test_found_mesh_that_ends_before_it_was_used_here_was_never_watched() -> None:
    """At 6 reclaims it came, at 6 it ended: nobody could have seen it outlast that."""
    (life,) = lives((0, FoundWithMesh(3, 6, DAY0)), (5, Pulled("uneven")))
    assert (life.span("reclaims"), life.left_out("reclaims")) == (None, "never_watched")
    assert life.span("days") == Span(0.0, 5.0, ended=True)


def test_what_breaks_before_the_release_has_a_cause_and_no_age() -> None:
    burst = (0.12, Damaged("burst", mesh_is_done=True))
    (life,) = lives(*FRESH[:3], burst, (0.2, Stripped()))
    assert life.cause == Cause("damaged", "burst", before_release=True)
    assert (life.left_out("days"), life.left_out("reclaims")) == ("not_released", "not_released")
    assert life.span("days") is None


@pytest.mark.parametrize(
    ("stages", "minutes"),
    [
        ([], None),
        ([(25.0, 9)], 9),
        ([(18.0, 3), (25.0, 12)], 12),
        ([(18.0, 3), (25.0, 12), (25.0, 10)], 22),  # rested twice at the last pull
        ([(18.0, 3), (25.0, 12), (24.6, 10), (26.0, 4)], 4),
    ],
)
def test_the_rest_counts_since_the_last_pull(
    stages: list[tuple[float, int]], minutes: int | None
) -> None:
    assert rest_before_glue([Staged(*stage) for stage in stages]) == minutes


def test_the_first_night_is_told_by_the_evening_and_the_morning() -> None:
    (life,) = lives(*FRESH, (0.3, survey("after_release", 25.0)), (1.0, survey("in_service", 24.0)))
    night = life.first_night
    assert night is not None
    assert (night.before_id, night.after_id, night.from_clamps) == (7, 8, False)
    assert night.loss_percent == pytest.approx(4.0)


def test_without_an_evening_reading_the_last_in_the_clamps_begins_the_night() -> None:
    (life,) = lives(
        *FRESH[:5], (0.14, survey("in_clamps", 27.0)), (0.15, survey("before_glue", 26.0)),
        FRESH[5], (1.0, survey("after_release", 24.0, correction=-0.6)),
    )  # fmt: skip
    night = life.first_night
    assert night is not None
    assert (night.before_n_per_cm, night.after_n_per_cm, night.from_clamps) == (26.0, 23.4, True)


def test_a_meter_that_was_found_out_changes_the_night() -> None:
    (life,) = lives(*FRESH, (0.3, survey("after_release", 25.0)), (1.0, survey("in_service", 24.0)),
                    (9, Recorrected(8, -1.5, 0.0)))  # fmt: skip
    assert life.first_night is not None
    assert life.first_night.after_n_per_cm == pytest.approx(22.5)


@pytest.mark.parametrize("day", [0.45, 2.0])
def test_a_reading_too_soon_or_too_late_is_no_morning(day: float) -> None:
    (life,) = lives(*FRESH, (0.3, survey("after_release", 25.0)), (day, survey("in_service", 24.0)))
    assert life.first_night is None


def test_tension_that_was_set_anew_overnight_tells_no_night() -> None:
    (life,) = lives(
        (0, Registered()), (0.1, Stretched(3, 25.0)), (0.2, Released()),
        (0.3, survey("after_release", 25.0)), (0.8, Retensioned(26.0)),
        (1.0, survey("in_service", 26.0)), kind="roller",
    )  # fmt: skip
    assert life.first_night is None


def test_the_events_of_the_named_kinds_are_enough() -> None:
    """So a reader may leave the others in the drawer."""
    told: list[Told] = [
        *FRESH, (0.9, Prepped("inspect")), (3, Imaged()), (4, Printed(5)), (4.1, ToReclaim()),
        (5, Reclaimed()), (5.5, Withdrawn(8)), (6, Pulled("uneven")), (7, Stripped()),
        (8, Stretched(4, 20.0)),
    ]  # fmt: skip
    whole = journal(*told)
    some = [e for e in whole if e.kind in KINDS]
    assert len(some) < len(whole)
    assert mesh_lives("glued", some, now=NOW) == mesh_lives("glued", whole, now=NOW)


def test_the_order_of_recording_does_not_matter() -> None:
    told = journal(*FRESH, (5, Reclaimed()), (20, Pulled("uneven")), (21, Stripped()))
    assert mesh_lives("glued", reversed(told), now=NOW) == mesh_lives("glued", told, now=NOW)


def test_words_that_are_no_known_reason_stand_as_typed() -> None:
    assert cause_of(Pulled("No limit to this")) == Cause("pulled", "no limit to this")
    assert cause_of(Pulled("UNDER the limit")) == Cause("below_limit")
