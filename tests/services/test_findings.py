"""What the shop has learnt is told with what it rests on, and who stands out is named."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from functools import lru_cache

import pytest

from framekeeper.services import check, findings, forecasts, marks, prep, stretch
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.services.findings import DAYS, DAYS_DRAWN, Findings, OddScreen, work_out
from framekeeper.services.findings_telling import (
    fitted_words,
    loss_words,
    odd_line,
    odd_words,
    rests_on_words,
    share_words,
    spread_words,
    trade_words,
)
from framekeeper.services.forecasts import Fitted
from tests.fakes import FakeClock
from tests.services.fitted_fleet import BEGAN, frame_of, history, kept_fit, known, ordinary
from tests.services.shoptalk import MESH, in_clamps

FALLEN, FAST, SLOW = 91, 92, 93


@lru_cache(maxsize=1)
def odd_ones() -> Findings:
    """Forty ordinary screens; one fell by 4 N/cm, one lost 8 % a decade, one next to nothing."""
    odd = [
        history(FALLEN, fall=4.0, fell_after=30),
        history(FAST, loss=0.08),
        history(SLOW, loss=0.0),
    ]
    screens = ordinary(40)
    return work_out(known([*screens, *odd], rests_on=kept_fit(screens)))


def by_frame(found: Findings) -> dict[int, OddScreen]:
    return {odd.frame.id: odd for odd in found.odd}


def test_the_curve_is_that_of_the_shop() -> None:
    """Screens of 25 N/cm that lose 5 % a decade are found to do so."""
    (mesh,) = work_out(known(ordinary(40))).meshes
    for point in mesh.days:
        expected = 25 * (1 - 0.05 * math.log10(1 + point.day))
        if point.day <= 45:  # nobody has read later
            assert point.tension == pytest.approx(expected, abs=0.35)
        assert point.low < point.tension < point.high
    assert [p.day for p in mesh.days] == list(DAYS)
    assert [p.day for p in mesh.drawn] == list(DAYS_DRAWN)
    assert (mesh.stretches, mesh.readings) == (40, 200)
    assert mesh.own_share > 0.9
    assert mesh.first_night == pytest.approx(mesh.days[0].tension - mesh.days[1].tension, abs=0.1)


def test_later_cycles_cost_less_than_the_first() -> None:
    (mesh,) = work_out(known(ordinary(3))).meshes
    assert 0 <= mesh.later_cycle < mesh.first_cycle


def test_far_days_are_less_sure() -> None:
    """The band is wider where nobody has read yet."""
    (mesh,) = work_out(known(ordinary(40))).meshes
    wide = [p.high - p.low for p in mesh.days]
    assert wide == sorted(wide)


def test_few_readings_leave_the_trades_figures() -> None:
    """Two readings of one screen are told as what they are."""
    (mesh,) = work_out(known([history(1, days=(0.0, 1.0))])).meshes
    assert mesh.own_share < 0.5
    assert str(share_words(mesh.own_share)) == "trade’s figures"
    assert "still mostly the trade’s figures" in str(rests_on_words(mesh))
    (sure,) = work_out(known(ordinary(40))).meshes
    assert str(share_words(sure.own_share)) == "own readings"
    assert str(share_words(0.7)) == "partly own"
    assert "partly the trade’s figures" in str(rests_on_words(replace(sure, own_share=0.7)))


def test_those_who_left_the_usual_way_are_named() -> None:
    found = by_frame(odd_ones())
    assert set(found) == {FALLEN, FAST, SLOW}
    assert {frame: odd.kind for frame, odd in found.items()} == {
        FALLEN: "drop", FAST: "more", SLOW: "less",
    }  # fmt: skip
    assert found[FALLEN].lost == pytest.approx(4, abs=0.6)
    assert found[FALLEN].at == BEGAN + dt.timedelta(days=45)
    usual = found[FAST].usual
    assert usual is not None
    assert found[FAST].lost > usual + 1
    assert (found[FAST].deviations or 0) >= 3
    assert (found[SLOW].deviations or 0) <= -3


def test_an_ordinary_shop_has_hardly_any() -> None:
    """Of forty alike, chance puts a tenth of one beyond three deviations."""
    assert len(work_out(known(ordinary(40))).odd) <= 1


def test_a_fall_that_is_small_is_not_named() -> None:
    """Less than 5 % asks for another reading only."""
    screens = ordinary(40)
    small = history(FALLEN, fall=0.9, fell_after=30)
    found = work_out(known([*screens, small], rests_on=kept_fit(screens)))
    assert not [odd for odd in found.odd if odd.kind == "drop"]


def test_what_is_past_comes_last_and_is_told_as_past() -> None:
    """The frame has lost that mesh since; nobody need look at it."""
    screens = ordinary(40)
    odd = [history(FAST, loss=0.08), history(FALLEN, fall=4.0, fell_after=30)]
    found = work_out(known([*screens, *odd], rests_on=kept_fit(screens), off=[FAST]))
    assert [o.frame.id for o in found.odd] == [FALLEN, FAST]
    assert [o.is_on for o in found.odd] == [True, False]
    assert "past" in str(odd_line(found.odd[1]))
    assert "past" not in str(odd_line(found.odd[0]))


def test_a_retension_makes_what_was_before_it_past() -> None:
    """The same mesh is on the frame, but its tension was set anew."""
    screens, fast = ordinary(40), history(FAST, loss=0.08)
    later = replace(fast, key=fast.key + 500, readings=fast.readings[:2], last_at=fast.last_at)
    shop = known([*screens, fast, later], rests_on=kept_fit(screens))
    found = work_out(replace(shop, frames={**shop.frames, FAST: frame_of(fast)}))
    assert [(o.key, o.is_on) for o in found.odd] == [(fast.key, False)]


def test_the_order_of_screens_does_not_matter() -> None:
    screens = [*ordinary(12), history(FAST, loss=0.12)]
    rests_on = kept_fit(screens)
    one, other = (work_out(known(s, rests_on=rests_on)) for s in (screens, screens[::-1]))
    assert one == replace(other, fitted=one.fitted)


def test_lines_say_frame_mesh_and_numbers() -> None:
    found = by_frame(odd_ones())
    fell = str(odd_line(found[FALLEN]))
    assert fell.startswith("FK0091 (S91), mesh 1: fell suddenly by ")
    assert str(odd_words(found[FALLEN])) == "fell"
    assert "is usual (+" in str(odd_line(found[FAST]))
    assert str(odd_words(found[FAST])) == "lost more"
    assert "is usual (-" in str(odd_line(found[SLOW]))
    assert str(odd_words(found[SLOW])) == "lost less"


def test_losses_are_told_in_words() -> None:
    (mesh,) = odd_ones().meshes
    night, cycles = map(str, loss_words(mesh))
    assert night.startswith(f"The first night costs {mesh.first_night:.1f} N/cm")
    assert f"{mesh.first_cycle:.2f}" in cycles
    assert f"usually has {mesh.days[3].tension:.1f} N/cm" in str(spread_words(mesh))
    none = replace(mesh, first_night=-0.1, first_cycle=-0.01, later_cycle=0.0)
    assert [str(s) for s in loss_words(none)] == [
        "The first night costs nothing that could be told.",
        "Print and reclaim cycles cost nothing that could be told.",
    ]


def test_what_was_fitted_and_what_is_newer_is_told() -> None:
    now = dt.datetime(2025, 3, 3, 7, 10, tzinfo=dt.UTC)
    assert "Nothing has been fitted yet" in str(fitted_words(None))
    assert "nothing newer has been read" in str(fitted_words(Fitted(now, 3, 12, 0)))
    stale = str(fitted_words(Fitted(now, 3, 12, 2)))
    assert "on 12 readings of 3 stretches" in stale
    assert stale.endswith("not in it: 2.")


# in a shop


def released(desk: Desk) -> str:
    code = in_clamps(desk)
    stretch.glue(desk, [code], cure=dt.timedelta(0))
    stretch.release(desk, [code])
    return code


def read(desk: Desk, code: str, tension: float) -> None:
    check.survey(desk, code, SurveyRequest((tension,) * 5, (tension,) * 5))


def test_a_new_shop_has_the_trades_figures_only(stocked: Desk) -> None:
    found = findings.findings(stocked)
    assert (found.fitted, found.meshes, found.odd) == (None, (), ())
    assert found.unread == ("77-55", MESH)
    assert len(found.trade) == 4
    assert found.trade_left[0] == pytest.approx(100)
    assert list(found.trade_left) == sorted(found.trade_left, reverse=True)
    assert f"leave {found.trade_left[1]:.0f} % of the tension after a day" in str(
        trade_words(found)
    )


def test_readings_since_the_fit_are_counted_as_not_in_it(stocked: Desk, clock: FakeClock) -> None:
    """Neither among the readings of its mesh nor as fitted."""
    code = released(stocked)
    for tension in (24.0, 23.2, 22.9):
        clock.go_on(days=2)
        read(stocked, code, tension)
    forecasts.refresh(stocked)
    clock.go_on(hours=3)
    read(stocked, code, 22.8)
    found = findings.findings(stocked)
    (mesh,) = found.meshes
    assert (mesh.mesh.name, mesh.stretches, mesh.readings) == (MESH, 1, 3)
    assert found.fitted is not None
    assert (found.fitted.readings, found.fitted.new_surveys) == (3, 1)
    assert found.unread == ("77-55",)


def test_a_torn_off_and_a_new_mesh_are_two_stretches(stocked: Desk, clock: FakeClock) -> None:
    """The old one is past, the frame is the same."""
    screens = [released(stocked) for _ in range(6)]
    for wait, tension in ((0, 24.0), (1, 23.4), (6, 22.8), (14, 22.4)):
        clock.go_on(days=wait)
        for place, code in enumerate(screens):
            read(stocked, code, round(tension + 0.1 * place, 2))
    clock.go_on(days=7)
    for place, code in enumerate(screens):
        read(stocked, code, 17.0 if place == 0 else round(22.1 + 0.1 * place, 2))
    forecasts.refresh(stocked)
    (fell,) = findings.findings(stocked).odd
    assert (fell.frame.code, fell.kind, fell.is_on) == (screens[0], "drop", True)
    assert fell.lost == pytest.approx(5.1, abs=0.8)
    marks.pull(stocked, screens[:1], "slack")
    prep.strip(stocked, screens[:1])
    (fell,) = findings.findings(stocked).odd
    assert not fell.is_on
