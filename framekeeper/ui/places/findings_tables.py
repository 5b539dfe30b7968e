"""The tables of the findings: usual ways of meshes, screens that stand out, the trade's figures."""

from __future__ import annotations

import datetime as dt

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon

from framekeeper.services.findings import DAYS, MeshFinding, OddScreen
from framekeeper.services.findings_telling import odd_line, odd_words, share_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.marks import mark_icon

_RIGHT = Qt.AlignmentFlag.AlignRight


def mesh_columns(bench: Bench) -> tuple[Column[MeshFinding], ...]:
    """List the columns of the meshes: the usual tension on some days, and what it rests on."""
    f = bench.formatter
    return (
        Column("name", tr("Mesh"), lambda m: m.mesh.name, lambda m: m.mesh.name.lower(), width=116),
        *(_day_column(bench, place, day) for place, day in enumerate(DAYS)),
        Column(
            "night",
            tr("First night"),
            lambda m: f.number(m.first_night),
            lambda m: m.first_night,
            width=104,
            align=_RIGHT,
            header_tooltip=tr("N/cm lost until the morning after the release"),
        ),
        Column(
            "stretches",
            tr("Stretches"),
            lambda m: str(m.stretches),
            lambda m: m.stretches,
            width=100,
            align=_RIGHT,
        ),
        Column(
            "readings",
            tr("Readings"),
            lambda m: str(m.readings),
            lambda m: m.readings,
            width=98,
            align=_RIGHT,
        ),
        Column(
            "rests",
            tr("Rests on"),
            lambda m: f.sentence(share_words(m.own_share)),
            lambda m: m.own_share,
            width=116,
        ),
    )


def _day_column(bench: Bench, place: int, day: int) -> Column[MeshFinding]:
    f = bench.formatter

    def is_below(found: MeshFinding) -> bool:
        limit = found.mesh.rules.limit
        return limit is not None and found.days[place].tension < limit

    def icon(found: MeshFinding) -> QIcon | None:
        return mark_icon("below", bench.theme.palette) if is_below(found) else None

    def tip(found: MeshFinding) -> str:
        point = found.days[place]
        words = tr(
            "Eight of ten screens: {low} to {high} N/cm",
            low=f.number(point.low),
            high=f.number(point.high),
        )
        return (
            tr("{words}. The usual one is below its limit.", words=words)
            if is_below(found)
            else words
        )

    return Column(
        f"day{day}",
        tr("Day {day}", day=day),
        lambda m: f.number(m.days[place].tension),
        lambda m: m.days[place].tension,
        width=84 if day > 99 else 76,
        align=_RIGHT,
        icon=icon,
        tooltip=tip,
        header_tooltip=tr("Usual tension so many days after the release, N/cm"),
    )


def odd_columns(bench: Bench) -> tuple[Column[OddScreen], ...]:
    """List the columns of the screens that stand out."""
    f = bench.formatter

    def line(odd: OddScreen) -> str:
        return f.sentence(odd_line(odd))

    def what(odd: OddScreen) -> str:
        said = f.sentence(odd_words(odd))
        return said if odd.is_on else tr("{what}, past", what=said)

    def moment(odd: OddScreen) -> dt.datetime:
        return odd.at

    return (
        Column(
            "frame",
            tr("Frame"),
            lambda o: o.frame.name,
            lambda o: o.frame.walking_order,
            width=136,
            tooltip=line,
        ),
        Column("what", tr("What"), what, lambda o: (not o.is_on, o.kind), 134, tooltip=line),
        Column(
            "lost",
            tr("Lost"),
            lambda o: f.number(o.lost),
            lambda o: o.lost,
            width=56,
            align=_RIGHT,
            header_tooltip=tr("N/cm: the fall, or the loss since its first reading"),
        ),
        Column(
            "usual",
            tr("Usual"),
            lambda o: "—" if o.usual is None else f.number(o.usual),
            lambda o: o.usual,
            width=66,
            align=_RIGHT,
            header_tooltip=tr("N/cm that its mesh loses in that time and use"),
        ),
        Column("at", tr("Seen"), lambda o: f.date(f.day_of(o.at)), moment, width=116),
        Column("mesh", tr("Mesh"), lambda o: o.mesh_name, lambda o: o.mesh_name.lower(), width=80),
    )


def mesh_row_id(found: MeshFinding) -> int:
    """Name a mesh's row."""
    return found.mesh.id


def odd_row_id(odd: OddScreen) -> tuple[int, str, dt.datetime]:
    """Name the row of a screen that stands out."""
    return odd.row_id
