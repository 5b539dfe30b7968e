"""A picture of every place, and of its further pages where they are asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui.pictures import HEIGHT, WIDTH, take
from framekeeper.ui.place_list import PLACES
from tests.fakes import FakeClock
from tests.ui.small_shop import stocked_desk

FURTHER = {
    "1-today-week", "4-stretching-cut-plan", "7-shelf-order", "9-findings-lives",
    "9-findings-costs",
}  # fmt: skip


@pytest.mark.parametrize("further", [False, True])
def test_every_place_has_its_picture(
    qapp: QApplication, sqlite_place: str, clock: FakeClock, tmp_path: Path, further: bool
) -> None:
    desk, _ = stocked_desk(sqlite_place, clock)
    desk.shop.close()
    written = take(tmp_path / "out", lambda: Desk(Shop.open(sqlite_place), clock), further=further)
    qapp.setStyleSheet("")
    names = {path.stem for path in written}
    fronts = {f"{number}-{entry.key}" for number, entry in enumerate(PLACES, start=1)}
    assert fronts <= names
    assert names - fronts - {f"{len(PLACES) + 1}-frame"} == (FURTHER if further else set())
    for path in written:
        image = QImage(str(path))
        assert image.width() >= WIDTH
        assert image.height() >= HEIGHT
