"""A shop with two meshes and bare frames, and the way into one of its places."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TypeVar

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLineEdit,
    QTableView,
    QWidget,
)
from pytestqt.qtbot import QtBot

from framekeeper.domain.due import MeshRules
from framekeeper.services import meshes, prep, register, stock
from framekeeper.services.desk import Desk
from framekeeper.storage.shop import Shop
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.place import Place
from tests.fakes import FakeClock
from tests.ui.small_shop import inline_bench, put_away

P = TypeVar("P", bound=Place)
ENTER, ESC = Qt.Key.Key_Return, Qt.Key.Key_Escape


@dataclass
class BenchShop:
    """The shop, a bench on it, and what was told and refused."""

    desk: Desk
    bench: Bench
    clock: FakeClock
    told: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    def add_meshes(self) -> None:
        """A fine dyed mesh with a target, a coarse white one without."""
        rules = MeshRules(target=25, limit=18)
        fine = meshes.MeshTypeFacts("230 yellow", 230, "inch", 90.55, 48, "dyed", rules)
        meshes.add_mesh_type(self.desk, fine)
        meshes.add_mesh_type(self.desk, meshes.MeshTypeFacts("110", 110, "inch", 43.3, 80, "white"))
        stock.receive_roll(self.desk, stock.NewRoll("230 yellow", 1100, 9000, lot="L-1"))

    def frames(self, count: int, *, prepped: bool = False, kind: str = "glued") -> list[str]:
        """Register frames of one size."""
        new = [register.NewFrame(584, 787, kind=kind) for _ in range(count)]  # type: ignore[arg-type]
        codes = list(register.register(self.desk, new).codes)
        if prepped:
            prep.prep_all(self.desk, codes)
        return codes

    def kinds(self, code: str) -> list[str]:
        """The kinds of the events of a frame, oldest first."""
        with self.desk.read() as reader:
            frame = reader.frame_by_code(code)
            assert frame is not None
            return [e.kind for e in reader.journal(frame.id)]

    def state(self, code: str) -> str:
        """The state of a frame."""
        with self.desk.read() as reader:
            frame = reader.frame_by_code(code)
            assert frame is not None
            return frame.state.at(self.clock.now()).state


@pytest.fixture
def bench_shop(
    qapp: QApplication, sqlite_place: str, clock: FakeClock, monkeypatch: pytest.MonkeyPatch
) -> Iterator[BenchShop]:
    """An empty shop with a bench whose work is done at once."""
    desk = Desk(Shop.open(sqlite_place), clock, "Maren")
    made = BenchShop(desk, inline_bench(qapp, desk, monkeypatch), clock)
    made.bench.told.connect(made.told.append)
    made.bench.refused.connect(made.refused.append)
    yield made
    put_away(made.bench)


def come_in(kind: type[P], shop: BenchShop, qtbot: QtBot) -> P:
    """Go to a place as a person does."""
    place = kind(shop.bench)
    qtbot.addWidget(place)
    place.resize(1072, 680)
    with qtbot.waitExposed(place):
        place.show()
    place.activateWindow()
    qtbot.waitUntil(place.isActiveWindow)
    place.enter()
    return place


def field_named(widget: QWidget, name: str) -> QLineEdit:
    """Find the visible field with this accessible name."""
    found = [f for f in widget.findChildren(QLineEdit) if f.accessibleName() == name]
    shown = [f for f in found if f.isVisible()]
    assert len(shown) == 1, (name, [f.accessibleName() for f in widget.findChildren(QLineEdit)])
    return shown[0]


def type_into(field: QLineEdit, text: str) -> None:
    """Replace what a field holds, key by key."""
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)


def strike(
    place: QWidget,
    qtbot: QtBot,
    key: Qt.Key,
    modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
) -> None:
    """Press the key of a button, and wait until the button has come up again."""
    QTest.keyClick(place, key, modifier)
    qtbot.waitUntil(lambda: not any(b.isDown() for b in place.findChildren(QAbstractButton)))


def nameless(place: QWidget) -> list[str]:
    """List the visible controls that a screen reader could not name, or that are too small."""
    bad = []
    for control in place.findChildren(QWidget):
        if not isinstance(control, QAbstractButton | QLineEdit | QComboBox | QTableView):
            continue
        if not control.isVisible() or isinstance(control.parent(), QComboBox | QTableView):
            continue
        text = control.text() if isinstance(control, QAbstractButton) else ""
        if not (control.accessibleName() or text):
            bad.append(f"no name: {control}")
        if control.height() < 24:
            bad.append(f"{control.height()} px: {control.accessibleName() or text}")
    return bad
