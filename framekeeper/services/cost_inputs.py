"""What the shop says of its own costs: prices, wages and the like, kept as exact decimal text.

Nothing is proposed for a price: what the shop never said is not known. A number that the journal
tells may be said here too, and then stands instead of the journal's.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from framekeeper.domain.costs import INPUTS, SHARES, InputName, valid_amount
from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Desk, Done

if TYPE_CHECKING:
    from framekeeper.storage.reader import Reader

HIGHEST = Decimal(10_000_000)  # beyond it no price, count or time of this trade lies
_KEY = "cost_{name}"
_NUMBER = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,9})?", re.ASCII)

WORDS: Mapping[InputName, Sentence] = {
    "mesh_m": say("mesh for a stretch"),
    "price_per_m": say("price of mesh"),
    "waste_share": say("waste of mesh"),
    "adhesive": say("adhesive for a stretch"),
    "activator": say("activator for a stretch"),
    "stretch_minutes": say("minutes for a stretch"),
    "labour_per_hour": say("an hour of labour"),
    "burst_share": say("bursts in the clamps"),
    "chemistry": say("chemistry for a reclaim"),
    "water": say("water for a reclaim"),
    "reclaim_minutes": say("minutes for a reclaim"),
    "prints_per_life": say("prints of a mesh life"),
    "reclaims_per_life": say("reclaims of a mesh life"),
    "stretcher_price": say("stretcher’s price for a screen"),
    "freight": say("freight of a trip"),
    "screens_per_trip": say("screens on a trip"),
    "days_away": say("days away"),
    "equipment_per_month": say("stretcher and tools, a month"),
    "spare_frame_per_month": say("a spare frame, a month"),
}


def input_named(text: str) -> InputName:
    """Return the input of this name.

    Raises
    ------
    NotValid
        If there is none.
    """
    for name in INPUTS:
        if name == text:
            return name
    raise NotValid(
        say("No cost is reckoned from “{name}”.", name=text[:40]),
        hint=say("Name one of {names}.", names=", ".join(INPUTS)),
        argument=text[:40],
    )


def read_amount(name: InputName, text: str) -> Decimal | None:
    """Read what a person types for an input: either decimal sign, shares in percent.

    An empty text, or the word none, is not known.

    Raises
    ------
    NotValid
        With the name as `argument`, for anything that this input cannot be.

    Examples
    --------
    >>> read_amount("burst_share", "4,5"), read_amount("freight", "60")
    (Decimal('0.045'), Decimal('60'))
    """
    plain = text.strip()
    if name in SHARES:
        plain = plain.removesuffix("%").strip()
    if plain.lower() in ("", "none"):
        return None
    if _NUMBER.fullmatch(plain) is None:
        raise NotValid(
            say("“{text}” is no number for: {what}.", text=text.strip()[:40], what=WORDS[name]),
            hint=say("Type a number such as 12.50 or 12,50, without a unit or a currency."),
            argument=name,
        )
    value = Decimal(plain.replace(",", "."))
    if name not in SHARES:
        return _checked(name, value)
    if value >= 100:
        raise NotValid(
            say("{what}: a share lies below 100 %.", what=WORDS[name]),
            hint=say("Type it in percent: a tenth is 10."),
            argument=name,
        )
    return _checked(name, value / 100)


def amount_text(name: InputName, value: Decimal) -> str:
    """Write an input the way it is read back, with a decimal point and no needless zeros."""
    shown = value * 100 if name in SHARES else value
    text = f"{shown:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def stored_inputs(reader: Reader) -> dict[InputName, Decimal]:
    """Return what the shop said."""
    stored = reader.settings()
    said = {name: stored.get(_KEY.format(name=name)) for name in INPUTS}
    return {name: Decimal(text) for name, text in said.items() if text is not None}


def keep_inputs(desk: Desk, values: Mapping[InputName, Decimal | None]) -> Done:
    """Keep what the shop says of its costs; None takes back what it said.

    Raises
    ------
    NotValid
        For an unknown input, or a value that it cannot have.
    """
    checked = {
        input_named(name): None if value is None else _checked(name, value)
        for name, value in values.items()
    }
    with desk.work("costs") as work:
        work.name_subject(", ".join(sorted(checked))[:200])
        known = stored_inputs(work)
        for name, value in checked.items():
            if known.get(name) != value:
                work.set_setting(_KEY.format(name=name), None if value is None else f"{value:f}")
        changes = work.commit()
    return Done(say("The costs are reckoned with these numbers."), changes)


def _checked(name: InputName, value: object) -> Decimal:
    amount = valid_amount(name, value)
    if amount > HIGHEST:
        raise NotValid(
            say("{amount} is too much for: {what}.", amount=f"{amount:f}", what=WORDS[name]),
            hint=say("Check the number."),
            argument=name,
        )
    return amount
