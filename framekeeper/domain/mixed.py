"""Lets units that were read only a few times lend each other strength: linear mixed models by REML.

The model is y = X beta + Z_i b_i + e with b_i ~ N(0, G) for each unit and e ~ N(0, sigma^2), where
Z_i holds the first columns of X. Each unit enters through a summary of fixed size, so a step of the
fit costs the number of units, not of readings, and memory stays linear.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from framekeeper.domain.errors import NotEnoughData, NotValid
from framekeeper.domain.reml import Units, best_factor, evaluate_at, summarise
from framekeeper.domain.sentence import say

Floats = NDArray[np.float64]

SMALLEST_PIVOT = 1e-10  # a column of X that others explain up to this fraction is one too many
SMALLEST_RESIDUAL = 1e-16  # of the mean square around the common curve: rounding, not scatter


@dataclass(frozen=True)
class MixedFit:
    """A fitted mixed model; p columns of X, q of them random.

    Attributes
    ----------
    beta, beta_se : ndarray (p,)
        The common curve and its standard errors.
    beta_cov : ndarray (p, p)
    random_cov : ndarray (q, q)
        G, the covariance of the random effects.
    residual_sd : float
        sigma.
    units : ndarray (units,)
        The labels, sorted; the rows of `blups` and `blup_cov` follow them.
    blups : ndarray (units, q)
        Each unit's predicted deviation from the common curve.
    blup_cov : ndarray (units, q, q)
        Covariance of the true deviation about the predicted one, given G, sigma and beta.
    reml_loglik : float
        Log restricted likelihood, for X in its own units.
    n : int
        Number of readings.
    is_singular : bool
        G is on the boundary: some deviation has no variance of its own.
    method : str
    """

    beta: Floats
    beta_se: Floats
    beta_cov: Floats
    random_cov: Floats
    residual_sd: float
    units: NDArray[Any]
    blups: Floats
    blup_cov: Floats
    reml_loglik: float
    n: int
    is_singular: bool
    method: str = "REML"

    @property
    def random_sd(self) -> Floats:
        """Standard deviations of the random effects, shape (q,)."""
        sd: Floats = np.sqrt(np.diag(self.random_cov))
        return sd


@dataclass(frozen=True)
class _Standard:
    """The data in a basis where the fit cannot see the units of X and y."""

    basis: Floats  # (n, p), columns of mean square 1
    rotation: Floats  # R, upper triangular: X = basis R
    ols: Floats  # beta of ordinary least squares
    scale: float  # root mean square of its residuals
    left: Floats  # residuals over scale


def fit_reml(unit: ArrayLike, X: ArrayLike, y: ArrayLike, *, n_random: int) -> MixedFit:  # noqa: N803
    """Fit a linear mixed model by restricted maximum likelihood.

    Parameters
    ----------
    unit : array_like (n,)
        Label of the unit of each reading: numbers or texts, in any order.
    X : array_like (n, p)
        Independent columns; the intercept is a column of ones like any other.
    y : array_like (n,)
        Readings.
    n_random : int
        1 <= q <= p: the first q columns of X vary by unit, with an unstructured covariance.

    Returns
    -------
    MixedFit
        Estimates on the boundary are given as such (`is_singular`), not moved off it.

    Raises
    ------
    NotValid
        For shapes that do not fit, NaN or infinite values, dependent columns, a bad `n_random`.
    NotEnoughData
        For one unit, for too few readings to part the units from the scatter, and for readings
        without any scatter about the units' own curves.

    Notes
    -----
    X is rotated to orthogonal columns (QR; the first q columns keep their span) and y becomes its
    residual from ordinary least squares in units of their size, so any scaling of the data gives
    the same fit. The restricted likelihood, profiled over beta and sigma [1]_, is maximised over a
    triangular factor of G / sigma^2 with its exact gradient. Scatter below a hundred-millionth of
    the differences between readings is taken for rounding and refused.

    References
    ----------
    .. [1] Bates, D., Maechler, M., Bolker, B. and Walker, S. (2015). Fitting linear mixed-effects
       models using lme4. J. Stat. Software 67(1). doi:10.18637/jss.v067.i01, section 3.4.

    Examples
    --------
    >>> fit = fit_reml([1, 1, 2, 2, 3, 3], np.ones((6, 1)), [20, 21, 25, 24, 22, 23], n_random=1)
    >>> [round(float(v), 3) for v in (fit.beta[0], fit.random_sd[0], fit.residual_sd)]
    [22.5, 1.936, 0.707]
    """
    labels, columns, readings = _checked(unit, X, y, n_random)
    n, p = columns.shape
    units, group = np.unique(labels, return_inverse=True)
    _enough(np.bincount(group), n, p, n_random)
    standard = _standardised(columns, readings)
    split = summarise(group, np.column_stack([standard.basis, standard.left]), n_random)
    if split.left[p, p] <= SMALLEST_RESIDUAL * n:
        raise NotEnoughData(
            say("The readings of each unit lie on its own curve without any scatter.")
        )
    factor, is_singular = best_factor(split, n, n_random)
    return _in_own_units(standard, split, factor, units, is_singular)


def _checked(
    unit: ArrayLike, matrix: ArrayLike, y: ArrayLike, n_random: int
) -> tuple[NDArray[Any], Floats, Floats]:
    labels = np.asarray(unit)
    try:
        columns, readings = np.asarray(matrix, dtype=float), np.asarray(y, dtype=float)
    except (TypeError, ValueError):
        raise NotValid(say("X and y must be numbers."), argument="X") from None
    if columns.ndim != 2:
        raise NotValid(say("X must have rows and columns."), argument="X")
    n, p = columns.shape
    for name, given in (("unit", labels), ("y", readings)):
        if given.shape != (n,):
            raise NotValid(
                say("{name} must have one value for each of the {n} rows of X.", name=name, n=n),
                argument=name,
            )
    for name, numbers in (("X", columns), ("y", readings)):
        if not np.isfinite(numbers).all():
            raise NotValid(
                say("{name} holds a value that is not a number.", name=name), argument=name
            )
    if labels.dtype.kind == "f" and not np.isfinite(labels).all():
        raise NotValid(say("A unit has no name."), argument="unit")
    if isinstance(n_random, bool) or n_random != int(n_random) or not 1 <= n_random <= p:
        raise NotValid(
            say("n_random must be a whole number from 1 to {p}.", p=p), argument="n_random"
        )
    return labels, columns, readings


def _enough(readings_of_unit: NDArray[np.intp], n: int, p: int, q: int) -> None:
    if len(readings_of_unit) < 2:
        raise NotEnoughData(say("One unit cannot show how units differ."))
    if n <= p or not (readings_of_unit > q).any():
        raise NotEnoughData(
            say("No unit has more than {q} readings, so its scatter cannot be seen.", q=q),
            hint=say("Read some of them again."),
        )


def _standardised(columns: Floats, readings: Floats) -> _Standard:
    n = len(columns)
    norms = np.linalg.norm(columns, axis=0)
    if (norms == 0).any():
        raise NotValid(say("A column of X is zero everywhere."), argument="X")
    orthogonal, triangle = np.linalg.qr(columns / norms)
    if np.abs(np.diag(triangle)).min() < SMALLEST_PIVOT:
        raise NotValid(say("A column of X follows from the others."), argument="X")
    basis, rotation = orthogonal * np.sqrt(n), triangle * norms / np.sqrt(n)
    largest = np.abs(readings).max()
    around = basis.T @ readings / n
    left = readings - basis @ around
    correction = basis.T @ left / n  # once more: rounding of a large common level
    left -= basis @ correction
    scale = float(np.sqrt(np.mean(left**2)))
    if not scale > 1e-14 * largest:
        raise NotEnoughData(
            say("The readings lie on one curve without any scatter: there is nothing to estimate.")
        )
    ols = np.linalg.solve(rotation, around + correction)
    return _Standard(basis, rotation, ols, scale, left / scale)


def _in_own_units(
    standard: _Standard, split: Units, factor: Floats, units: NDArray[Any], is_singular: bool
) -> MixedFit:
    """Turn the fit of the standardised data back."""
    (n, p), q = standard.basis.shape, len(factor)
    at = evaluate_at(split, factor, n)
    sigma2 = at.rss / (n - p)
    back = np.linalg.inv(standard.rotation)
    beta_cov = standard.scale**2 * sigma2 * back @ np.linalg.inv(at.precision) @ back.T
    scaled = standard.scale * np.linalg.inv(standard.rotation[:q, :q]) @ factor
    spread = split.root @ factor
    within = np.linalg.inv(np.eye(q) + spread.swapaxes(1, 2) @ spread)
    log_det = 2 * np.log(np.abs(np.diag(standard.rotation))).sum()
    deviance = at.deviance + log_det + 2 * (n - p) * np.log(standard.scale)
    return MixedFit(
        beta=standard.ols + standard.scale * back @ at.beta,
        beta_se=np.sqrt(np.diag(beta_cov)),
        beta_cov=beta_cov,
        random_cov=sigma2 * scaled @ scaled.T,
        residual_sd=float(standard.scale * np.sqrt(sigma2)),
        units=units,
        blups=at.of_residuals @ factor @ scaled.T,  # b = H Z'W (y - X beta)
        blup_cov=sigma2 * scaled @ within @ scaled.T,
        reml_loglik=float(-deviance / 2),
        n=n,
        is_singular=is_singular,
    )
