"""Exact binomial limits around a target for any number of observations: the lines of a funnel.

Spiegelhalter DJ, Stat Med 2005;24:1185-1202 (doi:10.1002/sim.1970), appendix A.1.1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import normal_quantile


@dataclass(frozen=True)
class FunnelLimits:
    """Per ``n``: limits as shares. ``quantile`` limits are possible counts over n, ``interpolated`` run between."""

    low_quantile: Values
    high_quantile: Values
    low_interpolated: Values
    high_interpolated: Values


def _quantile(q: float, n: int, *, target: float) -> int:
    """The smallest count whose cumulative probability reaches ``q``."""
    # The allowance is R's: a cumulative probability that equals q but for rounding counts as having reached it.
    return int(np.searchsorted(bdtr(np.arange(n + 1), n, target), q * (1 - 64 * np.finfo(float).eps)))


def _interpolated(q: float, n: int, *, target: float) -> float:
    r = _quantile(q, n, target=target)
    reached, before = float(bdtr(r, n, target)), float(bdtr(r - 1, n, target)) if r else 0.0
    return (r - (reached - q) / (reached - before)) / n


def funnel_limits(n: Sequence[int], *, target: float, level: float) -> FunnelLimits:
    """Two-sided limits at ``level`` around ``target`` (0 to 1, exclusive) for each ``n`` (at least 1)."""
    normal_quantile(level)
    if not 0 < target < 1 or min(n) < 1:
        raise ValueError("funnel limits need a target between 0 and 1 and at least one observation")
    tail = (1 - level) / 2

    def share(q: float) -> Values:
        return np.array([_quantile(q, size, target=target) / size for size in n])

    def smooth(q: float) -> Values:
        return np.clip([_interpolated(q, size, target=target) for size in n], 0.0, 1.0)

    return FunnelLimits(share(tail), share(1 - tail), smooth(tail), smooth(1 - tail))
