"""Gathers who drew at which hours of the place that a change reached, by role; nobody is named."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from cubital.answers.did_hours import HourRow, MatchedHours, match_hours
from cubital.answers.did_material import Window
from cubital.domain.words import _
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.workspace.charters import current_charter
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.staff import WhoDrew, list_stays, who_drew

_BY = (Dimension.FACILITY, Dimension.COLLECTOR, Dimension.ATTRIBUTION, Dimension.DAY, Dimension.HOUR)


def matched_hours(workspace: Workspace, *, facility: str | None, unit: str | None, window: Window) -> MatchedHours:
    """The same roles in the same hours at one place, before and since; in words why not, where they are not known."""
    if not list_stays(workspace):
        return MatchedHours(words=_nobody_words())
    scope = Scope(from_month=f"{window.first:%Y-%m}", to_month=f"{window.last:%Y-%m}", facility=facility, unit=unit)
    with open_snapshot(workspace) as session:
        cells = count_cells(session, current_charter(workspace).charter, by=_BY, scope=scope)
    people = zip(*(cells.keys[one] for one in _BY[:3]), strict=True)
    who = who_drew(workspace, people)
    if not who.stays:
        return MatchedHours(words=_nobody_words())
    rows, unknown = _rows(cells, who, window)
    return match_hours(rows, unknown=unknown)


def _nobody_words() -> str:
    return _(
        "No table matched by hour is attached: nobody who drew here is in the list of people, so roles are not known."
    )


def _rows(cells: CellCounts, who: WhoDrew, window: Window) -> tuple[list[HourRow], int]:
    found: dict[tuple[str, int, bool], list[int]] = defaultdict(lambda: [0, 0])
    unknown = 0
    columns = zip(*cells.keys.values(), cells.denominator.tolist(), cells.numerator.tolist(), strict=True)
    for facility, collector, attribution, day, hour, sets, contaminated in columns:
        if day is None or not sets or not window.holds(day):
            continue
        role = _role(who, (facility, collector, attribution), day)
        if not role or hour is None:
            unknown += sets
            continue
        pair = found[role, hour, day >= window.on]
        pair[0] += sets
        pair[1] += contaminated
    return [
        HourRow(role=role, hour=hour, after=after, sets=n, contaminated=x)
        for (role, hour, after), (n, x) in found.items()
    ], unknown


def _role(who: WhoDrew, drew: tuple[str, str | None, str], day: date) -> str:
    facility, collector, attribution = drew
    person = who.person(facility=facility, collector=collector, attribution=attribution, day=day)
    if person is None or collector is None:
        return ""
    stays = (stay for stay in who.stays[facility, collector] if stay.key == person[0] and stay.there_on(day))
    return next((stay.role for stay in stays if stay.role), "")
