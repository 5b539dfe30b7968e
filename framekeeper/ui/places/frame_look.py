"""Turns a frame's page into its drawing and its chart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from framekeeper.domain.events import Event, Received, Stretched, Surveyed
from framekeeper.domain.low_spot import centre_of
from framekeeper.services.frame_page import FramePage, SurveyPoint
from framekeeper.services.tension_round import judge_points
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.frame_picture import Cloth, FramePicture, PointPicture
from framekeeper.ui.widgets.tension_chart import ChartData, ChartMark, ChartReading, Happening
from framekeeper.ui.widgets.verdict_line import verdict_mark

_IN_THE_CHART = ("after_release", "in_service")
_MARKS: dict[str, Happening] = {
    "stretched": "stretch",
    "found_with_mesh": "stretch",
    "received": "stretch",
    "retensioned": "retension",
    "reclaimed": "reclaim",
}


def blank_picture(page: FramePage) -> FramePicture:
    """The frame with its cloth and its marks, without a survey."""
    state, mesh = page.settled, page.mesh
    cloth: Cloth = "none"
    if state.life is not None:
        cloth = "yellow" if mesh is not None and mesh.colour == "dyed" else "white"
    return FramePicture(
        width_mm=page.frame.width_mm,
        height_mm=page.frame.height_mm,
        cloth=cloth,
        state=state.state,
        is_held=state.hold_reason is not None,
        is_reserved=state.reserved_job is not None,
        threads_per_cm=mesh.threads_per_cm if mesh else None,
        warp_along=_warp_along(page.standing) if state.life else None,
    )


def entry_picture(page: FramePage, pattern: str) -> FramePicture:
    """The frame with the points of a pattern, nothing read yet."""
    return _with_points(page, pattern, ())


def page_picture(page: FramePage) -> FramePicture:
    """The frame with its last survey where it was read, if the number of points tells where."""
    last = page.last_survey
    pattern = None if last is None else pattern_of(page, last.survey)
    if last is None or pattern is None:
        return blank_picture(page)
    return _with_points(page, pattern, survey_numbers(last.survey, corrected=True))


def pattern_of(page: FramePage, survey: Surveyed) -> str | None:
    """The pattern that a survey was read in; None where its points fit none that we know."""
    return page.settings.pattern_with(max(r.point for r in survey.readings))


def survey_numbers(survey: Surveyed, *, corrected: bool) -> tuple[float | None, ...]:
    """Warp and weft of each point in turn; a reading without direction stands as warp."""
    count = max(r.point for r in survey.readings)
    added = survey.correction_n_per_cm if corrected else 0.0
    numbers: list[float | None] = [None] * (2 * count)
    for reading in survey.readings:
        place = 2 * (reading.point - 1) + (reading.direction == "weft")
        numbers[place] = reading.raw_n_per_cm + added
    return tuple(numbers)


def _with_points(page: FramePage, pattern: str, numbers: Sequence[float | None]) -> FramePicture:
    blank = blank_picture(page)
    places = page.settings.places(pattern, page.frame.width_mm, page.frame.height_mm)
    full = [*numbers, *[None] * (2 * len(places) - len(numbers))]
    judged = judge_points(full, page.rules, centre=centre_of(places))
    points = tuple(
        PointPicture(x, y, full[2 * i], full[2 * i + 1], *judged[i])
        for i, (x, y) in enumerate(places)
    )
    return FramePicture(
        blank.width_mm,
        blank.height_mm,
        blank.cloth,
        blank.state,
        blank.is_held,
        blank.is_reserved,
        blank.threads_per_cm,
        blank.warp_along,
        points,
    )


def _warp_along(standing: Sequence[Event]) -> Literal["long", "short"] | None:
    """The warp of the mesh that is on: said at the stretch, unknown on mesh from elsewhere."""
    along: Literal["long", "short"] | None = None
    for event in standing:
        if isinstance(event.payload, Stretched):
            along = event.payload.warp_along or "long"  # pieces are cut with the long side along
        elif isinstance(event.payload, Received) and event.payload.mesh_type_id is not None:
            along = None
    return along


def chart_data(page: FramePage, *, all_lives: bool) -> ChartData:
    """The readings of this mesh life, or of every life of the frame."""
    shown = [s for s in page.surveys if s.survey.moment in _IN_THE_CHART]
    marks = [e for e in page.standing if _is_marked(e)]
    start = _start_of_life(page)
    if not all_lives:
        shown = [s for s in shown if _is_since(s.event, start)]
        marks = [e for e in marks if _is_since(e, start)]
    return ChartData(
        readings=tuple(_reading(s, page, _is_since(s.event, start)) for s in shown),
        marks=tuple(ChartMark(e.happened_at, _MARKS[e.kind]) for e in marks),
        target_n_per_cm=page.target,
        limit_n_per_cm=page.rules.limit,
        now=page.read_at,
    )


def _is_marked(event: Event) -> bool:
    if isinstance(event.payload, Received):
        return event.payload.mesh_type_id is not None
    return event.kind in _MARKS


def _start_of_life(page: FramePage) -> Event | None:
    life = page.settled.life
    if life is None:
        return None
    return next((e for e in page.standing if e.event_id == life.start_event_id), None)


def _is_since(event: Event, start: Event | None) -> bool:
    return start is not None and event.order >= start.order


def _reading(point: SurveyPoint, page: FramePage, is_this_life: bool) -> ChartReading:
    """One survey; those of an earlier mesh are not judged by the limit of this one."""
    note = next((m.name for m in page.meters if m.id == point.survey.meter_id), "")
    if point.event.event_id in page.overdue:
        note = tr("{meter}, meter overdue", meter=note)
    judged = page.judged[point.event.event_id]
    return ChartReading(
        when=point.event.happened_at,
        tension_n_per_cm=point.figures.mean,
        u_n_per_cm=judged.result.u_mean if judged.result else 0.0,
        mark=verdict_mark(judged) if is_this_life else None,
        note=note,
        said=judged.word if is_this_life else None,
    )
