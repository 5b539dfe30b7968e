"""What is known of one piece of mesh on one frame: how it began, how it stands, how old it is."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal, NamedTuple

LifeUnit = Literal["days", "reclaims"]
Method = Literal["glued", "rollers", "outside", "not_told"]
Fate = Literal["ended", "on", "out_of_sight"]
CauseKind = Literal["damaged", "below_limit", "uneven", "pulled", "stripped", "sent_out"]
LeftOut = Literal["", "not_released", "start_unknown", "never_watched"]

DAY = dt.timedelta(days=1)


class Cause(NamedTuple):
    """What ended a life; `words` are the person's own, or name the damage."""

    kind: CauseKind
    words: str = ""
    before_release: bool = False


class Span(NamedTuple):
    """A life on one scale: the age at which it came under watch, its age at last, how it stands."""

    entry: float
    age: float
    ended: bool


class LifeEvent(NamedTuple):
    """One event that a life is told from."""

    event_id: int
    at: dt.datetime
    kind: str


@dataclass(frozen=True, slots=True)
class FirstNight:
    """Tension before and after the first night, in N/cm, and the surveys that tell it.

    `from_clamps`: the first reading was made before the release, so its loss is in the number too.
    """

    before_n_per_cm: float
    after_n_per_cm: float
    before_id: int
    after_id: int
    from_clamps: bool

    @property
    def loss_percent(self) -> float:
        """What was lost, in percent of the first reading."""
        return 100 * (1 - self.after_n_per_cm / self.before_n_per_cm)


@dataclass(frozen=True, slots=True)
class LivedMesh:
    """One piece of mesh on one frame.

    Attributes
    ----------
    key : int
        The event that put it there.
    started_at : datetime, optional
        Age 0; None where nobody knows it, or where the mesh was never released.
    seen_from : datetime, optional
        From when on an end would have been seen here; None where the mesh was never released.
    reclaims_before : int, optional
        Reclaims before it was seen here; None where nobody knows.
    reclaims, impressions : int
        What was recorded here.
    by : str
        Who stretched it; of mesh from outside, where it was sent.
    rest_minutes, frames_in_pull : int, optional
        Of the pull before the glue; None where nobody told.
    last_at : datetime
        The end, the last sight, or the moment of asking.
    closed_by : int, optional
        The event that ended it or took it out of sight.
    events : tuple of LifeEvent
        What all this is told from, oldest first.
    """

    frame_id: int
    key: int
    mesh_type_id: int
    method: Method
    started_at: dt.datetime | None
    seen_from: dt.datetime | None
    reclaims_before: int | None
    reclaims: int
    impressions: int
    by: str
    roll_id: int | None
    adhesive_lot: str
    activator_lot: str
    rest_minutes: int | None
    frames_in_pull: int | None
    fate: Fate
    cause: Cause | None
    last_at: dt.datetime
    closed_by: int | None
    first_night: FirstNight | None
    events: tuple[LifeEvent, ...]

    def left_out(self, unit: LifeUnit) -> LeftOut:
        """Why this life cannot be counted in a unit; empty where it can."""
        if self.seen_from is None:
            return "not_released"
        span = self._span(unit, self.seen_from)
        if span is None:
            return "start_unknown"
        # Whoever was first seen at the age of their end was never seen to live.
        is_seen = not span.ended or span.entry == 0 or span.entry < span.age
        return "" if is_seen else "never_watched"

    def span(self, unit: LifeUnit) -> Span | None:
        """The life in days or reclaims; None where it cannot be counted."""
        if self.seen_from is None or self.left_out(unit):
            return None
        return self._span(unit, self.seen_from)

    def _span(self, unit: LifeUnit, seen_from: dt.datetime) -> Span | None:
        ended = self.fate == "ended"
        if unit == "days":
            if self.started_at is None:
                return None
            age = (self.last_at - self.started_at) / DAY
            return Span((seen_from - self.started_at) / DAY, age, ended)
        if self.reclaims_before is None:
            return None
        before = float(self.reclaims_before)
        return Span(before, before + self.reclaims, ended)
