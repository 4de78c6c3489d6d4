"""Observed against expected: indirectly standardised ratios with exact, mid-P and Byar limits.

Breslow NE, Day NE, Statistical Methods in Cancer Research II, 1987 (exact and Byar). Rothman KJ, Boice JD,
Epidemiologic Analysis with a Programmable Calculator, 1979 (mid-P).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from scipy.optimize import brentq
from scipy.special import chdtri, gammainc, gammaincc, pdtr

from cubital.stats.interval import Interval, normal_quantile


@dataclass(frozen=True)
class Standardised:
    """``observed`` events where ``expected`` would have come had every stratum had the standard's rate.

    ``uncovered`` is how many draws lie in strata that the standard does not hold at all: they are left out of both.
    """

    observed: float
    expected: float
    uncovered: int

    @property
    def ratio(self) -> float | None:
        """Observed over expected; none where nothing was expected."""
        return self.observed / self.expected if self.expected > 0 else None


def exact_poisson(observed: int, *, level: float = 0.95) -> Interval:
    """Limits of a Poisson mean after ``observed`` events, 0 or more (Garwood 1936, by chi-square)."""
    _check(observed)
    tail = (1 - level) / 2
    low = chdtri(2 * observed, 1 - tail) / 2 if observed else 0.0
    return Interval(float(low), float(chdtri(2 * observed + 2, tail) / 2), level, "exact Poisson")


def byar(observed: int, *, level: float = 0.95) -> Interval:
    """Byar's approximation of the same limits; the lower one of no events is 0."""
    _check(observed)
    z, more = normal_quantile(level), observed + 1
    low = observed * (1 - 1 / (9 * observed) - z / (3 * observed**0.5)) ** 3 if observed else 0.0
    return Interval(max(0.0, low), more * (1 - 1 / (9 * more) + z / (3 * more**0.5)) ** 3, level, "Byar")


def mid_p_poisson(observed: int, *, level: float = 0.95) -> Interval:
    """Limits that count half of what was seen as beyond: a little narrower than the exact ones."""
    _check(observed)
    tail = (1 - level) / 2

    def above(mean: float) -> float:
        at_most, fewer = float(pdtr(observed, mean)), float(gammaincc(observed, mean)) if observed else 0.0
        return 1 - (at_most + fewer) / 2

    top = exact_poisson(observed, level=level).high + 1
    low = float(brentq(lambda mean: above(mean) - tail, 1e-12, top, xtol=1e-12)) if observed else 0.0
    high = float(brentq(lambda mean: 1 - above(mean) - tail, 1e-12, top, xtol=1e-12))
    return Interval(low, high, level, "mid-P Poisson")


def poisson_two_sided(observed: int, expected: float) -> float:
    """How often chance makes a count at least this far from ``expected`` (above 0), on either side: twice the tail."""
    _check(observed)
    at_least = float(gammainc(observed, expected)) if observed else 1.0
    return min(1.0, 2 * min(at_least, float(pdtr(observed, expected))))


def standardise(
    place: Mapping[Hashable, tuple[int, int]], standard: Mapping[Hashable, tuple[int, int]]
) -> Standardised:
    """Indirect standardisation: what ``place`` would have had at the rates of ``standard``, stratum by stratum.

    Both map a stratum to (events, draws). Strata without draws in the standard have no rate and are left out.
    """
    observed, expected, uncovered = 0.0, 0.0, 0
    for stratum, (events, draws) in place.items():
        usual_events, usual_draws = standard.get(stratum, (0, 0))
        if usual_draws:
            observed += events
            expected += draws * usual_events / usual_draws
        else:
            uncovered += draws
    return Standardised(observed, expected, uncovered)


def _check(observed: int) -> None:
    if observed < 0:
        raise ValueError(f"{observed} events are impossible")
