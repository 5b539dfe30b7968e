"""Goes through the sittings of many stretches in order, and finds what does not fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from framekeeper.domain.forecast_curve import covariance, design, noise_variance
from framekeeper.domain.forecast_prior import Array, Sizes

SURPRISE = 3.5  # standard deviations: once in about 4000 sittings by chance
SHIFT = 0.2  # a sudden drop may be any share of the typical tension of this order
BLUNDER = 0.5  # a reading taken back gets so much noise that it says nothing
CHUNK = 2000


@dataclass(frozen=True, slots=True)
class Block:
    """Stretches with equally many sittings; arrays of shape (stretches, sittings)."""

    index: NDArray[np.intp]  # position of each stretch in the whole
    group: NDArray[np.intp]
    typical: Array  # (stretches,)
    day: Array
    cycles: Array
    tension: Array
    repeats: Array

    def part(self, which: NDArray[np.intp] | slice) -> Block:
        """The same for some of the stretches."""
        return Block(
            self.index[which],
            self.group[which],
            self.typical[which],
            self.day[which],
            self.cycles[which],
            self.tension[which],
            self.repeats[which],
        )

    def chunks(self) -> Iterator[Block]:
        """Pieces small enough to stay in the cache."""
        for start in range(0, self.index.size, CHUNK):
            yield self.part(slice(start, start + CHUNK))


@dataclass(frozen=True, slots=True)
class Filtered:
    """What the sittings of a block say, ready for forecasts and for the fleet's sums."""

    block: Block
    factor: Array  # L, lower Cholesky factor of the covariance, (stretches, k, k)
    innovation: Array  # L^-1 (tension - fleet curve), clipped above, (stretches, k)
    design: Array  # L^-1 X, (stretches, k, COLUMNS)
    dropped: NDArray[np.bool_]  # a sudden drop was found at this sitting
    blunder: NDArray[np.bool_]  # this sitting was taken back by the next one


def run_filter(sizes: Sizes, block: Block, curve: Array) -> Filtered:
    """Filter a block around the fleet's curve.

    Parameters
    ----------
    sizes : Sizes
        Of the fitted fleet.
    block : Block
        The sittings.
    curve : Array, shape (groups, COLUMNS)
        Coefficients of each group's curve.

    Notes
    -----
    A row-by-row Cholesky factorisation gives each sitting's standardised surprise given the earlier
    ones (for a Gaussian process the same numbers as a Kalman filter). A surprise below -SURPRISE is
    a sudden drop: from there on the level may have shifted by any amount, so that the drop bends
    neither slope nor fleet. A surprise above +SURPRISE counts as +SURPRISE: cloth does not tighten
    by itself. If it follows a drop at once, the low reading was the blunder and is taken back.
    """
    blunder = np.zeros(block.day.shape, dtype=bool)
    done = _sweep(sizes, block, curve, blunder)
    for _ in range(block.day.shape[1] - 1):
        taken_back = done.dropped[:, :-1] & (_raw_surprise(done) > SURPRISE)[:, 1:]
        if not taken_back.any():
            break
        which = np.flatnonzero(taken_back.any(axis=1))
        blunder[which, np.argmax(taken_back[which], axis=1)] = True
        done = _merge(done, which, _sweep(sizes, block.part(which), curve, blunder[which]))
    return done


def _raw_surprise(done: Filtered) -> Array:
    # a clipped surprise stands exactly at the bound; anything that reached it was clipped
    return np.where(done.innovation >= SURPRISE, np.inf, done.innovation)


def _merge(done: Filtered, which: NDArray[np.intp], new: Filtered) -> Filtered:
    for name in ("factor", "innovation", "design", "dropped", "blunder"):
        getattr(done, name)[which] = getattr(new, name)
    return done


def _sweep(sizes: Sizes, block: Block, curve: Array, blunder: NDArray[np.bool_]) -> Filtered:
    rows = (block.day, block.cycles)
    v = covariance(sizes, rows, rows, block.typical)
    k = block.day.shape[1]
    corner = np.arange(k)
    v[:, corner, corner] += noise_variance(sizes, block.repeats)
    v[:, corner, corner] += blunder * BLUNDER**2
    x = design(block.day, block.cycles, block.typical)
    left = block.tension - np.einsum("skc,sc->sk", x, curve[block.group])
    factor, done = np.zeros_like(v), np.zeros_like(left)
    dropped = np.zeros(left.shape, dtype=bool)
    shift = np.square(SHIFT * block.typical)
    for j in range(k):
        surprise = left[:, j] / np.sqrt(v[:, j, j])
        if j:
            fell = (surprise < -SURPRISE) & ~blunder[:, j]
            if fell.any():
                dropped[fell, j] = True
                v[fell, j:, j:] += shift[fell, None, None]
                surprise = left[:, j] / np.sqrt(v[:, j, j])
            surprise = np.minimum(surprise, SURPRISE)
        root = np.sqrt(v[:, j, j])
        factor[:, j:, j] = v[:, j:, j] / root[:, None]
        done[:, j] = surprise
        column = factor[:, j + 1 :, j]
        x[:, j] /= root[:, None]
        if j + 1 < k:
            v[:, j + 1 :, j + 1 :] -= column[:, :, None] * column[:, None, :]
            left[:, j + 1 :] -= column * surprise[:, None]
            x[:, j + 1 :] -= column[:, :, None] * x[:, j, None]
    return Filtered(block, factor, done, x, dropped, blunder)


def with_shifts(
    cross: Array, dropped: NDArray[np.bool_], typical: Array, day: Array, at: Array
) -> Array:
    """Add the shifts of sudden drops to a covariance of forecast days with sittings.

    Parameters
    ----------
    cross : Array, shape (stretches, forecasts, sittings)
        Covariance without shifts.
    dropped, day : shape (stretches, sittings)
        Where drops were found, and the days of the sittings.
    typical : Array, shape (stretches,)
        Typical tension of each stretch's group.
    at : Array, shape (stretches, forecasts)
        Days of the forecasts.
    """
    if not dropped.any():
        return cross
    size = np.square(SHIFT * typical)[:, None, None]
    for j in np.flatnonzero(dropped.any(axis=0)):
        later = (at >= day[:, j, None]) & dropped[:, j, None]
        after = np.arange(day.shape[1]) >= j
        cross = cross + size * (later[:, :, None] & after)
    return cross
