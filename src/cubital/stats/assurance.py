"""How many more observations before something can be said: assurance of a one-sided statement, and interval width.

With few observations the chance of success does not rise steadily (whole counts make it saw-toothed), so the size given
is the one from which on every larger one does as well.
"""

from __future__ import annotations

import math

from scipy.special import bdtr, bdtrc

from cubital.stats.interval import normal_quantile
from cubital.stats.proportions import wilson_interval

MOST = 5_000  # beyond this many the answer is that it is out of reach


def clear_below(n: int, *, target: float, level: float = 0.95) -> int:
    """The largest count among ``n`` whose interval lies wholly below ``target``; −1 where not even none does."""
    most = -1
    while most < n and wilson_interval(most + 1, n, level=level).high < target:
        most += 1
    return most


def chance_of_clear(n: int, *, truth: float, target: float, level: float = 0.95) -> float:
    """The chance that ``n`` observations at ``truth`` exclude ``target`` on the far side, by the Wilson interval."""
    if truth < target:
        most = clear_below(n, target=target, level=level)
        return float(bdtr(most, n, truth)) if most >= 0 else 0.0
    least = n - clear_below(n, target=1 - target, level=level)
    return float(bdtrc(least - 1, n, truth)) if least <= n else 0.0


def observations_for_assurance(*, truth: float, target: float, assurance: float, level: float = 0.95) -> int | None:
    """How many observations exclude ``target`` with probability ``assurance`` when ``truth`` is true.

    None where more than ``MOST`` would be needed: the two are too close. ``truth`` and ``target`` lie between 0 and 1
    and differ (``ValueError``).

    Examples
    --------
    >>> observations_for_assurance(truth=0.6, target=0.8, assurance=0.9)
    53
    """
    if not 0 < truth < 1 or not 0 < target < 1 or truth == target or not 0 < assurance < 1:
        raise ValueError("truth, target and assurance lie between 0 and 1, and truth is not the target")
    # The normal approximation says where to look; the saw has run out well before three times as many.
    spread = math.sqrt(max(truth * (1 - truth), target * (1 - target)))
    rough = ((normal_quantile(level) + normal_quantile(2 * assurance - 1 if assurance > 0.5 else 0.01)) * spread) ** 2
    reach = math.ceil(3 * rough / (truth - target) ** 2) + 60
    if reach > 3 * MOST:
        return None
    short = 0
    for n in range(1, reach + 1):
        if chance_of_clear(n, truth=truth, target=target, level=level) < assurance:
            short = n
    return short + 1 if short < min(reach, MOST) else None


def observations_for_width(*, share: float, half_width: float, level: float = 0.95) -> int:
    """How many observations bring a share to ± ``half_width``; normal approximation (common practice, no source).

    Examples
    --------
    >>> observations_for_width(share=0.6, half_width=0.10)
    93
    """
    if not 0 < share < 1 or not 0 < half_width < 1:
        raise ValueError("a share and a half width between 0 and 1 are needed")
    return math.ceil((normal_quantile(level) / half_width) ** 2 * share * (1 - share))


def trials_until_likely(rate: float, *, chance: float) -> int:
    """How many trials make at least one event likely: the smallest n with 1 − (1 − rate)^n at least ``chance``.

    Both lie between 0 and 1, exclusive (``ValueError``).

    Examples
    --------
    >>> trials_until_likely(0.03, chance=0.95)
    99
    """
    if not 0 < rate < 1 or not 0 < chance < 1:
        raise ValueError("a rate and a chance between 0 and 1 are needed")
    return math.ceil(math.log1p(-chance) / math.log1p(-rate) - 1e-9)
