"""Whether bottles are short because little was drawn or because it was shared badly: set by set, from the balance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.bedside.fill import Fill, FillFlag
from cubital.domain.collection import CollectionPolicy
from cubital.domain.cultures import BottleKind

EVEN_SHARE = 0.6  # a pair is even where the fuller bottle holds less than this of both (common practice, no source)


class SetState(StrEnum):
    """What is to be said of one set. Only adult pairs and single bottles are looked at."""

    SHORT = "short"  # less in all than its bottles want
    BADLY_SPLIT = "badly_split"  # enough in all, and still a bottle below or above its limits
    ENOUGH = "enough"
    OVER = "over"  # more in all than the bottles may hold
    UNSOUND = "unsound"  # a weight is wrong


@dataclass(frozen=True, kw_only=True)
class WeighedSet:
    """One set: mL in all and by bottle (none without that bottle), and how many of its bottles are under-filled.

    ``fuller_share`` is the share of both bottles that the fuller one holds, none without a pair.
    """

    accession: str
    total_ml: float
    aerobic_ml: float | None
    anaerobic_ml: float | None
    under: int
    fuller_share: float | None
    state: SetState

    @property
    def even(self) -> bool | None:
        """Whether the pair was shared evenly; none without a pair."""
        return None if self.fuller_share is None else self.fuller_share < EVEN_SHARE


def read_sets(fills: Sequence[Fill], *, low_ml: float, high_ml: float) -> tuple[WeighedSet, ...]:
    """Every set of adult bottles in the order of the sheet; ``low_ml`` and ``high_ml`` are the wanted fill of a bottle.

    Sets with a paediatric bottle are left out: a child's set is not short by an adult's limits. A bottle of no known
    kind counts in the total of its set alone.
    """
    together: dict[str, list[Fill]] = {}
    for fill in fills:
        together.setdefault(fill.accession, []).append(fill)
    return tuple(
        _read_set(accession, bottles, low_ml=low_ml, high_ml=high_ml)
        for accession, bottles in together.items()
        if all(fill.kind is not BottleKind.PAEDIATRIC for fill in bottles)
    )


def _read_set(accession: str, bottles: Sequence[Fill], *, low_ml: float, high_ml: float) -> WeighedSet:
    total = sum(fill.volume_ml for fill in bottles)
    aerobic, anaerobic = (_of_kind(bottles, kind) for kind in (BottleKind.AEROBIC, BottleKind.ANAEROBIC))
    fuller = None
    if aerobic is not None and anaerobic is not None and aerobic + anaerobic > 0:
        fuller = min(1.0, max(aerobic, anaerobic) / (aerobic + anaerobic))
    return WeighedSet(
        accession=accession, total_ml=total, aerobic_ml=aerobic, anaerobic_ml=anaerobic,
        under=sum(fill.flag in {FillFlag.UNDER, FillFlag.EMPTY} for fill in bottles), fuller_share=fuller,
        state=_state(bottles, total=total, low_ml=low_ml, high_ml=high_ml),
    )  # fmt: skip


def _of_kind(bottles: Sequence[Fill], kind: BottleKind) -> float | None:
    volumes = [fill.volume_ml for fill in bottles if fill.kind is kind]
    return sum(volumes) if volumes else None


def _state(bottles: Sequence[Fill], *, total: float, low_ml: float, high_ml: float) -> SetState:
    if any(fill.flag is FillFlag.IMPOSSIBLE for fill in bottles):
        return SetState.UNSOUND
    if total < low_ml * len(bottles):
        return SetState.SHORT
    if total > high_ml * len(bottles):
        return SetState.OVER
    return SetState.ENOUGH if all(fill.flag is FillFlag.WITHIN for fill in bottles) else SetState.BADLY_SPLIT


def adult_limits(policy: CollectionPolicy) -> tuple[float, float]:
    """The wanted fill of an adult bottle, mL: the aerobic one's limits, by which the weigh-in flags every bottle."""
    aerobic = policy.bottle(policy.adult.aerobic)
    return aerobic.minimum_ml.value, aerobic.maximum_ml.value
