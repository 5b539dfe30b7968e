"""The shop's own settings, with defaults that name where they come from."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import TYPE_CHECKING, Any

from framekeeper.domain.details import valid_text
from framekeeper.domain.due import FrameRules, Place
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

BENCHES: tuple[Place, ...] = ("prep", "stretching", "round", "washout", "rack")

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
    # several people may share a bench, so a day may hold more minutes than a clock shows
    **dict.fromkeys((f"{bench}_minutes_a_day" for bench in BENCHES), (0, 100 * 60)),
    **dict.fromkeys(
        ("read_minutes", "look_minutes", "inspect_minutes", "strip_minutes", "regrind_minutes",
         "release_minutes", "restretch_minutes", "set_up_minutes"),
        (0, 8 * 60),
    ),
    "service_level": (50, 99),
    "review_days": (1, 90),
    "lead_time_days": (0, 365),
    "order_cost": (0, 1_000_000),
    "holding_percent": (1, 100),
}  # fmt: skip
_LONGEST = {"currency": 8}  # it stands beside every price
_FIRST_HOLIDAY, _LAST_HOLIDAY = dt.date(1900, 1, 1), dt.date(2199, 12, 31)
_MOST_HOLIDAYS = 2000


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """What a shop chooses for itself."""

    shop_name: str = ""
    length_unit: str = "mm"
    count_unit: str = "inch"
    paper: str = "a4"
    currency: str = ""  # the shop's own short text beside a price
    cut_allowance_mm: int = 102  # 4 in in total: published for frames outside + 4 in
    regrind_after_stretches: int = 5  # our proposal
    cure_minutes: int = 20  # two-part glue dries in 15-20 min (published); the label decides
    rest_minutes: int = 15  # 10-20 minutes before glue: common practice, no source
    point_pattern: str = "5"  # centre and four corners a palm in: published practice
    own_points: tuple[Percent, ...] = ()  # in percent of the inside, x to the right and y down
    working_weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)  # 0 is Monday
    holidays: tuple[dt.date, ...] = ()  # closed all the same
    # Minutes per day at each bench and per task: our proposal, for each shop to measure its own.
    prep_minutes_a_day: int = 120
    stretching_minutes_a_day: int = 240
    round_minutes_a_day: int = 60
    washout_minutes_a_day: int = 120
    rack_minutes_a_day: int = 30
    read_minutes: int = 3  # a reading of one screen
    look_minutes: int = 3  # a look at a frame, or a call to the stretcher
    inspect_minutes: int = 5  # mesh on the light, after many reclaims or damage
    strip_minutes: int = 15  # mesh and old glue off, and the face made ready for new mesh
    regrind_minutes: int = 20
    release_minutes: int = 5
    restretch_minutes: int = 30  # one frame, without the rests
    set_up_minutes: int = 10  # another mesh on the table, another step at the bench
    # What orders of mesh reckon with: our proposal, for each shop to choose.
    service_level: int = 95  # percent: how surely mesh lasts until the delivery
    review_days: int = 7  # from one look at the shelf to the next
    lead_time_days: int = 14  # from order to delivery, where the mesh does not say
    order_cost: int = 0  # of one order whatever its size, in the shop's money; 0 is not told
    holding_percent: int = 20  # of the price, what a year on the shelf costs

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
    if "working_weekdays" in chosen:
        chosen["working_weekdays"] = tuple(chosen["working_weekdays"])
    if "holidays" in chosen:
        chosen["holidays"] = tuple(map(dt.date.fromisoformat, chosen["holidays"]))
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
                work.set_setting(name, _as_json(value))
        changes = work.commit()
    return Done(say("Settings changed."), changes)


def _as_json(value: Any) -> Any:
    """Write dates as texts; everything else is what JSON knows."""
    if isinstance(value, tuple):
        return [part.isoformat() if isinstance(part, dt.date) else part for part in value]
    return value


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
        valid_text(value, argument=name, most=_LONGEST.get(name, 200))
    if name == "working_weekdays":
        _check_weekdays(value)
    if name == "holidays":
        _check_holidays(value)
    low, high = _RANGES.get(name, (0, 0))
    if name in _RANGES and not low <= value <= high:
        raise NotValid(
            say("{name} lies between {low} and {high}.", name=name, low=low, high=high),
            argument=name,
        )


def _check_weekdays(weekdays: tuple[Any, ...]) -> None:
    is_of_a_week = all(type(day) is int and 0 <= day <= 6 for day in weekdays)
    if not weekdays or not is_of_a_week or list(weekdays) != sorted(set(weekdays)):
        raise NotValid(
            say("A shop works on at least one day of the week, each named once, in order."),
            hint=say("Choose the working weekdays."),
            argument="working_weekdays",
        )


def _check_holidays(days: tuple[Any, ...]) -> None:
    are_dates = all(type(day) is dt.date for day in days)
    if not are_dates or list(days) != sorted(set(days)) or len(days) > _MOST_HOLIDAYS:
        raise NotValid(
            say("Closed days are dates, each once, in order, at most {most}.", most=_MOST_HOLIDAYS),
            argument="holidays",
        )
    if days and not _FIRST_HOLIDAY <= days[0] <= days[-1] <= _LAST_HOLIDAY:
        raise NotValid(
            say("A closed day lies outside the years that a shop plans."),
            hint=say("Write the year with four digits, and check them."),
            argument="holidays",
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
