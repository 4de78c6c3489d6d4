"""Places side by side, fairly: what chance makes, what places usually differ by, and which still stand out.

A funnel with exact limits, widened by what places usually differ by; estimates drawn together; ranks with their
doubt; the fall that comes by itself after choosing the worst; and how often a clean place is clean by chance.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from scipy.special import betainc, ndtr

from cubital.stats.attribute_charts import Values
from cubital.stats.funnel_limits import funnel_limits
from cubital.stats.interval import Interval
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.overdispersion import (
    Overdispersion,
    PlaceScores,
    measure_overdispersion,
    share_limits,
    share_scores,
    widened_error,
)
from cubital.stats.proportions import wilson_interval
from cubital.stats.ranks import rank_places
from cubital.stats.shrinkage import BetaPrior, fit_prior
from cubital.stats.standardised import Standardised, exact_poisson, standardise
from cubital.stats.tails import chance_at_least, chance_at_most, dispersion_chance

Strata = Mapping[Hashable, tuple[int, int]]
Widening = Literal["additive", "multiplicative", "none"]
LIMIT_LEVEL = 0.998  # three standard deviations either way, as funnels are usually drawn (Spiegelhalter 2005)


@dataclass(frozen=True, kw_only=True)
class PlaceCount:
    """One place: ``contaminated`` of ``sets``. ``strata`` splits the same counts for standardising: stratum to
    (contaminated, sets), empty where nothing is to be standardised for. ``collectors`` is how many people are known to
    have drawn there, none where nobody counted them.
    """

    key: str
    name: str
    sets: int
    contaminated: int
    strata: Strata = field(default_factory=dict)
    collectors: int | None = None

    @property
    def one_person(self) -> bool:
        """Whether its share would be the share of one person."""
        return self.collectors == 1

    def __post_init__(self) -> None:
        if not 0 <= self.contaminated <= self.sets or not self.sets:
            raise ValueError(f"{self.key}: {self.contaminated} of {self.sets} is impossible")


@dataclass(frozen=True, kw_only=True)
class PlacesPolicy:
    """Local policy: the target, from how many sets a place's rate is shown, and the share of false alarms allowed
    among the places that are called different.

    ``widening`` says how a funnel is widened for what places usually differ by: the same amount added to every place,
    or the chance of every place multiplied (which forgives large places more); none for kinds of sets (hours, ways of
    drawing) that are no sample of anything. What places usually differ by is learnt from ``spread_from`` of them at
    least: from fewer, the one that differs would teach that differing is usual.
    """

    target: float = 0.03
    min_sets: int = 20
    false_share: float = 0.05
    spread_chance: float = 0.05
    spread_from: int = 10
    widening: Widening = "additive"


class Side(StrEnum):
    """Where a place stands once chance and the usual differences are allowed for."""

    ABOVE = "above"
    BELOW = "below"
    WITHIN = "within"


@dataclass(frozen=True, kw_only=True)
class PlaceReading:
    """One place. ``estimate`` is its rate drawn towards the others'; ``above_target`` the chance that the true rate is
    above target; ``ranks`` the range of its rank (1 is the lowest rate); ``lower`` and ``upper`` the funnel at its
    size.

    ``chance`` is how often such a distance comes about when the place is like the others; ``adjusted`` when all places
    are looked at together. ``standardised`` is none without strata.
    """

    count: PlaceCount
    rate: float
    interval: Interval
    estimate: float
    estimate_interval: Interval
    above_target: float
    ranks: tuple[int, int]
    lower: float
    upper: float
    chance: float
    adjusted: float
    side: Side
    shown: bool
    standardised: Standardised | None = None
    ratio_interval: Interval | None = None

    @property
    def zero_chance(self) -> float | None:
        """How often a place of this size shows none at all when its true rate is 2 %; none where it showed some."""
        return 0.98**self.count.sets if self.count.contaminated == 0 else None


@dataclass(frozen=True, kw_only=True)
class PlacesReading:
    """All places with sets, in the order given; ``places`` is empty where they cannot be compared.

    ``spread`` is what they differ by beyond chance, none where nobody can tell; ``widened`` says whether the funnel was
    drawn wider for it. ``rate`` is over all together.
    """

    counts: tuple[PlaceCount, ...]
    places: tuple[PlaceReading, ...]
    contaminated: int
    sets: int
    policy: PlacesPolicy
    prior: BetaPrior | None
    spread: Overdispersion | None
    widened: bool

    @property
    def rate(self) -> float:
        """Contaminated sets over sets, all places together."""
        return self.contaminated / self.sets if self.sets else 0.0

    def standing_out(self, side: Side) -> tuple[PlaceReading, ...]:
        """The places on that side, the furthest first."""
        return tuple(sorted((one for one in self.places if one.side is side), key=lambda one: one.adjusted))

    def funnel(self, sizes: Sequence[int], *, level: float) -> tuple[Values, Values]:
        """Lower and upper limits for places of these sizes, running smoothly between whole counts; to be drawn."""
        if self.widened and self.spread is not None:
            multiply = self.policy.widening == "multiplicative"
            return share_limits(sizes, target=self.rate, level=level, spread=self.spread, multiply=multiply)
        exact = funnel_limits(sizes, target=self.rate, level=level)
        return exact.low_interpolated, exact.high_interpolated

    @property
    def worst(self) -> PlaceReading | None:
        """The place with the highest raw rate among those whose rate may be shown."""
        return max((one for one in self.places if one.shown), key=lambda one: one.rate, default=None)


def read_places(counts: Sequence[PlaceCount], *, policy: PlacesPolicy) -> PlacesReading:
    """Reads the counts of places, each key once (``ValueError`` otherwise). Two places at least can be compared."""
    if len({one.key for one in counts}) != len(counts):
        raise ValueError("a place stands twice")
    contaminated, sets = sum(one.contaminated for one in counts), sum(one.sets for one in counts)
    comparable = len(counts) >= 2 and 0 < contaminated < sets
    prior = fit_prior([c.contaminated for c in counts], [c.sets for c in counts]) if comparable else None
    spread, widened = _spread(counts, policy) if comparable else (None, False)
    places = _places(counts, contaminated / sets, policy, prior, spread if widened else None) if prior else ()
    return PlacesReading(
        counts=tuple(counts), places=places, contaminated=contaminated, sets=sets, policy=policy, prior=prior,
        spread=spread, widened=widened,
    )  # fmt: skip


def _spread(counts: Sequence[PlaceCount], policy: PlacesPolicy) -> tuple[Overdispersion, bool]:
    """What places differ by beyond chance; only a spread that chance seldom makes widens the funnel."""
    events, sizes = [c.contaminated for c in counts], [c.sets for c in counts]
    spread = measure_overdispersion(share_scores(events, sizes))
    if policy.widening == "none" or len(counts) < policy.spread_from:
        return spread, False
    return spread, spread.phi > 1 and dispersion_chance(events, sizes) < policy.spread_chance


def _places(
    counts: Sequence[PlaceCount], rate: float, policy: PlacesPolicy, prior: BetaPrior, spread: Overdispersion | None
) -> tuple[PlaceReading, ...]:
    sizes = [c.sets for c in counts]
    after = [prior.after(c.contaminated, c.sets) for c in counts]
    ranks = rank_places(after)
    chances = _chances(counts, rate, policy, spread)
    adjusted = adjust_p_values(chances, method="bh")
    lower, upper = _limits(sizes, rate, policy, spread)
    standard = _standard(counts)
    found = []
    for place, count in enumerate(counts):
        shown = count.sets >= policy.min_sets and not count.one_person
        far = shown and adjusted[place] <= policy.false_share
        own = count.contaminated / count.sets
        standardised = standardise(count.strata, standard) if count.strata else None
        found.append(
            PlaceReading(
                count=count,
                rate=own,
                interval=wilson_interval(count.contaminated, count.sets),
                estimate=after[place].mean,
                estimate_interval=after[place].interval(),
                above_target=1 - float(betainc(after[place].alpha, after[place].beta, policy.target)),
                ranks=ranks.interval(place),
                lower=float(lower[place]),
                upper=float(upper[place]),
                chance=chances[place],
                adjusted=adjusted[place],
                side=(Side.ABOVE if own > rate else Side.BELOW) if far else Side.WITHIN,
                shown=shown,
                standardised=standardised,
                ratio_interval=_ratio_interval(standardised),
            )
        )
    return tuple(found)


def _limits(
    sizes: Sequence[int], rate: float, policy: PlacesPolicy, spread: Overdispersion | None
) -> tuple[Values, Values]:
    """The funnel: exact where places differ by chance alone, widened on the arcsine scale where they do more."""
    if spread is not None:
        multiply = policy.widening == "multiplicative"
        return share_limits(sizes, target=rate, level=LIMIT_LEVEL, spread=spread, multiply=multiply)
    exact = funnel_limits(sizes, target=rate, level=LIMIT_LEVEL)
    return exact.low_quantile, exact.high_quantile


def _chances(
    counts: Sequence[PlaceCount], rate: float, policy: PlacesPolicy, spread: Overdispersion | None
) -> list[float]:
    """Two-sided: exact where places differ by chance alone, on the widened scale where they do more."""
    if spread is None:
        return [
            min(1.0, 2 * min(chance_at_least(c.contaminated, c.sets, rate=rate),
                             chance_at_most(c.contaminated, c.sets, rate=rate)))
            for c in counts
        ]  # fmt: skip
    scores: PlaceScores = share_scores([c.contaminated for c in counts], [c.sets for c in counts], target=rate)
    wide = widened_error([c.sets for c in counts], spread, multiply=policy.widening == "multiplicative")
    return [float(2 * ndtr(-abs(one))) for one in scores.z * scores.error / wide]


def _standard(counts: Sequence[PlaceCount]) -> dict[Hashable, tuple[int, int]]:
    """All places together, stratum by stratum."""
    found: dict[Hashable, tuple[int, int]] = {}
    for count in counts:
        for stratum, (events, sets) in count.strata.items():
            before = found.get(stratum, (0, 0))
            found[stratum] = (before[0] + events, before[1] + sets)
    return found


def _ratio_interval(standardised: Standardised | None) -> Interval | None:
    if standardised is None or not standardised.expected:
        return None
    exact = exact_poisson(round(standardised.observed))
    return Interval(exact.low / standardised.expected, exact.high / standardised.expected, exact.level, exact.method)
