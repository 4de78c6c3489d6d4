"""Months, days and units of one place as counts alone, as the questions about signal and noise take them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital.answers.counts import MonthCount
from cubital.answers.unit_months import UnitMonths
from cubital.domain.charter import Charter
from cubital.engine import QuerySession
from cubital.judge.api import count_rates
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.counts import MonthCounts, Scope
from cubital.store.places import read_facility_months
from cubital.workspace.asked_places import AskedPlace
from cubital.workspace.charters import current_charter
from cubital.workspace.month_gathering import fill_months
from cubital.workspace.month_surroundings import grouping_of
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import open_snapshot

UNDATED = "undated"


def count_place(workspace: Workspace, place: AskedPlace) -> tuple[MonthCount, ...]:
    """Every dated month of the place under the charter in force, months without sets between others included."""
    with open_snapshot(workspace) as session:
        return count_in(session, current_charter(workspace).charter, place=place)


def count_in(
    session: QuerySession, charter: Charter, *, place: AskedPlace, from_month: str | None = None,
    to_month: str | None = None,
) -> tuple[MonthCount, ...]:  # fmt: skip
    """The same in an open snapshot, between two months where they are given."""
    scope = place.scope(from_month=from_month, to_month=to_month)
    dated = [c for c in count_rates(session, charter, scope=scope, by=grouping_of(place)) if c.month != UNDATED]
    if not dated:
        return ()
    return plain_counts(fill_months(dated, filed=read_facility_months(session), place=place))


def plain_counts(counts: Sequence[MonthCounts]) -> tuple[MonthCount, ...]:
    """Months with the charter's numerator and denominator and nothing else."""
    return tuple(MonthCount(month=c.month, sets=c.denominator, contaminated=c.numerator) for c in counts)


def count_days(
    session: QuerySession, charter: Charter, *, place: AskedPlace, to_month: str | None
) -> tuple[tuple[date, int, int], ...]:
    """Day, sets and contaminated sets of the place in time order; sets without a day are left out."""
    cells = count_cells(session, charter, by=(Dimension.DAY,), scope=place.scope(to_month=to_month))
    rows = zip(cells.keys[Dimension.DAY], cells.denominator, cells.numerator, strict=True)
    return tuple(sorted((day, int(sets), int(events)) for day, sets, events in rows if day is not None))


def count_units(
    session: QuerySession, charter: Charter, *, facility: str | None, to_month: str | None
) -> tuple[UnitMonths, ...]:
    """Every unit of the facility, or of all of them, with its dated months."""
    found: dict[tuple[str, str], list[MonthCounts]] = {}
    for counts in count_rates(session, charter, scope=Scope(to_month=to_month, facility=facility), by="unit"):
        if counts.month != UNDATED and counts.unit:
            found.setdefault((counts.facility or "", counts.unit), []).append(counts)
    names = {key: months[-1].unit_name or key[1] for key, months in found.items()}
    many = len({facility for facility, _unit in found}) > 1
    return tuple(
        UnitMonths(
            name=f"{names[key]} ({key[0]})" if many else names[key],
            counts=plain_counts(sorted(months, key=lambda one: one.month)),
        )
        for key, months in sorted(found.items())
    )
