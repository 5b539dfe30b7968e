"""How long cut plans take and how near to the bound they come, for a day's batch and larger ones.

Run: python -m tests.bench.cutting [SECONDS]. Sizes are invented with a seed; every job has two
rolls that hold about 1.4 times the pieces' area, and a free offcut. "first" is the plan that is
there at once.
"""

from __future__ import annotations

import random
import sys
import time
from decimal import Decimal

from framekeeper.domain.cutting import CutPlan, Piece, Roll, first_plan, plan_cuts

GOAL_SECONDS, GOAL_GAP = 10.0, 0.01
SEED = 20240615
DAY = (4, 60)  # sizes, pieces
LARGER = ((1, 60), (2, 60), (6, 60), (8, 60), (15, 60), (60, 60), (4, 120), (4, 300), (8, 300))
ROLL_WIDTHS_MM = (1574.8, 1320.8, 1100.0)
PRICES_PER_M = (Decimal("18.50"), Decimal("16.20"), Decimal(0))


def job(sizes: int, n: int) -> tuple[list[Piece], list[Roll]]:
    """Make n pieces of a few sizes, two rolls and a free offcut."""
    rng = random.Random(SEED + sizes)
    known = [(rng.randrange(450, 900), rng.randrange(550, 1150)) for _ in range(sizes)]
    pieces = [Piece(*known[i % sizes], key=i) for i in range(n)]
    area = sum(p.width_mm * p.length_mm for p in pieces)
    lengths = (area / 1574.8, area * 0.4 / 1320.8, 2400.0)
    return pieces, [
        Roll(width, length, key, price_per_m=price)
        for width, length, key, price in zip(
            ROLL_WIDTHS_MM, lengths, ("a", "b", "offcut"), PRICES_PER_M, strict=True
        )
    ]


def run(sizes: int, n: int, seconds: float, *, may_turn: bool) -> tuple[CutPlan, float]:
    """Plan one job, print its line, and return the plan and the seconds that it took."""
    pieces, rolls = job(sizes, n)
    began = time.perf_counter()
    first = first_plan(pieces, rolls, may_turn=may_turn)
    at_once = time.perf_counter() - began
    began = time.perf_counter()
    plan = plan_cuts(pieces, rolls, may_turn=may_turn, seconds=seconds)
    took = time.perf_counter() - began
    _print(
        f"{n:4d} in {sizes:2d} sizes, {'turned' if may_turn else 'fixed ':6s}"
        f"  first {first.cost:8.2f} in {1000 * at_once:4.0f} ms"
        f"  best {plan.cost:8.2f} in {took:5.1f} s  bound {plan.lower_bound_cost:8.2f}"
        f"  gap {100 * plan.gap:5.2f} %  {'proven' if plan.is_proven else '      '}"
        f"  used {plan.used_mm / 1000:6.2f} m (bound {plan.lower_bound_mm / 1000:6.2f})"
        f"  waste {100 * plan.waste:4.1f} %  left out {len(plan.unplaced)}"
    )
    return plan, took


def _print(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Print the day's batch against its goal, then how time and gap grow."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else GOAL_SECONDS
    _print(f"A day's batch; goal: proven or a gap within {GOAL_GAP:.0%} in {GOAL_SECONDS:.0f} s")
    days = [run(*DAY, seconds, may_turn=may_turn) for may_turn in (True, False)]
    is_met = all((p.is_proven or p.gap <= GOAL_GAP) and s <= GOAL_SECONDS for p, s in days)
    _print("goal met" if is_met else "GOAL MISSED")
    _print("Growth")
    for sizes, n in LARGER:
        for may_turn in (True, False):
            run(sizes, n, seconds, may_turn=may_turn)


if __name__ == "__main__":
    main()
