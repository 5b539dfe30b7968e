"""How much mesh the shop uses: cuts and scrap per month and mesh, offcuts at their share.

And which movements count at all, once some were taken back.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from framekeeper.domain.records import MeshTypeRecord, MoveRecord, RollRecord

Key = tuple[dt.date, int]


@dataclass(frozen=True, slots=True)
class Usage:
    """Mesh that was used in one month: pieces, length along the roll, and scrap."""

    month: dt.date  # its first day, in the shop's zone
    mesh: MeshTypeRecord
    pieces: int
    cut_mm: int  # less what came back as offcuts
    scrapped_mm: int


def shares(rolls: Iterable[RollRecord]) -> dict[int, Fraction]:
    """Return how wide each roll is as a share of the roll that was bought.

    A metre of an offcut that is a third as wide as its roll is a third of a metre of that roll.
    """
    known = {roll.id: roll for roll in rolls}
    return {
        roll.id: Fraction(roll.width_mm, bought(roll, known).width_mm) for roll in known.values()
    }


def bought(roll: RollRecord, known: Mapping[int, RollRecord]) -> RollRecord:
    """Follow an offcut to the roll that was bought."""
    while roll.from_roll_id is not None and roll.from_roll_id in known:
        roll = known[roll.from_roll_id]
    return roll


def tally(
    moves: Iterable[MoveRecord],
    mesh_types: Mapping[int, MeshTypeRecord],
    zone: dt.tzinfo,
    rolls: Iterable[RollRecord] = (),
) -> list[Usage]:
    """Sum cuts and scrap per month and mesh; a movement and its reversal cancel out.

    An offcut that is kept gives back its share of the cut, and a cut from it takes that share
    again; so what is cut, kept and used later counts once, in metres of the roll that was bought.
    """
    listed = {roll.id: roll for roll in rolls}
    share = shares(listed.values())
    pieces: dict[Key, int] = defaultdict(int)
    cut: dict[Key, Fraction] = defaultdict(Fraction)
    scrapped: dict[Key, Fraction] = defaultdict(Fraction)
    for move in moves:
        month = move.happened_at.astimezone(zone).date().replace(day=1)
        key = (month, move.mesh_type_id)
        length = move.length_mm * share.get(move.roll_id or 0, Fraction(1))
        if move.kind == "cut":
            pieces[key] += 1 if move.length_mm < 0 else -1
            cut[key] -= length
        elif move.kind == "scrapped":
            scrapped[key] -= length
        elif move.kind == "received" and _is_offcut(listed.get(move.roll_id or 0)):
            cut[key] -= length
    keys = sorted(cut.keys() | scrapped.keys(), key=lambda k: (-k[0].toordinal(), k[1]))
    return [
        Usage(k[0], mesh_types[k[1]], pieces[k], round(cut[k]), round(scrapped[k]))
        for k in keys
        if cut[k] or scrapped[k]
    ]


def _is_offcut(roll: RollRecord | None) -> bool:
    return roll is not None and roll.is_offcut


def standing(moves: Iterable[MoveRecord]) -> list[MoveRecord]:
    """Leave out what was taken back, and what only takes back."""
    listed = list(moves)
    by_id = {move.id: move for move in listed}
    reversed_ids = {move.reverses_id for move in listed}
    return [move for move in listed if move.id not in reversed_ids and _links(move, by_id) % 2 == 0]


def _links(move: MoveRecord, by_id: dict[int, MoveRecord]) -> int:
    """How often it was taken back and done again: an odd number takes something back."""
    links = 0
    while move.reverses_id is not None:
        links += 1
        if move.reverses_id not in by_id:
            break
        move = by_id[move.reverses_id]
    return links
