"""Looking at many cells at once: the chance that at least one of them looks this high when nothing has changed.

Exact for independent binomial cells of any sizes. Counts come whole, so a small cell often cannot reach a given
chance at all; counting every cell as if it could would see more false alarms than there are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.special import bdtrc

from cubital.stats.attribute_charts import Values

_HALF = 0.5
_SAME = 1 + 1e-9  # a cell asked about with its own tail must reach it, whatever the last digits say


def chance_reached(level: float, n: int, *, rate: float) -> float:
    """The largest chance P(X >= x), over whole x of 1 or more, that is at most ``level``; 0 where there is none."""
    return float(_reached(level, np.array([float(n)]), np.array([rate]))[0])


def _reached(level: float, n: Values, rates: Values) -> Values:
    # The tail at the whole part of the mean is one half or more, so that for smaller levels the search may begin there.
    begin = np.floor(n * rates) if level < _HALF else np.zeros_like(n)
    counts, found = np.maximum(1.0, begin), np.zeros_like(n)
    waiting, whole = (n >= 1) & (rates > 0), np.maximum(n, 1).astype(int)
    while waiting.any():
        tails = np.where(counts <= n, bdtrc(np.minimum(counts - 1, whole), whole, rates), 0.0)
        there = waiting & (tails <= level * _SAME)
        found[there] = tails[there]
        waiting &= ~there
        counts = counts + waiting
    return found


def chance_of_any_cell(level: float, sizes: Sequence[int], *, rates: Sequence[float]) -> float:
    """The chance that at least one cell has an upper tail of ``level`` or less.

    Parameters
    ----------
    level : a tail chance, 0 to 1, as of the most striking cell.
    sizes : sets in each cell, 0 or more; ``rates`` : the usual rate of each, 0 to 1; as many as sizes.
    """
    n, p = np.asarray(sizes, dtype=float), np.asarray(rates, dtype=float)
    if n.shape != p.shape or (n < 0).any() or (p < 0).any() or (p > 1).any() or not 0 <= level <= 1:
        raise ValueError("a level and rates between 0 and 1 and as many sizes, none negative, are needed")
    if level >= 1:
        return 1.0 if (n > 0).any() else 0.0
    reached = _reached(level, n, p)
    if (reached >= 1).any():
        return 1.0
    return -math.expm1(float(np.log1p(-reached).sum()))


def split_chances(
    here: Sequence[int], sets_here: Sequence[int], *, all_events: Sequence[int], all_sets: Sequence[int]
) -> Values:
    """The chance that as many or more of all events fall among the sets here, cell by cell, when sets are all alike.

    Conditional on the total, so that the usual rate need not be known (Fisher's one-sided exact test). All four have
    one length; ``all_events`` and ``all_sets`` include what is here. A cell without sets has chance 1.
    """
    from scipy.stats import hypergeom

    return np.asarray(hypergeom.sf(np.asarray(here) - 1, all_sets, all_events, sets_here), dtype=float)
