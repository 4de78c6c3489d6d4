"""Units with a change, even one, against units without: chance among sets, and how differently units change anyway."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.difference_in_differences import BeforeAfter
from cubital.stats.interval import Interval
from cubital.stats.segmented import student_quantile

_HALF = 0.5  # added to every cell, so that a cell without events has a logarithm (Gart and Zweifel; common practice)


@dataclass(frozen=True)
class PeerDifference:
    """How much more some units changed than their peers did, as a ratio of odds ratios with its ``interval``.

    ``peers_ratio`` is the peers' own odds ratio, after over before. ``spread`` is the standard deviation of the units'
    log odds ratios beyond chance, 0 where they differ no more than chance; ``units`` and ``peers`` how many there are.
    """

    estimate: float
    interval: Interval
    peers_ratio: float
    peers_interval: Interval
    spread: float
    units: int
    peers: int


def peer_difference(
    units: Sequence[BeforeAfter], peers: Sequence[BeforeAfter], *, level: float = 0.95
) -> PeerDifference:
    """The odds ratio of ``units``, one or more, over that of their ``peers``, at least two (``ValueError``).

    Notes
    -----
    A single unit shows nothing of how differently units change from year to year; its peers do. The log odds ratios of
    either side are pooled with a spread τ² that both share, found by moments around the two means. The interval holds
    each side's chance and τ², by Student's t with as many degrees of freedom as units and peers less two (one, where
    there is one unit) where τ² is above 0, and by the normal distribution where it is not. ½ is added to every cell.

    References
    ----------
    DerSimonian R, Laird N, Control Clin Trials 1986;7:177-188. Higgins JPT, Thompson SG, Spiegelhalter DJ, J R Stat Soc
    A 2009;172:137-159 (the interval of one more unit).

    Examples
    --------
    >>> ours = BeforeAfter(events_before=60, n_before=1200, events_after=30, n_after=1200)
    >>> others = [BeforeAfter(events_before=30, n_before=1000, events_after=x, n_after=1000) for x in (28, 31, 33)]
    >>> round(peer_difference([ours], others).estimate, 2)
    0.48
    """
    if len(peers) < 2 or not units:
        raise ValueError("a unit with the change and two without are needed")
    sides = [_Side.of(units), _Side.of(peers)]
    df = sum(len(side.logs) - 1 for side in sides)
    tau2 = _shared_spread(sides, df)
    (own, own_variance), (mean, mean_variance) = (side.pooled(tau2) for side in sides)
    reach = student_quantile(level, df if tau2 > 0 else None)
    error = math.sqrt(own_variance + mean_variance)
    return PeerDifference(
        estimate=math.exp(own - mean),
        interval=_around(own - mean, reach * error, level=level, method="ratio of odds ratios, spread of units held"),
        peers_ratio=math.exp(mean),
        peers_interval=_around(mean, reach * math.sqrt(mean_variance), level=level, method="pooled by moments"),
        spread=math.sqrt(tau2),
        units=len(units),
        peers=len(peers),
    )


@dataclass(frozen=True)
class _Side:
    """Log odds ratios of the units of one side and their variances (shape u)."""

    logs: Values
    variances: Values

    @classmethod
    def of(cls, units: Sequence[BeforeAfter]) -> _Side:
        logs, variances = zip(*map(_log_odds_ratio, units), strict=True)
        return cls(np.array(logs), np.array(variances))

    def pooled(self, tau2: float) -> tuple[float, float]:
        """The weighted mean and its variance."""
        weights = 1 / (self.variances + tau2)
        return float(weights @ self.logs / weights.sum()), float(1 / weights.sum())


def _shared_spread(sides: Sequence[_Side], df: int) -> float:
    """The variance of log odds ratios beyond chance, from how far units stray from the mean of their side."""
    q = scale = 0.0
    for side in sides:
        weights = 1 / side.variances
        mean = float(weights @ side.logs / weights.sum())
        q += float(weights @ (side.logs - mean) ** 2)
        scale += float(weights.sum() - (weights**2).sum() / weights.sum())
    return max(0.0, (q - df) / scale)


def _log_odds_ratio(one: BeforeAfter) -> tuple[float, float]:
    """Log odds ratio after over before, and its variance."""
    cells = (
        one.events_after + _HALF,
        one.n_after - one.events_after + _HALF,
        one.events_before + _HALF,
        one.n_before - one.events_before + _HALF,
    )
    return math.log(cells[0] * cells[3] / (cells[1] * cells[2])), sum(1 / cell for cell in cells)


def _around(middle: float, reach: float, *, level: float, method: str) -> Interval:
    return Interval(math.exp(middle - reach), math.exp(middle + reach), level, method)
