"""What a table by attendance carries: refusals first, then everybody compared with themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.attendance_table import Attendance
from cubital.answers.did_design import LEAST_DAYS
from cubital.stats.dose import DosedUnit, DoseTrend, dose_trend
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.mantel_haenszel import Stratum, compare_within
from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.two_proportions import Comparison

LEAST_WEEKS = LEAST_DAYS // 7
LEAST_EVENTS = 10  # contaminated sets of either group, both periods together (common practice, no source)


class AttendanceState(StrEnum):
    """How far the table carries."""

    UNDATED = "undated"  # how long the periods were is not said
    SHORT = "short"
    ONE_TIME = "one_time"  # after only: nobody can be compared with themselves
    ONE_GROUP = "one_group"  # all attended, or none
    THIN = "thin"
    SAID = "said"


@dataclass(frozen=True, kw_only=True)
class AttendanceReading:
    """Within the same people or units: the odds ratio after over before of either group, and how much more the one
    that attended changed; or, of units that attended in part, the trend over how many did.
    """

    table: Attendance
    state: AttendanceState
    attended: Comparison | None = None
    others: Comparison | None = None
    more: Comparison | None = None
    trend: DoseTrend | None = None

    @property
    def beyond(self) -> bool:
        """Whether those who attended changed more than the others by more than chance."""
        held = self.more.interval if self.more else self.trend.interval if self.trend else None
        return held is not None and (held.high < 1 or held.low > 1)


def read_attendance(table: Attendance) -> AttendanceReading:
    """Reads the table, refusals first."""
    state = _state(table)
    if state is not AttendanceState.SAID:
        return AttendanceReading(table=table, state=state)
    if table.shares:
        try:
            trend = dose_trend([
                DosedUnit(name=name, dose=dose, events_before=b[0], n_before=b[1], events_after=a[0], n_after=a[1])
                for name, (dose, b, a) in table.pairs().items()
            ])  # fmt: skip
        except NotIdentifiable as problem:
            state = AttendanceState.ONE_GROUP if problem.why == "rank" else AttendanceState.THIN
            return AttendanceReading(table=table, state=state)
        return AttendanceReading(table=table, state=state, trend=trend)
    sides = [_within(table, attended=attended) for attended in (True, False)]
    if None in sides or sides[0] is None or sides[1] is None:
        return AttendanceReading(table=table, state=AttendanceState.THIN)
    return AttendanceReading(
        table=table, state=state, attended=sides[0], others=sides[1], more=_divided(sides[0], sides[1])
    )


def _state(table: Attendance) -> AttendanceState:
    if not all(any(row.after is after and row.sets for row in table.rows) for after in (False, True)):
        return AttendanceState.ONE_TIME
    weeks = [table.weeks(after=after) for after in (False, True)]
    if None in weeks:
        return AttendanceState.UNDATED
    if min(week for week in weeks if week is not None) < LEAST_WEEKS:
        return AttendanceState.SHORT
    if not table.shares and len({row.attended for row in table.rows if row.sets}) < 2:
        return AttendanceState.ONE_GROUP
    return AttendanceState.SAID if table.shares or min(events_of(table)) >= LEAST_EVENTS else AttendanceState.THIN


def events_of(table: Attendance) -> tuple[int, int]:
    """Contaminated sets of those who attended and of the others, both periods, of everybody with both."""
    found = [0, 0]
    for attended, before, after in table.pairs().values():
        found[attended < 1] += before[0] + after[0]
    return found[0], found[1]


def _within(table: Attendance, *, attended: bool) -> Comparison | None:
    strata = [
        Stratum(after[0], after[1], before[0], before[1])
        for share, before, after in table.pairs().values()
        if share == float(attended)
    ]
    return compare_within(strata).odds_ratio if strata else None


def _divided(one: Comparison, other: Comparison) -> Comparison:
    """The ratio of two independent odds ratios, Wald on the logarithm."""
    z = normal_quantile(one.interval.level)
    errors = [math.log(each.interval.high / each.interval.low) / (2 * z) for each in (one, other)]
    middle, reach = math.log(one.estimate / other.estimate), z * math.hypot(*errors)
    span = Interval(math.exp(middle - reach), math.exp(middle + reach), one.interval.level, "Wald on the logarithm")
    return Comparison(math.exp(middle), span)
