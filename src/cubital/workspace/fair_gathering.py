"""Gathers from the stored cultures what a fair comparison and the hours of the week are made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache
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
Together = dict[Dimension, dict[int, int]]


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
    cells, receipt = _cells(workspace, ask, fair_dimensions(ask.by), together=fair_together(ask.by))
    groups = _role_column(workspace, cells) if ask.by is FairBy.ROLE else None
    return comparison_material(cells, ask.by, groups), receipt


def comparison_material(cells: CellCounts, by: FairBy, groups: Sequence[str] | None = None) -> ComparedMaterial:
    """Cells of ``fair_dimensions(by)`` by group, stratum and collector; ``groups`` names each cell's, for roles."""
    groups = groups if groups is not None else _labels(cells, *_GROUPS[by])
    strata = zip(*(_labels(cells, *_STRATA[name]) for name in _HELD[by]), strict=True)
    counts: dict[tuple[str, tuple[str, ...], str], list[int]] = defaultdict(lambda: [0, 0])
    for name, stratum, cluster, sets, bad in zip(
        groups, strata, _clusters(cells), cells.denominator.tolist(), cells.numerator.tolist(), strict=True
    ):
        found = counts[name, stratum, cluster]
        found[0] += sets
        found[1] += bad
    return ComparedMaterial(
        cells=tuple(
            ComparedCell(group=name, stratum=stratum, cluster=cluster, sets=sets, contaminated=contaminated)
            for (name, stratum, cluster), (sets, contaminated) in counts.items()
            if sets
        ),
        by=_DIVIDED[by], column=_column_words(by), columns=tuple(_held_words(name) for name in _HELD[by]),
        clusters="collector",
        hours={} if by is FairBy.SHIFT else _by_hour(cells, groups),
    )  # fmt: skip


def _labels(cells: CellCounts, dimension: Dimension, label: Callable[[Any], str]) -> list[str]:
    """The label of every cell; each value is put in words once."""
    words = {value: label(value) for value in set(cells.keys[dimension])}
    return [words[value] for value in cells.keys[dimension]]


def _clusters(cells: CellCounts) -> list[str]:
    """Whose sets resemble each other: the collector, or the unit where nobody is known."""
    columns = zip(*(cells.keys[one] for one in (Dimension.FACILITY, Dimension.COLLECTOR, Dimension.UNIT)), strict=True)
    return [f"{place}\u241f{who or unit}\u241f{'who' if who else 'where'}" for place, who, unit in columns]


def _by_hour(cells: CellCounts, groups: Sequence[str]) -> dict[str, tuple[int, ...]]:
    found: dict[str, list[int]] = {}
    for name, hour, sets in zip(groups, cells.keys[Dimension.HOUR], cells.denominator.tolist(), strict=True):
        if name and hour is not None:
            found.setdefault(name, [0] * 24)[hour] += sets
    return {name: tuple(counts) for name, counts in found.items()}


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


def _cells(
    workspace: Workspace, ask: FairAsk, by: Sequence[Dimension], *, together: Together | None = None
) -> tuple[CellCounts, Receipt]:
    months = settle_months(workspace, PlacesAsk(from_month=ask.from_month, to_month=ask.to_month))
    version, policy = current_charter(workspace), current_policy(workspace)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=ask.unit)
        scope = place.scope(from_month=months.from_month, to_month=months.to_month)
        cells = count_cells(session, version.charter, by=by, scope=scope, together=together)
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


def fair_together(by: FairBy) -> Together:
    """Hours and weekdays that a comparison labels alike, at the first of them; hours stay where overlap is read."""
    days = {day: next(one for one in range(1, 8) if _weekend(one) == _weekend(day)) for day in range(1, 8)}
    if by is not FairBy.SHIFT:
        return {Dimension.WEEKDAY: days}
    hours = {hour: next(one for one in range(24) if _shift(one) == _shift(hour)) for hour in range(24)}
    return {Dimension.WEEKDAY: days, Dimension.HOUR: hours}


def _rows(cells: CellCounts) -> Iterator[tuple[Row, int, int]]:
    dimensions = tuple(cells.keys)
    columns = zip(*cells.keys.values(), strict=True)
    for values, sets, contaminated in zip(columns, cells.denominator.tolist(), cells.numerator.tolist(), strict=True):
        if sets:
            yield dict(zip(dimensions, values, strict=True)), sets, contaminated


def _role_column(workspace: Workspace, cells: CellCounts) -> list[str]:
    """The role that a person had on the day, cell by cell; a set of nobody known has none."""
    who: WhoDrew = who_drew(workspace, zip(*(cells.keys[one] for one in _WHO), strict=True))
    if not any(who.stays.values()):
        raise RequestProblem(
            _("roles are not known: nobody who drew is in the list of people."),
            fix=_("Give the list of people with their roles first, or compare by something else."),
        )

    @cache
    def role(facility: str, collector: str | None, attribution: str, day: date | None) -> str:
        found = who.person(facility=facility, collector=collector, attribution=attribution, day=day)
        if found is None or collector is None:
            return ""
        stays = (stay for stay in who.stays[facility, collector] if stay.key == found[0] and stay.there_on(day))
        return next((stay.role for stay in stays if stay.role), "")

    return [role(*row) for row in zip(*(cells.keys[one] for one in (*_WHO, Dimension.DAY)), strict=True)]


def _shift(hour: int | None) -> str:
    return "" if hour is None else shift_name(shift_of(hour))


def _weekend(weekday: int | None) -> str:
    return "" if weekday is None else weekend_name(weekday - 1)


def _known(value: str | None) -> str:
    return "" if value in _UNKNOWN else str(value)


def _text(value: str | None) -> str:
    return str(value or "")


def _band(hour: int | None) -> str:
    return "" if hour is None else hour_band(hour)


_GROUPS: dict[FairBy, tuple[Dimension, Callable[[Any], str]]] = {
    FairBy.SHIFT: (Dimension.HOUR, _shift), FairBy.WEEKEND: (Dimension.WEEKDAY, _weekend),
    FairBy.METHOD: (Dimension.METHOD, _known), FairBy.FACILITY: (Dimension.FACILITY, _text),
}  # fmt: skip
_STRATA: dict[str, tuple[Dimension, Callable[[Any], str]]] = {
    "hour": (Dimension.HOUR, _band), "weekend": (Dimension.WEEKDAY, _weekend),
    "age_group": (Dimension.AGE_GROUP, _text), "method": (Dimension.METHOD, _text),
}  # fmt: skip


def _column_words(by: FairBy) -> str:
    return {
        FairBy.ROLE: _("Role"), FairBy.SHIFT: _("Shift"), FairBy.WEEKEND: _("Weekday or weekend"),
        FairBy.METHOD: _("Method"), FairBy.FACILITY: _("Hospital"),
    }[by]  # fmt: skip


def _held_words(name: str) -> str:
    return {
        "hour": _("hours"), "weekend": _("weekday or weekend"), "age_group": _("age group"),
        "method": _("way of drawing"),
    }[name]  # fmt: skip


def _weeks(months: set[str]) -> float | None:
    """Weeks of the months that hold sets; none where no set is dated."""
    dated = [month for month in months if month and month[0].isdigit()]
    return len(dated) * 365.25 / 12 / 7 if dated else None
