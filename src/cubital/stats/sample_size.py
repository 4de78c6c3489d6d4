"""How many sets show a difference between two shares."""

from __future__ import annotations

import math

from scipy.special import ndtri

from cubital.stats.interval import normal_quantile


def sets_per_group(first: float, second: float, *, level: float = 0.95, power: float = 0.8) -> int:
    """Sets needed in each of two equal groups to tell ``first`` from ``second``, two-sided.

    Parameters
    ----------
    first, second : shares between 0 and 1, not equal (``ValueError``).
    level : 1 minus the two-sided chance of a false finding.
    power : the chance of finding a true difference.

    Notes
    -----
    Normal approximation with the pooled share under no difference, no continuity correction (Fleiss JL, Statistical
    Methods for Rates and Proportions, chapter 4).

    Examples
    --------
    >>> sets_per_group(0.04, 0.02)
    1141
    """
    if not 0 < first < 1 or not 0 < second < 1 or first == second:
        raise ValueError("two different shares between 0 and 1 are needed")
    if not 0 < power < 1:
        raise ValueError(f"a power of {power} is not between 0 and 1")
    middle = (first + second) / 2
    alike = normal_quantile(level) * math.sqrt(2 * middle * (1 - middle))
    apart = float(ndtri(power)) * math.sqrt(first * (1 - first) + second * (1 - second))
    return math.ceil(((alike + apart) / (first - second)) ** 2)
