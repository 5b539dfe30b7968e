"""Holds, reservations, damage, trips outside, missing frames, and the end of a frame."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest

from framekeeper.domain.errors import FramekeeperError, NotFound, NotPossible, NotValid
from framekeeper.services import marks, prep, washout
from framekeeper.services.desk import Desk
from tests.services.shoptalk import MESH, bare, ready, rows, state


def test_a_hold_keeps_a_screen_from_use_until_it_ends(stocked: Desk) -> None:
    code = ready(stocked)
    marks.hold(stocked, [code], " smells of solvent ")
    assert state(stocked, code).hold_reason == "smells of solvent"
    with pytest.raises(NotPossible, match="on hold"):
        washout.image(stocked, [code])
    marks.end_hold(stocked, [code])
    washout.image(stocked, [code])


def test_a_reservation_names_the_job_and_the_day(stocked: Desk) -> None:
    code = ready(stocked)
    marks.reserve(stocked, [code], "tour shirts", needed_on=dt.date(2025, 4, 1))
    now = state(stocked, code)
    assert (now.reserved_job, now.reserved_for) == ("tour shirts", dt.date(2025, 4, 1))
    marks.free(stocked, [code])
    assert state(stocked, code).reserved_job is None


def test_damage_that_ends_the_mesh_pulls_the_screen(stocked: Desk) -> None:
    code = ready(stocked)
    marks.damage(stocked, [code], "hole", mesh_is_done=False, where="lower left, taped")
    assert state(stocked, code).state == "ready"
    marks.damage(stocked, [code], "corner_tear", mesh_is_done=True)
    now = state(stocked, code)
    assert (now.state, now.taken_out_reason) == ("pulled", "corner_tear")
    prep.strip(stocked, [code])
    assert "corners" in state(stocked, code).prep_missing


def test_out_and_back_with_new_mesh(stocked: Desk) -> None:
    code = bare(stocked)
    marks.send_out(stocked, [code], "Nordwind Screens", due_back_on=dt.date(2025, 3, 9))
    assert state(stocked, code).out_to == "Nordwind Screens"
    marks.receive(stocked, [code], mesh=MESH, target_n_per_cm=26.0)
    life = state(stocked, code).life
    assert life is not None
    assert (life.target_n_per_cm, life.from_outside) == (26.0, True)


def test_missing_and_found_again(stocked: Desk) -> None:
    code = ready(stocked)
    marks.missing(stocked, [code])
    assert state(stocked, code).state == "missing"
    marks.found(stocked, [code])
    assert state(stocked, code).state == "ready"


def test_the_end_of_a_frame(stocked: Desk) -> None:
    code = ready(stocked)
    marks.retire(stocked, [code], "bent")
    with pytest.raises(NotPossible) as refusal:
        washout.image(stocked, [code])
    assert "Undo the retirement" in refusal.value.text()
    with stocked.read() as reader:
        assert reader.frames() == []


Use = Callable[[Desk, list[str]], object]


@pytest.mark.parametrize(
    ("use", "kind"),
    [
        (lambda d, c: marks.hold(d, c, "  "), NotValid),
        (lambda d, c: marks.hold(d, c, "x" * 2001), NotValid),
        (lambda d, c: marks.hold(d, c, "a\x00b"), NotValid),
        (lambda d, c: marks.reserve(d, c, ""), NotValid),
        (lambda d, c: marks.pull(d, c, "\n"), NotValid),
        (lambda d, c: marks.retire(d, c, ""), NotValid),
        (lambda d, c: marks.send_out(d, c, ""), NotValid),
        (lambda d, c: marks.damage(d, c, "scratch", mesh_is_done=False), NotValid),
        (lambda d, c: marks.receive(d, c), NotPossible),
        (lambda d, c: marks.receive(d, c, mesh="999"), NotFound),
        (lambda d, c: marks.receive(d, c, mesh=MESH, target_n_per_cm=float("nan")), NotValid),
        (lambda d, c: marks.end_hold(d, c), NotPossible),
        (lambda d, c: marks.free(d, c), NotPossible),
        (lambda d, c: marks.found(d, c), NotPossible),
        (lambda d, c: marks.hold(d, ["FK0002S"], "x"), NotValid),
        (lambda d, c: marks.hold(d, ["left of the door"], "x"), NotFound),
        (lambda d, c: marks.hold(d, [], "x"), NotValid),
    ],
)
def test_a_mark_that_cannot_be(stocked: Desk, use: Use, kind: type[FramekeeperError]) -> None:
    code = ready(stocked)
    before = rows(stocked)
    with pytest.raises(kind) as refusal:
        use(stocked, [code])
    assert refusal.value.text()
    assert rows(stocked) == before
