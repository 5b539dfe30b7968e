"""Which event may follow which state: a table in the trade's words, written apart from the code."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain import lifecycle
from framekeeper.domain.errors import NotPossible
from framekeeper.domain.events import (
    PAYLOADS,
    Damaged,
    Event,
    Found,
    FoundWithMesh,
    FrameKind,
    Freed,
    Glued,
    Held,
    HoldEnded,
    Imaged,
    Inspected,
    Missing,
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
    Reserved,
    Retensioned,
    Retired,
    SentOut,
    Staged,
    Stretched,
    Stripped,
    Surveyed,
    ToReclaim,
)
from framekeeper.domain.frame_state import STATES

START = dt.datetime(2025, 3, 3, 8, 0, tzinfo=dt.UTC)
LATE = START + dt.timedelta(days=30)
LONG_CURE = Glued(START + dt.timedelta(days=300))
PREP: tuple[Payload, ...] = (
    Registered(),
    *(Prepped(step) for step in ("inspect", "old_glue", "abrade", "degrease", "corners")),  # type: ignore[arg-type]
)
FOUND = FoundWithMesh(1, 3, None, 22.0)
STRETCH = Stretched(1, 24.0)

GLUED_HISTORY: dict[str, tuple[Payload, ...]] = {
    "void": (),
    "bare": (Registered(),),
    "prepped": PREP,
    "in_clamps": (*PREP, STRETCH),
    "curing": (*PREP, STRETCH, LONG_CURE),
    "ready": (FOUND,),
    "in_use": (FOUND, Imaged("tour")),
    "to_reclaim": (FOUND, Imaged("tour"), ToReclaim()),
    "pulled": (FOUND, Pulled("slack")),
    "out": (Registered(), SentOut("Nordwind Screens")),
    "missing": (FOUND, Missing()),
    "retired": (FOUND, Retired("bent")),
}
ROLLER_HISTORY: dict[str, tuple[Payload, ...]] = {
    **GLUED_HISTORY,
    "prepped": (Registered(), Prepped("inspect")),
    "in_clamps": (Registered(), Prepped("inspect"), STRETCH),
}
del ROLLER_HISTORY["curing"]  # no glue, no cure

# One column for each state, in the order of `COLUMNS`: y is allowed.
COLUMNS = (
    "void", "bare", "prepped", "in_clamps", "curing", "ready", "in_use", "to_reclaim", "pulled",
    "out", "missing", "retired",
)  # fmt: skip
TABLE: dict[str, tuple[Payload, str]] = {
    "registered": (Registered(), "y..........."),
    "found_with_mesh": (FOUND, "y..........."),
    "prepped": (Prepped("inspect"), ".yy.....y..."),
    "stretched": (STRETCH, "..y........."),
    "staged": (Staged(20.0, 10), "...y........"),
    "glued": (Glued(LATE), "...y........"),
    "released": (Released(), "....y......."),
    "retensioned": (Retensioned(25.0), "............"),
    "surveyed": (Surveyed("in_service", (Reading(1, "warp", 21.0),)), ".....yyyy..."),
    "recorrected": (Recorrected(1, -1.2, 0.0), ".yyyyyyyyyyy"),
    "sent_out": (SentOut("Nordwind Screens"), ".yy..y..y..."),
    "received": (Received(), ".........y.."),
    "imaged": (Imaged("tour"), ".....y......"),
    "printed": (Printed(100, "tour"), ".....yy....."),
    "to_reclaim": (ToReclaim(), ".....yy....."),
    "reclaimed": (Reclaimed(), ".....yyy...."),
    "inspected": (Inspected(), ".....yyy...."),
    "damaged": (Damaged("hole", mesh_is_done=False), ".yyyyyyyy..."),
    "pulled": (Pulled("slack"), "....yyyy...."),
    "stripped": (Stripped(), "...yyyyyy..."),
    "held": (Held("smells"), ".yyyyyyyy..."),
    "hold_ended": (HoldEnded(), "............"),
    "reserved": (Reserved("tour"), "....yy......"),
    "freed": (Freed(), "............"),
    "retired": (Retired("old"), ".yyyyyyyyyy."),
    "missing": (Missing(), ".yyyyyyyy..."),
    "found": (Found(), "..........y."),
}
# What differs for a frame with rollers.
ROLLER_TABLE: dict[str, tuple[Payload, str]] = {
    **TABLE,
    "glued": (Glued(LATE), "............"),
    "released": (Released(), "...y........"),
    "retensioned": (Retensioned(25.0), ".....yyyy..."),
}
# With a hold, or a reservation, that was made before the frame came into the state.
HELD_COLUMNS = ".yyyyyyyyyy."
RESERVED_COLUMNS = "....yyyy..y."


def journal(payloads: tuple[Payload, ...]) -> list[Event]:
    return [
        Event(7, START + dt.timedelta(minutes=n), p, START + dt.timedelta(minutes=n), n + 1)
        for n, p in enumerate(payloads)
    ]


def is_allowed(kind: FrameKind, history: tuple[Payload, ...], payload: Payload) -> bool:
    """Try it; a refusal must say what, and name the way out."""
    state = lifecycle.fold(kind, journal(history), called="FK0001R")
    refusal: NotPossible | None = None
    try:
        lifecycle.apply(state, Event(7, LATE, payload, LATE), called="FK0001R")
    except NotPossible as caught:
        refusal = caught
    if refusal is None:
        return True
    assert "FK0001R" in str(refusal.said)
    assert str(refusal.said).endswith(".")
    assert "{" not in refusal.text()
    assert str(refusal.hint).endswith(".")
    assert refusal.text().count("Nothing was changed.") == 1
    return False


def test_the_table_names_every_kind_and_every_state() -> None:
    assert set(TABLE) == set(PAYLOADS) - {"withdrawn"}
    assert set(COLUMNS) == set(STATES)
    assert all(len(columns) == len(COLUMNS) for _, columns in TABLE.values())
    for kind, histories in (("glued", GLUED_HISTORY), ("roller", ROLLER_HISTORY)):
        for name, history in histories.items():
            assert lifecycle.fold(kind, journal(history)).state == name  # type: ignore[arg-type]


@pytest.mark.parametrize("state", GLUED_HISTORY)
@pytest.mark.parametrize("kind", TABLE)
def test_a_glued_frame(kind: str, state: str) -> None:
    payload, columns = TABLE[kind]
    expected = columns[COLUMNS.index(state)] == "y"
    assert is_allowed("glued", GLUED_HISTORY[state], payload) is expected


@pytest.mark.parametrize("state", ROLLER_HISTORY)
@pytest.mark.parametrize("kind", ROLLER_TABLE)
def test_a_roller_frame(kind: str, state: str) -> None:
    payload, columns = ROLLER_TABLE[kind]
    expected = columns[COLUMNS.index(state)] == "y"
    assert is_allowed("roller", ROLLER_HISTORY[state], payload) is expected


def _with(mark: Payload, history: tuple[Payload, ...], ends: type[Payload] | None) -> tuple:  # type: ignore[type-arg]
    """Put a mark in as late as it may be set: before the step into a state without it."""
    if ends is not None and history and isinstance(history[-1], ends):
        return (*history[:-1], mark, history[-1])
    return (*history, mark)


@pytest.mark.parametrize("state", [s for s in COLUMNS if s not in ("void", "retired")])
def test_a_hold_can_always_be_ended(state: str) -> None:
    history = GLUED_HISTORY[state]
    before = _with(Held("smells"), history, SentOut | Missing)  # type: ignore[arg-type]
    assert HELD_COLUMNS[COLUMNS.index(state)] == "y"
    assert is_allowed("glued", before, HoldEnded())


@pytest.mark.parametrize("state", COLUMNS)
def test_a_reservation_ends_where_the_screen_leaves_service(state: str) -> None:
    history = GLUED_HISTORY[state]
    place = next(
        (
            n
            for n in range(1, len(history) + 1)
            if lifecycle.fold("glued", journal(history[:n])).state in ("ready", "curing")
        ),
        None,
    )
    if place is not None:
        history = (*history[:place], Reserved("tour"), *history[place:])
    expected = RESERVED_COLUMNS[COLUMNS.index(state)] == "y"
    assert is_allowed("glued", history, Freed()) is expected


@pytest.mark.parametrize(
    ("moment", "state", "expected"),
    [
        ("in_clamps", "in_clamps", True),
        ("before_glue", "in_clamps", True),
        ("after_release", "in_clamps", False),
        ("in_service", "in_clamps", False),
        ("in_clamps", "curing", False),
        ("before_glue", "curing", False),
        ("after_release", "curing", False),  # still in the clamps
        ("in_service", "curing", False),
        ("in_clamps", "ready", False),
        ("after_release", "ready", True),
    ],
)
def test_a_survey_says_its_moment(moment: str, state: str, expected: bool) -> None:
    """Readings in the clamps never enter the tension history of the frame, and the other way."""
    survey = Surveyed(moment, (Reading(1, "not_told", 21.0),))  # type: ignore[arg-type]
    assert is_allowed("glued", GLUED_HISTORY[state], survey) is expected


def test_a_released_screen_may_be_read_while_it_cures() -> None:
    history = (*GLUED_HISTORY["curing"], Released())
    survey = Surveyed("after_release", (Reading(1, "warp", 21.0),))
    assert is_allowed("glued", history, survey)
    assert not is_allowed("glued", history, Released())


@pytest.mark.parametrize(
    ("state", "payload", "way_out"),
    [
        ("bare", STRETCH, "Finish its prep first; the next step is: inspect."),
        ("ready", STRETCH, "There is mesh on it: strip it and prep the frame first."),
        ("bare", Reclaimed(), "It has no mesh: prep and stretch it first"),
        ("in_use", Imaged(), "Send it to the washout first."),
        ("in_use", Received(), "Record first that it was sent out"),
        ("in_use", Found(), "It was not missing"),
        ("pulled", Registered(), "It is in the register already."),
        ("out", Retensioned(25.0), "Record first that it came back."),
        ("missing", Imaged(), "Record first that it was found."),
        ("retired", Prepped("inspect"), "Undo the retirement"),
        ("void", Held("x"), "Register it first."),
        ("void", Found(), "Register it first."),
    ],
)
def test_a_refusal_names_the_way_out_that_helps(state: str, payload: Payload, way_out: str) -> None:
    events = journal(GLUED_HISTORY[state])
    folded = lifecycle.fold("glued", events)
    with pytest.raises(NotPossible) as refusal:
        lifecycle.apply(folded, Event(7, LATE, payload, LATE), called="FK0001R")
    assert str(refusal.value.hint).startswith(way_out)
