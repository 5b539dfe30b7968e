"""The shapes that a decay is made of: the fleet's curve, and how one screen leaves it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from framekeeper.domain import forecast_prior as prior
from framekeeper.domain.forecast_prior import Array, Sizes

KNOT_DAYS = np.array([1.5, 4.0, 9.0, 18.0, 36.0, 72.0, 144.0, 288.0, 576.0])
KNOTS = np.log10(1 + KNOT_DAYS)
LOSSES = 5
FLEET_COLUMNS = LOSSES + KNOTS.size
OWN_COLUMNS = 3  # level, slope and cycle loss of a mesh group
COLUMNS = FLEET_COLUMNS + OWN_COLUMNS
HUNDRED_DAYS = 100.0  # creep and the Brownian motion are given for so many days


def log_time(day: Array) -> Array:
    """Decades of days since release: x = log10(1 + day)."""
    return np.log10(1 + day)


def design(day: Array, cycles: Array, typical: Array) -> Array:
    """Columns of the mean curve for (stretches, rows), as (stretches, rows, COLUMNS).

    All columns but the group's level are losses and carry the typical tension of the group, so that
    a coefficient is a share. Order: slope, first night, tapering and settled cycle loss, creep,
    the bends at the knots; then the group's own level, slope and cycle loss.
    """
    x = log_time(day)
    columns = np.empty((*np.shape(x), COLUMNS))
    columns[..., 0] = -x
    columns[..., 1] = -_first_night(day)
    columns[..., 2] = -prior.TAPER_CYCLES * -np.expm1(-cycles / prior.TAPER_CYCLES)
    columns[..., 3] = -cycles
    columns[..., 4] = -day / HUNDRED_DAYS
    columns[..., LOSSES:FLEET_COLUMNS] = -np.maximum(x[..., None] - KNOTS, 0)
    columns[..., FLEET_COLUMNS] = 1
    columns[..., FLEET_COLUMNS + 1] = -x
    columns[..., FLEET_COLUMNS + 2] = -cycles
    return columns * typical[:, None, None]


def _first_night(day: Array) -> Array:
    return -np.expm1(-day / prior.FIRST_NIGHT_DAYS)


def prior_of_curve(sizes: Sizes, groups: int) -> tuple[Array, Array]:
    """Mean and variance of the coefficients: the fleet's, then three for each group."""
    mean = np.zeros(FLEET_COLUMNS + OWN_COLUMNS * groups)
    variance = np.empty_like(mean)
    mean[:LOSSES] = (
        prior.LOSS_PER_DECADE,
        prior.FIRST_NIGHT_LOSS,
        prior.CYCLE_LOSS,
        prior.SETTLED_CYCLE_LOSS,
        prior.CREEP,
    )
    variance[:LOSSES] = np.square(
        (
            prior.DOUBT_PER_DECADE,
            prior.FIRST_NIGHT_DOUBT,
            prior.CYCLE_DOUBT,
            prior.SETTLED_CYCLE_DOUBT,
            prior.CREEP_DOUBT,
        )
    )
    variance[LOSSES:FLEET_COLUMNS] = sizes.fleet_bend**2
    mean[FLEET_COLUMNS::OWN_COLUMNS] = 1
    for column, sd in enumerate(
        (prior.GROUP_LEVEL_DOUBT, prior.GROUP_SLOPE_SD, prior.GROUP_CYCLE_SD)
    ):
        variance[FLEET_COLUMNS + column :: OWN_COLUMNS] = sd**2
    return mean, variance


def columns_of_group(group: int) -> NDArray[np.intp]:
    """Where the COLUMNS of one group's design stand among all coefficients."""
    own = FLEET_COLUMNS + OWN_COLUMNS * group + np.arange(OWN_COLUMNS)
    return np.concatenate((np.arange(FLEET_COLUMNS), own))


def components(a: tuple[Array, Array], b: tuple[Array, Array], typical: Array) -> Iterator[Array]:
    """Covariances between rows a and b of each way to leave the fleet, each of size one.

    In the order of `Sizes`: level, slope, first night, cycle loss and creep as random effects, an
    integrated Wiener process in log-time [1]_ and a Brownian motion in days.

    Parameters
    ----------
    a, b : (day, cycles)
        Each of shape (stretches, rows).
    typical : Array, shape (stretches,)
        Typical tension of each stretch's group.

    References
    ----------
    .. [1] G. Wahba (1978), Improper priors, spline smoothing and the problem of guarding against
       model errors in regression, J. R. Stat. Soc. B 40(3), 364-372.
    """
    day_a, cycles_a = (v[:, :, None] for v in a)
    day_b, cycles_b = (v[:, None, :] for v in b)
    x_a, x_b = log_time(day_a), log_time(day_b)
    low, high = np.minimum(x_a, x_b), np.maximum(x_a, x_b)
    square = np.square(typical)[:, None, None]
    yield np.broadcast_to(square, low.shape)
    yield square * (x_a * x_b)
    yield square * (_first_night(day_a) * _first_night(day_b))
    yield square * (cycles_a * cycles_b)
    yield square * (day_a * day_b / HUNDRED_DAYS**2)
    yield square * (low**2 * (3 * high - low) / 6)
    yield square * (np.minimum(day_a, day_b) / HUNDRED_DAYS)


def covariance(
    sizes: Sizes, a: tuple[Array, Array], b: tuple[Array, Array], typical: Array
) -> Array:
    """Covariance of the departure from the fleet, (stretches, rows of a, rows of b)."""
    weighed = (
        size**2 * one for size, one in zip(sizes.ways(), components(a, b, typical), strict=True)
    )
    total = next(weighed)
    for one in weighed:
        total = total + one
    return total


def variance(sizes: Sizes, day: Array, cycles: Array, typical: Array) -> Array:
    """Diagonal of `covariance` for rows with themselves, shape (stretches, rows)."""
    x = log_time(day)
    total = sizes.level**2 + np.square(sizes.slope * x) + np.square(sizes.cycle * cycles)
    total = total + np.square(sizes.early * _first_night(day)) + sizes.bend**2 * x**3 / 3
    total += np.square(sizes.creep * day / HUNDRED_DAYS)
    total += sizes.wander**2 / HUNDRED_DAYS * day
    return np.asarray(total * np.square(typical)[:, None])


def alone_share(repeats: Array) -> Array:
    """What repeats leave of the noise that they do not share."""
    return np.where(repeats > 2, 1.5, 1.0) / repeats  # a median of many is less exact than a mean


def noise_variance(sizes: Sizes, repeats: Array) -> Array:
    """Variance of a sitting's value: repeats average out all but what they share."""
    shared = sizes.shared / (1 + sizes.shared)
    return np.asarray(sizes.noise**2 * (shared + (1 - shared) * alone_share(repeats)))
