"""The mesh that a shop will need as days go by: from forecasts, other ends, and the ledger.

`reorder_need` knows one horizon; here the horizon moves, and the delivery may come on another day
than was told.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from framekeeper.domain.outlook import Outlook
from framekeeper.domain.reorder import Need, mesh_need

_NEAR_MM = 10.0  # a reorder point is found to within this
_MANY = 100  # screens, from which on chances are reckoned in whole cm
_COARSE_MM = 10
_SQRT3 = math.sqrt(3)


@dataclass(frozen=True, slots=True)
class MayNeed:
    """A frame that needs mesh now, or a screen that may need it later.

    Attributes
    ----------
    size_mm : tuple of float
        Outside, width and height.
    cut_mm : float
        Length of roll that it takes, above 0.
    outlook : Outlook, optional
        Of its mesh; a screen without one is taken to be like the others.
    """

    size_mm: tuple[float, float]
    cut_mm: float
    outlook: Outlook | None = None


@dataclass(frozen=True, slots=True)
class Lead:
    """The days from order to delivery, and their standard deviation."""

    days: float
    sd_days: float = 0.0

    def nodes(self, more_days: float = 0.0) -> tuple[tuple[float, float], ...]:
        """Give days and weights that stand for the whole distribution.

        Three points of Gauss and Hermite [1]_ have the mean and the spread of a normal law.

        References
        ----------
        .. [1] Abramowitz, M. and Stegun, I. A. Handbook of Mathematical Functions, 25.4.46. Cited
           from memory.
        """
        middle = self.days + more_days
        if self.sd_days == 0:
            return ((middle, 1.0),)
        away = _SQRT3 * self.sd_days
        return (
            (max(more_days, middle - away), 1 / 6),
            (middle, 2 / 3),
            (middle + away, 1 / 6),
        )


@dataclass(frozen=True)
class MeshDemand:
    """What one mesh will be asked for.

    Attributes
    ----------
    at : datetime
        Day 0.
    sure, may : sequence of MayNeed
        Frames that need mesh now; screens that may fall below their limit.
    ends_per_day : float
        Ends by damage and for reasons other than tension, for one screen and day.
    pieces_per_day, piece_mm : float
        Pieces that the ledger leads to expect where nothing is foretold, and their mean length.
    scrap_share : float
        As in `mesh_need`.
    """

    at: dt.datetime
    sure: Sequence[MayNeed] = ()
    may: Sequence[MayNeed] = ()
    ends_per_day: float = 0.0
    pieces_per_day: float = 0.0
    piece_mm: float = 0.0
    scrap_share: float = 0.0
    _needs: dict[float, Need] = field(default_factory=dict, compare=False, repr=False)
    _coarse: dict[float, Need] = field(default_factory=dict, compare=False, repr=False)

    def chances(self, day: float) -> list[float]:
        """Chance of each screen that may fall to be below its limit by a day."""
        moment = self.at + dt.timedelta(days=day)
        known = [None if s.outlook is None else s.outlook.chance_at(moment) for s in self.may]
        told = [chance for chance in known if chance is not None]
        usual = math.fsum(told) / len(told) if told else 0.0
        return [usual if chance is None else chance for chance in known]

    def other_ends(self, day: float) -> list[float]:
        """Expected ends of each screen by damage and the like, if it does not fall before."""
        return [self.ends_per_day * day * (1 - chance) for chance in self.chances(day)]

    def by_ledger(self, day: float) -> float:
        """Expected pieces by the ledger, beside those that are needed now."""
        return self.pieces_per_day * day

    def sizes(self, day: float) -> dict[tuple[float, float], float]:
        """Expected pieces until a day of each size of frame, but for ends and the ledger."""
        found: dict[tuple[float, float], float] = {}
        for piece, chance in (
            *((piece, 1.0) for piece in self.sure),
            *zip(self.may, self.chances(day), strict=True),
        ):
            found[piece.size_mm] = found.get(piece.size_mm, 0.0) + chance
        return found

    def need(self, day: float) -> Need:
        """Reckon what is needed until a day from now on."""
        if day not in self._needs:
            self._needs[day] = self._need(day, 0)
        return self._needs[day]

    def _need_for_chances(self, day: float) -> Need:
        """The same; of many screens each cut is rounded up to whole cm.

        The distribution of a sum of a thousand cuts takes most of a minute in mm and two seconds in
        cm; a stock is then too large by a cm for each cut at most.
        """
        if len(self.sure) + len(self.may) <= _MANY:
            return self.need(day)
        if day not in self._coarse:
            self._coarse[day] = self._need(day, _COARSE_MM)
        return self._coarse[day]

    def _need(self, day: float, step_mm: int) -> Need:
        ends = dict.fromkeys((s.cut_mm for s in self.may), 0.0)
        for screen, expected in zip(self.may, self.other_ends(day), strict=True):
            ends[screen.cut_mm] += expected
        ledger = self.by_ledger(day)
        if ledger:
            ends[self.piece_mm] = ends.get(self.piece_mm, 0.0) + ledger
        return mesh_need(
            [1.0] * len(self.sure) + self.chances(day),
            [_rounded(s.cut_mm, step_mm) for s in (*self.sure, *self.may)],
            damages=list(ends.values()),
            damage_cut_mm=[_rounded(cut_mm, step_mm) for cut_mm in ends],
            scrap_share=self.scrap_share,
        )

    def chance_above(self, stock_mm: float, lead: Lead, *, more_days: float = 0.0) -> float:
        """Chance that more than a stock is needed until a delivery, so many days later at least."""
        return math.fsum(
            weight * self._need_for_chances(day).chance_above(stock_mm)
            for day, weight in lead.nodes(more_days)
        )

    def stock_for(self, service_level: float, lead: Lead, *, more_days: float = 0.0) -> float:
        """The stock that lasts until the delivery with this chance, in mm.

        Between the levels of the shortest and the longest wait, found by halving, rounded up.
        """
        levels = [
            self._need_for_chances(day).stock_for(service_level) for day, _ in lead.nodes(more_days)
        ]
        low, high = min(levels), max(levels)
        while high - low > _NEAR_MM:
            middle = (low + high) / 2
            if self.chance_above(middle, lead, more_days=more_days) <= 1 - service_level:
                high = middle
            else:
                low = middle
        return high

    def lasts_days(self, stock_mm: float, most_days: int) -> float | None:
        """The day on which the expected need passes a stock; None where it lasts longer.

        The need is reckoned for every seventh day, with straight lines between.
        """
        before, needed_before = 0, self.need(0).mean_mm
        if needed_before > stock_mm:
            return 0.0
        for day in range(7, most_days + 1, 7):
            needed = self.need(day).mean_mm
            if needed > stock_mm:
                return before + (day - before) * (stock_mm - needed_before) / (
                    needed - needed_before
                )
            before, needed_before = day, needed
        return None

    @property
    def is_known(self) -> bool:
        """Whether anything at all leads to expect a need."""
        return bool(self.sure or self.may or self.pieces_per_day)


def _rounded(cut_mm: float, step_mm: int) -> float:
    """Round a cut up to a whole number of steps; a step of 0 leaves it."""
    return math.ceil(cut_mm / step_mm) * step_mm if step_mm else cut_mm
