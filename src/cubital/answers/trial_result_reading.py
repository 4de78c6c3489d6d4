"""What a trial showed so far: the arms side by side, the difference by the analysis that was written, its doubt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from scipy.special import expit, logit, ndtri, stdtr, stdtrit

from cubital.domain.trial import TrialDesign, TrialPlan
from cubital.stats.cluster_difference import Cluster, TooFewClusters, clustered_difference
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.stepped_rollout import SteppedCell, SteppedEffect, fit_roll_out


@dataclass(frozen=True, kw_only=True)
class TurnCount:
    """``contaminated`` of ``sets`` of one unit in one stretch of the plan, in one ``period`` (steps only, else 0).

    ``key`` tells the stretches apart; ``place`` is the unit in words.
    """

    key: str
    place: str
    arm: int
    sets: int
    contaminated: int
    period: int = 0


@dataclass(frozen=True, kw_only=True)
class TrialCounts:
    """Everything that was drawn in the units and days of the plan.

    ``settling`` are sets left out because the unit had just changed, ``undated`` those of the units without a day.
    ``data_to`` is the last day with a set in any of the units, none before the first.
    """

    turns: tuple[TurnCount, ...]
    settling: int = 0
    undated: int = 0
    data_to: date | None = None

    def of_arm(self, arm: int) -> tuple[int, int]:
        """Contaminated and all sets of one arm."""
        mine = [one for one in self.turns if one.arm == arm]
        return sum(one.contaminated for one in mine), sum(one.sets for one in mine)

    @property
    def sets(self) -> int:
        """The sets of both arms."""
        return sum(one.sets for one in self.turns)


class ResultState(StrEnum):
    """Whether a difference can be said."""

    SAID = "said"
    EMPTY = "empty"  # no set in one of the arms yet
    FEW_CLUSTERS = "few_clusters"  # too few units or turns to know what chance does between them
    NOT_TOLD = "not_told"  # time and trial cannot be told apart, or no event


@dataclass(frozen=True, kw_only=True)
class ResultReading:
    """``difference`` is the new arm's share minus the usual one's, by the analysis that was written, with its interval.

    ``z`` is its score on the normal scale; ``meaningful`` the probability that the true fall is at least the least
    meaningful one, ``any_fall`` that there is any (nothing believed beforehand). ``share`` is how much of the planned
    number of sets there is. All none where ``state`` is not ``SAID``, but ``share``.
    """

    plan: TrialPlan
    counts: TrialCounts
    state: ResultState
    share: float
    difference: float | None = None
    error: float | None = None
    interval: Interval | None = None
    z: float | None = None
    chance: float | None = None
    meaningful: float | None = None
    any_fall: float | None = None


def read_result(plan: TrialPlan, counts: TrialCounts) -> ResultReading:
    """Reads the counts by the plan's own analysis."""
    share = counts.sets / (2 * plan.sets_per_arm)
    empty = ResultReading(plan=plan, counts=counts, state=ResultState.EMPTY, share=share)
    if not all(counts.of_arm(arm)[1] for arm in (0, 1)):
        return empty
    return _stepped(empty) if plan.design is TrialDesign.STEPPED else _clustered(empty)


def analysis_of(design: TrialDesign) -> str:
    """The name of the analysis that belongs to a design, for records."""
    return "mixed logistic, unit and period" if design is TrialDesign.STEPPED else "clusters, ratio of sums"


def _clustered(reading: ResultReading) -> ResultReading:
    plan = reading.plan
    clusters = [
        Cluster(events=one.contaminated, n=one.sets, arm=one.arm, stratum=one.place if plan.design.in_turns else "")
        for one in reading.counts.turns
        if one.sets
    ]
    try:
        found = clustered_difference(clusters, level=plan.level)
    except TooFewClusters:
        return replace(reading, state=ResultState.FEW_CLUSTERS)
    return replace(
        reading, state=ResultState.SAID, difference=found.estimate, error=found.error, interval=found.interval,
        z=found.z, chance=found.chance, meaningful=found.chance_below(-plan.meaningful),
        any_fall=found.chance_below(0.0),
    )  # fmt: skip


def _stepped(reading: ResultReading) -> ResultReading:
    """Units differ (random), time moves all of them (one level per period), the new way shifts the odds."""
    cells = [
        SteppedCell(unit=one.place, period=one.period, exposed=bool(one.arm), events=one.contaminated, n=one.sets)
        for one in reading.counts.turns
        if one.sets
    ]
    if len({cell.unit for cell in cells}) < 3:
        return replace(reading, state=ResultState.FEW_CLUSTERS)
    try:
        fit = fit_roll_out(cells, level=reading.plan.level)
    except NotIdentifiable:
        return replace(reading, state=ResultState.NOT_TOLD)
    return _from_odds(reading, fit)


def _from_odds(reading: ResultReading, fit: SteppedEffect) -> ResultReading:
    """The odds ratio as a difference from the usual arm's share; the interval is moved over in the same way."""
    plan = reading.plan
    x, n = reading.counts.of_arm(0)
    usual = (x + 0.5) / (n + 1)
    df = fit.df or 1
    effect = math.log(fit.odds_ratio)
    error = (effect - math.log(fit.interval.low)) / float(stdtrit(df, 0.5 + plan.level / 2))

    def moved(odds_ratio: float) -> float:
        return float(expit(logit(usual) + math.log(odds_ratio))) - usual

    wanted = max(usual - plan.meaningful, 1e-9)
    needed = float(logit(wanted)) - float(logit(usual))
    return replace(
        reading, state=ResultState.SAID, difference=moved(fit.odds_ratio), error=error,
        interval=Interval(moved(fit.interval.low), moved(fit.interval.high), plan.level, fit.interval.method),
        z=math.copysign(-float(ndtri(max(fit.p, 1e-300) / 2)), effect), chance=fit.p,
        meaningful=float(stdtr(df, (needed - effect) / error)), any_fall=float(stdtr(df, -effect / error)),
    )  # fmt: skip


def widened(reading: ResultReading, boundary: float | None) -> Interval | None:
    """The interval that holds however often was looked: as many standard errors as the boundary of this look.

    Jennison C, Turnbull BW, Group Sequential Methods, 2000, chapter 9 (repeated confidence intervals). None where there
    is no difference; the plain interval where there was no earlier look (``boundary`` none).
    """
    plain = reading.interval
    if plain is None or boundary is None or reading.difference is None:
        return plain
    if not math.isfinite(boundary):  # so early that nothing could cross: every difference is still open
        return Interval(-1.0, 1.0, plain.level, f"{plain.method}, repeated")
    usual = float(ndtri(0.5 + plain.level / 2))
    stretch = max(1.0, boundary / usual)
    low = reading.difference - stretch * (reading.difference - plain.low)
    high = reading.difference + stretch * (plain.high - reading.difference)
    return Interval(max(-1.0, low), min(1.0, high), plain.level, f"{plain.method}, repeated")
