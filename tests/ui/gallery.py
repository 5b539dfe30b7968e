"""Paints every shared widget, light and dark, to look at: `python -m tests.ui.gallery DIR`."""

from __future__ import annotations

import datetime as dt
import os
import sys
from pathlib import Path

from PySide6.QtCore import QLocale, QPoint, QRect, Qt
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from framekeeper.domain.codes import new_code
from framekeeper.domain.points import point_pattern
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.ui.icons import PLACE_ICONS, IconSet
from framekeeper.ui.models.table import Column, RowsModel, dress_table
from framekeeper.ui.text import Formatter
from framekeeper.ui.theme import Scheme, Theme
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.frame_entry import FrameEntry
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture
from framekeeper.ui.widgets.marks import MARKS, Mark, mark_icon
from framekeeper.ui.widgets.notices import CautionStrip, EmptyState, KeyHintButton, PlaceHeader
from framekeeper.ui.widgets.rack_tile import Tile
from framekeeper.ui.widgets.rack_wall import RackWall
from framekeeper.ui.widgets.status_mark import StatusMark
from framekeeper.ui.widgets.tension_chart import ChartData, ChartMark, ChartReading, TensionChart

WIDTH_MM, HEIGHT_MM = 584.2, 787.4
STATES = [state for state in STATE_WORDS if state != "void"]
SIZES = [(584.2, 787.4), (508.0, 609.6), (635.0, 914.4), (584.2, 787.4), (406.4, 508.0)]


def tiles(count: int) -> list[Tile]:
    """A rack with every state in it."""
    made = []
    for n in range(count):
        state = STATES[n % len(STATES)] if n % 3 == 0 else "ready"
        width, height = SIZES[n % len(SIZES)]
        has_cloth = state not in ("bare", "prepped", "out", "missing", "retired")
        tension = 24.9 - (n * 7 % 90) / 10 if has_cloth else None
        mark: Mark | None = None
        if tension is not None:
            mark = "below" if tension < 18 else "soon" if tension < 20 else "holds"
        made.append(
            Tile(
                id=n,
                code=new_code(n + 1),
                own_label=f"F-{n + 100}" if n % 4 else "",
                width_mm=width,
                height_mm=height,
                state=state,
                state_word=str(STATE_WORDS[state]),
                mark=mark,
                cloth=("yellow" if n % 5 < 3 else "white") if has_cloth else "none",
                tension_n_per_cm=tension,
                slot=f"{'ABCD'[n // 20 % 4]}{n % 20 + 1}",
                is_held=n % 17 == 4,
                is_reserved=n % 11 == 5,
            )
        )
    return made


def survey_picture(cloth: str = "yellow", pattern: str = "5") -> FramePicture:
    """A frame whose lower corners are slack."""
    read = [(24.8, 24.1), (23.9, 23.6), (24.2, 23.8), (21.9, 21.2), (19.6, 19.1)]
    read += [(23.1, 22.8)] * 4
    points = []
    for (x, y), (warp, weft) in zip(
        point_pattern(pattern, WIDTH_MM, HEIGHT_MM), read, strict=False
    ):
        lean = (warp + weft) / 2 - 24.45
        mark: Mark = "below" if lean < -4 else "soon" if lean < -1.5 else "holds"
        points.append(PointPicture(x, y, warp, weft, mark, lean or None))
    return FramePicture(
        WIDTH_MM, HEIGHT_MM, cloth, "ready", threads_per_cm=90, warp_along="long",
        points=tuple(points),
    )  # type: ignore[arg-type]  # fmt: skip


def life() -> ChartData:
    """Two mesh lives with a retension."""
    start = dt.datetime(2025, 1, 6, 8, tzinfo=dt.UTC)

    def at(day: float) -> dt.datetime:
        return start + dt.timedelta(days=day)

    readings = []
    for day, tension in [
        (0, 27.4), (1, 25.0), (6, 23.6), (20, 22.4), (41, 21.2), (63, 19.7), (84, 17.6),
        (92, 27.9), (93, 25.6), (110, 23.8), (140, 22.1),
    ]:  # fmt: skip
        mark: Mark = "below" if tension < 18 else "soon" if tension < 20 else "holds"
        readings.append(ChartReading(at(day), tension, 0.45, mark))
    marks = [ChartMark(at(0), "stretch"), ChartMark(at(92), "stretch")]
    marks += [ChartMark(at(day), "reclaim") for day in (12, 25, 33, 50, 71, 104, 121)]
    return ChartData(tuple(readings), tuple(marks), 25.0, 18.0)


def _controls(theme: Theme, icons: IconSet) -> QWidget:
    page = QFrame()
    layout = QVBoxLayout(page)
    layout.setContentsMargins(24, 24, 24, 24)
    layout.setSpacing(12)
    main = KeyHintButton(theme, "Stretch", "F5", is_main=True)
    more = KeyHintButton(theme, "Print labels", "Ctrl+P")
    off = KeyHintButton(theme, "Undo", "Ctrl+Z")
    off.setEnabled(False)
    for button, name in ((more, "print"), (off, "undo")):
        icons.dress(button, name)
    layout.addWidget(
        PlaceHeader(theme, "Stretching table", "Pull, rest, read, glue.", [off, more, main])
    )
    row = QHBoxLayout()
    for widget in (QLineEdit("F-0123"), QComboBox()):
        if isinstance(widget, QComboBox):
            widget.addItems(["90 per cm, yellow"])
        row.addWidget(widget)
    layout.addLayout(row)
    row = QHBoxLayout()
    for mark in MARKS:
        row.addWidget(StatusMark(theme, mark))
    layout.addLayout(row)
    layout.addWidget(
        CautionStrip(theme, "Loaded mesh can burst. Eyes protected, face away, raise in stages.")
    )
    grid = QGridLayout()
    names = [*PLACE_ICONS, "undo", "search", "print", "import", "export", "add", "frame", "label"]
    for n, name in enumerate(names):
        picture, word = QLabel(), QLabel(name)
        picture.setPixmap(icons.pixmap(name, 32))
        word.setFont(theme.font("small"))
        grid.addWidget(picture, n // 9 * 2, n % 9, Qt.AlignmentFlag.AlignCenter)
        grid.addWidget(word, n // 9 * 2 + 1, n % 9, Qt.AlignmentFlag.AlignCenter)
    layout.addLayout(grid)
    layout.addWidget(
        EmptyState(
            theme,
            icons,
            "rack",
            "The rack is empty",
            "Register your first frames, or import the register that the shop keeps already.",
            KeyHintButton(theme, "Register frames", "Ctrl+N", is_main=True),
        )
    )
    return page


def _table(theme: Theme) -> QWidget:
    columns = [
        Column[Tile]("name", "Frame", lambda t: t.name, lambda t: t.name),
        Column[Tile]("state", "State", lambda t: t.state_word, lambda t: t.state_word),
        Column[Tile](
            "tension", "N/cm",
            lambda t: "" if t.tension_n_per_cm is None else f"{t.tension_n_per_cm:.1f}",
            lambda t: t.tension_n_per_cm, align=Qt.AlignmentFlag.AlignRight,
            icon=lambda t: mark_icon(t.mark, theme.palette) if t.mark else None,
        ),
        Column[Tile]("slot", "Slot", lambda t: t.slot, lambda t: t.slot),
    ]  # fmt: skip
    model = RowsModel(columns, lambda t: t.id)
    model.show_rows(tiles(40))
    view = QTableView()
    model.setParent(view)
    view.setModel(model)
    dress_table(view, theme)
    view.selectRow(2)
    return view


def pages(theme: Theme, icons: IconSet) -> dict[str, tuple[QWidget, int, int]]:
    """Every widget on a page, with the size of its picture."""
    formatter = Formatter(QLocale.c())
    wall = RackWall(theme, formatter)
    wall.show_tiles(tiles(300))
    wall.go_to(9)
    wall.select({9, 10, 16})
    entry = FrameEntry(theme, formatter)
    half = survey_picture()
    entry.begin(half, [24.8, 24.1, 23.9, 23.6, 24.2])
    refused = FrameEntry(theme, formatter)
    refused.begin(survey_picture(pattern="9"), [24.8] * 7)
    large = FrameDrawing(theme, formatter)
    large.show_picture(survey_picture())
    states = QWidget()
    grid = QGridLayout(states)
    for n, state in enumerate(STATES):
        cloth = "none" if state in ("bare", "prepped", "out", "missing") else "yellow"
        for column, size in ((0, "tile"), (1, "card")):
            drawing = FrameDrawing(theme, formatter, size)  # type: ignore[arg-type]
            drawing.show_picture(
                FramePicture(
                    WIDTH_MM,
                    HEIGHT_MM,
                    cloth,
                    state,
                    is_held=state == "pulled",  # type: ignore[arg-type]
                    is_reserved=state == "ready",
                    points=survey_picture().points if state == "ready" else (),
                )
            )
            grid.addWidget(drawing, n // 4 * 2, n % 4 * 2 + column)
        grid.addWidget(QLabel(state), n // 4 * 2 + 1, n % 4 * 2)
    chart = TensionChart(theme, formatter)
    chart.show_data(life())
    chart.tell(5)
    empty = TensionChart(theme, formatter)
    empty.show_data(ChartData())
    return {
        "controls": (_controls(theme, icons), 1000, 720),
        "wall": (wall, 1280, 800),
        "entry": (entry, 620, 720),
        "refused": (refused, 620, 720),
        "large": (large, 620, 720),
        "states": (states, 1280, 720),
        "chart": (chart, 900, 420),
        "no_chart": (empty, 900, 240),
        "table": (_table(theme), 700, 420),
    }


def paint_gallery(app: QApplication, folder: Path) -> list[Path]:
    """Write one PNG for each page and scheme."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for scheme in Scheme:
        theme = Theme(app, scheme)
        icons = IconSet(theme)
        for name, (page, width, height) in pages(theme, icons).items():
            page.resize(width, height)
            page.show()
            page.activateWindow()
            app.processEvents()
            if name == "refused" and isinstance(page, FrameEntry):
                field = page.findChild(QLineEdit, "reading")
                assert isinstance(field, QLineEdit)
                field.setText("248")
                field.returnPressed.emit()
            app.processEvents()
            picture = QPixmap(width, height)
            picture.fill(theme.palette.colour("ground"))
            painter = QPainter(picture)
            page.render(painter, QPoint(), QRect(0, 0, width, height))
            painter.end()
            path = folder / f"{name}_{scheme}.png"
            picture.save(str(path))
            written.append(path)
            page.close()
            page.deleteLater()
        theme.deleteLater()
        app.processEvents()
    return written


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    paint_gallery(QApplication(sys.argv[:1]), Path(sys.argv[1]))
