"""How many units a p chart needs per point, and how likely a point of given size misses a shift.

References: Montgomery DC, Introduction to Statistical Quality Control, section 7.2.1.
"""

from __future__ import annotations

import math

from scipy.special import bdtr


def size_for_half_detection(share: float, *, shift: float, sigmas: float = 3.0) -> float:
    """Units per point from which a shift of ``shift`` is caught by half of the points.

    Examples
    --------
    >>> math.ceil(size_for_half_detection(0.01, shift=0.04))
    56
    """
    _check(share)
    if not shift:
        raise ValueError("no shift cannot be caught")
    return (sigmas / shift) ** 2 * share * (1 - share)


def size_for_lower_limit(share: float, *, sigmas: float = 3.0) -> float:
    """Units per point above which the lower limit lies above 0, so that an improvement can be seen in one point."""
    _check(share)
    return sigmas**2 * (1 - share) / share


def size_for_an_event(share: float, *, chance: float = 0.95) -> float:
    """Units per point that hold at least one event with this ``chance``."""
    _check(share)
    if not 0 < chance < 1:
        raise ValueError(f"a chance of {chance} is not between 0 and 1")
    return math.log1p(-chance) / math.log1p(-share)


def chance_of_missing(share: float, *, n: int, low: float, high: float) -> float:
    """The chance that a point of ``n`` units at ``share`` lies inside the limits ``low`` to ``high`` (shares).

    One over 1 minus it is the mean number of points until one signals.
    """
    _check(share)
    if n < 1 or not low < high:
        raise ValueError("a point needs units, and limits that are apart")
    most, least = math.floor(n * high), math.ceil(n * low)
    below = float(bdtr(least - 1, n, share)) if least > 0 else 0.0
    return float(bdtr(min(most, n), n, share)) - below


def _check(share: float) -> None:
    if not 0 < share < 1:
        raise ValueError(f"a share of {share} is not between 0 and 1")
