"""The washout: use, queue, reclaims and inspections."""

from __future__ import annotations

import datetime as dt

import pytest

from framekeeper.domain.errors import NotPossible, NotValid
from framekeeper.services import washout
from framekeeper.services.desk import Desk
from framekeeper.services.record import When
from tests.fakes import FakeClock
from tests.services.shoptalk import assert_columns_are_the_fold, bare, ready, rows, state


def test_a_screen_goes_round_and_is_counted(stocked: Desk) -> None:
    code = ready(stocked)
    washout.image(stocked, [code], job=" tour ")
    washout.printed(stocked, [code], impressions=400, job="tour")
    washout.queue(stocked, [code])
    assert state(stocked, code).state == "to_reclaim"
    washout.reclaim(stocked, [code], haze_remover=True, findings="faint ghost")
    now = state(stocked, code)
    assert now.state == "ready"
    assert now.life is not None
    assert (now.life.reclaims, now.life.reclaims_since_inspection) == (5, 5)
    assert now.life.impressions == 400
    washout.inspect(stocked, [code], findings="clean")
    life = state(stocked, code).life
    assert life is not None
    assert (life.reclaims, life.reclaims_since_inspection) == (5, 0)
    assert_columns_are_the_fold(stocked)


def test_the_queue_is_oldest_first(stocked: Desk, clock: FakeClock) -> None:
    codes = [ready(stocked) for _ in range(3)]
    for code in reversed(codes):
        clock.go_on(hours=1)
        washout.queue(stocked, [code])
    assert [f.code for f in washout.waiting(stocked)] == codes[::-1]
    washout.reclaim(stocked, [codes[1]])
    assert [f.code for f in washout.waiting(stocked)] == [codes[2], codes[0]]


def test_a_stack_of_screens_is_reclaimed_all_or_none(stocked: Desk) -> None:
    good, bad = ready(stocked), bare(stocked)
    before = rows(stocked)
    with pytest.raises(NotPossible) as refusal:
        washout.reclaim(stocked, [good, bad])
    assert bad in refusal.value.text()
    assert rows(stocked) == before


def test_a_reclaim_of_yesterday_is_welcome_and_one_of_tomorrow_is_not(
    stocked: Desk, clock: FakeClock
) -> None:
    code = ready(stocked)
    clock.go_on(days=3)
    washout.queue(stocked, [code])
    washout.reclaim(stocked, [code], when=When(clock.now() - dt.timedelta(days=1)))
    assert state(stocked, code).state == "to_reclaim"
    with pytest.raises(NotValid, match="future"):
        washout.reclaim(stocked, [code], when=When(clock.now() + dt.timedelta(days=1)))


@pytest.mark.parametrize("impressions", [-1, 10_000_001])
def test_impressions_that_cannot_be(stocked: Desk, impressions: int) -> None:
    code = ready(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid):
        washout.printed(stocked, [code], impressions=impressions)
    assert rows(stocked) == before


@pytest.mark.parametrize("findings", ["x" * 2001, "\x00", "\ud800"])
def test_findings_that_cannot_be_stored(stocked: Desk, findings: str) -> None:
    code = ready(stocked)
    before = rows(stocked)
    with pytest.raises(NotValid):
        washout.reclaim(stocked, [code], findings=findings)
    with pytest.raises(NotValid):
        washout.reclaim(stocked, [code], when=When(note=findings))
    assert rows(stocked) == before
