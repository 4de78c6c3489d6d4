"""Groups compared fairly: overlap first, then like with like, then a model of sets that resemble each other.

A group is a role, a shift, weekday or weekend, a method, a band of crowding. What groups may not be told apart by is
held equal by strata; whoever's sets have no group could belong to any of them, and bounds say how much that could move.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from cubital.answers.compared_model import ModelReading, fit_groups
from cubital.stats.interval import Interval
from cubital.stats.mantel_haenszel import Stratified, Stratum, bounds_with_unknown, compare_within
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.proportions import wilson_interval
from cubital.stats.sample_size import sets_per_group

Label = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ComparedCell:
    """``contaminated`` of ``sets`` of one group in one stratum; ``group`` is empty where it is not known.

    ``stratum`` has one label per column named in the material; ``hour`` is 0 to 23 or none; ``cluster`` is the person
    or unit whose sets resemble each other, never shown.
    """

    group: str
    stratum: Label
    sets: int
    contaminated: int
    hour: int | None = None
    cluster: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.contaminated <= self.sets:
            raise ValueError(f"{self.contaminated} of {self.sets} is impossible")


class Divided(StrEnum):
    """What the groups are, for the words."""

    ROLE = "role"
    SHIFT = "shift"
    WEEKEND = "weekend"
    METHOD = "method"
    CROWDING = "crowding"
    OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class ComparedMaterial:
    """``cells`` of groups divided by ``by`` (shown as ``column``); ``columns`` name the parts of each stratum.

    ``clusters`` says what the clusters are: ``collector``, ``unit``, or empty where there are none. ``hours`` are
    the sets of each group by hour (24 each) where the cells do not say.
    """

    cells: tuple[ComparedCell, ...]
    by: Divided
    column: str
    columns: tuple[str, ...] = ()
    clusters: str = ""
    hours: Mapping[str, tuple[int, ...]] = field(default_factory=dict)

    def by_hour(self) -> Mapping[str, tuple[int, ...]]:
        """Sets of each group in each of the 24 hours: as given, or from the cells."""
        if self.hours:
            return self.hours
        found: dict[str, list[int]] = {}
        for cell in self.cells:
            if cell.group and cell.hour is not None:
                found.setdefault(cell.group, [0] * 24)[cell.hour] += cell.sets
        return {group: tuple(counts) for group, counts in found.items()}


@dataclass(frozen=True, kw_only=True)
class ComparedPolicy:
    """Local policy: how much of each group must lie where the other one works too, the least of sets, and the level.

    All three are common practice, no source.
    """

    min_overlap: float = 0.2
    min_sets: int = 100
    level: float = 0.05


@dataclass(frozen=True, kw_only=True)
class GroupReading:
    """One group as counted, nothing held equal. ``hours`` are those in which it drew; ``possible`` with the unknown."""

    name: str
    contaminated: int
    sets: int
    interval: Interval
    hours: tuple[int, ...]
    possible: Interval | None

    @property
    def share(self) -> float:
        """Contaminated over sets."""
        return self.contaminated / self.sets


@dataclass(frozen=True, kw_only=True)
class PairReading:
    """``group`` beside ``other``. ``overlap`` is the smaller of the two shares of sets that lie in common strata, and
    ``hours_overlap`` that in common hours (none without hours).

    ``within`` and ``adjusted`` (chance over all pairs, Holm) are none where the two cannot be compared.
    """

    group: GroupReading
    other: GroupReading
    overlap: float
    hours_overlap: float | None
    within: Stratified | None
    adjusted: float | None = None

    def comparable(self, policy: ComparedPolicy) -> bool:
        """Whether enough of both lies where both work."""
        enough = self.hours_overlap is None or self.hours_overlap >= policy.min_overlap
        return enough and self.overlap >= policy.min_overlap and self.within is not None


@dataclass(frozen=True, kw_only=True)
class ComparedReading:
    """Groups from the most sets to the fewest; each pair is a group beside the first one (``reference``)."""

    groups: tuple[GroupReading, ...]
    pairs: tuple[PairReading, ...]
    unknown: tuple[int, int]
    model: ModelReading | None
    material: ComparedMaterial
    policy: ComparedPolicy
    needed: int | None = field(default=None)

    def different(self, pair: PairReading) -> bool:
        """Whether the two differ by more than chance, all pairs considered, and the model does not say otherwise."""
        if pair.adjusted is None or pair.adjusted > self.policy.level:
            return False
        effect = self.model.effect(pair.group.name) if self.model else None
        return effect is None or not effect.odds_ratio.low <= 1 <= effect.odds_ratio.high


def read_comparison(material: ComparedMaterial, *, policy: ComparedPolicy | None = None) -> ComparedReading:
    """Compares every group with the one that drew the most sets. Groups without a set are left out."""
    policy = policy or ComparedPolicy()
    known = [cell for cell in material.cells if cell.group and cell.sets]
    nobody = [cell for cell in material.cells if not cell.group]
    unknown = sum(cell.contaminated for cell in nobody), sum(cell.sets for cell in nobody)
    by_hour = material.by_hour()
    groups = _groups(known, unknown, by_hour=by_hour)
    large = [group for group in groups if group.sets >= policy.min_sets]
    pairs = _adjusted([_pair(group, large[0], known=known, by_hour=by_hour) for group in large[1:]], policy)
    comparable = {pair.group.name for pair in pairs if pair.comparable(policy)}
    model = fit_groups(known, material=material, reference=large[0].name, groups=comparable) if comparable else None
    return ComparedReading(
        groups=groups, pairs=pairs, unknown=unknown, model=model, material=material, policy=policy,
        needed=_needed(large),
    )  # fmt: skip


def _groups(
    known: Sequence[ComparedCell], unknown: tuple[int, int], *, by_hour: Mapping[str, Sequence[int]]
) -> tuple[GroupReading, ...]:
    by_name: dict[str, list[ComparedCell]] = defaultdict(list)
    for cell in known:
        by_name[cell.group].append(cell)
    found = []
    for name, cells in by_name.items():
        x, n = sum(cell.contaminated for cell in cells), sum(cell.sets for cell in cells)
        possible = bounds_with_unknown(x, n, unknown_events=unknown[0], unknown_sets=unknown[1]) if unknown[1] else None
        hours = tuple(hour for hour, sets in enumerate(by_hour.get(name, ())) if sets)
        found.append(
            GroupReading(
                name=name, contaminated=x, sets=n, interval=wilson_interval(x, n), hours=hours, possible=possible
            )
        )
    return tuple(sorted(found, key=lambda group: (-group.sets, group.name)))


def _pair(
    group: GroupReading, other: GroupReading, *, known: Sequence[ComparedCell], by_hour: Mapping[str, Sequence[int]]
) -> PairReading:
    mine, theirs = ([cell for cell in known if cell.group == name] for name in (group.name, other.name))
    timed = bool(group.hours and other.hours)
    strata = _strata(mine, theirs)
    shared = [one for one in strata if one.n1 and one.n2]
    return PairReading(
        group=group,
        other=other,
        overlap=_overlap([(one.n1, one.n2) for one in strata]),
        hours_overlap=_overlap(list(zip(by_hour[group.name], by_hour[other.name], strict=True))) if timed else None,
        within=compare_within(shared) if shared else None,
    )


def _strata(mine: Sequence[ComparedCell], theirs: Sequence[ComparedCell]) -> list[Stratum]:
    counts: dict[Label, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for place, cells in ((0, mine), (2, theirs)):
        for cell in cells:
            counts[cell.stratum][place] += cell.contaminated
            counts[cell.stratum][place + 1] += cell.sets
    return [Stratum(*found) for _label, found in sorted(counts.items())]


def _overlap(places: Sequence[tuple[int, int]]) -> float:
    """The smaller of the two groups' shares of sets in places where the other has some too."""
    totals = [sum(place[side] for place in places) for side in (0, 1)]
    common = [sum(place[side] for place in places if all(place)) for side in (0, 1)]
    return min(part / whole if whole else 0.0 for part, whole in zip(common, totals, strict=True))


def _adjusted(pairs: Sequence[PairReading], policy: ComparedPolicy) -> tuple[PairReading, ...]:
    asked = [pair for pair in pairs if pair.comparable(policy) and pair.within is not None]
    chances = adjust_p_values([pair.within.chance for pair in asked if pair.within], method="holm") if asked else []
    by_name = {pair.group.name: float(chance) for pair, chance in zip(asked, chances, strict=True)}
    return tuple(
        PairReading(
            group=pair.group, other=pair.other, overlap=pair.overlap, hours_overlap=pair.hours_overlap,
            within=pair.within, adjusted=by_name.get(pair.group.name),
        )
        for pair in pairs
    )  # fmt: skip


def _needed(large: Sequence[GroupReading]) -> int | None:
    """Sets per group that would show the difference seen between the first two; none where there is none to show."""
    if len(large) < 2:
        return None
    first, second = large[0].share, large[1].share
    return sets_per_group(first, second) if 0 < first < 1 and 0 < second < 1 and first != second else None
