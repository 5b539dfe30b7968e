"""What the shop has learnt about its mesh: how each loses tension, and which screens stand out."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from framekeeper.domain.outlook import WORTH_A_HOLD
from framekeeper.domain.records import FrameFilter, FrameRecord, KeptFit, MeshTypeRecord
from framekeeper.domain.stretch_history import DAY_S, StretchHistory, histories, usual_pace
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.services.forecasts import Fitted

if TYPE_CHECKING:
    from framekeeper.domain.forecast import FleetModel
    from framekeeper.domain.trade_decay import TradeFigure

DAYS = (0, 1, 7, 30, 90, 180)
DAYS_DRAWN = (0, 0.25, 0.5, 0.75, 1, 1.5, 2, 3, 4, 5, 7, 10, 14, 21, 30, 45, 60, 90, 120, 150, 180)
SETTLED_CYCLES = 20  # a print and reclaim cycle costs less and less; by then it has tapered off

# Three standard deviations: chance alone would put about one screen in 370 beyond them, so a shop
# of some hundred stretches is shown hardly any that merely had luck. A habit of quality control
# (Shewhart's limits), not a law.
DEVIATIONS = 3.0
# Eight of ten screens lie within 1.2816 standard deviations of the usual way.
EIGHT_OF_TEN = 1.2816

OddKind = Literal["drop", "more", "less"]


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """The usual tension of a mesh on one day, N/cm, and where eight of ten screens lie."""

    day: float
    tension: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class MeshFinding:
    """How one mesh loses tension in this shop, and what that rests on. Losses in N/cm."""

    mesh: MeshTypeRecord
    stretches: int
    readings: int
    own_share: float  # of what is known that rests on the shop's own readings, 0 to 1
    days: tuple[CurvePoint, ...]  # on each of DAYS
    drawn: tuple[CurvePoint, ...]  # on each of DAYS_DRAWN
    first_night: float
    first_cycle: float
    later_cycle: float


@dataclass(frozen=True, slots=True)
class OddScreen:
    """A stretch that left the usual way of its mesh."""

    kind: OddKind
    key: int  # of the stretch
    frame: FrameRecord
    mesh_name: str
    at: dt.datetime  # of the reading that shows it
    lost: float  # N/cm: the fall, or the loss between its first and its latest reading
    usual: float | None  # N/cm that its mesh loses in that time and use; None for a fall
    deviations: float | None
    is_on: bool  # the mesh is still on the frame, and its tension was not set anew since

    @property
    def row_id(self) -> tuple[int, str, dt.datetime]:
        """Names it for good."""
        return self.key, self.kind, self.at


@dataclass(frozen=True, slots=True)
class Findings:
    """All that the place shows. Without a fit there are only the trade's figures."""

    fitted: Fitted | None
    cycles_per_day: float
    meshes: tuple[MeshFinding, ...]
    unread: tuple[str, ...]  # mesh on the shelf of which the forecast knows no reading
    odd: tuple[OddScreen, ...]
    trade: tuple[TradeFigure, ...]
    trade_left: tuple[float, ...]  # percent of the starting tension on each of DAYS


@dataclass(frozen=True, slots=True)
class Known:
    """What the findings rest on, as it was read."""

    fitted: Fitted | None
    fit: KeptFit | None
    histories: tuple[StretchHistory, ...]
    frames: Mapping[int, FrameRecord]
    meshes: Sequence[MeshTypeRecord]


def findings(desk: Desk) -> Findings:
    """Return what the kept forecast has learnt."""
    return work_out(gather(desk))


def gather(desk: Desk) -> Known:
    """Read what the findings rest on."""
    with desk.read() as reader:
        fitted = forecasts.fitted(reader)
        every = tuple(histories(reader.life_marks()))
        return Known(
            fitted,
            reader.kept_fit() if fitted is not None else None,
            tuple(h for h in every if h.day0_is_known) or every,  # as a fit takes them
            {f.id: f for f in reader.frames(FrameFilter(with_retired=True))},
            reader.mesh_types(),
        )


def work_out(known: Known) -> Findings:
    """Ask the fitted fleet: pure maths, away from the database's thread."""
    from framekeeper.domain.trade_decay import trade_figures, trade_left

    fit = known.fit
    pace = fit.fleet["usual_pace"] if fit is not None else usual_pace(known.histories)
    meshes: tuple[MeshFinding, ...] = ()
    odd: tuple[OddScreen, ...] = ()
    if fit is not None:
        model = forecasts.model_of(fit)
        meshes = tuple(_mesh_findings(known, fit, model, pace))
        odd = _odd_screens(known, model)
    there = {found.mesh.id for found in meshes}
    return Findings(
        known.fitted,
        pace,
        meshes,
        tuple(m.name for m in known.meshes if m.id not in there),
        odd,
        trade_figures(),
        tuple(trade_left(DAYS, pace)),
    )


# the usual way of each mesh


def _mesh_findings(
    known: Known, fit: KeptFit, model: FleetModel, pace: float
) -> Iterator[MeshFinding]:
    """One for each mesh of the shelf that the fit has met."""
    from framekeeper.domain.forecast_decay import own_share

    stretches: Counter[int] = Counter()
    readings: Counter[int] = Counter()
    for history in known.histories:
        in_fit = sum(r.event_id <= fit.last_event_id for r in history.readings)
        stretches[history.mesh_type_id] += in_fit > 0
        readings[history.mesh_type_id] += in_fit
    for mesh in known.meshes:
        if mesh.id not in model.fleet.groups or not readings[mesh.id]:
            continue
        yield MeshFinding(
            mesh,
            stretches[mesh.id],
            readings[mesh.id],
            own_share(model, mesh.id),
            _curve(model, mesh.id, DAYS, pace),
            _curve(model, mesh.id, DAYS_DRAWN, pace),
            *_losses(model, mesh.id),
        )


def _curve(
    model: FleetModel, mesh_id: int, days: Sequence[float], pace: float
) -> tuple[CurvePoint, ...]:
    import numpy as np

    from framekeeper.domain.forecast_decay import decay_curve

    curve = decay_curve(model, mesh_id, np.array(days, dtype=np.float64), pace)
    reach = EIGHT_OF_TEN * np.hypot(curve.between, curve.doubt)
    rows = np.column_stack((curve.day, curve.tension, curve.tension - reach, curve.tension + reach))
    return tuple(CurvePoint(*row) for row in rows.tolist())


def _losses(model: FleetModel, mesh_id: int) -> tuple[float, float, float]:
    """What the first night costs, the first print and reclaim cycle, and one of the later ones.

    Days and cycles add up in the model, so two curves that differ in cycles alone tell a cycle.
    """
    import numpy as np

    from framekeeper.domain.forecast_decay import decay_curve

    def left(day: float, cycles: float) -> float:
        pace = cycles / day if day else 0.0
        return float(decay_curve(model, mesh_id, np.array([day]), pace).tension[0])

    return (
        left(0, 0) - left(1, 0),
        left(30, 0) - left(30, 1),
        left(30, SETTLED_CYCLES) - left(30, SETTLED_CYCLES + 1),
    )


# those that stand out


def _odd_screens(known: Known, model: FleetModel) -> tuple[OddScreen, ...]:
    """Falls, and stretches far from the usual way; a fall explains a loss, so it is told alone."""
    drops = list(_drops(known, model))
    fallen = {odd.key for odd in drops}
    far = [odd for odd in _departed(known, model) if odd.kind == "less" or odd.key not in fallen]
    return tuple(sorted((*drops, *far), key=lambda o: (not o.is_on, -o.at.timestamp(), o.key)))


def _drops(known: Known, model: FleetModel) -> Iterator[OddScreen]:
    """Sudden falls worth a hold; what is smaller only asked for another reading."""
    from framekeeper.domain.forecast_outlook import observations

    if not known.histories:
        return
    keys = [h.key for h in known.histories]
    looked = model.with_readings(observations(known.histories))
    for place, day, size in looked.sudden_drops(keys):
        history = known.histories[place]
        reading = min(history.readings, key=lambda r: abs(r.day - day))
        if size >= WORTH_A_HOLD * reading.tension:
            at = history.day0_at + dt.timedelta(seconds=day * DAY_S)
            yield _odd(known, history, "drop", at, size, None, None)


def _departed(known: Known, model: FleetModel) -> Iterator[OddScreen]:
    from framekeeper.domain.forecast_decay import departures

    for found in departures(model, known.histories):
        if abs(found.deviations) < DEVIATIONS:
            return
        kind: OddKind = "more" if found.deviations > 0 else "less"
        at = found.history.readings[-1].at
        yield _odd(known, found.history, kind, at, found.lost, found.usual, found.deviations)


def _odd(
    known: Known,
    history: StretchHistory,
    kind: OddKind,
    at: dt.datetime,
    lost: float,
    usual: float | None,
    deviations: float | None,
) -> OddScreen:
    frame = known.frames[history.frame_id]
    life = frame.state.life
    newest = max(h.key for h in known.histories if h.frame_id == history.frame_id)
    is_on = life is not None and history.key == newest and history.key >= life.start_event_id
    names = {m.id: m.name for m in known.meshes}
    name = names.get(history.mesh_type_id, "")
    return OddScreen(kind, history.key, frame, name, at, lost, usual, deviations, is_on)
