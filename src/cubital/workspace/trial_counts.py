"""Counts a trial by the plan: every set of its units by the arm that the plan gave to that place and day."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cubital.answers.trial_result_reading import TrialCounts, TurnCount
from cubital.domain.charter import Charter
from cubital.domain.trial import Stretch, TrialDesign, TrialPlan
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import last_batch_number, open_snapshot
from cubital.workspace.unit_names import join_labels, read_renames

BY = (Dimension.FACILITY, Dimension.UNIT, Dimension.DAY)


@dataclass(frozen=True, kw_only=True)
class DrawnCell:
    """``contaminated`` of ``sets`` of one unit of the plan on one day, under the unit's key in the plan.

    ``stretch`` is the place in the plan's list of the stretch that holds it, none outside the trial or without a day;
    ``settling`` says that it lies too soon after a change.
    """

    facility: str
    unit: str
    day: date | None
    contaminated: int
    sets: int
    stretch: int | None = None
    settling: bool = False


def count_trial(workspace: Workspace, plan: TrialPlan, charter: Charter) -> TrialCounts:
    """Sets and contaminated sets of every stretch, by ``charter``; nothing where no file has been taken.

    A unit that was renamed since is counted under all of its names.
    """
    placed: dict[tuple[int, int], list[int]] = defaultdict(lambda: [0, 0])
    settling = undated = 0
    last: date | None = None
    for cell in trial_days(workspace, plan, charter):
        if cell.day is None:
            undated += cell.sets
            continue
        last = cell.day if last is None else max(last, cell.day)
        if cell.settling:
            settling += cell.sets
        elif cell.stretch is not None:
            tally = placed[cell.stretch, _period(plan, cell.day)]
            tally[0], tally[1] = tally[0] + cell.contaminated, tally[1] + cell.sets
    turns = (_turn(plan.stretches[at], period, x=x, n=n) for (at, period), (x, n) in sorted(placed.items()) if n)
    return TrialCounts(turns=tuple(turns), settling=settling, undated=undated, data_to=last)


def trial_days(
    workspace: Workspace, plan: TrialPlan, charter: Charter, *, batch: int | None = None
) -> Iterator[DrawnCell]:
    """Every cell of the plan's units, whatever its day, as a batch left them (by default the last)."""
    if not last_batch_number(workspace):
        return
    current = join_labels(read_renames(workspace))
    planned = {(facility, current.get((facility, unit), unit)): (facility, unit) for facility, unit in plan.units}
    facilities = {facility for facility, _unit in planned}
    scope = Scope(facility=next(iter(facilities))) if len(facilities) == 1 else Scope()
    with open_snapshot(workspace, batch) as session:
        cells = count_cells(session, charter, by=BY, scope=scope)
    places = {place: _stretches_of(plan.stretches, place) for place in plan.units}
    rows = zip(*(cells.keys[one] for one in BY), cells.numerator, cells.denominator, strict=True)
    for facility, unit, day, x, n in rows:
        if (facility, unit) in planned:
            place = planned[facility, unit]
            stretch, settling = _placed(plan, places[place], day)
            yield DrawnCell(
                facility=place[0], unit=place[1], day=day, contaminated=int(x), sets=int(n), stretch=stretch,
                settling=settling,
            )  # fmt: skip


def _placed(plan: TrialPlan, mine: list[int], day: date | None) -> tuple[int | None, bool]:
    if day is None:
        return None, False
    stretches = plan.stretches
    place = bisect_right(mine, day, key=lambda one: stretches[one].first) - 1  # the last stretch that has begun
    if place < 0 or day > stretches[mine[place]].last:
        return None, False
    found = mine[place]
    return found, _is_settling(stretches, found, mine, day=day, days=plan.settle_days)


def _stretches_of(stretches: Sequence[Stretch], place: tuple[str, str]) -> list[int]:
    mine = [number for number, one in enumerate(stretches) if (one.facility, one.unit) == place]
    return sorted(mine, key=lambda number: stretches[number].first)


def _is_settling(stretches: Sequence[Stretch], at: int, mine: list[int], *, day: date, days: int) -> bool:
    """Whether the unit changed its way less than ``days`` days ago; the start of the trial as usual is no change."""
    if not days or day >= stretches[at].first + timedelta(days=days):
        return False
    place = mine.index(at)
    before = stretches[mine[place - 1]].arm if place else 0
    return before != stretches[at].arm


def _period(plan: TrialPlan, day: date) -> int:
    """Steps divide the time of all units alike; in other designs time is not counted."""
    if plan.design is not TrialDesign.STEPPED:
        return 0
    return sum(first <= day for first in {one.first for one in plan.stretches}) - 1


def _turn(one: Stretch, period: int, *, x: int, n: int) -> TurnCount:
    key = f"{one.facility}|{one.unit}|{one.first.isoformat()}"
    return TurnCount(key=key, place=one.place, arm=one.arm, sets=n, contaminated=x, period=period)
