"""Two 2 × 2 tables side by side: how much larger one's odds ratio is than the other's, exactly."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile

_TIE = 1 + 1e-7


@dataclass(frozen=True)
class ExactInteraction:
    """Table 1's odds ratio over table 2's. ``estimate`` is the conditional maximum-likelihood one.

    It is 0 or infinite where a cell makes it so, and not a number where the margins allow one split only.
    ``p_two_sided`` sums every split no likelier than this one at equal odds ratios; ``p_midp`` is twice the smaller
    one-sided mid-P. ``interval`` is exact, ``interval_midp`` shorter and right on average.
    """

    estimate: float
    p_two_sided: float
    p_midp: float
    interval: Interval
    interval_midp: Interval


@dataclass(frozen=True)
class _Splits:
    """All splits of the events after between two tables with fixed margins, and which one was seen."""

    support: Values
    log_ways: Values
    seen: int

    def chances(self, log_ratio: float) -> Values:
        weights = self.log_ways + self.support * log_ratio
        powers = np.exp(weights - weights.max())
        return np.asarray(powers / powers.sum())

    def tail(self, log_ratio: float, *, upper: bool, half: bool) -> float:
        p = self.chances(log_ratio)
        beyond = self.support >= self.seen if upper else self.support <= self.seen
        return float(p[beyond].sum()) - (float(p[self.support == self.seen].sum()) / 2 if half else 0.0)


def exact_interaction(
    first: tuple[int, int, int, int], second: tuple[int, int, int, int], *, level: float = 0.95
) -> ExactInteraction:
    """Compares the odds ratios of two tables given all their margins and the events both share.

    Parameters
    ----------
    first, second : events after, sets after, events before, sets before, each (counts; otherwise ``ValueError``).

    Notes
    -----
    Given the events of either table and all events after, the events after in table 1 follow a distribution whose only
    unknown is the ratio of the odds ratios (Zelen's, tilted). A side without events or without sets in a period allows
    one split only: p is 1 and the interval 0 to infinity.

    References
    ----------
    Zelen M, Biometrika 1971;58:129-137. Mid-P: Lancaster HO, J Am Stat Assoc 1961;56:223-234.

    Examples
    --------
    >>> found = exact_interaction((3, 100, 12, 100), (10, 100, 10, 100))
    >>> round(found.estimate, 3), round(found.p_two_sided, 3)
    (0.238, 0.079)
    """
    for events_after, n_after, events_before, n_before in (first, second):
        if not (0 <= events_after <= n_after and 0 <= events_before <= n_before):
            raise ValueError("the counts of a table are impossible")
    splits = _splits(first, second)
    p = splits.chances(0.0)
    seen = float(p[splits.support == splits.seen].sum())
    halves = (splits.tail(0.0, upper=True, half=True), splits.tail(0.0, upper=False, half=True))
    return ExactInteraction(
        estimate=_estimate(splits),
        p_two_sided=min(1.0, float(p[p <= seen * _TIE].sum())),
        p_midp=min(1.0, 2 * min(halves)),
        interval=_interval(splits, level=level, half=False),
        interval_midp=_interval(splits, level=level, half=True),
    )


def _splits(first: tuple[int, int, int, int], second: tuple[int, int, int, int]) -> _Splits:
    (a1, n1, b1, m1), (a2, n2, b2, m2) = first, second
    events, others, after = a1 + b1, a2 + b2, a1 + a2
    k = np.arange(
        max(0, events - m1, after - min(n2, others)), min(n1, events, after - max(0, others - m2)) + 1, dtype=float
    )
    rest = after - k
    log_ways = _ways(n1, k) + _ways(m1, events - k) + _ways(n2, rest) + _ways(m2, others - rest)
    return _Splits(k, log_ways, a1)


def _ways(n: int, k: Values) -> Values:
    return np.asarray(gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1))


def _solve(function: Callable[[float], float]) -> float:
    from scipy.optimize import brentq

    return math.exp(brentq(function, -60.0, 60.0, xtol=1e-12))


def _estimate(splits: _Splits) -> float:
    bottom, top = splits.seen == splits.support[0], splits.seen == splits.support[-1]
    if bottom and top:
        return math.nan
    if bottom or top:
        return 0.0 if bottom else math.inf
    return _solve(lambda t: float(splits.chances(t) @ splits.support) - splits.seen)


def _interval(splits: _Splits, *, level: float, half: bool) -> Interval:
    normal_quantile(level)  # checks the level
    rest = (1 - level) / 2
    low, high = 0.0, math.inf
    if splits.seen != splits.support[0]:
        low = _solve(lambda t: splits.tail(t, upper=True, half=half) - rest)
    if splits.seen != splits.support[-1]:
        high = _solve(lambda t: splits.tail(t, upper=False, half=half) - rest)
    return Interval(low, high, level, "conditional mid-P" if half else "conditional exact")
