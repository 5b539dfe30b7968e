"""Keeps the tension forecast: fitted on the whole shop now and then, one screen's at once.

What is kept is derived: it stands outside the journal, undo and export. What rests on something
older than the journal is worked out anew when it is asked for, so a list never tells a stale
forecast; keeping it again only saves time.
"""

from __future__ import annotations

import contextlib
import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from framekeeper.domain.changes import Changes
from framekeeper.domain.due import MeshRules
from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.frame_state import WITH_MESH
from framekeeper.domain.outlook import MATHS, WORTH_A_HOLD, Outlook, Watch
from framekeeper.domain.records import FrameFilter, FrameRecord, KeptFit, KeptOutlook
from framekeeper.domain.stretch_history import (
    StretchHistory,
    histories,
    usual_pace,
)
from framekeeper.services.desk import Desk

if TYPE_CHECKING:
    from framekeeper.domain.forecast import FleetModel
    from framekeeper.storage.reader import Reader

REFIT_AFTER = dt.timedelta(days=1)  # where any reading is new, or was taken back
REFIT_GROWTH = 0.1  # of the readings: then at once
NO_LIMIT_DAYS = 365  # the longest wait where the shop sets none


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fitted fleet, what it was fitted on, and whether the shop has moved on since."""

    fitted_at: dt.datetime
    stretches: int
    readings: int
    new_surveys: int

    @property
    def is_stale(self) -> bool:
        """Whether readings came since that it does not know."""
        return self.new_surveys > 0


@dataclass(frozen=True, slots=True)
class Gathered:
    """What a fit, and the forecasts that are not kept yet, need of a shop."""

    histories: tuple[StretchHistory, ...]  # of the whole shop; none where no fit is needed
    last_event_id: int
    at: dt.datetime
    kept: KeptFit | None
    asked: Mapping[int, _Asked]  # by frame: those whose forecast is to be worked out
    gone: frozenset[int]  # frames that had a forecast and have none any more


@dataclass(frozen=True, slots=True)
class _Asked:
    history: StretchHistory | None
    rules: MeshRules
    newest_event_id: int


@dataclass(frozen=True, slots=True)
class Worked:
    """A new fit, if one was made, and new forecasts; not kept yet."""

    fit: KeptFit | None
    outlooks: Mapping[int, KeptOutlook]
    gone: frozenset[int]


@dataclass(frozen=True, slots=True)
class Kept:
    """What a refresh did."""

    refitted: bool
    outlooks: int
    changes: Changes


def fitted(reader: Reader) -> Fitted | None:
    """Say what the kept forecast was fitted on; None where there is none yet."""
    kept = _usable_fit(reader)
    if kept is None:
        return None
    new = reader.surveys_since(kept.last_event_id)
    return Fitted(kept.fitted_at, kept.stretches, kept.readings, new)


def outlooks(
    reader: Reader, frames: Iterable[FrameRecord], rules: Mapping[int, MeshRules]
) -> dict[int, Outlook]:
    """Return the forecast of each frame that has one, by frame.

    A frame has one where its mesh has a limit and a risk, it was read since its tension was set,
    and the shop's readings have been fitted. Only what changed since it was kept is worked out.

    Parameters
    ----------
    reader
        Of the shop.
    frames
        The frames asked about.
    rules
        The thresholds by the id of the mesh type.
    """
    kept = _usable_fit(reader)
    if kept is None:
        return {}
    watched = _watched(frames, rules)
    found, stale = _sorted_out(reader, kept, watched)
    if stale:
        found.update(_worked_out(reader, kept, {f: watched[f] for f in stale}))
    return found


def outlook_of(
    reader: Reader, frame: FrameRecord, rules: Mapping[int, MeshRules]
) -> Outlook | None:
    """Return the forecast of one frame; None where there is none."""
    return outlooks(reader, [frame], rules).get(frame.id)


def sudden_drop(
    reader: Reader, frame: FrameRecord, tension: float, at: dt.datetime
) -> float | None:
    """How far this new reading lies below the forecast, N/cm, if no decay explains it.

    What is found to be sudden but is small asks for another reading only; it is None here.
    """
    kept, life = _usable_fit(reader), frame.state.life
    if kept is None or life is None:
        return None
    known = [h for h in histories(reader.life_marks([frame.id])) if h.key >= life.start_event_id]
    if not known:
        return None
    from framekeeper.domain.forecast_outlook import sudden_fall

    fall = sudden_fall(model_of(kept), known[-1], tension, at)
    return fall if fall is not None and fall >= WORTH_A_HOLD * tension else None


def needs_refit(reader: Reader, now: dt.datetime) -> bool:
    """Whether the fleet should be fitted anew."""
    kept = _usable_fit(reader)
    if kept is None:
        return reader.surveys_since(0) > 0
    new = reader.surveys_since(kept.last_event_id) + reader.known_surveys_moved(kept.last_event_id)
    if not new:
        return False
    return now - kept.fitted_at >= REFIT_AFTER or new > REFIT_GROWTH * kept.readings


def gather(desk: Desk, *, anyway: bool = False) -> Gathered:
    """Read what is needed to bring the forecast up to date.

    Parameters
    ----------
    desk
        The shop.
    anyway
        Fit anew even where nothing asks for it.
    """
    now = desk.clock.now()
    with desk.read() as reader:
        kept = _usable_fit(reader)
        refit = anyway or needs_refit(reader, now)
        watched = _watched(reader.frames(FrameFilter()), rules_by_mesh(reader))
        newest = reader.newest_event_ids(list(watched))
        if refit:
            known = histories(reader.life_marks())
            stale = list(watched)
        else:
            stale = [] if kept is None else _sorted_out(reader, kept, watched)[1]
            known = histories(reader.life_marks(sorted(stale)))
        current = {h.frame_id: h for h in known}
        return Gathered(
            tuple(known) if refit else (),
            reader.last_event_id(),
            now,
            kept,
            {f: _Asked(current.get(f), watched[f], newest.get(f, 0)) for f in stale},
            reader.frames_with_outlook() - frozenset(watched),
        )


def fit(gathered: Gathered) -> Worked:
    """Fit the fleet and look ahead: pure maths that may take seconds, away from the database."""
    fresh = _fit(gathered)
    rests_on = fresh or gathered.kept
    if rests_on is None:
        return Worked(None, {}, gathered.gone)
    with_history = {f: (a.history, a.rules) for f, a in gathered.asked.items() if a.history}
    looked = _look_ahead(rests_on, with_history)
    return Worked(
        fresh,
        {
            f: KeptOutlook(_mark(rests_on, a.newest_event_id, a.rules), _plain(looked.get(f)))
            for f, a in gathered.asked.items()
        },
        gathered.gone,
    )


def _fit(gathered: Gathered) -> KeptFit | None:
    """Fit the fleet, where there is anything to fit.

    Mesh of which nobody knows when it was stretched would blur the curve of what is fresh, so it is
    left out where there is other.
    """
    known = [h for h in gathered.histories if h.day0_is_known] or list(gathered.histories)
    if not known:
        return None
    from framekeeper.domain.forecast import fit_fleet
    from framekeeper.domain.forecast_outlook import observations
    from framekeeper.domain.forecast_store import plain_fleet

    obs = observations(known)
    fleet = {
        **plain_fleet(fit_fleet(obs).fleet),
        "usual_pace": usual_pace(known),
        "stretches": [list(pair) for pair in Counter(h.mesh_type_id for h in known).items()],
    }
    return KeptFit(MATHS, gathered.at, gathered.last_event_id, len(known), len(obs), fleet)


def keep(desk: Desk, worked: Worked) -> Kept:
    """Keep what was worked out, unless another bench kept a newer fit meanwhile.

    A forecast that the journal has overtaken meanwhile does no harm: its mark says what it rests
    on, so nobody takes it for new.
    """
    if worked.fit is None and not worked.outlooks and not worked.gone:
        return Kept(False, 0, Changes())
    with desk.shop.derived() as derived:
        there = _usable_fit(derived)
        if worked.fit is not None:
            if there is not None and there.fitted_at >= worked.fit.fitted_at:
                return Kept(False, 0, Changes())
            derived.put_fit(worked.fit)
        derived.put_outlooks(worked.outlooks, gone=worked.gone)
    frames = frozenset(worked.outlooks) | worked.gone
    changes = Changes(frozenset({"forecast"}), frames)
    return Kept(worked.fit is not None, len(worked.outlooks), changes)


def refresh(desk: Desk) -> Kept:
    """Bring everything up to date at once, for those who have no window to keep awake."""
    return keep(desk, fit(gather(desk)))


def refresh_if_possible(desk: Desk) -> None:
    """Bring everything up to date before a list is read, unless the shop cannot be written.

    Then the list rests on what is kept, and says so; it must not fail for a file that is locked.
    """
    with contextlib.suppress(StorageTrouble):
        refresh(desk)


def model_of(kept: KeptFit) -> FleetModel:
    """Build the model of the kept fit."""
    from framekeeper.domain import forecast_store

    return forecast_store.model_of(kept.fleet)


def watch(rules: MeshRules) -> Watch | None:
    """Turn a mesh's thresholds into terms for the forecast; None where it is not forecast."""
    if rules.limit is None or rules.risk is None:
        return None
    return Watch(rules.limit, rules.risk, rules.longest_wait_days or NO_LIMIT_DAYS)


def _usable_fit(reader: Reader) -> KeptFit | None:
    """The kept fit, unless another version of the maths made it."""
    kept = reader.kept_fit()
    return kept if kept is not None and kept.maths == MATHS else None


def _watched(frames: Iterable[FrameRecord], rules: Mapping[int, MeshRules]) -> dict[int, MeshRules]:
    """The frames whose mesh has a limit and is forecast, with its thresholds."""
    found = {}
    for frame in frames:
        life = frame.state.life
        if life is None or frame.state.state not in WITH_MESH or life.survey is None:
            continue
        own = rules.get(life.mesh_type_id)
        if own is not None and own.limit is not None and own.risk is not None:
            found[frame.id] = own
    return found


def _sorted_out(
    reader: Reader, kept: KeptFit, watched: Mapping[int, MeshRules]
) -> tuple[dict[int, Outlook], list[int]]:
    """What is kept and still holds, and the frames of which it does not."""
    newest = reader.newest_event_ids(list(watched))
    there = reader.kept_outlooks(list(watched))
    found: dict[int, Outlook] = {}
    stale = []
    for frame_id, rules in watched.items():
        one = there.get(frame_id)
        if one is None or one.rests_on != _mark(kept, newest.get(frame_id, 0), rules):
            stale.append(frame_id)
        elif one.outlook:
            found[frame_id] = _outlook(one.outlook)
    return found, stale


def _mark(kept: KeptFit, newest_event_id: int, rules: MeshRules) -> str:
    """What a frame's forecast rests on, in one line."""
    parts = (
        kept.maths,
        kept.fitted_at.isoformat(),
        newest_event_id,
        rules.limit,
        rules.risk,
        rules.longest_wait_days,
    )
    return "|".join(str(part) for part in parts)


def _worked_out(
    reader: Reader, kept: KeptFit, asked: Mapping[int, MeshRules]
) -> dict[int, Outlook]:
    """Ask the fitted fleet about these frames."""
    current = {h.frame_id: h for h in histories(reader.life_marks(sorted(asked)))}
    return _look_ahead(kept, {f: (h, asked[f]) for f, h in current.items()})


def _look_ahead(
    kept: KeptFit, asked: Mapping[int, tuple[StretchHistory, MeshRules]]
) -> dict[int, Outlook]:
    if not asked:
        return {}
    from framekeeper.domain import forecast_outlook

    terms = [
        (history, terms) for history, rules in asked.values() if (terms := watch(rules)) is not None
    ]
    looked = forecast_outlook.outlooks(model_of(kept), terms, usual_pace=kept.fleet["usual_pace"])
    return {h.frame_id: outlook for (h, _), outlook in zip(terms, looked, strict=True)}


def _plain(outlook: Outlook | None) -> dict[str, Any]:
    if outlook is None:
        return {}
    plain = asdict(outlook)
    return {
        **plain,
        "read_at": outlook.read_at.isoformat(),
        "check_at": outlook.check_at.isoformat(),
    }


def _outlook(plain: Mapping[str, Any]) -> Outlook:
    moments = {name: dt.datetime.fromisoformat(plain[name]) for name in ("read_at", "check_at")}
    return Outlook(**{**plain, **moments, "chances": tuple(plain["chances"])})


def rules_by_mesh(reader: Reader) -> dict[int, MeshRules]:
    """Return the thresholds of every mesh type."""
    return {m.id: m.rules for m in reader.mesh_types(with_hidden=True)}
