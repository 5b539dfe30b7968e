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

REFIT_AFTER = dt.timedelta(days=1)  # where there was any new reading
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
    """What a fit needs of a shop, and the newest event that is in it."""

    histories: tuple[StretchHistory, ...]
    last_event_id: int
    at: dt.datetime


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
    new = reader.surveys_since(kept.last_event_id)
    if not new:
        return False
    return now - kept.fitted_at >= REFIT_AFTER or new > REFIT_GROWTH * kept.readings


def gather(desk: Desk, *, anyway: bool = False) -> Gathered | None:
    """Read what a refit needs; None where none is needed and it is not to be done anyway."""
    now = desk.clock.now()
    with desk.read() as reader:
        if not anyway and not needs_refit(reader, now):
            return None
        return Gathered(tuple(histories(reader.life_marks())), reader.last_event_id(), now)


def fit(gathered: Gathered | None) -> KeptFit | None:
    """Fit the fleet: pure maths that may take seconds, away from the database's thread.

    Mesh of which nobody knows when it was stretched would blur the curve of what is fresh, so it is
    left out where there is other.
    """
    if gathered is None:
        return None
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


def keep(desk: Desk, fresh: KeptFit | None) -> Kept:
    """Keep a new fit, and every forecast that rests on something newer than what is kept."""
    with desk.shop.derived() as derived:
        rules = {m.id: m.rules for m in derived.mesh_types(with_hidden=True)}
        watched = _watched(derived.frames(FrameFilter()), rules)
        kept = _usable_fit(derived)
        is_newer = fresh is not None and (kept is None or kept.fitted_at < fresh.fitted_at)
        if fresh is not None and is_newer:
            derived.put_fit(fresh)
            kept = fresh
        if kept is None:
            return Kept(False, 0, Changes())
        _, stale = _sorted_out(derived, kept, watched)
        new = _worked_out(derived, kept, {f: watched[f] for f in stale})
        marks = _marks(derived, kept, watched)
        derived.put_outlooks(
            {f: KeptOutlook(marks[f], _plain(new.get(f))) for f in stale},
            only=frozenset(watched),
        )
    changes = Changes(frozenset({"forecast"}), frozenset(stale)) if stale else Changes()
    return Kept(is_newer, len(stale), changes)


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


def _watched(
    frames: Iterable[FrameRecord], rules: Mapping[int, MeshRules]
) -> dict[int, tuple[FrameRecord, MeshRules]]:
    """The frames with mesh that has a limit and is forecast."""
    found = {}
    for frame in frames:
        life = frame.state.life
        if life is None or frame.state.state not in WITH_MESH or life.survey is None:
            continue
        own = rules.get(life.mesh_type_id)
        if own is not None and own.limit is not None and own.risk is not None:
            found[frame.id] = (frame, own)
    return found


def _sorted_out(
    reader: Reader, kept: KeptFit, watched: Mapping[int, tuple[FrameRecord, MeshRules]]
) -> tuple[dict[int, Outlook], list[int]]:
    """What is kept and still holds, and the frames of which it does not."""
    marks = _marks(reader, kept, watched)
    there = reader.kept_outlooks()
    found: dict[int, Outlook] = {}
    stale = []
    for frame_id, mark in marks.items():
        one = there.get(frame_id)
        if one is None or one.rests_on != mark:
            stale.append(frame_id)
        elif one.outlook:
            found[frame_id] = _outlook(one.outlook)
    return found, stale


def _marks(
    reader: Reader, kept: KeptFit, watched: Mapping[int, tuple[FrameRecord, MeshRules]]
) -> dict[int, str]:
    """What the forecast of each frame rests on, in one line."""
    newest = reader.newest_event_ids()
    return {
        frame_id: "|".join(
            str(part)
            for part in (
                kept.maths,
                kept.fitted_at.isoformat(),
                newest.get(frame_id, 0),
                rules.limit,
                rules.risk,
                rules.longest_wait_days,
            )
        )
        for frame_id, (_, rules) in watched.items()
    }


def _worked_out(
    reader: Reader, kept: KeptFit, asked: Mapping[int, tuple[FrameRecord, MeshRules]]
) -> dict[int, Outlook]:
    """Ask the fitted fleet about these frames."""
    if not asked:
        return {}
    from framekeeper.domain import forecast_outlook

    newest: dict[int, StretchHistory] = {}
    for history in histories(reader.life_marks(sorted(asked))):
        newest[history.frame_id] = history
    terms: list[tuple[StretchHistory, Any]] = [
        (history, watch(asked[frame_id][1])) for frame_id, history in newest.items()
    ]
    looked = forecast_outlook.outlooks(model_of(kept), terms, usual_pace=kept.fleet["usual_pace"])
    return dict(zip(newest, looked, strict=True))


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
