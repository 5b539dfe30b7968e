"""Tension surveys: at the stretching table and on the tension round."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from framekeeper.domain.errors import NotFound, NotValid
from framekeeper.domain.events import MOMENTS, Direction, Found, Held, Moment, Reading, Surveyed
from framekeeper.domain.records import FrameRecord, MeterRecord
from framekeeper.domain.sentence import say
from framekeeper.domain.survey import SurveySummary, summarise, valid_tension
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk, Done
from framekeeper.services.find import find_frame
from framekeeper.services.record import NOW, When

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader
    from framekeeper.storage.unit_of_work import Work

MOST_POINTS = 40
FELL = "fell {fell:.1f} N/cm below its forecast: slipped or torn?"


@dataclass(frozen=True, slots=True)
class SurveyRequest:
    """Readings of one frame, warp and weft at each point, in N/cm as the meter showed them.

    A single number without direction goes into `not_told`.
    """

    warp: tuple[float, ...] = ()
    weft: tuple[float, ...] = ()
    not_told: tuple[float, ...] = ()
    moment: Moment | None = None  # None: what the state of the frame suggests
    meter: str = ""

    def readings(self) -> tuple[Reading, ...]:
        """List the readings in walking order: at each point warp, then weft."""
        listed: list[Reading] = []
        for point in range(1, max(len(self.warp), len(self.weft), len(self.not_told)) + 1):
            columns: tuple[tuple[Direction, tuple[float, ...]], ...] = (
                ("warp", self.warp),
                ("weft", self.weft),
                ("not_told", self.not_told),
            )
            for direction, values in columns:
                if point <= len(values):
                    value = valid_tension(values[point - 1], argument=f"{direction} {point}")
                    listed.append(Reading(point, direction, value))
        return tuple(listed)


@dataclass(frozen=True)
class SurveyDone(Done):
    """A recorded survey with its figures."""

    figures: SurveySummary | None = None


def survey(desk: Desk, code: str, request: SurveyRequest, *, when: When = NOW) -> SurveyDone:
    """Record a survey; a frame that was missing is found by it.

    Raises
    ------
    NotPossible
        If the frame has no mesh, or the moment does not fit its state.
    NotValid
        For a number that no meter can show, or an unknown meter.
    """
    readings = request.readings()
    if not readings:
        raise NotValid(say("There is no reading to record."), hint=say("Enter at least one."))
    if len(readings) > 2 * MOST_POINTS:
        raise NotValid(say("A survey has at most {most} points.", most=MOST_POINTS))
    with desk.work("survey") as work:
        frame = find_frame(work, code)
        work.name_subject(frame.name)
        state = work.state(frame.id)
        if state.state == "missing" and _is_after(when, state.since):
            work.record(frame.id, Found(), happened_at=when.happened_at)
            frame = replace(frame, state=work.state(frame.id))
        meter = find_meter(work, request.meter) if request.meter else None
        event = Surveyed(
            moment=_moment(frame, request.moment),
            readings=readings,
            meter_id=meter.id if meter else None,
            correction_n_per_cm=meter.correction if meter else 0.0,
        )
        figures = summarise(readings, correction_n_per_cm=event.correction_n_per_cm)
        fell_by = _fell_by(work, frame, event, figures.mean, when)
        work.record(frame.id, event, happened_at=when.happened_at, note=when.note)
        held = fell_by is not None and work.state(frame.id).hold_reason is None
        if held:
            work.record(frame.id, Held(str(say(FELL, fell=fell_by))), happened_at=when.happened_at)
        changes = work.commit()
    told = say(
        "{subject}: {mean:.1f} N/cm, lowest {lowest:.1f}, spread {spread:.1f}.",
        subject=frame.name,
        mean=figures.mean,
        lowest=figures.lowest,
        spread=figures.spread,
    )
    if held:
        told = say(
            "{told} On hold: {fell:.1f} N/cm below its forecast, slipped or torn?",
            told=told,
            fell=fell_by,
        )
    return SurveyDone(told, changes, (frame.code,), figures)


def _fell_by(
    work: Work, frame: FrameRecord, event: Surveyed, mean: float, when: When
) -> float | None:
    """How far a screen in service has fallen below its forecast, if that is worth a hold."""
    last = work.state(frame.id).last_event_at
    at = when.happened_at or work.now
    if event.moment not in ("after_release", "in_service") or (last is not None and at < last):
        return None
    return forecasts.sudden_drop(work, frame, mean, at)


def _is_after(when: When, missing_since: dt.datetime | None) -> bool:
    """A reading from before the frame was missed does not find it."""
    if when.happened_at is None or missing_since is None:
        return True
    return when.happened_at >= missing_since


def _moment(frame: FrameRecord, asked: Moment | None) -> Moment:
    if asked is not None:
        if asked not in MOMENTS:
            raise NotValid(say("There is no moment named {moment}.", moment=asked))
        return asked
    return suggested_moment(frame)


def suggested_moment(frame: FrameRecord) -> Moment:
    """Say which moment a survey made now belongs to."""
    state = frame.state
    if state.state == "in_clamps":
        return "in_clamps"
    life = state.life
    if life is not None and life.survey is None and life.is_freshly_set:
        return "after_release"
    return "in_service"


def find_meter(reader: Reader, text: str) -> MeterRecord:
    """Find a meter by its name.

    Raises
    ------
    NotFound
        With the meters that the shop has.
    """
    meters = reader.meters()
    for meter in meters:
        if meter.name.lower() == text.strip().lower():
            return meter
    names = ", ".join(m.name for m in meters)
    raise NotFound(
        say("The shop has no meter named {name}.", name=text.strip() or "—"),
        hint=say("It has: {names}.", names=names) if names else say("Add the meter first."),
    )


def pairs_to_request(
    values: Sequence[float], *, moment: Moment | None = None, meter: str = ""
) -> SurveyRequest:
    """Turn numbers in walking order (warp, weft, warp, weft ...) into a request."""
    if len(values) == 1:
        return SurveyRequest(not_told=(values[0],), moment=moment, meter=meter)
    if len(values) % 2:
        raise NotValid(
            say("{count} numbers are not warp and weft at each point.", count=len(values)),
            hint=say("Enter warp and weft for every point, or one number alone."),
        )
    return SurveyRequest(tuple(values[::2]), tuple(values[1::2]), (), moment, meter)
