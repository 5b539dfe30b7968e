"""Fits the fleet: from all readings to sizes, curve, drops and a model that answers questions."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from framekeeper.domain import forecast_prior as prior
from framekeeper.domain.errors import NotEnoughData
from framekeeper.domain.forecast_curve import columns_of_group, prior_of_curve
from framekeeper.domain.forecast_filter import Block, Filtered, run_filter
from framekeeper.domain.forecast_model import Fleet, FleetModel
from framekeeper.domain.forecast_prior import Array, Sizes
from framekeeper.domain.forecast_readings import Observations, Sittings, take_sittings
from framekeeper.domain.forecast_sizes import CurveSums, Sample, find_sizes
from framekeeper.domain.sentence import say

SAMPLE_STRETCHES = 400  # sizes need no more; the curve and every forecast use all readings
SAMPLE_SITTINGS = 24
LENGTHS = (2, 4, 6, 8, 12, 16, SAMPLE_SITTINGS)
YEAR = 365.25


def fit_fleet(obs: Observations) -> FleetModel:
    """Fit the tension forecast to the readings of a fleet.

    Parameters
    ----------
    obs : Observations
        All readings; at least one.

    Returns
    -------
    FleetModel
        Where readings are few it says what the prior says: see `forecast_prior`.

    Raises
    ------
    NotEnoughData
        Without any reading.

    Notes
    -----
    One stretch is a Gaussian process: random level, slope in log-time, first night and cycle loss,
    an integrated Wiener process in log-time and a Brownian motion in days, around a fleet curve
    that may bend at knots and is shared in part between mesh groups [1]_. Sizes maximise the
    marginal likelihood of a seeded sample of stretches with weak priors [2]_; the curve and its
    doubt follow from all stretches.

    References
    ----------
    .. [1] N. M. Laird and J. H. Ware (1982), Random-effects models for longitudinal data,
       Biometrics 38(4), 963-974. doi:10.2307/2529876
    .. [2] C. E. Rasmussen and C. K. I. Williams (2006), Gaussian Processes for Machine Learning,
       MIT Press, chapter 5.

    Examples
    --------
    >>> readings = Observations(["a"] * 3, [0, 7, 30], [0, 2, 9], [25.0, 23.6, 22.6], ["77-55"] * 3)
    >>> mean, sd = fit_fleet(readings).predict("a", 60, 18)
    >>> 20.5 < float(mean) < 22.5 and 0.1 < float(sd) < 1.0
    True
    """
    if not len(obs):
        raise NotEnoughData(
            say("There is no tension reading to forecast from."),
            hint=say("Read the tension of a stretched screen first."),
        )
    sittings = take_sittings(obs)
    scale = float(np.median(sittings.tension[sittings.start[:-1]]))
    groups, group, typical = _groups(sittings, scale)
    blocks = build_blocks(sittings, group, typical, scale)
    sizes, curve = _sizes(blocks, len(groups), sittings)
    curve, doubt, filtered = _curve(sizes, blocks, len(groups), curve)
    fleet = Fleet(
        scale,
        groups,
        typical,
        sizes,
        curve,
        doubt,
        *_drops(filtered),
    )
    return FleetModel.of(fleet, sittings)


def _groups(sittings: Sittings, scale: float) -> tuple[list[object], NDArray[np.intp], Array]:
    """Names of the groups, the group of each stretch, and each group's typical starting tension."""
    names, group = np.unique(np.asarray(sittings.groups), return_inverse=True)
    first = sittings.tension[sittings.start[:-1]] / scale
    typical = np.array([np.median(first[group == g]) for g in range(names.size)])
    return names.tolist(), group, typical


def build_blocks(
    sittings: Sittings, group: NDArray[np.intp], typical: Array, scale: float
) -> list[Block]:
    """Stretches sorted into blocks of equally many sittings."""
    count = np.diff(sittings.start)
    blocks = []
    for k in np.unique(count):
        index = np.flatnonzero(count == k)
        rows = sittings.start[index][:, None] + np.arange(k)
        blocks.append(
            Block(
                index,
                group[index],
                typical[group[index]],
                sittings.day[rows],
                sittings.cycles[rows],
                sittings.tension[rows] / scale,
                sittings.repeats[rows],
            )
        )
    return blocks


def _prior_curve(groups: int, sizes: Sizes) -> Array:
    mean, _ = prior_of_curve(sizes, groups)
    return np.array([mean[columns_of_group(g)] for g in range(groups)])


def _sizes(blocks: list[Block], groups: int, sittings: Sittings) -> tuple[Sizes, Array]:
    """Sizes from a seeded sample, sought again once the drops are known better."""
    sample = _sample(blocks, int(sittings.start.size - 1))
    sizes = prior.USUAL_SIZES
    centre = _prior_curve(groups, sizes)
    repeats = (sittings.repeat_squares, sittings.repeat_freedom)
    curve = centre
    for _ in range(2):
        curve, _, filtered = _curve(sizes, sample, groups, curve)
        sizes = find_sizes(_padded(filtered, curve, centre), groups, repeats, sizes)
    return sizes, curve


def _padded(filtered: list[Filtered], curve: Array, centre: Array) -> list[Sample]:
    """Few samples of few lengths: many small ones would cost more than the padding."""
    by_length: dict[int, list[Sample]] = {}
    for done in filtered:
        k = done.block.day.shape[1]
        length = next(size for size in LENGTHS if size >= k)
        by_length.setdefault(length, []).append(Sample.of(done, curve, centre, length))
    return [Sample.joined(parts) for parts in by_length.values()]


def _sample(blocks: list[Block], stretches: int) -> list[Block]:
    """A seeded sample, long histories thinned to evenly spaced sittings."""
    chosen = np.ones(stretches, dtype=bool)
    if stretches > SAMPLE_STRETCHES:
        chosen[:] = False
        draw = np.random.default_rng(stretches).permutation(stretches)
        chosen[draw[:SAMPLE_STRETCHES]] = True
    parts = [block.part(np.flatnonzero(chosen[block.index])) for block in blocks]
    return [_thinned(part) for part in parts if part.index.size]


def _thinned(block: Block) -> Block:
    k = block.day.shape[1]
    if k <= SAMPLE_SITTINGS:
        return block
    keep = np.unique(np.linspace(0, k - 1, SAMPLE_SITTINGS).round().astype(np.intp))
    return Block(
        block.index,
        block.group,
        block.typical,
        block.day[:, keep],
        block.cycles[:, keep],
        block.tension[:, keep],
        block.repeats[:, keep],
    )


def _curve(
    sizes: Sizes, blocks: Iterable[Block], groups: int, curve: Array
) -> tuple[Array, Array, list[Filtered]]:
    """Coefficients of each group's curve, their covariance, and the filtered sittings.

    Twice, because drops and wild readings are judged around the curve that they must not bend.
    """
    chunks = [chunk for block in blocks for chunk in block.chunks()]
    mean, spread = prior_of_curve(sizes, groups)
    where = [columns_of_group(g) for g in range(groups)]
    doubt = np.zeros(0)
    filtered: list[Filtered] = []
    for _ in range(2):
        filtered = [run_filter(sizes, chunk, curve) for chunk in chunks]
        sums = CurveSums.empty(groups)
        for done in filtered:
            sums.add(done.block, done.design, done.innovation)
        cross, right = sums.assembled()
        inverse = np.linalg.inv(cross + np.diag(1 / spread))
        current = _flat(curve, mean.size, where)
        new = current + inverse @ (right + (mean - current) / spread)
        curve = np.array([new[w] for w in where])
        doubt = np.array([inverse[np.ix_(w, w)] for w in where])
    return curve, doubt, filtered


def _flat(curve: Array, size: int, where: list[NDArray[np.intp]]) -> Array:
    flat = np.zeros(size)
    for row, columns in zip(curve, where, strict=True):
        flat[columns] = row
    return flat


def _drops(filtered: list[Filtered]) -> tuple[float, float]:
    """Sudden drops per day, and their usual size as a share of the typical tension."""
    seen, lost = prior.DROPS_SEEN_BEFORE, prior.USUAL_DROP * prior.DROPS_AS_USUAL
    days, weight = prior.YEARS_SEEN_BEFORE * YEAR, prior.DROPS_AS_USUAL
    for done in filtered:
        days += float(np.sum(done.block.day[:, -1] - done.block.day[:, 0]))
        which, at = np.nonzero(done.dropped)
        size = done.innovation[which, at] * done.factor[which, at, at]
        seen += which.size
        lost += float(np.sum(-size / done.block.typical[which]))
        weight += which.size
    return seen / days, lost / weight
