"""Gathers from the stored cultures what a fair comparison and the hours of the week are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

import numpy as np

from cubital.answers.compared_reading import ComparedCell, ComparedMaterial, Divided
from cubital.answers.compared_table import hour_band
from cubital.answers.compared_words import weekend_name
from cubital.answers.hours_reading import HoursMaterial
from cubital.answers.observation_plan import shift_name, shift_of
from cubital.domain.answer import Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places_gathering import PlacesAsk, settle_months
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.staff import WhoDrew, who_drew

_UNKNOWN = {"", None, "unknown"}
Row = dict[Dimension, Any]
Label = Callable[[Row], str]


class FairBy(StrEnum):
    """What the stored sets can be compared by."""

    ROLE = "role"
    SHIFT = "shift"
    WEEKEND = "weekend"
    METHOD = "method"
    FACILITY = "facility"


_DIVIDED = {
    FairBy.ROLE: Divided.ROLE, FairBy.SHIFT: Divided.SHIFT, FairBy.WEEKEND: Divided.WEEKEND,
    FairBy.METHOD: Divided.METHOD, FairBy.FACILITY: Divided.OTHER,
}  # fmt: skip
# What is held equal, by what is compared: never the same thing twice.
_HELD = {
    FairBy.ROLE: ("hour", "weekend", "age_group"),
    FairBy.SHIFT: ("weekend", "age_group", "method"),
    FairBy.WEEKEND: ("hour", "age_group", "method"),
    FairBy.METHOD: ("hour", "weekend", "age_group"),
    FairBy.FACILITY: ("hour", "weekend", "age_group", "method"),
}
HOUR_DIMENSIONS = (Dimension.MONTH, Dimension.WEEKDAY, Dimension.HOUR)
_WHO = (Dimension.FACILITY, Dimension.COLLECTOR, Dimension.ATTRIBUTION)


@dataclass(frozen=True, kw_only=True)
class FairAsk:
    """What is compared, where, and over which months (``YYYY-MM``, inclusive; none takes the last twelve)."""

    by: FairBy = FairBy.SHIFT
    facility: str | None = None
    unit: str | None = None
    from_month: str | None = None
    to_month: str | None = None


def gather_comparison(workspace: Workspace, ask: FairAsk) -> tuple[ComparedMaterial, Receipt]:
    """Counts by group and stratum, with the collector as the one whose sets resemble each other.

    Sets of nobody known are kept together by unit. ``RequestProblem`` where nothing was taken in, the place is unknown,
    or roles are asked for and nobody is known.
    """
    cells, receipt = _cells(workspace, ask, fair_dimensions(ask.by))
    group = _role_label(workspace, cells) if ask.by is FairBy.ROLE else _group_label(ask.by)
    return comparison_material(cells, ask.by, group), receipt


def comparison_material(cells: CellCounts, by: FairBy, group: Label | None = None) -> ComparedMaterial:
    """Cells of ``fair_dimensions(by)`` by group, stratum and collector; ``group`` names a row's group, for roles."""
    group = group or _group_label(by)
    labels = [_held_label(name) for name in _HELD[by]]
    counts: dict[tuple[str, tuple[str, ...], str], list[int]] = defaultdict(lambda: [0, 0])
    hours: dict[str, list[int]] = {}
    for row, sets, contaminated in _rows(cells):
        name = group(row)
        found = counts[name, tuple(label(row) for label in labels), _cluster(row)]
        found[0] += sets
        found[1] += contaminated
        if name and by is not FairBy.SHIFT and row[Dimension.HOUR] is not None:
            hours.setdefault(name, [0] * 24)[row[Dimension.HOUR]] += sets
    return ComparedMaterial(
        cells=tuple(
            ComparedCell(group=name, stratum=stratum, cluster=cluster, sets=sets, contaminated=contaminated)
            for (name, stratum, cluster), (sets, contaminated) in counts.items()
        ),
        by=_DIVIDED[by], column=_column_words(by), columns=_HELD[by], clusters="collector",
        hours={name: tuple(found) for name, found in hours.items()},
    )  # fmt: skip


def gather_hours(workspace: Workspace, ask: FairAsk) -> tuple[HoursMaterial, Receipt]:
    """Counts by weekday and hour, and over how many weeks; errors as for ``gather_comparison``."""
    cells, receipt = _cells(workspace, ask, HOUR_DIMENSIONS)
    return hours_material(cells), receipt


def hours_material(cells: CellCounts) -> HoursMaterial:
    """Cells of ``HOUR_DIMENSIONS`` by weekday and hour."""
    contaminated, sets = np.zeros((7, 24), dtype=np.int64), np.zeros((7, 24), dtype=np.int64)
    untimed, months = 0, set()
    for row, n, x in _rows(cells):
        months.add(row[Dimension.MONTH])
        if row[Dimension.HOUR] is None or row[Dimension.WEEKDAY] is None:
            untimed += n
            continue
        sets[row[Dimension.WEEKDAY] - 1, row[Dimension.HOUR]] += n
        contaminated[row[Dimension.WEEKDAY] - 1, row[Dimension.HOUR]] += x
    return HoursMaterial(contaminated=contaminated, sets=sets, untimed=untimed, weeks=_weeks(months))


def _cells(workspace: Workspace, ask: FairAsk, by: Sequence[Dimension]) -> tuple[CellCounts, Receipt]:
    months = settle_months(workspace, PlacesAsk(from_month=ask.from_month, to_month=ask.to_month))
    version, policy = current_charter(workspace), current_policy(workspace)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=ask.unit)
        scope = place.scope(from_month=months.from_month, to_month=months.to_month)
        cells = count_cells(session, version.charter, by=by, scope=scope)
    return cells, receipt_of(snapshot_words(workspace), version, policy)


def fair_dimensions(by: FairBy) -> tuple[Dimension, ...]:
    """What cells are needed for a comparison."""
    found = {Dimension.FACILITY, Dimension.UNIT, Dimension.COLLECTOR, Dimension.HOUR, Dimension.WEEKDAY}
    found |= {Dimension.AGE_GROUP}
    if "method" in _HELD[by] or by is FairBy.METHOD:
        found.add(Dimension.METHOD)
    if by is FairBy.ROLE:
        found |= {Dimension.ATTRIBUTION, Dimension.DAY}
    return tuple(one for one in Dimension if one in found)


def _rows(cells: CellCounts) -> Iterator[tuple[Row, int, int]]:
    dimensions = tuple(cells.keys)
    columns = zip(*cells.keys.values(), strict=True)
    for values, sets, contaminated in zip(columns, cells.denominator.tolist(), cells.numerator.tolist(), strict=True):
        if sets:
            yield dict(zip(dimensions, values, strict=True)), sets, contaminated


def _cluster(row: Row) -> str:
    collector = row[Dimension.COLLECTOR]
    return f"{row[Dimension.FACILITY]}\u241f{collector or row[Dimension.UNIT]}\u241f{bool(collector)}"


def _group_label(by: FairBy) -> Label:
    return {
        FairBy.SHIFT: lambda row: _shift(row[Dimension.HOUR]),
        FairBy.WEEKEND: lambda row: _weekend(row[Dimension.WEEKDAY]),
        FairBy.METHOD: lambda row: _known(row[Dimension.METHOD]),
        FairBy.FACILITY: lambda row: str(row[Dimension.FACILITY]),
    }[by]


def _held_label(name: str) -> Label:
    return {
        "hour": lambda row: "" if row[Dimension.HOUR] is None else hour_band(row[Dimension.HOUR]),
        "weekend": lambda row: _weekend(row[Dimension.WEEKDAY]),
        "age_group": lambda row: str(row[Dimension.AGE_GROUP] or ""),
        "method": lambda row: str(row[Dimension.METHOD] or ""),
    }[name]


def _role_label(workspace: Workspace, cells: CellCounts) -> Label:
    """The role that a person had on the day; a set of nobody known has none."""
    who: WhoDrew = who_drew(workspace, zip(*(cells.keys[one] for one in _WHO), strict=True))
    if not any(who.stays.values()):
        raise RequestProblem(
            _("roles are not known: nobody who drew is in the list of people."),
            fix=_("Give the list of people with their roles first, or compare by something else."),
        )

    def role(row: Row) -> str:
        facility, collector = row[Dimension.FACILITY], row[Dimension.COLLECTOR]
        day: date | None = row[Dimension.DAY]
        found = who.person(facility=facility, collector=collector, attribution=row[Dimension.ATTRIBUTION], day=day)
        if found is None:
            return ""
        stays = (stay for stay in who.stays[facility, collector] if stay.key == found[0] and stay.there_on(day))
        return next((stay.role for stay in stays if stay.role), "")

    return role


def _shift(hour: int | None) -> str:
    return "" if hour is None else shift_name(shift_of(hour))


def _weekend(weekday: int | None) -> str:
    return "" if weekday is None else weekend_name(weekday - 1)


def _known(value: str | None) -> str:
    return "" if value in _UNKNOWN else str(value)


def _column_words(by: FairBy) -> str:
    return {
        FairBy.ROLE: _("Role"), FairBy.SHIFT: _("Shift"), FairBy.WEEKEND: _("Weekday or weekend"),
        FairBy.METHOD: _("Method"), FairBy.FACILITY: _("Hospital"),
    }[by]  # fmt: skip


def _weeks(months: set[str]) -> float | None:
    """Weeks of the months that hold sets; none where no set is dated."""
    dated = [month for month in months if month and month[0].isdigit()]
    return len(dated) * 365.25 / 12 / 7 if dated else None
