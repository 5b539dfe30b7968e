"""The restricted likelihood of a mixed model from sums of products, and where it is largest.

H = Lambda Lambda' is the covariance of the random effects over sigma^2, in the standardised basis
of `framekeeper.domain.mixed`. For each unit, S = Z'Z and C = Z'[X y] are corners of its sums.
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
class Likelihood:
    """The profiled restricted likelihood at one factor."""

    deviance: float
    beta: Floats  # (p,)
    rss: float  # penalised residual sum of squares
    precision: Floats  # X'WX, (p, p)
    inverse: Floats  # (I + Lambda' S Lambda)^-1 of each unit, (units, q, q)
    solved: Floats  # the same times Lambda' C, (units, q, p + 1)


def evaluate_at(sums: Floats, factor: Floats, n: int) -> Likelihood:
    """Profile the restricted likelihood over beta and sigma for a factor (q, q)."""
    q, p = len(factor), sums.shape[1] - 1
    inner = np.eye(q) + factor.T @ sums[:, :q, :q] @ factor
    inverse: Floats = np.asarray(np.linalg.inv(inner), dtype=np.float64)
    forward = factor.T @ sums[:, :q, :]
    solved: Floats = inverse @ forward
    whole = sums.sum(axis=0)
    whole = whole - forward.reshape(-1, p + 1).T @ solved.reshape(-1, p + 1)  # [X y]'W[X y]
    precision, towards = whole[:p, :p], whole[:p, p]
    beta = np.linalg.solve(precision, towards)
    rss = max(float(whole[p, p] - towards @ beta), np.finfo(float).tiny)
    log_det = np.linalg.slogdet(inner)[1].sum() + np.linalg.slogdet(precision)[1]
    deviance = float(log_det + (n - p) * (1 + np.log(2 * np.pi * rss / (n - p))))
    return Likelihood(deviance, beta, rss, precision, inverse, solved)


def slope_in_covariance(sums: Floats, factor: Floats, at: Likelihood, n: int) -> Floats:
    """Derivative of the deviance in H, symmetric (q, q).

    With W = (I + Z H Z')^-1 it is the sum over units of Z'WZ - Z'WX (X'WX)^-1 X'WZ
    - (n - p) u u' / rss, where u = Z'W (y - X beta).
    """
    q, p = len(factor), sums.shape[1] - 1
    squares = sums[:, :q, :q]
    loaded = squares @ factor
    weighted = sums[:, :q, :] - loaded @ at.solved  # Z'W[X y]
    u = weighted @ np.append(-at.beta, 1.0)
    root = np.linalg.cholesky(np.linalg.inv(at.precision))
    known = weighted[:, :, :p] @ root
    slope = (squares - loaded @ at.inverse @ loaded.swapaxes(1, 2)).sum(axis=0)
    slope = slope - np.tensordot(known, known, axes=([0, 2], [0, 2]))
    result: Floats = slope - (n - p) / at.rss * u.T @ u
    return result


def best_factor(sums: Floats, n: int, q: int) -> tuple[Floats, bool]:
    """Return the triangular factor with the largest likelihood, and whether it is singular.

    The climb runs over relative changes of the best factor so far. Any factor is allowed, also
    with negative or zero diagonal, so the boundary is an ordinary stationary point; where the
    likelihood would still rise away from it, the climb starts again from there.
    """
    factor = _first_factor(sums, n, q)
    for _ in range(MOST_ROUNDS):
        factor, is_singular = _on_boundary(sums, n, _climb(sums, n, factor))
        slope = slope_in_covariance(sums, factor, evaluate_at(sums, factor, n), n)
        away = _way_off_boundary(sums, factor, slope) if is_singular else None
        if away is not None:
            factor = _triangular(np.column_stack([factor, away]))
        elif np.abs(factor.T @ slope @ factor).max() <= SLOPE_END * len(sums):
            return factor, is_singular
    raise NotEnoughData(say("These readings do not settle how much the units differ."))


def _first_factor(sums: Floats, n: int, q: int) -> Floats:
    """Take a few steps of expectation-maximisation from a unit covariance."""
    factor, p = np.eye(q), sums.shape[1] - 1
    for _ in range(FIRST_STEPS):
        at = evaluate_at(sums, factor, n)
        u = at.solved @ np.append(-at.beta, 1.0)
        spread = u.T @ u * (n - p) / at.rss / len(sums) + at.inverse.mean(axis=0)
        factor = _triangular(factor @ np.linalg.cholesky(spread))
    return factor


def _triangular(wide: Floats) -> Floats:
    """Lower triangular L (q, q) with L L' = wide wide', for wide (q, any)."""
    q = len(wide)
    lower: Floats = np.linalg.qr(np.column_stack([wide, np.zeros((q, q))]).T)[1].T
    return lower * np.where(np.diag(lower) < 0, -1.0, 1.0)


def _climb(sums: Floats, n: int, start: Floats) -> Floats:
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
        at = evaluate_at(sums, factor, n)
        slope = 2 * start.T @ slope_in_covariance(sums, factor, at, n) @ factor
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


def _on_boundary(sums: Floats, n: int, factor: Floats) -> tuple[Floats, bool]:
    """Drop directions whose variance does nothing for the likelihood."""
    best = evaluate_at(sums, factor, n).deviance
    vectors, sizes, _ = np.linalg.svd(factor)
    for rank in range(len(factor)):
        smaller = _triangular(vectors[:, :rank] * sizes[:rank])
        if evaluate_at(sums, smaller, n).deviance <= best + SAME_DEVIANCE:
            return smaller, True
    return factor, False


def _way_off_boundary(sums: Floats, factor: Floats, slope: Floats) -> Floats | None:
    """Return the step from a singular factor along which the likelihood still rises, if any."""
    q = len(factor)
    vectors, sizes, _ = np.linalg.svd(factor)
    empty = vectors[:, sizes <= FLAT * max(sizes[0], 1e-300)]
    values, directions = np.linalg.eigh(empty.T @ slope @ empty)
    direction = empty @ directions[:, 0]
    weight = float(((sums[:, :q, :q] @ direction @ direction) ** 2).sum())
    gain = values[0] ** 2 / weight  # what a Newton step along it would bring
    if values[0] >= 0 or gain <= SAME_DEVIANCE:
        return None
    away: Floats = direction * np.sqrt(-values[0] / weight)
    return away
