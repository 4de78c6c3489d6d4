"""Two groups compared within strata, and the strata put together: like is only ever compared with like.

Mantel N, Haenszel W, J Natl Cancer Inst 1959;22:719-748. Variances: Robins J, Breslow N, Greenland S, Biometrics
1986;42:311-323 (odds ratio); Greenland S, Robins JM, Biometrics 1985;41:55-68 (risk ratio); Sato T, Biometrics
1989;45:1323-1324 (difference). Homogeneity: Breslow NE, Day NE 1980, corrected by Tarone RE, Biometrika 1985;72:91.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.two_proportions import Comparison


@dataclass(frozen=True)
class Stratum:
    """``x1`` of ``n1`` in the first group, ``x2`` of ``n2`` in the second, in one stratum."""

    x1: int
    n1: int
    x2: int
    n2: int

    def __post_init__(self) -> None:
        if not 0 <= self.x1 <= self.n1 or not 0 <= self.x2 <= self.n2:
            raise ValueError(f"{self.x1} of {self.n1} and {self.x2} of {self.n2} are impossible")


@dataclass(frozen=True)
class Stratified:
    """The groups over all strata that hold both: first minus second, and first over second.

    ``strata`` are those used. ``chance`` is how often a difference this large comes about when there is none (without
    continuity correction); ``unlike`` how often strata differ this much when the odds ratio is the same in all, none
    with one stratum. ``risk_ratio`` and ``odds_ratio`` are none where a group has no event or nothing else.
    """

    difference: Comparison
    risk_ratio: Comparison | None
    odds_ratio: Comparison | None
    chance: float
    unlike: float | None
    strata: int


def compare_within(strata: Sequence[Stratum], *, level: float = 0.95) -> Stratified:
    """Compares the two groups within ``strata``; strata that hold one group only say nothing and are left out.

    Raises ``ValueError`` where no stratum holds both groups.
    """
    kept = [one for one in strata if one.n1 and one.n2]
    if not kept:
        raise ValueError("no stratum holds both groups")
    x1, n1, x2, n2 = (np.asarray([getattr(one, name) for one in kept], float) for name in ("x1", "n1", "x2", "n2"))
    odds = _odds_ratio(x1, n1, x2=x2, n2=n2, level=level)
    return Stratified(
        difference=_difference(x1, n1, x2=x2, n2=n2, level=level),
        risk_ratio=_risk_ratio(x1, n1, x2=x2, n2=n2, level=level),
        odds_ratio=odds,
        chance=_chance(x1, n1, x2=x2, n2=n2),
        unlike=_unlike(x1, n1, x2=x2, n2=n2, ratio=odds.estimate) if odds and len(kept) > 1 else None,
        strata=len(kept),
    )


def _difference(x1: Values, n1: Values, *, x2: Values, n2: Values, level: float) -> Comparison:
    weight, total = n1 * n2 / (n1 + n2), n1 + n2
    whole = float(weight.sum())
    estimate = float((weight * (x1 / n1 - x2 / n2)).sum()) / whole
    p = (n1**2 * x2 - n2**2 * x1 + n1 * n2 * (n2 - n1) / 2) / total**2
    q = (x1 * (n2 - x2) + x2 * (n1 - x1)) / (2 * total)
    spread = math.sqrt(max(0.0, estimate * float(p.sum()) + float(q.sum()))) / whole
    reach = normal_quantile(level) * spread
    low, high = max(-1.0, estimate - reach), min(1.0, estimate + reach)
    return Comparison(estimate, Interval(low, high, level, "Mantel–Haenszel, Sato"))


def _risk_ratio(x1: Values, n1: Values, *, x2: Values, n2: Values, level: float) -> Comparison | None:
    total = n1 + n2
    top, bottom = float((x1 * n2 / total).sum()), float((x2 * n1 / total).sum())
    if not top or not bottom:
        return None
    spread = float(((n1 * n2 * (x1 + x2) - x1 * x2 * total) / total**2).sum()) / (top * bottom)
    return _on_logarithm(top / bottom, spread, level=level, method="Mantel–Haenszel, Greenland–Robins")


def _odds_ratio(x1: Values, n1: Values, *, x2: Values, n2: Values, level: float) -> Comparison | None:
    total = n1 + n2
    r, s = x1 * (n2 - x2) / total, x2 * (n1 - x1) / total
    p, q = (x1 + n2 - x2) / total, (x2 + n1 - x1) / total
    top, bottom = float(r.sum()), float(s.sum())
    if not top or not bottom:
        return None
    spread = (
        float((p * r).sum()) / (2 * top**2)
        + float((p * s + q * r).sum()) / (2 * top * bottom)
        + float((q * s).sum()) / (2 * bottom**2)
    )
    return _on_logarithm(top / bottom, spread, level=level, method="Mantel–Haenszel, Robins–Breslow–Greenland")


def _on_logarithm(estimate: float, variance: float, *, level: float, method: str) -> Comparison:
    reach = normal_quantile(level) * math.sqrt(max(0.0, variance))
    return Comparison(estimate, Interval(estimate * math.exp(-reach), estimate * math.exp(reach), level, method))


def _chance(x1: Values, n1: Values, *, x2: Values, n2: Values) -> float:
    total, events = n1 + n2, x1 + x2
    spare = np.where(total > 1, total - 1, 1)
    variance = float((n1 * n2 * events * (total - events) / (total**2 * spare)).sum())
    if not variance:
        return 1.0
    away = float((x1 - n1 * events / total).sum())
    return float(chdtrc(1, away**2 / variance))


def _unlike(x1: Values, n1: Values, *, x2: Values, n2: Values, ratio: float) -> float | None:
    """Breslow–Day with Tarone's correction; strata without an event, or with nothing else, say nothing."""
    events, total = x1 + x2, n1 + n2
    kept = (events > 0) & (events < total)
    if kept.sum() < 2:
        return None
    x1, n1, n2, events = x1[kept], n1[kept], n2[kept], events[kept]
    expected = _expected(events, n1, n2=n2, ratio=ratio)
    parts = (expected, n1 - expected, events - expected, n2 - events + expected)
    variance = 1 / np.sum([1 / part for part in parts], axis=0)
    away = x1 - expected
    statistic = float((away**2 / variance).sum()) - float(away.sum()) ** 2 / float(variance.sum())
    return float(chdtrc(len(x1) - 1, max(0.0, statistic)))


def _expected(events: Values, n1: Values, *, n2: Values, ratio: float) -> Values:
    """Events of the first group given its margins, were the odds ratio ``ratio``."""
    if abs(ratio - 1) < 1e-12:
        return np.asarray(events * n1 / (n1 + n2))
    a, b, c = 1 - ratio, n2 - events + ratio * (n1 + events), -ratio * n1 * events
    # The root that lies within the margins, in the form that does not cancel.
    return np.asarray(-2 * c / (b + np.sqrt(b**2 - 4 * a * c)))


def bounds_with_unknown(x: int, n: int, *, unknown_events: int, unknown_sets: int) -> Interval:
    """The lowest and highest share that a group may truly have when sets are nobody's.

    At the lowest every clean unattributed set is its own and none of the others; at the highest every event is and none
    of the clean ones. Nothing is assumed about chance: these are limits of what is possible, level 1.
    """
    if not 0 <= x <= n or not 0 <= unknown_events <= unknown_sets or not n:
        raise ValueError(f"{x} of {n} with {unknown_events} of {unknown_sets} unknown is impossible")
    low = x / (n + unknown_sets - unknown_events)
    return Interval(low, (x + unknown_events) / (n + unknown_events), 1.0, "worst case")
