"""Puts costs into words: the place, the paper, the command line and tests say them alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from framekeeper.domain.cost_choice import Swing
from framekeeper.domain.costs import INPUTS, SHARES, Cost, InputName, Part, PartName
from framekeeper.domain.money import per_yard
from framekeeper.domain.sentence import Running, Sentence, say
from framekeeper.services.cost_inputs import WORDS
from framekeeper.services.costs import Costs, KnownCosts, Number, Origin

SCREENS_WORDS = say("screens a month")
ORIGIN_WORDS: Mapping[Origin, Sentence] = {
    "what_if": say("what if"),
    "shop": say("own"),
    "journal": say("journal"),
    "minutes": say("proposal"),
    "published": say("published"),
    "missing": say("not known"),
}
PART_WORDS: Mapping[PartName, Sentence] = {
    "mesh": say("mesh"),
    "waste": say("waste of mesh"),
    "adhesive": say("adhesive"),
    "activator": say("activator"),
    "labour": say("labour"),
    "bursts": say("what bursts, done again"),
    "chemistry": say("chemistry"),
    "water": say("water"),
    "stretches": say("stretches"),
    "reclaims": say("reclaims"),
    "equipment": say("stretcher and tools"),
    "stretcher": say("the stretcher’s price"),
    "freight": say("freight"),
    "spare_frames": say("spare frames"),
}
_ASSUMED = say(
    "Trips go when they are full, the stretcher’s price holds mesh and glue, and a screen from "
    "outside lasts as long as one from here."
)
_SHARED: Mapping[str, Sentence] = {
    "thousand.stretches": say("a stretch, over the prints of a mesh life"),
    "thousand.reclaims": say("the reclaims of a mesh life, over its prints"),
    "in_house.stretches": say("a stretch, for each screen"),
}
_MONEY: frozenset[str] = frozenset(
    {"adhesive", "activator", "labour_per_hour", "chemistry", "water",
     "stretcher_price", "freight", "equipment_per_month", "spare_frame_per_month"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the table of costs: a cost (then it is a head) or one of its parts."""

    key: str
    words: Sentence
    amount: Decimal | None
    at_least: Decimal | None  # of a cost that is not known whole
    is_head: bool
    rests_on: tuple[InputName, ...]
    missing: tuple[InputName, ...]


def cost_lines(found: Costs) -> tuple[CostLine, ...]:
    """List the costs with their parts, in the order of the table."""
    month = float(found.screens)
    costs: tuple[tuple[str, Sentence, Cost], ...] = (
        ("stretch", say("A stretch"), found.stretch),
        ("reclaim", say("A reclaim"), found.reclaim),
        ("thousand", say("A thousand prints"), found.thousand),
        ("in_house", say("A month in house, {n:.0f} screens", n=month), found.in_house),
        ("sent_out", say("A month sent out, {n:.0f} screens", n=month), found.sent_out),
    )
    return tuple(line for key, words, cost in costs for line in _lines(key, words, cost))


def _lines(key: str, words: Sentence, cost: Cost) -> Iterator[CostLine]:
    known = cost.known if cost.total is None and cost.known > 0 else None
    yield CostLine(key, words, cost.total, known, True, cost.rests_on, cost.missing)
    for part in cost.parts:
        yield _part(key, part)


def _part(key: str, part: Part) -> CostLine:
    name = f"{key}.{part.name}"
    words = PART_WORDS[part.name]
    return CostLine(name, words, part.amount, None, False, part.rests_on, part.missing)


def money(amount: Decimal, currency: str) -> Sentence:
    """Write an amount with the shop's own text for its currency, if it has one."""
    if not currency:
        return say("{amount:.2f}", amount=float(amount))
    return say("{amount:.2f} {currency}", amount=float(amount), currency=currency)


def amount_words(line: CostLine, currency: str) -> Sentence:
    """Write the amount of a line; of a cost that is not known whole, what is known of it."""
    if line.amount is not None:
        return money(line.amount, currency)
    if line.at_least is not None:
        return say("{known} and more", known=money(line.at_least, currency))
    return say("not known")


def mesh_price_words(per_m: Decimal, known: KnownCosts) -> Sentence:
    """Write the price of mesh by the metre, or by the yard where the shop measures in inches."""
    if known.in_yards:
        return say("{price} per yd", price=money(per_yard(per_m), known.currency))
    return say("{price} per m", price=money(per_m, known.currency))


def input_words(name: str) -> Sentence:
    """Name an input, or the screens of a month."""
    for known in INPUTS:
        if known == name:
            return WORDS[known]
    return SCREENS_WORDS


def names_words(names: Iterable[str]) -> Sentence:
    """Name several inputs in a row."""
    return _row([input_words(name) for name in names])


def rests_words(line: CostLine) -> Sentence:
    """Say what a part rests on; of a share of a whole cost, that cost and what shares it out."""
    if line.is_head:
        return say("")
    return _SHARED.get(line.key) or names_words(line.rests_on)


def _row(words: list[Sentence]) -> Sentence:
    named = {f"w{place}": said for place, said in enumerate(words)}
    return Sentence(", ".join("{" + name + "}" for name in named), named)


def value_words(name: str, value: Decimal | None, known: KnownCosts) -> Sentence:
    """Write the value of an input: shares in percent, prices with the currency, mesh in m or yd."""
    if value is None:
        return say("—")
    if name == "mesh_m":
        return say("{length:.2f}", length=Running(float(1000 * value)))
    if name == "price_per_m":
        return mesh_price_words(value, known)
    if name in _MONEY:
        return money(value, known.currency)
    if name in SHARES:
        return say("{share:.1f} %", share=float(100 * value))
    if name == "prints_per_life" or value == value.to_integral_value():
        return say("{value:.0f}", value=float(value))
    return say("{value:.1f}", value=float(value))


def number_words(number: Number, known: KnownCosts) -> Sentence:
    """Say one number in a whole line: what it is, its value, and where it comes from."""
    return say(
        "{what}: {value} ({words})",
        what=input_words(number.name),
        value=value_words(number.name, number.value, known),
        words=number.words,
    )


def missing_names(found: Costs) -> tuple[InputName, ...]:
    """The inputs that a cost lacks, each once."""
    costs = (found.stretch, found.reclaim, found.thousand, found.in_house, found.sent_out)
    return tuple(dict.fromkeys(name for cost in costs for name in cost.missing))


def missing_words(found: Costs) -> Sentence | None:
    """Say what is not known, once for all costs; None where nothing is missing."""
    names = missing_names(found)
    return say("Not known yet: {names}.", names=names_words(names)) if names else None


def choice_words(found: Costs) -> Sentence:
    """Say which way is cheaper for the number of screens that is asked for."""
    cheaper = found.difference
    inside, outside = found.in_house.total, found.sent_out.total
    if cheaper is None or inside is None or outside is None:
        return say(
            "Both ways cannot be compared before this is known: {names}.",
            names=names_words(found.missing),
        )
    values = {
        "n": float(found.screens),
        "inside": money(inside, found.known.currency),
        "outside": money(outside, found.known.currency),
        "much": money(abs(cheaper), found.known.currency),
    }
    if cheaper < 0:
        template = (
            "{n:.0f} screens a month cost {inside} in house and {outside} sent out: in house saves "
            "{much}."
        )
    elif cheaper > 0:
        template = (
            "{n:.0f} screens a month cost {inside} in house and {outside} sent out: sending out "
            "saves {much}."
        )
    else:
        template = "{n:.0f} screens a month cost {inside} either way."
    return Sentence(template, values)


def break_even_words(found: Costs) -> Sentence | None:
    """Say from how many screens on one way pays; None where that cannot be told."""
    even = found.break_even
    if even is None:
        return None
    if even.screens is None:
        return {
            "always": say("Stretching in house is always cheaper, whatever the number of screens."),
            "never": say("Stretching in house never pays, whatever the number of screens."),
            "equal": say("Both ways always cost the same."),
        }[even.kind]
    return say("Stretching in house pays from {n:.1f} screens a month on.", n=float(even.screens))


def away_words(found: Costs) -> Sentence | None:
    """Say how many more frames sending out takes; None where nobody knows how long it takes."""
    if found.frames_away is None:
        return None
    values = {"n": float(found.frames_away), "days": float(found.numbers["days_away"].value or 0)}
    if found.numbers["spare_frame_per_month"].value is None:
        return Sentence(
            "Sending out keeps {n:.1f} frames away on average ({days:.1f} days); they are counted, "
            "not priced.",
            values,
        )
    return Sentence(
        "Sending out keeps {n:.1f} frames away on average ({days:.1f} days); they are in its cost.",
        values,
    )


def assumed_words() -> Sentence:
    """Say what the comparison takes for granted."""
    return _ASSUMED


def told_swings(found: Costs) -> tuple[Swing, ...]:
    """The inputs that move the difference at all, the most first."""
    return tuple(swing for swing in found.swings if swing.reach > 0)


def swing_words(swing: Swing, known: KnownCosts) -> Sentence:
    """Say what one input moves, in a whole sentence."""
    return say(
        "{what}: at {low} in house is {at_low}, at {high} it is {at_high}.",
        what=input_words(swing.name),
        low=value_words(swing.name, swing.low, known),
        high=value_words(swing.name, swing.high, known),
        at_low=against_words(swing.at_low, known),
        at_high=against_words(swing.at_high, known),
    )


def against_words(difference: Decimal, known: KnownCosts) -> Sentence:
    """Say how much in house is dearer or cheaper than sending out."""
    much = money(abs(difference), known.currency)
    if difference > 0:
        return say("{much} dearer", much=much)
    return say("{much} cheaper", much=much) if difference < 0 else say("as dear")


def bars_words() -> Sentence:
    """Say how to read the bars of all inputs."""
    return say(
        "What matters most: each bar is one number alone, 20 % lower and higher. To the left in "
        "house is cheaper."
    )


def difference_words(found: Costs) -> Sentence:
    """Say what the bars of all inputs start from; it is known where there are bars."""
    return say(
        "With the numbers as they are, a month in house is {much} than sending out. {bars}",
        much=against_words(found.difference or Decimal(0), found.known),
        bars=bars_words(),
    )
