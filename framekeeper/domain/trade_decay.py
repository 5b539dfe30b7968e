"""Tells what the forecast believes of tension loss before a shop has read a screen, and from where.

The figures themselves stand in `forecast_prior`; here are the words for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framekeeper.domain import forecast_prior as prior
from framekeeper.domain.sentence import Sentence, say


@dataclass(frozen=True, slots=True)
class TradeFigure:
    """One belief in percent of the starting tension, how much it is doubted, and its source."""

    what: Sentence
    percent: float
    doubt: float  # a standard deviation, in percent
    source: Sentence


def trade_figures() -> tuple[TradeFigure, ...]:
    """List what is believed of every mesh until its own readings come."""
    rows = (
        (
            say("lost in the first night"),
            prior.FIRST_NIGHT_LOSS,
            prior.FIRST_NIGHT_DOUBT,
            say(
                "published: 20 N/cm fall to 17-18 after the glue, in part before the release "
                "(B. Wolff, “Pushing the Limit”, Screen Printing, February 2001)"
            ),
        ),
        (
            say("lost with every tenfold of the days since the release"),
            prior.LOSS_PER_DECADE,
            prior.DOUBT_PER_DECADE,
            say("derived from what the trade tells of 4 to 6 %, an assumption"),
        ),
        (
            say("lost with each of the first print and reclaim cycles"),
            prior.CYCLE_LOSS + prior.SETTLED_CYCLE_LOSS,
            prior.CYCLE_DOUBT,
            say("our proposal, below the 1 to 2 % that are derived from what the trade tells"),
        ),
        (
            say("lost with each later cycle"),
            prior.SETTLED_CYCLE_LOSS,
            prior.SETTLED_CYCLE_DOUBT,
            say("our proposal, no source"),
        ),
    )
    return tuple(TradeFigure(w, 100 * loss, 100 * doubt, why) for w, loss, doubt, why in rows)


def trade_left(days: Sequence[float], cycles_per_day: float) -> list[float]:
    """Percent of the starting tension that the trade's figures leave after some days.

    Parameters
    ----------
    days
        Days since the release, 0 or more.
    cycles_per_day
        Print and reclaim cycles, 0 or more.

    Examples
    --------
    >>> [round(left, 1) for left in trade_left([0, 1, 30], 0.1)]
    [100.0, 95.4, 87.3]
    """
    import numpy as np

    from framekeeper.domain.forecast_curve import columns_of_group, design, prior_of_curve

    day = np.array([days], dtype=np.float64)
    mean, _ = prior_of_curve(prior.USUAL_SIZES, 1)
    rows = design(day, day * cycles_per_day, np.ones(1))[0]
    return [float(left) for left in 100 * rows @ mean[columns_of_group(0)]]
