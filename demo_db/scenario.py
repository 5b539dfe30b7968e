"""The invented shop: its people, cloths, meters, frames and customers' jobs.

Nobody in it lives and nothing of it was copied from a shop. Thresholds are invented as a shop
would choose them; the targets follow from the stress rule of `framekeeper.domain.mesh`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from framekeeper.domain.events import FrameKind

SHOP_NAME = "Tidemill Print Room"

KEEPER = "Ottilie"  # keeps the screen room and the register, walks the tension round
STRETCHER = "Bram"  # stretching table
BENCH = "Yusra"  # prep bench
WASHOUT = "Junia"  # washout
PRESS = "Teodor"  # press, coating and exposure

MM_PER_INCH = 25.4
STRESS_MPA = 150.0  # the middle of the published band for garment work
LIMIT_SHARE = 0.86  # of the target; this shop's choice
SPREAD_LIMIT = 3.0  # N/cm; this shop prints little that asks for more


@dataclass(frozen=True)
class MeshPlan:
    """A cloth that the shop buys, and how it looks after screens of it."""

    name: str
    thread_um: float
    roll_width_mm: int
    supplier: str
    days_between_readings: int
    inspect_after_reclaims: int
    weight: float  # how often the shop stretches it
    price_per_m: Decimal = Decimal(0)  # of this invented shop's money
    is_foretold: bool = True  # else its screens are read by the fixed interval


MESHES: tuple[MeshPlan, ...] = (
    MeshPlan(
        "110 white", 80, 1575, "mesh supplier A", 28, 14, 1.0, Decimal("17.40"), is_foretold=False
    ),
    MeshPlan(
        "137 white", 64, 1575, "mesh supplier A", 28, 14, 0.7, Decimal("18.20"), is_foretold=False
    ),
    MeshPlan("156 white", 64, 1575, "mesh supplier A", 28, 14, 2.2, Decimal("18.90")),
    MeshPlan("180 yellow", 55, 1321, "mesh supplier B", 21, 12, 0.8, Decimal("19.60")),
    MeshPlan("196 yellow", 55, 1321, "mesh supplier B", 21, 12, 1.4, Decimal("20.30")),
    MeshPlan("230 yellow", 48, 1321, "mesh supplier B", 21, 12, 2.4, Decimal("21.80")),
    MeshPlan("280 yellow", 40, 1575, "mesh supplier A", 14, 10, 0.7, Decimal("26.50")),
    MeshPlan("305 yellow", 34, 1321, "mesh supplier B", 14, 10, 1.3, Decimal("25.10")),
)


@dataclass(frozen=True)
class MeterPlan:
    """A tension meter as it really is: what it shows too much, and how much it wavers."""

    name: str
    serial: str
    resolution: float
    shows_too_much: float
    correction: float  # what the shop adds to its readings
    noise: float
    certificate_in_days: int  # from the moment that the demo calls now
    share: float


METERS: tuple[MeterPlan, ...] = (
    MeterPlan("round meter", "TM-2071", 0.1, 0.0, 0.0, 0.18, 214, 0.62),
    MeterPlan("table meter", "TM-1184", 0.5, -0.4, 0.4, 0.26, 96, 0.28),
    MeterPlan("old meter", "0093", 0.5, 0.3, 0.0, 0.36, -47, 0.10),
)


@dataclass(frozen=True)
class FrameGroup:
    """Frames that enter the register together, so many days after it was opened."""

    day: int
    count: int
    size_in: tuple[int, int]
    kind: FrameKind = "glued"
    has_mesh: bool = False
    painted: str = ""  # the shop's own label before the register, with a running number


SMALL, MANUAL, STANDARD, LARGE = (18, 20), (20, 24), (23, 31), (25, 36)

FRAMES: tuple[FrameGroup, ...] = (
    FrameGroup(0, 50, STANDARD, has_mesh=True, painted="T"),
    FrameGroup(0, 14, MANUAL, has_mesh=True, painted="M"),
    FrameGroup(0, 6, LARGE, has_mesh=True, painted="L"),
    FrameGroup(0, 6, STANDARD, "roller", has_mesh=True, painted="R"),
    FrameGroup(1, 8, STANDARD, "roller"),
    FrameGroup(1, 20, STANDARD),
    FrameGroup(1, 10, MANUAL),
    FrameGroup(1, 6, SMALL),
    FrameGroup(1, 4, LARGE),
    FrameGroup(95, 12, STANDARD),
    FrameGroup(95, 12, LARGE),
    FrameGroup(230, 8, MANUAL),
    FrameGroup(230, 6, SMALL),
    FrameGroup(230, 8, STANDARD),
    FrameGroup(330, 8, STANDARD, has_mesh=True),
)
LAST_GROUP = FrameGroup(0, 2, STANDARD, has_mesh=True)  # on the table since this morning

ADHESIVE_LOTS = (("G-0417", "H-118"), ("G-0732", "H-131"))  # glue and hardener
BEST_BEFORE_DAYS = (-96, 41)  # of those lots, from the moment that the demo calls now
LEAD_DAYS, LEAD_SD_DAYS = {"mesh supplier A": 9.0, "mesh supplier B": 16.0}, 2.5
CURRENCY = "crowns"
COSTS = {
    "adhesive": "1.15",
    "activator": "0.35",
    "labour_per_hour": "24",
    "chemistry": "0.80",
    "water": "0.12",
    "stretcher_price": "44.50",
    "freight": "38",
    "screens_per_trip": "10",
    "days_away": "7",
    "equipment_per_month": "95",
}
SECOND_LOT_FROM_DAY = 236
OUTSIDE = "stretching shop across the river"

JOBS: tuple[str, ...] = (
    "harbour festival shirts",
    "school choir bags",
    "rowing club jerseys",
    "bakery aprons",
    "library reading week",
    "street market banner",
    "brass band hoodies",
    "allotment society shirts",
    "night bus posters",
    "ceramics fair totes",
    "climbing hall shirts",
    "film club programme",
    "ferry crew overalls",
    "chess league shirts",
    "garden show tea towels",
)
FRIDAY_JOB = "lantern parade shirts, six colours"
