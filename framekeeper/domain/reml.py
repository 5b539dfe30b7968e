"""The restricted likelihood of a mixed model from a summary of each unit, and where it is largest.

H = Lambda Lambda' is the covariance of the random effects over sigma^2, in the standardised basis
of `framekeeper.domain.mixed`. Each unit is split by a QR of its Z into what its own curve can
follow and what is left; no large sums are subtracted, so units may differ far more than readings
scatter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from framekeeper.domain.errors import NotEnoughData
from framekeeper.domain.sentence import say

Floats = NDArray[np.float64]

FIRST_STEPS = 6  # of expectation-maximisation: sure-footed over many orders of magnitude
CLIMB_END = 1e-6  # slope of the deviance against relative changes of the factor
POLISH_END = 1e-8
SLOPE_END = 1e-5  # for each unit: the factor is then settled to about as many parts of itself
SAME_DEVIANCE = 1e-8
DIFFERENCE = 1e-5
FLAT = 1e-9
MOST_ROUNDS = 12


@dataclass(frozen=True)
class Units:
    """What the likelihood needs of m units with q random and p columns of X."""

    root: Floats  # R of Z = Q R, (m, q, q)
    reduced: Floats  # Q'[X y], (m, q, p + 1)
    left: Floats  # sum of [X y]'(I - Q Q')[X y], (p + 1, p + 1)

    def __len__(self) -> int:
        return len(self.root)


@dataclass(frozen=True)
class Likelihood:
    """The profiled restricted likelihood at one factor."""

    deviance: float
    beta: Floats  # (p,)
    rss: float  # (y - X beta)'W(y - X beta) with W = (I + Z H Z')^-1
    precision: Floats  # X'WX, (p, p)
    inverse: Floats  # (I + R H R')^-1 of each unit, (m, q, q)
    weighted: Floats  # Z'W[X y] of each unit, (m, q, p + 1)

    @property
    def of_residuals(self) -> Floats:
        """Z'W(y - X beta) of each unit, (m, q)."""
        u: Floats = self.weighted @ np.append(-self.beta, 1.0)
        return u


def summarise(group: NDArray[np.intp], table: Floats, q: int) -> Units:
    """Split the readings of each unit; `table` is [X y] (n, p + 1), its first q columns are Z.

    Units with equally many readings are split together, so memory stays linear.
    """
    order = np.argsort(group, kind="stable")
    sizes = np.bincount(group)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    m, width = len(sizes), table.shape[1]
    root, reduced = np.zeros((m, q, q)), np.zeros((m, q, width))
    left = np.zeros((width, width))
    for size in np.unique(sizes):
        these = np.flatnonzero(sizes == size)
        rows = table[order[starts[these][:, None] + np.arange(size)]]  # (units, size, p + 1)
        basis, triangle = np.linalg.qr(rows[:, :, :q])
        seen = basis.swapaxes(1, 2) @ rows
        rank = min(size, q)
        root[these, :rank], reduced[these, :rank] = triangle, seen
        rest = (rows - basis @ seen).reshape(-1, width)
        left += rest.T @ rest
    return Units(root, reduced, left)


def evaluate_at(units: Units, factor: Floats, n: int) -> Likelihood:
    """Profile the restricted likelihood over beta and sigma for a factor (q, q)."""
    q, p = len(factor), units.left.shape[0] - 1
    spread = units.root @ factor
    inner = np.eye(q) + spread @ spread.swapaxes(1, 2)
    inverse: Floats = np.asarray(np.linalg.inv(inner), dtype=np.float64)
    solved = inverse @ units.reduced
    flat, flat_solved = (a.reshape(-1, p + 1) for a in (units.reduced, solved))
    whole = units.left + flat.T @ flat_solved  # [X y]'W[X y]
    precision = (whole[:p, :p] + whole[:p, :p].T) / 2
    beta: Floats = np.asarray(np.linalg.solve(precision, whole[:p, p]), dtype=np.float64)
    contrast = np.append(-beta, 1.0)
    rss = max(float(contrast @ whole @ contrast), np.finfo(float).tiny)
    log_det = np.linalg.slogdet(inner)[1].sum() + np.linalg.slogdet(precision)[1]
    deviance = float(log_det + (n - p) * (1 + np.log(2 * np.pi * rss / (n - p))))
    weighted: Floats = units.root.swapaxes(1, 2) @ solved
    return Likelihood(deviance, beta, rss, precision, inverse, weighted)


def slope_in_covariance(units: Units, at: Likelihood, n: int) -> Floats:
    """Derivative of the deviance in H, symmetric (q, q).

    It is the sum over units of Z'WZ - Z'WX (X'WX)^-1 X'WZ - (n - p) u u' / rss, where
    u = Z'W (y - X beta).
    """
    p = len(at.beta)
    u = at.of_residuals
    covariance = np.linalg.inv(at.precision)
    towards = at.weighted[:, :, :p]
    slope = (units.root.swapaxes(1, 2) @ at.inverse @ units.root).sum(axis=0)
    slope = slope - np.tensordot(towards @ covariance, towards, axes=([0, 2], [0, 2]))
    slope = slope - (n - p) / at.rss * u.T @ u
    result: Floats = (slope + slope.T) / 2
    return result


def best_factor(units: Units, n: int, q: int) -> tuple[Floats, bool]:
    """Return the triangular factor with the largest likelihood, and whether it is singular.

    The climb runs over relative changes of the best factor so far. Any factor is allowed, also
    with negative or zero diagonal, so the boundary is an ordinary stationary point, and as the
    climb starts off it, it ends there only if the likelihood falls on all sides.
    """
    factor = _first_factor(units, n, q)
    for _ in range(MOST_ROUNDS):
        factor, is_singular = _on_boundary(units, n, _climb(units, n, factor))
        slope = slope_in_covariance(units, evaluate_at(units, factor, n), n)
        if np.abs(factor.T @ slope @ factor).max() <= SLOPE_END * len(units):
            return factor, is_singular
    raise NotEnoughData(say("These readings do not settle how much the units differ."))


def _first_factor(units: Units, n: int, q: int) -> Floats:
    """Take a few steps of expectation-maximisation from a unit covariance."""
    factor, p = np.eye(q), units.left.shape[0] - 1
    for _ in range(FIRST_STEPS):
        at = evaluate_at(units, factor, n)
        u = at.of_residuals @ factor
        spread = units.root @ factor
        within = np.linalg.inv(np.eye(q) + spread.swapaxes(1, 2) @ spread).mean(axis=0)
        found = u.T @ u * (n - p) / at.rss / len(units) + within
        factor = _triangular(factor @ np.linalg.cholesky(found))
    return factor


def _triangular(wide: Floats) -> Floats:
    """Lower triangular L (q, q) with L L' = wide wide', for wide (q, any)."""
    q = len(wide)
    lower: Floats = np.linalg.qr(np.column_stack([wide, np.zeros((q, q))]).T)[1].T
    return lower * np.where(np.diag(lower) < 0, -1.0, 1.0)


def _climb(units: Units, n: int, start: Floats) -> Floats:
    from scipy.optimize import minimize

    q = len(start)
    below = np.tril_indices(q)

    def moved(theta: Floats) -> Floats:
        change = np.zeros((q, q))
        change[below] = theta
        factor: Floats = start @ change
        return factor

    def deviance_and_slope(theta: Floats) -> tuple[float, Floats]:
        factor = moved(theta)
        at = evaluate_at(units, factor, n)
        slope = 2 * start.T @ slope_in_covariance(units, at, n) @ factor
        return at.deviance, slope[below]

    found = minimize(
        deviance_and_slope, np.eye(q)[below], jac=True, method="BFGS", options={"gtol": CLIMB_END}
    )
    return _triangular(moved(_polished(lambda theta: deviance_and_slope(theta)[1], found.x)))


def _polished(slope_of: Callable[[Floats], Floats], theta: Floats) -> Floats:
    """Take Newton steps on the slope, beyond where differences of the deviance are rounding."""
    slope = slope_of(theta)
    for _ in range(3):
        if np.abs(slope).max() <= POLISH_END:
            break
        hessian = np.array([
            (slope_of(theta + e) - slope_of(theta - e)) / (2 * DIFFERENCE)
            for e in DIFFERENCE * np.eye(len(theta))
        ])  # fmt: skip
        values, vectors = np.linalg.eigh((hessian + hessian.T) / 2)
        steep = values > FLAT * values.max()
        move = vectors[:, steep] @ ((vectors[:, steep].T @ slope) / values[steep])
        new_slope = slope_of(theta - move)
        if not np.abs(new_slope).max() < np.abs(slope).max():
            break
        theta, slope = theta - move, new_slope
    return theta


def _on_boundary(units: Units, n: int, factor: Floats) -> tuple[Floats, bool]:
    """Drop directions whose variance does nothing for the likelihood."""
    best = evaluate_at(units, factor, n).deviance
    vectors, sizes, _ = np.linalg.svd(factor)
    for rank in range(len(factor)):
        smaller = _triangular(vectors[:, :rank] * sizes[:rank])
        if evaluate_at(units, smaller, n).deviance <= best + SAME_DEVIANCE:
            return smaller, True
    return factor, False
