"""The shop's own settings, with defaults that name where they come from."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any

from framekeeper.domain.details import valid_text
from framekeeper.domain.due import FrameRules
from framekeeper.domain.errors import NotValid
from framekeeper.domain.points import PATTERN_NAMES
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

_CHOICES: dict[str, tuple[str, ...]] = {
    "length_unit": ("mm", "inch"),
    "count_unit": ("cm", "inch"),
    "paper": ("a4", "letter"),
    "point_pattern": PATTERN_NAMES,
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


def shop_settings(reader: Reader) -> ShopSettings:
    """Read the settings; what the shop never chose has its default."""
    stored = reader.settings()
    known = {f.name for f in fields(ShopSettings)}
    return ShopSettings(**{name: value for name, value in stored.items() if name in known})


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
        for name, value in values.items():
            if getattr(current, name) != value:
                work.set_setting(name, value)
        changes = work.commit()
    return Done(say("Settings changed."), changes)


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


def cut_allowance_mm(reader: Reader) -> int:
    """Return what the clamps need beyond the frame, both ends together, in mm."""
    return shop_settings(reader).cut_allowance_mm


def frame_rules(reader: Reader) -> FrameRules:
    """Return the shop's thresholds for frames."""
    return FrameRules(regrind_after_stretches=shop_settings(reader).regrind_after_stretches)
