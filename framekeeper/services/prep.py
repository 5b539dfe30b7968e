"""The prep bench: inspect, strip, old glue, abrade, degrease, regrind and corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import PREP_STEPS, Payload, Prepped, PrepStep, Stripped
from framekeeper.domain.records import FrameFilter, FrameRecord
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done
from framekeeper.services.record import NOW, When, record

FLATTEST_GAP_MM = 1.0  # rocking gap on glass that passes: common practice, no source

BenchStep = Literal["inspect", "strip", "old_glue", "abrade", "corners", "degrease", "regrind"]
BENCH_ORDER: tuple[BenchStep, ...] = (
    "inspect",
    "strip",
    "old_glue",
    "abrade",
    "corners",  # before degreasing, because rounding them makes dust
    "degrease",
)


@dataclass(frozen=True, slots=True)
class StepRequest:
    """One prep step; a skipped or failed step needs its reason."""

    step: PrepStep
    result: str = "done"  # done, skipped, failed
    reason: str = ""
    gap_mm: float | None = None


def do_step(desk: Desk, codes: Sequence[str], request: StepRequest, *, when: When = NOW) -> Done:
    """Record one prep step; a failed inspection puts the frame on hold."""
    if request.step not in PREP_STEPS:
        raise NotValid(say("There is no prep step named {step}.", step=request.step))
    if request.gap_mm is not None and not 0 <= request.gap_mm <= 100:
        raise NotValid(
            say("A gap of {gap} mm on the glass cannot be.", gap=request.gap_mm), argument="gap_mm"
        )
    too_far = request.gap_mm is not None and request.gap_mm > FLATTEST_GAP_MM
    if too_far and request.result == "done" and not request.reason.strip():
        raise NotValid(
            say(
                "A gap of {gap} mm on the glass is more than the {most} mm that pass.",
                gap=request.gap_mm,
                most=FLATTEST_GAP_MM,
            ),
            hint=say("Record the inspection as failed, or say why the frame passes all the same."),
            argument="gap_mm",
        )
    step = Prepped(request.step, request.result, request.reason.strip(), request.gap_mm)  # type: ignore[arg-type]

    def payloads(frame: FrameRecord) -> Sequence[Payload]:
        return (step,)

    action = "regrind" if request.step == "regrind" else "prep"
    return record(desk, action, codes, payloads, when=when)


def next_step(frame: FrameRecord) -> BenchStep | None:
    """Say which step a frame needs next; None where its prep is complete.

    Loaded mesh comes off first, because a frame is judged on the glass without its load.
    """
    if frame.state.life is not None:
        return "strip"
    missing = frame.state.prep_missing
    return missing[0] if missing else None


def do_next(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Record for each frame the step that it needs next.

    Raises
    ------
    NotPossible
        If the prep of a named frame is complete.
    """

    def payloads(frame: FrameRecord) -> Sequence[Payload]:
        step = next_step(frame)
        if step is None:
            raise _complete(frame)
        return (Stripped(),) if step == "strip" else (Prepped(step),)

    return record(desk, "prep", codes, payloads, when=when)


def strip(desk: Desk, codes: Sequence[str], *, when: When = NOW) -> Done:
    """Record that the mesh came off."""
    return record(desk, "strip", codes, lambda frame: (Stripped(),), when=when)


def prep_all(
    desk: Desk,
    codes: Sequence[str],
    *,
    skipped: dict[PrepStep, str] | None = None,
    when: When = NOW,
) -> Done:
    """Record every prep step that a frame still misses, in the order of the bench.

    Raises
    ------
    NotPossible
        If the prep of a named frame is complete.
    """
    reasons = skipped or {}

    def payloads(frame: FrameRecord) -> Sequence[Payload]:
        steps: list[Payload] = [Stripped()] if frame.state.life is not None else []
        for step in frame.state.prep_missing:
            reason = reasons.get(step, "")
            steps.append(Prepped(step, "skipped" if reason else "done", reason))
        if not steps:
            raise _complete(frame)
        return steps

    return record(desk, "prep", codes, payloads, when=when)


def _complete(frame: FrameRecord) -> NotPossible:
    return NotPossible(
        say("The prep of {frame} is complete.", frame=frame.name),
        hint=say("It waits at the stretching table."),
    )


def bench(desk: Desk) -> list[FrameRecord]:
    """List the frames that wait at the prep bench, longest first."""
    with desk.read() as reader:
        frames = reader.frames(FrameFilter(states=("bare", "prepped", "pulled")))
    return sorted(frames, key=lambda f: (f.state.since is None, f.state.since, f.number))
