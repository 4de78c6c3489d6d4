"""Reads the gaps between contaminations: is the present one unusually long, are the latest ones unusually short?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cubital.answers.charts.monthly import CHANGE, odds_of
from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline
from cubital.stats.count_run_lengths import count_cusum_limit, count_cusum_run_length
from cubital.stats.rare_events import gap_chance, gap_limit

MIN_GAPS = 10  # closed gaps that a usual gap can be known from (common practice, no source)
LONG_CHANCE = 0.00135  # a gap as rare as one side of three standard deviations
QUIET_EVENTS = 200  # contaminations between two false alarms of the sum that looks for short gaps

GapUnit = Literal["sets", "days"]


@dataclass(frozen=True, kw_only=True)
class Gaps:
    """``closed`` gaps in time order and the ``open`` one since the last contamination.

    In sets a gap is the clean sets between two contaminated ones, 0 or more; in days the days from one to the next.
    ``baseline`` is how many of the first gaps say what is usual; none takes them all. ``exact`` is false where the
    order of sets within a month or day is not known.
    """

    closed: tuple[int, ...]
    open: int
    unit: GapUnit = "sets"
    baseline: int | None = None
    exact: bool = True

    def __post_init__(self) -> None:
        if self.open < 0 or any(gap < 0 for gap in self.closed):
            raise ValueError("a gap cannot be negative")


@dataclass(frozen=True, kw_only=True)
class GapReading:
    """``rate`` contaminations per set (or day) make gaps of ``mean``. ``chance`` is how often chance alone makes the
    open gap or a longer one, ``limit`` the gap that is a signal. ``sums`` is the running sum after each closed gap
    (the last one after the open gap), a signal from ``sum_limit`` on; ``began`` the first gap of its present rise.
    ``false_alarm_sets`` and ``found_sets`` are averages in the unit of the gaps; ``found_sets`` is for a doubled rate.
    """

    gaps: Gaps
    state: Baseline
    rate: float
    mean: float
    chance: float | None = None
    limit: int | None = None
    sums: tuple[float, ...] = ()
    sum_limit: float | None = None
    began: int | None = None
    false_alarm_sets: float | None = None
    found_sets: float | None = None

    @property
    def is_long(self) -> bool:
        """Whether the open gap is a signal of improvement."""
        return self.limit is not None and self.gaps.open >= self.limit

    @property
    def is_short(self) -> bool:
        """Whether the latest gaps are a signal of worsening."""
        return self.sum_limit is not None and bool(self.sums) and self.sums[-1] >= self.sum_limit


def gaps_of_counts(counts: Sequence[MonthCount], *, baseline_months: int | None = None) -> Gaps:
    """Gaps from months of counts. Where in its month a set stood is not known: contaminations are spread evenly."""
    closed: list[int] = []
    running, held = 0, None
    for place, count in enumerate(counts):
        clean = count.sets - count.contaminated
        shares = [clean * (k + 1) // (count.contaminated + 1) for k in range(count.contaminated)]
        steps = [after - before for before, after in zip([0, *shares], [*shares, clean], strict=True)]
        for step in steps[:-1]:
            closed.append(running + step)
            running = 0
        running += steps[-1]
        if baseline_months is not None and place + 1 == baseline_months:
            held = len(closed)
    return Gaps(closed=tuple(closed), open=running, baseline=held, exact=False)


def read_gaps(gaps: Gaps) -> GapReading:
    """What the gaps say; without ``MIN_GAPS`` closed ones in the baseline only their mean."""
    base = gaps.closed if gaps.baseline is None else gaps.closed[: gaps.baseline]
    total = sum(base)
    in_sets = gaps.unit == "sets"
    mean = total / len(base) if base else 0.0
    rate = _rate(len(base), total, in_sets=in_sets)
    if len(base) < MIN_GAPS or rate >= 0.5:
        thin = Baseline.THIN if len(base) < MIN_GAPS else Baseline.ALL_EVENTS
        return GapReading(gaps=gaps, state=thin, rate=rate, mean=mean)
    odds = odds_of(rate, CHANGE)
    sum_limit = count_cusum_limit(n=1, usual=rate, odds_ratio=odds, run_length=round(QUIET_EVENTS / rate))
    sums, began = _sums(gaps, rate=rate, odds=odds)
    quiet = count_cusum_run_length(n=1, usual=rate, odds_ratio=odds, limit=sum_limit)
    long_every = 1 / (LONG_CHANCE * rate)
    return GapReading(
        gaps=gaps, state=Baseline.SOUND, rate=rate, mean=mean,
        chance=gap_chance(gaps.open, rate=rate) if in_sets else math.exp(-gaps.open / mean),
        limit=gap_limit(rate, chance=LONG_CHANCE) if in_sets else math.ceil(-mean * math.log(LONG_CHANCE)),
        sums=sums, sum_limit=sum_limit, began=began,
        false_alarm_sets=1 / (1 / quiet + 1 / long_every),
        found_sets=count_cusum_run_length(n=1, usual=rate, odds_ratio=odds, limit=sum_limit, rate=rate * CHANGE),
    )  # fmt: skip


def _rate(events: int, total: int, *, in_sets: bool) -> float:
    if not events:
        return 0.0
    if in_sets:
        return events / (events + total)
    return events / total if total else 1.0


def _sums(gaps: Gaps, *, rate: float, odds: float) -> tuple[tuple[float, ...], int | None]:
    """The sum of log-likelihood scores over single sets, looked at after each gap, and where its rise began."""
    down = math.log1p(rate * (odds - 1))
    up = math.log(odds) - down
    between = 0 if gaps.unit == "sets" else 1  # of two events a day apart no whole day lies between
    total, began = 0.0, 0
    sums: list[float] = []
    for place, gap in enumerate(gaps.closed):
        total -= down * max(0, gap - between)
        if total <= 0:
            total, began = 0.0, place
        total += up
        sums.append(total)
    sums.append(max(0.0, total - down * gaps.open))
    return tuple(sums), began if sums[-1] > 0 and gaps.closed else None
