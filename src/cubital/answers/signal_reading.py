"""What the proportion chart says about one month: numbers only, from which the sentence is made."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from cubital.answers.counts import MonthCount
from cubital.domain.charter import UnitOfCount
from cubital.stats.attribute_charts import AttributeChart, p_chart
from cubital.stats.run_chart import run_lengths
from cubital.stats.run_rules import SHIFT_POINTS, TREND_POINTS
from cubital.stats.tails import chance_all_here, chance_at_least, chance_at_most, dispersion_chance, most_below


@dataclass(frozen=True, kw_only=True)
class SignalPolicy:
    """The thresholds of the signal rules; local policy may set each of them.

    ``sigmas`` sets the limits (Shewhart's three). ``most_chance`` is the largest exact chance at which a count beyond
    the limit counts as a signal: in small months the limit alone is crossed by chance far too often. ``shift_points``
    (Western Electric Handbook 1956) and ``trend_points`` (Nelson 1984) are the run rules. ``run_chance`` is the
    largest exact chance at which months on one side count as a shift: eight tosses of a fair coin, 1 in 256. In small
    months most lie below the baseline without any change, and eight of them mean nothing. ``min_points`` and
    ``min_sets`` are what a baseline needs (common practice, no source). ``target`` is the rate aimed at; none leaves it
    out. ``dispersion_chance`` is where scatter among the baseline's months is said to be more than chance.
    """

    sigmas: float = 3.0
    most_chance: float = 0.01
    shift_points: int = SHIFT_POINTS
    trend_points: int = TREND_POINTS
    run_chance: float = 0.004
    min_points: int = 20
    min_sets: int = 500
    target: float | None = 0.03
    look_months: int = 12
    dispersion_chance: float = 0.01


class Rule(StrEnum):
    """A rule that the month breaks, the strongest first."""

    ABOVE = "above"
    BELOW = "below"
    SHIFT_UP = "shift_up"
    SHIFT_DOWN = "shift_down"
    TREND_UP = "trend_up"
    TREND_DOWN = "trend_down"


class Baseline(StrEnum):
    """Whether the months before can carry a judgement."""

    SOUND = "sound"
    THIN = "thin"  # too few months or sets
    NO_EVENT = "no_event"  # nothing was contaminated, so nothing varies
    ALL_EVENTS = "all_events"  # everything was contaminated: not believable


@dataclass(frozen=True, kw_only=True)
class SignalReading:
    """The last month of ``counts`` against the months before it (or against a baseline locked earlier).

    ``unit`` is what is counted; fields speak of sets, whatever it is.
    ``rate`` is the baseline's share. ``tail`` is the exact chance, at the baseline rate, of a month at least this far
    to its side (``high`` says which). ``first_signal`` is the smallest count of this month's sets that would have been
    a signal, ``last_low_signal`` the largest low one; none where no count could be. ``beyond`` and ``marked`` line up
    with ``counts``: outside the drawn limits, and outside them beyond reasonable chance. ``longest_run`` counts months
    in a row on one side of the baseline, ``current_run`` is signed and ends with the month; ``run_chance`` is the exact
    chance that as many months of these sizes lie on that side; ``trend`` counts months steadily rising (+) or
    falling (−). ``dispersion`` is how often chance alone scatters the baseline as much.
    """

    counts: tuple[MonthCount, ...]
    unit: UnitOfCount
    policy: SignalPolicy
    state: Baseline
    baseline: tuple[MonthCount, ...]
    rate: float
    lower: tuple[float | None, ...]
    upper: tuple[float | None, ...]
    z: float | None
    high: bool
    tail: float
    first_signal: int | None
    last_low_signal: int | None
    beyond: tuple[bool, ...]
    marked: tuple[bool, ...]
    longest_run: int
    current_run: int
    run_chance: float
    trend: int
    broken: tuple[Rule, ...]
    dispersion: float

    @property
    def asked(self) -> MonthCount:
        return self.counts[-1]

    @property
    def baseline_points(self) -> int:
        """Months of the baseline that have sets."""
        return sum(count.sets > 0 for count in self.baseline)

    @property
    def baseline_sets(self) -> int:
        return sum(count.sets for count in self.baseline)

    @property
    def baseline_contaminated(self) -> int:
        return sum(count.contaminated for count in self.baseline)

    @property
    def in_run(self) -> tuple[bool, ...]:
        """Per month, whether it belongs to the run or trend that ends with the asked month and is a signal."""
        flags = [False] * len(self.counts)
        if any(rule in self.broken for rule in (Rule.TREND_UP, Rule.TREND_DOWN)):
            held = [index for index, rate in enumerate(self.rates) if rate is not None]
            flags = _flagged(flags, held[-abs(self.trend) :])
        if any(rule in self.broken for rule in (Rule.SHIFT_UP, Rule.SHIFT_DOWN)):
            flags = _flagged(flags, _run_places(self.rates, self.rate, self.current_run))
        return tuple(flags)

    @property
    def rates(self) -> tuple[float | None, ...]:
        return tuple(count.contaminated / count.sets if count.sets else None for count in self.counts)


def _run_places(rates: Sequence[float | None], rate: float, run: int) -> list[int]:
    """Where the months of the run stand; a month exactly on the baseline is passed over."""
    sided = [index for index, value in enumerate(rates) if value is not None and value != rate]
    return sided[-abs(run) :] if run else []


def _flagged(flags: Sequence[bool], places: Sequence[int]) -> list[bool]:
    return [flag or index in places for index, flag in enumerate(flags)]


def assess_month(
    counts: Sequence[MonthCount],
    *,
    policy: SignalPolicy,
    locked: tuple[str, str] | None = None,
    unit: UnitOfCount = UnitOfCount.SET,
) -> SignalReading:
    """Reads the last of ``counts`` (time order, at least one) against its baseline.

    ``locked`` names the first and last month of a baseline agreed earlier; none takes every month before the last.
    """
    if not counts:
        raise ValueError("there is no month to read")
    asked = counts[-1]
    baseline = tuple(c for c in counts[:-1] if locked is None or locked[0] <= c.month <= locked[1])
    sets, events = sum(c.sets for c in baseline), sum(c.contaminated for c in baseline)
    rate = events / sets if sets else 0.0
    chart = _chart(counts, rate=rate, policy=policy)
    runs = run_lengths([v for v in chart.values if not math.isnan(v)], center=rate)
    trend = _trend([float(v) for v in chart.values if not math.isnan(v)])
    first, last_low = signal_counts(asked.sets, rate=rate, policy=policy)
    high = asked.sets == 0 or asked.contaminated >= rate * asked.sets
    marked = tuple(_marked(count, rate=rate, policy=policy) for count in counts)
    # A month exactly on the baseline belongs to no side, and so to no run that could be said of it.
    on_a_side = asked.contaminated * sets != events * asked.sets
    current = runs[-1] if runs and asked.sets and on_a_side else 0
    run_chance = _run_chance(counts, rate=rate, run=current)
    return SignalReading(
        counts=tuple(counts), unit=unit, policy=policy, state=baseline_state(baseline, policy), baseline=baseline,
        rate=rate,
        lower=_optional(chart.lower), upper=_optional(chart.upper), z=_z(asked, rate), high=high,
        tail=_tail(asked, rate=rate, high=high, elsewhere=sets), first_signal=first, last_low_signal=last_low,
        beyond=tuple(i in chart.beyond for i in range(len(counts))), marked=marked,
        longest_run=max((abs(run) for run in runs), default=0), current_run=current,
        run_chance=run_chance, trend=trend,
        broken=_broken(
            asked, marked=marked[-1], high=high, trend=trend, policy=policy,
            run=current if run_chance <= policy.run_chance else 0,
        ),
        dispersion=dispersion_chance([c.contaminated for c in baseline], [c.sets for c in baseline]),
    )  # fmt: skip


def _chart(counts: Sequence[MonthCount], *, rate: float, policy: SignalPolicy) -> AttributeChart:
    sizes = [count.sets for count in counts]
    if not sum(sizes):
        nothing = np.full(len(sizes), np.nan)
        return AttributeChart(nothing, rate, nothing, nothing, 1.0, ())
    return p_chart([count.contaminated for count in counts], sizes, center=rate, sigmas=policy.sigmas)


def _optional(values: Sequence[float] | np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float | None, ...]:
    return tuple(None if math.isnan(value) else float(value) for value in values)


def baseline_state(baseline: Sequence[MonthCount], policy: SignalPolicy) -> Baseline:
    """Whether these months can carry a judgement under ``policy``."""
    sets, events = sum(c.sets for c in baseline), sum(c.contaminated for c in baseline)
    if sum(c.sets > 0 for c in baseline) < policy.min_points or sets < policy.min_sets:
        return Baseline.THIN
    if events == 0:
        return Baseline.NO_EVENT
    return Baseline.ALL_EVENTS if events == sets else Baseline.SOUND


def _z(asked: MonthCount, rate: float) -> float | None:
    if not asked.sets or not 0 < rate < 1:
        return None
    return (asked.contaminated / asked.sets - rate) / math.sqrt(rate * (1 - rate) / asked.sets)


def _tail(asked: MonthCount, *, rate: float, high: bool, elsewhere: int) -> float:
    if rate == 0 and elsewhere:
        # The baseline rate is not known to be zero; ask instead how often all events of both would fall in this month.
        return chance_all_here(asked.contaminated, asked.sets, elsewhere=elsewhere)
    side = chance_at_least if high else chance_at_most
    return side(asked.contaminated, asked.sets, rate=rate)


def _limits(sets: int, *, rate: float, policy: SignalPolicy) -> tuple[float, float]:
    half = policy.sigmas * math.sqrt(rate * (1 - rate) * sets)
    return rate * sets - half, rate * sets + half


def _is_high(x: int, sets: int, *, rate: float, policy: SignalPolicy) -> bool:
    return x > _limits(sets, rate=rate, policy=policy)[1] and chance_at_least(x, sets, rate=rate) <= policy.most_chance


def _is_low(x: int, sets: int, *, rate: float, policy: SignalPolicy) -> bool:
    return x < _limits(sets, rate=rate, policy=policy)[0] and chance_at_most(x, sets, rate=rate) <= policy.most_chance


def _marked(count: MonthCount, *, rate: float, policy: SignalPolicy) -> bool:
    if not count.sets or not 0 < rate < 1:
        return False
    x, n = count.contaminated, count.sets
    return _is_high(x, n, rate=rate, policy=policy) or _is_low(x, n, rate=rate, policy=policy)


def signal_counts(sets: int, *, rate: float, policy: SignalPolicy) -> tuple[int | None, int | None]:
    """The smallest high and the largest low count of ``sets`` that is a signal by itself; none where no count is."""
    if not sets or not 0 < rate < 1:
        return None, None
    low, high = _limits(sets, rate=rate, policy=policy)
    first = next(
        (x for x in range(max(0, math.floor(high)), sets + 1) if _is_high(x, sets, rate=rate, policy=policy)), None
    )
    last_low = next((x for x in range(math.ceil(low), -1, -1) if _is_low(x, sets, rate=rate, policy=policy)), None)
    return first, last_low


def _run_chance(counts: Sequence[MonthCount], *, rate: float, run: int) -> float:
    """The exact chance, at the baseline rate, that every month of the run lies on its side of the baseline."""
    rates = [count.contaminated / count.sets if count.sets else None for count in counts]
    months = [counts[place] for place in _run_places(rates, rate, run)]
    if run < 0:
        # The rounding keeps 0.03 × 500 at 15, not 15.000000000000002.
        return math.prod(chance_at_most(most_below(rate, one.sets), one.sets, rate=rate) for one in months)
    return math.prod(chance_at_least(math.floor(round(rate * one.sets, 9)) + 1, one.sets, rate=rate) for one in months)


def _trend(values: Sequence[float]) -> int:
    """How many values up to the last one rise (+) or fall (−) steadily, the starting one included; 1 for neither.

    A tie ends it, so that in small months, where ties abound, a trend is rarer still than among unequal values.
    """
    length, direction = 1, 0
    for index in range(len(values) - 1, 0, -1):
        step = (values[index] > values[index - 1]) - (values[index] < values[index - 1])
        if not step or (direction and step != direction):
            break
        direction, length = step, length + 1
    return length * (direction or 1)


def _broken(
    asked: MonthCount, *, marked: bool, high: bool, run: int, trend: int, policy: SignalPolicy
) -> tuple[Rule, ...]:
    if not asked.sets:
        return ()
    found = (
        (Rule.ABOVE, marked and high),
        (Rule.BELOW, marked and not high),
        (Rule.SHIFT_UP, run >= policy.shift_points),
        (Rule.SHIFT_DOWN, -run >= policy.shift_points),
        (Rule.TREND_UP, trend >= policy.trend_points),
        (Rule.TREND_DOWN, -trend >= policy.trend_points),
    )
    return tuple(rule for rule, holds in found if holds)
