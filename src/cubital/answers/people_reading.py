"""What may fairly be said of people from their draws: the system first, then real differences, then who gains most.

Private by purpose: it serves support, never pay or discipline. Nobody is ordered by raw percentage; an order follows
how many contaminations coaching could be expected to prevent, and a person with few draws is told nothing but counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import betainc

from cubital.stats.interval import Interval
from cubital.stats.proportions import wilson_interval
from cubital.stats.shrinkage import BetaPrior, SpreadTest, fit_prior, spread_test

REAL_DIFFERENCE = 0.05
"""A spread that chance makes less often than this is called real; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class PersonCount:
    """One collector under an opaque ``key``: ``contaminated`` of ``draws`` sets attributed at confidence A or B."""

    key: str
    draws: int
    contaminated: int

    def __post_init__(self) -> None:
        if not 0 <= self.contaminated <= self.draws or not self.draws:
            raise ValueError(f"{self.key}: {self.contaminated} of {self.draws} is impossible")

    @property
    def clean(self) -> int:
        """Draws that were not contaminated."""
        return self.draws - self.contaminated


@dataclass(frozen=True, kw_only=True)
class PeoplePolicy:
    """Local policy: the target share, from how many draws a percentage is shown, how many are offered support at once.

    ``worth_offering`` is the least number of contaminations that support should be expected to prevent.
    """

    target: float = 0.03
    min_draws: int = 30
    capacity: int = 5
    worth_offering: float = 0.5


class Standing(StrEnum):
    """What the counts bear."""

    NOBODY = "nobody"  # fewer than two people with draws
    NO_EVENTS = "no_events"
    ALIKE = "alike"  # no real difference: support the system
    DIFFERENT = "different"


@dataclass(frozen=True, kw_only=True)
class PersonReading:
    """One person beside the others.

    ``estimate`` is the rate drawn towards what is usual, with its interval; ``above`` the chance that the true rate is
    above target; ``preventable`` how many contaminations over as many draws would not have happened at target (below 0
    where the estimate is under it). ``shown`` is false below the minimum of draws: counts may be told, no percentage.
    """

    count: PersonCount
    estimate: float
    interval: Interval
    above: float
    preventable: float
    shown: bool


@dataclass(frozen=True, kw_only=True)
class PeopleReading:
    """All that follows from the counts. ``counts`` and ``people`` come in the order given (the latter empty
    where nothing can be said), ``queue`` in the order of support.

    ``spread`` and ``prior`` are none where nothing can be said of differences. ``unattributed`` are sets without a
    usable collector (contaminated, sets); they belong to nobody, and ``bounds`` says how far they could
    move the share of the attributed ones.
    """

    standing: Standing
    people: tuple[PersonReading, ...]
    queue: tuple[PersonReading, ...]
    contaminated: int
    draws: int
    unattributed: tuple[int, int]
    policy: PeoplePolicy
    prior: BetaPrior | None = None
    spread: SpreadTest | None = None
    counts: tuple[PersonCount, ...] = ()

    @property
    def rate(self) -> float:
        """The share over all attributed draws."""
        return self.contaminated / self.draws if self.draws else 0.0

    @property
    def bounds(self) -> tuple[float, float]:
        """The share of the known collectors had they drawn only the clean unattributed sets, or only the others."""
        contaminated, sets = self.unattributed
        least = self.contaminated / (self.draws + sets - contaminated) if self.draws + sets > contaminated else 0.0
        most = (self.contaminated + contaminated) / (self.draws + contaminated) if self.draws + contaminated else 0.0
        return least, most

    @property
    def system_above(self) -> bool:
        """Whether everybody together is above target: then the system comes first."""
        return self.rate > self.policy.target

    @property
    def considered(self) -> tuple[PersonReading, ...]:
        """Those above the usual who are not in the queue, the most preventable first: who was considered, and not."""
        chosen = {one.count.key for one in self.queue}
        others = [one for one in self.people if one.count.key not in chosen and one.preventable > 0]
        return tuple(sorted(others, key=lambda one: -one.preventable))

    def person(self, key: str) -> PersonReading:
        """The reading of one person; ``KeyError`` where there is none."""
        for one in self.people:
            if one.count.key == key:
                return one
        raise KeyError(key)


def read_people(
    counts: Sequence[PersonCount], *, policy: PeoplePolicy, unattributed: tuple[int, int] = (0, 0), seed: int = 1
) -> PeopleReading:
    """Reads the counts of people, each key once (``ValueError`` otherwise).

    The spread of true rates is fitted to the counts (beta-binomial); each person's estimate is drawn towards the
    middle, the more the fewer draws. Nobody is queued where people do not really differ: a queue would pick by chance.
    """
    if len({one.key for one in counts}) != len(counts):
        raise ValueError("a person stands twice")
    draws, contaminated = sum(one.draws for one in counts), sum(one.contaminated for one in counts)
    bare = PeopleReading(
        standing=Standing.NOBODY, people=(), queue=(), contaminated=contaminated, draws=draws,
        unattributed=unattributed, policy=policy, counts=tuple(counts),
    )  # fmt: skip
    if len(counts) < 2:
        return bare
    events, sizes = [one.contaminated for one in counts], [one.draws for one in counts]
    if not 0 < contaminated < draws:
        return _with(bare, Standing.NO_EVENTS)
    prior, spread = fit_prior(events, sizes), spread_test(events, sizes, seed=seed)
    people = tuple(_read_one(one, prior, policy) for one in counts)
    real = spread.chance < REAL_DIFFERENCE
    return _with(
        bare, Standing.DIFFERENT if real else Standing.ALIKE, people=people, prior=prior, spread=spread,
        queue=_queue(people, policy) if real else (),
    )  # fmt: skip


def _with(bare: PeopleReading, standing: Standing, **changes: object) -> PeopleReading:
    return PeopleReading(**{**vars(bare), "standing": standing, **changes})


def _read_one(count: PersonCount, prior: BetaPrior, policy: PeoplePolicy) -> PersonReading:
    after = prior.after(count.contaminated, count.draws)
    return PersonReading(
        count=count,
        estimate=after.mean,
        interval=after.interval(),
        above=1 - float(betainc(after.alpha, after.beta, policy.target)),
        preventable=count.draws * (after.mean - policy.target),
        shown=count.draws >= policy.min_draws,
    )


def _queue(people: Sequence[PersonReading], policy: PeoplePolicy) -> tuple[PersonReading, ...]:
    worth = [one for one in people if one.preventable >= policy.worth_offering]
    return tuple(sorted(worth, key=lambda one: (-one.preventable, one.count.key))[: policy.capacity])


def raw_interval(count: PersonCount) -> Interval:
    """What one person's own draws alone would say: wide where they are few."""
    return wilson_interval(count.contaminated, count.draws)
