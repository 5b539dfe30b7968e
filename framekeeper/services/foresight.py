"""What the forecast shows of a screen: the band to come, when it crosses the limit, and why."""

from __future__ import annotations

import bisect
import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from framekeeper.domain.frame_state import WITH_MESH
from framekeeper.domain.outlook import AHEAD_DAYS
from framekeeper.domain.records import FrameFilter
from framekeeper.domain.sentence import Sentence
from framekeeper.domain.stretch_history import StretchHistory, histories, own_pace
from framekeeper.services import forecast_words, forecasts
from framekeeper.services.days_left import DaysLeft, days_left
from framekeeper.services.desk import Desk
from framekeeper.services.find import find_frame

if TYPE_CHECKING:
    from framekeeper.domain.forecast import FleetModel
    from framekeeper.domain.outlook import Outlook
    from framekeeper.domain.records import FrameRecord, MeshTypeRecord
    from framekeeper.storage.reader import Reader

UPPER_TENTH = 1.2815515655446004  # of the normal law: 80 % lie between
SHORTEST_DAYS, LONGEST_DAYS = 28, AHEAD_DAYS[-1]
HOLDING_DAYS, HOLDING_SHARE = 90, 0.6  # shown of a screen that crosses no limit: of its age
POINTS = 60
EARLY, EVEN, LATE = 0.1, 0.5, 0.9
_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Band:
    """The true tension to come, as the forecast sees it; 80 % lie between `low` and `high`.

    A sudden drop, which no curve foresees, is not in the band; it is in the chances.
    """

    at: tuple[dt.datetime, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def look(self, moment: dt.datetime) -> tuple[float, float, float] | None:
        """Return mean, low and high at a moment, straight between the points; None outside."""
        if not self.at or not self.at[0] <= moment <= self.at[-1]:
            return None
        place = max(1, bisect.bisect_left(self.at, moment))
        before, after = self.at[place - 1], self.at[min(place, len(self.at) - 1)]
        share = (moment - before) / (after - before) if after > before else 0.0
        mean, low, high = (
            line[place - 1] * (1 - share) + line[min(place, len(line) - 1)] * share
            for line in (self.mean, self.low, self.high)
        )
        return mean, low, high


@dataclass(frozen=True, slots=True)
class FrameForecast:
    """All that the forecast says of one screen, and where it says nothing, why.

    `early_at`, `even_at` and `late_at` are when the chance of being below the limit reaches 10, 50
    and 90 %; None past a year, or without a limit.
    """

    band: Band | None
    limit: float | None
    outlook: Outlook | None
    early_at: dt.datetime | None = None
    even_at: dt.datetime | None = None
    late_at: dt.datetime | None = None
    said: Sentence | None = None  # when it is likely below, or what is missing to say so
    next_reading: Sentence | None = None
    next_reading_on: dt.date | None = None
    rests_on: Sentence | None = None
    behind: Sentence | None = None  # how far the fit lags behind the journal
    left: DaysLeft | None = None

    @property
    def lines(self) -> tuple[Sentence, ...]:
        """Everything that is said, in reading order."""
        said = (self.said, self.next_reading, self.rests_on, self.behind)
        return tuple(line for line in said if line is not None)


def frame_forecast(desk: Desk, code: str) -> FrameForecast | None:
    """Look ahead for one screen, with its band; None where there is no mesh to look at.

    Raises
    ------
    NotFound
        If there is no such frame.
    """
    with desk.read() as reader:
        frame = find_frame(reader, code)
        fleet = _Fleet(reader, desk)
        outlook = forecasts.outlook_of(reader, frame, forecasts.rules_by_mesh(reader))
        history = _current(reader, frame)
        return fleet.forecast(frame, outlook, history)


def frame_forecasts(
    desk: Desk, codes: Sequence[str] = ()
) -> list[tuple[FrameRecord, FrameForecast]]:
    """Look ahead for many screens, without their bands: those asked for, or all with a forecast.

    Raises
    ------
    NotFound
        If a code names no frame.
    """
    with desk.read() as reader:
        frames = [find_frame(reader, c) for c in codes] or list(reader.frames(FrameFilter()))
        fleet = _Fleet(reader, desk)
        foretold = forecasts.outlooks(reader, frames, forecasts.rules_by_mesh(reader))
        return list(_listed(fleet, frames, foretold, is_asked=bool(codes)))


def _listed(
    fleet: _Fleet, frames: Sequence[FrameRecord], foretold: dict[int, Outlook], *, is_asked: bool
) -> Iterator[tuple[FrameRecord, FrameForecast]]:
    for frame in frames:
        if is_asked or frame.id in foretold:
            forecast = fleet.forecast(frame, foretold.get(frame.id), None)
            yield frame, forecast or FrameForecast(None, None, None, said=forecast_words.NO_MESH)


class _Fleet:
    """The kept fit as one transaction sees it, and what it says of one screen after another."""

    def __init__(self, reader: Reader, desk: Desk) -> None:
        self._now, self._zone = desk.clock.now(), desk.clock.zone()
        self._meshes = {m.id: m for m in reader.mesh_types(with_hidden=True)}
        self._fitted = forecasts.fitted(reader)
        self._kept = reader.kept_fit() if self._fitted is not None else None
        self._shares: dict[int, float] = {}

    @cached_property
    def _model(self) -> FleetModel:
        assert self._kept is not None
        return forecasts.model_of(self._kept)

    def forecast(
        self, frame: FrameRecord, outlook: Outlook | None, history: StretchHistory | None
    ) -> FrameForecast | None:
        """Say what is known; the band is drawn from the history, if one is given."""
        state = frame.state.at(self._now)
        life = state.life
        if life is None or state.state not in WITH_MESH:
            return None
        mesh = self._meshes[life.mesh_type_id]
        reached = {c: outlook.reached_at(c) if outlook else None for c in (EARLY, EVEN, LATE)}
        band = None
        if history is not None and self._kept is not None:
            band = self._band(history, reached[EVEN], reached[LATE])
        missing = forecast_words.missing(mesh, life.survey is not None, self._fitted is not None)
        check_on, check = forecast_words.next_reading(
            state, mesh.rules, outlook, self._now, self._zone
        )
        return FrameForecast(
            band=band,
            limit=mesh.rules.limit,
            outlook=outlook,
            early_at=reached[EARLY],
            even_at=reached[EVEN],
            late_at=reached[LATE],
            said=missing if outlook is None else forecast_words.crossing(outlook, self._now,
                                                                         self._zone),
            next_reading=check,
            next_reading_on=check_on,
            rests_on=self._rests_on(mesh, outlook, history),
            behind=forecast_words.behind(self._fitted, self._zone) if outlook else None,
            left=days_left(outlook, self._now),
        )  # fmt: skip

    def _rests_on(
        self, mesh: MeshTypeRecord, outlook: Outlook | None, history: StretchHistory | None
    ) -> Sentence | None:
        """What the forecast rests on, where there is one."""
        if self._kept is None or (outlook is None and history is None):
            return None
        if mesh.id not in self._shares:
            from framekeeper.domain.forecast_decay import own_share

            self._shares[mesh.id] = own_share(self._model, mesh.id)
        is_known = outlook.start_is_known if outlook else history is None or history.day0_is_known
        stretches = dict(self._kept.fleet.get("stretches", ())).get(mesh.id, 0)
        return forecast_words.rests_on(
            mesh, stretches, self._shares[mesh.id], start_is_known=is_known
        )

    def _band(
        self, history: StretchHistory, even_at: dt.datetime | None, late_at: dt.datetime | None
    ) -> Band:
        """From the latest reading until the limit is crossed as good as surely, if it is."""
        import numpy as np

        from framekeeper.domain.forecast_outlook import observations

        assert self._kept is not None
        latest = history.readings[-1]
        pace = own_pace(history, self._kept.fleet["usual_pace"])
        if even_at is None:
            until = max(HOLDING_SHARE * latest.day, HOLDING_DAYS)
        else:
            even = (even_at - latest.at) / _DAY
            late = (late_at - latest.at) / _DAY if late_at is not None else 0.0
            until = max(1.3 * even, min(1.05 * late, 2.5 * even))
        ahead = np.linspace(0, min(max(until, SHORTEST_DAYS), LONGEST_DAYS), POINTS)
        model = self._model.with_readings(observations([history]))
        mean, sd = model.predict(history.key, latest.day + ahead, latest.cycles + ahead * pace)
        return Band(
            tuple(latest.at + float(d) * _DAY for d in ahead),
            tuple(mean.tolist()),
            tuple((mean - UPPER_TENTH * sd).tolist()),
            tuple((mean + UPPER_TENTH * sd).tolist()),
        )


def _current(reader: Reader, frame: FrameRecord) -> StretchHistory | None:
    """The tension history of the mesh that is on the frame."""
    life = frame.state.life
    if life is None:
        return None
    known = [h for h in histories(reader.life_marks([frame.id])) if h.key >= life.start_event_id]
    return known[-1] if known else None
