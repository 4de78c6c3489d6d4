"""Difference of two arms' shares where the arms are made of clusters: whole units, or turns of a unit.

The clusters, not the sets, are what chance dealt out. Each arm's share is a ratio of sums over its clusters, whose
variance is taken from how the clusters scatter around it; strata (units in which both arms had turns) are compared
within and weighted as Mantel and Haenszel do.

References
----------
Donner A, Klar N, Design and Analysis of Cluster Randomization Trials, 2000, chapter 6. Cochran WG, Sampling
Techniques, 3rd ed. 1977, chapter 6 (ratio of sums). Greenland S, Robins JM, Biometrics 1985;41:55-68 (weights).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval


@dataclass(frozen=True)
class Cluster:
    """``events`` among ``n`` sets (n above 0) of one cluster; ``arm`` 0 is usual, 1 new; ``stratum`` names a unit."""

    events: int
    n: int
    arm: int
    stratum: str = ""

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.events <= self.n or self.arm not in (0, 1):
            raise ValueError("a cluster needs sets, events among them, and an arm of 0 or 1")


@dataclass(frozen=True)
class ClusteredDifference:
    """Share of arm 1 minus share of arm 0, with ``error``, degrees of freedom ``df`` and the ``interval``.

    ``z`` is the score of no difference on the normal scale (what spending rules take), ``chance`` its two-sided p.
    """

    estimate: float
    error: float
    df: int
    interval: Interval
    z: float
    chance: float

    def chance_below(self, change: float) -> float:
        """The probability of a true difference below ``change`` where nothing was believed beforehand (flat prior)."""
        return float(stdtr(self.df, (change - self.estimate) / self.error))


class TooFewClusters(ValueError):
    """No stratum has two clusters of both arms, so that chance between clusters cannot be measured."""


def clustered_difference(clusters: Sequence[Cluster], *, level: float = 0.95) -> ClusteredDifference:
    """Compares arm 1 with arm 0 within strata.

    Strata without two clusters in both arms are left out; ``TooFewClusters`` where none is left, or where no cluster
    has an event so that no variance can be measured.
    """
    whole = [part for part in _strata(clusters) if min(len(part[0]), len(part[1])) >= 2]
    if not whole:
        raise TooFewClusters("two clusters in both arms are needed")
    weights, changes, variances, df = [], [], [], 0
    for usual, new in whole:
        first, second = _arm(usual), _arm(new)
        weights.append(first[2] * second[2] / (first[2] + second[2]))
        changes.append(second[0] - first[0])
        variances.append(first[1] + second[1])
        df += len(usual) + len(new) - 2
    share = np.asarray(weights) / sum(weights)
    estimate = float((share * changes).sum())
    error = math.sqrt(float((share**2 * np.asarray(variances)).sum()))
    if error == 0:
        raise TooFewClusters("clusters that do not scatter at all say nothing about chance")
    reach = float(stdtrit(df, 0.5 + level / 2)) * error
    chance = 2 * float(stdtr(df, -abs(estimate) / error))
    return ClusteredDifference(
        estimate, error, df, Interval(estimate - reach, estimate + reach, level, "clusters, ratio of sums"),
        math.copysign(_z_of(chance), estimate), chance,
    )  # fmt: skip


def _z_of(chance: float) -> float:
    from scipy.special import ndtri

    return -float(ndtri(max(chance, 1e-300) / 2))


def _strata(clusters: Sequence[Cluster]) -> list[tuple[list[Cluster], list[Cluster]]]:
    found: dict[str, tuple[list[Cluster], list[Cluster]]] = {}
    for one in clusters:
        found.setdefault(one.stratum, ([], []))[one.arm].append(one)
    return [found[name] for name in sorted(found)]


def _arm(clusters: Sequence[Cluster]) -> tuple[float, float, float]:
    """Share, its variance, and the number of sets of one arm in one stratum."""
    x: Values = np.array([one.events for one in clusters], dtype=float)
    n: Values = np.array([one.n for one in clusters], dtype=float)
    share, many = x.sum() / n.sum(), len(clusters)
    variance = many / (many - 1) * ((x - share * n) ** 2).sum() / n.sum() ** 2
    return float(share), float(variance), float(n.sum())
