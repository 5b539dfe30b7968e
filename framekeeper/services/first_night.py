"""What the first night costs, and whether mesh that rested longer before the glue loses less."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from framekeeper.domain.lived_mesh import LivedMesh
from framekeeper.domain.sentence import Sentence, say

LEAST_NIGHTS = 5  # our choice, as for lives: fewer are told one by one
LEAST_FREEDOM = 3  # nights beyond what the line and the levels of the meshes take


@dataclass(frozen=True, slots=True)
class NightPoint:
    """One night: minutes of rest before the glue (None where not told), and percent lost."""

    mesh_name: str
    life: LivedMesh
    rest: int | None
    loss: float


class Slope(NamedTuple):
    """Percent that ten more minutes of rest change the loss by, with a 95 % interval."""

    per_ten_minutes: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Night:
    """The nights that were read alike, and the line through them where there is one.

    Attributes
    ----------
    points : tuple of NightPoint
        With both readings, the first one made at the same point of the work.
    from_clamps : bool
        The first reading was made in the clamps, so the loss at the release is in it.
    others : tuple of NightPoint
        Nights whose first reading was made at the other point; not mixed in.
    mean : float, optional
        Of the losses, in percent.
    slope : Slope, optional
        Each mesh keeps its own level: only within a mesh does a longer rest count.
    why_not : Sentence, optional
        Why there is no slope.
    """

    points: tuple[NightPoint, ...]
    from_clamps: bool
    others: tuple[NightPoint, ...]
    mean: float | None
    slope: Slope | None
    why_not: Sentence | None

    @property
    def rested(self) -> tuple[NightPoint, ...]:
        """The nights whose minutes of rest are known."""
        return tuple(p for p in self.points if p.rest is not None)


def first_nights(told: Iterable[tuple[str, LivedMesh]]) -> Night:
    """Gather the nights, the more frequent way of reading first, and draw a line through them."""
    clamps: list[NightPoint] = []
    release: list[NightPoint] = []
    for mesh_name, life in told:
        night = life.first_night
        if night is not None:
            point = NightPoint(mesh_name, life, life.rest_minutes, night.loss_percent)
            (clamps if night.from_clamps else release).append(point)
    from_clamps = len(clamps) > len(release)
    points, others = (clamps, release) if from_clamps else (release, clamps)
    mean = sum(p.loss for p in points) / len(points) if points else None
    rested = [p for p in points if p.rest is not None]
    why_not = _why_not(rested)
    slope = None if why_not else _slope(rested)
    return Night(tuple(points), from_clamps, tuple(others), mean, slope, why_not)


def _why_not(points: Sequence[NightPoint]) -> Sentence | None:
    meshes = {p.mesh_name for p in points}
    if not points:
        return say(
            "No first night was read yet: it takes a reading before or right after the release, "
            "one the next morning, and the minutes of rest."
        )
    if len({(p.mesh_name, p.rest) for p in points}) == len(meshes):
        return say(
            "Whether a longer rest pays cannot be told: within each mesh all of them rested alike "
            "(first nights: {n}). Let some screens rest longer.",
            n=len(points),
        )
    if len(points) < LEAST_NIGHTS or len(points) - len(meshes) - 1 < LEAST_FREEDOM:
        return say(
            "Only {n} first nights with their rest are known: too few to tell whether a longer "
            "rest pays.",
            n=len(points),
        )
    return None


def _slope(points: Sequence[NightPoint]) -> Slope:
    """Least squares of the loss on the rest, around the mean of each mesh."""
    import numpy as np
    from scipy.special import stdtrit

    _, which = np.unique([p.mesh_name for p in points], return_inverse=True)
    counts = np.bincount(which)
    rest, loss = np.array([p.rest for p in points], float), np.array([p.loss for p in points])
    rest -= (np.bincount(which, rest) / counts)[which]
    loss = loss - (np.bincount(which, loss) / counts)[which]
    spread = float(rest @ rest)
    slope = float(rest @ loss) / spread
    freedom = len(points) - len(counts) - 1
    off = loss - slope * rest
    error = float(np.sqrt(off @ off / freedom / spread))
    reach = float(stdtrit(freedom, 0.975)) * error
    return Slope(10 * slope, 10 * (slope - reach), 10 * (slope + reach))
