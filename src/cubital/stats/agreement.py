"""Do observers agree? Kappa and its relatives, for two observers or many, with gaps.

Cohen J, Educ Psychol Meas 1960;20:37-46, and Psychol Bull 1968;70:213-220 (weighted). Fleiss JL, Psychol Bull
1971;76:378-382. Gwet KL, Br J Math Stat Psychol 2008;61:29-48 (AC1). Byrt T et al., J Clin Epidemiol 1993;46:423-429
(PABAK). Krippendorff K, Content Analysis, 2004 (alpha). Standard error of kappa: Fleiss, Cohen, Everitt 1969.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from cubital.stats.interval import Interval, normal_quantile

Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Level = Literal["nominal", "ordinal", "interval", "ratio"]
Weights = Literal["linear", "quadratic"]


@dataclass(frozen=True)
class TwoObservers:
    """Agreement of two observers over ``joint`` things both judged.

    ``agreement`` is the plain share. ``kappa`` is none where both always said the same one thing: then there was
    nothing to disagree about. ``ac1`` and ``pabak`` do not fall when one answer is rare. ``kappa_se`` is the
    large-sample error.
    """

    joint: int
    agreement: float
    kappa: float | None
    kappa_se: float | None
    ac1: float
    pabak: float
    scott_pi: float | None

    def kappa_interval(self, level: float = 0.95) -> Interval | None:
        """A rough interval within −1 and 1; none where kappa is none. Poor below about twenty joint judgements."""
        if self.kappa is None or self.kappa_se is None:
            return None
        reach = normal_quantile(level) * self.kappa_se
        return Interval(max(-1.0, self.kappa - reach), min(1.0, self.kappa + reach), level, "large-sample kappa")


@dataclass(frozen=True)
class ManyObservers:
    """Agreement among many: Fleiss' kappa with its z against chance, Gwet's AC1, Krippendorff's alpha (nominal).

    ``fleiss_kappa`` and ``z`` are none unless every thing was judged by the same number of observers.
    """

    fleiss_kappa: float | None
    z: float | None
    ac1: float
    alpha: float


def _table(table: Sequence[Sequence[float]]) -> Matrix:
    counts = np.asarray(table, dtype=float)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or len(counts) < 2 or (counts < 0).any():
        raise ValueError("a square table of counts, two categories at least, is needed")
    if not counts.sum():
        raise ValueError("no thing was judged by both")
    return counts


def _kappa(agreed: float, by_chance: float) -> float | None:
    return (agreed - by_chance) / (1 - by_chance) if by_chance < 1 else None


def two_observers(table: Sequence[Sequence[float]]) -> TwoObservers:
    """Everything about two observers from ``table[i][j]``: how often the first said i and the second j.

    Examples
    --------
    >>> round(two_observers([[6, 1], [1, 2]]).kappa, 2)
    0.52
    """
    counts = _table(table)
    n, k = float(counts.sum()), len(counts)
    p = counts / n
    rows, columns = p.sum(axis=1), p.sum(axis=0)
    agreed, middle = float(np.trace(p)), (rows + columns) / 2
    chance = float(rows @ columns)
    ac1_chance = float((middle * (1 - middle)).sum() / (k - 1))
    return TwoObservers(
        joint=round(n),
        agreement=agreed,
        kappa=_kappa(agreed, chance),
        kappa_se=_kappa_error(p, n),
        ac1=(agreed - ac1_chance) / (1 - ac1_chance),
        pabak=(k * agreed - 1) / (k - 1),
        scott_pi=_kappa(agreed, float((middle**2).sum())),
    )


def _kappa_error(p: Matrix, n: float) -> float | None:
    rows, columns = p.sum(axis=1), p.sum(axis=0)
    agreed, chance = float(np.trace(p)), float(rows @ columns)
    if chance >= 1:
        return None
    kappa = (agreed - chance) / (1 - chance)
    diagonal = sum(p[i, i] * (1 - (rows[i] + columns[i]) * (1 - kappa)) ** 2 for i in range(len(p)))
    off = sum(
        p[i, j] * (columns[i] + rows[j]) ** 2 for i in range(len(p)) for j in range(len(p)) if i != j
    ) * (1 - kappa) ** 2  # fmt: skip
    variance = (diagonal + off - (kappa - chance * (1 - kappa)) ** 2) / (n * (1 - chance) ** 2)
    return math.sqrt(max(0.0, float(variance)))


def weighted_kappa(table: Sequence[Sequence[float]], *, weights: Weights | Sequence[Sequence[float]]) -> float | None:
    """Kappa in which near misses count less: ``linear`` or ``quadratic`` distance, or a table of disagreements.

    None where no disagreement was possible.
    """
    counts = _table(table)
    p = counts / counts.sum()
    k = len(p)
    if isinstance(weights, str):
        apart = np.abs(np.subtract.outer(np.arange(k), np.arange(k))) / (k - 1)
        disagreement = apart if weights == "linear" else apart**2
    else:
        disagreement = np.asarray(weights, dtype=float)
    expected = float((disagreement * np.outer(p.sum(axis=1), p.sum(axis=0))).sum())
    return 1 - float((disagreement * p).sum()) / expected if expected else None


def many_observers(counts: Sequence[Sequence[float]]) -> ManyObservers:
    """Agreement among many from ``counts[i][c]``: how many observers put thing i into category c.

    Things judged by fewer than two observers say nothing about agreement and are left out of it. ``ValueError`` where
    none is left or only one category exists.
    """
    ratings = np.asarray(counts, dtype=float)
    if ratings.ndim != 2 or ratings.shape[1] < 2 or (ratings < 0).any():
        raise ValueError("counts per thing and category, two categories at least, are needed")
    judged = ratings.sum(axis=1)
    paired = ratings[judged >= 2]
    if not len(paired):
        raise ValueError("no thing was judged by two observers")
    sizes = paired.sum(axis=1)
    agreed = float(((paired * (paired - 1)).sum(axis=1) / (sizes * (sizes - 1))).mean())
    shares = (ratings[judged >= 1] / judged[judged >= 1][:, None]).mean(axis=0)
    ac1_chance = float((shares * (1 - shares)).sum() / (ratings.shape[1] - 1))
    same = len(set(judged)) == 1
    return ManyObservers(
        fleiss_kappa=_kappa(agreed, float((shares**2).sum())) if same else None,
        z=_fleiss_z(agreed, shares, things=len(paired), observers=int(sizes[0])) if same else None,
        ac1=(agreed - ac1_chance) / (1 - ac1_chance),
        alpha=_nominal_alpha(paired),
    )


def _fleiss_z(agreed: float, shares: Matrix, *, things: int, observers: int) -> float | None:
    """Kappa over its error when agreement is chance (Fleiss 1971, corrected 1979)."""
    q = 1 - shares
    top, each = float((shares * q).sum()), float((shares * q * (q - shares)).sum())
    if top == 0:
        return None
    error = math.sqrt(2) / (top * math.sqrt(things * observers * (observers - 1))) * math.sqrt(top**2 - each)
    return (agreed - float((shares**2).sum())) / top / error


def _nominal_alpha(paired: Matrix) -> float:
    sizes = paired.sum(axis=1)
    total = float(sizes.sum())
    seen = float(((sizes**2 - (paired**2).sum(axis=1)) / (sizes - 1)).sum()) / total
    sums = paired.sum(axis=0)
    expected = (total**2 - float((sums**2).sum())) / (total * (total - 1))
    return 1 - seen / expected if expected else 1.0


def krippendorff_alpha(ratings: Sequence[Sequence[float | None]], *, level: Level = "nominal") -> float:
    """Krippendorff's alpha of ``ratings[thing][observer]``, none where an observer did not judge.

    ``level`` says what distance means: nominal same or not, ordinal by ranks, interval by difference, ratio by
    difference over sum. 1 where every judgement is the same value. ``ValueError`` where nothing was judged twice.
    """
    paired = [[one for one in thing if one is not None] for thing in ratings]
    paired = [thing for thing in paired if len(thing) >= 2]
    if not paired:
        raise ValueError("no thing was judged by two observers")
    values = sorted({one for thing in paired for one in thing})
    place = {value: index for index, value in enumerate(values)}
    counts = np.zeros((len(paired), len(values)))
    for row, thing in zip(counts, paired, strict=True):
        for one in thing:
            row[place[one]] += 1
    sizes = counts.sum(axis=1)
    together = sum(
        ((np.outer(row, row) - np.diag(row)) / (size - 1) for row, size in zip(counts, sizes, strict=True)),
        start=np.zeros((len(values), len(values))),
    )
    apart = _distances(np.asarray(values, dtype=float), together.sum(axis=0), level)
    sums = together.sum(axis=0)
    expected = float((np.outer(sums, sums) * apart).sum() / (sums.sum() - 1))
    return 1 - float((together * apart).sum()) / expected if expected else 1.0


def _distances(values: Matrix, sums: Matrix, level: Level) -> Matrix:
    if level == "nominal":
        return np.asarray(1.0 - np.eye(len(values)))
    difference = np.subtract.outer(values, values)
    if level == "interval":
        return np.asarray(difference**2)
    if level == "ratio":
        total = np.add.outer(values, values)
        return np.asarray(np.divide(difference, total, out=np.zeros_like(difference), where=total != 0) ** 2)
    middle = np.cumsum(sums) - sums / 2  # the rank of the middle of each value; the ends count half
    return np.asarray(np.subtract.outer(middle, middle) ** 2)
