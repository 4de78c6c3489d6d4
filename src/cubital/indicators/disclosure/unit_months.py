"""The counts of units by month with every total that is published beside them, as one table for the guard.

Counts that contain each other are not published side by side: contaminated sets, undecided sets and other growth
have no set in common, so that a reader who knows one learns nothing of the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from cubital.indicators.disclosure.tables import Cell, CountTable, Sum

NETWORK = ""
_WEIGHT = {"unit": 1.0, "facility": 10.0, "network": 100.0}
_LONGER = 3.0  # a total over months is what a committee reads; hiding one is worse than hiding a month of it


class CountKey(NamedTuple):
    """One published count. A restated count is another key, for its ``value`` is part of it.

    ``facility`` is empty for the network, ``unit`` none for a whole facility or the network. ``span`` is a month
    (``2026-03``), a quarter (``2026-Q1``), a year (``2026``), or ``first..last`` month. ``definition`` is the
    fingerprint of the charter.
    """

    measure: str
    definition: str
    facility: str
    unit: str | None
    span: str
    value: int

    @property
    def base(self) -> tuple[str, str, str, str | None, str]:
        """What is counted, whatever the count is."""
        return self[:5]


@dataclass(frozen=True, kw_only=True)
class UnitMonth:
    """One unit's month: ``counts`` by measure, and by measure what the count cannot exceed."""

    facility: str
    unit: str
    month: str
    counts: Mapping[str, int]
    most: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Span:
    """A name and the months in it, in order."""

    name: str
    months: tuple[str, ...]


Where = tuple[str, str | None]


def place_level(facility: str, unit: str | None) -> str:
    """``network``, ``facility`` or ``unit``."""
    if unit is not None:
        return "unit"
    return "facility" if facility else "network"


def longer_spans(months: Sequence[str]) -> tuple[Span, ...]:
    """Every quarter and every calendar year that lies in ``months`` as a whole, and nothing of it is missing."""
    held = set(months)
    years = sorted({month[:4] for month in months})
    quarters = [
        Span(name=f"{year}-Q{number + 1}", months=tuple(f"{year}-{3 * number + m:02d}" for m in (1, 2, 3)))
        for year in years for number in range(4)
    ]  # fmt: skip
    whole = [Span(name=year, months=tuple(f"{year}-{number:02d}" for number in range(1, 13))) for year in years]
    return tuple(span for span in (*quarters, *whole) if held.issuperset(span.months))


def only_measures(rows: Iterable[UnitMonth], measures: Sequence[str]) -> list[UnitMonth]:
    """The rows with these measures alone."""
    return [
        UnitMonth(
            facility=row.facility, unit=row.unit, month=row.month,
            counts={name: row.counts[name] for name in measures}, most={name: row.most[name] for name in measures},
        )
        for row in rows
    ]  # fmt: skip


def build_unit_table(
    rows: Iterable[UnitMonth], *, definition: str, months: Sequence[str], spans: Sequence[Span]
) -> CountTable:
    """Unit, facility and network by month and by ``spans``, one cell per measure; a unit without a row counts 0.

    The network has cells of its own where there is more than one facility.
    """
    held = list(rows)
    every = (*(Span(name=month, months=(month,)) for month in months), *spans)
    measures = sorted({measure for row in held for measure in row.counts})
    draft = _Draft(definition=definition, spans=every, months=frozenset(months))
    for measure in measures:
        draft.add(measure, held)
    return draft.table()


class _Draft:
    """Cells and sums while they are put together."""

    def __init__(self, *, definition: str, spans: tuple[Span, ...], months: frozenset[str]) -> None:
        self.definition, self.spans, self.months = definition, spans, months
        self.counts: dict[Cell, int] = {}
        self.most: dict[Cell, int] = {}
        self.weights: dict[Cell, float] = {}
        self.sums: list[Sum] = []

    def add(self, measure: str, rows: Sequence[UnitMonth]) -> None:
        units: dict[Where, dict[str, tuple[int, int]]] = {}
        for row in rows:
            units.setdefault((row.facility, row.unit), {})[row.month] = (row.counts[measure], row.most[measure])
        facilities = sorted({facility for facility, _unit in units})
        parts: dict[Where, list[Where]] = {
            (name, None): [u for u in sorted(units) if u[0] == name] for name in facilities
        }
        held: dict[Where, dict[str, tuple[int, int]]] = dict(units)
        if len(facilities) > 1:
            parts[NETWORK, None] = [(name, None) for name in facilities]
        for whole, pieces in parts.items():
            held[whole] = {month: _added(held[piece].get(month, (0, 0)) for piece in pieces) for month in self.months}
        keys = {place: self._add_place(measure, place, by_month) for place, by_month in held.items()}
        for whole, pieces in parts.items():
            for span in self.spans:
                self.sums.append(
                    Sum(total=keys[whole][span.name], parts=tuple(keys[piece][span.name] for piece in pieces))
                )

    def _add_place(
        self, measure: str, place: Where, by_month: Mapping[str, tuple[int, int]]
    ) -> dict[str, CountKey]:  # fmt: skip
        found: dict[str, CountKey] = {}
        for span in self.spans:
            count, most = _added(by_month.get(month, (0, 0)) for month in span.months)
            key = CountKey(measure, self.definition, *place, span.name, count)
            longer = _LONGER if len(span.months) > 1 else 1.0
            self.counts[key], self.most[key] = count, most
            self.weights[key] = _WEIGHT[place_level(*place)] * longer
            found[span.name] = key
        for span in self.spans:
            if len(span.months) > 1:
                self.sums.append(Sum(total=found[span.name], parts=tuple(found[month] for month in span.months)))
        return found

    def table(self) -> CountTable:
        return CountTable(counts=self.counts, sums=tuple(self.sums), most=self.most, weights=self.weights)


def _added(pairs: Iterable[tuple[int, int]]) -> tuple[int, int]:
    listed = list(pairs)
    return sum(count for count, _most in listed), sum(most for _count, most in listed)
