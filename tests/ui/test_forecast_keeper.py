"""The keeper behind the window: it refits by itself, tells the places, and troubles nobody."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from framekeeper.domain.changes import Changes
from framekeeper.domain.errors import StorageTrouble
from framekeeper.services import check, forecasts, stretch
from framekeeper.services.check import SurveyRequest
from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui import forecast_keeper
from framekeeper.ui.forecast_keeper import ForecastKeeper
from tests.ui.bench_shop import BenchShop
from tests.ui.bench_shop import bench_shop as bench_shop


@pytest.fixture
def keeper(bench_shop: BenchShop, monkeypatch: pytest.MonkeyPatch) -> Iterator[ForecastKeeper]:
    """A keeper that does not wait; the bench does its work at once."""
    monkeypatch.setattr(forecast_keeper, "WAIT_MS", 0)
    bench_shop.bench.is_open = True
    yield ForecastKeeper(bench_shop.bench)
    bench_shop.bench.closing.emit()


def screen(shop: BenchShop) -> str:
    """A screen of the fine mesh that was read three times."""
    shop.add_meshes()
    (code,) = shop.frames(1, prepped=True)
    stretch.stretch(shop.desk, [code], stretch.StretchRequest("230 yellow"))
    stretch.glue(shop.desk, [code], cure=dt.timedelta(0))
    stretch.release(shop.desk, [code])
    for tension in (24.6, 23.6, 23.2):
        shop.clock.go_on(days=2)
        read(shop.desk, code, tension)
    return code


def read(desk: Desk, code: str, tension: float) -> check.SurveyDone:
    return check.survey(desk, code, SurveyRequest((tension,) * 5, (tension,) * 5))


def kept(desk: Desk) -> int | None:
    """How many readings the kept fit knows."""
    with desk.read() as reader:
        fit = reader.kept_fit()
        return None if fit is None else fit.readings


def test_a_shop_that_was_never_fitted_is_fitted_after_the_start(
    qtbot: QtBot, bench_shop: BenchShop, keeper: ForecastKeeper
) -> None:
    screen(bench_shop)
    heard: list[Changes] = []
    bench_shop.bench.tasks.changes_happened.connect(lambda changes, _who: heard.append(changes))
    keeper.start()
    qtbot.waitUntil(lambda: kept(bench_shop.desk) == 3)
    (news,) = (c for c in heard if "forecast" in c.kinds)
    assert news.kinds == {"forecast"}
    assert len(news.frame_ids) == 1


def test_a_change_sets_it_to_work_and_its_own_news_does_not(
    qtbot: QtBot, bench_shop: BenchShop, keeper: ForecastKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = screen(bench_shop)
    looked: list[None] = []
    real = forecasts.gather

    def gather(desk: Desk) -> forecasts.Gathered:
        looked.append(None)
        return real(desk)

    monkeypatch.setattr(forecasts, "gather", gather)
    bench_shop.bench.change(lambda desk: read(desk, code, 23.0))
    qtbot.waitUntil(lambda: kept(bench_shop.desk) == 4)
    qtbot.wait(20)  # what its own news would have begun would have begun by now
    assert len(looked) == 1


def test_trouble_is_kept_quiet_and_the_next_change_tries_again(
    qtbot: QtBot, bench_shop: BenchShop, keeper: ForecastKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = screen(bench_shop)
    tried: list[None] = []

    def refuse(_self: Shop) -> None:
        tried.append(None)
        raise StorageTrouble("The file cannot be written.")

    with monkeypatch.context() as locked:
        locked.setattr(Shop, "derived", refuse)
        keeper.start()
        qtbot.waitUntil(lambda: len(tried) == 1)
    assert bench_shop.refused == []
    assert kept(bench_shop.desk) is None
    bench_shop.bench.change(lambda desk: read(desk, code, 23.0))
    qtbot.waitUntil(lambda: kept(bench_shop.desk) == 4)


def test_nothing_begins_once_the_window_closes(
    qtbot: QtBot, bench_shop: BenchShop, keeper: ForecastKeeper
) -> None:
    screen(bench_shop)
    keeper.start()
    bench_shop.bench.closing.emit()
    qtbot.wait(20)
    assert kept(bench_shop.desk) is None


def test_a_fault_in_the_maths_does_not_end_it_for_good(
    qtbot: QtBot, bench_shop: BenchShop, keeper: ForecastKeeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = screen(bench_shop)
    crashed: list[Exception] = []
    bench_shop.bench.tasks.crash.connect(crashed.append)

    def fail(_gathered: forecasts.Gathered) -> forecasts.Worked:
        raise ZeroDivisionError

    with monkeypatch.context() as broken:
        broken.setattr(forecasts, "fit", fail)
        keeper.start()
        qtbot.waitUntil(lambda: len(crashed) == 1)
    bench_shop.bench.change(lambda desk: read(desk, code, 23.0))
    qtbot.waitUntil(lambda: kept(bench_shop.desk) == 4)
