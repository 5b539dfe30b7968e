"""What is said of a cut plan: what it takes, how good it is, why a piece has no place."""

from __future__ import annotations

from decimal import Decimal

from framekeeper.domain.cutting import CutPlan, PlacedPiece, RollPlan, Row, Unplaced, WidthCost
from framekeeper.domain.money import price_text
from framekeeper.domain.sentence import Millimetres, Running, Sentence, say
from framekeeper.services.cut_plan import CutRequest, Offcut, WidthAdvice
from framekeeper.services.cut_queue import CutJob

_CENT = Decimal("0.01")


def used_words(plan: CutPlan, request: CutRequest, currency: str = "") -> Sentence:
    """Say what comes off the rolls, what of it is waste, and what it costs where that is known."""
    words = {
        "pieces": sum(len(row.pieces) for row in plan.rows),
        "used": Running(plan.used_mm),
        "waste": 100 * plan.waste,
    }
    if not request.is_in_money or plan.cost is None:
        return say("Pieces: {pieces}. Off the rolls: {used}. Waste: {waste:.1f} %.", **words)
    return say(
        "Pieces: {pieces}. Off the rolls: {used}, worth {cost}. Waste: {waste:.1f} %.",
        cost=amount(plan.cost, currency),
        **words,
    )


def bound_words(plan: CutPlan, request: CutRequest, currency: str = "") -> Sentence:
    """Say what no plan can do better than."""
    if request.is_in_money and plan.lower_bound_cost is not None:
        return say("No plan costs less than {least}.",
                   least=amount(plan.lower_bound_cost, currency))  # fmt: skip
    return say("No plan is shorter than {least}.", least=Running(plan.lower_bound_mm))


def gap_words(plan: CutPlan) -> Sentence:
    """Say how good a plan is known to be."""
    if not plan.rolls:
        return say("no piece can be cut")
    if plan.is_proven and plan.unplaced:
        return say("proven: no plan cuts more, nor the same with less mesh")
    if plan.is_proven:
        return say("proven: no plan needs less")
    if not 0 < plan.gap < 1:
        return say("nothing better is known; not proven yet")
    # The gap is a share of the plan; people compare with what is needed.
    over = max(0.1, 100 * plan.gap / (1 - plan.gap))
    if plan.unplaced:
        return say("within {over:.1f} % of what so many need at least", over=over)
    return say("within {over:.1f} % of what is needed at least", over=over)


def compared_by_words(request: CutRequest) -> Sentence:
    """Say what "less" means."""
    if request.is_in_money:
        return say("Compared by price; offcuts go first.")
    return say("Compared by area, because a price is missing; offcuts go first.")


def unplaced_words(out: Unplaced, job: CutJob) -> Sentence:
    """Say which piece has no place, and why."""
    return say(
        "{frame}, {mesh}: {reason}",
        frame=job.frame.name,
        mesh=job.mesh.name if job.mesh else "",
        reason=out.reason,
    )


def roll_words(cut: RollPlan, request: CutRequest) -> Sentence:
    """Say which roll it is and what comes off it."""
    roll = request.roll_of(cut.roll.key)
    words = {
        "code": roll.code,
        "mesh": cut.roll.mesh,
        "width": Millimetres(roll.width_mm),
        "used": Running(cut.used_mm),
        "left": Running(roll.on_hand_mm - cut.used_mm),
    }
    if roll.is_offcut:
        return say("Offcut {code}, {mesh}, {width} wide: {used} comes off, {left} stays.", **words)
    return say("Roll {code}, {mesh}, {width} wide: {used} comes off, {left} stays.", **words)


def piece_words(placed: PlacedPiece, job: CutJob) -> Sentence:
    """Say which piece lies here: across the roll by along it."""
    words = {
        "frame": job.frame.name,
        "width": Millimetres(placed.width_mm),
        "length": Millimetres(placed.length_mm),
    }
    if placed.is_turned:
        return say("{frame} {width} x {length}, turned", **words)
    return say("{frame} {width} x {length}", **words)


def row_words(number: int, row: Row, request: CutRequest) -> Sentence:
    """Say one cut across the roll, and the pieces that it frees, from left to right."""
    pieces = [piece_words(p, request.job_of(p.piece.key)) for p in row.pieces]
    return say(
        "Cut {number} after {length}: {pieces}.",
        number=number,
        length=Millimetres(row.length_mm),
        pieces=joined(pieces),
    )


def joined(parts: list[Sentence]) -> Sentence:
    """Put parts side by side, divided by a semicolon."""
    template = "; ".join(f"{{part{n}}}" for n in range(len(parts)))
    return Sentence(template, {f"part{n}": part for n, part in enumerate(parts)})


def offcut_words(offcut: Offcut) -> Sentence:
    """Say which strip is left, and what it would serve."""
    words = {
        "roll": offcut.roll,
        "number": offcut.row + 1,
        "width": Millimetres(offcut.width_mm),
        "length": Millimetres(offcut.length_mm),
    }
    if not offcut.serves:
        return say("{roll}, cut {number}: {width} x {length}, serves no frame here", **words)
    last = offcut.serves[-1]
    return say(
        "{roll}, cut {number}: {width} x {length}, serves frames up to {frame_width} x "
        "{frame_height}",
        frame_width=Millimetres(last.width_mm),
        frame_height=Millimetres(last.height_mm),
        **words,
    )


def advice_words(advice: WidthAdvice, currency: str = "") -> Sentence:
    """Say which width to buy next for such frames, by what a screen costs in the long run."""
    known = [w for w in advice.widths if w.cost_per_piece is not None]
    if not known:
        return say(
            "{mesh}: no price is known of a width that fits, so none is advised.",
            mesh=advice.mesh.name,
        )
    best = known[0]
    words = {
        "mesh": advice.mesh.name,
        "width": Millimetres(best.width_mm),
        "cost": _per_screen(best, currency),
    }
    if len(known) == 1:
        return say("{mesh}: {width} wide costs {cost} a screen.", **words)
    return say(
        "{mesh}: buy {width} wide next, {cost} a screen; {others}.",
        others=joined(
            [
                say("{width} wide: {cost}", width=Millimetres(w.width_mm),
                    cost=_per_screen(w, currency))
                for w in known[1:]
            ]
        ),
        **words,
    )  # fmt: skip


def _per_screen(cost: WidthCost, currency: str) -> str:
    return amount(cost.cost_per_piece or Decimal(0), currency)


def amount(money: Decimal, currency: str) -> str:
    """Write money to the cent, with the shop's currency."""
    return f"{price_text(money.quantize(_CENT))} {currency}".strip()
