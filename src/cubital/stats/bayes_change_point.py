"""How large a change was, when its month is not known: averaged over every month that could have been the first.

The months' chances come from ``change_point.find_change``. Within each split the rates before and after have their own
Beta posteriors; the size is the mixture of all splits, integrated, never drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betainc, betaincinv

from cubital.stats.attribute_charts import Values
from cubital.stats.change_point import ChangePoint, find_change
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.mixed_logistic import Matrix

_NODES = 120  # points of one rate at which the other is integrated
_SPREAD = 1e-6  # a split less likely than this adds nothing that could be seen


@dataclass(frozen=True)
class SizedChange:
    """A change whose month is uncertain, and its size given that there was one.

    ``where`` holds the months (and ``where.chance`` that of a change at all); ``odds`` are those of a change against
    none, infinite where the counts leave no doubt. ``difference`` (after minus before, −1 to 1) and ``ratio`` (after
    over before) are posterior medians. ``fell`` is the chance, not given a change but overall, that there was a change
    and the rate after it is lower; ``rose`` likewise.
    """

    where: ChangePoint
    odds: float
    difference: float
    difference_interval: Interval
    ratio: float
    ratio_interval: Interval
    fell: float
    rose: float


def size_of_change(
    events: Sequence[int],
    n: Sequence[int],
    *,
    prior: tuple[float, float] = (0.5, 0.5),
    chance_before: float = 0.5,
    level: float = 0.95,
) -> SizedChange:
    """The chances of a single change of rate, its month and its size.

    Parameters
    ----------
    events, n : events among sets per month, in order; months without sets may stand among them. Two months with sets
        are needed (``ValueError``).
    prior : Beta parameters of the rate on either side; Jeffreys' by default.
    chance_before : the chance of a change before looking, 0 to 1.
    level : of the credible intervals and of the set of months, equal tails.

    Notes
    -----
    Assumes one change at most, independent sets and one rate on either side: a slow drift is shown as a change in its
    middle, with many likely months.

    References
    ----------
    Smith AFM, Biometrika 1975;62:407-416.

    Examples
    --------
    >>> found = size_of_change([20] * 12 + [10] * 12, [480] * 24)
    >>> found.where.first, round(found.ratio, 2), found.where.chance > 0.99
    (12, 0.5, True)
    """
    normal_quantile(level)  # checks the level
    where = find_change(events, n, prior=prior, chance_before=chance_before, sure=level)
    mixture = _mixture(np.asarray(events, float), np.asarray(n, float), where, prior=prior)
    tails = ((1 - level) / 2, 0.5, (1 + level) / 2)
    differences = [_quantile(mixture.difference_below, tail, span=(-1.0, 1.0)) for tail in tails]
    ratios = [float(np.exp(_quantile(mixture.log_ratio_below, tail, span=(-40.0, 40.0)))) for tail in tails]
    lower = mixture.difference_below(0.0)
    return SizedChange(
        where=where,
        odds=where.chance / (1 - where.chance) if where.chance < 1 else float("inf"),
        difference=differences[1],
        difference_interval=Interval(differences[0], differences[2], level, "posterior, equal tails"),
        ratio=ratios[1],
        ratio_interval=Interval(ratios[0], ratios[2], level, "posterior, equal tails"),
        fell=where.chance * lower,
        rose=where.chance * (1 - lower),
    )


@dataclass(frozen=True)
class _Mixture:
    """Splits with ``weights`` (shape s). One rate of each is laid out on ``nodes`` (s × k, weights ``share``).

    It is the better known one, after the change where ``turned`` (s); the other is smoother and has Beta parameters
    ``other``, so that its distribution function is well integrated.
    """

    weights: Values
    nodes: Matrix
    share: Values
    other: tuple[Values, Values]
    turned: np.ndarray[tuple[int], np.dtype[np.bool_]]

    def difference_below(self, size: float) -> float:
        return self._below(self.nodes + np.where(self.turned, -size, size)[:, None])

    def log_ratio_below(self, size: float) -> float:
        return self._below(self.nodes * np.exp(np.where(self.turned, -size, size))[:, None])

    def _below(self, rate: Matrix) -> float:
        """P(rate after ≤ rate), or where turned P(rate before ≥ rate), averaged over the nodes and the splits."""
        a, b = self.other
        found = betainc(a[:, None], b[:, None], np.clip(rate, 0.0, 1.0))
        return float(self.weights @ (np.where(self.turned[:, None], 1 - found, found) @ self.share))


def _mixture(x: Values, n: Values, where: ChangePoint, *, prior: tuple[float, float]) -> _Mixture:
    kept = np.flatnonzero(where.starts > _SPREAD)
    left = np.cumsum(x)[kept - 1], np.cumsum(n)[kept - 1]
    right = x.sum() - left[0], n.sum() - left[1]
    turned = _variance(*right, prior) < _variance(*left, prior)
    main, other = (
        _posterior(np.where(flag, right[0], left[0]), np.where(flag, right[1], left[1]), prior)
        for flag in (turned, ~turned)
    )
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    # Nodes at equal chances would be sparse in the tails: the square of a sine packs them there.
    chance = np.sin(np.pi * (nodes + 1) / 4) ** 2
    share = weights * np.pi / 4 * np.sin(np.pi * (nodes + 1) / 2)
    laid = betaincinv(main[0][:, None], main[1][:, None], chance[None, :])
    return _Mixture(where.starts[kept] / where.starts[kept].sum(), laid, share, other, turned)


def _variance(x: Values, n: Values, prior: tuple[float, float]) -> Values:
    a, b = _posterior(x, n, prior)
    return np.asarray(a * b / ((a + b) ** 2 * (a + b + 1)))


def _posterior(x: Values, n: Values, prior: tuple[float, float]) -> tuple[Values, Values]:
    return np.asarray(x + prior[0]), np.asarray(n - x + prior[1])


def _quantile(below: Callable[[float], float], chance: float, *, span: tuple[float, float]) -> float:
    from scipy.optimize import brentq

    low, high = span
    return float(brentq(lambda size: below(size) - chance, low, high, xtol=1e-7))
