"""When an item runs out, with its doubt, as it is used now and under each tier of a shortage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np

from cubital.answers.stock_table import StockItem, Tier
from cubital.stats.stock_out import DailyDemand, StockPath, fit_demand, stock_path


@dataclass(frozen=True, kw_only=True)
class StockPolicy:
    """Local policy: days of use before anything is said, days looked ahead, the chance from which running out is
    likely enough to act, and how old a count may be. Common practice, no source."""

    least_days: int = 14
    ahead_days: int = 180
    act_from: float = 0.05
    oldest_count_days: int = 14


class StockState(StrEnum):
    """What can be said of one item."""

    SAID = "said"
    NOT_COUNTED = "not_counted"
    SHORT_USE = "short_use"
    COUNT_OLD = "count_old"
    DISAGREES = "disagrees"  # more was used since the count than was there


@dataclass(frozen=True, kw_only=True)
class RunOut:
    """A path of the stock. ``early`` is the first day by whose end it has run out with the chance from which one acts,
    ``middle`` with one half, ``late`` with what is left of that chance; none where that lies beyond the days looked at.
    """

    path: StockPath
    early: date | None
    middle: date | None
    late: date | None


@dataclass(frozen=True, kw_only=True)
class TierEffect:
    """The tier from the first day of shortage on: run-out if it saves least, and if it saves most."""

    tier: Tier
    least: RunOut
    most: RunOut
    begins: bool  # whether cover is below the tier's days today
    in_date: bool


@dataclass(frozen=True, kw_only=True)
class StockReading:
    """One item: what is there at the end of ``today``, the demand, days of cover, and how the stock goes on."""

    item: StockItem
    state: StockState
    policy: StockPolicy
    today: date
    left: int = 0
    demand: DailyDemand | None = None
    recent: float | None = None
    as_now: RunOut | None = None
    before_delivery: float | None = None
    next_delivery: tuple[date, int] | None = None
    tiers: tuple[TierEffect, ...] = ()

    @property
    def cover_days(self) -> float | None:
        """Days that what is there lasts at the mean use; none where nothing is used."""
        if self.demand is None or self.demand.mean == 0:
            return None
        return self.left / self.demand.mean


def read_stock(
    item: StockItem, *, today: date, tiers: Sequence[Tier] = (), policy: StockPolicy | None = None
) -> StockReading:
    """Reads one item. Days without a row between the first and the last day of use count as nothing used."""
    policy = policy or StockPolicy()
    state, left = _state(item, today, policy)
    if state is not StockState.SAID:
        return StockReading(item=item, state=state, policy=policy, today=today, left=left)
    series = _daily(item, until=today)
    demand = fit_demand(np.array(series))
    coming = tuple((day, amount) for day, amount in item.deliveries if day > today)
    as_now = _run_out(left, demand, coming, today=today, policy=policy)
    following = coming[0] if coming else None
    reading = StockReading(
        item=item, state=state, policy=policy, today=today, left=left, demand=demand, recent=_recent(series),
        as_now=as_now, before_delivery=_before(left, demand, following, today=today, policy=policy),
        next_delivery=following,
    )  # fmt: skip
    cover = reading.cover_days
    effects = tuple(_effect(tier, reading, coming, cover) for tier in tiers)
    return StockReading(**{**vars(reading), "tiers": effects})


def _state(item: StockItem, today: date, policy: StockPolicy) -> tuple[StockState, int]:
    if item.counted is None or item.counted_on is None:
        return StockState.NOT_COUNTED, 0
    if (today - item.counted_on).days > policy.oldest_count_days:
        return StockState.COUNT_OLD, item.counted
    if len(_daily(item, until=today)) < policy.least_days:
        return StockState.SHORT_USE, item.counted
    since = sum(amount for day, amount in item.used if item.counted_on < day <= today)
    came = sum(amount for day, amount in item.deliveries if item.counted_on < day <= today)
    left = item.counted + came - since
    return (StockState.SAID, left) if left >= 0 else (StockState.DISAGREES, left)


def _daily(item: StockItem, *, until: date) -> list[int]:
    used = {day: amount for day, amount in item.used if day <= until}
    if not used:
        return []
    first, last = min(used), max(used)
    return [used.get(first + timedelta(days=step), 0) for step in range((last - first).days + 1)]


def _recent(series: Sequence[int]) -> float | None:
    """The mean of the last two weeks over that of the days before; none where there are too few to compare."""
    if len(series) < 42:
        return None
    before = float(np.mean(series[:-14]))
    return float(np.mean(series[-14:])) / before if before else None


def _run_out(
    left: int, demand: DailyDemand, coming: Sequence[tuple[date, int]], *, today: date, policy: StockPolicy
) -> RunOut:
    deliveries: dict[int, int] = {}
    for day, amount in coming:
        place = (day - today).days - 1
        if place < policy.ahead_days:
            deliveries[place] = deliveries.get(place, 0) + amount
    path = stock_path(left, demand, days=policy.ahead_days, deliveries=deliveries)

    def day_of(chance: float) -> date | None:
        found = path.day_by(chance)
        return None if found is None else today + timedelta(days=found + 1)

    return RunOut(path=path, early=day_of(policy.act_from), middle=day_of(0.5), late=day_of(1 - policy.act_from))


def _before(
    left: int, demand: DailyDemand, following: tuple[date, int] | None, *, today: date, policy: StockPolicy
) -> float | None:
    """The chance of running out before the next delivery arrives, at the start of its day."""
    if following is None:
        return None
    days = min((following[0] - today).days - 1, policy.ahead_days)
    return float(stock_path(left, demand, days=days).out[-1]) if days > 0 else 0.0


def _effect(tier: Tier, reading: StockReading, coming: Sequence[tuple[date, int]], cover: float | None) -> TierEffect:
    demand = reading.demand or DailyDemand(0.0, 0.0)
    least, most = (
        _run_out(reading.left, _spared(demand, share), coming, today=reading.today, policy=reading.policy)
        for share in tier.saves
    )
    return TierEffect(
        tier=tier, least=least, most=most, begins=cover is not None and cover < tier.below_days,
        in_date=tier.approved_on <= reading.today <= tier.review_by,
    )  # fmt: skip


def _spared(demand: DailyDemand, share: float) -> DailyDemand:
    """Each use is spared with that chance: the mean falls by the share, and what varies beyond chance by its square."""
    kept = 1 - share
    beyond = max(0.0, demand.variance - demand.mean)
    return DailyDemand(mean=demand.mean * kept, variance=demand.mean * kept + beyond * kept**2)
