"""What an offcut can still serve, and how much mesh can have come back from a roll at all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

# Mesh gives, and a tape is held by hand: so much of what left a roll may be measured too large.
MEASURED_TOO_LARGE = Fraction(5, 100)  # our proposal


@dataclass(frozen=True, slots=True)
class Served:
    """A frame size that a piece of mesh is large enough for."""

    width_mm: float
    height_mm: float
    is_turned: bool  # only with the short side of the frame along the warp


def piece_mm(width_mm: float, height_mm: float, allowance_mm: int) -> tuple[int, int]:
    """Return the piece for one frame: (length along the roll, width across it), in mm.

    The long side runs along the roll, and the allowance is added once to each side: it is what
    the clamps of both ends need together.

    >>> piece_mm(584.2, 787.4, 102)
    (889, 686)
    """
    long, short = sorted((width_mm, height_mm), reverse=True)
    return round(long) + allowance_mm, round(short) + allowance_mm


def sizes_served(
    width_mm: int,
    length_mm: int,
    frame_sizes: Iterable[tuple[float, float]],
    *,
    allowance_mm: int,
) -> tuple[Served, ...]:
    """List the frame sizes that a piece of mesh serves, the smallest first.

    Parameters
    ----------
    width_mm, length_mm
        The piece, across and along the roll.
    frame_sizes
        Outer sizes of frames, in mm; equal ones count once.
    allowance_mm
        What the clamps of both ends need together.

    Examples
    --------
    >>> sizes_served(700, 900, [(584.2, 787.4), (457.2, 508.0), (900.0, 900.0)], allowance_mm=102)
    (Served(width_mm=457.2, height_mm=508.0, is_turned=False), \
Served(width_mm=584.2, height_mm=787.4, is_turned=False))
    """
    served = []
    for width, height in sorted(set(frame_sizes), key=lambda s: (s[0] * s[1], s)):
        along, across = piece_mm(width, height, allowance_mm)
        if along <= length_mm and across <= width_mm:
            served.append(Served(width, height, is_turned=False))
        elif across <= length_mm and along <= width_mm:
            served.append(Served(width, height, is_turned=True))
    return tuple(served)


def can_come_back(
    new_mm2: int, *, gone_mm2: int, on_frames_mm2: int = 0, came_back_mm2: int = 0
) -> bool:
    """Whether an offcut can be from a roll: no more comes back than left it and is on no frame.

    Parameters
    ----------
    new_mm2
        The area of the offcut.
    gone_mm2
        What left the roll in all: cut, scrapped, or missing at a count.
    on_frames_mm2
        What of it was cut for frames.
    came_back_mm2
        Offcuts that were kept before.

    Examples
    --------
    >>> can_come_back(300_000, gone_mm2=1_000_000, on_frames_mm2=600_000)
    True
    >>> can_come_back(300_000, gone_mm2=1_000_000, on_frames_mm2=600_000, came_back_mm2=300_000)
    False
    """
    free = gone_mm2 - on_frames_mm2 - came_back_mm2
    return new_mm2 <= free + MEASURED_TOO_LARGE * gone_mm2
