"""Two proportions side by side: their difference, their ratio, their odds ratio, each with an interval."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from cubital.stats.interval import Interval, check_counts, normal_quantile
from cubital.stats.proportions import DEFAULT_LEVEL, wilson_interval


@dataclass(frozen=True)
class Comparison:
    """``estimate`` compares group 1 with group 2 (a difference or a ratio); ``interval`` says how sure that is.

    A ratio whose second group shows no event is infinite; one that is 0/0 is not a number.
    """

    estimate: float
    interval: Interval


def _check_both(x1: int, n1: int, *, x2: int, n2: int) -> None:
    check_counts(x1, n1)
    check_counts(x2, n2)


def difference_newcombe(x1: int, n1: int, *, x2: int, n2: int, level: float = DEFAULT_LEVEL) -> Comparison:
    """p1 − p2 with the hybrid score interval, sound at small counts; limits lie within −1 to 1.

    References: Newcombe RG, Stat Med 1998;17:873-890, method 10.
    """
    _check_both(x1, n1, x2=x2, n2=n2)
    p1, p2 = x1 / n1, x2 / n2
    first, second = wilson_interval(x1, n1, level=level), wilson_interval(x2, n2, level=level)
    low = p1 - p2 - math.hypot(p1 - first.low, second.high - p2)
    high = p1 - p2 + math.hypot(first.high - p1, p2 - second.low)
    return Comparison(p1 - p2, Interval(low, high, level, "Newcombe hybrid score"))


def difference_wald(x1: int, n1: int, *, x2: int, n2: int, level: float = DEFAULT_LEVEL) -> Comparison:
    """p1 − p2 ± z·se; for comparison with published figures only."""
    _check_both(x1, n1, x2=x2, n2=n2)
    p1, p2 = x1 / n1, x2 / n2
    half = normal_quantile(level) * math.sqrt(p1 * (1 - p1) / n1 + p2 * (1 - p2) / n2)
    return Comparison(p1 - p2, Interval(p1 - p2 - half, p1 - p2 + half, level, "Wald"))


def _ratio(top: float, bottom: float) -> float:
    if bottom:
        return top / bottom
    return math.inf if top else math.nan


def _log_wald(estimate: float, variance: float, *, level: float) -> Interval:
    half = normal_quantile(level) * math.sqrt(variance)
    return Interval(estimate * math.exp(-half), estimate * math.exp(half), level, "Wald on the logarithm")


_NO_LIMITS = "Wald on the logarithm (no limits: a cell is empty)"


def risk_ratio_wald(x1: int, n1: int, *, x2: int, n2: int, level: float = DEFAULT_LEVEL) -> Comparison:
    """p1 / p2 with Katz's interval; with an empty cell the limits are 0 and infinity.

    References: Katz D et al., Biometrics 1978;34:469-474.
    """
    _check_both(x1, n1, x2=x2, n2=n2)
    estimate = _ratio(x1 / n1, x2 / n2)
    if not x1 or not x2:
        return Comparison(estimate, Interval(0.0, math.inf, level, _NO_LIMITS))
    return Comparison(estimate, _log_wald(estimate, 1 / x1 - 1 / n1 + 1 / x2 - 1 / n2, level=level))


def odds_ratio_wald(x1: int, n1: int, *, x2: int, n2: int, level: float = DEFAULT_LEVEL) -> Comparison:
    """Odds of group 1 over odds of group 2 with Woolf's interval; empty cells as in ``risk_ratio_wald``.

    References: Woolf B, Ann Hum Genet 1955;19:251-253.
    """
    _check_both(x1, n1, x2=x2, n2=n2)
    cells = (x1, n1 - x1, x2, n2 - x2)
    estimate = _ratio(x1 * (n2 - x2), x2 * (n1 - x1))
    if not all(cells):
        return Comparison(estimate, Interval(0.0, math.inf, level, _NO_LIMITS))
    return Comparison(estimate, _log_wald(estimate, sum(1 / cell for cell in cells), level=level))


def _score_statistic(x1: int, n1: int, *, x2: int, n2: int) -> Callable[[float], float]:
    """Koopman's chi-square as a function of the logarithm of the hypothetical ratio."""

    def statistic(log_ratio: float) -> float:
        theta = math.exp(log_ratio)
        a, b, c = (n1 + n2) * theta, -(n1 * theta + x1 + n2 + x2 * theta), x1 + x2
        # The smaller root, by the form in which nothing cancels; rounding must not push a share above 1.
        p2 = min(1.0, 2 * c / (-b + math.sqrt(max(0.0, b * b - 4 * a * c))))
        p1 = min(1.0, theta * p2)
        return _squared_gap(x1, n1, p=p1) + _squared_gap(x2, n2, p=p2)

    return statistic


def _squared_gap(x: int, n: int, *, p: float) -> float:
    """Pearson's term of one group; 0 where the share is 1 and every one of the group was an event."""
    spread = n * p * (1 - p)
    return (x - n * p) ** 2 / spread if spread > 0 else 0.0


def risk_ratio_score(x1: int, n1: int, *, x2: int, n2: int, level: float = DEFAULT_LEVEL) -> Comparison:
    """p1 / p2 with the score interval, which an empty cell does not upset.

    Notes
    -----
    No event in group 1 gives a lower limit of 0, none in group 2 an infinite upper limit, none anywhere both.

    References
    ----------
    Koopman PAR, Biometrics 1984;40:513-517.
    """
    from scipy.optimize import brentq

    _check_both(x1, n1, x2=x2, n2=n2)
    estimate = _ratio(x1 / n1, x2 / n2)
    limit = normal_quantile(level) ** 2
    statistic = _score_statistic(x1, n1, x2=x2, n2=n2)
    # A half event stands in for none where the search starts; it shifts the start, not the limit.
    start = math.log((max(x1, 0.5) / n1) / (max(x2, 0.5) / n2))
    widest = start - 25, start + 25
    low = 0.0 if not x1 else math.exp(brentq(lambda t: statistic(t) - limit, widest[0], start))
    high = math.inf if not x2 else math.exp(brentq(lambda t: statistic(t) - limit, start, widest[1]))
    return Comparison(estimate, Interval(low, high, level, "Koopman score"))
