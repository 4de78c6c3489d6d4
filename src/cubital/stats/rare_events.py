"""Charts for what is rare: sets between contaminations (g) and time between events (t).

Where a month holds one event or none, a share per month says little; the gaps between events say more. Benneyan JC,
Health Care Manag Sci 2001;4:305-318. Nelson LS, J Qual Technol 1994;26:12-16 (the power transform of the t chart).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import THREE_SIGMAS, Values

NELSON_POWER = 1 / 3.6
_MOVING_RANGE = 2.66  # 3 / 1.128: individuals limits from the mean moving range, as the tables print it


@dataclass(frozen=True)
class GapChart:
    """Gaps in time order with one pair of limits; all in the unit of the gaps (sets or time).

    ``center`` is the mean gap (for the t chart the back-transformed mean). ``beyond`` lists the positions, from 0, of
    gaps outside the limits: above is unusually long, which is good; below unusually short.
    """

    values: Values
    center: float
    lower: float
    upper: float
    beyond: tuple[int, ...]


def _gaps(values: Sequence[float], *, least: float) -> Values:
    gaps = np.asarray(values, dtype=float)
    if gaps.ndim != 1 or not gaps.size:
        raise ValueError("a chart of gaps needs at least one gap")
    if not np.isfinite(gaps).all() or (gaps < least).any():
        raise ValueError(f"gaps must be numbers of at least {least:g}")
    return gaps


def _chart(gaps: Values, *, center: float, lower: float, upper: float) -> GapChart:
    beyond = tuple(int(place) for place in np.flatnonzero((gaps < lower) | (gaps > upper)))
    return GapChart(gaps, center, lower, upper, beyond)


def g_chart(gaps: Sequence[float], *, center: float | None = None, sigmas: float = THREE_SIGMAS) -> GapChart:
    """Clean sets between contaminated ones, with limits of the geometric law.

    Parameters
    ----------
    gaps : clean sets before each event, 0 or more each, in time order.
    center : a locked mean gap; none takes the mean of the gaps. The centre line is the mean, not the median.

    Notes
    -----
    Limits are mean ± sigmas·sqrt(mean·(mean + 1)), the lower one never below 0.

    Examples
    --------
    >>> round(g_chart([41, 112, 7, 65]).upper, 1)
    226.5
    """
    values = _gaps(gaps, least=0)
    mean = float(values.mean()) if center is None else center
    reach = sigmas * math.sqrt(mean * (mean + 1))
    return _chart(values, center=mean, lower=max(0.0, mean - reach), upper=mean + reach)


def t_chart(times: Sequence[float], *, power: float = NELSON_POWER) -> GapChart:
    """Time between events: individuals limits on times raised to ``power``, carried back to the unit of the times.

    Needs two times at least, none negative; ``ValueError`` otherwise. A lower limit below zero is zero.
    """
    values = _gaps(times, least=0)
    if values.size < 2:
        raise ValueError("a chart of times needs at least two times")
    moved = values**power
    mean, reach = float(moved.mean()), _MOVING_RANGE * float(np.abs(np.diff(moved)).mean())
    low, high = max(0.0, mean - reach), mean + reach
    return _chart(values, center=mean ** (1 / power), lower=low ** (1 / power), upper=high ** (1 / power))


def exponential_limits(mean: float, *, chance: float = 0.0027) -> tuple[float, float, float]:
    """Low limit, median and high limit of an exponential time with that mean; ``chance`` is split over both tails."""
    if mean <= 0 or not 0 < chance < 1:
        raise ValueError("a mean above 0 and a chance between 0 and 1 are needed")
    low, middle, high = (-mean * math.log1p(-share) for share in (chance / 2, 0.5, 1 - chance / 2))
    return low, middle, high


def gap_chance(gap: int, *, rate: float) -> float:
    """How often a gap of ``gap`` clean sets or more comes by chance at ``rate`` per set: (1 − rate) ** gap.

    Examples
    --------
    >>> round(gap_chance(120, rate=0.02), 3)
    0.089
    """
    if gap < 0 or not 0 <= rate <= 1:
        raise ValueError("a gap of 0 or more and a rate between 0 and 1 are needed")
    return (1 - rate) ** gap


def gap_limit(rate: float, *, chance: float = 0.00135) -> int:
    """The gap that chance alone reaches in at most ``chance`` of cases, in whole sets; ``rate`` above 0, below 1."""
    if not 0 < rate < 1 or not 0 < chance < 1:
        raise ValueError("a rate and a chance between 0 and 1 are needed")
    return math.ceil(math.log(chance) / math.log1p(-rate))
