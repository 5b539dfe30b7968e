"""How the mesh of a shop loses tension: the usual way of each mesh, and who does not follow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from framekeeper.domain.forecast_curve import (
    columns_of_group,
    covariance,
    design,
    noise_variance,
    prior_of_curve,
    variance,
)
from framekeeper.domain.forecast_model import FleetModel
from framekeeper.domain.forecast_prior import Array
from framekeeper.domain.stretch_history import StretchHistory

TYPICAL_DAYS, TYPICAL_CYCLES = 30.0, 3.0  # where a mesh's curve is asked what it rests on


@dataclass(frozen=True, slots=True)
class DecayCurve:
    """The usual tension of one mesh over time, N/cm; all arrays of shape (days,)."""

    day: Array
    tension: Array
    between: Array  # standard deviation from screen to screen, of what they lose
    doubt: Array  # standard deviation of the curve itself: what the shop does not know yet


@dataclass(frozen=True, slots=True)
class Departure:
    """How far one stretch left the usual way of its mesh since its first reading."""

    history: StretchHistory
    lost: float  # N/cm between its first and its latest reading
    usual: float  # what its mesh loses in that time and use
    deviations: float  # of the difference, in standard deviations; positive: it lost more


def decay_curve(model: FleetModel, group: object, days: Array, cycles_per_day: float) -> DecayCurve:
    """The usual way of one mesh group from its release.

    Parameters
    ----------
    model
        A fitted fleet.
    group
        A mesh group; one that the fleet has not met gets the fleet's own way.
    days : shape (n,)
        Days since the release.
    cycles_per_day
        How often a screen is reclaimed.
    """
    fleet = model.fleet
    curve, doubt = fleet.with_stranger()
    at = _place(model, group)
    typical = np.array([fleet.typical[at] if at < len(fleet.groups) else 1.0])
    day = np.asarray(days, dtype=np.float64)[None, :]
    cycles = day * cycles_per_day
    x = design(day, cycles, typical)[0]
    ways = variance(fleet.sizes, day, cycles, typical)[0] - np.square(fleet.sizes.level * typical)
    return DecayCurve(
        day[0],
        x @ curve[at] * fleet.scale,
        np.sqrt(np.maximum(ways, 0)) * fleet.scale,
        np.sqrt(np.einsum("rk,kl,rl->r", x, doubt[at], x)) * fleet.scale,
    )


def own_share(model: FleetModel, group: object) -> float:
    """Share of what is known of a mesh's loss that rests on the shop's own readings, 0 to 1.

    One less the variance that is left of what the trade's figures leave open, at a month of use.
    """
    fleet = model.fleet
    _, doubt = fleet.with_stranger()
    at = _place(model, group)
    day, cycles = np.array([[0.0, TYPICAL_DAYS]]), np.array([[0.0, TYPICAL_CYCLES]])
    released, later = design(day, cycles, np.ones(1))[0]
    x = later - released
    _, before = prior_of_curve(fleet.sizes, 1)
    open_before = float(np.sum(x**2 * before[columns_of_group(0)]))
    return float(np.clip(1 - x @ doubt[at] @ x / open_before, 0, 1))


def departures(model: FleetModel, known: Sequence[StretchHistory]) -> list[Departure]:
    """Compare what each stretch lost with what is usual for its mesh, most unusual first.

    Stretches with one reading cannot be compared and are left out.
    """
    found = [_departure(model, h) for h in known if h.readings[-1].day > h.readings[0].day]
    return sorted(found, key=lambda d: -abs(d.deviations))


def _departure(model: FleetModel, history: StretchHistory) -> Departure:
    fleet = model.fleet
    curve, doubt = fleet.with_stranger()
    at = _place(model, history.mesh_type_id)
    first, last = history.readings[0], history.readings[-1]
    start = first.tension / fleet.scale
    typical = np.array([fleet.typical[at] if at < len(fleet.groups) else start])
    day = np.array([[first.day, last.day]])
    cycles = np.array([[first.cycles, last.cycles]], dtype=np.float64)
    x = design(day, cycles, typical)[0]
    step = x[0] - x[1]
    usual = float(step @ curve[at])
    v = covariance(fleet.sizes, (day, cycles), (day, cycles), typical)[0]
    v = v + np.diag(noise_variance(fleet.sizes, np.ones(2)))
    spread = v[0, 0] + v[1, 1] - 2 * v[0, 1] + step @ doubt[at] @ step
    lost = start - last.tension / fleet.scale
    return Departure(
        history, lost * fleet.scale, usual * fleet.scale, (lost - usual) / float(np.sqrt(spread))
    )


def _place(model: FleetModel, group: object) -> int:
    """Where a group stands in the fleet's arrays; strangers stand behind all."""
    groups = model.fleet.groups
    return groups.index(group) if group in groups else len(groups)
