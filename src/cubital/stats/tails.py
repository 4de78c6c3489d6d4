"""Exact binomial tails: how often chance alone gives a count this high, this low, or some such month in a year."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scipy.special import bdtr, bdtrc, betainc, chdtrc

from cubital.stats.interval import check_counts


def chance_at_least(x: int, n: int, *, rate: float) -> float:
    """P(X >= x) for ``n`` independent draws at ``rate`` (0 to 1), exactly; 1 for x <= 0, 0 for x > n."""
    if x <= 0:
        return 1.0
    return 0.0 if x > n else float(bdtrc(x - 1, n, rate))


def chance_at_most(x: int, n: int, *, rate: float) -> float:
    """P(X <= x), exactly; 0 for x < 0, 1 for x >= n."""
    if x < 0:
        return 0.0
    return 1.0 if x >= n else float(bdtr(x, n, rate))


def chance_of_any(chance: float, times: int) -> float:
    """The chance that something of probability ``chance`` happens at least once in ``times`` independent tries."""
    if chance >= 1:
        return 1.0 if times else 0.0
    return -math.expm1(times * math.log1p(-chance))


def most_below(target: float, n: int) -> int:
    """The largest count whose share of ``n`` lies strictly below ``target``; −1 where not even none does."""
    # Rounding to 9 places first: 0.03 × 500 must be 15, not 15.000000000000002.
    return math.ceil(round(target * n, 9)) - 1


def chance_rate_below(x: int, n: int, *, target: float, prior: tuple[float, float] = (0.5, 0.5)) -> float:
    """Posterior probability that the true rate lies below ``target`` after ``x`` events in ``n``.

    Parameters
    ----------
    x, n : counts, ``0 <= x <= n``, ``n >= 1``; anything else is a ``ValueError``.
    target : a rate, 0 to 1.
    prior : the two parameters of the Beta prior; Jeffreys' by default.

    Examples
    --------
    >>> round(chance_rate_below(10, 498, target=0.03), 2)
    0.91
    """
    check_counts(x, n)
    a, b = prior
    return float(betainc(a + x, b + n - x, target))


def chance_all_here(events: int, here: int, *, elsewhere: int) -> float:
    """The chance that all ``events`` among ``here + elsewhere`` equal draws fall among the ``here``: exact."""
    if events > here:
        return 0.0
    return math.prod((here - i) / (here + elsewhere - i) for i in range(events))


def dispersion_chance(events: Sequence[int], n: Sequence[int]) -> float:
    """How often chance alone scatters counts around their common share at least this widely, by chi-square.

    Good where most expected counts pass five; 1 where nothing can scatter. ``events`` and ``n`` have one length.

    References: Spiegelhalter DJ, Qual Saf Health Care 2005;14:347-351 (from memory).
    """
    pairs = [(x, size) for x, size in zip(events, n, strict=True) if size]
    share = sum(x for x, _size in pairs) / sum(size for _x, size in pairs) if pairs else 0.0
    if len(pairs) < 2 or not 0 < share < 1:
        return 1.0
    statistic = sum((x - size * share) ** 2 / (size * share * (1 - share)) for x, size in pairs)
    return float(chdtrc(len(pairs) - 1, statistic))
