"""What a screen costs in this shop, and whether stretching in house pays.

Each number comes from whoever knows it best: a "what if", the shop's own word, its journal, its
minutes, a published figure. It keeps what is behind it, so that every cost can be opened down to
the events, movements and rolls that it rests on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from framekeeper.domain.cost_choice import (
    BreakEven,
    Swing,
    break_even,
    frames_away,
    in_house_month,
    missing_for_choice,
    sensitivity,
    sent_out_month,
)
from framekeeper.domain.costs import (
    INPUTS,
    Cost,
    CostInputs,
    InputName,
    reclaim_cost,
    stretch_cost,
    thousand_prints_cost,
    valid_amount,
)
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.cost_inputs import input_named, stored_inputs
from framekeeper.services.cost_journal import told_by_journal
from framekeeper.services.cost_seen import Told, Trace, see
from framekeeper.services.desk import Desk
from framekeeper.services.meshes import find_mesh_type
from framekeeper.services.settings import ShopSettings, shop_settings

Origin = Literal["what_if", "shop", "journal", "minutes", "published", "missing"]

# One worker cleans about 100 screens in a shift of 8 hours (Printwear, December 2014).
PUBLISHED_RECLAIM_MINUTES = Decimal(8 * 60) / 100
_LEAST_DRAWN = Decimal(20)  # screens a month that the lines are drawn to at least


@dataclass(frozen=True, slots=True)
class Number:
    """One number that costs are reckoned from; `value` is None where nobody knows it.

    `told` is what the journal says of it, also where the shop or a "what if" says otherwise.
    """

    name: str
    value: Decimal | None
    origin: Origin
    words: Sentence
    told: Told | None = None

    @property
    def traces(self) -> tuple[Trace, ...]:
        """What is behind it."""
        return self.told.traces if self.told is not None else ()


@dataclass(frozen=True, slots=True)
class KnownCosts:
    """What was read of a shop, before any "what if"."""

    numbers: Mapping[str, Number]
    currency: str
    in_yards: bool  # how this shop measures mesh
    mesh: str  # the name of the mesh that it is about; empty for all
    meshes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MonthPoint:
    """What a month of both ways costs for one number of screens."""

    screens: Decimal
    in_house: Decimal
    sent_out: Decimal


@dataclass(frozen=True, slots=True)
class Costs:
    """All that is told of costs."""

    known: KnownCosts
    numbers: Mapping[str, Number]  # by name, with "screens"
    screens: Decimal
    stretch: Cost
    reclaim: Cost
    thousand: Cost
    in_house: Cost
    sent_out: Cost
    missing: tuple[InputName, ...]  # without which both ways cannot be compared
    frames_away: Decimal | None
    break_even: BreakEven | None
    swings: tuple[Swing, ...]
    line: tuple[MonthPoint, ...]  # both ends of the two straight lines; empty where one is missing

    @property
    def difference(self) -> Decimal | None:
        """What a month in house costs more than sending out."""
        inside, outside = self.in_house.total, self.sent_out.total
        return None if inside is None or outside is None else inside - outside

    @property
    def is_empty(self) -> bool:
        """Whether neither journal nor shop has told anything that a price could be reckoned from.

        The minutes of the settings and the published figure are there from the first day.
        """
        own = ("what_if", "shop", "journal")
        return not any(number.origin in own for number in self.numbers.values())


def costs(
    desk: Desk,
    *,
    screens: Decimal | None = None,
    what_if: Mapping[InputName, Decimal | None] | None = None,
    mesh: str | None = None,
) -> Costs:
    """Tell the costs of this shop.

    Parameters
    ----------
    desk
        The shop.
    screens
        A month; by default as many as the journal counts.
    what_if
        Numbers that stand instead of what the shop or its journal say; None for not known.
    mesh
        The name of one mesh, to count its stretches, cuts and lives alone.

    Raises
    ------
    NotValid
        For a number that cannot be.
    NotFound
        For a mesh that the shop does not know.
    """
    return work_out(gather(desk, mesh=mesh), screens=screens, what_if=what_if)


def gather(desk: Desk, *, mesh: str | None = None) -> KnownCosts:
    """Read what the shop knows."""
    with desk.read() as reader:
        wanted = find_mesh_type(reader, mesh) if mesh else None
        seen = see(desk, reader, wanted.id if wanted else None)
        settings = shop_settings(reader)
        said = stored_inputs(reader)
        meshes = tuple(m.name for m in reader.mesh_types())
    told = told_by_journal(seen)
    numbers: dict[str, Number] = {n: _number(n, said, told, settings) for n in INPUTS}
    return KnownCosts(
        {**numbers, "screens": _screens(told["screens"])},
        settings.currency,
        settings.length_unit == "inch",
        wanted.name if wanted else "",
        meshes,
    )


def work_out(
    known: KnownCosts,
    *,
    screens: Decimal | None = None,
    what_if: Mapping[InputName, Decimal | None] | None = None,
) -> Costs:
    """Reckon with what was read: pure maths, quick enough for a slider."""
    numbers = dict(known.numbers)
    for name, value in (what_if or {}).items():
        numbers[input_named(name)] = _what_if(name, value, known.numbers[name])
    if screens is not None:
        numbers["screens"] = _what_if("screens", screens, known.numbers["screens"])
    inputs = CostInputs(**{name: numbers[name].value for name in INPUTS})
    wanted = numbers["screens"].value
    month = Decimal(1) if wanted is None else wanted
    missing = missing_for_choice(inputs)
    even = None if missing else break_even(inputs)
    return Costs(
        known,
        numbers,
        month,
        stretch_cost(inputs),
        reclaim_cost(inputs),
        thousand_prints_cost(inputs),
        in_house_month(inputs, month),
        sent_out_month(inputs, month),
        missing,
        None if inputs.days_away is None else frames_away(inputs.days_away, month),
        even,
        () if missing else sensitivity(inputs, month),
        () if missing else _line(inputs, month, even),
    )


def _line(inputs: CostInputs, month: Decimal, even: BreakEven | None) -> tuple[MonthPoint, ...]:
    """As far as what is asked and the crossing can both be seen, if that is near enough."""
    far = max(2 * month, _LEAST_DRAWN)
    if even is not None and even.screens is not None and even.screens <= 4 * far:
        far = max(far, even.screens * Decimal("1.5"))
    return tuple(
        MonthPoint(n, in_house_month(inputs, n).known, sent_out_month(inputs, n).known)
        for n in (Decimal(0), far)
    )


# where each number comes from


def _number(
    name: InputName,
    said: Mapping[InputName, Decimal],
    told: Mapping[str, Told],
    settings: ShopSettings,
) -> Number:
    journal = told.get(name)
    if name in said:
        return Number(name, said[name], "shop", say("the shop’s own number"), journal)
    if journal is not None:
        origin: Origin = "missing" if journal.value is None else "journal"
        return Number(name, journal.value, origin, journal.words, journal)
    if name == "stretch_minutes":
        return _stretch_minutes(settings)
    if name == "reclaim_minutes":
        words = say(
            "published: one person cleans about 100 screens in 8 hours (Printwear, December 2014)"
        )
        return Number(name, PUBLISHED_RECLAIM_MINUTES, "published", words)
    if name == "spare_frame_per_month":
        return Number(name, None, "missing", say("not said: spare frames are counted, not priced"))
    return Number(name, None, "missing", say("not said yet"))


def _stretch_minutes(settings: ShopSettings) -> Number:
    minutes = (settings.strip_minutes, settings.restretch_minutes, settings.release_minutes)
    words = say(
        "strip and prep {strip}, stretch {stretch}, release {release}: the shop’s minutes, a "
        "proposal until it measures its own",
        strip=minutes[0],
        stretch=minutes[1],
        release=minutes[2],
    )
    return Number("stretch_minutes", Decimal(sum(minutes)), "minutes", words)


def _screens(told: Told) -> Number:
    origin: Origin = "missing" if told.value is None else "journal"
    return Number("screens", told.value, origin, told.words, told)


def _what_if(name: str, value: Decimal | None, before: Number) -> Number:
    checked = None if value is None else valid_amount(name, value)
    origin: Origin = "missing" if checked is None else "what_if"
    return Number(name, checked, origin, say("what if"), before.told)
