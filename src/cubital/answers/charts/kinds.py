"""The kinds of chart, what each is for, and what every reading of one holds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, SignalPolicy
from cubital.domain.words import _


class ChartKind(StrEnum):
    """What is drawn. The first six take months, the last two the gaps between contaminations."""

    P = "p"
    U = "u"
    LANEY = "laney"
    LANEY_U = "laney-u"
    EWMA = "ewma"
    CUSUM = "cusum"
    GAPS = "gaps"
    TIMES = "times"


def chart_words(kind: ChartKind) -> str:
    """The chart's name in a sentence."""
    return {
        ChartKind.P: _("proportion chart"),
        ChartKind.U: _("count chart"),
        ChartKind.LANEY: _("proportion chart stretched to the usual scatter"),
        ChartKind.LANEY_U: _("count chart stretched to the usual scatter"),
        ChartKind.EWMA: _("chart of the smoothed rate"),
        ChartKind.CUSUM: _("chart of the running sum"),
        ChartKind.GAPS: _("chart of sets between contaminations"),
        ChartKind.TIMES: _("chart of days between contaminations"),
    }[kind]


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What a chart costs and what it buys, on average, in its own points (months, or gaps between contaminations).

    ``false_alarm_every`` points it signals although nothing changed; ``found_after`` points it has found a change (of
    the size in ``change``, a ratio of rates). None where it never would or where no baseline says.
    """

    false_alarm_every: float | None
    found_after: float | None
    change: float
    method: str


@dataclass(frozen=True, kw_only=True)
class ChartReading:
    """Months on one chart. All tuples line up with ``counts``; none stands where a month has no sets.

    ``values`` with ``lower`` and ``upper`` are in the chart's own unit: shares, or scores for the running sum, which
    also has ``below`` (its downward sum, negative). ``center`` is the baseline's share. ``signals`` are the positions
    that signal, ``worse`` whether the last month's signal points upwards. ``began`` is where the change behind the
    last month's signal likely began; none without one. ``cost_sets`` is the month's size that ``cost`` holds for.
    ``first_signal`` and ``last_low_signal`` are counts of such a month, for the charts that look at one month alone.
    """

    kind: ChartKind
    counts: tuple[MonthCount, ...]
    policy: SignalPolicy
    state: Baseline
    baseline: tuple[MonthCount, ...]
    center: float
    values: tuple[float | None, ...]
    lower: tuple[float | None, ...]
    upper: tuple[float | None, ...]
    below: tuple[float | None, ...] = ()
    signals: tuple[int, ...] = ()
    worse: bool = True
    began: int | None = None
    spread: float = 1.0
    cost: Cost
    cost_sets: int = 0
    first_signal: int | None = None
    last_low_signal: int | None = None

    @property
    def asked(self) -> MonthCount:
        return self.counts[-1]

    @property
    def signals_now(self) -> bool:
        """Whether the last month signals."""
        return len(self.counts) - 1 in self.signals
