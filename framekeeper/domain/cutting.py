"""The cut plan: which piece of mesh comes off which roll, and which width of roll to buy."""

from framekeeper.domain.cutting_batch import first_plan, plan_cuts
from framekeeper.domain.cutting_plan import (
    CutPlan,
    Piece,
    PlacedPiece,
    Roll,
    RollPlan,
    Row,
    Unplaced,
    Why,
)
from framekeeper.domain.cutting_stock import StockPlan, stock_lengths
from framekeeper.domain.cutting_widths import WidthCost, widths_to_buy

__all__ = [
    "CutPlan",
    "Piece",
    "PlacedPiece",
    "Roll",
    "RollPlan",
    "Row",
    "StockPlan",
    "Unplaced",
    "Why",
    "WidthCost",
    "first_plan",
    "plan_cuts",
    "stock_lengths",
    "widths_to_buy",
]
