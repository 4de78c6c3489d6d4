"""What a stretch of months, mostly a quarter, says against the months before it: numbers only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import (
    Baseline,
    Rule,
    SignalPolicy,
    SignalReading,
    assess_month,
    signal_counts,
)
from cubital.domain.charter import UnitOfCount
from cubital.stats.interval import Interval
from cubital.stats.proportions import wilson_interval
from cubital.stats.tails import chance_at_least, chance_at_most

_RUNS = frozenset({Rule.SHIFT_UP, Rule.SHIFT_DOWN, Rule.TREND_UP, Rule.TREND_DOWN})


class Standing(StrEnum):
    """How the stretch stands. The strongest that holds."""

    NOTHING_DRAWN = "nothing_drawn"
    TOO_FEW = "too_few"
    HIGH = "high"
    LOW = "low"
    ONE_MONTH = "one_month"
    RUN = "run"
    WITHIN = "within"


class Side(StrEnum):
    """Where the likely range lies against the target."""

    ABOVE = "above"
    BELOW = "below"
    UNTOLD = "untold"


@dataclass(frozen=True, kw_only=True)
class QuarterReading:
    """The months of ``span`` together, and one by one in ``chart``, against the baseline of the months before.

    ``interval`` is the likely range of the stretch's own share, none without sets. ``tail`` is the exact chance at the
    baseline rate of a stretch at least this far to its side (``high`` says which). ``first_signal`` and
    ``last_low_signal`` are the counts from which the whole stretch would have been one. ``odd`` are its months that
    are a signal by themselves. ``year_before`` are the same months one year earlier, none where not all are there.
    """

    chart: SignalReading
    span: tuple[MonthCount, ...]
    year_before: tuple[MonthCount, ...]
    interval: Interval | None
    tail: float
    high: bool
    first_signal: int | None
    last_low_signal: int | None
    odd: tuple[MonthCount, ...]

    @property
    def sets(self) -> int:
        return sum(one.sets for one in self.span)

    @property
    def contaminated(self) -> int:
        return sum(one.contaminated for one in self.span)

    @property
    def run(self) -> Rule | None:
        """The run or trend that ends with the stretch; none where there is none."""
        return next((rule for rule in self.chart.broken if rule in _RUNS), None)

    @property
    def standing(self) -> Standing:
        if not self.sets:
            return Standing.NOTHING_DRAWN
        if self.chart.state is not Baseline.SOUND:
            return Standing.TOO_FEW
        found = (
            (Standing.HIGH, self.first_signal is not None and self.contaminated >= self.first_signal),
            (Standing.LOW, self.last_low_signal is not None and self.contaminated <= self.last_low_signal),
            (Standing.ONE_MONTH, bool(self.odd)),
            (Standing.RUN, self.run is not None),
        )
        return next((standing for standing, holds in found if holds), Standing.WITHIN)

    def side_of(self, target: float) -> Side:
        """Whether the whole likely range lies on one side of the target."""
        if self.interval is None or self.interval.low <= target <= self.interval.high:
            return Side.UNTOLD
        return Side.ABOVE if self.interval.low > target else Side.BELOW


def read_quarter(
    counts: Sequence[MonthCount], *, from_month: str, policy: SignalPolicy, locked: tuple[str, str] | None = None,
    unit: UnitOfCount = UnitOfCount.SET,
) -> QuarterReading:  # fmt: skip
    """Reads the months of ``counts`` (time order) from ``from_month`` on against those before it.

    ``locked`` names the first and last month of a baseline agreed earlier, which may not reach into the stretch; none
    takes every month before. ``ValueError`` where no month lies in the stretch.
    """
    span = tuple(one for one in counts if one.month >= from_month)
    before = [one for one in counts if one.month < from_month]
    if not span:
        raise ValueError("the stretch has no month")
    usual = locked or ((before[0].month, before[-1].month) if before else ("", ""))
    chart = assess_month(counts, policy=policy, locked=usual, unit=unit)
    sets, events = sum(one.sets for one in span), sum(one.contaminated for one in span)
    high = events >= chart.rate * sets
    first, last_low = signal_counts(sets, rate=chart.rate, policy=policy)
    side = chance_at_least if high else chance_at_most
    odd = {one.month for one, marked in zip(chart.counts, chart.marked, strict=True) if marked}
    return QuarterReading(
        chart=chart, span=span, year_before=_year_before(counts, span),
        interval=wilson_interval(events, sets) if sets else None,
        tail=side(events, sets, rate=chart.rate) if sets and 0 < chart.rate < 1 else 1.0,
        high=high, first_signal=first, last_low_signal=last_low,
        odd=tuple(one for one in span if one.month in odd) if chart.state is Baseline.SOUND else (),
    )  # fmt: skip


def _year_before(counts: Sequence[MonthCount], span: Sequence[MonthCount]) -> tuple[MonthCount, ...]:
    held = {one.month: one for one in counts}
    wanted = [f"{int(one.month[:4]) - 1}{one.month[4:]}" for one in span]
    return tuple(held[month] for month in wanted) if all(month in held for month in wanted) else ()
