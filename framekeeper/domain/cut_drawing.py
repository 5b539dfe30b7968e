"""A cut plan as it is drawn and written, in a person's words: the same on screen and on paper."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    """A piece in its row, in mm from the left selvage; its warp runs along the roll, as all do."""

    x_mm: float
    width_mm: float
    length_mm: float
    code: str
    name: str  # the code, with the shop's own label
    size: str  # across by along
    turned: str = ""  # the word for it, where the long side lies across the roll


@dataclass(frozen=True, slots=True)
class DrawnRest:
    """What is left beside the pieces of a row."""

    x_mm: float
    width_mm: float
    size: str
    kept: str = ""  # the word for it, where it goes back to the shelf


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """One cut across the whole roll, and what lies in the strip that it frees."""

    number: str
    y_mm: float
    length_mm: float
    length: str
    pieces: tuple[DrawnPiece, ...]
    rest: DrawnRest | None
    words: str  # the whole row as a sentence


@dataclass(frozen=True, slots=True)
class DrawnRoll:
    """The rows that come off one roll."""

    title: str
    width_mm: float
    used_mm: float
    rows: tuple[DrawnRow, ...]


@dataclass(frozen=True, slots=True)
class DrawnPlan:
    """All of a plan."""

    summary: tuple[str, ...]
    rolls: tuple[DrawnRoll, ...]
    unplaced: tuple[str, ...] = ()

    @property
    def spoken(self) -> str:
        """The plan in words, for whoever does not see the drawing."""
        lines = [*self.summary]
        for roll in self.rolls:
            lines += [roll.title, *(row.words for row in roll.rows)]
        return "\n".join([*lines, *self.unplaced])
