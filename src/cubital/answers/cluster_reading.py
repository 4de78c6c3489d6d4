"""Looks for a cluster: every stretch of days in the weeks asked about, every set of units, every odd organism.

What chance does in one stretch fixed beforehand is small for many stretches that somebody picks afterwards. So two
chances are kept apart: that of the stretch found, and that of finding such a stretch anywhere one looked.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import combinations

from cubital.answers.odd_growths import Event, Events
from cubital.stats.scan import (
    Cluster,
    chance_anywhere,
    chance_anywhere_after,
    chance_in_window,
    densest_stretch,
    highest_mean,
)

Unit = tuple[str, str]  # facility and unit key

# Half of the doubt is spent on all units together, because what one store hands out reaches everybody.
_SHARE_OF_ALL = 0.5
_MOST_PAIRED = 12  # pairs are looked for among so many units, those with most of the organism


@dataclass(frozen=True, kw_only=True)
class ClusterPolicy:
    """What counts as odd and as a cluster. Our own choice, no source: a telephone call is cheap, so that one needless
    call in ten looks is borne.
    """

    lengths: tuple[int, ...] = (7, 14)  # days of a stretch
    min_events: int = 3
    min_baseline_days: int = 56
    odd_per_week: float = 1.0
    most_chance: float = 0.1


class Zone(StrEnum):
    """Which units a stretch was looked for in."""

    ALL = "all"
    FACILITY = "facility"
    PAIR = "pair"
    UNIT = "unit"


@dataclass(frozen=True, kw_only=True)
class Look:
    """Where and when is looked: the days asked about, the days before that say what is usual, and the units there are.

    ``before`` is none where only a rate is known (``per_week`` then says what is usual in all units together), or where
    nothing is.
    """

    first: date
    last: date
    before: tuple[date, date] | None
    units: tuple[Unit, ...]
    per_week: float | None = None

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError("the last day lies before the first")

    @property
    def days(self) -> int:
        """Days that are looked at."""
        return (self.last - self.first).days + 1

    @property
    def days_before(self) -> int:
        """Days of the baseline; 0 where only a rate is known."""
        return (self.before[1] - self.before[0]).days + 1 if self.before else 0


@dataclass(frozen=True, kw_only=True)
class FoundCluster:
    """The stretch that chance explains worst.

    ``events`` are its sets, ``expected`` how many the stretch would usually hold, ``at_most`` whether that is an upper
    limit because the baseline holds none. ``chance`` is of this stretch alone, ``chance_anywhere`` of one as odd
    anywhere that was looked.
    """

    organism: str
    zone: Zone
    units: tuple[Unit, ...]
    stretch: Cluster
    events: tuple[Event, ...]
    per_week: float
    expected: float
    at_most: bool
    before: int
    chance: float
    chance_anywhere: float


@dataclass(frozen=True, kw_only=True)
class ClusterReading:
    """What the look found. ``best`` is none where no stretch holds enough; ``odd`` is how many organisms were odd.

    ``events`` are all sets of the looked-at days by odd organism; ``thin`` says that the baseline is too short.
    """

    look: Look
    policy: ClusterPolicy
    odd: int
    common: tuple[str, ...]
    events: Events
    best: FoundCluster | None
    thin: bool

    @property
    def is_signal(self) -> bool:
        """Whether chance rarely makes such a stretch anywhere."""
        return bool(self.best and not self.thin and self.best.chance_anywhere <= self.policy.most_chance)


def read_clusters(events: Events, look: Look, *, policy: ClusterPolicy, asked: bool = False) -> ClusterReading:
    """Scans the organisms of ``events`` over ``look``; ``asked`` scans all given, otherwise only the rare ones.

    Events outside the look and its baseline are passed over.
    """
    inside = {thing: tuple(e for e in every if look.first <= e.day <= look.last) for thing, every in events.items()}
    before = {thing: tuple(e for e in every if _in_baseline(e, look)) for thing, every in events.items()}
    seen = [thing for thing in events if inside[thing] or before[thing]]
    odd = [thing for thing in seen if asked or _weekly(before[thing], look) <= policy.odd_per_week]
    found = [
        cluster
        for thing in odd
        for cluster in _scan(thing, inside[thing], before[thing], look=look, policy=policy, organisms=len(odd))
    ]
    return ClusterReading(
        look=look,
        policy=policy,
        odd=len(odd),
        common=tuple(sorted(thing for thing in seen if thing not in odd)),
        events={thing: inside[thing] for thing in sorted(odd) if inside[thing]},
        best=min(found, key=_oddity, default=None),
        thin=look.per_week is None and look.days_before < policy.min_baseline_days,
    )


def _oddity(found: FoundCluster) -> tuple[float, float, int, str]:
    return found.chance_anywhere, found.chance, -found.stretch.count, found.organism


def _in_baseline(event: Event, look: Look) -> bool:
    return look.before is not None and look.before[0] <= event.day <= look.before[1]


def _weekly(before: Sequence[Event], look: Look) -> float:
    if look.per_week is not None:
        return look.per_week
    return 7 * len(before) / look.days_before if look.days_before else 0.0


def _scan(
    organism: str,
    inside: Sequence[Event],
    before: Sequence[Event],
    *,
    look: Look,
    policy: ClusterPolicy,
    organisms: int,
) -> Iterator[FoundCluster]:
    if len(inside) < policy.min_events:
        return
    lengths = sorted({min(length, look.days) for length in policy.lengths})
    for zone, units, trials in _zones(inside, look):
        held = [event for event in inside if zone is Zone.ALL or _unit(event) in units]
        if len(held) < policy.min_events:
            continue
        usual = sum(zone is Zone.ALL or _unit(event) in units for event in before)
        for length in lengths:
            stretch = densest_stretch([event.day for event in held], window=length)
            if stretch is None or stretch.count < policy.min_events:
                continue
            chance = _chance_anywhere(stretch.count, length=length, usual=usual, look=look)
            yield _found(
                organism, zone, units=units, stretch=stretch, held=held, usual=usual, look=look,
                anywhere=min(1.0, chance * len(lengths) * trials * organisms),
            )  # fmt: skip


def _zones(inside: Sequence[Event], look: Look) -> Iterator[tuple[Zone, tuple[Unit, ...], float]]:
    """Sets of units that hold the organism, with how many such sets were looked at, all told."""
    counts = Counter(_unit(event) for event in inside)
    units = set(look.units) | set(counts)
    facilities = {facility for facility, _unit_key in units}
    wholes = {Zone.FACILITY: len(facilities) > 1, Zone.UNIT: len(units) > 1, Zone.PAIR: len(units) > 2}
    kinds = 0 if look.per_week is not None else sum(wholes.values())  # a rate of all units says nothing of one
    yield Zone.ALL, tuple(sorted(counts)), 1 / _SHARE_OF_ALL if kinds else 1.0
    if not kinds:
        return
    share = (1 - _SHARE_OF_ALL) / kinds
    if wholes[Zone.FACILITY]:
        for name in sorted({facility for facility, _unit_key in counts}):
            own = tuple(sorted(unit for unit in units if unit[0] == name))
            yield Zone.FACILITY, own, len(facilities) / share
    if wholes[Zone.UNIT]:
        for unit in sorted(counts):
            yield Zone.UNIT, (unit,), len(units) / share
    if wholes[Zone.PAIR]:
        most = sorted(unit for unit, _count in counts.most_common(_MOST_PAIRED))
        for pair in combinations(most, 2):
            yield Zone.PAIR, pair, len(units) * (len(units) - 1) / 2 / share


def _chance_anywhere(count: int, *, length: int, usual: int, look: Look) -> float:
    windows = look.days / length
    if look.per_week is None and not look.days_before:
        return 1.0
    if look.per_week is not None:
        return chance_anywhere(count, mean=look.per_week * length / 7, windows=windows)
    return chance_anywhere_after(count, before=usual, windows_before=look.days_before / length, windows=windows)


def _found(
    organism: str,
    zone: Zone,
    *,
    units: tuple[Unit, ...],
    stretch: Cluster,
    held: Sequence[Event],
    usual: int,
    look: Look,
    anywhere: float,
) -> FoundCluster:
    at_most = look.per_week is None and usual == 0
    per_week = look.per_week if look.per_week is not None else _usual_weekly(usual, look)
    expected = per_week * stretch.days / 7
    return FoundCluster(
        organism=organism, zone=zone, units=units, stretch=stretch,
        events=tuple(event for event in held if stretch.first <= event.day <= stretch.last),
        per_week=per_week, expected=expected, at_most=at_most, before=usual,
        chance=chance_in_window(stretch.count, mean=expected) if math.isfinite(expected) else 1.0,
        chance_anywhere=anywhere,
    )  # fmt: skip


def _usual_weekly(usual: int, look: Look) -> float:
    """The number a week in the baseline; its upper limit after none, and infinity where there is no baseline."""
    return 7 * (usual or highest_mean(0)) / look.days_before if look.days_before else math.inf


def _unit(event: Event) -> Unit:
    return event.facility, event.unit


def look_back(last: date, *, days: int, earliest: date, at_most: int = 365) -> tuple[date, tuple[date, date] | None]:
    """The first day of a look of ``days`` up to ``last``, and the baseline before it; none where there is none."""
    first = last - timedelta(days=days - 1)
    if first <= earliest:
        return first, None
    return first, (max(earliest, first - timedelta(days=at_most)), first - timedelta(days=1))
