"""Finds how much screens differ and readings scatter, by marginal likelihood with weak priors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from framekeeper.domain import forecast_prior as prior
from framekeeper.domain.forecast_curve import (
    COLUMNS,
    FLEET_COLUMNS,
    KNOTS,
    alone_share,
    columns_of_group,
    components,
    design,
    prior_of_curve,
)
from framekeeper.domain.forecast_filter import BLUNDER, SHIFT, Block, Filtered
from framekeeper.domain.forecast_prior import Array, Sizes


@dataclass(frozen=True, slots=True)
class CurveSums:
    """Sums over stretches from which the fleet's curve follows; they add up."""

    cross: Array  # X' V^-1 X of each group, (groups, COLUMNS, COLUMNS)
    right: Array  # X' V^-1 r of each group, (groups, COLUMNS)

    @classmethod
    def empty(cls, groups: int) -> CurveSums:
        """Start with no stretch."""
        return cls(np.zeros((groups, COLUMNS, COLUMNS)), np.zeros((groups, COLUMNS)))

    def add(self, block: Block, half_design: Array, innovation: Array) -> None:
        """Add stretches: L^-1 X and L^-1 r as a filter gives them."""
        for group in np.unique(block.group):
            which = block.group == group
            x = half_design[which].reshape(-1, COLUMNS)
            self.cross[group] += x.T @ x
            self.right[group] += x.T @ innovation[which].ravel()

    def add_products(
        self, groups: NDArray[np.intp], x: Array, solved: Array, departure: Array
    ) -> None:
        """Add stretches: X, V^-1 X and r."""
        for group in np.unique(groups):
            which = groups == group
            w = solved[which].reshape(-1, COLUMNS)
            self.cross[group] += x[which].reshape(-1, COLUMNS).T @ w
            self.right[group] += w.T @ departure[which].ravel()

    def assembled(self) -> tuple[Array, Array]:
        """The same for all coefficients: fleet's first, then each group's own."""
        groups = self.right.shape[0]
        size = columns_of_group(groups - 1)[-1] + 1
        cross, right = np.zeros((size, size)), np.zeros(size)
        for group in range(groups):
            where = columns_of_group(group)
            cross[np.ix_(where, where)] += self.cross[group]
            right[where] += self.right[group]
        return cross, right


@dataclass(frozen=True, slots=True)
class Sample:
    """Stretches with their drops settled and wild readings clipped, padded to one length.

    A padded row knows nothing: no design, no departure, a variance of one by itself.
    """

    group: NDArray[np.intp]
    departure: Array  # tension less the prior mean curve, (stretches, k)
    design: Array  # (stretches, k, COLUMNS)
    ways: Array  # covariance of each way to leave the fleet, (ways, stretches, k, k)
    alone: Array  # share of the noise that repeats average out, 0 in padded rows, (stretches, k)
    real: Array  # 1 in true rows, 0 in padded ones
    extra: Array  # variance of shifts, blunders and padding, (stretches, k, k)

    @classmethod
    def of(cls, done: Filtered, curve: Array, centre: Array, length: int) -> Sample:
        """Take over what a filter found around `curve`; measure departures from `centre`."""
        block, pad = done.block, length - done.block.day.shape[1]
        x = design(block.day, block.cycles, block.typical)
        moved = np.einsum("skc,sc->sk", x, (curve - centre)[block.group])
        departure = np.einsum("sij,sj->si", done.factor, done.innovation) + moved
        after = np.cumsum(done.dropped, axis=1)
        shifts = np.minimum(after[:, :, None], after[:, None, :])
        extra = shifts * np.square(SHIFT * block.typical)[:, None, None]
        corner = np.arange(length)
        extra[:, corner[: length - pad], corner[: length - pad]] += done.blunder * BLUNDER**2
        extra = np.pad(extra, ((0, 0), (0, pad), (0, pad)))
        extra[:, corner[length - pad :], corner[length - pad :]] = 1
        rows = (block.day, block.cycles)
        ways = np.array(list(components(rows, rows, block.typical)))
        row_pad = ((0, 0), (0, pad))
        return cls(
            block.group,
            np.pad(departure, row_pad),
            np.pad(x, (*row_pad, (0, 0))),
            np.pad(ways, ((0, 0), *row_pad, (0, pad))),
            np.pad(alone_share(block.repeats), row_pad),
            np.pad(np.ones_like(departure), row_pad),
            extra,
        )

    @classmethod
    def joined(cls, parts: list[Sample]) -> Sample:
        """Samples of one length as one."""
        return cls(
            *(
                np.concatenate([getattr(p, n) for p in parts], axis=int(n == "ways"))
                for n in cls.__slots__
            )
        )


class Evidence:
    """Log posterior density of the sizes, the fleet's curve integrated out, with its slope."""

    def __init__(self, samples: list[Sample], groups: int, repeats: tuple[float, int]) -> None:
        self.samples, self.groups, self.repeats = samples, groups, repeats

    def __call__(self, log_sizes: Array) -> tuple[float, Array]:
        """Minus the log density and its gradient.

        Notes
        -----
        With V = sum of size^2 K over the ways, P the precision of the curve b and e = r - X b,
        the derivative by log(size) is size^2 tr(Q K), Q = (V^-1 e)(V^-1 e)' - V^-1 + W P^-1 W',
        W = V^-1 X.
        """
        sizes = Sizes.from_log(log_sizes)
        sums, total, kept = CurveSums.empty(self.groups), 0.0, []
        for sample in self.samples:
            inverse, log_det = self._inverse(sizes, sample)
            half = inverse @ sample.design  # W
            right = np.einsum("sij,sj->si", inverse, sample.departure)
            sums.add_products(sample.group, sample.design, half, sample.departure)
            total -= 0.5 * (log_det + float(np.sum(right * sample.departure)))
            kept.append((inverse, half, right))
        cross, g = sums.assembled()
        _, spread = prior_of_curve(sizes, self.groups)
        p_inverse, p_log_det = _inverted(cross + np.diag(1 / spread))
        b = p_inverse @ g
        total += 0.5 * float(g @ b) - 0.5 * p_log_det - 0.5 * float(np.sum(np.log(spread)))
        slope = np.zeros(log_sizes.size)
        for sample, (inverse, half, right) in zip(self.samples, kept, strict=True):
            slope += self._slope(sizes, sample, inverse, half, right, b, p_inverse)
        bends = slice(FLEET_COLUMNS - KNOTS.size, FLEET_COLUMNS)
        bent = (b[bends] ** 2 + np.diag(p_inverse)[bends]) / sizes.fleet_bend**2
        slope[-1] = float(np.sum(bent - 1))
        total += self._repeats(sizes, slope)
        away = (log_sizes - prior.USUAL_SIZES.as_log()) / prior.LOG_SD_OF_SIZES
        return -(total - 0.5 * float(away @ away)), -(slope - away / prior.LOG_SD_OF_SIZES)

    def _inverse(self, sizes: Sizes, sample: Sample) -> tuple[Array, float]:
        v = np.tensordot(np.square(sizes.ways()), sample.ways, 1) + sample.extra
        corner = np.arange(v.shape[1])
        shared = sizes.shared / (1 + sizes.shared)
        v[:, corner, corner] += sizes.noise**2 * (
            shared * sample.real + (1 - shared) * sample.alone
        )
        return _inverted(v)

    def _slope(
        self,
        sizes: Sizes,
        sample: Sample,
        inverse: Array,
        half: Array,
        right: Array,
        b: Array,
        p_inverse: Array,
    ) -> Array:
        q = -inverse
        for group in np.unique(sample.group):
            which = np.flatnonzero(sample.group == group)
            where = columns_of_group(int(group))
            e = right[which] - half[which] @ b[where]
            w = half[which]
            q[which] += e[:, :, None] * e[:, None, :]
            q[which] += (w @ p_inverse[np.ix_(where, where)]) @ np.swapaxes(w, 1, 2)
        slope = np.zeros(len(USUAL))
        ways = np.square(sizes.ways())
        slope[: ways.size] = ways * np.tensordot(sample.ways, q, 3)
        own = np.diagonal(q, axis1=1, axis2=2)
        shared = sizes.shared / (1 + sizes.shared)
        real, alone = float(np.sum(own * sample.real)), float(np.sum(own * sample.alone))
        slope[ways.size] = sizes.noise**2 * (shared * real + (1 - shared) * alone)
        slope[ways.size + 1] = 0.5 * sizes.noise**2 * shared * (1 - shared) * (real - alone)
        return slope

    def _repeats(self, sizes: Sizes, slope: Array) -> float:
        """Density of the differences between repeats, which the sittings no longer show."""
        squares, freedom = self.repeats
        own = sizes.noise**2 / (1 + sizes.shared)
        by_log_own = -0.5 * (freedom - squares / own)
        slope[-3] += 2 * by_log_own
        slope[-2] -= by_log_own * sizes.shared / (1 + sizes.shared)
        return -0.5 * (freedom * float(np.log(own)) + squares / own)


USUAL = prior.USUAL_SIZES.as_log()
# No evidence makes a shop's losses ten times more regular than usual: a calm past binds no future.
# Levels and meters may be as even as they like.
LOWEST = USUAL - np.log(10)
LOWEST[[0, len(prior.USUAL_SIZES.ways())]] -= np.log(10)
HIGHEST = USUAL + np.log(50)


def _inverted(v: Array) -> tuple[Array, float]:
    """Inverses and the sum of log determinants of positive definite matrices."""
    root = np.linalg.cholesky(v)
    inverse = np.linalg.inv(root)
    log_det = 2 * float(np.sum(np.log(np.diagonal(root, axis1=-2, axis2=-1))))
    return np.swapaxes(inverse, -1, -2) @ inverse, log_det


def find_sizes(
    samples: list[Sample], groups: int, repeats: tuple[float, int], start: Sizes
) -> Sizes:
    """Sizes at the highest posterior density, sought from `start`."""
    from scipy.optimize import minimize

    found = minimize(
        Evidence(samples, groups, repeats),
        start.as_log(),
        jac=True,
        method="L-BFGS-B",
        bounds=list(zip(LOWEST, HIGHEST, strict=True)),
        options={"maxiter": 60, "ftol": 1e-7},
    )
    return Sizes.from_log(np.asarray(found.x))
