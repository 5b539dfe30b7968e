"""What is learnt about a meter: zero, reference, certificate, drop, repair, and being found out."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from framekeeper.domain import lifecycle
from framekeeper.domain.details import valid_text
from framekeeper.domain.due import MeshRules, due_tasks
from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.domain.events import Event, Recorrected, Surveyed
from framekeeper.domain.frame_state import FrameState, LastSurvey
from framekeeper.domain.meter_trust import DoubtedReadings, MeterTrust, doubted_readings, trust
from framekeeper.domain.records import (
    FrameRecord,
    MeshTypeRecord,
    MeterCheckKind,
    MeterCheckRecord,
    MeterRecord,
)
from framekeeper.domain.sentence import say
from framekeeper.domain.verdict import Verdict
from framekeeper.services.check import find_meter
from framekeeper.services.desk import Desk, Done
from framekeeper.services.record import NOW, When
from framekeeper.services.settings import frame_rules
from framekeeper.services.verdicts import Rulebook, judge_frame, rulebook

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

REFERENCE_WITHIN_N_PER_CM = 1.0  # analogue meters are good to about +-1 N/cm: from memory
LARGEST_BIAS_N_PER_CM = 10.0
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class CheckRequest:
    """Something learnt about a meter. Tensions in N/cm, as the meter showed them."""

    kind: MeterCheckKind
    shown: float | None = None  # zero: on glass; reference: on the reference screen
    expected: float | None = None  # what the reference screen has
    valid_until: dt.date | None = None  # of a certificate
    note: str = ""


@dataclass(frozen=True, slots=True)
class MeterPage:
    """Everything that the place of the meters shows for one of them."""

    trust: MeterTrust
    checks: tuple[MeterCheckRecord, ...]  # oldest first
    readings_since_good: int
    doubted: DoubtedReadings  # what a finding would reach

    def newest(self, kind: MeterCheckKind) -> dt.datetime | None:
        """Return when something of this kind was last recorded."""
        return next((c.happened_at for c in reversed(self.checks) if c.kind == kind), None)


@dataclass(frozen=True, slots=True)
class ChangedFrame:
    """A frame whose answer changes when its meter's bias is taken into account."""

    frame: FrameRecord
    before: tuple[str, ...]  # the rules that were broken
    after: tuple[str, ...]
    was: LastSurvey  # the figures of its newest survey
    becomes: LastSurvey
    verdict_before: Verdict | None  # None where the survey cannot be judged
    verdict_after: Verdict | None


@dataclass(frozen=True, slots=True)
class FoundOut:
    """What a bias would change: the surveys since the last good check, and the frames."""

    meter: MeterRecord
    since: dt.datetime | None
    survey_ids: tuple[int, ...]
    frames: tuple[FrameRecord, ...]
    changed: tuple[ChangedFrame, ...]


@dataclass(frozen=True)
class FoundOutDone(Done):
    """A meter that was found out, and what changed by it."""

    found: FoundOut | None = field(default=None)


def meter_pages(desk: Desk) -> list[MeterPage]:
    """Say for every meter how far it can be trusted, and why."""
    now, today = desk.clock.now(), desk.today()
    with desk.read() as reader:
        pages = []
        for meter in reader.meters():
            checks = reader.meter_checks(meter.id)
            doubted = doubted_readings(checks)
            reached = reader.surveys_with_meter(meter.id, after=doubted.since, until=doubted.until)
            told = trust(meter, checks, now=now, today=today, doubted=len(reached))
            since = reader.surveys_with_meter(meter.id, after=told.last_good_at)
            pages.append(MeterPage(told, tuple(checks), len(since), doubted))
    return pages


def add_check(desk: Desk, meter_name: str, request: CheckRequest, *, when: When = NOW) -> Done:
    """Record what was learnt about a meter.

    Raises
    ------
    NotValid
        For a number that no meter can show, a reference without both numbers, a certificate
        without its end, or a time in the future.
    """
    happened_at = when.happened_at or desk.clock.now()
    _check(request, happened_at.astimezone(desk.clock.zone()).date())
    with desk.work(_ACTIONS[request.kind]) as work:
        meter = find_meter(work, meter_name)
        work.name_subject(meter.name)
        is_good = _is_good(request, meter.correction)
        _add(work, meter, request, is_good=is_good, by=desk.by, when=when)
        changes = work.commit()
    told = (
        say("{meter}: recorded.", meter=meter.name)
        if is_good
        else say("{meter}: recorded; it cannot be trusted until it is checked.", meter=meter.name)
    )
    return Done(told, changes)


_ACTIONS = {
    "zero": "zero meter",
    "reference": "check meter",
    "certificate": "certify meter",
    "drop": "meter dropped",
    "repair": "repair meter",
    "found_out": "meter found out",
}


def _check(request: CheckRequest, happened_on: dt.date) -> None:
    for name in ("shown", "expected"):
        value = getattr(request, name)
        if value is not None and not (math.isfinite(value) and -20 <= value <= 60):
            raise NotValid(
                say("{value} N/cm is nothing a meter shows.", value=value), argument=name
            )
    if request.kind == "zero" and request.shown is None:
        raise NotValid(
            say("A zero needs what the meter shows on glass."),
            hint=say("Lay it on the glass and read it, for example 0.0."),
            argument="shown",
        )
    if request.kind == "reference" and (request.shown is None or request.expected is None):
        raise NotValid(
            say("A reference needs what the meter shows and what the screen has."),
            argument="shown" if request.shown is None else "expected",
        )
    if (
        request.kind == "certificate"
        and request.valid_until is not None
        and request.valid_until < happened_on
    ):
        raise NotValid(
            say("A certificate until {date} had run out already.", date=request.valid_until),
            hint=say("Check the date, or say with it when the certificate was issued."),
            argument="valid_until",
        )
    if request.kind == "certificate" and request.valid_until is None:
        raise NotValid(say("A certificate needs the date until which it holds."),
                       argument="valid_until")  # fmt: skip
    valid_text(request.note, argument="note", most=200)


def _is_good(request: CheckRequest, correction: float) -> bool:
    """A reference is read as any screen is: what the meter shows, and its correction added."""
    if request.kind == "reference":
        assert request.shown is not None
        assert request.expected is not None
        return abs(request.shown + correction - request.expected) <= REFERENCE_WITHIN_N_PER_CM
    return request.kind not in ("drop", "found_out")


def bias_of(page: MeterPage) -> float | None:
    """Return how much too high the newest reference read after the meter's correction, in N/cm.

    None where no reference has failed among the readings that are in doubt.
    """
    since, until = page.doubted.since, page.doubted.until
    failed = [
        c
        for c in page.checks
        if c.kind == "reference"
        and not c.is_good
        and (since is None or c.happened_at > since)
        and (until is None or c.happened_at <= until)
    ]
    if not failed or failed[-1].shown is None or failed[-1].expected is None:
        return None
    return round(failed[-1].shown + page.trust.meter.correction - failed[-1].expected, 4)


def _add(
    work: Work,
    meter: MeterRecord,
    request: CheckRequest,
    *,
    is_good: bool,
    by: str,
    when: When,
) -> None:
    happened_at = when.happened_at or work.now
    lifecycle.check_time(happened_at, work.now)
    work.add_row(
        "meter_check",
        {
            "meter_id": meter.id,
            "kind": request.kind,
            "happened_at": happened_at,
            "shown": request.shown,
            "expected": request.expected,
            "is_good": is_good,
            "valid_until": request.valid_until,
            "by": by,
            "note": request.note.strip(),
        },
    )


def look_into(desk: Desk, meter_name: str, *, bias_n_per_cm: float) -> FoundOut:
    """Say what would change if this meter has read too high by `bias_n_per_cm` since it was good.

    Raises
    ------
    NotValid
        For a bias of zero, or one that no meter has.
    """
    _check_bias(bias_n_per_cm)
    with desk.read() as reader:
        return _look(desk, reader, find_meter(reader, meter_name), bias_n_per_cm)


def find_out(
    desk: Desk, meter_name: str, *, bias_n_per_cm: float, note: str = "", when: When = NOW
) -> FoundOutDone:
    """Conclude every reading of this meter since its last good check anew.

    The raw values stay; each survey gets an entry in its frame's journal, and frames whose answer
    changes are asked for another reading. One undo takes all of it back. The bias counts from what
    was in force on the day: a later finding takes the place of an earlier one.

    Raises
    ------
    NotPossible
        If there is no reading to conclude anew, or this bias is known of all of them.
    """
    _check_bias(bias_n_per_cm)
    with desk.work(_ACTIONS["found_out"]) as work:
        meter = find_meter(work, meter_name)
        work.name_subject(meter.name)
        found = _look(desk, work, meter, bias_n_per_cm)
        if not found.survey_ids:
            raise NotPossible(
                say("{meter} was not used since its last good check.", meter=meter.name),
                hint=say("Record the drop or the repair instead."),
            )
        if not _conclude_anew(work, found, bias_n_per_cm):
            raise NotPossible(
                say("This is known of {meter}; its readings count like that.", meter=meter.name),
                hint=say("Give another bias, or take the first finding back."),
            )
        request = CheckRequest("found_out", shown=bias_n_per_cm, expected=0.0, note=note)
        _add(work, meter, request, is_good=False, by=desk.by, when=when)
        changes = work.commit()
    told = say(
        "{meter}: {surveys} surveys concluded anew; frames that change: {frames}.",
        meter=meter.name,
        surveys=len(found.survey_ids),
        frames=len(found.changed),
    )
    return FoundOutDone(told, changes, tuple(c.frame.code for c in found.changed), found)


def _check_bias(bias: float) -> None:
    if not math.isfinite(bias) or bias == 0 or abs(bias) > LARGEST_BIAS_N_PER_CM:
        raise NotValid(
            say("A meter that reads {bias} N/cm too high cannot be.", bias=bias),
            hint=say("Give what it shows on the reference screen less what the screen has."),
            argument="bias",
        )


def _conclude_anew(work: Work, found: FoundOut, bias: float) -> int:
    """Record what the bias changes; returns for how many surveys."""
    count = 0
    for frame in found.frames:
        for finding in _findings(work.journal(frame.id), set(found.survey_ids), bias):
            work.record(frame.id, finding)
            count += 1
    return count


def _findings(events: Sequence[Event], wanted: set[int], bias: float) -> list[Recorrected]:
    """Take the bias off what was in force on the day of each survey, where that is news."""
    told = {e.event_id: e.payload for e in events if isinstance(e.payload, Surveyed)}
    findings = []
    for event in lifecycle.concluded(events):
        if event.event_id in wanted and isinstance(event.payload, Surveyed):
            was = event.payload.correction_n_per_cm
            right = told[event.event_id].correction_n_per_cm - bias
            if abs(right - was) > ROUNDING:
                findings.append(Recorrected(event.event_id, right, was))
    return findings


def _look(desk: Desk, reader: Reader, meter: MeterRecord, bias: float) -> FoundOut:
    doubted = doubted_readings(reader.meter_checks(meter.id))
    used = reader.surveys_with_meter(meter.id, after=doubted.since, until=doubted.until)
    journals = reader.journals(sorted({r.frame_id for r in used}))
    counting = {e.event_id: e for events in journals.values() for e in lifecycle.concluded(events)}
    survey_ids = tuple(r.event_id for r in used if r.event_id in counting)
    frame_ids = sorted({counting[i].frame_id for i in survey_ids})
    frames = [f for i in frame_ids if (f := reader.frame(i)) is not None]
    meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
    answer, book, now = _Answers(desk, reader, meshes), rulebook(reader), desk.clock.now()
    changed = []
    for frame in frames:
        journal = journals[frame.id]
        findings = _findings(journal, set(survey_ids), bias)
        anew = [*journal, *(Event(frame.id, now, f, now) for f in findings)]
        if (change := _change(frame, journal, anew, answer, book)) is not None:
            changed.append(change)
    return FoundOut(meter, doubted.since, survey_ids, tuple(frames), tuple(changed))


def _change(
    frame: FrameRecord,
    journal: Sequence[Event],
    anew: Sequence[Event],
    answer: _Answers,
    book: Rulebook,
) -> ChangedFrame | None:
    """Say what the newest survey of a frame meant, and what it means with the findings."""
    state = lifecycle.fold(frame.kind, anew, called=frame.name)
    was, becomes = _last_survey(frame.state), _last_survey(state)
    if was is None or becomes is None:
        return None
    before, after = answer.of(frame.state), answer.of(state)
    told = judge_frame(frame, lifecycle.concluded(journal), book)[was.event_id].verdict
    now = judge_frame(frame, lifecycle.concluded(anew), book)[becomes.event_id].verdict
    if (before, told) == (after, now):
        return None
    return ChangedFrame(frame, before, after, was, becomes, told, now)


def _last_survey(state: FrameState) -> LastSurvey | None:
    in_service = state.state in ("ready", "in_use", "to_reclaim")
    return state.life.survey if state.life is not None and in_service else None


class _Answers:
    """The rules about tension that a frame breaks; what the calendar says does not count here."""

    def __init__(self, desk: Desk, reader: Reader, meshes: dict[int, MeshTypeRecord]) -> None:
        self._now, self._zone = desk.clock.now(), desk.clock.zone()
        self._meshes = meshes
        self._frame_rules = frame_rules(reader)

    def of(self, state: FrameState) -> tuple[str, ...]:
        mesh = self._meshes.get(state.life.mesh_type_id) if state.life else None
        tasks = due_tasks(
            state,
            mesh.rules if mesh else MeshRules(),
            self._frame_rules,
            now=self._now,
            zone=self._zone,
        )
        return tuple(sorted(t.rule for t in tasks if t.rule in ("below_limit", "below_target")))
