"""A small shop on a real SQLite file, and a bench on it whose work is done at once."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from framekeeper.domain.due import MeshRules
from framekeeper.services import meshes, meters, prep, register, stretch
from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui import bench as bench_module
from framekeeper.ui.bench import Bench
from tests.fakes import FakeClock, InlineTasks


def stocked_desk(
    place: str | Path, clock: FakeClock, *, screens: int = 3
) -> tuple[Desk, list[str]]:
    """Open a shop with released screens in slots A1, A2 ... that wait for their first reading."""
    desk = Desk(Shop.open(place), clock, "Maren")
    rules = MeshRules(target=25, limit=18, inspect_after_reclaims=2)
    facts = meshes.MeshTypeFacts("230 yellow", 230, "inch", 90.55, 48, "dyed", rules)
    meshes.add_mesh_type(desk, facts)
    meters.add_meter(desk, meters.MeterFacts("Blue case", correction=-0.5))
    frames = [
        register.NewFrame(584, 787, own_label=f"S{n}", slot=f"A{n}") for n in range(1, screens + 1)
    ]
    codes = list(register.register(desk, frames).codes)
    prep.prep_all(desk, codes)
    stretch.stretch(desk, codes, stretch.StretchRequest("230 yellow"))
    stretch.glue(desk, codes, cure=dt.timedelta(minutes=20))
    stretch.release(desk, codes)
    clock.go_on(days=1)
    return desk, codes


def inline_bench(app: QApplication, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """Give a bench that reads and changes on the test's own thread, at once."""
    monkeypatch.setattr(bench_module, "Tasks", InlineTasks)
    bench = Bench(app, lambda: desk)
    bench.open()
    return bench


def put_away(bench: Bench) -> None:
    """Close the shop and undress the application."""
    bench.close()
    bench.theme.deleteLater()
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    app.setStyleSheet("")


def press(widget: QWidget, *keys: Qt.Key | str) -> int:
    """Press keys where the focus is within the widget's window; return how many were pressed."""
    count = 0
    for key in keys:
        focus = widget.window().focusWidget() or widget
        if isinstance(key, str):
            for letter in key:
                QTest.keyClick(widget.window().focusWidget() or widget, letter)
                count += 1
        else:
            QTest.keyClick(focus, key)
            count += 1
    return count
