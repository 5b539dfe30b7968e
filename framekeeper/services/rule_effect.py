"""Says what the thresholds of a mesh cost and risk, before they are saved.

It rests on today's forecast of the screens of that mesh that are in service: how long each would
wait for its next reading, and how long it must be expected to be below its limit meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from framekeeper.domain.due import MeshRules
from framekeeper.domain.records import FrameFilter, MeshTypeRecord
from framekeeper.domain.sentence import Sentence, say
from framekeeper.domain.stretch_history import StretchHistory, histories, own_pace
from framekeeper.services import forecasts
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import find_mesh_type

if TYPE_CHECKING:
    from framekeeper.domain.forecast import FleetModel
    from framekeeper.domain.forecast_prior import Array
    from framekeeper.domain.records import KeptFit

IN_SERVICE = ("ready", "in_use", "to_reclaim")
FEW = 5  # screens: fewer make an average of little worth; our proposal, no source


@dataclass(frozen=True, slots=True)
class Ground:
    """What is known of the screens of one mesh that are in service."""

    mesh: MeshTypeRecord
    screens: tuple[StretchHistory, ...]  # as of their latest reading
    never_read: int
    fit: KeptFit | None

    @property
    def model(self) -> FleetModel | None:
        """The fitted fleet with the readings of these screens."""
        if self.fit is None or not self.screens:
            return None
        from framekeeper.domain.forecast_outlook import observations

        return forecasts.model_of(self.fit).with_readings(observations(self.screens))


@dataclass(frozen=True, slots=True)
class Effect:
    """What one set of thresholds does, as today's forecast sees it.

    `days_at_risk_a_month` and `restretches` are None where nothing can be foretold.
    """

    screens: int  # that stay in service and are counted
    checks_a_month: float
    days_at_risk_a_month: float | None  # expected days in use below the limit, all screens together
    at_once: int  # that are read again or pulled at once; what follows is not counted
    restretches: float | None  # expected within a month, of all screens
    by_forecast: bool
    notes: tuple[Sentence, ...]

    @property
    def said(self) -> Sentence:
        """The figures in one line."""
        if self.days_at_risk_a_month is None or self.restretches is None:
            return say("about {checks:.0f} readings a month", checks=self.checks_a_month)
        return say(
            "about {checks:.0f} readings and {days:.1f} days below the limit a month, "
            "{restretches:.1f} restretches within a month",
            checks=self.checks_a_month,
            days=self.days_at_risk_a_month,
            restretches=self.restretches,
        )


def effect(desk: Desk, mesh_name: str, rules: MeshRules) -> Effect:
    """Say what these thresholds would do to the screens of one mesh.

    Raises
    ------
    NotFound
        If the shop has no such mesh.
    """
    return effect_on(gather(desk, mesh_name), rules)


def gather(desk: Desk, mesh_name: str) -> Ground:
    """Read what the effect of any thresholds of this mesh rests on."""
    now = desk.clock.now()
    with desk.read() as reader:
        mesh = find_mesh_type(reader, mesh_name)
        frames = [
            f
            for f in reader.frames(FrameFilter())
            if f.state.life is not None
            and f.state.life.mesh_type_id == mesh.id
            and f.state.at(now).state in IN_SERVICE
        ]
        read = [f.id for f in frames if f.state.life and f.state.life.survey is not None]
        newest = {h.frame_id: h for h in histories(reader.life_marks(read))} if read else {}
        fit = reader.kept_fit() if forecasts.fitted(reader) is not None else None
    screens = tuple(newest[frame_id] for frame_id in sorted(newest))
    return Ground(mesh, screens, len(frames) - len(screens), fit)


def effect_on(ground: Ground, rules: MeshRules) -> Effect:
    """Work out the effect: pure maths, away from the database's thread."""
    model = ground.model
    if model is None or rules.limit is None:
        return _unforeseen(ground, rules)
    return _foreseen(ground, rules, model, rules.limit)


def compare(ground: Ground, rules: MeshRules) -> tuple[Effect, Effect]:
    """The thresholds that the shop has, and others, side by side."""
    return effect_on(ground, ground.mesh.rules), effect_on(ground, rules)


def _unforeseen(ground: Ground, rules: MeshRules) -> Effect:
    """Without a forecast only the fixed interval counts."""
    from framekeeper.domain.waiting import MONTH_DAYS

    every, screens = rules.days_between_readings, len(ground.screens)
    checks = screens * MONTH_DAYS / every if every else 0.0
    if rules.limit is None:
        why = say("Without a limit nothing can be foretold; the fixed interval counts.")
    else:
        why = say("Nothing is foretold yet; until then the fixed interval counts.")
    notes = (why, *_notes(ground, screens, has_rule=bool(every)))
    return Effect(screens, checks, None, 0, None, False, notes)


def _foreseen(ground: Ground, rules: MeshRules, model: FleetModel, limit: float) -> Effect:
    import numpy as np

    from framekeeper.domain.waiting import MONTH_DAYS, days_ahead, expected_days_below

    assert ground.fit is not None
    keys = np.array([h.key for h in ground.screens])
    last = np.array([h.readings[-1].day for h in ground.screens])
    pace = np.array([own_pace(h, ground.fit.fleet["usual_pace"]) for h in ground.screens])
    decided = model.decide(keys, today=last, limit=limit)
    stays, pulled = decided == "keep", int(np.sum(decided == "pull"))
    longest = _longest(rules)
    day = days_ahead(max(longest or 0.0, np.ceil(MONTH_DAYS)))
    chance = model.chances(keys, ahead=day, limit=limit, cycles_per_day=pace)
    in_a_month = np.array([np.interp(MONTH_DAYS, day, row) for row in chance])
    checks, at_risk = 0.0, 0.0
    if longest is not None:
        wait = _waits(rules, day, chance[stays], longest)
        checks = float(np.sum(MONTH_DAYS / wait))
        at_risk = float(np.sum(expected_days_below(day, chance[stays], wait) * MONTH_DAYS / wait))
    count = int(stays.sum())
    return Effect(
        screens=count,
        checks_a_month=checks,
        days_at_risk_a_month=at_risk if longest is not None else None,
        at_once=len(ground.screens) - count,
        restretches=pulled + float(in_a_month[decided != "pull"].sum()),
        by_forecast=rules.risk is not None,
        notes=(_what_it_is(count, len(ground.screens) - count),
               *_notes(ground, count, has_rule=longest is not None)),
    )  # fmt: skip


def _what_it_is(count: int, at_once: int) -> Sentence:
    if not at_once:
        return say(
            "An estimate: what today’s forecast expects of the {n} screens in service, if each "
            "keeps its wait and its pace.",
            n=count,
        )
    return say(
        "An estimate: what today’s forecast expects of {n} screens in service, if each keeps its "
        "wait and its pace. To be read again or pulled at once under this limit: {at_once}; their "
        "readings and days are not counted.",
        n=count,
        at_once=at_once,
    )


def _longest(rules: MeshRules) -> float | None:
    """The longest wait that these rules allow; None where no rule asks for a reading."""
    if rules.risk is not None:
        return float(rules.longest_wait_days or forecasts.NO_LIMIT_DAYS)
    return float(rules.days_between_readings) if rules.days_between_readings else None


def _waits(rules: MeshRules, day: Array, chance: Array, longest: float) -> Array:
    import numpy as np

    from framekeeper.domain.forecast_model import DAYS_PER_RISK
    from framekeeper.domain.waiting import waits_by_risk

    if rules.risk is None:
        return np.full(chance.shape[0], longest)
    return waits_by_risk(day, chance, days_at_risk=rules.risk * DAYS_PER_RISK, longest_days=longest)


def _notes(ground: Ground, screens: int, *, has_rule: bool) -> list[Sentence]:
    """What limits the figures."""
    notes = []
    if not has_rule:
        notes.append(say("No rule asks for readings."))
    if screens < FEW:
        notes.append(say("Screens that this rests on: {n}. Take it as a hint.", n=screens))
    if ground.never_read:
        notes.append(say("Never read since their tension was set: {n}.", n=ground.never_read))
    return notes
