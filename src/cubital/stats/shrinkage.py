"""Rates of many places or people together: each is drawn towards what is usual, the more the fewer draws it has.

Beta-binomial model. Gelman A et al., Bayesian Data Analysis, chapter 5 (moments; rat tumours). Efron B, Morris C, J Am
Stat Assoc 1975;70:311-319 (James and Stein).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize
from scipy.special import betaincinv, betaln, gammaln, psi

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval

NO_SPREAD = 1e6  # a prior worth this many draws: the places do not differ more than chance


@dataclass(frozen=True)
class BetaPrior:
    """What is usual: a Beta distribution of true rates. ``weight`` is how many draws the prior is worth."""

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        """The usual rate."""
        return self.alpha / self.weight

    @property
    def weight(self) -> float:
        """alpha + beta."""
        return self.alpha + self.beta

    @property
    def sd(self) -> float:
        """How far true rates lie from the usual one, one standard deviation."""
        return math.sqrt(self.mean * (1 - self.mean) / (self.weight + 1))

    def after(self, events: float, n: float) -> BetaPrior:
        """What is known about one rate after ``events`` among ``n``."""
        return BetaPrior(self.alpha + events, self.beta + n - events)

    def interval(self, level: float = 0.95) -> Interval:
        """The middle ``level`` of the distribution."""
        low, high = betaincinv(self.alpha, self.beta, [0.5 - level / 2, 0.5 + level / 2])
        return Interval(float(low), float(high), level, "beta-binomial")


def _counts(events: Sequence[float], n: Sequence[float]) -> tuple[Values, Values]:
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    if x.shape != sizes.shape or x.size < 2 or (sizes <= 0).any() or (x < 0).any() or (x > sizes).any():
        raise ValueError("two rates at least, each with events among its own draws, are needed")
    return x, sizes


def prior_by_moments(events: Sequence[float], n: Sequence[float]) -> BetaPrior:
    """Mean and standard deviation of the raw rates, unweighted, turned into a Beta distribution.

    Raises ``ValueError`` where the rates do not spread at all, or further than any Beta distribution does.
    """
    x, sizes = _counts(events, n)
    rates = x / sizes
    mean, variance = float(rates.mean()), float(rates.var(ddof=1))
    if not 0 < variance < mean * (1 - mean):
        raise ValueError("the rates do not spread as a Beta distribution does")
    weight = mean * (1 - mean) / variance - 1
    return BetaPrior(mean * weight, (1 - mean) * weight)


def log_likelihood(prior: BetaPrior, events: Sequence[float], n: Sequence[float]) -> float:
    """Log likelihood of the counts under the beta-binomial model, binomial coefficients included."""
    x, sizes = _counts(events, n)
    ways = gammaln(sizes + 1) - gammaln(x + 1) - gammaln(sizes - x + 1)
    return float((ways + betaln(prior.alpha + x, prior.beta + sizes - x) - betaln(prior.alpha, prior.beta)).sum())


def fit_prior(events: Sequence[float], n: Sequence[float]) -> BetaPrior:
    """The Beta distribution under which the counts are likeliest.

    ``events`` among ``n``, two at least. Where the counts differ no more than chance makes them, the prior is worth
    ``NO_SPREAD`` draws, so that every estimate is the common rate. All zeros or all events are a ``ValueError``: there
    is nothing to learn a spread from.
    """
    x, sizes = _counts(events, n)
    pooled = float(x.sum() / sizes.sum())
    if not 0 < pooled < 1:
        raise ValueError("with no event at all, or nothing else, no spread can be learnt")

    def loss(at: Values) -> tuple[float, Values]:
        mean, weight = 1 / (1 + math.exp(-at[0])), math.exp(at[1])
        a, b = mean * weight, (1 - mean) * weight
        value = -float((betaln(a + x, b + sizes - x) - betaln(a, b)).sum())
        both = psi(weight) - psi(weight + sizes)
        by_a, by_b = (psi(a + x) - psi(a) + both).sum(), (psi(b + sizes - x) - psi(b) + both).sum()
        slope = [mean * (1 - mean) * weight * (by_a - by_b), a * by_a + b * by_b]
        return value, -np.array(slope)

    bounds = [(-20.0, 20.0), (0.0, math.log(NO_SPREAD))]  # worth one draw at least: less would say all or nothing
    logit = math.log(pooled / (1 - pooled))
    exact = {"ftol": 1e-15, "gtol": 1e-9}
    tries = [
        minimize(loss, [logit, math.log(weight)], jac=True, bounds=bounds, method="L-BFGS-B", options=exact)
        for weight in (20.0, 2000.0)
    ]
    best = min(tries, key=lambda found: float(found.fun))
    mean, weight = 1 / (1 + math.exp(-best.x[0])), math.exp(best.x[1])
    if weight > NO_SPREAD / 10:  # the likelihood is flat there: no spread is no spread
        mean, weight = pooled, NO_SPREAD
    return BetaPrior(mean * weight, (1 - mean) * weight)


def james_stein(rates: Sequence[float], *, variance: float) -> tuple[float, ...]:
    """Means of equal known variance drawn towards their common mean; four at least (``ValueError``)."""
    y = np.asarray(rates, dtype=float)
    if y.size < 4 or variance <= 0:
        raise ValueError("four means at least and a variance above 0 are needed")
    mean = float(y.mean())
    keep = 1 - (y.size - 3) * variance / float(((y - mean) ** 2).sum())
    return tuple(float(mean + keep * (one - mean)) for one in y)


@dataclass(frozen=True)
class SpreadTest:
    """Whether rates differ more than chance: ``chance`` of a spread at least this wide when nobody differs.

    ``statistic`` is the chi-square sum over ``runs`` simulated worlds with ``seed``; the simulation's own error is
    about sqrt(chance·(1 − chance)/runs).
    """

    statistic: float
    chance: float
    runs: int
    seed: int


def spread_test(events: Sequence[int], n: Sequence[int], *, runs: int = 20_000, seed: int = 1) -> SpreadTest:
    """Is there any real difference? The same events dealt out at random over the same draws, ``runs`` times.

    Given the total, equal rates deal it out hypergeometrically, so no rate has to be guessed. Small counts make the
    chi-square tables wrong; this does not use them.
    """
    x, sizes = _counts(events, n)
    total = round(x.sum())
    whole = sizes.astype(np.int64)
    wanted = total * sizes / sizes.sum()
    common = total / float(sizes.sum())
    if not 0 < common < 1:
        return SpreadTest(0.0, 1.0, runs, seed)
    random = np.random.default_rng(seed)
    dealt = random.multivariate_hypergeometric(whole, total, size=runs, method="marginals")

    def spread(counts: Values) -> Values:
        return np.asarray(((counts - wanted) ** 2 / (wanted * (1 - common))).sum(axis=-1))

    seen = float(spread(x))
    as_wide = int((spread(dealt.astype(float)) >= seen - 1e-9).sum())
    return SpreadTest(seen, (as_wide + 1) / (runs + 1), runs, seed)
