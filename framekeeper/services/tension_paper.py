"""Turns a frame's page into its tension sheet: facts, drawing, chart, surveys and journal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.events import (
    Event,
    FoundWithMesh,
    Received,
    Released,
    Retensioned,
    Stretched,
)
from framekeeper.domain.points import PATTERN_NAMES, points_in
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.trade_words import FRAME_KIND_WORDS, MOMENT_WORDS, STATE_WORDS
from framekeeper.services.desk import Desk
from framekeeper.services.foresight import Band, FrameForecast, frame_forecast
from framekeeper.services.frame_page import FramePage, SurveyPoint, frame_page
from framekeeper.services.papers import paper_size
from framekeeper.services.settings import ShopSettings, read_settings
from framekeeper.services.telling import names_on, tell
from framekeeper.services.wording import Wording

if TYPE_CHECKING:
    from framekeeper.formats.frame_drawing import DrawnPoint, FrameDrawing
    from framekeeper.formats.tension_chart import ChartAhead, ChartMark, TensionChart
    from framekeeper.formats.tension_sheet import Fact, JournalLine, SurveyLine, TensionSheet

_IN_THE_CHART = ("after_release", "in_service")
_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class _Told:
    """One page with everything that is needed to write it down."""

    page: FramePage
    forecast: FrameForecast | None
    settings: ShopSettings
    wording: Wording
    zone: dt.tzinfo

    def day(self, when: dt.datetime) -> str:
        return self.wording.date(when.astimezone(self.zone).date())

    def say(self, template: Sentence) -> str:
        return self.wording.sentence(template)


def tension_sheet(desk: Desk, wording: Wording, code: str) -> TensionSheet:
    """Gather the tension sheet of one frame.

    Raises
    ------
    NotFound, NotValid
        If the frame is not known.
    """
    from framekeeper.formats.tension_sheet import TensionSheet

    told = _Told(
        frame_page(desk, code),
        frame_forecast(desk, code),
        read_settings(desk),
        wording,
        desk.clock.zone(),
    )
    frame = told.page.frame
    drawing, drawing_text = _drawing(told)
    return TensionSheet(
        code=frame.code,
        own_label=frame.own_label,
        shop=told.settings.shop_name,
        printed_on=wording.date(desk.today()),
        facts=tuple(_facts(told)),
        drawing=drawing,
        drawing_text=drawing_text,
        chart=_chart(told),
        forecast=tuple(told.say(line) for line in told.forecast.lines) if told.forecast else (),
        surveys=_survey_lines(told),
        journal=_journal(told),
        paper=paper_size(told.settings),
    )


def tension_sheet_pdf(desk: Desk, wording: Wording, code: str) -> bytes:
    """Print the tension sheet of one frame."""
    from framekeeper.formats import tension_sheet as paper

    return paper.tension_sheet_pdf(tension_sheet(desk, wording, code), speak=wording.sentence)


def _facts(told: _Told) -> Iterator[Fact]:
    from framekeeper.formats.tension_sheet import Fact

    frame, rules, wording = told.page.frame, told.page.rules, told.wording
    state, target = told.page.settled, told.page.target
    life = state.life
    since = told.day(life.started_at) if life and life.started_at else ""
    count = say("at least {count}", count=life.reclaims) if life else say("")
    if life and life.reclaims_known:
        count = say("{count}", count=life.reclaims)
    named = (
        (say("Size"), wording.size(frame.width_mm, frame.height_mm)),
        (say("Kind"), told.say(FRAME_KIND_WORDS[frame.kind])),
        (say("State"), told.say(STATE_WORDS[state.state])),
        (say("Slot"), frame.slot),
        (say("Mesh"), told.page.mesh.name if told.page.mesh else ""),
        (say("Mesh since"), since),
        (say("Target"), "" if target is None else wording.tension(target)),
        (say("Limit"), "" if rules.limit is None else wording.tension(rules.limit)),
        (say("Last survey"), _last_verdict(told)),
        (say("Reclaims of this mesh"), told.say(count)),
        (say("Stretches of this frame"), str(state.stretches)),
        (say("On hold"), state.hold_reason or ""),
    )
    for name, value in named:
        if value:
            yield Fact(told.say(name), value)


def _last_verdict(told: _Told) -> str:
    """Write the verdict with what was found, or else with its reason."""
    judged = told.page.judgement
    if judged is None:
        return ""
    why = (judged.found or judged.reasons)[:2]
    said = say("{verdict}. {why}", verdict=judged.word, why=" ".join(told.say(w) for w in why))
    return told.say(said)


# the drawing


def _drawing(told: _Told) -> tuple[FrameDrawing, str]:
    from framekeeper.formats.frame_drawing import FrameDrawing

    frame, life = told.page.frame, told.page.frame.state.life
    last = told.page.last_survey
    along = _warp_along(told.page.standing)
    is_upright = (frame.height_mm >= frame.width_mm) == (along == "long")
    points, text = ((), say("No survey of this mesh yet.")) if last is None else _points(told, last)
    drawing = FrameDrawing(
        frame.width_mm,
        frame.height_mm,
        cloth="yellow" if told.page.mesh and told.page.mesh.colour == "dyed" else "white",
        points=points,
        warp_is_upright=is_upright,
        has_mesh=life is not None,
    )
    return drawing, told.say(text)


def _warp_along(standing: tuple[Event, ...]) -> Literal["long", "short"]:
    """Say which side of the frame the warp follows; pieces are cut with the long side along it."""
    along: Literal["long", "short"] = "long"
    for event in standing:
        if isinstance(event.payload, Stretched):
            along = event.payload.warp_along or "long"
    return along


def _points(told: _Told, last: SurveyPoint) -> tuple[tuple[DrawnPoint, ...], Sentence]:
    """Lay the readings on the pattern that has room for them."""
    frame = told.page.frame
    day = told.day(last.event.happened_at)
    count = max(r.point for r in last.survey.readings)
    roomy = [name for name in PATTERN_NAMES if points_in(name) > count]
    pattern = told.settings.pattern_with(count) or next(iter(roomy), None)
    if pattern is None:
        text = say("Survey of {day}: {count} points, which no pattern shows.", day=day, count=count)
        return (), text
    places = told.settings.places(pattern, frame.width_mm, frame.height_mm)
    drawn = tuple(_drawn_point(told, last, n, places[n - 1]) for n in range(1, count + 1))
    return drawn, say(
        "Survey of {day}, {moment}, seen from the print side.",
        day=day,
        moment=MOMENT_WORDS[last.survey.moment],
    )


def _drawn_point(
    told: _Told, last: SurveyPoint, point: int, place: tuple[float, float]
) -> DrawnPoint:
    from framekeeper.formats.frame_drawing import DrawnPoint

    correction = last.survey.correction_n_per_cm
    read = {
        r.direction: r.raw_n_per_cm + correction for r in last.survey.readings if r.point == point
    }
    limit = told.page.rules.limit
    answer: Literal["", "holds", "below"] = ""
    if read and limit is not None:
        answer = "below" if min(read.values()) < limit else "holds"
    first = read.get("warp", read.get("not_told"))
    return DrawnPoint(*place, _number(first), _number(read.get("weft")), answer)


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


# the chart


def _chart(told: _Told) -> TensionChart:
    from framekeeper.formats.tension_chart import ChartPoint, TensionChart

    shown = [s for s in told.page.surveys if s.survey.moment in _IN_THE_CHART]
    begins = [e for e in told.page.standing if _begins_anew(e)]
    start = min((e.happened_at for e in (*begins, *(s.event for s in shown))), default=None)
    if start is None:
        return TensionChart((), "")
    target, limit = told.page.target, told.page.rules.limit
    return TensionChart(
        points=tuple(
            ChartPoint((s.event.happened_at - start) / _DAY, s.figures.mean) for s in shown
        ),
        across_text=told.say(say("Days since {day}", day=told.day(start))),
        limit=limit,
        limit_text="" if limit is None else told.say(say("limit {limit:.1f}", limit=limit)),
        target=target,
        target_text="" if target is None else told.say(say("target {target:.1f}", target=target)),
        marks=tuple(_marks(told, start)),
        ahead=_ahead(told, start) if shown else None,
    )


def _ahead(told: _Told, start: dt.datetime) -> ChartAhead | None:
    """What is to come of the mesh that is on the frame, from its latest reading."""
    forecast = told.forecast
    if forecast is None or forecast.band is None:
        return None
    from framekeeper.formats.tension_chart import ChartAhead

    band: Band = forecast.band
    even = forecast.even_at
    is_to_come = even is not None and band.at[0] < even

    def day(at: dt.datetime | None) -> float | None:
        return None if at is None or not is_to_come else (at - start) / _DAY

    return ChartAhead(
        days=tuple((at - start) / _DAY for at in band.at),
        mean=band.mean,
        low=band.low,
        high=band.high,
        today=(told.page.read_at - start) / _DAY,
        today_text=told.say(say("today")),
        key_text=told.say(say("Dashes: expected; between the dots: 80 %.")),
        early_day=day(forecast.early_at),
        even_day=day(even),
        even_text=told.day(even) if even is not None and is_to_come else "",
        late_day=day(forecast.late_at),
    )


def _begins_anew(event: Event) -> bool:
    """Whether a tension history begins here: a release, new mesh from outside, a retension."""
    payload = event.payload
    if isinstance(payload, Received):
        return payload.mesh_type_id is not None
    return isinstance(payload, Released | Retensioned | FoundWithMesh)


def _marks(told: _Told, start: dt.datetime) -> Iterator[ChartMark]:
    from framekeeper.formats.tension_chart import ChartMark

    words = {
        "released": say("released"),
        "received": say("from outside"),
        "retensioned": say("retensioned"),
        "found_with_mesh": say("found"),
        "reclaimed": say("reclaimed"),
    }
    for event in told.page.standing:
        begins = _begins_anew(event)
        if begins or event.kind == "reclaimed":
            day = (event.happened_at - start) / _DAY
            yield ChartMark(day, told.say(words[event.kind]), begins)


# surveys and journal


def _survey_lines(told: _Told) -> tuple[SurveyLine, ...]:
    """List the surveys, newest first, each judged by the rules of the mesh it was made on."""
    return tuple(_survey_line(told, point) for point in reversed(told.page.surveys))


def _survey_line(told: _Told, point: SurveyPoint) -> SurveyLine:
    from framekeeper.formats.tension_sheet import SurveyLine

    figures = point.figures
    meter = names_on(told.page).meter(point.survey.meter_id)
    if point.event.event_id in told.page.overdue:
        meter = told.say(say("{meter}, meter overdue", meter=meter))
    # a survey that tells no direction has its mean in the first column
    warp = figures.mean if figures.mean_weft is None else figures.mean_warp
    return SurveyLine(
        when=told.day(point.event.happened_at),
        moment=told.say(MOMENT_WORDS[point.survey.moment]),
        warp=_number(warp),
        weft=_number(figures.mean_weft),
        lowest=_number(figures.lowest),
        spread=_number(figures.spread),
        meter=meter,
        verdict=told.say(told.page.judged[point.event.event_id].word),
    )


def _journal(told: _Told) -> tuple[JournalLine, ...]:
    from framekeeper.formats.tension_sheet import JournalLine

    names = names_on(told.page)
    lines = []
    for line in told.page.journal:
        what = tell(line.event, names)
        if line.event.note:
            what = say("{what} ({note})", what=what, note=line.event.note)
        if line.is_withdrawn:
            what = say("taken back: {what}", what=what)
        when = told.wording.moment(line.event.happened_at)
        lines.append(JournalLine(when, told.say(what), line.event.by))
    return tuple(lines)
