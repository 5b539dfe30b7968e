"""Parts what a meter and its readers add to a reading from what the screens themselves differ."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.numbers import Floats, column
from framekeeper.domain.sentence import say

POOL_ABOVE_P = 0.05
ROUNDING = 1e-12  # of the total sum of squares
DISTINCT = 1.41  # the root of 2 as the industry's manual rounds it (AIAG 2010)


@dataclass(frozen=True)
class GaugeStudy:
    """Result of a gauge study, standard deviations in the unit of the readings.

    Attributes
    ----------
    parts, operators, repeats : int
    repeatability_sd : float
        One person reading one part again.
    operator_sd, interaction_sd, reproducibility_sd : float
        People among themselves, people with certain parts, and both together.
    gauge_sd, part_sd, total_sd : float
        Meter and people together; the parts; everything.
    interaction_f, interaction_p : float
        Test of whether people read certain parts differently.
    pooled : bool
        The interaction was taken for repeatability (p > 0.05, or its component was negative).
    sums_of_squares : dict
        Keys part, operator, interaction, repeatability, total.
    """

    parts: int
    operators: int
    repeats: int
    repeatability_sd: float
    operator_sd: float
    interaction_sd: float
    part_sd: float
    interaction_f: float
    interaction_p: float
    pooled: bool
    sums_of_squares: dict[str, float]

    @property
    def reproducibility_sd(self) -> float:
        """People among themselves, with and without certain parts."""
        return math.hypot(self.operator_sd, self.interaction_sd)

    @property
    def gauge_sd(self) -> float:
        """Meter and people together."""
        return math.hypot(self.repeatability_sd, self.reproducibility_sd)

    @property
    def total_sd(self) -> float:
        """Meter, people and parts together."""
        return math.hypot(self.gauge_sd, self.part_sd)

    @property
    def percent_of_variation(self) -> float:
        """100 gauge_sd / total_sd."""
        return self.percent(self.gauge_sd)

    @property
    def distinct_groups(self) -> float:
        """How many groups of parts the meter can tell apart; whole groups are the floor of it."""
        return DISTINCT * self.part_sd / self.gauge_sd

    def percent(self, sd: float) -> float:
        """One of the standard deviations as a percentage of the total."""
        return 100 * sd / self.total_sd


def gauge_study(part: ArrayLike, operator: ArrayLike, reading: ArrayLike) -> GaugeStudy:
    """Analyse a crossed gauge study: each person reads each part equally often.

    Parameters
    ----------
    part, operator : array_like (n,)
        Labels, at least two of each.
    reading : array_like (n,)
        Readings, at least two of each part by each person.

    Returns
    -------
    GaugeStudy
        Components of a two-way random analysis of variance with interaction [1]_; a negative
        component is zero.

    Raises
    ------
    NotValid
        For NaN, columns of unequal length, or a study that is not balanced.
    NotEnoughData
        For one part, one person or one reading each, and where repeats never differ: the steps of
        the scale then hide the repeatability.

    References
    ----------
    .. [1] Burdick, R. K., Borror, C. M. and Montgomery, D. C. (2003). A review of methods for
       measurement systems capability analysis. J. Quality Technology 35(4), 342-354.
       doi:10.1080/00224065.2003.11980232

    Examples
    --------
    >>> study = gauge_study([1, 1, 1, 1, 2, 2, 2, 2], list("AABBAABB"),
    ...                     [20.0, 20.4, 20.2, 20.6, 25.0, 25.4, 25.2, 25.6])
    >>> [round(sd, 3) for sd in (study.repeatability_sd, study.reproducibility_sd, study.part_sd)]
    [0.253, 0.063, 3.533]
    """
    cells = _cells(part, operator, reading)
    squares, freedom = _analysis(cells)
    if squares["repeatability"] <= ROUNDING * (cells**2).sum():
        raise NotEnoughData(
            say("The repeats never differ, so the repeatability cannot be seen."),
            hint=say("Read to a finer step, or take the meter off between two readings."),
        )
    mean_square = {name: squares[name] / freedom[name] for name in freedom}
    f = mean_square["interaction"] / mean_square["repeatability"]
    p = _upper_tail(f, freedom["interaction"], freedom["repeatability"])
    pooled = p > POOL_ABOVE_P  # a negative component is f < 1, where p is never small
    error = interaction = mean_square["repeatability"]
    if pooled:
        both = ("interaction", "repeatability")
        error = sum(squares[k] for k in both) / sum(freedom[k] for k in both)
        interaction = error
    else:
        interaction = mean_square["interaction"]
    parts, operators, repeats = cells.shape
    return GaugeStudy(
        parts=parts,
        operators=operators,
        repeats=repeats,
        repeatability_sd=math.sqrt(error),
        operator_sd=_component(mean_square["operator"], interaction, parts * repeats),
        interaction_sd=_component(interaction, error, repeats),
        part_sd=_component(mean_square["part"], interaction, operators * repeats),
        interaction_f=f,
        interaction_p=p,
        pooled=pooled,
        sums_of_squares=squares,
    )


def _component(mean_square: float, below: float, readings: int) -> float:
    """Root of a variance component; a negative one is zero."""
    return math.sqrt(max(0.0, (mean_square - below) / readings))


def _upper_tail(f: float, above: int, below: int) -> float:
    from scipy.special import fdtrc

    return float(fdtrc(above, below, f))


def _cells(part: ArrayLike, operator: ArrayLike, reading: ArrayLike) -> Floats:
    """Arrange the readings as (parts, operators, repeats)."""
    values = column("reading", reading)
    indices: list[NDArray[np.intp]] = []
    counts: list[int] = []
    for name, labels in (("part", np.asarray(part)), ("operator", np.asarray(operator))):
        _labelled(name, labels, len(values))
        names, index = np.unique(labels, return_inverse=True)
        indices.append(index)
        counts.append(len(names))
        if len(names) < 2:
            raise NotEnoughData(
                say("A gauge study takes two of each {name} at least.", name=name), argument=name
            )
    cell = indices[0] * counts[1] + indices[1]
    sizes = np.bincount(cell, minlength=counts[0] * counts[1])
    if sizes.min() != sizes.max():
        raise NotValid(
            say("Not every person read every part equally often."),
            hint=say("Read what is missing."),
            argument="reading",
        )
    if sizes[0] < 2:
        raise NotEnoughData(say("Without repeats there is no repeatability."))
    return values[np.argsort(cell, kind="stable")].reshape(*counts, sizes[0])


def _labelled(name: str, labels: NDArray[Any], n: int) -> None:
    if labels.shape != (n,):
        raise NotValid(
            say("{name} must name one for each of the {n} readings.", name=name, n=n),
            argument=name,
        )
    if labels.dtype.kind == "f" and not np.isfinite(labels).all():
        raise NotValid(say("{name} holds a label that is missing.", name=name), argument=name)


def _analysis(cells: Floats) -> tuple[dict[str, float], dict[str, int]]:
    """Sums of squares and degrees of freedom of the two-way analysis."""
    parts, operators, repeats = cells.shape
    cells = cells - cells.mean()
    by_part, by_operator, by_cell = (
        cells.mean(axis=(1, 2)),
        cells.mean(axis=(0, 2)),
        cells.mean(axis=2),
    )
    crossed = by_cell - by_part[:, None] - by_operator[None, :]
    squares = {
        "part": operators * repeats * float((by_part**2).sum()),
        "operator": parts * repeats * float((by_operator**2).sum()),
        "interaction": repeats * float((crossed**2).sum()),
        "repeatability": float(((cells - by_cell[:, :, None]) ** 2).sum()),
        "total": float((cells**2).sum()),
    }
    freedom = {
        "part": parts - 1,
        "operator": operators - 1,
        "interaction": (parts - 1) * (operators - 1),
        "repeatability": parts * operators * (repeats - 1),
    }
    return squares, freedom
