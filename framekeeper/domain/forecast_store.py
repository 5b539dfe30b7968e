"""Turns a fitted fleet into plain values that can be kept, and back."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from framekeeper.domain.forecast_model import Fleet, FleetModel
from framekeeper.domain.forecast_prior import Sizes
from framekeeper.domain.forecast_readings import Sittings


def plain_fleet(fleet: Fleet) -> dict[str, Any]:
    """Write a fleet as numbers, text and lists."""
    return {
        "scale": fleet.scale,
        "groups": list(fleet.groups),
        "typical": fleet.typical.tolist(),
        "sizes": asdict(fleet.sizes),
        "curve": fleet.curve.tolist(),
        "doubt": fleet.doubt.tolist(),
        "drops_per_day": fleet.drops_per_day,
        "drop": fleet.drop,
    }


def model_of(plain: dict[str, Any]) -> FleetModel:
    """Build the model of a kept fleet; it knows no stretch until it is given readings."""
    fleet = Fleet(
        scale=plain["scale"],
        groups=plain["groups"],
        typical=np.array(plain["typical"]),
        sizes=Sizes(**plain["sizes"]),
        curve=np.array(plain["curve"]),
        doubt=np.array(plain["doubt"]),
        drops_per_day=plain["drops_per_day"],
        drop=plain["drop"],
    )
    return FleetModel.of(fleet, Sittings.none())
