"""How much of a fall lies within the same way of collecting, and how much in who or what it was collected with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cubital.stats.interval import Interval
from cubital.stats.mix_decomposition import GroupCounts, MixConvention, decompose_mix

Pair = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class FallSplit:
    """A fall (below 0: a rise) of one place split by one ``factor``; shares of 0 to 1, ``within + mix == fall``.

    ``within`` is what the levels of before would have fallen by had they stayed as many as they were, ``mix`` the rest:
    that other levels collect now. ``levels`` are those of before, ``new`` those that came.
    """

    factor: str
    fall: float
    within: float
    mix: float
    within_interval: Interval
    mix_interval: Interval
    levels: tuple[str, ...]
    new: tuple[str, ...]

    @property
    def mix_share(self) -> float | None:
        """The part of the fall that is mix; none where nothing fell or the two pull against each other."""
        share = self.mix / self.fall if self.fall else -1.0
        return share if 0 <= share <= 1 else None


def split_fall(before: Mapping[str, Pair], after: Mapping[str, Pair], *, factor: str) -> FallSplit:
    """Splits with the shares of before and the rates of after; pairs are contaminated, sets, per level.

    Every level of before must have sets after: ``ValueError`` otherwise.
    """
    if any(not after.get(level, (0, 0))[1] for level in before):
        raise ValueError("a way of collecting is gone afterwards")
    groups = []
    for level in dict.fromkeys((*before, *after)):
        (x0, n0), (x1, n1) = before.get(level, (0, 0)), after.get(level, (0, 0))
        groups.append(GroupCounts(name=level, events_before=x0, n_before=n0, events_after=x1, n_after=n1))
    found = decompose_mix(groups, convention=MixConvention.BEFORE)
    return FallSplit(
        factor=factor, fall=0.0 - found.total, within=0.0 - found.within, mix=0.0 - found.mix,
        within_interval=_turned(found.within_interval), mix_interval=_turned(found.mix_interval),
        levels=tuple(before), new=tuple(level for level in after if level not in before),
    )  # fmt: skip


def _turned(interval: Interval) -> Interval:
    """A change as a fall."""
    return Interval(0.0 - interval.high, 0.0 - interval.low, interval.level, interval.method)
