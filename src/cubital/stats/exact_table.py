"""The 2 × 2 table with fixed margins: Fisher's test, mid-P, and the conditional odds ratio.

With margins fixed, the first cell follows Fisher's noncentral hypergeometric distribution, whose only unknown is the
odds ratio. All probabilities are built on the logarithm so that tables of thousands do not overflow.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln

from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.proportions import DEFAULT_LEVEL

_TIE = 1 + 1e-7  # two probabilities closer than this are equal; R's fisher.test uses the same allowance


@dataclass(frozen=True)
class ExactTable:
    """What a 2 × 2 table says with its margins held fixed.

    ``p_two_sided`` sums every table no likelier than this one; ``p_midp_two_sided`` is twice the smaller one-sided
    mid-P. ``odds_ratio`` is the conditional maximum-likelihood estimate with the exact ``interval``;
    ``odds_ratio_midp`` the median-unbiased estimate with ``interval_midp``. Estimates are 0 or infinite where a cell
    makes them so.
    """

    p_two_sided: float
    p_less: float
    p_greater: float
    p_midp_two_sided: float
    odds_ratio: float
    interval: Interval
    odds_ratio_midp: float
    interval_midp: Interval


class _Conditional:
    """The distribution of cell ``a`` given the margins, at any odds ratio."""

    def __init__(self, a: int, b: int, *, c: int, d: int) -> None:
        rows, column = (a + b, c + d), a + c
        self.observed = a
        self.support = np.arange(max(0, column - rows[1]), min(rows[0], column) + 1)
        s = self.support
        self._log_ways = -(
            gammaln(s + 1) + gammaln(rows[0] - s + 1) + gammaln(column - s + 1) + gammaln(rows[1] - column + s + 1)
        )

    def probabilities(self, log_odds: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        weights = self._log_ways + self.support * log_odds
        powers = np.exp(weights - weights.max())
        total: np.ndarray[tuple[int], np.dtype[np.float64]] = powers / powers.sum()
        return total

    def upper(self, log_odds: float, *, half: bool) -> float:
        """P(X >= a), or with half of the observed cell's probability."""
        p = self.probabilities(log_odds)
        tail = float(p[self.support >= self.observed].sum())
        return tail - float(p[self.support == self.observed].sum()) / 2 if half else tail

    def lower(self, log_odds: float, *, half: bool) -> float:
        """P(X <= a), or with half of the observed cell's probability."""
        p = self.probabilities(log_odds)
        tail = float(p[self.support <= self.observed].sum())
        return tail - float(p[self.support == self.observed].sum()) / 2 if half else tail

    def mean(self, log_odds: float) -> float:
        return float((self.probabilities(log_odds) * self.support).sum())

    @property
    def at_bottom(self) -> bool:
        return bool(self.observed == self.support[0])

    @property
    def at_top(self) -> bool:
        return bool(self.observed == self.support[-1])


def _solve_odds(function: Callable[[float], float], target: float) -> float:
    from scipy.optimize import brentq

    return math.exp(brentq(lambda t: function(t) - target, -60.0, 60.0, xtol=1e-12))


def _estimate(table: _Conditional, solve: Callable[[], float]) -> float:
    if table.at_bottom and table.at_top:
        return math.nan
    if table.at_bottom:
        return 0.0
    return math.inf if table.at_top else solve()


def _odds_interval(table: _Conditional, *, level: float, half: bool) -> Interval:
    tail = (1 - level) / 2
    low = 0.0 if table.at_bottom else _solve_odds(lambda t: table.upper(t, half=half), tail)
    high = math.inf if table.at_top else _solve_odds(lambda t: table.lower(t, half=half), tail)
    return Interval(low, high, level, "conditional mid-P" if half else "conditional exact")


def exact_table(a: int, b: int, *, c: int, d: int, level: float = DEFAULT_LEVEL) -> ExactTable:
    """Fisher's exact test and the conditional odds ratio of the table ``[[a, b], [c, d]]``.

    Parameters
    ----------
    a, b, c, d : counts, none negative, at least one observation in all; otherwise ``ValueError``.

    Notes
    -----
    An empty row or column leaves nothing to compare: p values are 1 and the odds ratio is not a number.

    References
    ----------
    Fisher RA, Statistical Methods for Research Workers, 5th ed., 1934. Mid-P: Lancaster HO, J Am Stat Assoc
    1961;56:223-234.
    """
    if min(a, b, c, d) < 0 or a + b + c + d == 0:
        raise ValueError(f"the table {a}, {b}, {c}, {d} holds no counts to compare")
    normal_quantile(level)
    table = _Conditional(a, b, c=c, d=d)
    p = table.probabilities(0.0)
    seen = float(p[table.support == a].sum())
    mid = 2 * min(table.upper(0.0, half=True), table.lower(0.0, half=True))
    return ExactTable(
        p_two_sided=min(1.0, float(p[p <= seen * _TIE].sum())),
        p_less=min(1.0, table.lower(0.0, half=False)),
        p_greater=min(1.0, table.upper(0.0, half=False)),  # a sum of shares may end a hair above 1
        p_midp_two_sided=min(1.0, mid),
        odds_ratio=_estimate(table, lambda: _solve_odds(table.mean, float(a))),
        interval=_odds_interval(table, level=level, half=False),
        odds_ratio_midp=_estimate(table, lambda: _solve_odds(lambda t: table.upper(t, half=True), 0.5)),
        interval_midp=_odds_interval(table, level=level, half=True),
    )
