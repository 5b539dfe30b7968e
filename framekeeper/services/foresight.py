"""What the forecast shows of one screen: the band to come, when it crosses the limit, and why."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.stretch_history import StretchHistory, histories, own_pace
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame

if TYPE_CHECKING:
    from framekeeper.domain.forecast import FleetModel
    from framekeeper.domain.outlook import Outlook
    from framekeeper.domain.records import MeshTypeRecord
    from framekeeper.storage.reader import Reader

UPPER_TENTH = 1.2815515655446004  # of the normal law: 80 % lie between
SHORTEST_DAYS, LONGEST_DAYS = 45, 365
POINTS = 60
EARLY, EVEN, LATE = 0.1, 0.5, 0.9
MOSTLY, PARTLY = 0.5, 0.9  # shares of what is known that rest on the shop's own readings


@dataclass(frozen=True, slots=True)
class Band:
    """The true tension to come, as the forecast sees it; 80 % lie between `low` and `high`.

    A sudden drop, which no curve foresees, is not in the band; it is in the chances.
    """

    at: tuple[dt.datetime, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class FrameForecast:
    """All that the forecast says of one screen.

    `early_at`, `even_at` and `late_at` are when the chance of being below the limit reaches 10, 50
    and 90 %; None past a year, or without a limit.
    """

    band: Band
    limit: float | None
    outlook: Outlook | None
    early_at: dt.datetime | None
    even_at: dt.datetime | None
    late_at: dt.datetime | None
    rests_on: Sentence


def frame_forecast(desk: Desk, code: str) -> FrameForecast | None:
    """Look ahead for one screen; None where there is nothing to forecast from.

    Raises
    ------
    NotFound
        If there is no such frame.
    """
    with desk.read() as reader:
        frame = find_frame(reader, code)
        kept = reader.kept_fit()
        life = frame.state.life
        if kept is None or forecasts.fitted(reader) is None or life is None:
            return None
        history = _current(reader, frame.id, life.start_event_id)
        mesh = next(m for m in reader.mesh_types(with_hidden=True) if m.id == life.mesh_type_id)
        outlook = forecasts.outlook_of(reader, frame, {mesh.id: mesh.rules})
        stretches = sum(h.mesh_type_id == mesh.id for h in histories(reader.life_marks()))
    if history is None:
        return None
    from framekeeper.domain.forecast_decay import own_share
    from framekeeper.domain.forecast_outlook import observations

    model = forecasts.model_of(kept).with_readings(observations([history]))
    share = own_share(model, mesh.id)
    reached = {c: outlook.reached_at(c) if outlook else None for c in (EARLY, EVEN, LATE)}
    return FrameForecast(
        band=_band(model, history, own_pace(history, kept.fleet["usual_pace"]), reached[EVEN]),
        limit=mesh.rules.limit,
        outlook=outlook,
        early_at=reached[EARLY],
        even_at=reached[EVEN],
        late_at=reached[LATE],
        rests_on=_rests_on(mesh, stretches, share, history),
    )


def _current(reader: Reader, frame_id: int, start_event_id: int) -> StretchHistory | None:
    known = [h for h in histories(reader.life_marks([frame_id])) if h.key >= start_event_id]
    return known[-1] if known else None


def _band(
    model: FleetModel, history: StretchHistory, pace: float, even_at: dt.datetime | None
) -> Band:
    """From the latest reading until somewhat after the limit is likely to be crossed."""
    import numpy as np

    latest = history.readings[-1]
    until = LONGEST_DAYS if even_at is None else (even_at - latest.at).days * 1.4
    ahead = np.linspace(0, min(max(until, SHORTEST_DAYS), LONGEST_DAYS), POINTS)
    mean, sd = model.predict(history.key, latest.day + ahead, latest.cycles + ahead * pace)
    return Band(
        tuple(latest.at + dt.timedelta(days=float(d)) for d in ahead),
        tuple(mean.tolist()),
        tuple((mean - UPPER_TENTH * sd).tolist()),
        tuple((mean + UPPER_TENTH * sd).tolist()),
    )


def _rests_on(
    mesh: MeshTypeRecord, stretches: int, share: float, history: StretchHistory
) -> Sentence:
    words = {"mesh": mesh.name, "stretches": stretches, "readings": len(history.readings)}
    if not history.day0_is_known:
        return say(
            "Nobody knows when this mesh was stretched; it is taken for fresh at its first "
            "reading, so it may hold longer than shown.",
        )
    if share < MOSTLY:
        return say(
            "Rests mostly on the trade’s figures: {stretches} stretches of {mesh} were read so "
            "far. Own readings take over as they come.",
            **words,
        )
    if share < PARTLY:
        return say(
            "Rests partly on the trade’s figures, partly on the readings of {stretches} stretches "
            "of {mesh}.",
            **words,
        )
    return say("Rests on the readings of {stretches} stretches of {mesh} in this shop.", **words)
