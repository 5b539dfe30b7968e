"""What mesh to order on the command line, the order as a file, and what mesh was used for."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.domain.sentence import Millimetres, say
from framekeeper.services.forecasts import refresh_if_possible
from framekeeper.services.on_order import forget_order, mark_ordered

if TYPE_CHECKING:  # the maths is loaded by those who ask for it
    from framekeeper.cli.call import Call
    from framekeeper.services.mesh_use import Used
    from framekeeper.services.order import MeshOrder, OrderList


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands about ordering mesh."""
    parser = command(commands, "order", _order, "say what mesh to order, and why")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the order as a PDF")
    parser.add_argument("--xlsx", type=Path, metavar="FILE", help="write the order as a workbook")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--ordered", action="store_true", help="remember that it was ordered today")
    what.add_argument("--cancelled", metavar="MESH", help="forget that this mesh was ordered")
    command(
        commands, "used-for", _used_for,
        "list the mesh used, per month, mesh, size of frame and reason",
    )  # fmt: skip


def _order(call: Call) -> None:
    words = call.words
    if words.cancelled is not None:
        call.done(forget_order(call.desk, words.cancelled))
        return
    from framekeeper.services import order_paper
    from framekeeper.services.order import order_list

    refresh_if_possible(call.desk)
    orders = order_list(call.desk)
    if words.pdf is not None:
        call.write(words.pdf, order_paper.order_sheet_pdf(orders, call.wording))
    if words.xlsx is not None:
        call.write(words.xlsx, order_paper.order_workbook(orders, call.wording))
    if words.ordered:
        lengths = {o.mesh.name: o.purchase.length_mm for o in orders.to_order if o.purchase}
        call.done(mark_ordered(call.desk, lengths))
    elif words.pdf is None and words.xlsx is None:
        _tell(call, orders)


def _tell(call: Call, orders: OrderList) -> None:
    if call.as_json:
        call.give([_row(order, call) for order in orders.meshes])
        return
    from framekeeper.services import order_words

    if not orders.meshes:
        call.tell(say("There is no mesh on the shelf yet."))
    for order in orders.meshes:
        call.tell(say("{mesh}", mesh=order.mesh.name))
        for reason in order_words.reasons(order):
            call.tell(say("  {reason}", reason=reason))
    if orders.unknown_waiting:
        call.tell(order_words.unknown_words(orders.unknown_waiting))


def _row(order: MeshOrder, call: Call) -> dict[str, object]:
    from framekeeper.services.order_words import reasons

    buy = order.purchase
    return {
        "mesh": order.mesh.name,
        "basis": order.basis,
        "on_hand_m": order.on_hand_mm / 1000,
        "usable_m": order.usable_mm / 1000,
        "on_its_way_m": order.coming.length_mm / 1000 if order.coming else 0,
        "until": order.until,
        "expected_m": order.need_mm / 1000,
        "expected_sd_m": order.need_sd_mm / 1000,
        "days_of_cover": order.cover_days,
        "chance_if_ordered_today": order.chance_today,
        "chance_if_ordered_later": order.chance_later,
        "reorder_point_m": order.reorder_mm / 1000,
        "order": None
        if buy is None
        else {
            "rolls": buy.rolls if buy.roll_mm is not None else None,
            "roll_m": None if buy.roll_mm is None else buy.roll_mm / 1000,
            "width_mm": buy.width_mm,
            "length_m": buy.length_mm / 1000,
            "from": buy.buy_from,
            "price_per_m": None if buy.price_per_m is None else str(buy.price_per_m),
            "sum": None if buy.total is None else str(buy.total),
        },
        "reasons": [call.wording.sentence(reason) for reason in reasons(order)],
    }


def _used_for(call: Call) -> None:
    from framekeeper.services.mesh_use import use_of_mesh

    rows = [_used_row(used, call) for used in use_of_mesh(call.desk)]
    call.table(rows, tuple(rows[0]) if rows else (), say("No mesh has been cut yet."))


def _used_row(used: Used, call: Call) -> dict[str, object]:
    from framekeeper.services.order_words import USED_FOR

    size: object = None
    if used.size_mm is not None:
        width, height = sorted(used.size_mm)
        size = (
            [width, height]
            if call.as_json
            else say("{w} x {h}", w=Millimetres(width), h=Millimetres(height))
        )
    return {
        "month": used.month.strftime("%Y-%m"),
        "mesh": used.mesh.name,
        "size_mm" if call.as_json else "size": size,
        "reason": used.reason if call.as_json else USED_FOR[used.reason],
        "pieces": used.pieces,
        "length_m": used.length_mm / 1000,
    }
