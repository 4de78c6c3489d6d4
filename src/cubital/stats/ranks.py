"""How sure an order is: for every place the chance of each rank, from the distributions of the true rates.

Goldstein H, Spiegelhalter DJ, J R Stat Soc A 1996;159:385-443: orders of hospitals must carry their uncertainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import betainc, betaincinv

from cubital.stats.shrinkage import BetaPrior

Vector = np.ndarray[tuple[int], np.dtype[np.float64]]
Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]
_NODES = 200


@lru_cache(maxsize=4)
def _nodes_and_weights(nodes: int) -> tuple[Vector, Vector]:
    at, width = np.polynomial.legendre.leggauss(nodes)
    return at, width


@dataclass(frozen=True)
class Ranks:
    """``chance[i, r]`` is the chance that place i has the (r + 1)-lowest true rate; rows and columns add up to 1."""

    chance: Matrix

    def expected(self) -> tuple[float, ...]:
        """The mean rank of each place; 1 is the lowest rate."""
        return tuple(float(row) for row in self.chance @ np.arange(1, len(self.chance) + 1))

    def interval(self, place: int, *, level: float = 0.95) -> tuple[int, int]:
        """The ranks that hold the middle ``level`` for one place, both ends inclusive."""
        below = np.cumsum(self.chance[place])
        tail = (1 - level) / 2
        return int(np.searchsorted(below, tail)) + 1, int(np.searchsorted(below, 1 - tail - 1e-12)) + 1

    def highest(self) -> tuple[float, ...]:
        """The chance that each place has the highest true rate."""
        return tuple(float(one) for one in self.chance[:, -1])

    def lowest(self) -> tuple[float, ...]:
        """The chance that each place has the lowest true rate."""
        return tuple(float(one) for one in self.chance[:, 0])


def rank_places(rates: Sequence[BetaPrior], *, nodes: int = _NODES) -> Ranks:
    """Rank probabilities of independent Beta distributions, by integration over each place's own quantiles.

    At a fixed rate x of one place, how many of the others lie below is a sum of independent yes-or-no events, whose
    distribution is built up one place after another. One place or more; ``ValueError`` otherwise.
    """
    if not rates:
        raise ValueError("an order needs at least one place")
    a, b = np.array([one.alpha for one in rates]), np.array([one.beta for one in rates])
    at, width = _nodes_and_weights(nodes)
    u, w = (at + 1) / 2, width / 2
    chance = np.empty((len(rates), len(rates)))
    for place in range(len(rates)):
        x = betaincinv(a[place], b[place], u)
        below = np.zeros((nodes, len(rates)))
        below[:, 0] = 1.0
        for other in range(len(rates)):
            if other != place:
                lower = betainc(a[other], b[other], x)[:, None]
                below[:, 1:] = below[:, 1:] * (1 - lower) + below[:, :-1] * lower
                below[:, :1] *= 1 - lower
        chance[place] = w @ below
    return Ranks(chance)
