"""The shop's own settings, with defaults that name where they come from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from framekeeper.domain.details import valid_text
from framekeeper.domain.due import FrameRules
from framekeeper.domain.errors import NotValid
from framekeeper.domain.points import (
    OWN,
    PATTERN_NAMES,
    Percent,
    pattern_with,
    point_pattern,
    points_in,
    valid_own_points,
)
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

_CHOICES: dict[str, tuple[str, ...]] = {
    "length_unit": ("mm", "inch"),
    "count_unit": ("cm", "inch"),
    "paper": ("a4", "letter"),
    "point_pattern": (*PATTERN_NAMES, OWN),
}
_RANGES: dict[str, tuple[int, int]] = {
    "cut_allowance_mm": (0, 1000),
    "regrind_after_stretches": (1, 1000),
    "cure_minutes": (0, 7 * 24 * 60),
    "rest_minutes": (0, 24 * 60),
}


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """What a shop chooses for itself."""

    shop_name: str = ""
    length_unit: str = "mm"
    count_unit: str = "inch"
    paper: str = "a4"
    cut_allowance_mm: int = 102  # 4 in in total: published for frames outside + 4 in
    regrind_after_stretches: int = 5  # our proposal
    cure_minutes: int = 20  # two-part glue dries in 15-20 min (published); the label decides
    rest_minutes: int = 15  # 10-20 minutes before glue: common practice, no source
    point_pattern: str = "5"  # centre and four corners a palm in: published practice
    own_points: tuple[Percent, ...] = ()  # in percent of the inside, x to the right and y down

    @property
    def patterns(self) -> tuple[str, ...]:
        """The patterns that a survey of this shop can be read in."""
        return (*PATTERN_NAMES, OWN) if self.own_points else PATTERN_NAMES

    @property
    def points_of_a_survey(self) -> int:
        """How many points the shop reads on a screen."""
        return points_in(self.point_pattern, self.own_points)

    def pattern_with(self, count: int) -> str | None:
        """Name the pattern that a survey of so many points was read in, if one has as many."""
        return pattern_with(count, self.point_pattern, self.own_points)

    def places(
        self, pattern: str, width_mm: float, height_mm: float
    ) -> tuple[tuple[float, float], ...]:
        """Lay the points of a pattern on a frame, mm from its outer top left corner."""
        return point_pattern(pattern, width_mm, height_mm, own=self.own_points)


def shop_settings(reader: Reader) -> ShopSettings:
    """Read the settings; what the shop never chose has its default."""
    stored = reader.settings()
    known = {f.name for f in fields(ShopSettings)}
    chosen = {name: value for name, value in stored.items() if name in known}
    if "own_points" in chosen:  # JSON has lists
        chosen["own_points"] = tuple((x, y) for x, y in chosen["own_points"])
    return ShopSettings(**chosen)


def read_settings(desk: Desk) -> ShopSettings:
    """Read the settings of a shop."""
    with desk.read() as reader:
        return shop_settings(reader)


def change_settings(desk: Desk, **values: Any) -> Done:
    """Change settings of the shop.

    Raises
    ------
    NotValid
        For an unknown setting or a value that it cannot have.
    """
    for name, value in values.items():
        _check(name, value)
    with desk.work("settings") as work:
        work.name_subject(", ".join(sorted(values)))
        current = shop_settings(work)
        _check_own_points(replace(current, **values))
        for name, value in values.items():
            if getattr(current, name) != value:
                work.set_setting(name, value)
        changes = work.commit()
    return Done(say("Settings changed."), changes)


def own_points_in(text: str) -> tuple[Percent, ...]:
    """Read points as a person writes them: "50 50; 12,5 20" is the middle and one near a corner.

    Raises
    ------
    NotValid
        For anything that is not two numbers for each point; see `valid_own_points`.
    """
    written = [part.replace(",", ".").split() for part in text.split(";") if part.strip()]
    if not written:
        return ()
    return valid_own_points([tuple(map(_share, part)) for part in written])


def own_points_text(points: Sequence[Percent]) -> str:
    """Write points the way they are read back."""
    return "; ".join(f"{x:g} {y:g}" for x, y in points)


def _share(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan  # refused with the point that it belongs to


def _check(name: str, value: Any) -> None:
    known = {name: type(value) for name, value in asdict(ShopSettings()).items()}
    if name not in known or type(value) is not known[name]:
        raise NotValid(say("There is no setting {name} of that kind.", name=name), argument=name)
    if name in _CHOICES and value not in _CHOICES[name]:
        raise NotValid(
            say("{name} is one of {choices}.", name=name, choices=", ".join(_CHOICES[name])),
            argument=name,
        )
    if isinstance(value, str):
        valid_text(value, argument=name, most=200)
    low, high = _RANGES.get(name, (0, 0))
    if name in _RANGES and not low <= value <= high:
        raise NotValid(
            say("{name} lies between {low} and {high}.", name=name, low=low, high=high),
            argument=name,
        )


def _check_own_points(wanted: ShopSettings) -> None:
    if wanted.own_points:
        valid_own_points(wanted.own_points)
    elif wanted.point_pattern == OWN:
        raise NotValid(
            say("This shop has no points of its own to read at."),
            hint=say("Say where they lie, or choose another pattern."),
            argument="own_points",
        )


def cut_allowance_mm(reader: Reader) -> int:
    """Return what the clamps need beyond the frame, both ends together, in mm."""
    return shop_settings(reader).cut_allowance_mm


def frame_rules(reader: Reader) -> FrameRules:
    """Return the shop's thresholds for frames."""
    return FrameRules(regrind_after_stretches=shop_settings(reader).regrind_after_stretches)
