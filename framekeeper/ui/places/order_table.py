"""The columns of "What to order", and of what a mesh was used for."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QIcon

from framekeeper.services.mesh_use import Used
from framekeeper.services.order import LONGEST_COVER_DAYS, MeshOrder
from framekeeper.services.order_words import USED_FOR, amount, percent
from framekeeper.ui.bench import Bench
from framekeeper.ui.lengths import roll_length
from framekeeper.ui.models.table import Column
from framekeeper.ui.places.shelf_tables import swatch
from framekeeper.ui.text import Formatter, tr, tr_count
from framekeeper.ui.widgets.marks import mark_icon

_RIGHT = Qt.AlignmentFlag.AlignRight


def order_columns(bench: Bench) -> tuple[Column[MeshOrder], ...]:
    """List the columns."""
    formatter = bench.formatter

    def mark(order: MeshOrder) -> QIcon | None:
        if not order.is_to_order:
            return None
        is_late = order.chance_today > 1 - order.service_level
        return mark_icon("below" if is_late else "soon", bench.theme.palette)

    return (
        Column(
            "mesh",
            tr("Mesh"),
            lambda o: o.mesh.name,
            lambda o: o.mesh.name.lower(),
            width=150,
            icon=lambda o: swatch(o.mesh.colour, bench.theme.palette),
        ),
        Column(
            "on_hand",
            tr("On hand"),
            lambda o: roll_length(formatter, o.on_hand_mm),
            lambda o: o.on_hand_mm,
            width=100,
            align=_RIGHT,
        ),
        Column(
            "coming",
            tr("On its way"),
            lambda o: roll_length(formatter, o.coming.length_mm) if o.coming else "",
            lambda o: o.coming.length_mm if o.coming else None,
            width=104,
            align=_RIGHT,
        ),
        Column(
            "expected",
            tr("Expected"),
            lambda o: roll_length(formatter, o.need_mm),
            lambda o: o.need_mm,
            width=100,
            align=_RIGHT,
            tooltip=lambda o: tr("until {day}", day=formatter.date(o.until)),
            header_tooltip=tr("Mesh that will be needed until the delivery after the next look"),
        ),
        Column(
            "cover",
            tr("Lasts"),
            lambda o: cover_text(o),
            lambda o: o.cover_days,
            width=132,
            align=_RIGHT,
            header_tooltip=tr("How long what can be used lasts on average"),
        ),
        Column(
            "chance",
            tr("Chance to run out"),
            lambda o: formatter.sentence(percent(o.chance_later)),
            lambda o: o.chance_later,
            width=164,
            align=_RIGHT,
            header_tooltip=tr("Before the delivery, if it is ordered at the next look only"),
        ),
        Column(
            "order",
            tr("Order"),
            lambda o: order_text(o, formatter),
            lambda o: o.purchase.length_mm if o.purchase else None,
            width=220,
            icon=mark,
        ),
    )


def used_columns(bench: Bench) -> tuple[Column[Used], ...]:
    """List the columns of what a mesh was used for."""
    formatter = bench.formatter

    def size(used: Used) -> str:
        return "—" if used.size_mm is None else formatter.size(*sorted(used.size_mm))

    def reason(used: Used) -> str:
        return formatter.sentence(USED_FOR[used.reason])

    return (
        Column("month", tr("Month"), lambda u: f"{u.month:%Y-%m}", lambda u: u.month, width=90),
        Column("size", tr("Frame"), size, lambda u: u.size_mm, width=118),
        Column("reason", tr("What for"), reason, reason, width=114),
        Column("pieces", tr("Pieces"), lambda u: str(u.pieces), lambda u: u.pieces, 74, _RIGHT),
        Column(
            "length",
            tr("Length"),
            lambda u: roll_length(formatter, u.length_mm),
            lambda u: u.length_mm,
            width=80,
            align=_RIGHT,
        ),
    )


def used_id(used: Used) -> tuple[object, ...]:
    """Name a row of use."""
    return used.month, used.mesh.id, used.size_mm, used.reason


def cover_text(order: MeshOrder) -> str:
    """Write how long the stock lasts."""
    if order.cover_days is None:
        return tr("over {days} days", days=LONGEST_COVER_DAYS)
    days = int(order.cover_days)
    return tr("not for now") if days == 0 else tr_count("{n} day", "{n} days", days)


def order_text(order: MeshOrder, formatter: Formatter) -> str:
    """Write what to order."""
    if order.purchase is not None:
        return formatter.sentence(amount(order.purchase))
    return tr("not known") if order.basis == "nothing" else tr("nothing")


def order_id(order: MeshOrder) -> str:
    """Name a row."""
    return order.mesh.name
