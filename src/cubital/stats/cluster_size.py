"""What it costs a trial that sets of one unit resemble each other: the design effect, and how many units it takes.

``icc`` is the intracluster correlation: the share of the variance that lies between units (0 to 1).

References
----------
Donner A, Klar N, Design and Analysis of Cluster Randomization Trials, 2000, chapter 5. Eldridge SM, Ashby D, Kerry S,
Int J Epidemiol 2006;35:1292-1300 (unequal clusters). Hemming K et al., BMC Med Res Methodol 2011;11:102 (a fixed number
of clusters). Giraudeau B, Ravaud P, Donner A, Stat Med 2008;27:5578-5585 (crossover).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize_scalar
from scipy.special import betaln

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import normal_quantile
from cubital.stats.shrinkage import fit_prior

_WEIGHTS = np.geomspace(1.0, 1e6, 61)  # how many draws a prior may be worth: from all or nothing to no spread


@dataclass(frozen=True)
class LocalCorrelation:
    """An intracluster correlation learnt from units' counts, with the bounds of its likelihood at ``level``."""

    icc: float
    low: float
    high: float
    level: float


def design_effect(icc: float, *, size: float, variation: float = 0.0) -> float:
    """How many times more observations a trial needs whose arms are made of whole units.

    ``size`` is the mean number of observations of a unit over the trial, at least 1; ``variation`` the standard
    deviation of those sizes over their mean, 0 where all are equal.

    Examples
    --------
    >>> round(design_effect(0.05, size=30), 2)
    2.45
    """
    _check(icc, size=size, variation=variation)
    return 1 + ((1 + variation**2) * size - 1) * icc


def alternation_effect(icc: float, *, size: float, kept: float) -> float:
    """The same where every unit has both arms in turn: most of what a unit has of its own falls out.

    ``size`` is the number of observations of a unit in one turn; ``kept`` the share of the correlation that is still
    there from one turn to the next (the cluster autocorrelation, 0 to 1). At 1 the effect is below 1.

    Examples
    --------
    >>> alternation_effect(0.01, size=50, kept=0.8)
    1.09
    """
    _check(icc, size=size, variation=0.0)
    if not 0 <= kept <= 1:
        raise ValueError(f"a cluster autocorrelation of {kept} is not between 0 and 1")
    return round(1 + (size - 1) * icc - size * kept * icc, 12)


def size_with_units(plain: float, *, icc: float, units: int, variation: float = 0.0) -> float | None:
    """Observations per arm where each arm has ``units`` units, from the size without clustering; none where no
    number of observations would do: every further set of the same units says less and less.

    Examples
    --------
    >>> round(size_with_units(1000, icc=0.005, units=10))
    1990
    >>> size_with_units(1000, icc=0.01, units=9) is None
    True
    """
    if plain <= 0 or units < 1:
        raise ValueError("a size above 0 and at least one unit are needed")
    _check(icc, size=1, variation=variation)
    room = 1 - plain * icc * (1 + variation**2) / units
    return plain * (1 - icc) / room if room > 0 else None


def units_needed(plain: float, *, icc: float, variation: float = 0.0) -> int:
    """The least number of units in each arm with which a trial can end at all.

    Examples
    --------
    >>> units_needed(1000, icc=0.01)
    11
    """
    if plain <= 0:
        raise ValueError("a size above 0 is needed")
    _check(icc, size=1, variation=variation)
    return math.floor(plain * icc * (1 + variation**2)) + 1


def size_variation(sizes: Sequence[float]) -> float:
    """Standard deviation of the units' sizes over their mean; two units at least, none below 0 (``ValueError``)."""
    found = np.asarray(sizes, dtype=float)
    if found.size < 2 or (found < 0).any() or not found.sum():
        raise ValueError("two units at least, with observations, are needed")
    return float(found.std(ddof=1) / found.mean())


def learn_correlation(events: Sequence[int], n: Sequence[int], *, level: float = 0.95) -> LocalCorrelation:
    """The correlation under which units' counts are likeliest (beta-binomial), with likelihood bounds.

    ``events`` among ``n``, two units at least and some events, but not only events (``ValueError``). With few units the
    bounds are wide, and that is the message. The correlation of a Beta distribution worth w draws is 1 / (w + 1).
    """
    prior = fit_prior(events, n)
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    heights = np.array([_profile(x, sizes, weight) for weight in _WEIGHTS])
    best = max(float(heights.max()), _profile(x, sizes, prior.weight))
    inside = _WEIGHTS[heights >= best - normal_quantile(level) ** 2 / 2]
    low, high = (inside[-1], inside[0]) if inside.size else (prior.weight, prior.weight)
    icc = 1 / (prior.weight + 1)
    return LocalCorrelation(icc, min(icc, 1 / (float(low) + 1)), max(icc, 1 / (float(high) + 1)), level)


def _profile(x: Values, n: Values, weight: float) -> float:
    """Log likelihood at the best mean for this weight, up to a constant."""

    def loss(logit: float) -> float:
        mean = 1 / (1 + math.exp(-logit))
        a, b = mean * weight, (1 - mean) * weight
        return -float((betaln(a + x, b + n - x) - betaln(a, b)).sum())

    return -float(minimize_scalar(loss, bounds=(-14.0, 14.0), method="bounded").fun)


def _check(icc: float, *, size: float, variation: float) -> None:
    if not 0 <= icc < 1 or size < 1 or variation < 0:
        raise ValueError("a correlation from 0 to below 1, a size of at least 1 and no negative variation are needed")
