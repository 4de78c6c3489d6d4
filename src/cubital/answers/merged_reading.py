"""Two hospitals' histories after a merger or a change of definition: is the rise there in both, at one mix?

Every history is counted under one charter; each month is then weighted to the mix of strata that all histories
together had before the break. A rise that is there in each history is a rise; one that is only there in the raw figure
of both together is made by who draws more, or by how it was counted before.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.proportions import DEFAULT_LEVEL

Pair = tuple[int, int]  # contaminated, sets
LEAST_SETS = 100  # on each side of the break, in each history; common practice, no source
LEAST_MONTHS = 3


@dataclass(frozen=True, kw_only=True)
class MonthStratum:
    """Counts of one history in one month and stratum, under the common charter."""

    history: str
    month: str
    stratum: Hashable
    contaminated: int
    sets: int


@dataclass(frozen=True, kw_only=True)
class MergedCounts:
    """``cells`` of all histories under the common charter; ``own`` holds, by month, all together as it was counted at
    the time (empty where the definition never changed). ``at`` is the first month after the break.
    """

    cells: tuple[MonthStratum, ...]
    at: str
    own: Mapping[str, Pair]


class Rise(StrEnum):
    """Where the change after the break is found."""

    BOTH = "both"  # in every history, at one mix
    SOME = "some"
    NEITHER = "neither"
    THIN = "thin"  # too few sets or months on a side
    APART = "apart"  # a history draws in no stratum of the common mix
    ONE_SIDED = "one_sided"  # a history that has one side only, or a single history


@dataclass(frozen=True, kw_only=True)
class SideRate:
    """A share on one side of the break, at the common mix: ``raw`` is as counted; ``variance`` that of ``rate``.

    ``covered`` is the share of the mix in which this history drew at all; the rest could not be weighted.
    """

    raw: Pair
    rate: float
    variance: float
    covered: float


@dataclass(frozen=True, kw_only=True)
class HistoryReading:
    """One history before and after, and its change at the common mix."""

    name: str
    before: SideRate
    after: SideRate
    change: float
    interval: Interval

    @property
    def moved(self) -> bool:
        """Whether the change is more than chance."""
        return self.interval.low > 0 or self.interval.high < 0


@dataclass(frozen=True, kw_only=True)
class MergedReading:
    """``months`` holds for every history, by month, its share at the common mix; ``raw`` all together as counted."""

    rise: Rise
    at: str
    histories: tuple[HistoryReading, ...]
    whole: HistoryReading | None
    months: Mapping[str, tuple[tuple[str, float], ...]]
    raw: tuple[tuple[str, Pair], ...]
    lacking: tuple[str, ...] = ()


def read_merged(counts: MergedCounts) -> MergedReading:
    """Reads the histories around ``counts.at``; raises ``ValueError`` where a cell is impossible."""
    for cell in counts.cells:
        if not 0 <= cell.contaminated <= cell.sets:
            raise ValueError(f"{cell.history}, {cell.month}: {cell.contaminated} of {cell.sets} is impossible")
    names = tuple(dict.fromkeys(cell.history for cell in counts.cells))
    raw = _raw(counts)
    state, lacking = _state(counts, names)
    if state is not None:
        return MergedReading(
            rise=state, at=counts.at, histories=(), whole=None, months={}, raw=raw, lacking=lacking
        )  # fmt: skip
    mix = _mix(counts)
    histories = tuple(_history(counts, mix, name=name, keep={name}) for name in names)
    apart = tuple(one.name for one in histories if not min(one.before.covered, one.after.covered))
    if apart:
        return MergedReading(
            rise=Rise.APART, at=counts.at, histories=(), whole=None, months={}, raw=raw, lacking=apart
        )  # fmt: skip
    moved = [one.moved and one.change > 0 for one in histories]
    return MergedReading(
        rise=Rise.BOTH if all(moved) else Rise.SOME if any(moved) else Rise.NEITHER, at=counts.at,
        histories=histories, whole=_history(counts, mix, name="", keep=set(names)),
        months={name: _months(counts, mix, name) for name in names}, raw=raw,
    )  # fmt: skip


def _raw(counts: MergedCounts) -> tuple[tuple[str, Pair], ...]:
    found: dict[str, Pair] = defaultdict(lambda: (0, 0))
    for cell in counts.cells:
        before = found[cell.month]
        found[cell.month] = (before[0] + cell.contaminated, before[1] + cell.sets)
    return tuple((month, counts.own.get(month, found[month])) for month in sorted(found))


def _state(counts: MergedCounts, names: Sequence[str]) -> tuple[Rise | None, tuple[str, ...]]:
    if len(names) < 2:
        return Rise.ONE_SIDED, tuple(names)
    sets: dict[tuple[str, bool], int] = defaultdict(int)
    months: dict[tuple[str, bool], set[str]] = defaultdict(set)
    for cell in counts.cells:
        side = (cell.history, cell.month >= counts.at)
        sets[side] += cell.sets
        months[side].add(cell.month)
    missing = tuple(name for name in names if not sets[name, False] or not sets[name, True])
    if missing:
        return Rise.ONE_SIDED, missing
    sides = [(name, after) for name in names for after in (False, True)]
    thin = dict.fromkeys(name for name, a in sides if sets[name, a] < LEAST_SETS or len(months[name, a]) < LEAST_MONTHS)
    return (Rise.THIN, tuple(thin)) if thin else (None, ())


def _mix(counts: MergedCounts) -> dict[Hashable, float]:
    """The share of each stratum among all sets before the break."""
    sets: dict[Hashable, int] = defaultdict(int)
    for cell in counts.cells:
        if cell.month < counts.at:
            sets[cell.stratum] += cell.sets
    whole = sum(sets.values())
    return {stratum: count / whole for stratum, count in sets.items()}


def _history(counts: MergedCounts, mix: Mapping[Hashable, float], *, name: str, keep: set[str]) -> HistoryReading:
    before, after = (
        _side([cell for cell in counts.cells if cell.history in keep and (cell.month >= counts.at) == late], mix)
        for late in (False, True)
    )
    change, reach = after.rate - before.rate, normal_quantile(DEFAULT_LEVEL)
    wide = reach * math.sqrt(before.variance + after.variance)
    interval = Interval(change - wide, change + wide, DEFAULT_LEVEL, "weighted strata")
    return HistoryReading(name=name, before=before, after=after, change=change, interval=interval)


def _side(cells: Sequence[MonthStratum], mix: Mapping[Hashable, float]) -> SideRate:
    """The directly standardised share: each stratum's own share, weighted by the common mix.

    A stratum without sets on this side has no share; the others carry its weight, and ``covered`` says how much.
    Half an event keeps the variance of a stratum above 0 where none, or all, was seen (common practice, no source).
    """
    pairs: dict[Hashable, Pair] = defaultdict(lambda: (0, 0))
    for cell in cells:
        before = pairs[cell.stratum]
        pairs[cell.stratum] = (before[0] + cell.contaminated, before[1] + cell.sets)
    held = {stratum: weight for stratum, weight in mix.items() if pairs[stratum][1]}
    covered = sum(held.values())
    rate, variance = 0.0, 0.0
    for stratum, weight in held.items():
        events, sets = pairs[stratum]
        share, part = events / sets, weight / covered
        rate += part * share
        smoothed = (events + 0.5) / (sets + 1)
        variance += part**2 * smoothed * (1 - smoothed) / sets
    whole = sum(x for x, _n in pairs.values()), sum(n for _x, n in pairs.values())
    return SideRate(raw=whole, rate=rate, variance=variance, covered=covered)


def _months(counts: MergedCounts, mix: Mapping[Hashable, float], name: str) -> tuple[tuple[str, float], ...]:
    by_month: dict[str, list[MonthStratum]] = defaultdict(list)
    for cell in counts.cells:
        if cell.history == name and cell.sets:
            by_month[cell.month].append(cell)
    sides = {month: _side(cells, mix) for month, cells in sorted(by_month.items())}
    return tuple((month, side.rate) for month, side in sides.items() if side.covered)
