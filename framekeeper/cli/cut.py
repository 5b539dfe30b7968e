"""The cut plan on the command line: planned, printed, booked."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper.cli.options import Commands, command
from framekeeper.cli.values import number
from framekeeper.domain.sentence import say
from framekeeper.services import cut_pieces, cut_plan, cut_queue, cut_view, cut_words
from framekeeper.services.cut_plan import CutRequest, Offcut
from framekeeper.services.settings import read_settings

if TYPE_CHECKING:
    from framekeeper.cli.call import Call
    from framekeeper.domain.cutting import CutPlan, PlacedPiece

SECONDS = 10.0


def add(commands: Commands[argparse.ArgumentParser]) -> None:
    """Add the commands about cutting mesh."""
    parser = command(
        commands, "cut-plan", _cut_plan, "say which piece of mesh comes off which roll"
    )
    parser.add_argument(
        "codes", nargs="*", metavar="CODE",
        help="frames (default: those that are prepped and wait at the stretching table)",
    )  # fmt: skip
    parser.add_argument(
        "--restretch", action="store_true",
        help="the frames that are bare, pulled, or below their limit instead",
    )  # fmt: skip
    parser.add_argument(
        "--mesh", default="", metavar="NAME",
        help="what the frames get (default: what each wore last); without frames, plan only this",
    )  # fmt: skip
    parser.add_argument("--turn", action="store_true", help="the warp may run across a frame")
    parser.add_argument(
        "--seconds", type=number, default=SECONDS, metavar="N",
        help="how long to look for a better plan (default: %(default).0f)",
    )  # fmt: skip
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the cut sheet")
    parser.add_argument("--book", action="store_true", help="it is cut: book it")
    parser.add_argument(
        "--keep", action="store_true", help="with --book, keep the offcuts that serve a frame"
    )
    gone = command(commands, "piece-gone", _piece_gone, "record that a piece cut ahead is lost")
    gone.add_argument("code", metavar="CODE", help="the frame that it was cut for")


def _cut_plan(call: Call) -> None:
    words = call.words
    shelf = cut_queue.cut_shelf(call.desk)
    if words.codes:
        jobs = cut_queue.jobs_for(call.desk, words.codes, mesh=words.mesh)
        only = ""
    else:
        jobs = shelf.queue("restretch" if words.restretch else "table")
        only = words.mesh
    request = cut_plan.request_for(shelf, jobs, may_turn=words.turn, mesh_only=only)
    plan = cut_plan.plan_here(request, seconds=words.seconds)
    strips = cut_plan.offcuts(request, plan)
    keep = [o for o in strips if o.serves] if words.keep else []
    currency = read_settings(call.desk).currency
    view = cut_view.drawn(
        request, plan, call.wording, kept=cut_view.kept_rows(keep), currency=currency
    )
    if words.pdf is not None:
        call.write(words.pdf, cut_view.cut_sheet_pdf(call.desk, view, call.wording))
    if words.book:
        call.done(cut_plan.book(call.desk, request, plan, keep=keep))
    elif words.pdf is None and call.as_json:
        call.give(_as_json(request, plan, strips))
    elif words.pdf is None:
        for line in view.spoken.splitlines():
            call.tell(line)
        for strip in strips:
            call.tell(say("Left over: {strip}.", strip=cut_words.offcut_words(strip)))
        for advice in cut_plan.advise_widths(shelf, request):
            call.tell(cut_words.advice_words(advice, currency))


def _piece_gone(call: Call) -> None:
    call.done(cut_pieces.throw_away(call.desk, call.words.code))


def _as_json(request: CutRequest, plan: CutPlan, strips: tuple[Offcut, ...]) -> dict[str, object]:
    return {
        "used_mm": plan.used_mm,
        "waste": plan.waste,
        "lower_bound_mm": plan.lower_bound_mm,
        "gap": plan.gap,
        "is_proven": plan.is_proven,
        "cost": str(plan.cost) if request.is_in_money and plan.cost is not None else None,
        "rolls": [
            {
                "roll": cut.roll.key,
                "mesh": cut.roll.mesh,
                "used_mm": cut.used_mm,
                "rows": [
                    {"length_mm": row.length_mm, "pieces": [_piece(p) for p in row.pieces]}
                    for row in cut.rows
                ],
            }
            for cut in plan.rolls
        ],
        "offcuts": [
            {"roll": o.roll, "row": o.row + 1, "width_mm": o.width_mm, "length_mm": o.length_mm,
             "serves_a_frame": bool(o.serves)}
            for o in strips
        ],
        "unplaced": [
            {"code": out.piece.key, "mesh": out.piece.mesh, "why": out.why.value}
            for out in plan.unplaced
        ],
    }  # fmt: skip


def _piece(placed: PlacedPiece) -> dict[str, object]:
    return {
        "code": placed.piece.key,
        "x_mm": placed.x_mm,
        "width_mm": placed.width_mm,
        "length_mm": placed.length_mm,
        "is_turned": placed.is_turned,
    }
