"""Reads months of counts on any of the monthly charts: numbers only, from which the sentence is made."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from statistics import median

import numpy as np
from scipy.special import pdtr, pdtrc

from cubital.answers.charts.kinds import ChartKind, ChartReading, Cost
from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, SignalPolicy, baseline_state, signal_counts
from cubital.domain.words import _
from cubital.stats.attribute_charts import laney_p_chart, laney_u_chart, p_chart, u_chart
from cubital.stats.count_run_lengths import (
    count_cusum_limit,
    count_cusum_run_length,
    ewma_count_run_length,
    outside_chance,
)
from cubital.stats.run_rule_arl import average_run_length
from cubital.stats.sequential_charts import count_scores, ewma_chart, score_cusum

CHANGE = 2.0  # the change that every chart says how soon it finds: a doubled rate
WEIGHT = 0.2  # of the newest month in the smoothed rate (Lucas and Saccucci 1990 use 0.05 to 0.25)
QUIET_MONTHS = 240  # each side of the running sum: one false alarm in twenty years on average
MONTHLY = (ChartKind.P, ChartKind.U, ChartKind.LANEY, ChartKind.LANEY_U, ChartKind.EWMA, ChartKind.CUSUM)
_RARELY = 1e-12

Blank = tuple[float | None, ...]


def read_chart(
    counts: Sequence[MonthCount],
    *,
    kind: ChartKind,
    policy: SignalPolicy | None = None,
    locked: tuple[str, str] | None = None,
) -> ChartReading:
    """The months (time order, at least one) on the chart ``kind``; the last month is the one asked about.

    ``locked`` names first and last month of a baseline agreed earlier; none takes every month before the last. Without
    a sound baseline there are values but no limits, no signals and no cost. A chart of gaps is a ``ValueError``.
    """
    if not counts or kind not in MONTHLY:
        raise ValueError("a chart of months needs a month and a monthly kind")
    rules = policy or SignalPolicy()
    held = tuple(c for c in counts[:-1] if locked is None) or tuple(
        c for c in counts if locked is not None and locked[0] <= c.month <= locked[1]
    )
    sets, events = sum(c.sets for c in held), sum(c.contaminated for c in held)
    blank: Blank = (None,) * len(counts)
    reading = ChartReading(
        kind=kind, counts=tuple(counts), policy=rules, state=baseline_state(held, rules), baseline=held,
        center=events / sets if sets else 0.0, values=_rates(counts), lower=blank, upper=blank,
        cost=Cost(false_alarm_every=None, found_after=None, change=CHANGE, method=""),
        cost_sets=_middle_size(held),
    )  # fmt: skip
    return reading if reading.state is not Baseline.SOUND else _READERS[kind](reading)


def _middle_size(counts: Sequence[MonthCount]) -> int:
    sizes = [count.sets for count in counts if count.sets]
    return round(median(sizes)) if sizes else 0


def _rates(counts: Sequence[MonthCount]) -> Blank:
    return tuple(count.contaminated / count.sets if count.sets else None for count in counts)


def _changed(rate: float) -> float | None:
    return rate * CHANGE if rate * CHANGE < 1 else None


def _every(chance: float) -> float | None:
    return 1 / chance if chance > _RARELY else None


def _optional(values: Sequence[float] | np.ndarray[tuple[int], np.dtype[np.float64]]) -> Blank:
    return tuple(None if math.isnan(value) else float(value) for value in values)


def _read_p(reading: ChartReading) -> ChartReading:
    policy, rate, size = reading.policy, reading.center, reading.cost_sets
    x, n = [c.contaminated for c in reading.counts], [c.sets for c in reading.counts]
    chart = p_chart(x, n, center=rate, sigmas=policy.sigmas)
    signals = tuple(i for i, c in enumerate(reading.counts) if _strays(c, rate=rate, policy=policy))
    first, last_low = signal_counts(size, rate=rate, policy=policy)
    low, high = -1 if last_low is None else last_low, size + 1 if first is None else first
    changed = _changed(rate)
    return replace(
        reading, lower=_optional(chart.lower), upper=_optional(chart.upper), signals=signals,
        worse=_is_above(reading), began=_last_if(reading, signals), first_signal=first, last_low_signal=last_low,
        cost=Cost(
            false_alarm_every=_every(outside_chance(size, rate=rate, low=low, high=high)),
            found_after=_every(outside_chance(size, rate=changed, low=low, high=high)) if changed else None,
            change=CHANGE, method=_("exact binomial"),
        ),
    )  # fmt: skip


def _strays(count: MonthCount, *, rate: float, policy: SignalPolicy) -> bool:
    first, last_low = signal_counts(count.sets, rate=rate, policy=policy)
    above = first is not None and count.contaminated >= first
    return above or (last_low is not None and count.contaminated <= last_low)


def _is_above(reading: ChartReading) -> bool:
    return reading.asked.contaminated >= reading.center * reading.asked.sets


def _last_if(reading: ChartReading, signals: Sequence[int]) -> int | None:
    """A chart that looks at one month alone can only say that month."""
    last = len(reading.counts) - 1
    return last if last in signals else None


def _read_u(reading: ChartReading) -> ChartReading:
    sigmas, mean = reading.policy.sigmas, reading.center * reading.cost_sets
    x, n = [c.contaminated for c in reading.counts], [c.sets for c in reading.counts]
    chart = u_chart(x, n, center=reading.center, sigmas=sigmas)
    reach = sigmas * math.sqrt(mean)

    def outside(true: float) -> float:
        low, high = math.ceil(mean - reach) - 1, math.floor(mean + reach)
        return float(pdtrc(high, true)) + (float(pdtr(low, true)) if low >= 0 else 0.0)

    return replace(
        reading, lower=_optional(chart.lower), upper=_optional(chart.upper), signals=chart.beyond,
        worse=_is_above(reading), began=_last_if(reading, chart.beyond),
        cost=Cost(
            false_alarm_every=_every(outside(mean)), found_after=_every(outside(CHANGE * mean)), change=CHANGE,
            method=_("exact Poisson"),
        ),
    )  # fmt: skip


def _read_laney(reading: ChartReading) -> ChartReading:
    of_counts = reading.kind is ChartKind.LANEY_U
    held = [c for c in reading.baseline if c.sets]
    base_x, base_n = [c.contaminated for c in held], [c.sets for c in held]
    spread = (laney_u_chart if of_counts else laney_p_chart)(base_x, base_n).spread or 1.0
    x, n = [c.contaminated for c in reading.counts], [c.sets for c in reading.counts]
    rate, sigmas = reading.center, reading.policy.sigmas
    chart = (u_chart if of_counts else p_chart)(x, n, center=rate, sigmas=sigmas * spread)
    sd = spread * math.sqrt(rate * (1.0 if of_counts else 1 - rate) / reading.cost_sets)
    return replace(
        reading, lower=_optional(chart.lower), upper=_optional(chart.upper), signals=chart.beyond, spread=spread,
        worse=_is_above(reading), began=_last_if(reading, chart.beyond),
        cost=Cost(
            false_alarm_every=average_run_length({1}), change=CHANGE,
            found_after=average_run_length({1}, shift=(CHANGE - 1) * rate / sd),
            method=_("normal months that scatter as those of the baseline do"),
        ),
    )  # fmt: skip


def _held(reading: ChartReading) -> list[int]:
    return [i for i, count in enumerate(reading.counts) if count.sets]


def _spread_out(reading: ChartReading, values: Sequence[float]) -> Blank:
    """Values of the months that have sets, back at their places."""
    filled: list[float | None] = [None] * len(reading.counts)
    for place, value in zip(_held(reading), values, strict=True):
        filled[place] = float(value)
    return tuple(filled)


def _read_ewma(reading: ChartReading) -> ChartReading:
    places, rate = _held(reading), reading.center
    held = [reading.counts[i] for i in places]
    chart = ewma_chart(
        [c.contaminated / c.sets for c in held], target=rate, weight=WEIGHT, sigmas=reading.policy.sigmas,
        sigma=[math.sqrt(rate * (1 - rate) / c.sets) for c in held],
    )  # fmt: skip
    signals = tuple(places[i] for i in chart.beyond)
    away = np.asarray(chart.values) - rate
    changed, size = _changed(rate), reading.cost_sets
    return replace(
        reading, values=_spread_out(reading, list(chart.values)),
        lower=_spread_out(reading, [max(0.0, low) for low in chart.lower]),
        upper=_spread_out(reading, [min(1.0, high) for high in chart.upper]),
        signals=signals, worse=bool(len(away) and away[-1] > 0), began=_turned(reading, places, signals, away),
        cost=Cost(
            false_alarm_every=ewma_count_run_length(n=size, center=rate, weight=WEIGHT, sigmas=reading.policy.sigmas),
            found_after=ewma_count_run_length(
                n=size, center=rate, rate=changed, weight=WEIGHT, sigmas=reading.policy.sigmas
            ) if changed else None,
            change=CHANGE, method=_("exact binomial months on a fine grid"),
        ),
    )  # fmt: skip


def _turned(
    reading: ChartReading, places: Sequence[int], signals: Sequence[int], away: Sequence[float] | np.ndarray
) -> int | None:
    """The month after which the line last lay on the other side of the baseline, or rested on it."""
    if len(reading.counts) - 1 not in signals:
        return None
    back = len(away) - 1
    while back > 0 and away[back - 1] * away[-1] > 0:
        back -= 1
    return places[back]


def _read_cusum(reading: ChartReading) -> ChartReading:
    places, rate, size = _held(reading), reading.center, reading.cost_sets
    x = [reading.counts[i].contaminated for i in places]
    n = [reading.counts[i].sets for i in places]
    up, down = odds_of(rate, CHANGE), odds_of(rate, 1 / CHANGE)
    limits = {
        odds: count_cusum_limit(n=size, usual=rate, odds_ratio=odds, run_length=QUIET_MONTHS) for odds in (up, down)
    }
    above = score_cusum(list(count_scores(x, n, rate=rate, odds_ratio=up)), limit=limits[up])
    below = score_cusum(list(count_scores(x, n, rate=rate, odds_ratio=down)), limit=limits[down])
    signals = tuple(places[i] for i in sorted({*above.signals, *below.signals}))
    worse = len(x) - 1 in above.signals or len(x) - 1 not in below.signals
    quiet = [count_cusum_run_length(n=size, usual=rate, odds_ratio=odds, limit=limits[odds]) for odds in (up, down)]
    changed = _changed(rate)
    return replace(
        reading, values=_spread_out(reading, list(above.values)),
        below=_spread_out(reading, [-value for value in below.values]),
        lower=(-limits[down],) * len(reading.counts), upper=(limits[up],) * len(reading.counts),
        signals=signals, worse=worse,
        began=_turned(reading, places, signals, above.values if worse else below.values),
        cost=Cost(
            false_alarm_every=1 / (1 / quiet[0] + 1 / quiet[1]), change=CHANGE,
            found_after=count_cusum_run_length(n=size, usual=rate, odds_ratio=up, limit=limits[up], rate=changed)
            if changed else None,
            method=_("exact binomial months on a fine grid, both sides together"),
        ),
    )  # fmt: skip


def odds_of(rate: float, ratio: float) -> float:
    """The odds ratio of a rate multiplied by ``ratio`` against the rate, where that is still a rate below 1."""
    changed = min(rate * ratio, (1 + rate) / 2) if ratio > 1 else rate * ratio
    return changed / (1 - changed) / (rate / (1 - rate))


_READERS: Mapping[ChartKind, Callable[[ChartReading], ChartReading]] = {
    ChartKind.P: _read_p, ChartKind.U: _read_u, ChartKind.LANEY: _read_laney, ChartKind.LANEY_U: _read_laney,
    ChartKind.EWMA: _read_ewma, ChartKind.CUSUM: _read_cusum,
}  # fmt: skip
