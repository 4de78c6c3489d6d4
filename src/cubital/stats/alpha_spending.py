"""Looking at a trial while it runs: limits that keep its error where the plan put it, however often one looks.

The limits spend the allowed error by a curve of the information so far, so that looks may come at any time and in any
number. Chances of crossing are integrated look by look (Armitage, McPherson and Rowe).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from cubital.stats.attribute_charts import Values

_REACH = 9.0  # standard deviations beyond which the normal distribution holds nothing that a double can show
_FEWEST_NODES = 160
_CLOSEST = 0.001  # share of the information that two looks must lie apart


class Spending(StrEnum):
    """How the error is spent as information comes in."""

    OBRIEN_FLEMING = "o'brien-fleming"  # next to nothing early, nearly everything at the end
    POCOCK = "pocock"  # about evenly


@dataclass(frozen=True)
class LookPlan:
    """The limits of each look, in order. Shapes are one value per look.

    ``fractions`` are the shares of the planned information (above 0 to 1, rising); ``z`` the limits of the test
    statistic, crossed at or beyond; ``nominal_p`` the p value (two-sided where the plan is) that reaches the limit;
    ``spent`` the error used up to and including the look. ``sides`` is 1 or 2; ``alpha`` the whole error.
    """

    fractions: Values
    z: Values
    nominal_p: Values
    spent: Values
    alpha: float
    sides: int
    spending: Spending


@dataclass(frozen=True)
class LookChances:
    """What a plan does where the truth is a given effect.

    ``stopped`` is the chance to cross at each look (first crossings, either side where the plan has two), ``reached``
    their sum so far, ``power`` the sum of all. ``mean_fraction`` is the mean share of the information at which it ends.
    """

    stopped: Values
    reached: Values
    power: float
    mean_fraction: float


def spent_by(fraction: float, *, alpha: float, spending: Spending) -> float:
    """The one-sided error ``alpha`` spent once ``fraction`` (0 to 1) of the information is in; all of it at 1.

    References
    ----------
    Lan KKG, DeMets DL, Biometrika 1983;70:659-663.
    """
    if not 0 < alpha < 1:
        raise ValueError(f"an error of {alpha} is not between 0 and 1")
    if fraction <= 0:
        return 0.0
    share = min(1.0, fraction)
    if spending is Spending.OBRIEN_FLEMING:
        return float(2 * ndtr(ndtri(alpha / 2) / math.sqrt(share)))
    return alpha * math.log1p((math.e - 1) * share)


def plan_looks(
    fractions: Sequence[float],
    *,
    alpha: float = 0.05,
    sides: int = 2,
    spending: Spending = Spending.OBRIEN_FLEMING,
    spend_rest: bool = False,
) -> LookPlan:
    """The limits for looks at these shares of the planned information.

    Parameters
    ----------
    fractions : rising, above 0; the looks so far and those planned. Limits of a look depend on it and earlier ones
        only, so a running trial passes the fractions it really had.
    alpha : the whole chance of a false finding; with two sides half of it goes to either.
    sides : 1 (only a high z crosses) or 2.
    spend_rest : gives the last look all that is left, as where a trial ends short of its plan. A last fraction of 1 or
        more does so anyway.

    Raises
    ------
    ValueError
        Fractions that do not rise, are not above 0 or lie within 0.001 of each other; another number of sides.

    Notes
    -----
    Either side's limit is found as if the other were not there; where a limit lies beyond 8 standard deviations it is
    infinite.

    References
    ----------
    Lan KKG, DeMets DL, Biometrika 1983;70:659-663. Armitage P, McPherson CK, Rowe BC, J R Stat Soc A 1969;132:235-244.
    Jennison C, Turnbull BW, Group Sequential Methods, 2000, chapters 7 and 19.

    Examples
    --------
    >>> plan = plan_looks([0.2, 0.4, 0.6, 0.8, 1.0])
    >>> [round(float(z), 3) for z in plan.z]
    [4.877, 3.357, 2.68, 2.29, 2.031]
    """
    at = _checked(fractions, sides)
    each = alpha / sides
    spent = np.array([spent_by(float(one), alpha=each, spending=spending) for one in at])
    if spend_rest:
        spent[-1] = each
    walk = _Walk(sides=sides, nodes=_nodes(at))
    limits = []
    before = 0.0
    for fraction, whole in zip(at, spent, strict=True):
        limits.append(walk.limit(float(fraction), chance=float(whole) - before))
        walk.step(float(fraction), limits[-1])
        before = float(whole)
    z = np.array(limits)
    return LookPlan(at, z, sides * ndtr(-z), sides * spent, alpha, sides, spending)


def look_chances(plan: LookPlan, drift: float) -> LookChances:
    """What the plan does where the mean of z at full information is ``drift`` (effect over its error then).

    At ``drift`` 0 the power is the error spent.
    """
    walk = _Walk(sides=plan.sides, drift=drift, nodes=_nodes(plan.fractions))
    stopped = []
    for fraction, limit in zip(plan.fractions, plan.z, strict=True):
        stopped.append(walk.beyond(float(fraction), float(limit)))
        walk.step(float(fraction), float(limit))
    chances = np.array(stopped)
    left = 1 - float(chances.sum())
    mean = float(chances @ plan.fractions) + left * float(plan.fractions[-1])
    return LookChances(chances, np.cumsum(chances), float(chances.sum()), mean)


def drift_for_power(plan: LookPlan, power: float) -> float:
    """The drift at which the plan finds an effect with ``power`` (above the error, below 1: ``ValueError``)."""
    from scipy.optimize import brentq

    if not plan.alpha < power < 1:
        raise ValueError(f"a power of {power} is not between the error and 1")
    return float(brentq(lambda drift: look_chances(plan, drift).power - power, 0.0, 12.0, xtol=1e-9))


def inflation(plan: LookPlan, power: float) -> float:
    """How many times the size of a trial without looks the largest size becomes, for the same power (1 or more)."""
    once = plan_looks([1.0], alpha=plan.alpha, sides=plan.sides, spending=plan.spending)
    return (drift_for_power(plan, power) / drift_for_power(once, power)) ** 2


def repeated_interval(estimate: float, error: float, *, plan: LookPlan, look: int) -> tuple[float, float]:
    """Limits for the effect that may be read at any look (0 is the first): estimate ± the look's limit × its error.

    They hold the truth at all looks together with chance 1 − alpha (two sides) whatever the decision to stop.

    References: Jennison C, Turnbull BW, J R Stat Soc B 1989;51:305-361.
    """
    reach = float(plan.z[look]) * error
    return estimate - reach, estimate + reach


def _checked(fractions: Sequence[float], sides: int) -> Values:
    at = np.asarray(fractions, dtype=float)
    if at.ndim != 1 or not at.size or (at <= 0).any() or (np.diff(at) <= 0).any():
        raise ValueError("looks need shares of the information that rise and are above 0")
    if at.size > 1 and np.diff(at).min() < _CLOSEST * (1 - 1e-9):
        raise ValueError(f"two looks lie less than {_CLOSEST} of the information apart")
    if sides not in (1, 2):
        raise ValueError(f"a test has one side or two, not {sides}")
    return at


@lru_cache(maxsize=32)
def _gauss(nodes: int) -> tuple[Values, Values]:
    """Places and weights on −1 to 1; kept, as solving for a limit asks for them again and again."""
    places, weights = np.polynomial.legendre.leggauss(nodes)
    return np.asarray(places), np.asarray(weights)


def _nodes(at: Values) -> int:
    """Enough nodes to lie closer together than the narrowest step from look to look is wide."""
    narrowest = math.sqrt(float(np.diff(at).min())) if at.size > 1 else 1.0
    return max(_FEWEST_NODES, math.ceil(3 * _REACH * math.sqrt(float(at[-1])) / narrowest))


class _Walk:
    """The score (z × root of the information) of a trial still running, as a density on nodes; drift is its slope."""

    def __init__(self, *, sides: int, nodes: int, drift: float = 0.0) -> None:
        self.sides = sides
        self.drift = drift
        self.places, self.weights = _gauss(nodes)
        self.fraction = 0.0
        self.at = np.zeros(1)
        self.mass = np.ones(1)  # density × node weight: the chance near each node

    def _upper(self, fraction: float, limit: float) -> float:
        """The chance to be still running and then at or above the limit; both sides' limits end earlier runs."""
        step = fraction - self.fraction
        mean = self.at + self.drift * step
        return float(self.mass @ ndtr((mean - limit * math.sqrt(fraction)) / math.sqrt(step)))

    def beyond(self, fraction: float, limit: float) -> float:
        found = self._upper(fraction, limit)
        if self.sides == 2:
            step = fraction - self.fraction
            mean = self.at + self.drift * step
            found += float(self.mass @ ndtr((-limit * math.sqrt(fraction) - mean) / math.sqrt(step)))
        return found

    def limit(self, fraction: float, *, chance: float) -> float:
        """The limit that the upper side crosses with this chance."""
        from scipy.optimize import brentq

        if chance <= self._upper(fraction, 8.0):
            return math.inf
        return float(brentq(lambda z: self._upper(fraction, z) - chance, -8.0, 8.0, xtol=1e-10))

    def step(self, fraction: float, limit: float) -> None:
        """Moves on to a look that was not crossed."""
        gap, root = fraction - self.fraction, math.sqrt(fraction)
        middle = self.drift * fraction
        high = min(limit * root, middle + _REACH * root) if math.isfinite(limit) else middle + _REACH * root
        low = middle - _REACH * root
        if self.sides == 2 and math.isfinite(limit):
            low = max(low, -limit * root)
        at = (high + low) / 2 + (high - low) / 2 * self.places
        apart = (at[:, None] - self.at[None, :] - self.drift * gap) / math.sqrt(gap)
        density = np.exp(-(apart**2) / 2) @ self.mass / math.sqrt(2 * math.pi * gap)
        self.fraction, self.at, self.mass = fraction, at, density * self.weights * (high - low) / 2
