"""The prep bench."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.errors import FramekeeperError, NotPossible, NotValid
from framekeeper.domain.events import Prepped
from framekeeper.services import prep
from framekeeper.services.desk import Desk
from framekeeper.services.prep import StepRequest
from framekeeper.services.record import When
from tests.fakes import FakeClock
from tests.services.shoptalk import assert_columns_are_the_fold, bare, ready, rows, state


def test_one_step_after_the_other_makes_a_frame_prepped(stocked: Desk) -> None:
    code = bare(stocked)
    for step in ("inspect", "old_glue", "abrade"):
        assert state(stocked, code).prep_missing[0] == step
        prep.do_step(stocked, [code], StepRequest(step))  # type: ignore[arg-type]
    assert state(stocked, code).prep_missing == ("corners", "degrease")  # rounding makes dust
    prep.do_step(stocked, [code], StepRequest("corners", "skipped", "rounded by the maker"))
    assert state(stocked, code).state == "bare"
    prep.do_step(stocked, [code], StepRequest("degrease"))
    assert state(stocked, code).state == "prepped"


@pytest.mark.parametrize(("gap", "passes"), [(0.9, True), (1.0, True), (1.1, False)])
def test_a_frame_that_rocks_too_far_does_not_pass_by_itself(
    stocked: Desk, gap: float, passes: bool
) -> None:
    """At most 1 mm on the glass: common practice, no source. More needs a word, or fails."""
    code = bare(stocked)
    if passes:
        prep.do_step(stocked, [code], StepRequest("inspect", gap_mm=gap))
    else:
        with pytest.raises(NotValid) as refused:
            prep.do_step(stocked, [code], StepRequest("inspect", gap_mm=gap))
        assert refused.value.argument == "gap_mm"
        request = StepRequest("inspect", reason="old wooden frame", gap_mm=gap)
        prep.do_step(stocked, [code], request)
    assert "inspect" in state(stocked, code).prep_done


def test_everything_at_once_strips_what_is_on_it(stocked: Desk) -> None:
    """The reason of a skipped step is kept, and the steps stand in the order of the trade."""
    code = ready(stocked)
    prep.prep_all(stocked, [code], skipped={"old_glue": "sound and level"})
    assert state(stocked, code).state == "prepped"
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        events = reader.journal(frame.id)
    assert [e.kind for e in events] == ["found_with_mesh", "stripped", *["prepped"] * 4]
    assert "sound and level" in str(events[3].payload)
    assert_columns_are_the_fold(stocked)


def test_everything_at_once_rounds_the_corners_before_degreasing(stocked: Desk) -> None:
    """Rounding makes dust on the face; with nothing left to do, nothing is recorded."""
    code = bare(stocked)
    prep.prep_all(stocked, [code])
    with stocked.read() as reader:
        frame = reader.frame_by_code(code)
        assert frame is not None
        steps = [e.payload.step for e in reader.journal(frame.id) if isinstance(e.payload, Prepped)]
    assert steps == ["inspect", "old_glue", "abrade", "corners", "degrease"]
    before = rows(stocked)
    with pytest.raises(NotPossible, match="is complete"):
        prep.prep_all(stocked, [code])
    assert rows(stocked) == before


def test_several_frames_are_prepped_all_or_none(stocked: Desk) -> None:
    first, second = bare(stocked), bare(stocked)
    prep.do_step(stocked, [first], StepRequest("inspect"))
    before = rows(stocked)
    with pytest.raises(NotPossible, match="before “inspect”") as refusal:
        prep.do_step(stocked, [first, second], StepRequest("old_glue"))
    assert second in refusal.value.text()
    assert rows(stocked) == before


@pytest.mark.parametrize(
    "request_",
    [
        StepRequest("polish"),  # type: ignore[arg-type]
        StepRequest("inspect", "perhaps"),
        StepRequest("inspect", gap_mm=-0.1),
        StepRequest("inspect", gap_mm=float("nan")),
        StepRequest("inspect", gap_mm=101),
        StepRequest("inspect", "failed", "\x00"),
        StepRequest("inspect", "failed", "x" * 3000),
        StepRequest("inspect", "skipped", "  "),
    ],
)
def test_a_step_that_cannot_be(stocked: Desk, request_: StepRequest) -> None:
    code = bare(stocked)
    before = rows(stocked)
    with pytest.raises(FramekeeperError):
        prep.do_step(stocked, [code], request_)
    assert rows(stocked) == before


def test_a_step_of_yesterday_and_one_of_tomorrow(stocked: Desk, clock: FakeClock) -> None:
    code = bare(stocked)
    clock.go_on(days=2)
    prep.do_step(
        stocked, [code], StepRequest("inspect"), when=When(clock.now() - dt.timedelta(days=1))
    )
    assert state(stocked, code).last_event_at == clock.now() - dt.timedelta(days=1)
    with pytest.raises(NotValid, match="future"):
        prep.do_step(
            stocked, [code], StepRequest("old_glue"), when=When(clock.now() + dt.timedelta(days=1))
        )


def test_the_bench_lists_what_waits_longest_first(stocked: Desk, clock: FakeClock) -> None:
    first = bare(stocked)
    clock.go_on(hours=1)
    second = ready(stocked)
    clock.go_on(hours=1)
    third = bare(stocked)
    assert [f.code for f in prep.bench(stocked)] == [first, third]
    clock.go_on(hours=1)
    prep.strip(stocked, [second])
    assert [f.code for f in prep.bench(stocked)] == [first, third, second]
