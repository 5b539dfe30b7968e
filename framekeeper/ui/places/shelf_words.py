"""Says what is on the shelf, what an offcut still serves, and how long a batch keeps."""

from __future__ import annotations

from framekeeper.domain.offcuts import Served
from framekeeper.services.offcuts import Serving
from framekeeper.services.stock import Shelf
from framekeeper.services.supplies import SupplyNow
from framekeeper.ui.text import Formatter, tr, tr_count


def serving_words(formatter: Formatter, serving: Serving) -> str:
    """Say which frames an offcut serves, or that it is for scrap."""
    if not serving.has_frames:
        return ""
    if not serving.sizes:
        return tr("Serves no frame: for scrap.")
    first, last = serving.sizes[0], serving.sizes[-1]
    if first == last:
        return tr("Serves {size}.", size=_size(formatter, first))
    return tr(
        "Serves {first} up to {last}.", first=_size(formatter, first), last=_size(formatter, last)
    )


def serving_in_short(formatter: Formatter, serving: Serving | None) -> str:
    """Say the same in a few words for a list: the smallest frame."""
    if serving is None or not serving.has_frames:
        return ""
    if not serving.sizes:
        return tr("none: scrap")
    return _size(formatter, serving.sizes[0])


def batch_words(formatter: Formatter, now: SupplyNow) -> str:
    """Name a batch for a list to choose from: number, name, and until when."""
    supply = now.supply
    said = [supply.batch, supply.name]
    if supply.best_before is not None:
        day = formatter.date(supply.best_before)
        said.append(tr("past {day}", day=day) if now.is_past else tr("until {day}", day=day))
    if supply.opened_on is None:
        said.append(tr("not opened"))
    return " · ".join(word for word in said if word)


def _size(formatter: Formatter, served: Served) -> str:
    size = formatter.size(served.width_mm, served.height_mm)
    return tr("{size}, turned", size=size) if served.is_turned else size


def purpose_words(found: Shelf) -> str:
    """Say in one line what is on the shelf, and what waits for somebody."""
    open_ones = sum(mesh.to_be_completed for mesh in found.mesh_types)
    full = sum(roll.on_hand_mm > 0 and not roll.is_offcut for roll in found.rolls)
    offcuts = len(found.servings)
    words = [
        tr_count("{n} mesh type", "{n} mesh types", len(found.mesh_types)),
        tr_count("{n} roll with mesh on it", "{n} rolls with mesh on them", full),
    ]
    if offcuts:
        words.append(tr_count("{n} offcut", "{n} offcuts", offcuts))
    for_scrap = sum(serving.is_for_scrap for serving in found.servings.values())
    if for_scrap:
        words.append(
            tr_count(
                "{n} offcut serves no frame: scrap it",
                "{n} offcuts serve no frame: scrap them",
                for_scrap,
            )
        )
    if open_ones:
        words.append(tr_count("{n} to be completed", "{n} to be completed", open_ones))
    return ", ".join(words)
