"""What the demo shop knows of its meters: zeros, references, certificates, and one found out."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from framekeeper.domain.records import MeterRecord
from framekeeper.services.desk import Desk
from framekeeper.services.meter_checks import find_out, look_into

from .scenario import KEEPER

if TYPE_CHECKING:
    from framekeeper.storage.shop import Shop

REFERENCE_N_PER_CM = 21.0  # an old, stable screen with marked spots
WEEKS = 40
ZEROS = 14  # working mornings
DRIFT_PER_WEEK = {"old meter": 0.012}  # N/cm; the old one wanders, slowly
FOUND_OUT = "table meter"
GOOD_UNTIL_DAYS = 3  # its last good reference
BIASES = (0.6, 0.8, 1.0, 1.2, 1.5, 1.8, 2.2, 2.6)
FEW = 4  # frames that change: what a morning can read again


class _Stopped:
    """A clock that stands at the end of the demo's history."""

    def __init__(self, now: dt.datetime) -> None:
        self._now = now

    def now(self) -> dt.datetime:
        return self._now.astimezone(dt.UTC)

    def zone(self) -> dt.tzinfo:
        zone = self._now.tzinfo
        assert zone is not None
        return zone


def keep_meter_log(shop: Shop, rng: np.random.Generator, now: dt.datetime) -> None:
    """Write what was learnt about the meters, and find one of them out this morning."""
    with shop.read() as reader:
        meters = reader.meters()
    for meter in meters:
        with shop.work("check meter", by=KEEPER, now=now.astimezone(dt.UTC)) as work:
            work.name_subject(meter.name)
            for row in _log(meter, rng, now):
                work.add_row("meter_check", {"meter_id": meter.id, "by": KEEPER, **row})
            work.commit()
    _find_one_out(Desk(shop, _Stopped(now), KEEPER))


def _log(meter: MeterRecord, rng: np.random.Generator, now: dt.datetime) -> list[dict[str, object]]:
    morning = now.astimezone(dt.UTC) - dt.timedelta(hours=1)
    rows: list[dict[str, object]] = []
    first_week = 1 if meter.name != FOUND_OUT else 0
    for week in range(WEEKS, first_week - 1, -1):
        days = GOOD_UNTIL_DAYS if week == 0 else 7 * week + 1
        drift = DRIFT_PER_WEEK.get(meter.name, 0.0) * (WEEKS - week)
        shown = REFERENCE_N_PER_CM - meter.correction + drift + rng.normal(0, 0.18)
        rows.append(
            {
                "kind": "reference",
                "happened_at": morning - dt.timedelta(days=days),
                "shown": round(float(shown), 1),
                "expected": REFERENCE_N_PER_CM,
            }
        )
    rows += [
        {
            "kind": "zero",
            "happened_at": morning - dt.timedelta(days=day),
            "shown": round(float(rng.choice([0.0, 0.0, 0.0, 0.1, -0.1])), 1),
        }
        for day in range(ZEROS, -1, -1)
        if (morning - dt.timedelta(days=day)).weekday() < 5
    ]
    return rows


def _find_one_out(desk: Desk) -> None:
    """It read zero on glass, but the reference screen said otherwise."""
    for bias in BIASES:
        found = look_into(desk, FOUND_OUT, bias_n_per_cm=bias)
        if 1 <= len(found.changed) <= FEW:
            note = "zero on glass, but too high on the reference screen"
            find_out(desk, FOUND_OUT, bias_n_per_cm=bias, note=note)
            return
