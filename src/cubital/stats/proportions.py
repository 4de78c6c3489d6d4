"""Intervals for one proportion: seven methods, one function each, chosen by name.

Notation of Brown LD, Cai TT, DasGupta A, Stat Sci 2001;16:101-133 (doi:10.1214/ss/1009213286).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from scipy.special import bdtrc, betaincinv

from cubital.stats.interval import Interval, check_counts, normal_quantile

DEFAULT_LEVEL = 0.95


def _bounded(low: float, high: float, *, level: float, method: str) -> Interval:
    return Interval(max(0.0, low), min(1.0, high), level, method)


def wilson_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The score interval of ``x`` events in ``n``: sound at small counts and at 0, never outside 0 to 1.

    Parameters
    ----------
    x, n : counts, ``0 <= x <= n``, ``n >= 1``; anything else is a ``ValueError``.
    level : coverage aimed at, 0 to 1 exclusive.

    Notes
    -----
    At ``x = 0`` the lower limit is exactly 0, at ``x = n`` the upper exactly 1.

    References
    ----------
    Wilson EB, J Am Stat Assoc 1927;22:209-212 (doi:10.1080/01621459.1927.10502953).

    Examples
    --------
    >>> round(wilson_interval(19, 498).high, 3)
    0.059
    """
    check_counts(x, n)
    z = normal_quantile(level)
    p, q = x / n, 1 - x / n
    centre = (x + z * z / 2) / (n + z * z)
    half = z * math.sqrt(n) / (n + z * z) * math.sqrt(p * q + z * z / (4 * n))
    low = 0.0 if x == 0 else centre - half
    high = 1.0 if x == n else centre + half
    return _bounded(low, high, level=level, method="Wilson")


def wilson_cc_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The score interval with continuity correction: wider, close to the exact one.

    References: Newcombe RG, Stat Med 1998;17:857-872, method 4.
    """
    check_counts(x, n)
    z = normal_quantile(level)
    p, q = x / n, 1 - x / n
    base, scale = 2 * n * p + z * z, 2 * (n + z * z)
    low = (base - 1 - z * math.sqrt(max(0.0, z * z - 2 - 1 / n + 4 * p * (n * q + 1)))) / scale
    high = (base + 1 + z * math.sqrt(max(0.0, z * z + 2 - 1 / n + 4 * p * (n * q - 1)))) / scale
    return _bounded(
        0.0 if x == 0 else low, 1.0 if x == n else high, level=level, method="Wilson with continuity correction"
    )


def clopper_pearson_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The exact interval: never covers less than ``level``, often more.

    References: Clopper CJ, Pearson ES, Biometrika 1934;26:404-413 (doi:10.1093/biomet/26.4.404).
    """
    check_counts(x, n)
    normal_quantile(level)
    tail = (1 - level) / 2
    low = 0.0 if x == 0 else float(betaincinv(x, n - x + 1, tail))
    high = 1.0 if x == n else float(betaincinv(x + 1, n - x, 1 - tail))
    return Interval(low, high, level, "Clopper–Pearson")


def _mid_upper_tail(x: int, n: int, p: float) -> float:
    """P(X > x) + P(X = x)/2 for a binomial X."""
    return float((bdtrc(x - 1, n, p) + bdtrc(x, n, p)) / 2)


def midp_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The exact interval that counts half of the observed value's probability: covers ``level`` on average.

    References: Berry G, Armitage P, The Statistician 1995;44:417-423.
    """
    from scipy.optimize import brentq

    check_counts(x, n)
    normal_quantile(level)
    tail = (1 - level) / 2

    def solve(target: float) -> float:
        return float(brentq(lambda p: _mid_upper_tail(x, n, p) - target, 0.0, 1.0, xtol=1e-13))

    low = 0.0 if x == 0 else solve(tail)
    high = 1.0 if x == n else solve(1 - tail)
    return Interval(low, high, level, "mid-P")


def agresti_coull_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The Wald interval after adding z²/2 events and z²/2 non-events, clipped to 0 to 1.

    References: Agresti A, Coull BA, Am Stat 1998;52:119-126 (doi:10.1080/00031305.1998.10480550).
    """
    check_counts(x, n)
    z = normal_quantile(level)
    total = n + z * z
    p = (x + z * z / 2) / total
    half = z * math.sqrt(p * (1 - p) / total)
    return _bounded(p - half, p + half, level=level, method="Agresti–Coull")


def jeffreys_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The equal-tailed posterior interval under Beta(½, ½); not replaced by 0 or 1 at the ends."""
    check_counts(x, n)
    normal_quantile(level)
    tail = (1 - level) / 2
    a, b = x + 0.5, n - x + 0.5
    return Interval(float(betaincinv(a, b, tail)), float(betaincinv(a, b, 1 - tail)), level, "Jeffreys")


def wald_interval(x: int, n: int, *, level: float = DEFAULT_LEVEL) -> Interval:
    """The textbook interval p ± z·se, clipped; here for comparison only, it has no width at 0 and at n."""
    check_counts(x, n)
    z = normal_quantile(level)
    p = x / n
    half = z * math.sqrt(p * (1 - p) / n)
    return _bounded(p - half, p + half, level=level, method="Wald")


PROPORTION_INTERVALS: Mapping[str, Callable[..., Interval]] = {
    "wilson": wilson_interval,
    "wilson_cc": wilson_cc_interval,
    "clopper_pearson": clopper_pearson_interval,
    "midp": midp_interval,
    "agresti_coull": agresti_coull_interval,
    "jeffreys": jeffreys_interval,
    "wald": wald_interval,
}
