"""Two counts over two amounts of exposure: their rate ratio, exactly and approximately."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, xlog1py, xlogy

from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.proportions import DEFAULT_LEVEL, clopper_pearson_interval

_TIE = 1 + 1e-7


@dataclass(frozen=True)
class RateRatio:
    """``estimate`` = (x1/t1)/(x2/t2). ``wald`` needs an event on both sides, otherwise 0 to infinity.

    ``exact_p`` sums every split no likelier than this one; ``midp_p`` is twice the smaller one-sided mid-P.
    """

    estimate: float
    wald: Interval
    exact: Interval
    exact_p: float
    midp_p: float


def _splits(total: int, share: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    k = np.arange(total + 1)
    logs = gammaln(total + 1) - gammaln(k + 1) - gammaln(total - k + 1) + xlogy(k, share) + xlog1py(total - k, -share)
    probabilities: np.ndarray[tuple[int], np.dtype[np.float64]] = np.exp(logs)
    return probabilities


def _wald(x1: int, x2: int, *, estimate: float, level: float) -> Interval:
    if not x1 or not x2:
        return Interval(0.0, math.inf, level, "Wald on the logarithm (no limits: a count is zero)")
    half = normal_quantile(level) * math.sqrt(1 / x1 + 1 / x2)
    return Interval(estimate * math.exp(-half), estimate * math.exp(half), level, "Wald on the logarithm")


def _odds(p: float) -> float:
    return math.inf if p >= 1 else p / (1 - p)


def rate_ratio(x1: int, t1: float, *, x2: int, t2: float, level: float = DEFAULT_LEVEL) -> RateRatio:
    """Compares ``x1`` events in exposure ``t1`` with ``x2`` in ``t2`` (same unit, both above 0).

    Given the total, x1 is binomial with a share that depends on the rate ratio only; the exact interval is that
    share's Clopper–Pearson interval turned into a ratio. Without any event there is nothing to compare: ``ValueError``.

    References: Rothman KJ, Greenland S, Modern Epidemiology, 2nd ed., 1998, chapter 14.
    """
    if min(x1, x2) < 0 or x1 + x2 == 0 or not (t1 > 0 and t2 > 0):
        raise ValueError(f"{x1} in {t1} and {x2} in {t2} cannot be compared")
    total, share = x1 + x2, t1 / (t1 + t2)
    estimate = (x1 / t1) / (x2 / t2) if x2 else math.inf
    shares = clopper_pearson_interval(x1, total, level=level)
    p = _splits(total, share)
    lower, upper = float(p[: x1 + 1].sum()), float(p[x1:].sum())
    return RateRatio(
        estimate=estimate,
        wald=_wald(x1, x2, estimate=estimate, level=level),
        exact=Interval(_odds(shares.low) * t2 / t1, _odds(shares.high) * t2 / t1, level, "conditional exact"),
        exact_p=min(1.0, float(p[p <= p[x1] * _TIE].sum())),
        midp_p=min(1.0, 2 * (min(lower, upper) - float(p[x1]) / 2)),
    )
