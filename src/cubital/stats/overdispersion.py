"""How much more places differ than chance makes them: what widens a funnel.

Spiegelhalter DJ, Stat Med 2005;24:1185-1202, and Qual Saf Health Care 2005;14:347-351 (winsorised, multiplicative and
additive). DerSimonian R, Laird N, Control Clin Trials 1986;7:177-188.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import normal_quantile


@dataclass(frozen=True)
class PlaceScores:
    """How far each place lies from the target, in its own standard errors: ``z`` (shape k) and ``error`` (shape k)."""

    z: Values
    error: Values


@dataclass(frozen=True)
class Overdispersion:
    """``phi`` multiplies the variance of every place (1 is chance alone), ``tau2`` adds to it, on the scale of scores.

    ``winsorised`` are the scores from which both were taken.
    """

    phi: float
    tau2: float
    winsorised: Values


@dataclass(frozen=True)
class RandomEffects:
    """A common mean ``mu`` with standard error ``se``; ``tau2`` between places, ``q`` and ``i2`` (per cent)."""

    mu: float
    se: float
    tau2: float
    q: float
    i2: float


def share_scores(events: Sequence[float], n: Sequence[float], *, target: float | None = None) -> PlaceScores:
    """Scores of shares on the arcsine scale, where their error hardly depends on the share and zero is no trouble.

    ``events`` among ``n`` (n above 0); ``target`` a share, none takes the pooled one.
    """
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    if x.shape != sizes.shape or not x.size or (sizes <= 0).any() or (x < 0).any() or (x > sizes).any():
        raise ValueError("each place needs observations, and events among them")
    share = float(x.sum() / sizes.sum()) if target is None else target
    error = 1 / (2 * np.sqrt(sizes))
    return PlaceScores((np.arcsin(np.sqrt(x / sizes)) - math.asin(math.sqrt(share))) / error, error)


def ratio_scores(observed: Sequence[float], expected: Sequence[float]) -> PlaceScores:
    """Scores of observed over expected against 1 on the log scale; every count must be above 0 (``ValueError``)."""
    seen, wanted = np.asarray(observed, dtype=float), np.asarray(expected, dtype=float)
    if seen.shape != wanted.shape or not seen.size or (seen <= 0).any() or (wanted <= 0).any():
        raise ValueError("a ratio on the log scale needs counts above 0; use shares instead")
    error = 1 / np.sqrt(wanted)
    return PlaceScores(np.log(seen / wanted) / error, error)


def root_ratio_scores(observed: Sequence[float], expected: Sequence[float]) -> PlaceScores:
    """Scores of observed over expected against 1 on the square root's scale, where none at all is no trouble.

    ``expected`` above 0 (``ValueError``). The root of a Poisson count has a variance of about a quarter.
    """
    seen, wanted = np.asarray(observed, dtype=float), np.asarray(expected, dtype=float)
    if seen.shape != wanted.shape or not seen.size or (seen < 0).any() or (wanted <= 0).any():
        raise ValueError("each place needs a count, and something expected")
    error = 1 / (2 * np.sqrt(wanted))
    return PlaceScores((np.sqrt(seen / wanted) - 1) / error, error)


def measure_overdispersion(scores: PlaceScores, *, tail: float = 0.1) -> Overdispersion:
    """Spread of the scores, the outermost ``tail`` at each end drawn in so that outliers do not hide behind it.

    ``tail`` lies between 0 (nothing drawn in) and 0.5, exclusive; two places at least (``ValueError``). ``phi`` below
    1 is reported as found; a funnel must not be narrowed by it.
    """
    if scores.z.size < 2 or not 0 <= tail < 0.5:
        raise ValueError("two places and a tail from 0 to below 0.5 are needed")
    low, high = np.quantile(scores.z, [tail, 1 - tail])
    drawn = np.clip(scores.z, low, high) if tail else scores.z
    places = drawn.size
    phi = float((drawn**2).mean())
    weight = scores.error**-2
    spare = weight.sum() - (weight**2).sum() / weight.sum()
    tau2 = max(0.0, float((places * phi - (places - 1)) / spare)) if spare > 0 else 0.0
    return Overdispersion(phi, tau2, drawn)


def ratio_limits(expected: Sequence[float], *, tau2: float, level: float) -> tuple[Values, Values]:
    """Funnel limits of observed over expected around 1, widened by ``tau2`` on the log scale; shape of ``expected``."""
    wanted = np.asarray(expected, dtype=float)
    reach = normal_quantile(level) * np.sqrt(1 / wanted + tau2)
    return np.exp(-reach), np.exp(reach)


def share_limits(
    n: Sequence[float], *, target: float, level: float, spread: Overdispersion, multiply: bool = False
) -> tuple[Values, Values]:
    """Funnel limits of a share around ``target``, widened on the arcsine scale; shape of ``n``, 0 to 1.

    ``tau2`` is added to every place's variance, or with ``multiply`` every variance is multiplied by ``phi`` (never by
    less than 1: a funnel is not narrowed).
    """
    reach = normal_quantile(level) * widened_error(n, spread, multiply=multiply)
    center = math.asin(math.sqrt(target))
    low = np.sin(np.clip(center - reach, 0.0, math.pi / 2)) ** 2
    high = np.sin(np.clip(center + reach, 0.0, math.pi / 2)) ** 2
    return low, high


def widened_error(n: Sequence[float], spread: Overdispersion, *, multiply: bool = False) -> Values:
    """Standard error of a share on the arcsine scale once places differ by more than chance; shape of ``n``."""
    chance = 1 / (4 * np.asarray(n, dtype=float))
    return np.sqrt(chance * max(1.0, spread.phi) if multiply else chance + spread.tau2)


def random_effects(estimates: Sequence[float], variances: Sequence[float]) -> RandomEffects:
    """A common mean of estimates that truly differ (DerSimonian and Laird); two at least, variances above 0."""
    y, v = np.asarray(estimates, dtype=float), np.asarray(variances, dtype=float)
    if y.shape != v.shape or y.size < 2 or (v <= 0).any():
        raise ValueError("two estimates at least, each with a variance above 0, are needed")
    w = 1 / v
    q = float((w * (y - (w * y).sum() / w.sum()) ** 2).sum())
    spare = float(w.sum() - (w**2).sum() / w.sum())
    tau2 = max(0.0, (q - (y.size - 1)) / spare)
    both = 1 / (v + tau2)
    i2 = max(0.0, 100 * (q - (y.size - 1)) / q) if q > 0 else 0.0
    return RandomEffects(float((both * y).sum() / both.sum()), float(both.sum() ** -0.5), tau2, q, i2)
