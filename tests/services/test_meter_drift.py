"""A drift of zeros or references shows before the limit of a single check, and not without one."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.services.desk import Desk
from framekeeper.services.meter_checks import CheckRequest, add_check, bias_of, meter_pages
from framekeeper.services.meter_drift import Drift, drifts
from framekeeper.services.meters import MeterFacts, add_meter
from framekeeper.services.record import When


def check_daily(desk: Desk, *requests: CheckRequest) -> None:
    """One check a day, the last one now."""
    start = desk.clock.now() - dt.timedelta(days=len(requests) - 1)
    for number, request in enumerate(requests):
        add_check(desk, "first", request, when=When(start + dt.timedelta(days=number)))


def charted(desk: Desk) -> tuple[Drift, Drift]:
    return drifts(meter_pages(desk)[0])


def test_a_meter_that_wavers_around_zero_does_not_drift(desk: Desk) -> None:
    add_meter(desk, MeterFacts("first"))
    check_daily(desk, *(CheckRequest("zero", shown=v) for v in (0.1, -0.2, 0.0, 0.2, -0.1, 0.1)))
    zero, reference = charted(desk)
    assert len(zero.points) == 6
    assert not zero.drifts
    assert (reference.points, reference.drifts, reference.since) == ((), False, None)


def test_a_small_lasting_shift_shows_although_no_single_reference_failed(desk: Desk) -> None:
    """0.5 too high each time: within 1 N/cm, so each is good; the average is not."""
    add_meter(desk, MeterFacts("first", resolution=0.1))
    good = [CheckRequest("reference", shown=21.0 + v, expected=21.0) for v in (0.0, 0.1, -0.1)]
    high = [CheckRequest("reference", shown=21.5, expected=21.0)] * 6
    check_daily(desk, *good, *high)
    reference = charted(desk)[1]
    assert all(p.check.is_good for p in reference.points)
    assert reference.drifts
    assert reference.points[-1].average > reference.points[-1].upper
    assert reference.since is not None
    assert reference.since > reference.points[2].check.happened_at


def test_a_repair_begins_anew(desk: Desk) -> None:
    add_meter(desk, MeterFacts("first"))
    off = [CheckRequest("zero", shown=0.8)] * 4
    check_daily(desk, *off, CheckRequest("repair"), CheckRequest("zero", shown=0.0))
    zero = charted(desk)[0]
    assert len(zero.points) == 1
    assert not zero.drifts


def test_the_known_correction_is_no_drift_and_no_failure(desk: Desk) -> None:
    """A meter known to show 1.5 too much is good when its reference shows just that."""
    add_meter(desk, MeterFacts("first", correction=-1.5))
    check_daily(desk, *[CheckRequest("reference", shown=22.5, expected=21.0)] * 5)
    page = meter_pages(desk)[0]
    assert all(c.is_good for c in page.checks)
    assert [p.off_n_per_cm for p in charted(desk)[1].points] == [0.0] * 5
    assert bias_of(page) is None


def test_the_bias_of_the_newest_failed_reference_is_what_its_correction_leaves(desk: Desk) -> None:
    add_meter(desk, MeterFacts("first", correction=-0.5))
    check_daily(
        desk,
        CheckRequest("reference", shown=24.0, expected=21.0),
        CheckRequest("reference", shown=23.7, expected=21.0),
    )
    assert bias_of(meter_pages(desk)[0]) == pytest.approx(2.2)
    add_check(desk, "first", CheckRequest("repair"), when=When(desk.clock.now()))
    # put right, but what was read before still wants this bias taken off
    assert bias_of(meter_pages(desk)[0]) == pytest.approx(2.2)
    later = desk.clock.now() + dt.timedelta(minutes=1)
    add_check(desk, "first", CheckRequest("reference", shown=21.5, expected=21.0), when=When(later))
    add_check(desk, "first", CheckRequest("found_out", shown=2.2, expected=0.0), when=When(later))
    assert bias_of(meter_pages(desk)[0]) is None
