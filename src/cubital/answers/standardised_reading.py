"""Each place against what it would have had, had its own mix of patients, hours and methods gone as everywhere.

Indirect standardisation over strata. Strata that only one place draws in say nothing about that place: they are left
out, and how many sets that leaves is part of the answer. Where nothing is shared, places are not comparable.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, ndtr

from cubital.answers.places_reading import PlaceCount, PlacesPolicy, Side
from cubital.stats.interval import Interval
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.overdispersion import measure_overdispersion, root_ratio_scores
from cubital.stats.standardised import Standardised, exact_poisson, poisson_two_sided, standardise


@dataclass(frozen=True, kw_only=True)
class StandardisedPlace:
    """``observed`` contaminated sets among the ``covered`` ones of a place, ``expected`` at the common rate of each of
    its strata, ``crude`` at the common rate of all covered sets whatever their stratum.

    ``ratio`` with its ``interval`` is observed over expected, none where nothing is expected. ``adjusted`` is how often
    chance makes such a distance when all places are looked at together.
    """

    count: PlaceCount
    covered: int
    observed: int
    crude: float
    expected: float
    ratio: float | None
    interval: Interval | None
    adjusted: float
    side: Side
    shown: bool

    @property
    def excess(self) -> float:
        """Contaminated sets beyond the common share."""
        return self.observed - self.crude

    @property
    def explained(self) -> float:
        """How much of ``excess`` comes with the mix of strata."""
        return self.expected - self.crude


@dataclass(frozen=True, kw_only=True)
class StandardisedReading:
    """All places over the strata that at least two of them share; ``places`` is empty where that is none.

    ``covered`` of ``sets`` lie in shared strata, in ``strata`` of them. ``widened`` says that places differ by more
    than chance even so, and that this is allowed for.
    """

    counts: tuple[PlaceCount, ...]
    places: tuple[StandardisedPlace, ...]
    strata: int
    covered: int
    sets: int
    contaminated: int
    policy: PlacesPolicy
    widened: bool = False

    def standing_out(self, side: Side) -> tuple[StandardisedPlace, ...]:
        """The places on that side, the furthest first."""
        return tuple(sorted((one for one in self.places if one.side is side), key=lambda one: one.adjusted))


def read_standardised(counts: Sequence[PlaceCount], *, policy: PlacesPolicy) -> StandardisedReading:
    """Reads places with their strata; a place whose strata do not add up to its counts is a ``ValueError``."""
    for count in counts:
        if sum(sets for _events, sets in count.strata.values()) != count.sets:
            raise ValueError(f"{count.key}: the strata do not add up to its sets")
    drawing = Counter(stratum for count in counts for stratum, (_events, sets) in count.strata.items() if sets)
    shared = {stratum for stratum, places in drawing.items() if places > 1}
    standard = _standard(counts, shared)
    covered, contaminated = sum(n for _x, n in standard.values()), sum(x for x, _n in standard.values())
    found = [(count, standardise(count.strata, standard)) for count in counts]
    chances, widened = _chances([one for _count, one in found], policy) if covered and contaminated else ([], False)
    places = _places(found, chances, contaminated / covered, policy) if chances else ()
    return StandardisedReading(
        counts=tuple(counts), places=places, strata=len(shared), covered=covered, contaminated=contaminated,
        sets=sum(count.sets for count in counts), policy=policy, widened=widened,
    )  # fmt: skip


def _standard(counts: Sequence[PlaceCount], shared: set[Hashable]) -> dict[Hashable, tuple[int, int]]:
    found: dict[Hashable, tuple[int, int]] = {}
    for count in counts:
        for stratum, (events, sets) in count.strata.items():
            if stratum in shared:
                before = found.get(stratum, (0, 0))
                found[stratum] = (before[0] + events, before[1] + sets)
    return found


def _chances(found: Sequence[Standardised], policy: PlacesPolicy) -> tuple[list[float], bool]:
    """How often chance makes each distance; where places differ by more than chance, that usual spread is added."""
    held = [one for one in found if one.expected > 0]
    scores = root_ratio_scores([one.observed for one in held], [one.expected for one in held])
    chi2 = sum((one.observed - one.expected) ** 2 / one.expected for one in held)
    few = policy.widening == "none" or len(held) < policy.spread_from
    if few or float(chdtrc(len(held) - 1, chi2)) >= policy.spread_chance:
        return [
            poisson_two_sided(round(one.observed), one.expected) if one.expected > 0 else 1.0 for one in found
        ], False
    wide = np.sqrt(scores.error**2 + measure_overdispersion(scores).tau2)
    reached = iter((2 * ndtr(-np.abs(scores.z * scores.error / wide))).tolist())
    return [next(reached) if one.expected > 0 else 1.0 for one in found], True


def _places(
    found: Sequence[tuple[PlaceCount, Standardised]], chances: Sequence[float], rate: float, policy: PlacesPolicy
) -> tuple[StandardisedPlace, ...]:
    adjusted = adjust_p_values(chances, method="bh")
    places = []
    for (count, one), far in zip(found, adjusted, strict=True):
        covered = count.sets - one.uncovered
        shown = covered >= policy.min_sets and not count.one_person and one.expected > 0
        out = shown and far <= policy.false_share
        exact = exact_poisson(round(one.observed)) if one.expected > 0 else None
        places.append(
            StandardisedPlace(
                count=count,
                covered=covered,
                observed=round(one.observed),
                crude=covered * rate,
                expected=one.expected,
                ratio=one.ratio,
                interval=Interval(exact.low / one.expected, exact.high / one.expected, exact.level, exact.method)
                if exact
                else None,
                adjusted=far,
                side=(Side.ABOVE if one.observed > one.expected else Side.BELOW) if out else Side.WITHIN,
                shown=shown,
            )
        )
    return tuple(places)
