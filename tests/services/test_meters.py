"""The tension meters of the shop."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from framekeeper.domain.errors import Conflict, NotFound, NotValid
from framekeeper.services import history, meters
from framekeeper.services.desk import Desk
from framekeeper.services.meters import MeterFacts
from tests.services.shoptalk import METER, rows

GOOD = MeterFacts("M2", "4711", 0.1, -0.3, dt.date(2026, 1, 31))


def test_a_meter_is_kept_as_it_is_said(stocked: Desk) -> None:
    meters.add_meter(stocked, GOOD)
    (meter,) = (m for m in meters.meters(stocked) if m.name == "M2")
    assert (meter.serial, meter.resolution, meter.correction) == ("4711", 0.1, -0.3)
    assert meter.certificate_until == dt.date(2026, 1, 31)
    meters.edit_meter(stocked, "m2", MeterFacts("M2b"))
    assert [m.name for m in meters.meters(stocked)] == [METER, "M2b"]


@pytest.mark.parametrize("name", [METER, METER.lower(), f" {METER} "])
def test_two_meters_do_not_share_a_name(stocked: Desk, name: str) -> None:
    meters.add_meter(stocked, GOOD)
    before = rows(stocked)
    with pytest.raises(NotValid, match="has a meter named"):
        meters.add_meter(stocked, MeterFacts(name))
    with pytest.raises(NotValid, match="has a meter named"):
        meters.edit_meter(stocked, "M2", MeterFacts(name))
    assert rows(stocked) == before


def test_a_meter_that_was_taken_back_can_be_added_again(stocked: Desk) -> None:
    meters.add_meter(stocked, GOOD)
    history.undo(stocked)
    meters.add_meter(stocked, replace(GOOD, name=" M2 ", serial="12"))
    assert [(m.name, m.serial) for m in meters.meters(stocked)] == [(METER, ""), ("M2", "12")]


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": " "},
        {"name": "x" * 101},
        {"name": "\x00"},
        {"serial": "\ud800"},
        {"resolution": 0.0},
        {"resolution": float("nan")},
        {"resolution": 5.1},
        {"correction": float("nan")},
        {"correction": -10.1},
        {"u_n_per_cm": float("nan")},
        {"u_n_per_cm": -0.1},
        {"repeatability": float("nan")},
        {"repeatability": 11.0},
        {"certificate_months": 0},
        {"certificate_months": 121},
        {"scale": "mm_of_sag"},
    ],
)
def test_a_meter_that_cannot_be(stocked: Desk, wrong: dict[str, Any]) -> None:
    facts = replace(GOOD, **wrong)
    before = rows(stocked)
    with pytest.raises(NotValid):
        meters.add_meter(stocked, facts)
    with pytest.raises(NotValid):
        meters.edit_meter(stocked, METER, facts)
    assert rows(stocked) == before


def test_an_unknown_meter_and_an_older_version(stocked: Desk) -> None:
    with pytest.raises(NotFound):
        meters.edit_meter(stocked, "M9", GOOD)
    (seen,) = meters.meters(stocked)
    meters.edit_meter(stocked, METER, MeterFacts(METER, "12"))
    with pytest.raises(Conflict):
        meters.edit_meter(stocked, METER, MeterFacts(METER, "13"), version=seen.version)


def test_uncertainty_repeatability_and_interval_are_kept(stocked: Desk) -> None:
    """What nobody changes stays as it is said."""
    added = replace(GOOD, u_n_per_cm=0.2, repeatability=0.15, certificate_months=6)
    meters.add_meter(stocked, added)
    (meter,) = (m for m in meters.meters(stocked) if m.name == "M2")
    assert meters.facts_of(meter) == added
    meters.edit_meter(stocked, "M2", replace(meters.facts_of(meter), serial="12"))
    (meter,) = (m for m in meters.meters(stocked) if m.name == "M2")
    assert meters.facts_of(meter) == replace(added, serial="12")


def test_a_scale_of_sag_is_refused_with_its_reason(stocked: Desk) -> None:
    with pytest.raises(NotValid, match=r"no formula from sag.*lower number means a tighter") as no:
        meters.add_meter(stocked, replace(GOOD, scale="mm_of_sag"))
    assert no.value.argument == "scale"
