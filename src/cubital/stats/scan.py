"""A cluster in time: how often chance alone puts so many events into one window of so many days.

Naus JI, J Am Stat Assoc 1982;77:177-183 (the approximation for a window that may lie anywhere; formulas as in Glaz J,
Naus J, Wallenstein S, Scan Statistics, 2001, from memory and held against simulation in the tests).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from scipy.special import gammaincinv, gammaln, pdtr, pdtrc, roots_genlaguerre

_NODES = 24  # points of the quadrature over what the usual rate may be
_SURE = 100  # from so many events before on, the usual rate is as good as known


@dataclass(frozen=True)
class Cluster:
    """The densest stretch: ``count`` events from ``first`` to ``last``, both days included."""

    count: int
    first: date
    last: date

    @property
    def days(self) -> int:
        """Calendar days from first to last, both counted."""
        return (self.last - self.first).days + 1


def chance_in_window(count: int, *, mean: float) -> float:
    """P(at least ``count`` events) in one window fixed beforehand, where ``mean`` are expected: exact Poisson.

    Examples
    --------
    >>> round(chance_in_window(5, mean=0.4 * 9 / 7), 4)
    0.0002
    """
    if count < 0 or mean < 0:
        raise ValueError("a count and a mean of 0 or more are needed")
    return float(pdtrc(count - 1, mean)) if count else 1.0


def chance_anywhere(count: int, *, mean: float, windows: float) -> float:
    """P(at least ``count`` events) in some window of a given length, wherever it lies in a longer stretch.

    ``mean`` are expected in one window, ``windows`` is how many windows long the stretch is, 1 or more. Naus's
    approximation; for a count of 1 or 2 it is exact enough only where such counts are rare, and never below the fixed
    window's own chance.
    """
    if count < 1 or mean < 0 or windows < 1:
        raise ValueError("a count of 1, a mean of 0 and a stretch of one window at least are needed")
    fixed = chance_in_window(count, mean=mean)
    if count == 1:
        return -math.expm1(-mean * windows)
    if mean == 0 or windows == 1:  # one window is fixed: nothing to choose, and exact
        return fixed
    two, three = _naus(count, mean)
    if not 0 < two <= 1 or three <= 0:
        return 1.0
    return float(min(1.0, max(fixed, 1 - two * (three / two) ** (windows - 2))))


@lru_cache(maxsize=4096)  # a scan asks for the same few counts and lengths over and over
def chance_anywhere_after(count: int, *, before: int, windows_before: float, windows: float) -> float:
    """As ``chance_anywhere``, where the usual rate is known only from ``before`` events in ``windows_before`` windows.

    The chance is averaged over what the mean of one window may be after that baseline: a gamma distribution of shape
    ``before + 1``. For one fixed window that is exactly the binomial test of the events in it among all, so that a
    baseline without any event still gives an honest chance, and a short one a large chance.
    """
    if before < 0 or windows_before <= 0:
        raise ValueError("a baseline of some length, with no or more events, is needed")
    if before >= _SURE:
        return chance_anywhere(count, mean=before / windows_before, windows=windows)
    nodes, weights = roots_genlaguerre(_NODES, before)
    shares = weights / weights.sum()
    chances = (chance_anywhere(count, mean=float(node) / windows_before, windows=windows) for node in nodes)
    return float(sum(share * chance for share, chance in zip(shares, chances, strict=True)))


def highest_mean(events: int, *, level: float = 0.95) -> float:
    """The largest mean that ``events`` still fit: exact one-sided upper limit of a Poisson mean; 3.0 for no event."""
    if events < 0 or not 0 < level < 1:
        raise ValueError("a count of 0 or more and a level between 0 and 1 are needed")
    return float(gammaincinv(events + 1, level))


def _naus(k: int, mean: float) -> tuple[float, float]:
    """The chance that no window holds k events in a stretch of two, and of three, windows."""

    def p(x: int) -> float:
        return math.exp(x * math.log(mean) - mean - float(gammaln(x + 1))) if x >= 0 else 0.0

    def f(x: int) -> float:
        return float(pdtr(x, mean)) if x >= 0 else 0.0

    two = f(k - 1) ** 2 - (k - 1) * p(k) * p(k - 2) - (k - 1 - mean) * p(k) * f(k - 3)
    first = 2 * p(k) * f(k - 1) * ((k - 1) * f(k - 2) - mean * f(k - 3))
    second = 0.5 * p(k) ** 2 * (
        (k - 1) * (k - 2) * f(k - 3) - 2 * (k - 2) * mean * f(k - 4) + mean**2 * f(k - 5)
    )  # fmt: skip
    third = sum(p(2 * k - r) * f(r - 1) ** 2 for r in range(1, k))
    fourth = sum(p(2 * k - r) * p(r) * ((r - 1) * f(r - 2) - mean * f(r - 3)) for r in range(2, k))
    return two, f(k - 1) ** 3 - first + second + third - fourth


def densest_stretch(days: Sequence[date], *, window: int) -> Cluster | None:
    """The ``window`` days that hold most events (the earliest among equals); none where there are no events."""
    if window < 1:
        raise ValueError("a window has at least one day")
    ordered = sorted(days)
    best: Cluster | None = None
    start = 0
    for end, day in enumerate(ordered):
        while day - ordered[start] >= timedelta(days=window):
            start += 1
        if best is None or end - start + 1 > best.count:
            best = Cluster(end - start + 1, ordered[start], day)
    return best
