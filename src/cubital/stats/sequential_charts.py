"""Charts that remember: EWMA, tabular CUSUM, and CUSUM of outcomes one by one (Bernoulli, risk-adjusted, binomial).

Montgomery DC, Introduction to Statistical Quality Control, chapter 9. Steiner SH, Cook RJ, Farewell VT, Treasure T,
Biostatistics 2000;1:441-452 (risk-adjusted scores). Roberts SW, Technometrics 1959;1:239-250 (EWMA).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import THREE_SIGMAS, Values


@dataclass(frozen=True)
class EwmaChart:
    """Smoothed values (shape n) with limits that widen to their lasting width. ``beyond``: positions from 0."""

    values: Values
    lower: Values
    upper: Values
    beyond: tuple[int, ...]


@dataclass(frozen=True)
class CusumChart:
    """Sums above and below the target (shape n each), in the unit of the data, and the ``limit`` they may reach.

    ``signals`` are the positions, from 0, at which a sum lies above the limit. ``began`` is the position of the point
    after which the first signal's sum began to grow: the likely start of the change; none without a signal.
    """

    above: Values
    below: Values
    limit: float
    signals: tuple[int, ...]
    began: int | None


@dataclass(frozen=True)
class ScoreChart:
    """One sum of log-likelihood scores, never below 0 (shape n); ``signals`` are the positions at or over ``limit``."""

    values: Values
    limit: float
    signals: tuple[int, ...]


def _numbers(values: Sequence[float]) -> Values:
    found = np.asarray(values, dtype=float)
    if found.ndim != 1 or not found.size or not np.isfinite(found).all():
        raise ValueError("a chart needs at least one value, and only numbers")
    return found


def ewma_chart(
    x: Sequence[float],
    *,
    target: float,
    sigma: float | Sequence[float],
    weight: float = 0.2,
    sigmas: float = THREE_SIGMAS,
) -> EwmaChart:
    """Exponentially weighted moving averages of ``x``, each with its exact limits.

    Parameters
    ----------
    x : values in time order (shape n).
    target : where the average should lie, same unit.
    sigma : standard deviation of one value, above 0; or one per value (shape n) where the sizes vary.
    weight : of the newest value, above 0, at most 1.

    Notes
    -----
    The variance is carried along with the average: v = weight²·sigma² + (1 − weight)²·v. With one sigma that is the
    closed form weight/(2 − weight)·(1 − (1 − weight)^2i)·sigma².
    """
    values = _numbers(x)
    spread = np.broadcast_to(np.asarray(sigma, dtype=float), values.shape)
    if not 0 < weight <= 1 or (spread <= 0).any():
        raise ValueError("a weight above 0 up to 1 and a sigma above 0 are needed")
    average, variance = target, 0.0
    averages, variances = np.empty_like(values), np.empty_like(values)
    for place, (value, sd) in enumerate(zip(values, spread, strict=True)):
        average = weight * value + (1 - weight) * average
        variance = (weight * sd) ** 2 + (1 - weight) ** 2 * variance
        averages[place], variances[place] = average, variance
    reach = sigmas * np.sqrt(variances)
    beyond = tuple(int(i) for i in np.flatnonzero(np.abs(averages - target) > reach))
    return EwmaChart(averages, target - reach, target + reach, beyond)


def tabular_cusum(
    x: Sequence[float], *, target: float, sigma: float = 1.0, k: float = 0.5, h: float = 5.0, head_start: float = 0.0
) -> CusumChart:
    """Sums of what lies beyond target ± k·sigma, upwards and downwards, against a limit of h·sigma.

    ``k``, ``h`` and ``head_start`` are in sigmas; half the shift to be found is the usual k. A head start of h/2 finds
    a process that is off from the beginning sooner.
    """
    values = _numbers(x)
    if sigma <= 0 or h <= 0 or k < 0 or not 0 <= head_start < h:
        raise ValueError("sigma and h must be above 0, k not negative, the head start below h")
    above = _sums(values - target - k * sigma, start=head_start * sigma)
    below = _sums(target - k * sigma - values, start=head_start * sigma)
    limit = h * sigma
    signals = tuple(int(i) for i in np.flatnonzero((above > limit) | (below > limit)))
    began = None
    if signals:
        first = signals[0]
        sums = above if above[first] > limit else below
        zeros = np.flatnonzero(sums[: first + 1] == 0)
        began = int(zeros[-1]) + 1 if zeros.size else 0
    return CusumChart(above, below, limit, signals, began)


def _sums(steps: Values, *, start: float) -> Values:
    sums, sum_so_far = np.empty_like(steps), start
    for place, step in enumerate(steps):
        sum_so_far = max(0.0, sum_so_far + float(step))
        sums[place] = sum_so_far
    return sums


def outcome_scores(outcomes: Sequence[float], risks: Sequence[float], *, odds_ratio: float) -> Values:
    """Log-likelihood-ratio scores of outcomes (0 or 1), each with its expected risk, for a change in odds.

    Parameters
    ----------
    outcomes, risks : same length n; risks between 0 and 1, exclusive.
    odds_ratio : the change looked for: above 1 worse, below 1 better; not 1.

    Notes
    -----
    y·log(R) − log(1 − p + R·p) (Steiner 2000).
    """
    y, p = _numbers(outcomes), _numbers(risks)
    if y.shape != p.shape or not np.isin(y, (0.0, 1.0)).all() or (p <= 0).any() or (p >= 1).any():
        raise ValueError("as many risks between 0 and 1 as outcomes of 0 or 1 are needed")
    _check_odds(odds_ratio)
    return np.asarray(y * math.log(odds_ratio) - np.log1p(p * (odds_ratio - 1)))


def count_scores(events: Sequence[float], n: Sequence[float], *, rate: float, odds_ratio: float) -> Values:
    """The same scores for whole months: ``events`` among ``n`` sets at the usual ``rate`` (between 0 and 1)."""
    x, sizes = _numbers(events), _numbers(n)
    if x.shape != sizes.shape or (x < 0).any() or (x > sizes).any() or not 0 < rate < 1:
        raise ValueError("events between 0 and n, and a rate between 0 and 1, are needed")
    _check_odds(odds_ratio)
    return np.asarray(x * math.log(odds_ratio) - sizes * math.log1p(rate * (odds_ratio - 1)))


def _check_odds(odds_ratio: float) -> None:
    if odds_ratio <= 0 or odds_ratio == 1:
        raise ValueError(f"an odds ratio of {odds_ratio} names no change to look for")


def score_cusum(scores: Sequence[float], *, limit: float) -> ScoreChart:
    """The running sum of scores, never below 0. It is not set back after a signal: the change may still be there."""
    if limit <= 0:
        raise ValueError("a limit above 0 is needed")
    sums = _sums(_numbers(scores), start=0.0)
    return ScoreChart(sums, limit, tuple(int(i) for i in np.flatnonzero(sums >= limit)))
