"""What a drawing of a frame shows: plain records that any place, page or paper can fill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from framekeeper.domain.points import BAR_MM
from framekeeper.ui.widgets.marks import Mark

Cloth = Literal["none", "white", "yellow"]


@dataclass(frozen=True, slots=True)
class PointPicture:
    """One point of a survey, from the outer top left corner, with what was read there."""

    x_mm: float
    y_mm: float
    warp: float | None = None
    weft: float | None = None
    mark: Mark | None = None
    lean_n_per_cm: float | None = None  # above (+) or below (-) what it is compared with


@dataclass(frozen=True, slots=True)
class FramePicture:
    """A frame as it lies on the bench, print side up.

    `state` is a state of the life cycle: it decides what is drawn on the bars and on the cloth.
    """

    width_mm: float
    height_mm: float
    cloth: Cloth = "none"
    state: str = "bare"
    is_held: bool = False
    is_reserved: bool = False
    threads_per_cm: float | None = None
    warp_along: Literal["long", "short"] | None = None
    points: tuple[PointPicture, ...] = ()
    bar_mm: float = BAR_MM

    @property
    def warp_is_upright(self) -> bool | None:
        """True where the warp runs from top to bottom in the drawing; None where nobody knows."""
        if self.warp_along is None:
            return None
        return (self.warp_along == "long") == (self.height_mm >= self.width_mm)
