"""How much of a fall lies within the same way of collecting, and how much in who or what it was collected with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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
    levels: tuple[str, ...]
    new: tuple[str, ...]

    @property
    def mix_share(self) -> float | None:
        """The part of the fall that is mix; none where nothing fell or the two pull against each other."""
        share = self.mix / self.fall if self.fall else -1.0
        return share if 0 <= share <= 1 else None


def split_fall(before: Mapping[str, Pair], after: Mapping[str, Pair], *, factor: str) -> FallSplit:
    """Splits with the shares of before and the rates of after; pairs are contaminated, sets, per level.

    Every level of before must have sets after: ``ValueError`` otherwise. Kitagawa EM, J Am Stat Assoc 1955;50:1168-1194
    (from memory), in its form that leaves no rest.
    """
    if any(not after.get(level, (0, 0))[1] for level in before):
        raise ValueError("a way of collecting is gone afterwards")
    total = sum(n for _x, n in before.values())
    within = sum(n / total * (x / n - after[level][0] / after[level][1]) for level, (x, n) in before.items() if n)
    fall = _share(before) - _share(after)
    return FallSplit(
        factor=factor, fall=fall, within=within, mix=fall - within, levels=tuple(before),
        new=tuple(level for level in after if level not in before),
    )  # fmt: skip


def _share(counts: Mapping[str, Pair]) -> float:
    return sum(x for x, _n in counts.values()) / sum(n for _x, n in counts.values())
