"""The tables of the mesh shelf: mesh types, rolls, and the mesh that was used."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QPainter, QPen, QPixmap

from framekeeper.domain.records import MeshTypeRecord, RollRecord
from framekeeper.services.offcuts import Serving
from framekeeper.services.stock import Shelf
from framekeeper.services.stock_use import Usage
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import roll_length
from framekeeper.ui.models.table import Column
from framekeeper.ui.places.shelf_words import serving_in_short
from framekeeper.ui.prices import price_words
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Palette, device_ratio

_RIGHT = Qt.AlignmentFlag.AlignRight
_SWATCH = 16


@dataclass(frozen=True, slots=True)
class MeshRow:
    """A mesh type, with what is on the shelf."""

    mesh: MeshTypeRecord
    on_hand_mm: int  # on rolls; a metre of an offcut is none of a roll
    rolls: int
    offcuts: int


@dataclass(frozen=True, slots=True)
class RollRow:
    """A roll with the name of its mesh; `serving` of an offcut."""

    roll: RollRecord
    mesh: MeshTypeRecord | None
    serving: Serving | None = None


def mesh_rows(shelf: Shelf) -> list[MeshRow]:
    """Put the rolls of each mesh type together."""
    rows = []
    for mesh in shelf.mesh_types:
        held = [r for r in shelf.rolls if r.mesh_type_id == mesh.id and r.on_hand_mm > 0]
        rolls = [r for r in held if not r.is_offcut]
        on_hand = sum(r.on_hand_mm for r in rolls)
        rows.append(MeshRow(mesh, on_hand, len(rolls), len(held) - len(rolls)))
    return rows


def roll_rows(shelf: Shelf, mesh: MeshTypeRecord | None) -> list[RollRow]:
    """List the rolls of one mesh type, or all; offcuts after rolls, empty ones last."""
    names = {m.id: m for m in shelf.mesh_types}
    wanted = [r for r in shelf.rolls if mesh is None or r.mesh_type_id == mesh.id]
    ordered = sorted(wanted, key=lambda r: (r.on_hand_mm <= 0, r.is_offcut, r.code))
    return [RollRow(r, names.get(r.mesh_type_id), shelf.servings.get(r.id)) for r in ordered]


def mesh_columns(bench: Bench) -> tuple[Column[MeshRow], ...]:
    """List the columns of the mesh types."""
    formatter = bench.formatter
    return (
        Column(
            "name",
            tr("Mesh, as bought"),
            lambda r: r.mesh.name,
            lambda r: r.mesh.name.lower(),
            width=180,
            icon=lambda r: swatch(r.mesh.colour, bench.theme.palette),
            tooltip=lambda r: colour_word(r.mesh),
        ),
        Column("colour", tr("Colour"), lambda r: colour_word(r.mesh), lambda r: r.mesh.colour, 90),
        Column(
            "count",
            tr("Count"),
            lambda r: formatter.mesh_count(r.mesh.threads_per_cm) if r.mesh.threads_per_cm else "—",
            lambda r: r.mesh.threads_per_cm,
            width=130,
            align=_RIGHT,
        ),
        Column(
            "thread",
            tr("Thread"),
            lambda r: tr("{um} µm", um=f"{r.mesh.thread_um:g}") if r.mesh.thread_um else "—",
            lambda r: r.mesh.thread_um,
            width=80,
            align=_RIGHT,
        ),
        _tension_column("target", tr("Target"), formatter),
        _tension_column("limit", tr("Limit"), formatter),
        Column(
            "on_hand",
            tr("On hand"),
            lambda r: roll_length(formatter, r.on_hand_mm),
            lambda r: r.on_hand_mm,
            width=100,
            align=_RIGHT,
        ),
        Column("rolls", tr("Rolls"), lambda r: str(r.rolls), lambda r: r.rolls, 64, _RIGHT),
        Column(
            "offcuts",
            tr("Offcuts"),
            lambda r: str(r.offcuts) if r.offcuts else "",
            lambda r: r.offcuts,
            width=84,
            align=_RIGHT,
        ),
        Column(
            "remarks",
            tr("Remarks"),
            lambda r: tr("to be completed") if r.mesh.to_be_completed else "",
            lambda r: not r.mesh.to_be_completed,
            width=140,
        ),
    )


def _tension_column(rule: str, header: str, formatter: Formatter) -> Column[MeshRow]:
    def value(row: MeshRow) -> float | None:
        stored: float | None = getattr(row.mesh.rules, rule)
        return stored

    def text(row: MeshRow) -> str:
        tension = value(row)
        return "—" if tension is None else formatter.number(tension)

    return Column(rule, header, text, value, 76, _RIGHT, header_tooltip=tr("N/cm"))


MESH_COLUMN = 1  # of the rolls; needless where one mesh is chosen


def roll_columns(bench: Bench) -> tuple[Column[RollRow], ...]:
    """List the columns of the rolls."""
    formatter = bench.formatter
    return (
        Column("code", tr("Roll"), lambda r: r.roll.code, lambda r: r.roll.code, width=72),
        Column(
            "mesh",
            tr("Mesh"),
            lambda r: r.mesh.name if r.mesh else "",
            lambda r: r.mesh.name if r.mesh else "",
            width=108,
        ),
        Column(
            "width",
            tr("Width"),
            lambda r: formatter.length(r.roll.width_mm),
            lambda r: r.roll.width_mm,
            width=72,
            align=_RIGHT,
        ),
        Column(
            "left",
            tr("Left"),
            lambda r: roll_length(formatter, r.roll.on_hand_mm),
            lambda r: r.roll.on_hand_mm,
            width=84,
            align=_RIGHT,
        ),
        Column(
            "offcut",
            tr("Offcut serves"),
            lambda r: serving_in_short(formatter, r.serving),
            lambda r: r.roll.is_offcut,
            width=124,
        ),
        Column("lot", tr("Lot"), lambda r: r.roll.lot, lambda r: r.roll.lot, width=96),
        Column(
            "price",
            tr("Price"),
            lambda r: price_words(formatter, r.roll.price_per_m),
            lambda r: r.roll.price_per_m,
            width=100,
        ),
    )


def usage_columns(bench: Bench) -> tuple[Column[Usage], ...]:
    """List the columns of the mesh that was used, by month and type."""
    formatter = bench.formatter
    return (
        Column("month", tr("Month"), lambda r: f"{r.month:%Y-%m}", lambda r: r.month, width=86),
        Column("mesh", tr("Mesh"), lambda r: r.mesh.name, lambda r: r.mesh.name, width=108),
        Column("pieces", tr("Pieces"), lambda r: str(r.pieces), lambda r: r.pieces, 74, _RIGHT),
        Column(
            "cut",
            tr("Cut"),
            lambda r: roll_length(formatter, r.cut_mm),
            lambda r: r.cut_mm,
            width=88,
            align=_RIGHT,
        ),
        Column(
            "scrap",
            tr("Scrap"),
            lambda r: roll_length(formatter, r.scrapped_mm),
            lambda r: r.scrapped_mm,
            width=88,
            align=_RIGHT,
        ),
    )


def colour_word(mesh: MeshTypeRecord) -> str:
    """Say the colour of a cloth."""
    return {"white": tr("white"), "dyed": tr("dyed"), "not_told": tr("not told")}[mesh.colour]


def swatch(colour: str, palette: Palette) -> QIcon:
    """Draw a piece of the cloth; one whose colour nobody told is struck through."""
    ratio = device_ratio()
    pixmap = QPixmap(QSize(round(_SWATCH * ratio), round(_SWATCH * ratio)))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    box = QRectF(1.5, 1.5, _SWATCH - 3, _SWATCH - 3)
    dyed = colour == "dyed"
    painter.fillRect(box, palette.colour("mesh_yellow" if dyed else "mesh_white"))
    painter.setPen(QPen(palette.colour("thread_yellow" if dyed else "thread_white"), 1))
    if colour == "not_told":
        painter.drawLine(box.bottomLeft(), box.topRight())
    else:
        for step in (4.0, 8.0):
            painter.drawLine(
                QRectF(box.left() + step, box.top(), 0, box.height()).topLeft(),
                QRectF(box.left() + step, box.top(), 0, box.height()).bottomLeft(),
            )
    painter.setPen(QPen(palette.colour("edge"), 1))
    painter.drawRect(box)
    painter.end()
    icon = QIcon(pixmap)
    icon.addPixmap(pixmap, QIcon.Mode.Selected)
    return icon


def mesh_id(row: MeshRow) -> str:
    """Name a mesh row."""
    return row.mesh.name


def roll_id(row: RollRow) -> str:
    """Name a roll row."""
    return row.roll.code


def usage_id(row: Usage) -> tuple[str, str]:
    """Name a row of use."""
    return row.month.isoformat(), row.mesh.name
