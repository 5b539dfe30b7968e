"""The columns of the Rack as a table."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon

from framekeeper.domain.natural_order import natural
from framekeeper.domain.trade_words import STATE_WORDS
from framekeeper.ui.bench import Bench
from framekeeper.ui.models.table import Column
from framekeeper.ui.places.rack_list import (
    RackRow,
    days_said,
    days_text,
    mark_rank,
    mark_words,
    state_words,
)
from framekeeper.ui.text import tr
from framekeeper.ui.widgets.marks import mark_icon


def rack_columns(bench: Bench) -> tuple[Column[RackRow], ...]:
    """Build the columns; each mark stands in a column of its own, under its own head."""
    f, right = bench.formatter, Qt.AlignmentFlag.AlignRight

    def days(row: RackRow) -> str:
        return "" if row.days_since_reading is None else f.ago(row.days_since_reading)

    def tension(row: RackRow) -> str:
        return "" if row.tension is None else f.number(row.tension)

    def due_icon(row: RackRow) -> QIcon | None:
        return mark_icon(row.mark, bench.theme.palette) if row.mark else None

    def left_icon(row: RackRow) -> QIcon | None:
        return mark_icon(row.left.answer, bench.theme.palette) if row.left else None

    return (
        Column(
            "mark", "", lambda r: "", mark_rank, width=36, icon=due_icon,
            tooltip=lambda r: mark_words().get(r.mark or "", ""),
            header_tooltip=tr("What is due"),
        ),
        Column("code", tr("Code"), lambda r: r.frame.code, lambda r: r.frame.number, width=90),
        Column(
            "label", tr("Own label"), lambda r: r.frame.own_label,
            lambda r: natural(r.frame.own_label) or None, width=95,
        ),
        Column(
            "slot", tr("Slot"), lambda r: r.frame.slot,
            lambda r: natural(r.frame.slot) or None, width=62,
        ),
        Column(
            "state", tr("State"), lambda r: state_words(r, f),
            lambda r: list(STATE_WORDS).index(r.state.state), width=112,
            tooltip=lambda r: state_words(r, f),
        ),
        Column(
            "mesh", tr("Mesh"), lambda r: r.mesh_name, lambda r: natural(r.mesh_name) or None,
            width=105,
        ),
        Column("tension", tr("N/cm"), tension, lambda r: r.tension, width=62, align=right),
        Column(
            "left", tr("Days left"), lambda r: days_text(r, f),
            lambda r: r.left.rank if r.left else None, width=116,
            tooltip=lambda r: _about_days(r, bench), icon=left_icon,
            header_tooltip=tr("Until it is as likely as not to be below its limit"),
        ),
        Column("days", tr("Read"), days, lambda r: r.days_since_reading, width=112),
        Column(
            "size", tr("Size"),
            lambda r: f.size(r.frame.width_mm, r.frame.height_mm),
            lambda r: r.frame.width_mm * r.frame.height_mm, width=112,
        ),
        Column(
            "why", tr("What for"), lambda r: r.why, lambda r: r.why or None, width=108,
            tooltip=lambda r: r.why,
        ),
    )  # fmt: skip


def _about_days(row: RackRow, bench: Bench) -> str:
    """Say the days left as a sentence, with the date."""
    left, f = row.left, bench.formatter
    if left is None or left.likely_at is None:
        return days_said(row)
    day = f.date(f.day_of(left.likely_at))
    return tr("{said}: likely below around {day}", said=days_said(row), day=day)
