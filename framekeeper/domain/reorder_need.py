"""How much mesh the coming days will take, when each screen may or may not fall due in them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from framekeeper.domain.errors import NotValid
from framekeeper.domain.numbers import Floats, column, from_zero, same_length, share
from framekeeper.domain.sentence import say

ROUNDING = 1e-9  # a whole number of mm or of cuts but for binary fractions
SURE = 1e-12  # of a chance, likewise
SEVERAL = 6.0  # standard deviations above the mean where the search for a stock begins
FAR = 40.0  # likewise, where a count of damages ends for certain


@dataclass(frozen=True)
class Need:
    """The length of mesh needed over a horizon.

    Attributes
    ----------
    mean_mm, sd_mm : float
        Of the length taken from the roll, scrap included.
    screens : float
        Expected number of cuts.
    chance, cut_mm : ndarray (n,)
        Screens that may fall due.
    damages, damage_cut_mm : ndarray (k,)
        Expected numbers of damages, and the cuts that they take.
    scrap_share : float
        Share of what is cut that is spoiled.
    """

    mean_mm: float
    sd_mm: float
    screens: float
    chance: Floats
    cut_mm: Floats
    damages: Floats
    damage_cut_mm: Floats
    scrap_share: float

    def chance_above(self, on_hand_mm: float) -> float:
        """Chance that more is needed than this length (from 0 upwards).

        Exact for whole cuts: the distribution of their sum, cuts rounded up to whole mm.
        """
        step = self._step()
        useful = from_zero("on_hand_mm", on_hand_mm) * (1 - self.scrap_share)
        steps = int(min(useful / step + ROUNDING, self._most(step)))
        return max(0.0, 1 - float(self._distribution(step, steps).sum()))

    def stock_for(self, service_level: float) -> float:
        """The smallest length that lasts with this chance (above 0 and below 1), exact likewise.

        Scrap included, in mm.
        """
        wanted = share("service_level", service_level)
        step, kept = self._step(), 1 - self.scrap_share
        most = self._most(step)
        steps = min(1 + int((self.mean_mm + SEVERAL * self.sd_mm) * kept / step), most)
        reached = np.cumsum(self._distribution(step, steps))
        while reached[-1] < wanted - SURE and steps < most:
            steps = min(2 * steps, most)
            reached = np.cumsum(self._distribution(step, steps))
        enough = min(int(np.searchsorted(reached, wanted - SURE)), steps)
        return enough * step / kept

    def _step(self) -> int:
        """The largest length, in mm, of which all cuts are whole numbers."""
        cuts = np.concatenate((_whole_mm(self.cut_mm), _whole_mm(self.damage_cut_mm)))
        return max(1, math.gcd(*(int(cut) for cut in cuts)))

    def _most(self, step: int) -> int:
        """A number of steps that all screens together, and any thinkable damages, do not pass."""
        damages = np.ceil(self.damages + FAR * (1 + np.sqrt(self.damages)))
        whole = _whole_mm(self.cut_mm).sum() + damages @ _whole_mm(self.damage_cut_mm)
        return int(whole) // step

    def _distribution(self, step: int, steps: int) -> Floats:
        """Chance of each sum of cuts of 0, 1, 2 ... steps, shape (steps + 1,)."""
        chances = np.zeros(steps + 1)
        chances[0] = 1.0
        for p, cut in zip(self.chance, _whole_mm(self.cut_mm), strict=True):
            k = int(cut) // step
            due = p * chances[: max(0, steps + 1 - k)]
            chances *= 1 - p
            chances[k:] += due
        for expected, cut in zip(self.damages, _whole_mm(self.damage_cut_mm), strict=True):
            before, k = chances, int(cut) // step
            chances = math.exp(-expected) * before  # Poisson, from no damage upwards
            for count in range(1, steps // k + 1 if expected > 0 else 1):
                log_chance = count * math.log(expected) - expected - math.lgamma(count + 1)
                chances[count * k :] += math.exp(log_chance) * before[: steps + 1 - count * k]
        return chances


def _whole_mm(cut_mm: Floats) -> Floats:
    return np.ceil(cut_mm - ROUNDING)


def mesh_need(
    chance: ArrayLike,
    cut_mm: ArrayLike,
    *,
    damages: ArrayLike = (),
    damage_cut_mm: ArrayLike = (),
    scrap_share: float = 0.0,
) -> Need:
    """Reckon the length of one mesh that will be needed over a horizon.

    Parameters
    ----------
    chance : array_like (n,)
        Chance of each screen to fall due within the horizon, 0 to 1, as the forecast gives it.
    cut_mm : array_like (n,)
        Length of roll that each takes, above 0.
    damages : array_like (k,)
        Expected number of screens damaged within the horizon, from 0 upwards, one for each size of
        cut; as the shop's rate of damage or `chances_of_end` of its lives gives it.
    damage_cut_mm : array_like (k,)
        Length of roll that each of those takes, above 0.
    scrap_share : float
        Share of what is cut that is spoiled and cut again, from 0 to below 1.

    Returns
    -------
    Need
        Screens fall due independently of each other, so that the number of cuts is
        Poisson-binomial: mean sum(p l), variance sum(p (1 - p) l^2) [1]_. Damages come by chance
        (compound Poisson): mean sum(m l), variance sum(m l^2). Both are divided by 1 - scrap. A
        forecast that errs for all screens alike makes the true spread larger than this.

    Raises
    ------
    NotValid
        For columns of unequal length, and for anything that is not a number in its range.

    References
    ----------
    .. [1] Wang, Y. H. (1993). On the number of successes in independent trials. Statistica Sinica
       3, 295-312. Cited from memory.

    Examples
    --------
    >>> need = mesh_need([0.9, 0.5, 0.1], [800, 800, 1000], damages=[0.2], damage_cut_mm=[800])
    >>> round(need.mean_mm), round(need.sd_mm), round(need.chance_above(1600), 3)
    (1380, 660, 0.177)
    """
    p, cut = column("chance", chance, least=0), column("cut_mm", cut_mm, least=0)
    same_length("chance", p, "cut_mm", cut)
    if ((p < 0) | (p > 1)).any():
        raise NotValid(say("A chance lies between 0 and 1."), argument="chance")
    m = column("damages", damages, least=0)
    damage_cut = column("damage_cut_mm", damage_cut_mm, least=0)
    same_length("damages", m, "damage_cut_mm", damage_cut)
    if (m < 0).any():
        raise NotValid(say("A number of damages is 0 at least."), argument="damages")
    for name, lengths in (("cut_mm", cut), ("damage_cut_mm", damage_cut)):
        if (lengths <= 0).any():
            raise NotValid(say("A cut must be longer than 0."), argument=name)
    scrap = from_zero("scrap_share", scrap_share)
    if scrap >= 1:
        raise NotValid(say("Not all that is cut can be spoiled."), argument="scrap_share")
    variance = float((p * (1 - p) * cut**2).sum() + (m * damage_cut**2).sum())
    return Need(
        mean_mm=float(p @ cut + m @ damage_cut) / (1 - scrap),
        sd_mm=math.sqrt(variance) / (1 - scrap),
        screens=float(p.sum() + m.sum()),
        chance=p,
        cut_mm=cut,
        damages=m,
        damage_cut_mm=damage_cut,
        scrap_share=scrap,
    )
