"""A weigh-in as it was asked about, and what several of its answers say alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from cubital.bedside.fill import BLOOD_DENSITY_G_ML, DEFAULT_TARE_SD_G, Fill, TareKind, Weighing, weigh_bottles
from cubital.bedside.fill_sets import adult_limits
from cubital.domain.answer import Figure
from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _, decimal_words
from cubital.stats.proportions import wilson_interval


@dataclass(frozen=True, kw_only=True)
class WeighIn:
    """A sheet of weights as it was asked about."""

    weighings: Sequence[Weighing]
    tare: TareKind = TareKind.LOT
    density_g_ml: float = BLOOD_DENSITY_G_ML

    def fills(self, policy: CollectionPolicy) -> tuple[Fill, ...]:
        """The fill of every bottle by the policy's limits for adults."""
        low, high = adult_limits(policy)
        return weigh_bottles(
            self.weighings, low_ml=low, high_ml=high, tare_sd_g=DEFAULT_TARE_SD_G[self.tare],
            density_g_ml=self.density_g_ml,
        )  # fmt: skip


def count_figure(key: str, label: str, count: int, of: int) -> Figure:
    """A share of bottles or sets with its interval; ``of`` at least 1."""
    interval = wilson_interval(count, of)
    return Figure(
        key=key, label=label, value=count / of, unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=interval.method, numerator=count, denominator=of,
    )  # fmt: skip


def tare_doubt_words(fills: Sequence[Fill], tare: TareKind) -> tuple[str, ...]:
    """How far a difference within a set can be trusted; nothing where every bottle has its own tare."""
    if tare is TareKind.BOTTLE or not fills:
        return ()
    apart = decimal_words(f"{fills[0].sd_ml * sqrt(2):.1f}")
    return (
        _(
            "The tare is not this bottle's own: the difference between two bottles is known to about ±{sd} mL (1 SD). "
            "Read the sheet as a whole and no single set."
        ).format(sd=apart),
    )
